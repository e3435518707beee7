//! Distributions (being written).
