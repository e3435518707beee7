//! Evidence: what is known about a contributor, turned into estimate, standard uncertainty,
//! distribution and degrees of freedom at one point.
//!
//! Uses `budget`; knows nothing of models or of other contributors.

pub mod dataset;
pub mod distribution;
pub mod evaluate;
pub mod grade;
pub mod grouped;
pub mod spread;
pub mod statistics;

pub use dataset::{Measured, measured};
pub use evaluate::{Place, mean, mean_formulas, spread, sum_kurtosis, thermal_part};
pub use spread::{Distribution, Piece, Spread};
