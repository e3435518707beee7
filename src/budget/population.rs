//! What is known of such instruments before the reading: the population that one under test comes from.
//!
//! Part of the domain; made by [`Budget::new`](super::Budget::new) alone. Files are read by whoever reads
//! files: a history arrives here as rows of text.
//!
//! Source: JCGM 106:2012, 7.2 and 9.5.

use super::formula::Formula;
use super::knowledge::Shape;
use super::number::Probability;
use super::parts::Text;
use crate::fault::Origin;

/// `population` as written.
#[derive(Debug, Clone)]
pub struct PopulationParts {
    /// The place: its first key.
    pub origin: Origin,
    /// The one key that says what is known.
    pub kind: PopulationKind,
    /// `prior`.
    pub prior: Option<Text>,
}

/// What `population` says, as written.
#[derive(Debug, Clone)]
pub enum PopulationKind {
    /// `in_tolerance`, with `as` and `mean`.
    InTolerance {
        /// `in_tolerance`.
        share: Text,
        /// `as`.
        of: Option<Text>,
        /// `mean`.
        mean: Option<Text>,
    },
    /// `sd` with `mean`.
    Spread {
        /// `sd`.
        sd: Text,
        /// `mean`.
        mean: Option<Text>,
    },
    /// `limits` with `shape`: one text `±a`, or two.
    Limits {
        /// The place of the limits.
        origin: Origin,
        /// `±a`, or the two limits.
        limits: Vec<Text>,
        /// `shape`.
        shape: Option<Text>,
        /// `top`.
        top: Option<Text>,
    },
    /// `history` with `same_in_all`.
    History(HistoryParts),
}

/// `history` as written, and what its file holds.
#[derive(Debug, Clone, Default)]
pub struct HistoryParts {
    /// `history`: a path.
    pub path: Text,
    /// The rows of the file; `None` where nobody has read it.
    pub rows: Option<Vec<HistoryRow>>,
    /// `same_in_all`; `None` where it is not given.
    pub same_in_all: Option<Vec<Text>>,
}

/// One row of a history as written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HistoryRow {
    /// Its line in the file, from 1.
    pub line: u64,
    /// The column of its error there, from 1.
    pub column: usize,
    /// `at`, where the file has that column.
    pub at: Option<String>,
    /// `error`.
    pub error: String,
}

/// The population that an instrument under test comes from.
#[derive(Debug, Clone)]
pub struct Population {
    /// The place: its first key.
    pub origin: Origin,
    /// What is known of it.
    pub known: Known,
    /// Whether the specific risk counts it beside the reading.
    pub prior: bool,
}

/// What is known of a population.
#[derive(Debug, Clone)]
pub enum Known {
    /// The share within tolerance, the errors being normal.
    InTolerance {
        /// The share.
        share: Probability,
        /// The place of the share.
        origin: Origin,
        /// Whether it is of true errors or of measured ones.
        of: ShareOf,
        /// The mean; `None`: the middle of the tolerance.
        mean: Option<Formula>,
    },
    /// Normal errors with this mean and standard deviation.
    Normal {
        /// The mean.
        mean: Formula,
        /// The standard deviation, above 0.
        sd: Formula,
    },
    /// Errors within limits.
    Bounded {
        /// The lower limit.
        low: Formula,
        /// The upper limit, above the lower one.
        high: Formula,
        /// The shape; never normal.
        shape: Shape,
    },
    /// Errors found in the past.
    History(History),
}

/// What a share within tolerance is counted of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShareOf {
    /// True errors.
    Actual,
    /// Measured errors.
    Observed,
}

impl ShareOf {
    /// Both with their words.
    pub const ALL: [(ShareOf, &'static str); 2] =
        [(ShareOf::Actual, "actual"), (ShareOf::Observed, "observed")];
}

/// Errors that were found on arrival, one a row.
#[derive(Debug, Clone)]
pub struct History {
    /// The path as written.
    pub path: String,
    /// The place of the path.
    pub origin: Origin,
    /// The errors.
    pub errors: Vec<PastError>,
    /// Contributors, by index, that had the same value in all past calibrations; `None`: those of the
    /// laboratory with a certificate or a block grade.
    pub same_in_all: Option<Vec<usize>>,
}

/// One error that was found on arrival.
#[derive(Debug, Clone, PartialEq)]
pub struct PastError {
    /// The point (value or label) as written; `None` where the file has no such column.
    pub at: Option<String>,
    /// The error, in SI of the measurand.
    pub error: f64,
    /// The line in its file.
    pub line: u64,
}
