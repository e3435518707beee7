//! Statistics of common data: the shapes of their results. The arithmetic follows; until then every
//! figure is refused.

use crate::quantity::Exact;

/// Why figures give no statistics.
#[derive(Debug, Clone, PartialEq)]
pub enum Trouble {
    /// There is no arithmetic yet.
    NotYet,
}

/// Columns that were read at the same time.
#[derive(Debug, Clone)]
pub struct Columns {
    /// Means.
    pub means: Vec<Exact>,
    /// s/√n of each.
    pub standard_uncertainties: Vec<f64>,
    /// Correlations of the means.
    pub correlation: Vec<Vec<f64>>,
    /// n − 1.
    pub dof: f64,
}

/// Returns the statistics of rows of simultaneous readings.
///
/// # Errors
///
/// See [`Trouble`].
pub fn columns(_rows: &[Vec<Exact>]) -> Result<Columns, Trouble> {
    Err(Trouble::NotYet)
}

/// What is known of the scatter of ordinates.
#[derive(Debug, Clone, Copy)]
pub enum Weights<'a> {
    /// All alike.
    Equal,
    /// Relative weights.
    Relative(&'a [Exact]),
    /// Standard uncertainties.
    Known(&'a [Exact]),
}

/// A fitted line.
#[derive(Debug, Clone)]
pub struct Line {
    /// Intercept at the reference.
    pub intercept: Exact,
    /// Slope.
    pub slope: Exact,
    /// Its standard uncertainty.
    pub u_intercept: f64,
    /// Its standard uncertainty.
    pub u_slope: f64,
    /// Correlation of the two.
    pub correlation: f64,
    /// Scatter of one observation.
    pub residual_s: Option<f64>,
    /// Degrees of freedom.
    pub dof: f64,
}

/// Returns the least-squares line.
///
/// # Errors
///
/// See [`Trouble`].
pub fn line(_: &[Exact], _: &[Exact], _: &Exact, _: Weights) -> Result<Line, Trouble> {
    Err(Trouble::NotYet)
}
