//! The zones of a point: tolerance, TUR, decision, and how they are written.
//!
//! Uses an evaluated point; u, U and all limits hold for the reading at the point's value.

use super::background::Background;
use super::figures::{Figures, Relation};
use super::grid::Grid;
use super::limits::{Limit, Limits, Tur, limit_of, tolerance_at};
use super::printed::Printed;
use super::zones::{Ground, Zones};
use crate::budget::{Budget, Decision};
use crate::fault::{Fault, Faults};
use crate::propagate::system::PointModel;
use crate::propagate::{Evaluation, PointEvaluation};
use crate::quantity::{Exact, Unit};

/// Tolerance, TUR and, with a decision, the zones of one point.
#[derive(Debug, Clone, PartialEq)]
pub struct PointZones {
    /// The tolerance.
    pub limits: Limits,
    /// Its ratio to the uncertainty, for both scopes.
    pub tur: Tur,
    /// The zones; `None` without a decision.
    pub decision: Option<PointDecision>,
    /// The greatest difference between two readings, in SI; `None` where none is set.
    pub repeatability: Option<Limit>,
}

/// The zones of one point, and how they are printed.
#[derive(Debug, Clone, PartialEq)]
pub struct PointDecision {
    /// The zones.
    pub zones: Zones,
    /// Their limits for paper.
    pub printed: Printed,
    /// How values are written.
    pub figures: Figures,
}

impl Evaluation<'_> {
    /// Returns tolerance, TUR and zones of every point; `None` at a point without tolerance.
    ///
    /// # Errors
    ///
    /// All faults of tolerances and guard bands, each place once, see [`tolerance_at`] and [`Zones::new`].
    pub fn zones(&self) -> Result<Vec<Option<PointZones>>, Faults> {
        let (mut found, mut faults) = (Vec::new(), Vec::new());
        for point in self.points() {
            match point_zones(self.budget(), point) {
                Ok(zones) => found.push(zones),
                Err(fault) if faults.iter().any(|it: &Fault| it.origin == fault.origin) => {}
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(found) } else { Err(Faults(faults)) }
    }
}

impl PointDecision {
    /// Returns the display grid at `point`; `None` without a display step, or where the model does
    /// not rise or fall with the reading.
    pub fn grid(&self, budget: &Budget, point: &PointEvaluation) -> Option<Grid> {
        if self.figures.relation() == Relation::Apart {
            return None;
        }
        let model = |reading: &Exact| point.model.at_exact_reading(reading).ok();
        Grid::new(self.figures.step()?, &start_of(budget, point), &model, &self.zones)
    }
}

/// Returns tolerance, TUR and zones of one point; `None` without tolerance.
pub(super) fn point_zones(
    budget: &Budget,
    point: &PointEvaluation,
) -> Result<Option<PointZones>, Fault> {
    let Some(at) = budget.points().list.get(point.index) else { return Ok(None) };
    let Some(limits) = tolerance_at(budget, at, &point.base)? else { return Ok(None) };
    let tur = Tur::at(budget, &limits, point);
    let decide = |it: &Decision| decided(budget, point, it, (&limits, &tur));
    let decision = budget.decision().map(decide).transpose()?;
    let repeatability = repeatability(budget, point, &at.title())?;
    Ok(Some(PointZones { limits, tur, decision, repeatability }))
}

/// Returns the greatest difference between two readings at a point; `None` where none is set.
fn repeatability(
    budget: &Budget,
    point: &PointEvaluation,
    title: &str,
) -> Result<Option<Limit>, Fault> {
    let Some(formula) = budget.repeatability() else { return Ok(None) };
    let limit = limit_of(formula, &point.base)?;
    if limit.si >= 0.0 && limit.si.is_finite() {
        return Ok(Some(limit));
    }
    let at = if title.is_empty() { String::new() } else { format!(" at {title}") };
    let what = format!("the repeatability limit{at} is negative");
    Err(Fault::new(formula.origin(), what).rule("a difference is 0 or more"))
}

/// Returns the zones of a decision at a point with a tolerance.
pub(super) fn decided(
    budget: &Budget,
    point: &PointEvaluation,
    decision: &Decision,
    (limits, tur): (&Limits, &Tur),
) -> Result<PointDecision, Fault> {
    let combined = point.scope(decision.scope);
    let title = budget.points().list.get(point.index).map_or(String::new(), |it| it.title());
    let background = Background::at(budget, point, decision.scope, limits)?;
    let background = background.as_ref();
    let base = &point.base;
    let ground = Ground { limits, tur, combined, base, title: &title, background };
    let zones = Zones::new(decision, ground)?;
    let (unit, reading_unit) = (&budget.measurand().unit, budget.reading_unit());
    let relation = relation(&point.model, &start_of(budget, point), unit, reading_unit);
    let step = budget.display().map(|it| it.step.exact());
    let expanded = combined.test_expanded;
    let figures = Figures::new(unit, reading_unit, step.as_ref(), relation, limits, expanded);
    let printed = Printed::new(&zones, &figures);
    Ok(PointDecision { zones, printed, figures })
}

/// Returns the reading that a point is evaluated at, in SI: its value, or zero.
pub(super) fn start_of(budget: &Budget, point: &PointEvaluation) -> Exact {
    let at = budget.points().list.get(point.index).and_then(|it| it.at.as_ref());
    at.map_or_else(Exact::zero, |it| it.exact())
}

/// Whether values of the measurand are errors of the instrument: it is the reading minus something, and the
/// reading alone is no error.
pub(super) fn is_error(budget: &Budget, relation: Relation) -> bool {
    relation.is_difference() && !budget.is_reading_alone()
}

/// Returns how the measurand hangs on the reading: the difference to `start` is compared exactly at
/// two more readings; where the model is not exact, its first and second derivatives count.
pub(super) fn relation(
    model: &PointModel,
    start: &Exact,
    unit: &Unit,
    reading_unit: &Unit,
) -> Relation {
    let Some(leaf) = model.reading.leaf else { return Relation::Apart };
    if unit.dimension() != reading_unit.dimension() {
        return Relation::Function;
    }
    let apart = [1, 3].map(|n| Exact::from_integer(n).mul(reading_unit.factor()));
    let value = |reading: &Exact| model.at_exact_reading(reading).ok()?.exact;
    let exactly = value(start).map(|first| {
        apart.iter().all(|by| {
            let there = start.add(by).and_then(|it| value(&it));
            there.and_then(|it| it.sub(&first)).is_some_and(|it| it == *by)
        })
    });
    let straight = |by: &Exact| {
        let mut leaves = model.leaves.clone();
        leaves[leaf] += by.to_f64();
        let jet = model.tape.jet(&leaves, &[(leaf, 1.0)], &[(leaf, 1.0)]);
        jet.is_ok_and(|it| it.a == 1.0 && it.ab == 0.0)
    };
    let difference = exactly.unwrap_or_else(|| apart.iter().all(straight));
    // At the point's value the display stands for the measurand itself, or for its deviation from there.
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * reading_unit.si().max(b.abs());
    let plain = model.at_exact_reading(start).is_ok_and(|it| match &it.exact {
        Some(exact) => exact == start || *exact == Exact::zero(),
        None => near(it.si, 0.0) || near(it.si, start.to_f64()),
    });
    match (difference, plain) {
        (true, true) => Relation::Difference,
        (true, false) => Relation::Shifted,
        (false, _) => Relation::Function,
    }
}
