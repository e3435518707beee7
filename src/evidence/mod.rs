//! Evidence: what is known about a contributor, and the distributions that state it.
pub mod distribution;
