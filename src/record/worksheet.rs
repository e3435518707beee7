//! The worksheet's part of the record: what was noted, and the instrument as a whole.

use super::{Texts, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a worksheet notes beside its readings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Worksheet {
    /// The instrument as it was written.
    pub instrument: Texts,
    /// The date; null where none is given.
    pub date: Option<String>,
    /// Looks and function, in the order of the worksheet.
    pub checks: Vec<Check>,
    /// Repeated zero settings as they were written; empty where none were noted.
    pub zero: Vec<String>,
}

/// One check of looks or function.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// What was looked at.
    pub what: String,
    /// How it came out.
    pub result: CheckResult,
}

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum CheckResult {
    /// In order.
    #[serde(rename = "ok")]
    Ok,
    /// Not in order: fails the instrument.
    #[serde(rename = "not ok")]
    NotOk,
    /// Does not apply to this instrument.
    #[serde(rename = "not applicable")]
    NotApplicable,
}

impl CheckResult {
    /// Returns the words that pages print.
    pub fn word(self) -> &'static str {
        match self {
            CheckResult::Ok => "ok",
            CheckResult::NotOk => "not ok",
            CheckResult::NotApplicable => "not applicable",
        }
    }
}

/// The instrument as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// Its identification; null where the worksheet gives none.
    pub id: Option<String>,
    /// What it is; null where the worksheet does not say.
    pub description: Option<String>,
    /// The worst of all verdicts; `fail` where a check failed, at best `undecided` where a point
    /// has no reading.
    pub verdict: Verdict,
    /// The probability that the instrument is within the tolerance at all points, from 0 to 1; null
    /// where it was not worked out.
    pub conformance_probability: Option<f64>,
    /// How many checks are in order.
    pub checks_ok: u64,
    /// How many checks are not in order.
    pub checks_not_ok: u64,
    /// How many points have which verdict.
    pub points: Tally,
}

/// How many points have which verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tally {
    /// `pass`.
    pub pass: u64,
    /// `conditional pass`.
    pub conditional_pass: u64,
    /// `undecided`.
    pub undecided: u64,
    /// `conditional fail`.
    pub conditional_fail: u64,
    /// `fail`.
    pub fail: u64,
    /// Points without a reading.
    pub missing: u64,
}

impl Tally {
    /// Counts one more point: its verdict, or `None` where it has no reading.
    pub fn count(&mut self, verdict: Option<Verdict>) {
        let counter = match verdict {
            Some(Verdict::Pass) => &mut self.pass,
            Some(Verdict::ConditionalPass) => &mut self.conditional_pass,
            Some(Verdict::Undecided) => &mut self.undecided,
            Some(Verdict::ConditionalFail) => &mut self.conditional_fail,
            Some(Verdict::Fail) => &mut self.fail,
            None => &mut self.missing,
        };
        *counter += 1;
    }

    /// Returns the number of all points.
    pub fn total(&self) -> u64 {
        self.pass
            + self.conditional_pass
            + self.undecided
            + self.conditional_fail
            + self.fail
            + self.missing
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_each_verdict_once() {
        let mut tally = Tally::default();
        let verdicts = [Some(Verdict::Pass), None, Some(Verdict::Fail), Some(Verdict::Pass)];
        verdicts.into_iter().for_each(|verdict| tally.count(verdict));
        assert_eq!(tally, Tally { pass: 2, fail: 1, missing: 1, ..Tally::default() });
        assert_eq!(tally.total(), 4);
    }
}
