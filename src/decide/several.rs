//! Several readings at a point: which one is reported, their mean, and how far they lie apart.
//!
//! Each reading is judged by itself first; nothing here alters such a verdict. What is said about the
//! scatter that the budget counts on is a finding.

use super::figures::Figures;
use super::findings::{self, Apart};
use super::judge::{Judged, PointJudgement};
use super::limits::{Limit, Limits, Side};
use super::readings::{Entry, Readings};
use crate::budget::names::READING;
use crate::budget::{Budget, Contributor, Evidence, Take, Target, Use};
use crate::fault::Finding;
use crate::propagate::system::PointModel;
use crate::propagate::{Evaluation, Value};
use crate::quantity::Exact;
use std::cmp::Ordering;

/// How far the readings of one point lie apart, in the measurand.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// The largest value less the smallest, 0 or more, in SI.
    pub value: Limit,
    /// The greatest difference that is allowed, in SI.
    pub limit: Limit,
    /// Whether it is kept; on the limit it is.
    pub within: bool,
    /// What is wrong, as a part of a sentence; empty where it is kept.
    pub reason: String,
}

impl Spread {
    /// Returns the spread of two readings or more against `limit`; `None` of fewer. What is not exact
    /// counts as on the limit within `tie`.
    ///
    /// Method: M100.
    pub fn new(readings: &[Judged], limit: &Limit, tie: f64, figures: &Figures) -> Option<Spread> {
        if readings.len() < 2 {
            return None;
        }
        let order = |a: &&Judged, b: &&Judged| Limit::from(&b.error).compare(&a.error, 0.0);
        let (low, high) = (readings.iter().min_by(order)?, readings.iter().max_by(order)?);
        let (lowest, highest) = (Limit::from(&low.error), Limit::from(&high.error));
        let value = highest.minus(&lowest);
        let within = is_within(limit, &lowest, &highest, tie);
        let reason = if within {
            String::new()
        } else {
            let (apart, allowed) = (figures.distance(&value), figures.distance(limit));
            let (low, high) = (&low.text, &high.text);
            format!(
                "the readings differ by {apart}, from {low} to {high}, more than the \
                 repeatability limit of {allowed}"
            )
        };
        Some(Spread { value, limit: limit.clone(), within, reason })
    }
}

/// Whether two values, in either order, lie no further apart than `limit`; what is not exact counts as on it within
/// `tie`.
pub(super) fn is_within(limit: &Limit, one: &Limit, other: &Limit, tie: f64) -> bool {
    let (low, high) = match one.compare(&other.value(), 0.0) {
        Ordering::Less => (other, one),
        _ => (one, other),
    };
    limit.compare(&high.minus(low).value(), tie) != Ordering::Greater
}

/// Returns the index of the reading that `take` reports: the last, or the one nearest to a limit of the
/// tolerance, or furthest beyond it, and the first of several such. Of a mean, that of a reading alone.
pub(super) fn reported(take: Take, readings: &[Judged], tolerance: &Limits) -> Option<usize> {
    match take {
        Take::Last => readings.len().checked_sub(1),
        Take::Mean if readings.len() > 1 => None,
        Take::Mean | Take::Worst => worst(readings, tolerance),
    }
}

fn worst(readings: &[Judged], tolerance: &Limits) -> Option<usize> {
    let margin = |it: &Judged| {
        let sides = [Side::Lower, Side::Upper].map(|side| tolerance.margin(side, &it.error));
        sides[0].min(sides[1])
    };
    let mut found: Option<(usize, f64)> = None;
    for (index, reading) in readings.iter().enumerate() {
        let margin = margin(reading);
        if found.is_none_or(|(_, least)| margin < least) {
            found = Some((index, margin));
        }
    }
    found.map(|it| it.0)
}

/// Returns the measurand at the mean of several readings, exact where it is; of errors, and where
/// readings stand beside errors, the mean of the measurand's values.
///
/// Method: M99.
pub(super) fn mean(model: &PointModel, entries: &[Entry], readings: &[Judged]) -> Option<Value> {
    let number = Exact::from_integer(i64::try_from(entries.len()).ok()?);
    let all_readings = entries.iter().all(|it| !it.is_error);
    let sum = entries.iter().try_fold(Exact::zero(), |sum, it| sum.add(&it.quantity.exact()));
    let mean = sum.and_then(|it| it.div(&number));
    if let Some(reading) = mean.filter(|_| all_readings) {
        return model.at_exact_reading(&reading).ok();
    }
    let exact =
        readings.iter().try_fold(Exact::zero(), |sum, it| sum.add(it.error.exact.as_ref()?));
    if let Some(exact) = exact.and_then(|it| it.div(&number)) {
        return Some(Value { si: exact.to_f64(), exact: Some(exact) });
    }
    let count = readings.len() as f64;
    let si = readings.iter().map(|it| it.error.si / count).sum::<f64>();
    si.is_finite().then_some(Value { si, exact: None })
}

