//! The zones of a decision rule at one point: guard band, limits of each zone, and the one place
//! where a value gets its verdict.
//!
//! Notation: T the tolerance, w ≥ 0 the guard band, u and ν those of the decision's scope, U at
//! 95.45 %. A value on a limit belongs to the better side: exactly where value and limit are exact,
//! else within 1e-9 of the tolerance span (one-sided: of U).
//!
//! Sources: JCGM 106:2012, clause 8; ILAC-G8:09/2019, 4.2; ISO 14253-1.

use super::background::{Background, sides};
use super::global::{self, Risks};
use super::guard::{guard_band, here};
use super::limits::{Limit, Limits, Side, Tur};
use super::risk::specific_risk;
use super::verdict::{Cause, Verdict};
use crate::budget::formula::Base;
use crate::budget::{Decision, Rule, Scope};
use crate::fault::Fault;
use crate::propagate::density::Density;
use crate::propagate::{Combined, Value};

/// The share of the tolerance span (one-sided: of U) that counts as on the limit.
const TIE: f64 = 1e-9;

/// What a decision is taken on at one point.
#[derive(Debug, Clone, Copy)]
pub struct Ground<'a> {
    /// The tolerance.
    pub limits: &'a Limits,
    /// The ratio of both scopes.
    pub tur: &'a Tur,
    /// The figures of the decision's scope.
    pub combined: &'a Combined,
    /// The base values of the point.
    pub base: &'a Base,
    /// What the point is called; may be empty.
    pub title: &'a str,
    /// What is known of such instruments before the reading.
    pub background: Option<&'a Background>,
}

/// A requirement that is not met at a point.
#[derive(Debug, Clone, PartialEq)]
pub struct Unmet {
    /// The TUR; `None`: not stated.
    pub tur: Option<f64>,
    /// Why it is not stated; may be empty.
    pub reason: String,
    /// The TUR that is required.
    pub required: f64,
    /// The scope of both.
    pub scope: Scope,
    /// The rule that was asked for.
    pub asked: Rule,
}

/// A zone: values within its limits get this verdict, unless a better zone holds them.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// The verdict.
    pub verdict: Verdict,
    /// The limits; those of an empty zone are crossed.
    pub limits: Limits,
}

/// The zones of one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Zones {
    /// The rule that applies; `None` where a requirement is not met and no other rule is named.
    pub rule: Option<Rule>,
    /// The requirement that is not met.
    pub unmet: Option<Unmet>,
    /// The scope of u and U in the decision.
    pub scope: Scope,
    /// The guard band, in SI; zero where the rule that applies has none.
    pub guard_band: Limit,
    /// The tolerance.
    pub tolerance: Limits,
    /// The zones, nested, from best to worst; beyond the last: fail.
    pub zones: Vec<Zone>,
    /// What counts as on a limit where a comparison is not exact, in SI.
    pub tie: f64,
    /// Standard uncertainty of the decision's scope, in SI.
    pub standard_uncertainty: f64,
    /// Degrees of freedom of the decision's scope.
    pub dof: f64,
    /// The distribution that risks are taken from.
    pub density: Density,
    /// The distribution of the measurement before the reading, for consumer's and producer's risk.
    pub law: Density,
    /// What is known of such instruments before the reading.
    pub background: Option<Background>,
}

impl Zones {
    /// Returns the zones of `decision` at a point.
    ///
    /// # Errors
    ///
    /// A scope without uncertainty; a guard band that has no value, is negative, or cannot keep the
    /// risk that it promises.
    pub fn new(decision: &Decision, ground: Ground) -> Result<Zones, Fault> {
        let u = ground.combined.standard_uncertainty;
        if !(u > 0.0 && u.is_finite()) {
            return Err(no_uncertainty(decision, ground.title));
        }
        let unmet = unmet(decision, ground.tur);
        let rule = match (&unmet, &decision.requires) {
            (Some(_), Some(requirement)) => requirement.otherwise,
            _ => Some(decision.rule),
        };
        let guard_band = match rule {
            None | Some(Rule::Simple) => Limit::from_exact(crate::quantity::Exact::zero()),
            Some(_) => guard_band(decision, &ground)?,
        };
        let span = ground.limits.span();
        Ok(Zones {
            rule,
            unmet,
            scope: decision.scope,
            zones: nested(rule, ground.limits, &guard_band),
            guard_band,
            tolerance: ground.limits.clone(),
            tie: TIE * span.map_or(ground.combined.test_expanded, |it| it.si),
            standard_uncertainty: u,
            dof: ground.combined.quantile_dof,
            density: match ground.background {
                Some(it) if it.counts => ground.combined.law(),
                _ => ground.combined.density.clone(),
            },
            law: ground.combined.law(),
            background: ground.background.cloned(),
        })
    }

