//! The result of the law of propagation at each point, for both scopes: plain values in SI.
//!
//! [`Evaluation`] borrows its budget; `decide` judges it, `record` writes it down.

use super::correlation::Group;
use super::coverage::Interval;
use super::density::Density;
use super::results::Results;
use super::simulate::Simulated;
use super::system::PointModel;
use super::terms::NotASum;
use crate::budget::{Base, Budget, CoverageMethod, Scope};
use crate::evidence::{Measured, Spread};
use crate::quantity::Exact;

/// A budget evaluated at all its points, the reading being the point's value.
#[derive(Debug, Clone)]
pub struct Evaluation<'a> {
    pub(crate) budget: &'a Budget,
    pub(crate) points: Vec<PointEvaluation>,
    pub(crate) measured: Vec<Measured>,
    /// Contributors that links or common data connect.
    pub(crate) groups: Vec<Group>,
}

impl<'a> Evaluation<'a> {
    /// The budget.
    pub fn budget(&self) -> &'a Budget {
        self.budget
    }

    /// Returns the same evaluation under `budget`, which differs from its own in what is decided alone:
    /// tolerance, decision, repeatability, population.
    pub(crate) fn under<'b>(&self, budget: &'b Budget) -> Evaluation<'b> {
        let (points, measured) = (self.points.clone(), self.measured.clone());
        Evaluation { budget, points, measured, groups: self.groups.clone() }
    }

    /// One evaluation per point of the budget, in order.
    pub fn points(&self) -> &[PointEvaluation] {
        &self.points
    }

    /// What the budget's common data say, in its order.
    pub fn measured(&self) -> &[Measured] {
        &self.measured
    }
}

/// A value in SI, and the same value exactly where the model allows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// In SI.
    pub si: f64,
    /// Exact, where it is made of + − × / on literals, point values and readings.
    pub exact: Option<Exact>,
}

/// The evaluation of one point.
#[derive(Debug, Clone)]
pub struct PointEvaluation {
    /// Index of the point in the budget.
    pub index: usize,
    /// The estimate of the measurand with the reading at the point's value.
    pub estimate: Value,
    /// The inputs of the model: index of the name, best estimate with all means added.
    pub inputs: Vec<(usize, Value)>,
    /// One line per contributor, in the order of the budget.
    pub contributors: Vec<ContributorLine>,
    /// The combined figures for scope `all`.
    pub all: Combined,
    /// The combined figures for scope `laboratory`.
    pub laboratory: Combined,
    /// The method of the interval: the budget's, or what a crosscheck sets beside the simulation.
    pub method: CoverageMethod,
    /// Coverage probability of the expanded uncertainty.
    pub probability: f64,
    /// Coverage factor k = U/u of the reported uncertainty (scope `all`).
    pub coverage_factor: f64,
    /// Expanded uncertainty U (scope `all`): half the width of the interval.
    pub expanded_uncertainty: f64,
    /// The coverage interval (scope `all`).
    pub interval: Interval,
    /// The simulation behind them with `monte_carlo`, or beside them in a crosscheck.
    pub simulated: Option<Simulated>,
    /// The results beside the measurand, where the budget has any.
    pub results: Option<Results>,
    /// The base values of all names, which tolerances and guard bands see.
    pub(crate) base: Base,
    /// What evaluates the model for a reading.
    pub(crate) model: PointModel,
}

impl PointEvaluation {
    /// Whether the measurand depends on the reading.
    pub fn uses_reading(&self) -> bool {
        self.model.uses_reading()
    }

    /// Returns the combined figures of a scope.
    pub fn scope(&self, scope: Scope) -> &Combined {
        match scope {
            Scope::All => &self.all,
            Scope::Laboratory => &self.laboratory,
        }
    }
}

/// One contributor at one point.
#[derive(Debug, Clone, PartialEq)]
pub struct ContributorLine {
    /// What its evidence says. For `thermal`: in the measurand's unit.
    pub spread: Spread,
    /// Sensitivity coefficient c, in SI.
    pub sensitivity: f64,
    /// |c·u|, in SI of the measurand.
    pub contribution: f64,
    /// Whether it counts (in scope `all`): not dropped by `largest_of`.
    pub kept: bool,
    /// Its share of u², 0 where it is not kept.
    pub share: f64,
    /// The parts of `thermal`.
    pub parts: Vec<PartLine>,
}

/// One part of a thermal contributor at one point.
#[derive(Debug, Clone, PartialEq)]
pub struct PartLine {
    /// `alpha`, `alpha_difference`, `difference` or `from_20`.
    pub name: &'static str,
    /// What its evidence says; the estimate is the part's best estimate.
    pub spread: Spread,
    /// Sensitivity coefficient, in SI.
    pub sensitivity: f64,
    /// |c·u|, in SI of the measurand.
    pub contribution: f64,
}

impl Combined {
    /// Returns Student's t with u and the degrees of freedom of quantiles, normal where they are infinite: the
    /// distribution of U at 95.45 %, and of risks before the reading.
    pub fn law(&self) -> Density {
        Density::T { u: self.standard_uncertainty, dof: self.quantile_dof }
    }
}

/// The combined figures of one scope at one point, in SI of the measurand.
#[derive(Debug, Clone, PartialEq)]
pub struct Combined {
    /// First-order standard uncertainty.
    pub first_order: f64,
    /// Second-order standard uncertainty; `None` where it was not computed (a derivative does not
    /// exist), with order `first` only.
    pub second_order: Option<f64>,
    /// Whether the second order enters u.
    pub second_order_used: bool,
    /// Shift of the estimate by curvature, ½Σ f_ii·u_i²; reported, never applied.
    pub shift: Option<f64>,
    /// The standard uncertainty that `order` selects.
    pub standard_uncertainty: f64,
    /// Share of u² that is due to given correlations.
    pub correlation_share: f64,
    /// Share of u² that is due to second-order terms in use.
    pub second_order_share: f64,
    /// Effective degrees of freedom, not truncated; may be below 1, or infinite.
    pub effective_dof: f64,
    /// Degrees of freedom that a quantile is taken with: as `coverage: {dof}` says, at least 1.
    pub quantile_dof: f64,
    /// Coverage factor at 95.45 % (t with `quantile_dof`).
    pub test_factor: f64,
    /// Expanded uncertainty at 95.45 %: the U of TUR and guard bands.
    pub test_expanded: f64,
    /// The distribution behind decisions: specific risk and what follows from it.
    pub density: Density,
    /// Why it is not the exact one although a contributor that is not normal dominates.
    pub density_refused: Option<NotASum>,
}
