//! How wide the guard band is: a multiple of U, a given width, a promised risk, or a published formula
//! over the TUR.
//!
//! Sources: JCGM 106:2012, 8.3.2 (w = rU), 7.2 (specific risk), 9.5 (consumer's risk); the formulas over
//! the TUR are recalled from the papers that `docs/decision-rules.md` names.

use super::background::sides;
use super::figures;
use super::global::{self, NoBand};
use super::limits::{Limit, limit_of};
use super::risk::{NoGuardBand, Reach, guard_band_for};
use super::zones::Ground;
use crate::budget::{Decision, GuardBand, TurFormula};
use crate::fault::{Fault, Origin};

/// Returns w ≥ 0, in SI.
///
/// Method: M24.
///
/// # Errors
///
/// A width that has no value, is negative or not finite; a promise that no acceptance interval keeps; a
/// formula over a TUR that is not stated or too small.
pub(super) fn guard_band(decision: &Decision, ground: &Ground) -> Result<Limit, Fault> {
    let width = match &decision.guard_band {
        GuardBand::TimesU(times) => Limit::computed(times * ground.combined.test_expanded),
        GuardBand::Width(formula) => {
            let width = limit_of(formula, ground.base)?;
            if width.si < 0.0 {
                let what = here("the guard band", ground.title, "is negative");
                let fault = Fault::new(formula.origin(), what);
                return Err(fault.rule("a guard band is zero or wider"));
            }
            width
        }
        GuardBand::SpecificRisk(promise, origin) => {
            Limit::computed(specific(promise.get(), *origin, ground)?)
        }
        GuardBand::ConsumerRisk(promise, origin) => {
            Limit::computed(consumers(promise.get(), *origin, ground)?)
        }
        GuardBand::FromTur(formula, origin) => {
            Limit::computed(from_tur(*formula, *origin, decision, ground)?)
        }
    };
    if width.si.is_finite() {
        Ok(width)
    } else {
        let what = here("the guard band", ground.title, "is not finite");
        Err(Fault::new(decision.origin, what))
    }
}

/// Returns the width that keeps a specific risk, the population counting where it is asked to.
fn specific(promise: f64, origin: Origin, ground: &Ground) -> Result<f64, Fault> {
    if let Some(background) = ground.background.filter(|it| it.counts) {
        let Some(prior) = &background.prior else {
            return Err(unknown(origin, ground.title, &background.reason));
        };
        let found = global::guard_band_for_posterior(
            promise,
            prior,
            sides(ground.limits),
            &ground.combined.law(),
        );
        return found.map_err(|it| unkept(it, promise, "specific", origin, ground.title));
    }
    let reach = match (ground.limits.span(), &ground.limits.lower) {
        (Some(span), _) => Reach::Both(span.si),
        (None, Some(_)) => Reach::Lower,
        (None, None) => Reach::Upper,
    };
    let found = guard_band_for(promise, reach, &ground.combined.density);
    found.map_err(|it| broken(it, promise, origin, ground.title))
}

/// Returns the width that keeps a consumer's risk over the population.
fn consumers(promise: f64, origin: Origin, ground: &Ground) -> Result<f64, Fault> {
    let density = &ground.combined.law();
    let Some(background) = ground.background else {
        let fault = Fault::new(origin, "a consumer's risk without `population`");
        return Err(fault.help("population: {in_tolerance: 95 %, as: actual}"));
    };
    let Some(prior) = &background.prior else {
        return Err(unknown(origin, ground.title, &background.reason));
    };
    let found = global::guard_band_for_consumer(promise, prior, sides(ground.limits), density);
    found.map_err(|it| unkept(it, promise, "consumer's", origin, ground.title))
}

/// Returns the width that a formula over the TUR of the decision's scope gives.
fn from_tur(
    formula: TurFormula,
    origin: Origin,
    decision: &Decision,
    ground: &Ground,
) -> Result<f64, Fault> {
    let expanded = ground.combined.test_expanded;
    let Some(tur) = ground.tur.of(decision.scope) else {
        let what = here("the guard band from the TUR", ground.title, "cannot be had");
        let reason = ground.tur.reason(decision.scope);
        return Err(Fault::new(origin, what)
            .rule(format!("the TUR is not stated: {reason}"))
            .help("guard_band: {times_U: 1}"));
    };
    match formula {
        TurFormula::Quadrature => global::from_tur_quadrature(tur, expanded).ok_or_else(|| {
            let what = here("the guard band by quadrature", ground.title, "cannot be had");
            let tur = figures::ratio_down(tur);
            Fault::new(origin, what)
                .rule(format!(
                    "U is larger than half the tolerance span: the TUR is {tur}, 1 is the least"
                ))
                .help("guard_band: {times_U: 1}")
        }),
        TurFormula::TwoPercent => Ok(global::from_tur_two_percent(tur, expanded)),
    }
}

fn unknown(origin: Origin, title: &str, reason: &str) -> Fault {
    let what = here("the guard band", title, "cannot be computed");
    Fault::new(origin, what).rule(format!("the population is not known: {reason}"))
}

fn unkept(why: NoBand, promise: f64, whose: &str, origin: Origin, title: &str) -> Fault {
    let percent = figures::percent(promise);
    match why {
        NoBand::Smallest(smallest) => {
            let what = format!("no acceptance interval has a {whose} risk of `{percent}` or less");
            let text = figures::percent_up(smallest);
            let fault = Fault::new(origin, here(&what, title, "").trim_end().to_owned())
                .rule(format!("the smallest that can be reached is {text}"));
            // What cannot be promised is no help.
            if smallest < 0.5 { fault.help(text) } else { fault }
        }
        NoBand::Unknown => uncertain(origin, title),
    }
}

fn broken(why: NoGuardBand, promise: f64, origin: Origin, title: &str) -> Fault {
    let percent = figures::percent(promise);
    match why {
        NoGuardBand::NotBelowHalf => Fault::new(origin, format!("a specific risk of `{percent}`"))
            .rule("50 % or more would need a guard band below zero")
            .help("specific_risk: 5 %"),
        NoGuardBand::Smallest(smallest) => {
            let what = format!("no reading has a specific risk of `{percent}` or less");
            let smallest = figures::percent_up(smallest);
            Fault::new(origin, here(&what, title, "").trim_end().to_owned())
                .rule(format!("the smallest, in the middle of the tolerance, is {smallest}"))
                .help(format!("specific_risk: {smallest}"))
        }
        NoGuardBand::Unknown => uncertain(origin, title),
    }
}

fn uncertain(origin: Origin, title: &str) -> Fault {
    Fault::new(origin, here("the guard band", title, "cannot be computed"))
        .rule("a probability that it hangs on does not come out surely enough")
        .help("guard_band: {times_U: 1}")
}

/// Returns `subject at title predicate`.
pub(super) fn here(subject: &str, title: &str, predicate: &str) -> String {
    if title.is_empty() {
        format!("{subject} {predicate}")
    } else {
        format!("{subject} at {title} {predicate}")
    }
}
