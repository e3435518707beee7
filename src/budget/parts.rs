//! The parts of a budget as they are written: texts with their places, nothing checked yet.
//!
//! `file` fills these from YAML, a program may fill them by hand; [`Budget::new`](super::Budget::new)
//! is the only way on, and the only validation. One field per key of the file, same name.

use crate::fault::Origin;

pub use super::derived::ResultParts;
pub use super::population::{HistoryParts, HistoryRow, PopulationKind, PopulationParts};

/// A piece of text and its place.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Text {
    /// The text as written.
    pub text: String,
    /// Its place.
    pub origin: Origin,
}

impl Text {
    /// Returns a text with its place.
    pub fn new(text: impl Into<String>, origin: Origin) -> Text {
        Text { text: text.into(), origin }
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Text {
        Text::new(text, Origin::NONE)
    }
}

/// A budget as written.
#[derive(Debug, Clone, Default)]
pub struct BudgetParts {
    /// The place of the whole budget: its first key.
    pub origin: Origin,
    /// `title`.
    pub title: Text,
    /// `document`: key and value, any keys.
    pub document: Vec<(Text, Text)>,
    /// `measurand`.
    pub measurand: MeasurandParts,
    /// `points`; without them the budget has a single result.
    pub points: Option<PointsParts>,
    /// `model`.
    pub model: Option<Text>,
    /// `results`.
    pub results: Vec<ResultParts>,
    /// `estimates`: name and expression.
    pub estimates: Vec<(Text, Text)>,
    /// `contributors`.
    pub contributors: Vec<ContributorParts>,
    /// `observations`.
    pub observations: Vec<ObservationsParts>,
    /// `lines`.
    pub lines: Vec<LineParts>,
    /// `linked`.
    pub linked: Vec<LinkParts>,
    /// `units`: units of the budget's own.
    pub units: Vec<Text>,
    /// `order`.
    pub order: Option<Text>,
    /// `coverage`.
    pub coverage: CoverageParts,
    /// `rounding: {digits}`.
    pub rounding_digits: Option<Text>,
    /// `display: {step}`.
    pub display_step: Option<Text>,
    /// `tolerance`.
    pub tolerance: Option<ToleranceParts>,
    /// `decision`.
    pub decision: Option<DecisionParts>,
    /// `repeatability`.
    pub repeatability: Option<Text>,
    /// `population`.
    pub population: Option<PopulationParts>,
    /// Whether something faulty was left out on the way here: checks of absence (a name that
    /// nothing defines, a partner that does not exist) are then skipped, as they would only echo it.
    pub incomplete: bool,
}

/// `measurand` as written.
#[derive(Debug, Clone, Default)]
pub struct MeasurandParts {
    /// `symbol`.
    pub symbol: Text,
    /// `name`.
    pub name: Text,
    /// `definition`.
    pub definition: Option<Text>,
    /// `unit`.
    pub unit: Text,
    /// `bounds: {lower}`.
    pub lower_bound: Option<Text>,
    /// `bounds: {upper}`.
    pub upper_bound: Option<Text>,
}

/// `points` as written.
#[derive(Debug, Clone, Default)]
pub struct PointsParts {
    /// `symbol`.
    pub symbol: Text,
    /// `unit`.
    pub unit: Text,
    /// `at`.
    pub at: Vec<PointParts>,
}

/// One entry of `points.at` as written.
#[derive(Debug, Clone, Default)]
pub struct PointParts {
    /// The entry's place.
    pub origin: Origin,
    /// `at`, or the entry itself: a number in the points' unit.
    pub at: Text,
    /// `label`.
    pub label: Option<Text>,
    /// `tolerance`.
    pub tolerance: Option<ToleranceParts>,
    /// `stack`: blocks that add up to `at`.
    pub stack: Option<(Origin, Vec<Text>)>,
    /// All other keys: numbers or quantities for expressions.
    pub keys: Vec<(Text, Text)>,
}

/// One contributor as written.
#[derive(Debug, Clone)]
pub struct ContributorParts {
    /// The place: its first key.
    pub origin: Origin,
    /// `name`.
    pub name: Text,
    /// `adds_to`.
    pub adds_to: Option<Text>,
    /// `sensitivity`.
    pub sensitivity: Option<Text>,
    /// The one kind of evidence, and the place of its key.
    pub evidence: (Origin, EvidenceParts),
    /// `estimate`.
    pub estimate: Option<Text>,
    /// `times`.
    pub times: Option<Text>,
    /// `owner`.
    pub owner: Option<Text>,
    /// `shared`.
    pub shared: Option<Text>,
    /// `dof`.
    pub dof: Option<Text>,
    /// `u_known_within`.
    pub u_known_within: Option<Text>,
    /// `largest_of`.
    pub largest_of: Option<Text>,
    /// `basis`.
    pub basis: Option<Text>,
    /// `due`.
    pub due: Option<Text>,
    /// `note`.
    pub note: Option<Text>,
}

impl ContributorParts {
    /// Returns a contributor that has a name and evidence, and nothing else.
    pub fn new(name: impl Into<Text>, evidence: EvidenceParts) -> ContributorParts {
        ContributorParts {
            origin: Origin::NONE,
            name: name.into(),
            adds_to: None,
            sensitivity: None,
            evidence: (Origin::NONE, evidence),
            estimate: None,
            times: None,
            owner: None,
            shared: None,
            dof: None,
            u_known_within: None,
            largest_of: None,
            basis: None,
            due: None,
            note: None,
        }
    }
}

/// The evidence of a contributor as written; one variant per kind.
#[derive(Debug, Clone)]
pub enum EvidenceParts {
    /// `readings`.
    Readings {
        /// The readings: numbers, or quantities where `unit` is absent.
        values: Vec<Text>,
        /// `unit`.
        unit: Option<Text>,
        /// `use`.
        usage: Option<UseParts>,
    },
    /// `readings` in groups, a list each.
    GroupedReadings {
        /// The place and the readings of each group.
        lists: Vec<(Origin, Vec<Text>)>,
        /// `unit`.
        unit: Option<Text>,
        /// `use`.
        usage: Option<UseParts>,
        /// `groups`.
        groups: Option<Text>,
    },
    /// `scatter`.
    Scatter {
        /// s.
        s: Text,
        /// `mean_of`.
        mean_of: Option<Text>,
    },
    /// `limits`.
    Limits {
        /// `±a` or `[lo, hi]`.
        limits: LimitsParts,
        /// `shape`, `top`, `coverage`.
        shape: ShapeParts,
    },
    /// `full_range`.
    FullRange {
        /// r = max − min.
        range: Text,
        /// `shape`, `top`, `coverage`.
        shape: ShapeParts,
    },
    /// `certificate`.
    Certificate {
        /// U.
        uncertainty: Text,
        /// `k`.
        k: Option<Text>,
        /// `coverage`.
        coverage: Option<Text>,
        /// `length: stack`.
        length: Option<Text>,
    },
    /// `standard_uncertainty`.
    StandardUncertainty(
        /// u.
        Text,
    ),
    /// `step`.
    Step(
        /// d.
        Text,
    ),
    /// `block_grade`.
    BlockGrade {
        /// The grade, a text (`00`).
        grade: Text,
        /// `table`.
        table: Option<Text>,
        /// `length`: an expression, or the word `stack`.
        length: Option<Text>,
        /// `calibrated_with`.
        calibrated_with: Option<Text>,
    },
    /// `thermal`.
    Thermal(Box<ThermalParts>),
}

impl EvidenceParts {
    /// Whether these are readings that are the measurement themselves: `use: result`.
    pub fn are_result(&self) -> bool {
        match self {
            EvidenceParts::Readings { usage, .. }
            | EvidenceParts::GroupedReadings { usage, .. } => {
                matches!(usage, Some(UseParts::Word(word)) if word.text.trim() == "result")
            }
            _ => false,
        }
    }
}

/// `use` as written.
#[derive(Debug, Clone)]
pub enum UseParts {
    /// The word `single` or `result`.
    Word(Text),
    /// `{mean_of: n}`.
    MeanOf(Text),
}

/// `limits` as written.
#[derive(Debug, Clone)]
pub enum LimitsParts {
    /// `±a`.
    PlusMinus(Text),
    /// `[lo, hi]`: the place of the list, and its items (two, if it is right).
    Between(Origin, Vec<Text>),
}

/// `shape` with its extra keys as written.
#[derive(Debug, Clone, Default)]
pub struct ShapeParts {
    /// `shape`.
    pub shape: Option<Text>,
    /// `top`.
    pub top: Option<Text>,
    /// `coverage`.
    pub coverage: Option<Text>,
    /// `limits_known_within`.
    pub known_within: Option<Text>,
}

/// `thermal` as written.
#[derive(Debug, Clone)]
pub struct ThermalParts {
    /// `length`.
    pub length: Option<Text>,
    /// `alpha`, `alpha_difference`, `difference`, `from_20`, in this order; `None`: the key is missing.
    pub parts: [Option<ThermalPart>; 4],
}

/// The keys of [`ThermalParts::parts`], in order.
pub const THERMAL_KEYS: [&str; 4] = ["alpha", "alpha_difference", "difference", "from_20"];

/// One part of `thermal` as written.
#[derive(Debug, Clone)]
pub enum ThermalPart {
    /// `±a`, `x ± a` or `x`.
    Text(Text),
    /// A map with its own evidence.
    Evidence(Box<ThermalEvidence>),
}

/// A map with its own evidence inside `thermal`, as written.
#[derive(Debug, Clone)]
pub struct ThermalEvidence {
    /// The place.
    pub origin: Origin,
    /// The evidence (any kind but `block_grade` and `thermal`), and the place of its key.
    pub evidence: (Origin, EvidenceParts),
    /// `estimate`.
    pub estimate: Option<Text>,
    /// `dof`.
    pub dof: Option<Text>,
    /// `u_known_within`.
    pub u_known_within: Option<Text>,
}

/// What is known of common data beside the figures, as written.
#[derive(Debug, Clone, Default)]
pub struct DataParts {
    /// The place: its first key.
    pub origin: Origin,
    /// `name`.
    pub name: Option<Text>,
    /// `owner`.
    pub owner: Option<Text>,
    /// `basis`.
    pub basis: Option<Text>,
    /// `due`.
    pub due: Option<Text>,
    /// `note`.
    pub note: Option<Text>,
}

/// One block of simultaneous readings as written.
#[derive(Debug, Clone, Default)]
pub struct ObservationsParts {
    /// What is known beside the figures.
    pub data: DataParts,
    /// `inputs`.
    pub inputs: Vec<Text>,
    /// `units`, and the place of its key.
    pub units: (Origin, Vec<Text>),
    /// `rows`: the place and the readings of each.
    pub rows: Vec<(Origin, Vec<Text>)>,
    /// The place of the key `rows`.
    pub rows_origin: Origin,
}

/// One calibration line as written.
#[derive(Debug, Clone, Default)]
pub struct LineParts {
    /// What is known beside the figures.
    pub data: DataParts,
    /// `intercept`.
    pub intercept: Text,
    /// `slope`.
    pub slope: Text,
    /// `residual`.
    pub residual: Option<Text>,
    /// `x_values`, and the place of its key.
    pub x: (Origin, Vec<Text>),
    /// `x_unit`.
    pub x_unit: Text,
    /// `x_from`.
    pub x_from: Option<Text>,
    /// `y_values`, and the place of its key.
    pub y: (Origin, Vec<Text>),
    /// `y_unit`.
    pub y_unit: Text,
    /// `y_uncertainty`: one text, or a list with its place.
    pub y_uncertainty: Option<UncertaintyParts>,
    /// `y_weights`, and the place of its key.
    pub y_weights: Option<(Origin, Vec<Text>)>,
}

/// `y_uncertainty` as written.
#[derive(Debug, Clone)]
pub enum UncertaintyParts {
    /// One for all ordinates.
    Same(Text),
    /// One each.
    Each(Origin, Vec<Text>),
}

/// One entry of `linked` as written.
#[derive(Debug, Clone, Default)]
pub struct LinkParts {
    /// The place.
    pub origin: Origin,
    /// `between`: names (two, if it is right).
    pub between: Vec<Text>,
    /// `r`.
    pub r: Text,
}

/// `coverage` as written.
#[derive(Debug, Clone, Default)]
pub struct CoverageParts {
    /// `probability`.
    pub probability: Option<Text>,
    /// `method`.
    pub method: Option<Text>,
    /// `k`.
    pub k: Option<Text>,
    /// `dof`.
    pub dof: Option<Text>,
}

/// `tolerance` as written.
#[derive(Debug, Clone)]
pub enum ToleranceParts {
    /// `±a`, `at most x`, `at least x`.
    Text(Text),
    /// `[lo, hi]`: the place of the list, and its items.
    Between(Origin, Vec<Text>),
    /// `{lower, upper}`: at least one.
    Sides {
        /// The place.
        origin: Origin,
        /// `lower`.
        lower: Option<Text>,
        /// `upper`.
        upper: Option<Text>,
    },
    /// `{by_point: […]}`.
    ByPoint(Origin, Vec<StepParts>),
}

/// One step of `by_point` as written.
#[derive(Debug, Clone)]
pub struct StepParts {
    /// The place.
    pub origin: Origin,
    /// `up_to`.
    pub up_to: Text,
    /// `limits`: any form but `by_point`.
    pub limits: ToleranceParts,
}

/// `decision` as written.
#[derive(Debug, Clone, Default)]
pub struct DecisionParts {
    /// The place: its first key.
    pub origin: Origin,
    /// `rule`.
    pub rule: Text,
    /// `guard_band`.
    pub guard_band: Option<GuardBandParts>,
    /// `uncertainty`.
    pub uncertainty: Option<Text>,
    /// `requires`.
    pub requires: Option<RequiresParts>,
    /// `agreed`.
    pub agreed: Option<Text>,
}

/// `guard_band` as written: exactly one key.
#[derive(Debug, Clone)]
pub enum GuardBandParts {
    /// `{times_U: r}`.
    TimesU(Text),
    /// `{width: w}`.
    Width(Text),
    /// `{specific_risk: p}`.
    SpecificRisk(Text),
    /// `{consumer_risk: p}`.
    ConsumerRisk(Text),
    /// `{from_tur: word}`.
    FromTur(Text),
}

/// `requires` as written.
#[derive(Debug, Clone, Default)]
pub struct RequiresParts {
    /// `tur`.
    pub tur: Text,
    /// `scope`.
    pub scope: Option<Text>,
    /// `otherwise`.
    pub otherwise: Option<Text>,
}

/// A worksheet as written.
#[derive(Debug, Clone, Default)]
pub struct WorksheetParts {
    /// The place.
    pub origin: Origin,
    /// `instrument`: key and value; `id` is one of them.
    pub instrument: Vec<(Text, Text)>,
    /// `date`.
    pub date: Option<Text>,
    /// `checks`.
    pub checks: Vec<CheckParts>,
    /// `zero`: repeated zero settings.
    pub zero: Vec<Text>,
    /// `sections`.
    pub sections: Vec<SectionParts>,
}

/// One entry of `checks` as written.
#[derive(Debug, Clone, Default)]
pub struct CheckParts {
    /// `what`.
    pub what: Text,
    /// `ok`.
    pub ok: Text,
}

/// One section of a worksheet as written.
#[derive(Debug, Clone, Default)]
pub struct SectionParts {
    /// The place.
    pub origin: Origin,
    /// `budget`: a path.
    pub budget: Text,
    /// Whether the values are `errors` instead of `readings`.
    pub are_errors: bool,
    /// The place of the key `readings` or `errors`.
    pub values_origin: Origin,
    /// Point (value or label) and its values.
    pub values: Vec<(Text, Vec<Text>)>,
    /// `take`.
    pub take: Option<Text>,
}
