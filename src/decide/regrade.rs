//! Regrading: the readings of a judgement under another tolerance, zones and guard bands made anew.
//!
//! A tolerance does not enter u or U; what was evaluated stays as it is.

use super::findings::{ACCEPTANCE_ZONE_EMPTY, REQUIREMENT_NOT_MET};
use super::judge::{Judgement, PointJudgement};
use super::limits::{Limits, Side};
use super::readings::Readings;
use super::verdict::{Cause, Verdict};
use crate::budget::{Budget, GuardBand};
use crate::fault::{Fault, Faults};
use std::cmp::Ordering;

/// What an instrument's readings come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The worst verdict of all points, and what it is due to.
    pub verdict: (Verdict, Option<Cause>),
    /// The verdict of each point; `None` at one without reading.
    pub points: Vec<Option<Verdict>>,
    /// The point that decides; `None` without points.
    pub decisive: Option<Decisive>,
    /// What keeps all readings of some point from passing; `None` where nothing does.
    pub note: Option<String>,
}

/// The point that decides.
#[derive(Debug, Clone, PartialEq)]
pub struct Decisive {
    /// The number of its budget among those of the instrument.
    pub section: usize,
    /// What it is called; empty in a budget with a single result.
    pub point: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// Why; `None` without reading.
    pub reason: Option<String>,
    /// How far the reported value lies inside the acceptance limits, as a share of the tolerance span
    /// (one-sided: of 2·U); negative beyond, infinite without reading.
    pub room: f64,
}

impl Outcome {
    /// Returns that of an instrument without points.
    pub fn none() -> Outcome {
        let (points, decisive, note) = (Vec::new(), None, None);
        Outcome { verdict: (Verdict::Pass, None), points, decisive, note }
    }

    /// Adds what the readings under a further budget come to.
    pub fn join(&mut self, other: Outcome) {
        if other.verdict.0 > self.verdict.0 {
            self.verdict = other.verdict;
        }
        self.points.extend(other.points);
        self.decisive = match (self.decisive.take(), other.decisive) {
            (Some(one), Some(other)) if order(&other, &one) == Ordering::Less => Some(other),
            (one, other) => one.or(other),
        };
        self.note = self.note.take().or(other.note);
    }
}

impl Judgement<'_> {
    /// Returns what the readings come to. `section`: the number of this budget among the instrument's.
    ///
    /// Method: M101.
    pub fn outcome(&self, section: usize) -> Outcome {
        let budget = self.evaluation.budget();
        let decisive = self.points.iter().map(|it| decisive(budget, it, section));
        let notes = [ACCEPTANCE_ZONE_EMPTY, REQUIREMENT_NOT_MET];
        let titles = budget.points().list.iter().map(|it| it.title());
        let all = titles.collect::<Vec<_>>().join(", ");
        let note = self.findings.iter().find(|it| notes.contains(&it.code));
        Outcome {
            verdict: self.instrument(false),
            points: self.points.iter().map(|it| it.reported().map(|_| it.verdict().0)).collect(),
            decisive: decisive.min_by(order),
            note: note.map(|it| match (it.about.as_str(), it.about == all) {
                ("", _) | (_, true) => it.message.clone(),
                (points, false) => format!("at {points} {}", it.message),
            }),
        }
    }

    /// Returns what the same readings come to under `budget`, which is that of this judgement with
    /// another tolerance ([`Budget::with_tolerance`]): at the points that are judged here.
    ///
    /// # Errors
    ///
    /// A tolerance without value at a point; a guard band that cannot be made under it, or that rests on
    /// a share within the old tolerance.
    pub fn under(
        &self,
        budget: &Budget,
        readings: &Readings,
        section: usize,
    ) -> Result<Outcome, Faults> {
        if let Some(fault) = unknown_population(self.evaluation.budget(), budget) {
            return Err(fault.into());
        }
        let mut evaluation = self.evaluation.under(budget);
        let judged = |index: usize| self.points.iter().any(|it| it.index == index);
        evaluation.points.retain(|it| judged(it.index));
        Ok(evaluation.judge(readings)?.outcome(section))
    }
}

/// Returns the fault of a guard band that needs the population, where that was known as a share within
/// the old tolerance and is gone with it.
fn unknown_population(old: &Budget, new: &Budget) -> Option<Fault> {
    let population = old.population().filter(|_| new.population().is_none())?;
    let needed = match old.decision()?.guard_band {
        GuardBand::ConsumerRisk(..) => true,
        GuardBand::SpecificRisk(..) => population.prior,
        GuardBand::TimesU(_) | GuardBand::Width(_) | GuardBand::FromTur(..) => false,
    };
    let fault = Fault::new(population.origin, "the guard band needs the population of instruments");
    needed.then(|| {
        fault
            .rule("a share within the budget's own tolerance does not tell it under another one")
            .help("population: {sd: …, mean: …}")
    })
}

/// Puts the worst verdict first, and of equal ones the point with the least room.
fn order(one: &Decisive, other: &Decisive) -> Ordering {
    other.verdict.cmp(&one.verdict).then(one.room.total_cmp(&other.room))
}

fn decisive(budget: &Budget, point: &PointJudgement, section: usize) -> Decisive {
    Decisive {
        section,
        point: budget.points().list.get(point.index).map_or(String::new(), |it| it.title()),
        verdict: point.verdict().0,
        reason: point.reason(),
        room: room(point),
    }
}

fn room(point: &PointJudgement) -> f64 {
    let Some(reported) = point.reported() else { return f64::INFINITY };
    let margin = |limits: &Limits| {
        let sides = [Side::Lower, Side::Upper].map(|side| limits.margin(side, &reported.error));
        sides[0].min(sides[1])
    };
    let tolerance = &point.zones.limits;
    let acceptance = point.zones.decision.as_ref().and_then(|it| it.zones.acceptance());
    let spread = point.spread.as_ref().map(|it| it.limit.si - it.value.si);
    let width = tolerance.span().map_or(2.0 * point.expanded_uncertainty, |it| it.si);
    margin(acceptance.unwrap_or(tolerance)).min(spread.unwrap_or(f64::INFINITY)) / width
}
