//! What readings in groups and common data say: a contributor's analysis of variance, and a section's
//! simultaneous readings and calibration lines.

use super::{Dof, Owner};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The one-way analysis of variance of readings in groups.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Analysis {
    /// Which scatter counts.
    pub grouping: Grouping,
    /// How many groups there are.
    pub groups: u64,
    /// How many readings there are in all.
    pub readings: u64,
    /// The pooled standard deviation within groups, in the contributor's `unit`.
    pub within_s: f64,
    /// Its degrees of freedom.
    pub within_dof: Dof,
    /// The estimated variance between groups, in the square of `unit`; as it is, below zero too.
    pub between_variance: f64,
    /// Its root; null where the variance is not above zero: it counts as zero.
    pub between_s: Option<f64>,
    /// The degrees of freedom between groups.
    pub between_dof: Dof,
    /// The mean square between over that within groups; null where nothing varies within.
    pub f: Option<f64>,
    /// The probability of a larger one where groups do not differ; null where there is none.
    pub f_probability: Option<f64>,
}

/// Which scatter of readings in groups counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Grouping {
    /// That within groups.
    Pooled,
    /// That between groups too.
    Components,
}

/// Data that several inputs come from together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CommonData {
    /// Its name.
    pub name: String,
    /// What the data are.
    pub kind: DataKind,
    /// Who answers for them.
    pub owner: Owner,
    /// How many rows or points there are.
    pub n: u64,
    /// The degrees of freedom of all columns together.
    pub dof: Dof,
    /// One per input: the means; or intercept, slope and, where it is asked for, the residual.
    pub columns: Vec<DataColumn>,
    /// The correlations of the columns' errors, row by row in their order.
    pub correlation: Vec<Vec<f64>>,
    /// The fit; null where the data are no line.
    pub line: Option<Fit>,
}

/// What common data are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum DataKind {
    /// Simultaneous readings.
    Observations,
    /// A calibration line.
    Line,
}

/// What common data say about one input.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DataColumn {
    /// The input.
    pub input: String,
    /// Its estimate, in `unit`; 0 for a residual.
    pub estimate: f64,
    /// Its standard uncertainty, in `unit`.
    pub standard_uncertainty: f64,
    /// Its unit.
    pub unit: String,
}

/// A line y = intercept + slope·(x − x_from) by least squares.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fit {
    /// The abscissa at which the intercept is taken, in `x_unit`.
    pub x_from: f64,
    /// The unit of the abscissae.
    pub x_unit: String,
    /// The unit of the ordinates.
    pub y_unit: String,
    /// The standard deviation of an ordinate (of weight 1) about the line, in `y_unit`; null where the
    /// uncertainties were given.
    pub residual_s: Option<f64>,
    /// Ordinate minus line, in `y_unit`, in the order of the points.
    pub residuals: Vec<f64>,
    /// χ² of the residuals; null where no uncertainties were given, or two points only.
    pub chi_squared: Option<f64>,
    /// Its degrees of freedom; null where there is no χ².
    pub chi_squared_dof: Option<f64>,
    /// The probability of a larger χ² where the given uncertainties are right; null where there is no χ².
    pub chi_squared_probability: Option<f64>,
}