    /// Returns the probability, given the value `error`, that the true value lies outside the tolerance;
    /// with the population beside the reading where the budget asks for it. `None`: not determined.
    pub fn specific_risk(&self, error: &Value) -> Option<f64> {
        match &self.background {
            Some(it) if it.counts => {
                let (prior, tolerance) = (it.prior.as_ref()?, sides(&self.tolerance));
                global::posterior_risk(prior, error.si, tolerance, &self.density)
            }
            _ => specific_risk(error, &self.tolerance, &self.density),
        }
    }

    /// Returns the probability, given the value `error`, that the true value lies more than `x` above it, with
    /// `upper`, or else that it lies below `error` + `x`; x in SI, of either sign. As [`Zones::specific_risk`].
    pub fn probability_beyond(&self, error: &Value, x: f64, upper: bool) -> Option<f64> {
        match &self.background {
            Some(it) if it.counts => {
                let limit = Some(error.si + x);
                let within = if upper { (None, limit) } else { (limit, None) };
                global::posterior_risk(it.prior.as_ref()?, error.si, within, &self.density)
            }
            _ if upper => self.density.above(x),
            _ => self.density.below(-x),
        }
    }

    /// Returns the greatest specific risk of an accepted value: that on an acceptance limit; `None`
    /// where nothing passes.
    pub fn limit_risk(&self) -> Option<f64> {
        let limits = self.acceptance()?;
        let sides = [&limits.lower, &limits.upper].into_iter().flatten();
        let risks: Option<Vec<f64>> = sides.map(|it| self.risk_on(&it.value())).collect();
        risks?.into_iter().reduce(f64::max)
    }

    /// The specific risk on an acceptance limit. What lies beyond a tolerance limit more than eight u away is taken
    /// from t, also where the distribution is the exact one: it is below a thousandth of the risk at the near
    /// limit, and dear to compute.
    fn risk_on(&self, limit: &Value) -> Option<f64> {
        let far = 8.0 * self.standard_uncertainty;
        let exact = matches!(self.density, Density::Exact(_));
        let margins = [Side::Lower, Side::Upper].map(|it| self.tolerance.margin(it, limit));
        if !exact || margins.iter().all(|it| *it <= far || it.is_infinite()) {
            return self.specific_risk(limit);
        }
        let tail = |margin: f64, upper: bool| match (margin > far, upper) {
            _ if margin.is_infinite() => Some(0.0),
            (true, _) => self.law.above(margin),
            (false, true) => self.density.above(margin),
            (false, false) => self.density.below(margin),
        };
        Some((tail(margins[0], false)? + tail(margins[1], true)?).min(1.0))
    }

    /// Returns consumer's and producer's risk before the reading, a pass being what is accepted; `None`
    /// without a population. The measurement is distributed as t with the decision's u and ν, whatever the
    /// specific risk is taken from.
    pub fn chances(&self) -> Option<Risks> {
        let prior = self.background.as_ref()?.prior.as_ref()?;
        let acceptance = self.acceptance().map(sides);
        global::risks(prior, sides(&self.tolerance), acceptance, &self.law)
    }

    /// Returns the probability that an instrument with this true error, in SI, is accepted.
    pub fn acceptance_probability(&self, true_error: f64) -> Option<f64> {
        global::acceptance_probability(true_error, self.acceptance().map(sides), &self.law)
    }

    /// Returns the verdict on a value of the measurand, and what it is due to unless it is a plain
    /// pass.
    pub fn classify(&self, error: &Value) -> (Verdict, Option<Cause>) {
        let zone = self.zones.iter().find(|it| it.limits.contains(error, self.tie));
        let verdict = zone.map_or(Verdict::Fail, |it| it.verdict);
        (verdict, self.cause(verdict, self.tolerance.contains(error, self.tie)))
    }

