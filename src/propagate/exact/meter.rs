//! A meter of the work for one answer, so that no sum is worked on for ever: what would take longer than
//! about a second ends with an error of 1 and is refused.
//!
//! Work is counted in evaluations, not in time: the same sum ends the same way everywhere. One count per
//! thread, started by the outermost question.

use std::cell::Cell;

/// Evaluations for one answer.
const ALLOWANCE: u64 = 30_000_000;

thread_local! {
    static LEFT: Cell<Option<u64>> = const { Cell::new(None) };
}

/// Answers a question with a full allowance, or within that of the question it is part of.
pub fn limited<T>(answer: impl FnOnce() -> T) -> T {
    if LEFT.get().is_some() {
        return answer();
    }
    LEFT.set(Some(ALLOWANCE));
    let found = answer();
    LEFT.set(None);
    found
}

/// Prepares what is kept for later answers, with an allowance of its own: no answer may depend on whether
/// it was there already.
pub fn apart<T>(prepare: impl FnOnce() -> T) -> T {
    let before = LEFT.replace(Some(ALLOWANCE));
    let found = prepare();
    LEFT.set(before);
    found
}

/// Spends some of the allowance; whether there was enough. Without a question there is no limit.
pub fn spend(evaluations: u64) -> bool {
    let Some(left) = LEFT.get() else { return true };
    LEFT.set(Some(left.saturating_sub(evaluations)));
    left >= evaluations
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_ends_with_its_allowance_and_the_next_has_its_own() {
        let ends = || (0..4).map(|_| spend(ALLOWANCE / 3)).collect::<Vec<bool>>();
        let inner = limited(|| {
            let first = limited(ends);
            (first, spend(ALLOWANCE / 3))
        });
        assert_eq!(inner, (vec![true, true, true, false], false));
        assert_eq!(limited(ends), [true, true, true, false]);
        let (kept, left) = limited(|| (apart(ends), spend(ALLOWANCE)));
        assert_eq!((kept, left), (vec![true, true, true, false], true));
        assert!(spend(u64::MAX));
    }
}
