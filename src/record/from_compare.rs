//! From populations, other rules and curves of acceptance to their part of the record.

use super::from::{Writer, rule, verdict};
use super::{
    Acceptance, Acceptances, Alternative, DensityCurve, History, OperatingCurve, Population,
    PopulationSource,
};
use crate::budget::{Known, Shape, ShareOf};
use crate::decide::background::{Background, Past, sides};
use crate::decide::compare;
use crate::decide::global::Prior;
use crate::decide::{Judgement, PointDecision, PointJudgement, Zones};
use crate::fault::Fault;
use crate::propagate::Value;

/// Adds to the points of a judgement's section what they would be under other rules.
pub fn add_comparison(section: &mut super::Section, judgement: &Judgement) {
    let writer = Writer::new(judgement.evaluation.budget());
    for (point, it) in section.points.iter_mut().zip(&judgement.points) {
        let Some(evaluated) = judgement.evaluation.points().get(it.index) else { continue };
        let others = judgement.evaluation.alternatives(evaluated, &it.zones);
        let list = others.iter().map(|other| writer.alternative(other, it)).collect();
        if let Some(decision) = &mut point.decision {
            decision.comparison = Some(list);
        }
    }
}

/// Adds to a point of a judgement's section (by its place in the section) the probability of acceptance over
/// the true error: under the budget's own rule, or under all that are compared.
pub fn add_operating_curve(
    section: &mut super::Section,
    judgement: &Judgement,
    place: usize,
    all: bool,
) {
    let writer = Writer::new(judgement.evaluation.budget());
    let found = section.points.get_mut(place).zip(judgement.points.get(place));
    if let Some((point, it)) = found {
        let Some(evaluated) = judgement.evaluation.points().get(it.index) else { return };
        let others = match all {
            true => judgement.evaluation.alternatives(evaluated, &it.zones),
            false => judgement.evaluation.own_rule(evaluated, &it.zones),
        };
        if let (Some(decision), Some(curves)) = (&mut point.decision, compare::curves(&others)) {
            decision.operating_curve = Some(writer.operating_curve(&others, curves));
        }
    }
}

/// The cells of a density.
const CELLS: usize = 200;
/// How far a density is followed on either side of the reading, in standard uncertainties.
const REACH: f64 = 4.5;

/// Adds to a point of a judgement's section where the true value may lie, given the reported reading.
pub fn add_density_curve(section: &mut super::Section, judgement: &Judgement, place: usize) {
    let writer = Writer::new(judgement.evaluation.budget());
    let found = section.points.get_mut(place).zip(judgement.points.get(place));
    if let Some((point, it)) = found {
        let (Some(reported), Some(judged)) = (it.reported(), it.zones.decision.as_ref()) else {
            return;
        };
        if let Some(decision) = &mut point.decision {
            decision.density_curve = writer.density_curve(&judged.zones, &reported.error);
        }
    }
}

