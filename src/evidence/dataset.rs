//! Common data to one [`Spread`] per column and the correlations between them.
//!
//! Simultaneous readings: means, s/√n and correlations of the means (JCGM 100:2008, 4.2, 5.2.3,
//! equation 17). Calibration lines: intercept, slope and, where asked for, the scatter of one later
//! observation (JCGM 100:2008, H.3). The columns of one dataset are one component of variance: their
//! degrees of freedom stand for all of them together.

use super::spread::{Distribution, Spread};
use super::statistics::{self, Columns, Weights};
use crate::budget::{Data, Dataset, dataset};
use crate::fault::Fault;
use crate::quantity::{Exact, Quantity};

/// What a dataset says.
#[derive(Debug, Clone)]
pub struct Measured {
    /// One spread per column.
    pub columns: Vec<Spread>,
    /// Correlations between the columns' errors, row by row.
    pub correlation: Vec<Vec<f64>>,
    /// Degrees of freedom of all columns together; infinite where uncertainties were given.
    pub dof: f64,
    /// The fit, of a line.
    pub line: Option<statistics::Line>,
}

/// Returns what a dataset says; the same at all points.
///
/// # Errors
///
/// Figures that no statistics can be made of.
pub fn measured(dataset: &Dataset) -> Result<Measured, Fault> {
    let made = match &dataset.data {
        Data::Observations { rows } => observations(rows),
        Data::Line(line) => self::line(line),
    };
    made.ok_or_else(|| Fault::new(dataset.figures, "these figures give no mean and no line"))
}

fn exact(values: &[Quantity]) -> Vec<Exact> {
    values.iter().map(Quantity::exact).collect()
}

fn observations(rows: &[Vec<Quantity>]) -> Option<Measured> {
    let rows: Vec<Vec<Exact>> = rows.iter().map(|it| exact(it)).collect();
    let Columns { means, standard_uncertainties, correlation, dof, .. } =
        statistics::columns(&rows).ok()?;
    let columns = means.into_iter().zip(standard_uncertainties);
    let columns = columns.map(|(mean, u)| spread(mean, u, dof)).collect();
    Some(Measured { columns, correlation, dof, line: None })
}

fn line(line: &dataset::Line) -> Option<Measured> {
    let (x, y) = (exact(&line.x), exact(&line.y));
    let given = match &line.weights {
        dataset::LineWeights::Equal => Vec::new(),
        dataset::LineWeights::Relative(it) | dataset::LineWeights::Known(it) => exact(it),
    };
    let weights = match &line.weights {
        dataset::LineWeights::Equal => Weights::Equal,
        dataset::LineWeights::Relative(_) => Weights::Relative(&given),
        dataset::LineWeights::Known(_) => Weights::Known(&given),
    };
    let fit = statistics::line(&x, &y, &line.from.exact(), weights).ok()?;
    let known = matches!(line.weights, dataset::LineWeights::Known(_));
    let scatter = if known { given.first().map(Exact::to_f64) } else { fit.residual_s };
    let dof = fit.dof;
    let columns = vec![
        spread(fit.intercept.clone(), fit.u_intercept, dof),
        spread(fit.slope.clone(), fit.u_slope, dof),
        spread(Exact::zero(), scatter?, dof),
    ];
    let r = fit.correlation;
    let correlation = vec![vec![1.0, r, 0.0], vec![r, 1.0, 0.0], vec![0.0, 0.0, 1.0]];
    Some(Measured { columns, correlation, dof, line: Some(fit) })
}

/// Returns the spread of a column: t with the dataset's degrees of freedom, normal where u was given.
fn spread(estimate: Exact, standard_uncertainty: f64, dof: f64) -> Spread {
    let distribution = match dof.is_finite() {
        true => Distribution::T,
        false => Distribution::Normal,
    };
    let si = estimate.to_f64();
    let parts = Vec::new();
    Spread { estimate: si, exact: Some(estimate), standard_uncertainty, distribution, dof, parts }
}
