//! One budget's part of the record: its head and its points.

use super::{CommonData, Point, Rule, Scope, Texts, Together};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What was found out under one budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Section {
    /// The budget's head.
    pub budget: BudgetHead,
    /// What the instrument can show; null where no display step is known.
    pub display: Option<Display>,
    /// The covariance of the points' results, row by row in the points' order, in the square of the
    /// measurand's unit; null where it was not worked out.
    pub covariance: Option<Vec<Vec<f64>>>,
    /// Simultaneous readings and calibration lines, in the budget's order; null where there are none.
    pub data: Option<Vec<CommonData>>,
    /// The correlation of the points' results in the same order, null where u is 0; null where it was
    /// not worked out.
    pub correlation: Option<Vec<Vec<Option<f64>>>>,
    /// The covariance by the laboratory's contributors alone; null where it was not worked out.
    pub laboratory_covariance: Option<Vec<Vec<f64>>>,
    /// The correlation by the laboratory's contributors alone; null where it was not worked out.
    pub laboratory_correlation: Option<Vec<Vec<Option<f64>>>>,
    /// The probability that the true errors lie within tolerance at all tested points; null where no
    /// worksheet was judged.
    pub together: Option<Together>,
    /// The index, from 0, of the point that was asked for; null where none was.
    pub focus: Option<u64>,
    /// The points, in the budget's order; one without `at` where the budget has a single result.
    pub points: Vec<Point>,
}

/// A budget's head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BudgetHead {
    /// The title.
    pub title: String,
    /// The document that the budget belongs to, as it was written; empty where none is named.
    pub document: Texts,
    /// What is measured.
    pub measurand: Measurand,
    /// The decision as the budget asks for it; null where it asks for none.
    pub decision: Option<DecisionHead>,
}

/// What is measured.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measurand {
    /// Its symbol.
    pub symbol: String,
    /// Its name.
    pub name: String,
    /// Its definition; null where none is given.
    pub definition: Option<String>,
    /// The unit of every number that has no unit beside it; `1` for a plain number.
    pub unit: String,
}

/// The decision as the budget asks for it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DecisionHead {
    /// The rule.
    pub rule: Rule,
    /// How the guard band is found; null where the rule has none.
    pub guard_band: Option<GuardBand>,
    /// Which contributors the decision counts.
    pub uncertainty: Scope,
    /// What has to be met for the rule to apply; null where nothing is required.
    pub requires: Option<Requires>,
    /// Where the rule was agreed; null where the budget does not say.
    pub agreed: Option<String>,
}

/// How a guard band is found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GuardBand {
    /// What the value means.
    pub kind: GuardBandKind,
    /// The value: a factor, a width in the measurand's unit, or a probability from 0 to 1.
    pub value: f64,
}

/// What the value of a guard band means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum GuardBandKind {
    /// A factor on U at 95.45 %.
    #[serde(rename = "times_U")]
    TimesU,
    /// A width in the measurand's unit.
    #[serde(rename = "width")]
    Width,
    /// The specific risk at the acceptance limit.
    #[serde(rename = "specific_risk")]
    SpecificRisk,
    /// The consumer's risk over the population.
    #[serde(rename = "consumer_risk")]
    ConsumerRisk,
    /// The acceptance limit is the root of the difference of squares of tolerance and value·U.
    #[serde(rename = "from_tur_quadrature")]
    Quadrature,
    /// A multiple of U fitted over the TUR, for this consumer's risk at worst.
    #[serde(rename = "from_tur_two_percent")]
    TwoPercent,
}

/// What has to be met for a rule to apply.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Requires {
    /// The smallest tolerance-to-uncertainty ratio.
    pub tur: f64,
    /// The scope of that ratio.
    pub scope: Scope,
    /// The rule that applies where it is not met; null: readings inside the tolerance are then
    /// undecided.
    pub otherwise: Option<Rule>,
}

/// What the instrument can show.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Display {
    /// The step, in `unit`.
    pub step: f64,
    /// The step as it was written, with its unit.
    pub text: String,
    /// The unit that readings are shown in.
    pub unit: String,
    /// The number of decimals that a reading shows in `unit`.
    pub decimals: u32,
}
