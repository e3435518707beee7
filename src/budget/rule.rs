//! Tolerances and decision rules: the validated types.
//!
//! Part of the domain; made by [`Budget::new`](super::Budget::new) alone.

use super::domain::Scope;
use super::formula::Formula;
use super::number::Probability;
use crate::fault::Origin;
use crate::quantity::Quantity;

/// A tolerance in one of its forms; every limit sees the base values of its point.
#[derive(Debug, Clone)]
pub enum Tolerance {
    /// The same form at all points.
    Limits(ToleranceLimits),
    /// Steps over the points' value: up to and including a value (in SI, exact in the quantity).
    ByPoint(Vec<(Quantity, ToleranceLimits)>),
}

/// Limits of a tolerance.
#[derive(Debug, Clone)]
pub struct ToleranceLimits {
    /// The place.
    pub origin: Origin,
    /// Lower limit.
    pub lower: Option<Formula>,
    /// Upper limit.
    pub upper: Option<Formula>,
}

/// A decision rule with what belongs to it.
#[derive(Debug, Clone)]
pub struct Decision {
    /// The place: its first key.
    pub origin: Origin,
    /// The rule.
    pub rule: Rule,
    /// The guard band.
    pub guard_band: GuardBand,
    /// The scope of u and U in decisions.
    pub scope: Scope,
    /// What must hold for the rule to apply.
    pub requires: Option<Requirement>,
    /// The agreement with the customer.
    pub agreed: Option<String>,
}

/// The decision rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Pass within the tolerance.
    Simple,
    /// Pass within the tolerance less the guard band.
    Guarded,
    /// Pass within the tolerance plus the guard band.
    Relaxed,
    /// Undecided between.
    ThreeWay,
    /// Conditional between.
    FourWay,
}

impl Rule {
    /// All rules with their words.
    pub const ALL: [(Rule, &'static str); 5] = [
        (Rule::Simple, "simple"),
        (Rule::Guarded, "guarded"),
        (Rule::Relaxed, "relaxed"),
        (Rule::ThreeWay, "three-way"),
        (Rule::FourWay, "four-way"),
    ];

    /// Returns the word of file and record.
    pub fn word(self) -> &'static str {
        Rule::ALL.iter().find(|it| it.0 == self).map_or("", |it| it.1)
    }
}

/// How wide the guard band is.
#[derive(Debug, Clone)]
pub enum GuardBand {
    /// r times U at 95.45 % of the decision's scope; r ≥ 0.
    TimesU(f64),
    /// A fixed width ≥ 0.
    Width(Formula),
    /// As wide as keeps the specific risk at the acceptance limit at p, with the place of p.
    SpecificRisk(Probability, Origin),
    /// As wide as keeps the consumer's risk over the population at p, with the place of p.
    ConsumerRisk(Probability, Origin),
    /// By a formula over the TUR of the decision's scope, with its place.
    FromTur(TurFormula, Origin),
}

impl GuardBand {
    /// Returns the risk that it is to keep, and its place; `None` where nothing is promised.
    pub fn promise(&self) -> Option<(Probability, Origin)> {
        match self {
            GuardBand::SpecificRisk(risk, origin) | GuardBand::ConsumerRisk(risk, origin) => {
                Some((*risk, *origin))
            }
            GuardBand::TimesU(_) | GuardBand::Width(_) | GuardBand::FromTur(..) => None,
        }
    }
}

/// A published formula for the guard band over the TUR.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TurFormula {
    /// Acceptance limit √(T² − U²).
    Quadrature,
    /// A consumer's risk of 2 % at worst, by a fitted multiple of U.
    TwoPercent,
}

impl TurFormula {
    /// Both with their words.
    pub const ALL: [(TurFormula, &'static str); 2] =
        [(TurFormula::Quadrature, "quadrature"), (TurFormula::TwoPercent, "two-percent")];
}

/// What must hold for a rule to apply.
#[derive(Debug, Clone)]
pub struct Requirement {
    /// The place.
    pub origin: Origin,
    /// The smallest TUR.
    pub tur: f64,
    /// The scope of that TUR.
    pub scope: Scope,
    /// The rule that applies where it is not met.
    pub otherwise: Option<Rule>,
}
