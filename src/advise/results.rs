//! Findings about the results beside the measurand: what the second order and few degrees of freedom do
//! to them, and what their regions assume.

use super::propagation::SHIFT;
use super::titles;
use crate::budget::{CoverageMethod, DerivedResult, Order};
use crate::fault::{Finding, Severity};
use crate::propagate::combine::changes;
use crate::propagate::{Combined, Evaluation, Results};
use crate::quantity::decimal::significant;

/// Returns the findings about the results of an evaluation, in a fixed order.
pub fn of_results(evaluation: &Evaluation) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (index, result) in evaluation.budget().results().iter().enumerate() {
        let about = |code, severity, message: String, test: &dyn Fn(&Combined) -> bool| {
            let here = points(evaluation, &|it| test(&it.figures[index].combined));
            let finding = Finding::new(code, severity, message);
            (!here.is_empty()).then(|| at(evaluation, finding, &here, result))
        };
        findings.extend(second_order(evaluation, result, &about));
        let message = format!(
            "curvature of the model shifts the estimate of `{}` by over {} % of u; the shift is reported, not applied",
            result.symbol,
            100.0 * SHIFT
        );
        let shifted =
            |it: &Combined| it.shift.is_some_and(|by| by.abs() > SHIFT * it.standard_uncertainty);
        findings.extend(about("estimate-shifted", Severity::Caution, message, &shifted));
        let message = format!(
            "`{}` has fewer than one effective degree of freedom: the coverage factor is that of one",
            result.symbol
        );
        let few = |it: &Combined| it.effective_dof < 1.0;
        findings.extend(about("dof-below-one", Severity::Warning, message, &few));
    }
    findings.extend(first_order_only(evaluation));
    findings.extend(factor_from_t(evaluation));
    findings.extend(finite_dof(evaluation));
    findings.extend(tied(evaluation));
    findings
}

/// Returns the points at which `test` holds for the results.
fn points(evaluation: &Evaluation, test: &dyn Fn(&Results) -> bool) -> Vec<usize> {
    let points = evaluation.points().iter();
    points.filter(|it| it.results.as_ref().is_some_and(test)).map(|it| it.index).collect()
}

fn at(
    evaluation: &Evaluation,
    finding: Finding,
    here: &[usize],
    result: &DerivedResult,
) -> Finding {
    finding.about(titles(evaluation.budget(), here), result.origin)
}

type About<'a> =
    dyn Fn(&'static str, Severity, String, &dyn Fn(&Combined) -> bool) -> Option<Finding> + 'a;

/// What the second order does to a result, or would do.
fn second_order(evaluation: &Evaluation, result: &DerivedResult, about: &About) -> Option<Finding> {
    let symbol = &result.symbol;
    match evaluation.budget().order() {
        Order::Second => None,
        Order::Auto => {
            let message = format!("the second order enters u of `{symbol}` (JCGM 100, 5.1.2 note)");
            about("second-order", Severity::Note, message, &|it| it.second_order_used)
        }
        Order::First => {
            let message = format!(
                "`order: first` leaves out second-order terms of 1 % of u of `{symbol}` or more"
            );
            let changed = |it: &Combined| {
                it.second_order.is_some_and(|second| changes(it.first_order, second))
            };
            let finding = about("second-order-left-out", Severity::Caution, message, &changed);
            let unknown = || {
                let message = format!(
                    "what `order: first` leaves out of u of `{symbol}` cannot be told: the second order does not exist here"
                );
                let test = |it: &Combined| it.second_order.is_none();
                about("second-order-unknown", Severity::Caution, message, &test)
            };
            finding.map(|it| it.help("order: auto")).or_else(unknown)
        }
    }
}

/// Matrices are of first order, also where u is not.
fn first_order_only(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let used =
        |it: &Combined| it.second_order_used && changes(it.first_order, it.standard_uncertainty);
    let here: Vec<usize> = evaluation
        .points()
        .iter()
        .filter(|it| {
            let results = it.results.as_ref();
            results.is_some_and(|results| {
                used(&it.all) || results.figures.iter().any(|it| used(&it.combined))
            })
        })
        .map(|it| it.index)
        .collect();
    let message = "covariances, correlations and regions of the results are of first order, while u here is not";
    let finding = Finding::new("covariance-first-order", Severity::Caution, message);
    let origin = budget.results().first()?.origin;
    (!here.is_empty()).then(|| finding.about(titles(budget, &here), origin))
}

/// With a method that takes the measurand's distribution, the other results still have theirs from t.
fn factor_from_t(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let method = match budget.coverage().method {
        CoverageMethod::Exact => "exact",
        CoverageMethod::MonteCarlo => "monte_carlo",
        CoverageMethod::T | CoverageMethod::Fixed(_) => return None,
    };
    let first = budget.results().first()?;
    let message = format!(
        "`method: {method}` is for the measurand alone: the results beside it have their coverage factor from Student's t"
    );
    let finding = Finding::new("results-by-t", Severity::Note, message);
    Some(finding.about(first.symbol.clone(), first.origin))
}

/// The factors of the regions are those of the normal distribution.
fn finite_dof(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let origin = budget.results().first()?.origin;
    let mut fewest = f64::INFINITY;
    let mut here = Vec::new();
    for point in evaluation.points() {
        let Some(results) = point.results.as_ref().filter(|it| it.region.is_some()) else {
            continue;
        };
        let results = results.figures.iter().map(|it| it.combined.effective_dof);
        let least = results.fold(point.all.effective_dof, f64::min);
        fewest = fewest.min(least);
        if least.is_finite() {
            here.push(point.index);
        }
    }
    let message = format!(
        "the factors of the regions that hold all results assume infinite degrees of freedom; the fewest here are {}, so the regions hold less than stated",
        significant(fewest, 3)
    );
    let finding = Finding::new("region-dof", Severity::Caution, message);
    (!here.is_empty()).then(|| finding.about(titles(budget, &here), origin))
}

/// Results that follow from each other leave no room in all directions.
fn tied(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let origin = budget.results().first()?.origin;
    let flat = |it: &Results| it.region.is_some() && it.rank < it.correlation.len();
    let here = points(evaluation, &flat);
    let fewest =
        evaluation.points().iter().filter_map(|it| it.results.as_ref()).map(|it| it.rank).min()?;
    let all = 1 + budget.results().len();
    let message = format!(
        "of the {all} results only {fewest} vary independently, so the covariance matrix has no inverse; the factors for {all} are on the safe side"
    );
    let finding = Finding::new("results-tied", Severity::Note, message);
    (!here.is_empty()).then(|| finding.about(titles(budget, &here), origin))
}
