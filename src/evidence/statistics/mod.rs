//! Readings and calibration data to means, scatters, correlations, lines and components of variance.
//!
//! Pure arithmetic: no budgets, no I/O. Readings are decimals, so sums, sums of squares and normal
//! equations are computed as exact rationals, and each figure is rounded once: nothing is lost
//! to a large constant part, and what is zero, negative or perfectly correlated is decided exactly.
//!
//! Notation: `n` readings `x` with the mean x̄, S_xy = Σ(x − x̄)(y − ȳ), `s` an experimental standard
//! deviation, `J` groups of `n_i` readings, MS a mean square.

mod columns;
mod groups;
mod line;
mod moments;
mod sample;

pub use columns::{Columns, columns};
pub use groups::{Groups, Scatter, groups};
pub use line::{Line, Weights, line};
pub use moments::{Moments, lag1, moments};

/// Why data cannot be evaluated; indices count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    /// Fewer readings, rows or points than the evaluation needs.
    #[error("{found} of them, where at least {needed} are needed")]
    TooFew {
        /// How many there are.
        found: usize,
        /// How many are needed.
        needed: usize,
    },
    /// A row that is not as long as the first one.
    #[error("row {row} has {found} values and the first row {expected}")]
    Ragged {
        /// The index of the row.
        row: usize,
        /// Its length.
        found: usize,
        /// The length of the first row.
        expected: usize,
    },
    /// Lists that belong together and differ in length.
    #[error("{found} values stand beside {expected}")]
    Lengths {
        /// The length of the list in question.
        found: usize,
        /// The length of the abscissae.
        expected: usize,
    },
    /// A line through points with one and the same abscissa.
    #[error("all points have the same abscissa")]
    OneAbscissa,
    /// A weight or an uncertainty that is not above zero.
    #[error("value {0} is not above zero")]
    NotPositive(usize),
    /// A group without a reading.
    #[error("group {0} has no reading")]
    EmptyGroup(usize),
    /// Groups of which none has two readings: nothing is known of the scatter within.
    #[error("no group has two readings")]
    NoRepetition,
    /// A value whose sum with the first one is no rational multiple of a power of π.
    #[error("value {0} has no common unit with the others")]
    NoCommonUnit(usize),
}
