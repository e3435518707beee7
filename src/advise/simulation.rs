//! Findings about simulations: what was not reached, what was put for something else, what it shows.

use super::titles;
use crate::budget::Budget;
use crate::fault::{Finding, Origin, Severity};
use crate::propagate::simulate::Simulated;
use crate::propagate::{Evaluation, PointEvaluation};
use crate::quantity::decimal::significant;
use std::collections::BTreeSet;

/// A mean that is further from the estimate than this many of its standard errors is no chance (six in
/// 100 000), and of this share of u worth a finding.
const SHIFT: (f64, f64) = (4.0, 0.01);

/// Returns the findings about the simulations of an evaluation, in a fixed order.
pub(super) fn of_evaluation(evaluation: &Evaluation) -> Vec<Finding> {
    let all = [not_settled, crowded, few_trials, few_dof, undetermined, copula, as_normal, shifted];
    all.iter().filter_map(|it| it(evaluation)).collect()
}

/// Returns the points whose simulation fits a test.
fn points(evaluation: &Evaluation, test: impl Fn(&Simulated) -> bool) -> Vec<usize> {
    let fits = |it: &&PointEvaluation| it.simulated.as_ref().is_some_and(&test);
    evaluation.points().iter().filter(fits).map(|it| it.index).collect()
}

/// Returns a finding about points; none where there are none.
fn at(
    budget: &Budget,
    here: &[usize],
    (code, severity): (&'static str, Severity),
    message: String,
    help: &str,
) -> Option<Finding> {
    let origin = match budget.coverage().origin {
        Origin::NONE => budget.origin(),
        origin => origin,
    };
    let finding = Finding::new(code, severity, message).help(help);
    (!here.is_empty()).then(|| finding.about(titles(budget, here), origin))
}

/// Returns the places, to be put behind a message.
fn place(budget: &Budget, here: &[usize]) -> String {
    match titles(budget, here) {
        titles if titles.is_empty() => String::new(),
        titles => format!(" at {titles}"),
    }
}

fn not_settled(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let short = |it: &Simulated| it.digits.is_some() && !it.stabilised && !it.crowded;
    let here = points(evaluation, short);
    let trials = evaluation.points().iter().filter_map(|it| it.simulated.as_ref());
    let most = trials.map(|it| it.trials).max().unwrap_or(0);
    let message = format!(
        "the simulation has not settled within {} trials{}: its last digit is not sure",
        significant(most as f64, 2),
        place(budget, &here)
    );
    let help = format!("--trials-max {}", ten_times(most));
    at(budget, &here, ("not-settled", Severity::Warning), message, &help)
}

/// Returns ten times a number of trials as an option may have it.
fn ten_times(trials: u64) -> String {
    let most = 4_000_000_000;
    let more = trials.saturating_mul(10).min(most);
    if more == most { "4e9".to_owned() } else { format!("{:.0e}", more as f64) }
}

fn crowded(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let here = points(evaluation, |it| it.crowded);
    let message = format!(
        "the simulation ended early{}: too many values lie far from the others to be kept",
        place(budget, &here)
    );
    let help = "look for evidence with very few degrees of freedom, or a model near a pole";
    at(budget, &here, ("far-values", Severity::Warning), message, help)
}

fn few_trials(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let least = 1e4 / (1.0 - budget.coverage().probability.get());
    let here = points(evaluation, |it| it.digits.is_none() && (it.trials as f64) < 0.999 * least);
    let message = format!(
        "fewer than {} trials{}: too few for the ends of the interval (JCGM 101, 7.2.2)",
        significant(least, 2),
        place(budget, &here)
    );
    at(budget, &here, ("few-trials", Severity::Caution), message, "leave `--trials` out")
}

fn few_dof(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let few = |it: &Simulated| it.digits.is_some() && it.least_dof > 2.0 && it.least_dof <= 4.0;
    let here = points(evaluation, few);
    let message = format!(
        "evidence with 4 degrees of freedom or fewer{}: the simulation waits for the interval ends alone, the simulated u is not sure to its last digit",
        place(budget, &here)
    );
    at(budget, &here, ("ends-alone", Severity::Note), message, "")
}

fn undetermined(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let here = points(evaluation, |it| it.undetermined.is_some());
    let message = format!(
        "evidence with 2 degrees of freedom or fewer{}: the simulated distribution has an interval, but no standard uncertainty",
        place(budget, &here)
    );
    let help = "take more readings, or state `u_known_within`";
    at(budget, &here, ("no-standard-uncertainty", Severity::Caution), message, help)
}

/// Returns the names of contributors of any point, in the order of the file.
fn names(evaluation: &Evaluation, of: impl Fn(&Simulated) -> &Vec<usize>) -> String {
    let all = evaluation.points().iter().filter_map(|it| it.simulated.as_ref());
    let indices: BTreeSet<usize> = all.flat_map(|it| of(it).iter().copied()).collect();
    let contributors = evaluation.budget().contributors();
    let name = |it: usize| format!("`{}`", contributors[it].name);
    indices.into_iter().map(name).collect::<Vec<_>>().join(", ")
}

fn copula(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let here = points(evaluation, |it| !it.copula.is_empty());
    let message = format!(
        "{}: linked and not normal, drawn by a Gaussian copula: the correlation is that of the normal values behind it",
        names(evaluation, |it| &it.copula)
    );
    let help = "the joint distribution is an assumption: where it matters, give the common cause as a contributor of its own";
    at(budget, &here, ("gaussian-copula", Severity::Caution), message, help)
}

fn as_normal(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let here = points(evaluation, |it| !it.as_normal.is_empty());
    let message = format!(
        "{}: a sum of several pieces that is linked is drawn as a normal distribution",
        names(evaluation, |it| &it.as_normal)
    );
    at(budget, &here, ("linked-sum-as-normal", Severity::Caution), message, "")
}

/// The simulated mean is off the estimate.
///
/// Method: M83.
fn shifted(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let shift = |it: &Simulated| {
        let error = it.errors?.mean?;
        let (off, u) = (it.mean? - it.estimate, it.standard_uncertainty?);
        (off.abs() > SHIFT.0 * error && off.abs() > SHIFT.1 * u).then_some(off / u)
    };
    let here = points(evaluation, |it| shift(it).is_some());
    let all = evaluation.points().iter().filter_map(|it| shift(it.simulated.as_ref()?));
    let most = all.fold(0.0, |most: f64, it| if it.abs() > most.abs() { it } else { most });
    let message = format!(
        "the simulated mean lies {} % of u off the estimate{}: the model is curved, and its curvature is not in the estimate",
        significant(100.0 * most, 2),
        place(budget, &here)
    );
    let help =
        "compare `simulation.mean` with `estimate`; a correction is a contributor with `estimate`";
    at(budget, &here, ("mean-shifted", Severity::Caution), message, help)
}
