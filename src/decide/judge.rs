//! Judging: an evaluation and readings in, one verdict per reading, point and instrument out.
//!
//! Zones are those of the evaluation, whose u and U hold for the reading at the point's value; a
//! reading moves the estimate and the risk alone.

use super::figures::{Figures, Relation};
use super::findings;
use super::grid::{Grid, index_on, neighbours};
use super::limits::{Limits, Side, Tur, tolerance_at};
use super::printed::Printed;
use super::readings::{Entry, Readings, check_kind, unit_of_entries};
use super::reason::{Account, reason};
use super::risk::specific_risk;
use super::verdict::{Cause, Verdict};
use super::zones::{Ground, Zones};
use crate::budget::domain::{Budget, Decision};
use crate::fault::{Fault, Faults, Finding, Origin};
use crate::propagate::system::PointModel;
use crate::propagate::{Evaluation, PointEvaluation, Value};
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

/// The judgement of an instrument against one budget.
#[derive(Debug, Clone)]
pub struct Judgement<'a> {
    /// The evaluation that was judged on.
    pub evaluation: &'a Evaluation<'a>,
    /// One judgement per point that is asked for and has a tolerance, in order.
    pub points: Vec<PointJudgement>,
    /// Findings of the decision.
    pub findings: Vec<Finding>,
}

/// The judgement at one point.
#[derive(Debug, Clone)]
pub struct PointJudgement {
    /// Index of the point in the budget.
    pub index: usize,
    /// Its zones, the decision being there.
    pub zones: PointZones,
    /// The judged readings, in order; empty where none is given.
    pub readings: Vec<Judged>,
    /// The index of the reported one: the nearest to a tolerance limit, or furthest beyond it.
    pub reported: Option<usize>,
    /// Expanded uncertainty of the estimate, as the budget reports it, in SI.
    pub expanded_uncertainty: f64,
}

/// One judged reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The place of the reading.
    pub origin: Origin,
    /// The reading as written; empty where the estimate is judged.
    pub text: String,
    /// The measurand.
    pub error: Value,
    /// Estimate less and plus the expanded uncertainty that the budget reports, in SI.
    pub interval: (f64, f64),
    /// The verdict.
    pub verdict: Verdict,
    /// What it is due to; `None` for a plain pass.
    pub cause: Option<Cause>,
    /// The probability that the true value lies outside the tolerance; `None`: not determined.
    pub specific_risk: Option<f64>,
    /// The reason in one sentence.
    pub reason: String,
}

impl Judgement<'_> {
    /// Returns the instrument's verdict, the worst of all points and checks, and what it is due to.
    pub fn instrument(&self, a_check_failed: bool) -> (Verdict, Option<Cause>) {
        if a_check_failed {
            return (Verdict::Fail, Some(Cause::Check));
        }
        let verdicts = self.points.iter().map(PointJudgement::verdict);
        verdicts.fold((Verdict::Pass, None), |worst, it| if it.0 > worst.0 { it } else { worst })
    }
}

impl PointJudgement {
    /// Returns the reported reading.
    pub fn reported(&self) -> Option<&Judged> {
        self.reported.and_then(|index| self.readings.get(index))
    }

    /// Returns the point's verdict: that of the reported reading, undecided without one.
    pub fn verdict(&self) -> (Verdict, Option<Cause>) {
        self.reported().map_or((Verdict::Undecided, None), |it| (it.verdict, it.cause))
    }
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

    /// Whether errors can be judged: the model is `reading` minus something at every point.
    pub fn takes_errors(&self) -> bool {
        let (unit, reading_unit) = (&self.budget().measurand().unit, self.budget().reading_unit());
        self.points().iter().all(|it| {
            let start = start_of(self.budget(), it);
            relation(&it.model, &start, unit, reading_unit) == Relation::Difference
        })
    }

