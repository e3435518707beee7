//! One point's part of the record: contributors, uncertainty and what follows from it.

use super::{Analysis, CardReading, Crosscheck, Decision, Dof, Results, Sheet, Simulation, Zone};
use crate::quantity::decimal::fixed;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What was found out at one point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// The point's own name; null where it has none.
    pub label: Option<String>,
    /// Where it is; null in a budget with a single result.
    pub at: Option<At>,
    /// The readings as they were written; null where nothing was read.
    pub readings: Option<Vec<String>>,
    /// The estimate of the measurand.
    pub estimate: f64,
    /// The model's inputs.
    pub inputs: Vec<Input>,
    /// The contributors, in the budget's order.
    pub contributors: Vec<Contributor>,
    /// What the correlations between contributors add to u², as a share of it; may be negative.
    pub correlation_share: f64,
    /// What the second-order terms add to u², as a share of it; 0 where they are not in use.
    pub second_order_share: f64,
    /// u to first order.
    pub first_order_standard_uncertainty: f64,
    /// u to second order; null where it was not worked out.
    pub second_order_standard_uncertainty: Option<f64>,
    /// The second-order shift of the estimate, which is not added to it; null where it was not
    /// worked out.
    pub second_order_shift: Option<f64>,
    /// u, to the order that the budget selects.
    pub standard_uncertainty: f64,
    /// The effective degrees of freedom, untruncated.
    pub effective_dof: Dof,
    /// How the coverage factor is found.
    pub coverage: Coverage,
    /// k; with an interval that is computed or simulated: U/u.
    pub coverage_factor: f64,
    /// U = k·u; with an interval that is computed or simulated: half its width.
    pub expanded_uncertainty: f64,
    /// The coverage interval: its lower and its upper end; with `monte_carlo` the symmetric one.
    pub interval: [f64; 2],
    /// The simulation: with `monte_carlo` the one behind the interval; null where nothing was simulated.
    pub simulation: Option<Simulation>,
    /// The law of propagation beside the simulation; null but for `crosscheck`.
    pub crosscheck: Option<Crosscheck>,
    /// The result as it is to be reported.
    pub reported: Reported,
    /// The tolerance here; null where there is none.
    pub tolerance: Option<Tolerance>,
    /// The greatest difference that readings of the point may have, in the measurand's unit; null where no limit is
    /// set.
    pub repeatability: Option<f64>,
    /// The figures of the test, at 95.45 % whatever the budget reports.
    pub test: Tests,
    /// The decision; null where the budget asks for none.
    pub decision: Option<Decision>,
    /// Runs of readings that share a verdict, from low to high; null but for `card`.
    pub card: Option<Vec<Zone>>,
    /// The readings near the limits one by one, from low to high; null but for `card`.
    pub card_readings: Option<Vec<CardReading>>,
    /// What a page needs to judge readings by itself; null but for `sheet`.
    pub sheet: Option<Sheet>,
    /// The results beside the measurand; null where the budget has none, and in `judge`.
    pub results: Option<Results>,
    /// Why something that was asked for is null.
    pub reasons: Vec<Reason>,
}

/// Where a point is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct At {
    /// The value, in `unit`.
    pub value: f64,
    /// The value as it was written, without its unit.
    pub text: String,
    /// The points' unit.
    pub unit: String,
}

/// An input of the model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Its name.
    pub name: String,
    /// Its estimate, in `unit`.
    pub estimate: f64,
    /// Its unit.
    pub unit: String,
}

/// Who answers for a contributor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Owner {
    /// The laboratory.
    Laboratory,
    /// The instrument under test.
    Instrument,
}

impl Owner {
    /// Returns the word that files and pages use.
    pub fn word(self) -> &'static str {
        match self {
            Owner::Laboratory => "laboratory",
            Owner::Instrument => "instrument",
        }
    }
}

