//! Data that several inputs come from together: simultaneous readings and calibration lines.
//!
//! Part of the domain; made by [`Budget::new`](super::Budget::new) alone. Each input of the data is a
//! contributor of its own ([`Evidence::Column`](super::Evidence::Column)); their correlation follows
//! from the data. The same error stands behind all points: such contributors are shared.

use crate::fault::Origin;
use crate::quantity::{Quantity, Unit};

/// Data that several inputs come from together.
#[derive(Debug, Clone)]
pub struct Dataset {
    /// Its name in reports.
    pub name: String,
    /// The place.
    pub origin: Origin,
    /// The place of the figures: of the rows, or of the ordinates.
    pub figures: Origin,
    /// The data.
    pub data: Data,
}

/// The figures of a dataset.
#[derive(Debug, Clone)]
pub enum Data {
    /// Simultaneous readings (JCGM 100:2008, 5.2.3): rows of the same length, two or more.
    Observations {
        /// The readings, row by row.
        rows: Vec<Vec<Quantity>>,
    },
    /// A line y = intercept + slope·(x − from) (JCGM 100:2008, H.3).
    Line(Box<Line>),
}

/// The figures of a calibration line.
#[derive(Debug, Clone)]
pub struct Line {
    /// The abscissae.
    pub x: Vec<Quantity>,
    /// The ordinates, as many.
    pub y: Vec<Quantity>,
    /// The abscissa at which the intercept is taken.
    pub from: Quantity,
    /// What is known of the ordinates' scatter.
    pub weights: LineWeights,
    /// The unit of the slope.
    pub slope_unit: Unit,
}

/// What is known of the scatter of a line's ordinates.
#[derive(Debug, Clone)]
pub enum LineWeights {
    /// All alike; the residuals tell.
    Equal,
    /// Relative weights, above 0; the residuals tell the rest.
    Relative(Vec<Quantity>),
    /// Known standard uncertainties, above 0.
    Known(Vec<Quantity>),
}

/// What a dataset is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DataKind {
    /// Simultaneous readings.
    Observations,
    /// A calibration line.
    Line,
}

impl DataKind {
    /// Returns the word of file and record.
    pub fn word(self) -> &'static str {
        match self {
            DataKind::Observations => "observations",
            DataKind::Line => "line",
        }
    }
}

impl Data {
    /// Returns what the data are.
    pub fn kind(&self) -> DataKind {
        match self {
            Data::Observations { .. } => DataKind::Observations,
            Data::Line(_) => DataKind::Line,
        }
    }
}
