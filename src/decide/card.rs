//! The card of one point: runs of display readings that share a verdict, from low to high.
//!
//! Made from the same [`Grid`] as the judge's reasons; nothing is decided here.

use super::grid::{Grid, Stretch};
use super::point::PointDecision;
use super::verdict::Verdict;
use crate::budget::Budget;
use crate::fault::{Fault, Faults};
use crate::propagate::{Evaluation, PointEvaluation};
use crate::quantity::decimal::exact_text;
use std::collections::BTreeSet;

/// A run of readings that the display can show and that share a verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The lowest reading, as the display shows it, without unit; `None`: all lower ones too.
    pub from: Option<String>,
    /// The highest reading, as the display shows it, without unit; `None`: all higher ones too.
    pub to: Option<String>,
    /// Their verdict.
    pub verdict: Verdict,
}

/// Returns runs of n from low to high; neighbouring runs differ in their verdict.
pub fn stretches(grid: &Grid) -> Vec<(Stretch, Verdict)> {
    let mut starts = BTreeSet::new();
    for zone in Verdict::ALL.iter().filter_map(|it| grid.stretch(*it)) {
        starts.extend(zone.low);
        starts.extend(zone.high.map(|n| n + 1));
    }
    let starts: Vec<i64> = starts.into_iter().collect();
    let lowest = starts.first().copied().unwrap_or(0);
    let mut runs = vec![(Stretch { low: None, high: None }, grid.verdict(lowest - 1).0)];
    for start in starts {
        let verdict = grid.verdict(start).0;
        let Some((last, before)) = runs.last_mut() else { continue };
        if verdict != *before {
            last.high = Some(start - 1);
            runs.push((Stretch { low: Some(start), high: None }, verdict));
        }
    }
    runs
}

/// Returns the runs of one point as the display shows them.
///
/// # Errors
///
/// No display step; a model that does not rise or fall with the reading.
pub fn runs(
    budget: &Budget,
    point: &PointEvaluation,
    decision: &PointDecision,
) -> Result<Vec<Run>, Fault> {
    if budget.display().is_none() {
        return Err(no_step(budget));
    }
    let grid = decision.grid(budget, point).ok_or_else(|| {
        let title = budget.points().list.get(point.index).map_or(String::new(), |it| it.title());
        Fault::new(budget.origin(), format!("the readings at {title} cannot be laid out on a card"))
            .rule("the model has to rise or fall with `reading`")
    })?;
    let unit = budget.reading_unit();
    let text = |n: i64| {
        let number = grid.reading(n).div(unit.factor())?;
        let least = super::figures::decimals_of(&grid.reading(1).div(unit.factor())?);
        (least..least + 12).find_map(|places| exact_text(&number, places))
    };
    let run = |(stretch, verdict): (Stretch, Verdict)| Run {
        from: stretch.low.and_then(text),
        to: stretch.high.and_then(text),
        verdict,
    };
    Ok(stretches(&grid).into_iter().map(run).collect())
}

impl Evaluation<'_> {
    /// Returns the runs of every point; `None` at a point without tolerance.
    ///
    /// # Errors
    ///
    /// No tolerance or decision, no display step, and the faults of [`Evaluation::zones`].
    pub fn card(&self) -> Result<Vec<Option<Vec<Run>>>, Faults> {
        let zones = self.zones()?;
        if zones.iter().flatten().all(|it| it.decision.is_none()) {
            return Err(super::judge::nothing_to_judge_by(self.budget()).into());
        }
        let mut cards = Vec::new();
        for (point, zones) in self.points().iter().zip(&zones) {
            let decision = zones.as_ref().and_then(|it| it.decision.as_ref());
            cards.push(decision.map(|it| runs(self.budget(), point, it)).transpose()?);
        }
        Ok(cards)
    }
}

fn no_step(budget: &Budget) -> Fault {
    let unit = budget.reading_unit().text();
    Fault::new(budget.origin(), "the display step is not known")
        .rule("a card lists the readings that the display can show")
        .help(format!("display: {{step: 1 {unit}}}"))
}
