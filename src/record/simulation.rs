//! What a Monte Carlo simulation found at a point, and how the law of propagation compares with it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A simulation of the measurand's distribution (JCGM 101:2008, clause 7).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Simulation {
    /// The number of trials.
    pub trials: u64,
    /// The seed: the same seed gives the same figures.
    pub seed: u64,
    /// The significant digits of u that were to become stable; null for a fixed number of trials.
    pub digits: Option<u32>,
    /// Whether they did; null for a fixed number of trials.
    pub stabilised: Option<bool>,
    /// The mean; null where it does not exist.
    pub mean: Option<f64>,
    /// The standard deviation; null where it does not exist.
    pub standard_uncertainty: Option<f64>,
    /// The coverage interval that leaves as many trials below it as above.
    pub symmetric: [f64; 2],
    /// The shortest coverage interval.
    pub shortest: [f64; 2],
    /// Standard errors of these figures; null where the trials are too few to tell.
    pub standard_errors: Option<StandardErrors>,
    /// What twice the standard errors were to come below: the numerical tolerance δ, or a fifth of it
    /// in a crosscheck; null for a fixed number of trials.
    pub tolerance: Option<f64>,
    /// How far the interval ends can be from the trials that they stand for.
    pub bin_error: f64,
}

/// Standard errors of a simulation's figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StandardErrors {
    /// Of the mean; null where it has none.
    pub mean: Option<f64>,
    /// Of the standard uncertainty; null where it has none.
    pub standard_uncertainty: Option<f64>,
    /// Of the ends of the symmetric interval.
    pub symmetric: [f64; 2],
    /// Of the ends of the shortest interval.
    pub shortest: [f64; 2],
}

/// The law of propagation beside a simulation (JCGM 101:2008, clause 8).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Crosscheck {
    /// Which of the simulated intervals was compared.
    pub compared: IntervalKind,
    /// The interval of the law of propagation.
    pub law: [f64; 2],
    /// The simulated one; that of the law where there is nothing to draw.
    pub monte_carlo: [f64; 2],
    /// How far the lower ends are apart.
    pub d_low: f64,
    /// How far the upper ends are apart.
    pub d_high: f64,
    /// The outcome at one significant digit of u, and at two.
    pub checks: [DigitCheck; 2],
    /// Whether the law is validated at the digits that decide; null where the simulation is not good
    /// enough to tell.
    pub validated: Option<bool>,
    /// Both densities; null where there is nothing to draw.
    pub densities: Option<Densities>,
}

/// Which coverage interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum IntervalKind {
    /// As much probability below it as above.
    Symmetric,
    /// The shortest one.
    Shortest,
}

impl IntervalKind {
    /// Returns the word of files and pages.
    pub fn word(self) -> &'static str {
        match self {
            IntervalKind::Symmetric => "symmetric",
            IntervalKind::Shortest => "shortest",
        }
    }
}

/// The outcome at a number of significant digits.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DigitCheck {
    /// Significant digits of u.
    #[schemars(range(min = 1, max = 2))]
    pub digits: u32,
    /// The numerical tolerance δ; null where u is 0 or not determined.
    pub tolerance: Option<f64>,
    /// Whether both ends agree within δ; null where the simulation is not good enough to tell.
    pub validated: Option<bool>,
}

/// Two densities over equal cells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Densities {
    /// Where the first cell begins.
    pub low: f64,
    /// Where the last cell ends.
    pub high: f64,
    /// The mean density in each cell by the law of propagation; null where its u is 0.
    pub law: Option<Vec<f64>>,
    /// The simulated one.
    pub monte_carlo: Vec<f64>,
}