/// Returns the findings about several readings: one that is worse than the reported figure, a spread
/// that cannot be judged, a scatter in the budget that is not that of the reported figure.
pub(super) fn findings(
    evaluation: &Evaluation,
    points: &[PointJudgement],
    readings: &Readings,
) -> Vec<Finding> {
    let budget = evaluation.budget();
    let mut found: Vec<Finding> = Vec::new();
    for point in points {
        let Some(reported) = point.reported() else { continue };
        let worst = point.readings.iter().enumerate().max_by_key(|it| (it.1.verdict, it.0));
        if let Some((index, worst)) = worst.filter(|it| it.1.verdict > reported.verdict) {
            let origin = readings.at(point.index).get(index).map(|it| it.origin);
            let subject = (point.index, origin.unwrap_or_default());
            found.push(findings::worse_reading(budget, subject, worst, (reported, point.take)));
        }
    }
    let alone = |it: &&PointJudgement| !readings.at(it.index).is_empty() && it.spread.is_none();
    if budget.repeatability().is_some() {
        let alone: Vec<usize> = points.iter().filter(alone).map(|it| it.index).collect();
        found.extend(findings::not_repeated(budget, &alone));
    }
    let averaged = points.iter().filter(|it| !readings.at(it.index).is_empty()).map(|it| {
        let given = readings.at(it.index).len();
        (it.index, if it.take == Take::Mean { [given, given] } else { [1, 1] })
    });
    found.extend(scatter(evaluation, &averaged.collect::<Vec<_>>()));
    found
}

/// Returns the same findings for many instruments: `counts` holds the points with a reading, and how many the
/// instrument with the fewest and that with the most have there.
pub(super) fn findings_of_many(
    evaluation: &Evaluation,
    take: Take,
    counts: &[(usize, [usize; 2])],
) -> Vec<Finding> {
    let budget = evaluation.budget();
    let mut found = Vec::new();
    if budget.repeatability().is_some() {
        let alone = counts.iter().filter(|it| it.1[0] == 1).map(|it| it.0);
        found.extend(findings::not_repeated(budget, &alone.collect::<Vec<_>>()));
    }
    let averaged = |it: &(usize, [usize; 2])| if take == Take::Mean { *it } else { (it.0, [1, 1]) };
    found.extend(scatter(evaluation, &counts.iter().map(averaged).collect::<Vec<_>>()));
    found
}

/// Returns the findings of contributors that stand for the scatter of more readings, or of fewer, than
/// are averaged in the reported figure: at each point so many at least and at most.
fn scatter(evaluation: &Evaluation, averaged: &[(usize, [usize; 2])]) -> Vec<Finding> {
    let budget = evaluation.budget();
    let mut found = Vec::new();
    for (index, contributor) in budget.contributors().iter().enumerate() {
        let Some(counted) = readings_averaged(budget, contributor) else { continue };
        let (mut too_small, mut too_large) = (Vec::new(), Vec::new());
        for (point, [fewest, most]) in averaged {
            let line = evaluation.points().iter().find(|it| it.index == *point);
            let kept = line.and_then(|it| it.contributors.get(index)).is_some_and(|it| it.kept);
            let counted = counted as usize;
            if counted > *fewest {
                too_small.push(*point);
            }
            if kept && counted < *most {
                too_large.push(*point);
            }
        }
        let apart = Apart { contributor, counted, too_small: true };
        found.extend(findings::scatter_apart(budget, &apart, &too_small));
        found.extend(findings::scatter_apart(
            budget,
            &Apart { too_small: false, ..apart },
            &too_large,
        ));
    }
    found
}

/// Returns the number of readings whose mean scatters as a contributor says; `None` where it does not
/// speak of the scatter of the instrument's reading: it adds to another input, is shared by the points,
/// or holds the readings that are the measurement themselves.
fn readings_averaged(budget: &Budget, contributor: &Contributor) -> Option<u32> {
    let at_the_reading = match contributor.target {
        Target::Input(name) => budget.names().find(READING) == Some(name),
        Target::Measurand | Target::Sensitivity(_) => true,
    };
    if !at_the_reading || contributor.shared != 0.0 {
        return None;
    }
    match &contributor.evidence {
        Evidence::Readings { usage, .. } | Evidence::Groups { usage, .. } => match usage {
            Use::Single => Some(1),
            Use::MeanOf(number) => Some(*number),
            Use::Result => None,
        },
        Evidence::Scatter { mean_of, .. } => Some(*mean_of),
        _ => None,
    }
}