/// One reason why the result may be off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Contributor {
    /// Its name.
    pub name: String,
    /// The input that it adds to; null where it goes straight to the measurand.
    pub adds_to: Option<String>,
    /// The kind of evidence: the key of the budget file.
    pub kind: String,
    /// The distribution: `t`, `normal`, `rectangular`, `triangular`, …
    pub distribution: String,
    /// Who answers for it.
    pub owner: Owner,
    /// The correlation between its values at any two points: 0 none, 1 one value for all points.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub shared: f64,
    /// The group of which only the largest counts; null where it is in none.
    pub largest_of: Option<String>,
    /// Whether it counts here: false where a larger one of its group stands for it.
    pub kept: bool,
    /// What it adds to its input, in `unit`; 0 where the evidence is centred.
    pub estimate: f64,
    /// u, in `unit`.
    pub standard_uncertainty: f64,
    /// The unit of `estimate` and `standard_uncertainty`.
    pub unit: String,
    /// The degrees of freedom of u.
    pub dof: Dof,
    /// The sensitivity coefficient c, in `sensitivity_unit`.
    pub sensitivity: f64,
    /// The unit of `sensitivity`; `1` for a plain number.
    pub sensitivity_unit: String,
    /// |c·u|.
    pub contribution: f64,
    /// Its share of u²; 0 where it does not count.
    pub share: f64,
    /// The document behind it; null where none is named.
    pub basis: Option<String>,
    /// The date on which that document is due; null where none is given.
    pub due: Option<String>,
    /// A remark; null where there is none.
    pub note: Option<String>,
    /// What it is made of; null where it is one piece.
    pub parts: Option<Vec<Part>>,
    /// The analysis of variance behind it; null where it is not readings in groups.
    pub analysis: Option<Analysis>,
}

/// A part of a contributor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// Its estimate, in `unit`.
    pub estimate: f64,
    /// The unit of `estimate` and `standard_uncertainty`.
    pub unit: String,
    /// u, in `unit`.
    pub standard_uncertainty: f64,
    /// The distribution.
    pub distribution: String,
    /// The degrees of freedom of u.
    pub dof: Dof,
    /// The sensitivity coefficient c, in `sensitivity_unit`.
    pub sensitivity: f64,
    /// The unit of `sensitivity`; `1` for a plain number.
    pub sensitivity_unit: String,
    /// |c·u|.
    pub contribution: f64,
}

/// How a coverage factor is found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Coverage {
    /// The coverage probability, from 0 to 1; null where only a factor is fixed.
    pub probability: Option<f64>,
    /// The method.
    pub method: CoverageMethod,
    /// Bound on the relative error of k; null but for `exact`.
    pub relative_error: Option<f64>,
    /// The share of u² that the model's second order has beyond the products that are counted; null but
    /// for `exact`.
    pub left_out: Option<f64>,
    /// How degrees of freedom enter a quantile of t: the budget's `dof`.
    pub dof: DofRule,
}

/// How degrees of freedom enter a quantile of t.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum DofRule {
    /// Rounded down; what lies within 1e-9 of an integer is that integer.
    Truncate,
    /// As they are.
    Interpolate,
}

/// A method to find a coverage factor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CoverageMethod {
    /// Student's t with the effective degrees of freedom.
    T,
    /// A factor that the budget fixes.
    Fixed,
    /// The distribution of the measurand, computed.
    Exact,
    /// The distribution of the measurand, simulated.
    MonteCarlo,
}

/// The result as it is to be reported: rounded, the estimate to the last place of U.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reported {
    /// The estimate.
    pub estimate: f64,
    /// U.
    pub expanded_uncertainty: f64,
    /// k, to two decimals.
    pub coverage_factor: f64,
    /// The number of decimals that estimate and U are written with.
    pub decimals: u32,
    /// The significant digits that U is rounded to.
    #[schemars(range(min = 1, max = 2))]
    pub digits: u32,
}

impl Reported {
    /// Returns the estimate with its decimals.
    pub fn estimate_text(&self) -> String {
        fixed(self.estimate, self.decimals as usize)
    }

    /// Returns U with its decimals.
    pub fn expanded_uncertainty_text(&self) -> String {
        fixed(self.expanded_uncertainty, self.decimals as usize)
    }

    /// Returns k with its decimals.
    pub fn coverage_factor_text(&self) -> String {
        fixed(self.coverage_factor, 2)
    }
}

/// A tolerance; null on a side without a limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tolerance {
    /// The lower limit.
    pub lower: Option<f64>,
    /// The upper limit.
    pub upper: Option<f64>,
    /// The tolerance in words, with its unit: `±4 µm`, `-1 µm to 3 µm`, `at most 2 µm`.
    pub text: String,
}

/// The figures of the test for both scopes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tests {
    /// With all contributors.
    pub all: ScopeFigures,
    /// With those that the laboratory answers for.
    pub laboratory: ScopeFigures,
}

/// Figures of one scope, at 95.45 %.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ScopeFigures {
    /// u.
    pub standard_uncertainty: f64,
    /// The effective degrees of freedom, untruncated.
    pub effective_dof: Dof,
    /// k.
    pub coverage_factor: f64,
    /// U = k·u.
    pub expanded_uncertainty: f64,
    /// The tolerance span over 2·U; null where it cannot be stated.
    pub tur: Option<f64>,
}

/// Why something that was asked for is null.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reason {
    /// The field, as a path from the point: `test.all.tur`.
    pub field: String,
    /// Why it is null, in one sentence.
    pub reason: String,
}
