//! The decision part of the record: rules, limits, verdicts and their reasons.

use super::{Alternative, OperatingCurve, Population};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which contributors a figure contains.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Scope {
    /// All of them.
    All,
    /// Those that the laboratory answers for.
    Laboratory,
}

impl Scope {
    /// Returns the word that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Scope::All => "all",
            Scope::Laboratory => "laboratory",
        }
    }
}

/// The distribution of the true value about the estimate that risks are taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Density {
    /// Normal.
    Normal,
    /// Student's t with the effective degrees of freedom.
    T,
    /// The distribution of the sum of all contributors, computed.
    Exact,
    /// The same, simulated.
    MonteCarlo,
}

/// A decision rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// Pass within the tolerance.
    Simple,
    /// Pass within the tolerance less the guard band.
    Guarded,
    /// Pass within the tolerance and the guard band.
    Relaxed,
    /// As guarded, but undecided within the guard band on either side of the tolerance limit.
    ThreeWay,
    /// As three-way, the undecided part split at the tolerance limit.
    FourWay,
}

impl Rule {
    /// Returns the word that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Rule::Simple => "simple",
            Rule::Guarded => "guarded",
            Rule::Relaxed => "relaxed",
            Rule::ThreeWay => "three-way",
            Rule::FourWay => "four-way",
        }
    }
}

/// A verdict, from best to worst.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
pub enum Verdict {
    /// May be passed.
    #[serde(rename = "pass")]
    Pass,
    /// Within the tolerance, but not by the guard band.
    #[serde(rename = "conditional pass")]
    ConditionalPass,
    /// Can be neither passed nor failed.
    #[serde(rename = "undecided")]
    Undecided,
    /// Beyond the tolerance, but not by the guard band.
    #[serde(rename = "conditional fail")]
    ConditionalFail,
    /// Must not be passed.
    #[serde(rename = "fail")]
    Fail,
}

impl Verdict {
    /// Returns the words that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::ConditionalPass => "conditional pass",
            Verdict::Undecided => "undecided",
            Verdict::ConditionalFail => "conditional fail",
            Verdict::Fail => "fail",
        }
    }
}

/// What a verdict comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Cause {
    /// The tolerance itself.
    #[serde(rename = "tolerance")]
    Tolerance,
    /// The guard band.
    #[serde(rename = "guard band")]
    GuardBand,
    /// A requirement that is not met.
    #[serde(rename = "requirement")]
    Requirement,
    /// A check of the worksheet.
    #[serde(rename = "check")]
    Check,
    /// The readings differ by more than they may.
    #[serde(rename = "repeatability")]
    Repeatability,
}

/// Which of several readings is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Take {
    /// The nearest to a tolerance limit, or furthest beyond it.
    Worst,
    /// Their mean.
    Mean,
    /// The last one.
    Last,
}

impl Take {
    /// Returns the word that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Take::Worst => "worst",
            Take::Mean => "mean",
            Take::Last => "last",
        }
    }
}

/// How far the readings at a point lie apart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spread {
    /// The largest value of the measurand less the smallest.
    pub value: f64,
    /// The greatest difference that is allowed.
    pub limit: f64,
    /// Whether it is kept.
    pub ok: bool,
}

impl Cause {
    /// Returns the words that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Cause::Tolerance => "tolerance",
            Cause::GuardBand => "guard band",
            Cause::Requirement => "requirement",
            Cause::Check => "check",
            Cause::Repeatability => "repeatability",
        }
    }
}

