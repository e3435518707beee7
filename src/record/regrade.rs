//! The record's part about other tolerances: which limits the instrument would pass.

use super::{Cause, Tally, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the same readings come to under another tolerance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Regrade {
    /// The tolerance as it was typed.
    pub tolerance: String,
    /// The indices, from 0, of the sections that it was applied to; the others keep their own.
    pub sections: Vec<u64>,
    /// The verdict; null where none can be given.
    pub verdict: Option<Verdict>,
    /// What the verdict comes from; null for a pass within the tolerance, or without a verdict.
    pub cause: Option<Cause>,
    /// How many points have which verdict; null where no verdict can be given.
    pub points: Option<Tally>,
    /// The point that decides; null where no verdict can be given.
    pub decisive: Option<Decisive>,
    /// Why no verdict can be given, or what keeps all readings from passing; null where there is
    /// nothing to say.
    pub note: Option<String>,
}

/// The point that decides under a tolerance: that of the worst verdict, and of several the one with
/// the least room to its acceptance limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Decisive {
    /// The index, from 0, of its section.
    pub section: u64,
    /// What it is called: value and unit, label; empty where the budget has a single result.
    pub point: String,
    /// Its verdict there.
    pub verdict: Verdict,
    /// Why, in one plain sentence; null where the point has no reading.
    pub reason: Option<String>,
}
