//! Evidence: what is known about a contributor, turned into estimate, standard uncertainty,
//! distribution and degrees of freedom.

pub mod distribution;
pub mod spread;

pub use spread::{Distribution, Spread};
