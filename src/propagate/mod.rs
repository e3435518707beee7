//! The law of propagation of uncertainty, point by point: `budget.evaluate()`.
//!
//! evidence → base values → tape and leaves → derivatives → first and second order → shares, degrees
//! of freedom, expanded uncertainty. Sums have a fixed order; `nalgebra` only factors matrices.

mod base;
pub mod combine;
mod correlation;
mod evaluate;
pub mod evaluation;
mod second_order;
pub mod system;

pub use evaluation::{Combined, ContributorLine, Evaluation, PartLine, PointEvaluation, Value};