/// The decision at one point. Where nothing was read, `verdict`, `cause`, the risks, `reason` and
/// `readings` are null.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// The rule that applies here; null where a requirement is not met and names no other rule.
    pub rule: Option<Rule>,
    /// Which contributors it counts.
    pub scope: Scope,
    /// Whether the requirement is met; null where nothing is required.
    pub requirement_met: Option<bool>,
    /// The guard band, 0 or more; 0 under the rule `simple`.
    pub guard_band: f64,
    /// The distribution that risks, and a guard band made of one, are taken from.
    pub density: Density,
    /// The acceptance limits; null where nothing can be passed.
    pub acceptance: Option<Acceptance>,
    /// The same as printed; null where nothing can be passed.
    pub printed: Option<PrintedLimits>,
    /// The verdict.
    pub verdict: Option<Verdict>,
    /// What the verdict comes from; null for a pass within the tolerance.
    pub cause: Option<Cause>,
    /// The probability, given the reading, that the true value lies outside the tolerance, from 0
    /// to 1; with the scope `laboratory` the laboratory's part of it.
    pub specific_risk: Option<f64>,
    /// The joint probability, before the reading, of being outside the tolerance and accepted.
    pub consumer_risk: Option<f64>,
    /// The joint probability, before the reading, of being inside the tolerance and rejected.
    pub producer_risk: Option<f64>,
    /// The probability, before the reading, of being accepted; null without a population.
    pub acceptance_probability: Option<f64>,
    /// The greatest specific risk of an accepted reading, from 0 to 1; null where nothing passes.
    pub limit_risk: Option<f64>,
    /// What is known of such instruments before the reading; null where the budget does not say.
    pub population: Option<Population>,
    /// Other rules and guard bands; null but for `judge --compare`.
    pub comparison: Option<Vec<Alternative>>,
    /// The probability of acceptance over the true error; null but for `judge --plot` and `report`.
    pub operating_curve: Option<OperatingCurve>,
    /// Why, in one plain sentence.
    pub reason: Option<String>,
    /// The readings one by one.
    pub readings: Option<Vec<ReadingVerdict>>,
    /// Which of several readings the verdict and the point's estimate are for; null with fewer than two.
    pub take: Option<Take>,
    /// How far the readings lie apart; null where that is not limited, or with fewer than two.
    pub spread: Option<Spread>,
}

/// Acceptance limits in full precision; null on a side without a limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Acceptance {
    /// The lower limit.
    pub lower: Option<f64>,
    /// The upper limit.
    pub upper: Option<f64>,
}

/// Acceptance limits as printed: rounded inwards, so that paper never passes what the record fails.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PrintedLimits {
    /// The lower limit, without its unit; null where there is none.
    pub lower: Option<String>,
    /// The upper limit, without its unit; null where there is none.
    pub upper: Option<String>,
    /// The tolerance less the printed limit, without its unit.
    pub guard_band: String,
    /// The unit of all three.
    pub unit: String,
}

/// One reading with its verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingVerdict {
    /// The reading as it was written.
    pub text: String,
    /// The value of the measurand that follows from it.
    pub error: f64,
    /// Its verdict.
    pub verdict: Verdict,
    /// Its specific risk, from 0 to 1; null where it was not determined.
    pub specific_risk: Option<f64>,
}

/// A run of readings that the display can show and that share a verdict.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Zone {
    /// The lowest reading, as the display shows it; null: all lower ones too.
    pub from: Option<String>,
    /// The highest reading, as the display shows it; null: all higher ones too.
    pub to: Option<String>,
    /// The error that the lowest reading shows, without its unit; null for all lower ones too, and
    /// where the model is not `reading` minus something.
    pub from_error: Option<String>,
    /// The error that the highest reading shows, without its unit; null for all higher ones too, and
    /// where the model is not `reading` minus something.
    pub to_error: Option<String>,
    /// Their verdict.
    pub verdict: Verdict,
}

/// One reading near the limits, as a card has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CardReading {
    /// The reading in steps of the display: between two that are no neighbours the verdict does not
    /// change.
    pub steps: i64,
    /// The reading as the display shows it, without its unit.
    pub reading: String,
    /// The value of the measurand that follows from it.
    pub error: f64,
    /// The same as it is written, without its unit.
    pub error_text: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// What the verdict comes from; null for a pass within the tolerance.
    pub cause: Option<Cause>,
    /// Its specific risk, from 0 to 1; null where it was not determined.
    pub specific_risk: Option<f64>,
}
