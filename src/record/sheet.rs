//! What a page at the bench judges readings by: whole numbers of display steps and pieces of sentences.

use super::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One point of a bench sheet; reading n is n steps of the display.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// The display step in the readings' unit, as a decimal number.
    pub step: String,
    /// The reading n at the point's value, or the next one below it.
    pub start: i64,
    /// Runs of readings, from low to high, without gaps.
    pub runs: Vec<SheetRun>,
    /// The straight line that values lie on; null where they are listed.
    pub line: Option<SheetLine>,
    /// The values one by one; null where they lie on a straight line.
    pub list: Option<SheetList>,
    /// How far readings of the point may lie apart; null where no limit is set.
    pub spread: Option<SheetSpread>,
}

/// How far readings of a point may lie apart.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetSpread {
    /// The greatest difference in the measurand, with its unit.
    pub limit: String,
    /// The most steps between the lowest and the highest reading; null where that hangs on the reading.
    pub steps: Option<i64>,
    /// The same from each of the listed readings as the lowest one; null where it is the same from all.
    pub each: Option<Vec<i64>>,
}

/// Readings that share a verdict and all of the sentence but the value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetRun {
    /// The lowest n; null: all lower ones too.
    pub from: Option<i64>,
    /// The highest n; null: all higher ones too.
    pub to: Option<i64>,
    /// The verdict.
    pub verdict: Verdict,
    /// The sentence before the value.
    pub before: String,
    /// The sentence after the value and its unit.
    pub after: String,
    /// The limit that the distance is told to; null where there is none.
    pub limit: Option<SheetLimit>,
    /// The last n that passes towards this side; null where none does.
    pub last_pass: Option<i64>,
}

/// A printed limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetLimit {
    /// Its name.
    pub name: String,
    /// Whether it is the upper one.
    pub is_upper: bool,
    /// Its number, without unit.
    pub text: String,
}

/// The value at reading n: (`base` + n·`per_step`)·10^−`scale`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetLine {
    /// The value at n = 0, a whole number.
    pub base: String,
    /// The change by a step, a whole number.
    pub per_step: String,
    /// The number of decimals of both.
    pub scale: u32,
    /// The fewest decimals that are written.
    pub least: u32,
    /// Whether values above zero have a plus sign.
    pub signed: bool,
}

/// Values one by one, without unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetList {
    /// The reading n of the first.
    pub first: i64,
    /// The values.
    pub texts: Vec<String>,
}
