//! The law of propagation of uncertainty, point by point.

pub mod evaluation;
pub mod system;

pub use evaluation::{Combined, ContributorLine, Evaluation, PartLine, PointEvaluation, Value};
