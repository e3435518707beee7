//! The card of each point: runs of readings, and the readings near the limits.

use super::{Writer, cause, shown, verdict};
use crate::decide;
use crate::fault::Faults;
use crate::propagate::Evaluation;
use crate::record::{CardReading, Section, Zone};

/// Returns the section of an evaluation with the readings near the limits: `card`.
///
/// # Errors
///
/// As [`shown`]; no tolerance, decision or display step.
pub fn card(evaluation: &Evaluation) -> Result<Section, Faults> {
    let mut section = shown(evaluation)?;
    let writer = Writer::new(evaluation.budget());
    for (point, card) in section.points.iter_mut().zip(evaluation.card()?) {
        let Some(card) = card else { continue };
        point.card = Some(card.runs.into_iter().map(zone).collect());
        let readings = card.readings.into_iter().map(|it| writer.card_reading(it));
        point.card_readings = Some(readings.collect());
    }
    Ok(section)
}

fn zone(run: decide::Run) -> Zone {
    let [from_error, to_error] = run.errors;
    Zone { from: run.from, to: run.to, from_error, to_error, verdict: verdict(run.verdict) }
}

impl Writer<'_> {
    fn card_reading(&self, it: decide::CardReading) -> CardReading {
        CardReading {
            steps: it.steps,
            error: self.value(&it.error),
            reading: it.text,
            error_text: it.error_text,
            verdict: verdict(it.verdict),
            cause: it.cause.map(cause),
            specific_risk: it.specific_risk,
        }
    }
}
