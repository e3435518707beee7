//! The same point under other rules and guard bands, and the probability of acceptance over the true
//! error, for a customer and a laboratory that have to agree on one of them.
//!
//! Every alternative goes through the same [`Zones`](super::zones::Zones) as the budget's own rule; a
//! requirement on the TUR is left out of all of them.

use super::point::{PointDecision, PointZones, decided};
use crate::budget::{Decision, GuardBand, Probability, Rule, TurFormula};
use crate::fault::{Fault, Origin};
use crate::propagate::{Evaluation, PointEvaluation};

/// The specific risk that is compared: the default of ISO 14253-1:2017 (recalled).
const SPECIFIC_RISK: f64 = 0.05;
/// The consumer's risk that is compared: that of ANSI/NCSL Z540.3-2006, 5.3 (recalled).
const CONSUMER_RISK: f64 = 0.02;
/// How many true errors a curve is drawn over.
const STEPS: usize = 240;

/// One rule with one guard band at one point.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// The decision, without a requirement.
    pub decision: Decision,
    /// Whether the budget asks for this rule and this guard band.
    pub own: bool,
    /// Its zones, or why there are none.
    pub zones: Result<PointDecision, Fault>,
}

/// The probability of acceptance over the true error, one row of probabilities per alternative.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves {
    /// True errors, ascending, in SI.
    pub true_errors: Vec<f64>,
    /// Index of the alternative, and the probability at each true error.
    pub curves: Vec<(usize, Vec<f64>)>,
}

impl Evaluation<'_> {
    /// Returns the point's decision under each rule with the budget's guard band, and under `guarded`
    /// with each other guard band; empty without a decision.
    pub fn alternatives(&self, point: &PointEvaluation, zones: &PointZones) -> Vec<Alternative> {
        self.under_rules(point, zones, true)
    }

    /// Returns the alternative that the budget itself asks for; empty without a decision.
    pub fn own_rule(&self, point: &PointEvaluation, zones: &PointZones) -> Vec<Alternative> {
        self.under_rules(point, zones, false)
    }

    fn under_rules(
        &self,
        point: &PointEvaluation,
        zones: &PointZones,
        all: bool,
    ) -> Vec<Alternative> {
        let Some(asked) = self.budget().decision() else { return Vec::new() };
        let mut list: Vec<Decision> = Vec::new();
        for (rule, _) in Rule::ALL {
            // What is promised of a pass is nothing that a rule which takes in more can keep.
            let guard_band = match rule {
                Rule::Relaxed if asked.rule != rule && asked.guard_band.promise().is_some() => {
                    GuardBand::TimesU(1.0)
                }
                _ => asked.guard_band.clone(),
            };
            list.push(Decision { rule, guard_band, requires: None, ..asked.clone() });
        }
        for guard_band in others(self.budget().population().is_some()) {
            if !same(&guard_band, &asked.guard_band) {
                let rule = Rule::Guarded;
                list.push(Decision { rule, guard_band, requires: None, ..asked.clone() });
            }
        }
        let alternative = |decision: Decision| Alternative {
            own: decision.rule == asked.rule && same(&decision.guard_band, &asked.guard_band),
            zones: decided(self.budget(), point, &decision, (&zones.limits, &zones.tur)),
            decision,
        };
        let is_own =
            |it: &Decision| it.rule == asked.rule && same(&it.guard_band, &asked.guard_band);
        list.into_iter().filter(|it| all || is_own(it)).map(alternative).collect()
    }
}

/// Returns the guard bands that are compared beside the budget's own.
fn others(has_population: bool) -> Vec<GuardBand> {
    let nowhere = Origin::NONE;
    let mut list = vec![GuardBand::TimesU(1.0)];
    list.extend(Probability::new(SPECIFIC_RISK).map(|it| GuardBand::SpecificRisk(it, nowhere)));
    if has_population {
        list.extend(Probability::new(CONSUMER_RISK).map(|it| GuardBand::ConsumerRisk(it, nowhere)));
    }
    list.extend(TurFormula::ALL.map(|(it, _)| GuardBand::FromTur(it, nowhere)));
    list
}

/// Whether two guard bands are asked for in the same way.
fn same(one: &GuardBand, other: &GuardBand) -> bool {
    match (one, other) {
        (GuardBand::TimesU(a), GuardBand::TimesU(b)) => a == b,
        (GuardBand::SpecificRisk(a, _), GuardBand::SpecificRisk(b, _))
        | (GuardBand::ConsumerRisk(a, _), GuardBand::ConsumerRisk(b, _)) => a == b,
        (GuardBand::FromTur(a, _), GuardBand::FromTur(b, _)) => a == b,
        (GuardBand::Width(a), GuardBand::Width(b)) => a.origin() == b.origin(),
        _ => false,
    }
}

/// Returns the probability of acceptance over the true error, from well within all limits to where
/// nothing is accepted any more; `None` where no alternative accepts anything, or a probability is not
/// known.
///
/// Method: M102.
pub fn curves(alternatives: &[Alternative]) -> Option<Curves> {
    let decided: Vec<(usize, &PointDecision)> = alternatives
        .iter()
        .enumerate()
        .filter_map(|(index, it)| Some((index, it.zones.as_ref().ok()?)))
        .collect();
    let (low, high) = range(&decided)?;
    let step = (high - low) / STEPS as f64;
    let true_errors: Vec<f64> = (0..=STEPS).map(|it| low + it as f64 * step).collect();
    let mut curves = Vec::new();
    for (index, it) in decided {
        if it.zones.acceptance().is_none() {
            continue;
        }
        let row: Option<Vec<f64>> =
            true_errors.iter().map(|error| it.zones.acceptance_probability(*error)).collect();
        curves.push((index, row?));
    }
    (!curves.is_empty()).then_some(Curves { true_errors, curves })
}

/// Returns the range of true errors: four u beyond the outermost acceptance limit on each side, and as
/// far inside of a limit that has none opposite.
fn range(decided: &[(usize, &PointDecision)]) -> Option<(f64, f64)> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (_, it) in decided {
        let zones = &it.zones;
        let Some(limits) = zones.acceptance() else { continue };
        let u = 4.0 * zones.standard_uncertainty;
        let sides = [&limits.lower, &limits.upper, &zones.tolerance.lower, &zones.tolerance.upper];
        for limit in sides.into_iter().flatten() {
            low = low.min(limit.si - u);
            high = high.max(limit.si + u);
        }
    }
    (low < high && low.is_finite() && high.is_finite()).then_some((low, high))
}