    /// Judges readings.
    ///
    /// # Errors
    ///
    /// No tolerance or no decision (the help is what to add); the faults of [`Evaluation::zones`]; a
    /// reading of the wrong kind, or one where the model has no value; errors where the model is not
    /// `reading` minus something; a reading where the model does not use it.
    pub fn judge(&self, readings: &Readings) -> Result<Judgement<'_>, Faults> {
        let budget = self.budget();
        if budget.decision().is_none() {
            return Err(nothing_to_judge_by(budget).into());
        }
        let zones = self.zones()?;
        if zones.iter().all(Option::is_none) {
            return Err(nothing_to_judge_by(budget).into());
        }
        let mut findings = findings::of_zones(budget, &zones);
        let (mut points, mut faults) = (Vec::new(), Vec::new());
        for (point, zones) in self.points().iter().zip(zones) {
            if !readings.asks_for(point.index) {
                continue;
            }
            match judge_point(budget, point, zones, readings.at(point.index), &mut findings) {
                Ok(judgement) => points.extend(judgement),
                Err(mut more) => faults.append(&mut more),
            }
        }
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        let without = points.iter().filter(|it: &&PointJudgement| it.readings.is_empty());
        let missing: Vec<usize> = without.map(|it| it.index).collect();
        findings.extend(findings::missing(budget, &missing));
        Ok(Judgement { evaluation: self, points, findings })
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
fn point_zones(budget: &Budget, point: &PointEvaluation) -> Result<Option<PointZones>, Fault> {
    let Some(at) = budget.points().list.get(point.index) else { return Ok(None) };
    let Some(limits) = tolerance_at(budget, at, &point.base)? else { return Ok(None) };
    let tur = Tur::at(budget, &limits, point);
    let decide = |decision: &Decision| {
        let combined = point.scope(decision.scope);
        let (base, title) = (&point.base, at.title());
        let ground = Ground { limits: &limits, tur: &tur, combined, base, title: &title };
        let zones = Zones::new(decision, ground)?;
        let (unit, reading_unit) = (&budget.measurand().unit, budget.reading_unit());
        let relation = relation(&point.model, &start_of(budget, point), unit, reading_unit);
        let step = budget.display().map(|it| it.step.exact());
        let expanded = combined.test_expanded;
        let figures = Figures::new(unit, reading_unit, step.as_ref(), relation, &limits, expanded);
        let printed = Printed::new(&zones, &figures);
        Ok(PointDecision { zones, printed, figures })
    };
    let decision = budget.decision().map(decide).transpose()?;
    Ok(Some(PointZones { limits, tur, decision }))
}

fn judge_point(
    budget: &Budget,
    point: &PointEvaluation,
    zones: Option<PointZones>,
    entries: &[Entry],
    findings: &mut Vec<Finding>,
) -> Result<Option<PointJudgement>, Vec<Fault>> {
    let Some(zones) = zones else {
        let faults: Vec<Fault> = entries.iter().map(|it| no_tolerance(budget, point, it)).collect();
        return if faults.is_empty() { Ok(None) } else { Err(faults) };
    };
    let Some(decision) = &zones.decision else { return Ok(None) };
    let judge = Judge { budget, point, decision, grid: decision.grid(budget, point) };
    let mut faults = Vec::new();
    let mut readings = Vec::new();
    if decision.figures.relation() == Relation::Apart && entries.is_empty() {
        readings.push(judge.value(point.estimate.clone(), None, String::new(), Origin::NONE));
    }
    for entry in entries {
        match judge.entry(entry, findings) {
            Ok(judged) => readings.push(judged),
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let reported = worst(&readings, &decision.zones.tolerance);
    let (index, expanded_uncertainty) = (point.index, point.expanded_uncertainty);
    Ok(Some(PointJudgement { index, zones, readings, reported, expanded_uncertainty }))
}

/// Judges the entries of one point.
struct Judge<'a> {
    budget: &'a Budget,
    point: &'a PointEvaluation,
    decision: &'a PointDecision,
    grid: Option<Grid>,
}

impl Judge<'_> {
    fn entry(&self, entry: &Entry, findings: &mut Vec<Finding>) -> Result<Judged, Fault> {
        self.check(entry)?;
        let given = entry.quantity.exact();
        let (error, reading) = if entry.is_error {
            let reading = self.reading_of(&given);
            (Value { si: given.to_f64(), exact: Some(given) }, reading)
        } else {
            let error = self.point.model.at_exact_reading(&given);
            let place = |fault: Fault| Fault { origin: entry.origin, ..fault };
            (error.map_err(place)?, Some(given))
        };
        let index = self.point.index;
        if is_far_off(&error, &self.decision.zones.tolerance) {
            let text = self.decision.figures.error(&error);
            findings.push(findings::far_off(self.budget, index, entry, &text));
        }
        let n = self.decision.figures.step().zip(reading.as_ref()).and_then(|(step, reading)| {
            let n = index_on(reading, step);
            if n.is_none() {
                let between = self.between(reading, step, entry.is_error);
                findings
                    .extend(between.map(|it| findings::off_grid(self.budget, index, entry, it)));
            }
            n
        });
        Ok(self.value(error, n, entry.quantity.text(), entry.origin))
    }

    /// Returns the judgement of a value of the measurand; `n`: its reading on the display grid.
    fn value(&self, error: Value, n: Option<i64>, text: String, origin: Origin) -> Judged {
        let PointDecision { zones, printed, figures } = self.decision;
        let (verdict, cause) = zones.classify(&error);
        let shown = |n: i64| {
            let reading = self.grid.as_ref()?.reading(n);
            self.point.model.at_exact_reading(&reading).ok()
        };
        let grid = n.and(self.grid.as_ref());
        let account =
            Account { zones, printed, figures, grid, shown: &shown, error: &error, verdict, cause };
        let u = self.point.expanded_uncertainty;
        Judged {
            origin,
            text,
            interval: (error.si - u, error.si + u),
            verdict,
            cause,
            specific_risk: self.risk(&error),
            reason: reason(&account),
            error,
        }
    }

    fn risk(&self, error: &Value) -> Option<f64> {
        let zones = &self.decision.zones;
        specific_risk(error, &zones.tolerance, zones.standard_uncertainty, zones.dof)
    }

    fn check(&self, entry: &Entry) -> Result<(), Fault> {
        let relation = self.decision.figures.relation();
        let text = entry.quantity.text();
        if relation == Relation::Apart {
            let fault = Fault::new(entry.origin, format!("the reading `{text}` has no use"));
            return Err(
                fault.rule("the model does not use `reading`; its estimate is judged as it is")
            );
        }
        if entry.is_error && relation != Relation::Difference {
            let fault = Fault::new(entry.origin, format!("the error `{text}` cannot be judged"));
            return Err(fault
                .rule("errors are for models that are `reading` minus something; give readings"));
        }
        check_kind(&entry.quantity, unit_of_entries(self.budget, entry.is_error), entry.origin)
    }

    /// Returns the exact reading that shows `error`, the model being reading minus something.
    fn reading_of(&self, error: &Exact) -> Option<Exact> {
        let start = start_of(self.budget, self.point);
        let there = self.point.model.at_exact_reading(&start).ok()?.exact?;
        start.add(&error.sub(&there)?)
    }

    /// Returns the two values next to a reading that the display cannot show.
    fn between(&self, reading: &Exact, step: &Exact, as_error: bool) -> Option<[String; 2]> {
        let (below, above) = neighbours(reading, step)?;
        let text = |n: i64| {
            let shown = Exact::from_integer(n).mul(step);
            if as_error {
                let error = self.point.model.at_exact_reading(&shown).ok()?;
                Some(self.decision.figures.error(&error))
            } else {
                Some(self.decision.figures.reading(&shown))
            }
        };
        Some([text(below)?, text(above)?])
    }
}

/// Returns the reading that a point is evaluated at, in SI: its value, or zero.
fn start_of(budget: &Budget, point: &PointEvaluation) -> Exact {
    let at = budget.points().list.get(point.index).and_then(|it| it.at.as_ref());
    at.map_or_else(Exact::zero, |it| it.exact())
}

/// Returns how the measurand hangs on the reading: the difference to `start` is compared exactly at
/// two more readings; where the model is not exact, its first and second derivatives count.
fn relation(model: &PointModel, start: &Exact, unit: &Unit, reading_unit: &Unit) -> Relation {
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
    if difference { Relation::Difference } else { Relation::Function }
}

/// Returns the index of the reading nearest to a limit of the tolerance, or furthest beyond it; the
/// first of several.
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

/// Whether a value lies over a hundred times the tolerance (its span; one-sided: its limit) beyond it.
fn is_far_off(error: &Value, tolerance: &Limits) -> bool {
    let size = match (tolerance.span(), &tolerance.lower, &tolerance.upper) {
        (Some(span), ..) => span.si,
        (None, Some(limit), _) | (None, None, Some(limit)) => limit.si.abs(),
        (None, None, None) => return false,
    };
    let margin = tolerance.margin(tolerance.nearest(error), error);
    size > 0.0 && margin < -100.0 * size
}

fn no_tolerance(budget: &Budget, point: &PointEvaluation, entry: &Entry) -> Fault {
    let title = budget.points().list.get(point.index).map_or(String::new(), |it| it.title());
    Fault::new(entry.origin, format!("the point {title} has no tolerance"))
        .rule("a reading is judged against a tolerance")
        .help(tolerance_help(budget))
}

/// Returns the fault of a budget without tolerance or decision, with the block to add.
pub(super) fn nothing_to_judge_by(budget: &Budget) -> Fault {
    let has_tolerance = budget.tolerance().is_some()
        || budget.points().list.iter().any(|it| it.tolerance.is_some());
    let mut help = Vec::new();
    if !has_tolerance {
        help.push(tolerance_help(budget));
    }
    if budget.decision().is_none() {
        help.push(
            "decision:\n  rule: guarded\n  guard_band: {times_U: 1}\n  uncertainty: all".to_owned(),
        );
    }
    let missing = match (has_tolerance, budget.decision().is_none()) {
        (false, true) => "this budget has no tolerance and no decision",
        (false, false) => "this budget has no tolerance",
        (true, _) => "this budget has no decision",
    };
    Fault::new(budget.origin(), missing)
        .rule("a reading is judged by a rule against a tolerance")
        .help(help.join("\n"))
}

fn tolerance_help(budget: &Budget) -> String {
    let width = super::figures::join("1", &budget.measurand().unit);
    format!("tolerance: ±{width}")
}
