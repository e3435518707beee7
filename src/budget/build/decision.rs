//! `decision`, `coverage`, `order`, `rounding` and `display`.

use super::context::Context;
use crate::budget::parts::{
    BudgetParts, CoverageParts, DecisionParts, GuardBandParts, RequiresParts, Text,
};
use crate::budget::{
    Contributor, Coverage, CoverageMethod, Decision, Display, DofRule, Evidence, GuardBand, Order,
    Owner, Probability, Requirement, Rule, Scope, TurFormula,
};
use crate::fault::{Fault, Origin};
use crate::quantity::Quantity;

const SCOPES: [(Scope, &str); 2] = [(Scope::All, "all"), (Scope::Laboratory, "laboratory")];

/// The coverage probability where none is given.
const PROBABILITY: f64 = 0.9545;

/// Reads `decision`; `instrument` says whether an instrument-owned contributor exists.
pub(super) fn decision(
    context: &mut Context,
    parts: &DecisionParts,
    instrument: bool,
    has_population: bool,
) -> Option<Decision> {
    let rule = context.word(&parts.rule, "rule", &Rule::ALL);
    let guard_band = match &parts.guard_band {
        None => Some(GuardBand::TimesU(1.0)),
        Some(parts) => guard_band(context, parts, has_population),
    };
    let scope = match &parts.uncertainty {
        Some(text) => context.word(text, "scope", &SCOPES),
        None if instrument => {
            let fault = Fault::new(parts.origin, "the decision does not say which uncertainty counts")
                .rule("with a contributor of the instrument it turns verdicts round, so there is no default")
                .help("uncertainty: all");
            context.fault(fault);
            None
        }
        None => Some(Scope::All),
    };
    let requires = match (&parts.requires, scope) {
        (Some(parts), scope) => requirement(context, parts, scope.unwrap_or(Scope::All)).map(Some),
        (None, _) => Some(None),
    };
    let agreed = parts.agreed.as_ref().map(|it| it.text.trim().to_string());
    let (rule, guard_band, scope, requires) = (rule?, guard_band?, scope?, requires?);
    let otherwise = parts.requires.as_ref().and_then(|it| it.otherwise.as_ref());
    let words =
        [Some((rule, &parts.rule)), requires.as_ref().and_then(|it| it.otherwise).zip(otherwise)];
    let relaxed = words.into_iter().flatten().find(|it| it.0 == Rule::Relaxed);
    if let (GuardBand::ConsumerRisk(..), Some((_, text))) = (&guard_band, relaxed) {
        let fault = Fault::new(text.origin, "a consumer's risk cannot be promised under `relaxed`")
            .rule("that rule takes in more than the tolerance: the wider the band, the more bad instruments pass");
        context.fault(fault.help("guarded"));
        return None;
    }
    Some(Decision { origin: parts.origin, rule, guard_band, scope, requires, agreed })
}

fn guard_band(
    context: &mut Context,
    parts: &GuardBandParts,
    has_population: bool,
) -> Option<GuardBand> {
    match parts {
        GuardBandParts::TimesU(text) => {
            let value = context.number(text)?;
            not_below_zero(context, value, text).then_some(GuardBand::TimesU(value))
        }
        GuardBandParts::Width(text) => {
            let dimension = context.measurand_unit.as_ref()?.dimension().clone();
            let formula = context.formula(text, &dimension, "the measurand")?;
            context
                .not_negative(&formula, text, "a guard band", true)
                .then_some(GuardBand::Width(formula))
        }
        GuardBandParts::SpecificRisk(text) => {
            Some(GuardBand::SpecificRisk(context.probability(text)?, text.origin))
        }
        GuardBandParts::ConsumerRisk(text) => {
            let promise = context.probability(text)?;
            if !has_population {
                let fault = Fault::new(text.origin, "a consumer's risk without `population`")
                    .rule("how many bad instruments come in decides how many are accepted")
                    .help("population: {in_tolerance: 95 %, as: actual}");
                context.fault(fault);
                return None;
            }
            Some(GuardBand::ConsumerRisk(promise, text.origin))
        }
        GuardBandParts::FromTur(text) => context
            .word(text, "formula", &TurFormula::ALL)
            .map(|it| GuardBand::FromTur(it, text.origin)),
    }
}

fn not_below_zero(context: &mut Context, value: f64, text: &Text) -> bool {
    let shown = text.text.trim();
    if value >= 0.0 {
        return true;
    }
    let fault = Fault::new(text.origin, format!("`{shown}` is negative"))
        .rule("a guard band is 0 or more; a band beyond the tolerance is the rule `relaxed`")
        .help(shown.trim_start_matches(['-', '−']));
    context.fault(fault);
    false
}

fn requirement(context: &mut Context, parts: &RequiresParts, scope: Scope) -> Option<Requirement> {
    let tur = context.number(&parts.tur);
    if tur.is_some_and(|it| it <= 0.0) {
        let what = format!("`{}` is no ratio to ask for", parts.tur.text.trim());
        context.fault(Fault::new(parts.tur.origin, what).rule("a TUR is above 0").help("4"));
    }
    let scope = match &parts.scope {
        None => Some(scope),
        Some(text) => context.word(text, "scope", &SCOPES),
    };
    let otherwise = match &parts.otherwise {
        None => Some(None),
        Some(text) => context.word(text, "rule", &Rule::ALL).map(Some),
    };
    let tur = tur.filter(|it| *it > 0.0)?;
    Some(Requirement { origin: parts.tur.origin, tur, scope: scope?, otherwise: otherwise? })
}