    /// Returns what a verdict is due to, for a value within the tolerance or beyond it.
    pub fn cause(&self, verdict: Verdict, within_tolerance: bool) -> Option<Cause> {
        match (verdict, within_tolerance) {
            (Verdict::Pass, true) => None,
            (Verdict::Pass, false) => Some(Cause::GuardBand),
            (_, true) if self.rule.is_none() => Some(Cause::Requirement),
            (_, true) => Some(Cause::GuardBand),
            (_, false) => Some(Cause::Tolerance),
        }
    }

    /// Returns the limits of the zone with this verdict, where the rule has one and it is not empty.
    pub fn limits(&self, verdict: Verdict) -> Option<&Limits> {
        let zone = self.zones.iter().find(|it| it.verdict == verdict)?;
        (!zone.limits.is_empty(self.tie)).then_some(&zone.limits)
    }

    /// Returns the acceptance limits; `None` where nothing passes.
    pub fn acceptance(&self) -> Option<&Limits> {
        self.limits(Verdict::Pass)
    }

    /// Whether the guard band leaves nothing to pass.
    pub fn is_acceptance_empty(&self) -> bool {
        self.rule.is_some() && self.acceptance().is_none()
    }

    /// Returns the limits beyond which a value fails.
    pub fn outermost(&self) -> Option<&Limits> {
        let last = self.zones.last()?;
        (!last.limits.is_empty(self.tie)).then_some(&last.limits)
    }
}

/// Returns the nested zones of a rule, best first.
///
/// Method: M26.
fn nested(rule: Option<Rule>, tolerance: &Limits, w: &Limit) -> Vec<Zone> {
    let zone = |verdict, limits| Zone { verdict, limits };
    let within = |verdict| zone(verdict, tolerance.clone());
    let (inner, outer) = (tolerance.shrunk(w), tolerance.grown(w));
    match rule {
        None => vec![within(Verdict::Undecided)],
        Some(Rule::Simple) => vec![within(Verdict::Pass)],
        Some(Rule::Guarded) => vec![zone(Verdict::Pass, inner)],
        Some(Rule::Relaxed) => vec![zone(Verdict::Pass, outer)],
        Some(Rule::ThreeWay) => vec![zone(Verdict::Pass, inner), zone(Verdict::Undecided, outer)],
        Some(Rule::FourWay) => vec![
            zone(Verdict::Pass, inner),
            within(Verdict::ConditionalPass),
            zone(Verdict::ConditionalFail, outer),
        ],
    }
}

/// Returns the requirement where it is not met.
///
/// Method: M27.
fn unmet(decision: &Decision, tur: &Tur) -> Option<Unmet> {
    let requirement = decision.requires.as_ref()?;
    let stated = tur.of(requirement.scope);
    if stated.is_some_and(|it| it >= requirement.tur * (1.0 - TIE)) {
        return None;
    }
    Some(Unmet {
        tur: stated,
        reason: tur.reason(requirement.scope).to_owned(),
        required: requirement.tur,
        scope: requirement.scope,
        asked: decision.rule,
    })
}

fn no_uncertainty(decision: &Decision, title: &str) -> Fault {
    let scope = decision.scope.word();
    let subject = format!("the uncertainty of scope `{scope}`");
    let other = match decision.scope {
        Scope::All => "",
        Scope::Laboratory => "uncertainty: all",
    };
    Fault::new(decision.origin, here(&subject, title, "is zero"))
        .rule("a decision needs a scope with contributors")
        .help(other)
}

#[cfg(test)]
mod tests {
    use super::super::point::PointZones;
    use super::super::testing::{Case, force, micrometer, value};
    use super::*;