impl Writer<'_> {
    /// The probability of each cell over its width, each taken from the nearer tail.
    fn density_curve(&self, zones: &Zones, error: &Value) -> Option<DensityCurve> {
        let reach = REACH * zones.standard_uncertainty;
        let width = 2.0 * reach / CELLS as f64;
        let beyond = |edge: usize, upper: bool| {
            zones.probability_beyond(error, reach * (2.0 * edge as f64 / CELLS as f64 - 1.0), upper)
        };
        let height = |cell: usize| {
            let upper = 2 * cell >= CELLS;
            let (near, far) = if upper { (cell, cell + 1) } else { (cell + 1, cell) };
            let share = (beyond(near, upper)? - beyond(far, upper)?).max(0.0);
            let height = share / self.number(width);
            height.is_finite().then_some(height)
        };
        let middle = self.value(error);
        let reach = self.number(reach);
        let heights = (0..CELLS).map(height).collect::<Option<Vec<f64>>>()?;
        Some(DensityCurve { low: middle - reach, high: middle + reach, heights })
    }

    fn alternative(&self, other: &compare::Alternative, judged: &PointJudgement) -> Alternative {
        let head = self.decision_head(&other.decision);
        let mut row = Alternative {
            rule: rule(other.decision.rule),
            asked: head.guard_band,
            own: other.own,
            guard_band: None,
            acceptance: None,
            printed: None,
            verdict: None,
            limit_risk: None,
            consumer_risk: None,
            producer_risk: None,
            reason: None,
        };
        match &other.zones {
            Ok(decision) => self.fill(&mut row, decision, judged),
            Err(fault) => row.reason = Some(Fault::message(fault)),
        }
        row
    }

    fn fill(&self, row: &mut Alternative, decision: &PointDecision, judged: &PointJudgement) {
        let zones = &decision.zones;
        let chances = zones.chances();
        row.guard_band = Some(self.number(zones.guard_band.si));
        row.acceptance = self.acceptance(zones);
        row.printed = row.acceptance.as_ref().and_then(|_| self.printed(decision));
        row.verdict = judged.reported().map(|it| verdict(zones.classify(&it.error).0));
        row.limit_risk = zones.limit_risk();
        row.consumer_risk = chances.map(|it| it.consumer);
        row.producer_risk = chances.map(|it| it.producer);
    }

    /// Returns the acceptance limits; `None` where nothing passes.
    pub(super) fn acceptance(&self, zones: &Zones) -> Option<Acceptance> {
        zones.acceptance().map(|it| {
            let side = |it: &Option<crate::decide::Limit>| it.as_ref().map(|it| self.number(it.si));
            Acceptance { lower: side(&it.lower), upper: side(&it.upper) }
        })
    }

    fn operating_curve(
        &self,
        others: &[compare::Alternative],
        curves: compare::Curves,
    ) -> OperatingCurve {
        let curve = |(index, probabilities): (usize, Vec<f64>)| {
            let other = &others[index];
            let zones = other.zones.as_ref().ok();
            Acceptances {
                rule: rule(other.decision.rule),
                asked: self.decision_head(&other.decision).guard_band,
                own: other.own,
                acceptance: zones.and_then(|it| self.acceptance(&it.zones)),
                probabilities,
            }
        };
        OperatingCurve {
            true_errors: curves.true_errors.iter().map(|it| self.number(*it)).collect(),
            curves: curves.curves.into_iter().map(curve).collect(),
        }
    }

    /// Returns what is known of such instruments at a point.
    pub(super) fn population(&self, background: &Background, zones: &Zones) -> Option<Population> {
        let known = &self.budget().population()?.known;
        let from = match known {
            Known::InTolerance { of: ShareOf::Actual, .. } => PopulationSource::Actual,
            Known::InTolerance { of: ShareOf::Observed, .. } => PopulationSource::Observed,
            Known::Normal { .. } => PopulationSource::Spread,
            Known::Bounded { .. } => PopulationSource::Limits,
            Known::History(_) => PopulationSource::History,
        };
        let prior = background.prior.as_ref();
        let limits = prior.and_then(|it| match it {
            Prior::Bounded { low, high, .. } => Some([self.number(*low), self.number(*high)]),
            Prior::Normal { .. } => None,
        });
        let file = match known {
            Known::History(history) => history.path.clone(),
            _ => String::new(),
        };
        Some(Population {
            from,
            mean: prior.map(|it| self.number(it.mean())),
            sd: prior.map(|it| self.number(it.sd())),
            distribution: prior.map(|it| word(it).to_owned()),
            limits,
            in_tolerance: prior.map(|it| it.within(sides(&zones.tolerance))),
            prior: background.counts,
            history: background.history.as_ref().map(|it| self.history(it, file)),
        })
    }

    fn history(&self, past: &Past, file: String) -> History {
        let name =
            |index: &usize| self.budget().contributors().get(*index).map(|it| it.name.clone());
        History {
            file,
            count: past.count as u64,
            observed_sd: past.observed.map(|it| self.number(it)),
            measurement_sd: self.number(past.measurement),
            sd_uncertainty: past.sd_uncertainty.map(|it| self.number(it)),
            mean_uncertainty: past.mean_uncertainty.map(|it| self.number(it)),
            in_tolerance: past.within as u64,
            in_tolerance_interval: past.interval.map(|(low, high)| [low, high]),
            same_in_all: past.same_in_all.iter().filter_map(name).collect(),
        }
    }
}

fn word(prior: &Prior) -> &'static str {
    match prior {
        Prior::Normal { .. } => "normal",
        Prior::Bounded { shape, .. } => match shape {
            Shape::Triangular => "triangular",
            Shape::Trapezoidal(_) => "trapezoidal",
            Shape::Arcsine => "arcsine",
            _ => "rectangular",
        },
    }
}
