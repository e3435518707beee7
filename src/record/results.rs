//! Several results of one budget at one point: their figures and the matrices between them.
//!
//! Units: a figure of a result is in that result's `unit`. In the matrices the quantities stand in the
//! order of `symbols`, the measurand first; a covariance is in the product of its two `units`.

use super::{Dof, Reported};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The results beside the measurand, and how all quantities hang together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Results {
    /// The results, in the budget's order; the measurand is not among them.
    pub figures: Vec<ResultFigures>,
    /// The symbols of rows and columns of the matrices: the measurand's, then those of the results.
    pub symbols: Vec<String>,
    /// The units of the quantities, in the order of `symbols`.
    pub units: Vec<String>,
    /// The covariances to first order, row by row; an entry is in the product of the units of its row and column.
    pub covariance: Vec<Vec<f64>>,
    /// The correlation coefficients; null where one of the two has no uncertainty.
    pub correlation: Vec<Vec<Option<f64>>>,
    /// How many of the quantities vary independently of each other: the rank of the matrices.
    pub independent: u64,
    /// The regions that hold all quantities together; null where only a factor is fixed.
    pub region: Option<Region>,
}

/// A result beside the measurand; its numbers are in `unit`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ResultFigures {
    /// Its symbol.
    pub symbol: String,
    /// Its name.
    pub name: String,
    /// Its definition; null where none is given.
    pub definition: Option<String>,
    /// The unit of its numbers; `1` for a plain number.
    pub unit: String,
    /// Its estimate.
    pub estimate: f64,
    /// u to first order.
    pub first_order_standard_uncertainty: f64,
    /// u to second order; null where it was not worked out.
    pub second_order_standard_uncertainty: Option<f64>,
    /// The second-order shift of the estimate, which is not added to it; null where it was not
    /// worked out.
    pub second_order_shift: Option<f64>,
    /// u, to the order that the budget selects.
    pub standard_uncertainty: f64,
    /// The effective degrees of freedom, untruncated.
    pub effective_dof: Dof,
    /// k, by the budget's coverage.
    pub coverage_factor: f64,
    /// U = k·u.
    pub expanded_uncertainty: f64,
    /// The coverage interval: its lower and its upper end.
    pub interval: [f64; 2],
    /// The result as it is to be reported.
    pub reported: Reported,
}

/// Regions that hold all quantities together, taken as normal with infinite degrees of freedom.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Region {
    /// The coverage probability, from 0 to 1.
    pub probability: f64,
    /// How many quantities it is about: measurand and results.
    pub quantities: u64,
    /// k_p of the ellipsoid with the covariance matrix: the root of the quantile of chi-squared.
    pub ellipsoid_factor: f64,
    /// k_q of the intervals ±k_q·u that hold together with at least that probability.
    pub rectangle_factor: f64,
}
