//! Beside the decision in the record: what was known before the reading, other rules, operating curves.

use super::{Acceptance, GuardBand, PrintedLimits, Rule, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is known of such instruments at a point before the reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Population {
    /// The key that says what is known.
    pub from: PopulationSource,
    /// Mean of the true errors; null where the population is not known.
    pub mean: Option<f64>,
    /// Standard deviation of the true errors; null where the population is not known.
    pub sd: Option<f64>,
    /// The distribution: `normal`, `rectangular`, `triangular`, `trapezoidal`, `arcsine`; null where it is
    /// not known.
    pub distribution: Option<String>,
    /// The limits of a bounded distribution; null for a normal one.
    pub limits: Option<[f64; 2]>,
    /// The share of true errors within the tolerance; null where the population is not known.
    pub in_tolerance: Option<f64>,
    /// Whether the specific risk counts it beside the reading.
    pub prior: bool,
    /// What the file of past errors says; null where there is none.
    pub history: Option<History>,
}

/// Where a population comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PopulationSource {
    /// A share of true errors within tolerance.
    Actual,
    /// A share of measured errors within tolerance.
    Observed,
    /// A mean and a standard deviation.
    Spread,
    /// Limits.
    Limits,
    /// Past errors.
    History,
}

/// What past errors say at a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct History {
    /// The file as the budget names it.
    pub file: String,
    /// How many errors count here.
    pub count: u64,
    /// Their standard deviation; null with fewer than two.
    pub observed_sd: Option<f64>,
    /// The part of u that varies from one calibration to the next.
    pub measurement_sd: f64,
    /// Standard uncertainty of `sd`; null where it is not known.
    pub sd_uncertainty: Option<f64>,
    /// Standard uncertainty of `mean`; null where it is not known.
    pub mean_uncertainty: Option<f64>,
    /// How many of them lie within the tolerance.
    pub in_tolerance: u64,
    /// The exact binomial 95 % interval of the share that lies within; null where there is none.
    pub in_tolerance_interval: Option<[f64; 2]>,
    /// Contributors that are taken to have had the same value in all past calibrations.
    pub same_in_all: Vec<String>,
}

/// One rule with one guard band at a point, beside the budget's own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// The rule.
    pub rule: Rule,
    /// How its guard band is found; null where the rule has none.
    pub asked: Option<GuardBand>,
    /// Whether it is the rule that the budget asks for.
    pub own: bool,
    /// The guard band; null where there is none to be had.
    pub guard_band: Option<f64>,
    /// The acceptance limits; null where nothing passes.
    pub acceptance: Option<Acceptance>,
    /// The same as printed; null where nothing passes.
    pub printed: Option<PrintedLimits>,
    /// The verdict on the reported reading; null without one.
    pub verdict: Option<Verdict>,
    /// The greatest specific risk of an accepted reading; null where nothing passes.
    pub limit_risk: Option<f64>,
    /// The consumer's risk; null without a population.
    pub consumer_risk: Option<f64>,
    /// The producer's risk; null without a population.
    pub producer_risk: Option<f64>,
    /// Why the rule cannot be applied here; null where it can.
    pub reason: Option<String>,
}

/// How probable acceptance is, over the true error: one curve per rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OperatingCurve {
    /// True errors, ascending.
    pub true_errors: Vec<f64>,
    /// The curves.
    pub curves: Vec<Acceptances>,
}

/// The probability of acceptance under one rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Acceptances {
    /// The rule.
    pub rule: Rule,
    /// How its guard band is found; null where it has none.
    pub asked: Option<GuardBand>,
    /// Whether it is the rule that the budget asks for.
    pub own: bool,
    /// The acceptance limits; null where nothing passes.
    pub acceptance: Option<Acceptance>,
    /// The probability of acceptance, from 0 to 1, at each true error.
    pub probabilities: Vec<f64>,
}

/// A density of the true value over equal cells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DensityCurve {
    /// Where the first cell begins.
    pub low: f64,
    /// Where the last cell ends.
    pub high: f64,
    /// The mean density in each cell, per unit of the measurand, 0 or more.
    pub heights: Vec<f64>,
}