    fn verdicts(zones: &PointZones, values: &[&str]) -> Vec<&'static str> {
        let decision = zones.decision.as_ref().unwrap();
        values.iter().map(|it| decision.zones.classify(&value(it)).0.word()).collect()
    }

    fn zones(case: &Case) -> Zones {
        case.zones().decision.unwrap().zones
    }

    /// The table of design and `docs/decision-rules.md`: T = ±4 µm, w = 1.5 µm, so that the limits are
    /// 2.5, 4 and 5.5 µm; each value lies on a limit or by 1e-15 µm beyond it, on both sides.
    /// Method: M26.
    #[test]
    fn every_rule_gives_its_verdict_in_every_zone_and_on_every_limit() {
        let values = [
            "0 µm",
            "2.5 µm",
            "2.500000000000001 µm",
            "4 µm",
            "4.000000000000001 µm",
            "5.5 µm",
            "5.500000000000001 µm",
        ];
        let (p, u, f) = ("pass", "undecided", "fail");
        let (cp, cf) = ("conditional pass", "conditional fail");
        for (rule, expected) in [
            ("simple", [p, p, p, p, f, f, f]),
            ("guarded", [p, p, f, f, f, f, f]),
            ("relaxed", [p, p, p, p, p, p, f]),
            ("three-way", [p, p, u, u, u, u, f]),
            ("four-way", [p, p, cp, cp, cf, cf, f]),
        ] {
            let below = values.map(|it| if it == "0 µm" { it.into() } else { format!("-{it}") });
            let below: Vec<&str> = below.iter().map(String::as_str).collect();
            let both = micrometer("±4 µm", rule, 1.0).width("1.5 µm").zones();
            assert_eq!(verdicts(&both, &values), expected, "{rule}");
            assert_eq!(verdicts(&both, &below), expected, "{rule} below");
            let upper = micrometer("at most 4 µm", rule, 1.0).width("1.5 µm").zones();
            assert_eq!(verdicts(&upper, &values), expected, "{rule} at most");
            assert!(verdicts(&upper, &below).iter().all(|it| *it == p), "{rule} at most, below");
            let lower = micrometer("at least -4 µm", rule, 1.0).width("1.5 µm").zones();
            assert_eq!(verdicts(&lower, &below), expected, "{rule} at least");
            assert!(verdicts(&lower, &values).iter().all(|it| *it == p), "{rule} at least, above");
        }
    }

    #[test]
    fn nothing_passes_where_the_guard_band_leaves_no_zone() {
        let values = ["0 µm", "4 µm", "4.1 µm", "8.5 µm", "8.6 µm", "-8.6 µm"];
        let (u, f) = ("undecided", "fail");
        let (cp, cf) = ("conditional pass", "conditional fail");
        for (rule, expected) in [
            ("guarded", [f; 6]),
            ("three-way", [u, u, u, u, f, f]),
            ("four-way", [cp, cp, cf, cf, f, f]),
        ] {
            let case = micrometer("±4 µm", rule, 1.0).width("4.5 µm");
            assert_eq!(verdicts(&case.zones(), &values), expected, "{rule}");
            assert!(zones(&case).is_acceptance_empty() && zones(&case).acceptance().is_none());
        }
        // Half the span leaves one value, which is on both limits and passes.
        let case = micrometer("±4 µm", "guarded", 1.0).width("4 µm");
        assert_eq!(verdicts(&case.zones(), &["0 µm", "0.001 µm"]), ["pass", "fail"]);
        assert!(!zones(&case).is_acceptance_empty());
    }

    #[test]
    fn a_verdict_names_what_it_is_due_to() {
        let case = micrometer("±4 µm", "guarded", 1.0).width("1.5 µm");
        let cause = |case: &Case, it: &str| zones(case).classify(&value(it)).1;
        assert_eq!(cause(&case, "2 µm"), None);
        assert_eq!(cause(&case, "3 µm"), Some(Cause::GuardBand));
        assert_eq!(cause(&case, "5 µm"), Some(Cause::Tolerance));
        let case = micrometer("±4 µm", "relaxed", 1.0).width("1.5 µm");
        assert_eq!(cause(&case, "4 µm"), None);
        assert_eq!(cause(&case, "5 µm"), Some(Cause::GuardBand));
        assert_eq!(cause(&case, "6 µm"), Some(Cause::Tolerance));
        let case = micrometer("±4 µm", "four-way", 1.0).width("1.5 µm");
        assert_eq!(cause(&case, "3 µm"), Some(Cause::GuardBand));
        assert_eq!(cause(&case, "5 µm"), Some(Cause::Tolerance));
    }

    /// Method: M27.
    #[test]
    fn a_requirement_decides_which_rule_applies() {
        let met = micrometer("±4 µm", "simple", 1.0).requires("4", Some("guarded"));
        assert_eq!(zones(&met).rule, Some(Rule::Simple));
        assert!(zones(&met).unmet.is_none());
        let unmet = micrometer("±4 µm", "simple", 1.001).requires("4", Some("guarded"));
        assert_eq!(zones(&unmet).rule, Some(Rule::Guarded));
        assert_eq!(zones(&unmet).unmet.unwrap().asked, Rule::Simple);
        let open = micrometer("±4 µm", "simple", 1.001).requires("4", None);
        assert_eq!(
            verdicts(&open.zones(), &["0 µm", "4 µm", "4.1 µm"]),
            ["undecided", "undecided", "fail"]
        );
        assert_eq!(zones(&open).classify(&value("1 µm")).1, Some(Cause::Requirement));
        assert_eq!(zones(&open).classify(&value("5 µm")).1, Some(Cause::Tolerance));
        assert!(!zones(&open).is_acceptance_empty());
    }

    /// 1e-9 of the span of 8 µm is 8e-15 m; one-sided, of U = 1 µm, 1e-15 m.
    #[test]
    fn computed_values_count_as_on_the_limit_within_the_tie_tolerance() {
        let near = |si: f64| Value { si, exact: None };
        for (tolerance, tie) in [("±4 µm", 8e-15), ("at most 4 µm", 1e-15)] {
            let zones = zones(&micrometer(tolerance, "simple", 1.0));
            assert!((zones.tie / tie - 1.0).abs() < 1e-9, "{}", zones.tie);
            assert_eq!(zones.classify(&near(4e-6 + 0.9 * tie)).0, Verdict::Pass);
            assert_eq!(zones.classify(&near(4e-6 + 1.1 * tie)).0, Verdict::Fail);
        }
    }

    /// JCGM 106:2012, 8.3.2: with w = U = 2u at most 2.3 % at the acceptance limit, here 2.275 %.
    /// ILAC-G8:09/2019, table 1 (from memory): w = 0.83·U keeps it below 5 %.
    /// Method: M24.
    #[test]
    fn the_guard_band_of_one_u_keeps_the_published_risk() {
        let risk = |case: &Case| {
            let zones = zones(case);
            let limit = zones.acceptance().unwrap().upper.clone().unwrap();
            super::super::risk::specific_risk(&limit.value(), &zones.tolerance, &zones.density)
                .unwrap()
        };
        let one = risk(&micrometer("at most 4 µm", "guarded", 1.0));
        assert!((one - 0.022_750_131_948).abs() < 1e-9, "{one}");
        let part = risk(&micrometer("at most 4 µm", "guarded", 1.0).width("0.83 µm"));
        assert!(part < 0.05 && part > 0.048, "{part}");
        let promised = risk(&micrometer("±4 µm", "guarded", 3.0).specific_risk("5 %"));
        assert!((promised - 0.05).abs() < 1e-12, "{promised}");
    }

    #[test]
    fn an_exact_width_makes_exact_limits() {
        let limits = zones(&micrometer("±4 µm", "guarded", 1.0).width("1.5 µm"));
        let limits = limits.acceptance().unwrap().clone();
        assert!(limits.lower.unwrap().exact.is_some() && limits.upper.unwrap().exact.is_some());
        assert_eq!(zones(&micrometer("±4 µm", "simple", 1.0)).guard_band.si, 0.0);
    }

    #[test]
    fn refuses_guard_bands_that_cannot_be() {
        let half = micrometer("±4 µm", "guarded", 1.0).specific_risk("50 %").fault();
        assert_eq!(
            half.message(),
            "a specific risk of `50 %`: 50 % or more would need a guard band below zero"
        );
        // U = 4 µm: the middle of ±4 µm lies 2u from both limits, 4.55 % (scipy: 0.0455003).
        let case = micrometer("±4 µm", "guarded", 4.0).specific_risk("4 %");
        let fault = case.fault();
        assert_eq!(
            fault.message(),
            "no reading has a specific risk of `4 %` or less at 2.5 mm: the smallest, in the middle \
             of the tolerance, is 4.56 %"
        );
        assert_eq!(fault.help, "specific_risk: 4.56 %");
        assert!(zones(&case.specific_risk("4.56 %")).acceptance().is_some());
    }

    #[test]
    fn refuses_a_decision_without_uncertainty() {
        let fault = force("reading", "at least 5 N", "guarded", 0.0).fault();
        assert_eq!(
            fault.message(),
            "the uncertainty of scope `all` is zero: a decision needs a scope with contributors"
        );
        let mut case = micrometer("±4 µm", "simple", 1.0).scope("laboratory");
        case.laboratory = 0.0;
        assert_eq!(case.fault().help, "uncertainty: all");
    }
}
