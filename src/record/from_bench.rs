//! From readings at the bench to the record: which one is reported, how far they lie apart, and what
//! they come to under other tolerances.

use super::from::{cause, verdict};
use super::{Decisive, Regrade, Spread, Take, Tally};
use crate::budget;
use crate::decide::{Limit, PointJudgement, regrade::Outcome};

/// Returns which of several readings is reported; `None` with fewer than two.
pub(super) fn take(judgement: &PointJudgement) -> Option<Take> {
    let several = judgement.readings.len() > 1;
    several.then_some(match judgement.take {
        budget::Take::Worst => Take::Worst,
        budget::Take::Mean => Take::Mean,
        budget::Take::Last => Take::Last,
    })
}

/// Returns how far the readings lie apart, where that is judged; `number` takes a value to the unit.
pub(super) fn spread(judgement: &PointJudgement, number: impl Fn(&Limit) -> f64) -> Option<Spread> {
    let spread = judgement.spread.as_ref()?;
    Some(Spread { value: number(&spread.value), limit: number(&spread.limit), ok: spread.within })
}

/// Returns the row of a tolerance as it was typed, for the sections that it was applied to; `outcome` is
/// an error with the reason where no verdict can be given.
pub fn regraded(tolerance: &str, sections: &[usize], outcome: Result<&Outcome, String>) -> Regrade {
    let (tolerance, sections) = (tolerance.to_string(), sections.iter().map(|it| *it as u64));
    let row = |note| Regrade {
        tolerance,
        sections: sections.collect(),
        verdict: None,
        cause: None,
        points: None,
        decisive: None,
        note,
    };
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(note) => return row(Some(note)),
    };
    let mut tally = Tally::default();
    outcome.points.iter().for_each(|it| tally.count(it.map(verdict)));
    let decisive = outcome.decisive.as_ref().map(|it| Decisive {
        section: it.section as u64,
        point: it.point.clone(),
        verdict: verdict(it.verdict),
        reason: it.reason.clone(),
    });
    Regrade {
        verdict: Some(verdict(outcome.verdict.0)),
        cause: outcome.verdict.1.map(cause),
        points: Some(tally),
        decisive,
        ..row(outcome.note.clone())
    }
}
