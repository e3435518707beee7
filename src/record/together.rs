//! All tested points of a section together: is the instrument within tolerance at every one of them?

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// All tested points of a section together, each at its reported reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Together {
    /// How many points have a tolerance.
    pub points: u64,
    /// With all contributors; null where it is not determined.
    pub all: Option<WithinTolerance>,
    /// With the laboratory's contributors alone; null where it is not determined.
    pub laboratory: Option<WithinTolerance>,
    /// Why something is null; null where nothing is.
    pub reason: Option<String>,
}

/// A probability that the true errors lie within tolerance at all tested points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WithinTolerance {
    /// The probability, from 0 to 1.
    pub probability: f64,
    /// Its absolute numerical error: an estimate, or three standard errors of a lattice.
    pub error: f64,
    /// What it would be if the points had nothing in common: the product of their probabilities.
    pub independent_product: f64,
    /// How it was worked out: `product`, `quadrature`, `lattice` or `separation of variables`.
    pub method: String,
    /// Over how many unknowns that the points share, or dimensions of the covariance.
    pub dimensions: u64,
}
