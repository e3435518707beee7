//! The words of a decision: verdicts from best to worst, and what a verdict is due to.
//!
//! Source of the words: ILAC-G8:09/2019, clause 4.2; ISO 14253-1.

/// A verdict, from best to worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// May be passed.
    Pass,
    /// Within the tolerance, but the risk is above the agreed one.
    ConditionalPass,
    /// Neither conformance nor non-conformance can be told.
    Undecided,
    /// Beyond the tolerance, but perhaps by the uncertainty alone.
    ConditionalFail,
    /// May not be passed.
    Fail,
}

impl Verdict {
    /// All verdicts, from best to worst.
    pub const ALL: [Verdict; 5] = [
        Verdict::Pass,
        Verdict::ConditionalPass,
        Verdict::Undecided,
        Verdict::ConditionalFail,
        Verdict::Fail,
    ];

    /// Returns the word of page and record.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::ConditionalPass => "conditional pass",
            Verdict::Undecided => "undecided",
            Verdict::ConditionalFail => "conditional fail",
            Verdict::Fail => "fail",
        }
    }
}

/// What a verdict other than a plain pass is due to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// The value lies beyond the tolerance.
    Tolerance,
    /// The value lies within the tolerance but not in the acceptance zone, or passes only because
    /// the rule adds the guard band.
    GuardBand,
    /// The uncertainty is not good enough for the rule.
    Requirement,
    /// A check of look or function has failed.
    Check,
    /// The readings at a point differ by more than they may.
    Repeatability,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verdicts_are_ordered_from_best_to_worst() {
        assert!(Verdict::ALL.windows(2).all(|pair| pair[0] < pair[1]));
        let words = Verdict::ALL.map(Verdict::word);
        assert_eq!(words, ["pass", "conditional pass", "undecided", "conditional fail", "fail"]);
    }
}