/// Reads `coverage`.
pub(super) fn coverage(context: &mut Context, parts: &CoverageParts) -> Option<Coverage> {
    let probability = match &parts.probability {
        None => Probability::new(PROBABILITY),
        Some(text) => context.probability(text),
    };
    let methods = [
        (CoverageMethod::T, "t"),
        (CoverageMethod::Fixed(0.0), "fixed"),
        (CoverageMethod::Exact, "exact"),
        (CoverageMethod::MonteCarlo, "monte_carlo"),
    ];
    let chosen = match &parts.method {
        None => Some(CoverageMethod::T),
        Some(text) => context.word(text, "method", &methods),
    };
    let method = match (chosen, &parts.k) {
        (Some(CoverageMethod::Fixed(_)), Some(text)) => {
            positive(context, text, "a coverage factor").map(CoverageMethod::Fixed)
        }
        (Some(CoverageMethod::Fixed(_)), None) => {
            let origin = parts.method.as_ref().map_or(Origin::NONE, |it| it.origin);
            context.fault(
                Fault::new(origin, "a fixed coverage factor without `k`")
                    .help("{method: fixed, k: 2}"),
            );
            None
        }
        (Some(other), None) => Some(other),
        (Some(other), Some(text)) => {
            let fault = Fault::new(text.origin, "`k` belongs to `method: fixed`");
            let (rule, help) = match other {
                CoverageMethod::T => (
                    "with method `t` the factor follows from the degrees of freedom",
                    "leave `k` out, or add `method: fixed`",
                ),
                _ => (
                    "with this method the factor follows from the distribution",
                    "leave `k` out, or write `method: fixed` instead",
                ),
            };
            context.fault(fault.rule(rule).help(help));
            None
        }
        (None, _) => None,
    };
    let rules = [(DofRule::Truncate, "truncate"), (DofRule::Interpolate, "interpolate")];
    let dof = match &parts.dof {
        None => Some(DofRule::Truncate),
        Some(text) => context.word(text, "way with degrees of freedom", &rules),
    };
    let origin = parts.method.as_ref().map_or(Origin::NONE, |it| it.origin);
    Some(Coverage { probability: probability?, method: method?, dof: dof?, origin })
}

/// Reads a plain number above 0.
pub(super) fn positive(context: &mut Context, text: &Text, what: &str) -> Option<f64> {
    let value = context.number(text)?;
    if value > 0.0 {
        return Some(value);
    }
    let shown = text.text.trim();
    let word = if value < 0.0 { "negative" } else { "zero" };
    let fault = Fault::new(text.origin, format!("`{shown}` is {word}"));
    let positive = if value < 0.0 { shown.trim_start_matches(['-', '−']) } else { "" };
    context.fault(fault.rule(format!("{what} is above 0")).help(positive));
    None
}

/// Reads `order`.
pub(super) fn order(context: &mut Context, text: Option<&Text>) -> Option<Order> {
    let words = [(Order::Auto, "auto"), (Order::First, "first"), (Order::Second, "second")];
    text.map_or(Some(Order::Auto), |it| context.word(it, "order", &words))
}

/// Reads `rounding: {digits}`.
pub(super) fn digits(context: &mut Context, text: Option<&Text>) -> Option<usize> {
    let Some(text) = text else { return Some(2) };
    let digits = context.whole(text, 1)?;
    if digits <= 2 {
        return Some(digits as usize);
    }
    let what = format!("`{digits}` digits for an uncertainty");
    context.fault(
        Fault::new(text.origin, what)
            .rule("an uncertainty is reported with 1 or 2 digits")
            .help("2"),
    );
    None
}

/// Reads `display: {step}`, or takes the only value among the instrument's own steps.
pub(super) fn display(
    context: &mut Context,
    parts: &BudgetParts,
    contributors: &[Contributor],
) -> Option<Display> {
    let unit = if parts.points.is_some() { &context.points_unit } else { &context.measurand_unit };
    let unit = unit.clone()?;
    let dimension = unit.dimension().clone();
    let Some(text) = &parts.display_step else {
        return found_step(contributors, &dimension).map(|step| Display { step, given: false });
    };
    let step = context.quantity(text)?;
    let shown = text.text.trim();
    if step.dimension() != &dimension {
        let unit = unit.text();
        let fault = if step.dimension().is_none() {
            Fault::new(text.origin, format!("`{shown}` has no unit"))
                .help(format!("{shown} {unit}"))
        } else {
            let (here, there) = (step.dimension().phrase(), dimension.phrase());
            Fault::new(text.origin, format!("`{shown}` is {here}, a reading is {there}"))
                .help(format!("1 {unit}"))
        };
        context.fault(fault);
        return None;
    }
    if step.si() <= 0.0 {
        let fault = Fault::new(text.origin, format!("`{shown}` is not above 0"));
        context.fault(fault.rule("a display has a step above 0"));
        return None;
    }
    Some(Display { step, given: true })
}

fn found_step(
    contributors: &[Contributor],
    dimension: &crate::quantity::Dimension,
) -> Option<Quantity> {
    let own = contributors.iter().filter(|it| it.owner == Owner::Instrument);
    let mut steps = own.filter_map(|it| match &it.evidence {
        Evidence::Step(formula) => formula.literal().cloned(),
        _ => None,
    });
    let first = steps.next().filter(|it| it.dimension() == dimension && it.si() > 0.0)?;
    steps.all(|it| it.exact() == first.exact()).then_some(first)
}
