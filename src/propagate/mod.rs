//! The law of propagation of uncertainty, point by point: `budget.evaluate()`.
//!
//! evidence → base values → tape and leaves → derivatives → first and second order → shares, degrees
//! of freedom, expanded uncertainty. Sums have a fixed order; `nalgebra` only factors matrices.
//!
//! # Examples
//!
//! JCGM 100:2008, G.4.1: Y = X₁·X₂·X₃ with relative uncertainties of 0.25 %, 0.57 % and 0.82 % from 10, 5 and 15
//! observations. Printed: u/Y = 1.03 %, ν = 19.0, U = 2.2 % at 95 %; ν is 18.9987 unrounded and is
//! cut to 18, with which table G.2 has t = 2.10.
//!
//! ```
//! let budget = surebound::budget::Budget::parse(
//!     "surebound: 1
//! title: Product of three quantities
//! measurand: {symbol: Y, name: Product, unit: 1}
//! model: X_1 * X_2 * X_3
//! estimates: {X_1: 1, X_2: 1, X_3: 1}
//! contributors:
//!   - {name: First, adds_to: X_1, standard_uncertainty: 0.25 %, dof: 9}
//!   - {name: Second, adds_to: X_2, standard_uncertainty: 0.57 %, dof: 4}
//!   - {name: Third, adds_to: X_3, standard_uncertainty: 0.82 %, dof: 14}
//! order: first
//! coverage: {probability: 95 %, method: t}
//! ",
//! )?;
//! let evaluation = budget.evaluate()?;
//! let point = &evaluation.points()[0];
//! assert_eq!(format!("{:.2}", 100.0 * point.all.standard_uncertainty), "1.03");
//! assert_eq!(format!("{:.1}", point.all.effective_dof), "19.0");
//! assert_eq!(point.all.quantile_dof, 18.0);
//! assert_eq!(format!("{:.2}", point.coverage_factor), "2.10");
//! assert_eq!(format!("{:.1}", 100.0 * point.expanded_uncertainty), "2.2");
//! # Ok::<(), surebound::fault::Faults>(())
//! ```

mod base;
pub mod combine;
pub(crate) mod correlation;
pub(crate) mod covariance;
pub mod coverage;
pub mod crosscheck;
pub mod density;
mod evaluate;
pub mod evaluation;
pub mod exact;
mod fixed;
pub mod options;
pub(crate) mod products;
mod report;
pub mod results;
pub(crate) mod rows;
mod second_order;
pub mod simulate;
pub mod simulation;
mod site;
mod sources;
pub mod system;
pub mod terms;

use crate::budget::{Budget, Formula, GuardBand, Role, Target, Tolerance, ToleranceLimits};
use std::collections::BTreeSet;

pub use base::in_inches;
pub use covariance::Together;
pub use crosscheck::Crosscheck;
pub use evaluation::{Combined, ContributorLine, Evaluation, PartLine, PointEvaluation, Value};
pub use options::{Options, Progress};
pub use results::{Region, ResultFigures, Results};

/// Returns the names that model, estimates, evidence, tolerances or the decision use.
pub fn used_names(budget: &Budget) -> BTreeSet<usize> {
    let mut used = reached_names(budget);
    let mut formulas: Vec<&Formula> = Vec::new();
    for it in budget.contributors() {
        formulas.extend(it.estimate.iter().chain(&it.times));
        formulas.extend(it.evidence.formulas());
        if let Target::Sensitivity(formula) = &it.target {
            formulas.push(formula);
        }
    }
    let tolerances = budget.tolerance().into_iter();
    let tolerances =
        tolerances.chain(budget.points().list.iter().filter_map(|it| it.tolerance.as_ref()));
    for limits in tolerances.flat_map(limits_of) {
        formulas.extend(limits.lower.iter().chain(&limits.upper));
    }
    formulas.extend(budget.repeatability());
    if let Some(GuardBand::Width(formula)) = budget.decision().map(|it| &it.guard_band) {
        formulas.push(formula);
    }
    let mentioned = formulas.into_iter().flat_map(Formula::mentions).map(|it| it.0);
    used.extend(closure(budget, mentioned.collect()));
    used
}

/// Returns the names that measurand and results depend on: those of the models, and what they are made of.
pub fn reached_names(budget: &Budget) -> BTreeSet<usize> {
    let mut names = Vec::new();
    for model in budget.results().iter().map(|it| &it.model).chain([&budget.model]) {
        model.for_each_name(&mut |word, _| names.extend(budget.names().find(word)));
    }
    closure(budget, names)
}

fn limits_of(tolerance: &Tolerance) -> Vec<&ToleranceLimits> {
    match tolerance {
        Tolerance::Limits(limits) => vec![limits],
        Tolerance::ByPoint(steps) => steps.iter().map(|it| &it.1).collect(),
    }
}

fn closure(budget: &Budget, mut open: Vec<usize>) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    while let Some(index) = open.pop() {
        if found.insert(index)
            && let Role::Estimate { formula } = &budget.names().get(index).role
        {
            open.extend(formula.mentions().iter().map(|it| it.0));
        }
    }
    found
}
