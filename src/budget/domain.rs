//! The validated types of a budget. Values of these types keep every rule of `docs/budget-format.md`
//! that can be checked without computing; only [`Budget::new`](super::Budget::new) makes them.
//!
//! Values are in SI where they are `f64`; `Formula`s see the base values of a point.

use super::formula::Formula;
use super::names::{Names, Role};
use super::number::{Date, Dof, Probability};
pub use super::rules::{
    Coverage, CoverageMethod, Decision, Display, DofRule, GuardBand, Order, Requirement, Rule,
    Tolerance, ToleranceLimits,
};
use crate::fault::Origin;
use crate::model::Expr;
use crate::quantity::{Quantity, Unit, Units};

/// A validated budget: one measurand, its model, contributors, test points and decision rule.
#[derive(Debug, Clone)]
pub struct Budget {
    pub(crate) title: String,
    pub(crate) document: Vec<(String, String)>,
    pub(crate) measurand: Measurand,
    pub(crate) points: Points,
    pub(crate) units: Units,
    pub(crate) names: Names,
    pub(crate) model: Expr,
    pub(crate) contributors: Vec<Contributor>,
    pub(crate) links: Vec<Link>,
    pub(crate) order: Order,
    pub(crate) coverage: Coverage,
    pub(crate) digits: usize,
    pub(crate) display: Option<Display>,
    pub(crate) tolerance: Option<Tolerance>,
    pub(crate) decision: Option<Decision>,
    pub(crate) origin: Origin,
}

impl Budget {
    /// The title.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Document control: keys and texts as written.
    pub fn document(&self) -> &[(String, String)] {
        &self.document
    }

    /// The measurand.
    pub fn measurand(&self) -> &Measurand {
        &self.measurand
    }

    /// The test points; a budget with a single result has one point without a value.
    pub fn points(&self) -> &Points {
        &self.points
    }

    /// The units that the budget knows.
    pub fn units(&self) -> &Units {
        &self.units
    }

    /// The names that expressions may use.
    pub fn names(&self) -> &Names {
        &self.names
    }

    /// The contributors, in the order of the file.
    pub fn contributors(&self) -> &[Contributor] {
        &self.contributors
    }

    /// The given correlations.
    pub fn links(&self) -> &[Link] {
        &self.links
    }

    /// Which orders of the law of propagation enter u.
    pub fn order(&self) -> Order {
        self.order
    }

    /// How the reported coverage factor is made.
    pub fn coverage(&self) -> &Coverage {
        &self.coverage
    }

    /// Significant digits of a reported uncertainty, 1 or 2.
    pub fn digits(&self) -> usize {
        self.digits
    }

    /// What the instrument can show, where that is known.
    pub fn display(&self) -> Option<&Display> {
        self.display.as_ref()
    }

    /// The tolerance of the budget; a point may have its own.
    pub fn tolerance(&self) -> Option<&Tolerance> {
        self.tolerance.as_ref()
    }

    /// The decision rule.
    pub fn decision(&self) -> Option<&Decision> {
        self.decision.as_ref()
    }

    /// The place of the budget: its first key.
    pub fn origin(&self) -> Origin {
        self.origin
    }

    /// Returns the unit in which the value of a name is shown: its own literal's, that of a name it is
    /// made of, that of its contributors, else the SI one.
    pub fn name_unit(&self, index: usize) -> Unit {
        self.own_unit(index, 0).unwrap_or_else(|| {
            let dimension = &self.names.get(index).kind.dimension;
            let used = [self.reading_unit(), &self.measurand.unit];
            let used = used.into_iter().find(|it| it.dimension() == dimension).cloned();
            used.or_else(|| self.units.parse(&dimension.symbols()).ok()).unwrap_or_else(Unit::one)
        })
    }

    fn own_unit(&self, index: usize, depth: usize) -> Option<Unit> {
        let name = self.names.get(index);
        match &name.role {
            Role::Reading | Role::Symbol => Some(self.reading_unit().clone()),
            Role::Key => {
                let keys = self.points.list.iter().flat_map(|it| &it.keys);
                keys.filter(|it| it.0 == index).map(|it| it.1.unit().clone()).next()
            }
            Role::Bare => {
                let adds =
                    |it: &&Contributor| matches!(it.target, Target::Input(to) if to == index);
                self.contributors.iter().find(adds).map(|it| it.unit.clone())
            }
            Role::Estimate { formula } => formula.literal_unit().or_else(|| {
                let same = |it: &&(usize, Origin)| {
                    depth < self.names.len()
                        && self.names.get(it.0).kind.dimension == name.kind.dimension
                };
                formula.mentions().iter().find(same).and_then(|it| self.own_unit(it.0, depth + 1))
            }),
        }
    }

    /// The unit of readings: that of the points, or the measurand's without points.
    pub fn reading_unit(&self) -> &Unit {
        self.points.unit.as_ref().unwrap_or(&self.measurand.unit)
    }
}

/// What is measured.
#[derive(Debug, Clone)]
pub struct Measurand {
    /// Symbol.
    pub symbol: String,
    /// Name.
    pub name: String,
    /// Definition, where given.
    pub definition: Option<String>,
    /// Unit of all results.
    pub unit: Unit,
    /// Natural bound below.
    pub lower_bound: Option<Quantity>,
    /// Natural bound above.
    pub upper_bound: Option<Quantity>,
}

/// The test points.
#[derive(Debug, Clone)]
pub struct Points {
    /// The name that expressions use for a point's value; `None` for a single result.
    pub symbol: Option<String>,
    /// The unit of the points' values; `None` for a single result.
    pub unit: Option<Unit>,
    /// The points in order; never empty.
    pub list: Vec<Point>,
}

/// One test point.
#[derive(Debug, Clone)]
pub struct Point {
    /// The place.
    pub origin: Origin,
    /// The value; `None` for the one point of a single result.
    pub at: Option<Quantity>,
    /// The label.
    pub label: Option<String>,
    /// Values of the point's other keys by index of [`Names`], `joints` of a stack included.
    pub keys: Vec<(usize, Quantity)>,
    /// The blocks of a stack.
    pub stack: Option<Vec<Quantity>>,
    /// The point's own tolerance.
    pub tolerance: Option<Tolerance>,
}

impl Point {
    /// Returns what a reader calls the point: the label, or value and unit, or an empty text.
    pub fn title(&self) -> String {
        match (&self.label, &self.at) {
            (Some(label), Some(at)) => format!("{} ({label})", at.text()),
            (None, Some(at)) => at.text(),
            (Some(label), None) => label.clone(),
            (None, None) => String::new(),
        }
    }
}

/// Who answers for a contributor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Owner {
    /// The laboratory (default).
    Laboratory,
    /// The instrument under test.
    Instrument,
}

/// Which contributors a figure contains.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Scope {
    /// All contributors.
    All,
    /// Those of the laboratory.
    Laboratory,
}

impl Scope {
    /// Both scopes, in the order of reports.
    pub const BOTH: [Scope; 2] = [Scope::All, Scope::Laboratory];

    /// Returns the word of file and record.
    pub fn word(self) -> &'static str {
        match self {
            Scope::All => "all",
            Scope::Laboratory => "laboratory",
        }
    }

    /// Whether the scope contains a contributor of `owner`.
    pub fn contains(self, owner: Owner) -> bool {
        self == Scope::All || owner == Owner::Laboratory
    }
}

impl Owner {
    /// Returns the word of file and record.
    pub fn word(self) -> &'static str {
        match self {
            Owner::Laboratory => "laboratory",
            Owner::Instrument => "instrument",
        }
    }
}

/// Where a contributor adds to.
#[derive(Debug, Clone)]
pub enum Target {
    /// An input of the model, by index of [`Names`].
    Input(usize),
    /// The measurand itself.
    Measurand,
    /// The measurand, through a sensitivity coefficient and the text's unit of it.
    Sensitivity(Formula),
}

/// One reason why the result may be off.
#[derive(Debug, Clone)]
pub struct Contributor {
    /// Its name, unlike all others.
    pub name: String,
    /// The place.
    pub origin: Origin,
    /// Where it adds to.
    pub target: Target,
    /// What is known about it.
    pub evidence: Evidence,
    /// The place of the evidence's key.
    pub evidence_origin: Origin,
    /// The unit in which its figures are reported.
    pub unit: Unit,
    /// A correction.
    pub estimate: Option<Formula>,
    /// How many independent draws it stands for; `None`: one.
    pub times: Option<Formula>,
    /// Who answers for it.
    pub owner: Owner,
    /// Correlation between any two points: 1 for `shared: true`, 0 for `false`.
    pub shared: f64,
    /// Degrees of freedom that were given (directly or by `u_known_within`); `None`: by the evidence.
    pub dof: Option<Dof>,
    /// The group of which only the largest counts.
    pub largest_of: Option<String>,
    /// The document behind it.
    pub basis: Option<String>,
    /// The date when the basis is due.
    pub due: Option<Date>,
    /// A note.
    pub note: Option<String>,
}

/// What is known about a contributor.
#[derive(Debug, Clone)]
pub enum Evidence {
    /// Repeated readings.
    Readings {
        /// The readings.
        values: Vec<Quantity>,
        /// How they are used.
        usage: Use,
    },
    /// An earlier or pooled standard deviation.
    Scatter {
        /// s.
        s: Formula,
        /// Number of readings in the mean that is used.
        mean_of: u32,
    },
    /// Limits, symmetric about zero.
    Limits {
        /// a of ±a.
        half_width: Formula,
        /// The shape.
        shape: Shape,
    },
    /// Limits from one value to another; the midpoint is an estimate.
    Between {
        /// Lower limit.
        low: Formula,
        /// Upper limit.
        high: Formula,
        /// The shape.
        shape: Shape,
    },
    /// max − min.
    FullRange {
        /// r of ±r/2.
        range: Formula,
        /// The shape.
        shape: Shape,
    },
    /// An expanded uncertainty from a certificate.
    Certificate {
        /// U.
        uncertainty: Formula,
        /// What turns U into u.
        factor: Factor,
        /// Whether U is evaluated for each block of the point's stack and added linearly.
        per_block: bool,
    },
    /// u itself.
    StandardUncertainty(Formula),
    /// A digital step.
    Step(Formula),
    /// The grade of a gauge block.
    BlockGrade {
        /// The grade and its table, by index of the tables in `evidence`.
        grade: Grade,
        /// Nominal length.
        length: BlockLength,
        /// U of the blocks' calibration (k = 2).
        calibrated_with: Option<Formula>,
    },
    /// Thermal expansion mismatch.
    Thermal(Box<Thermal>),
}

impl Evidence {
    /// Returns the word of file and record: the evidence's key.
    pub fn word(&self) -> &'static str {
        match self {
            Evidence::Readings { .. } => "readings",
            Evidence::Scatter { .. } => "scatter",
            Evidence::Limits { .. } | Evidence::Between { .. } => "limits",
            Evidence::FullRange { .. } => "full_range",
            Evidence::Certificate { .. } => "certificate",
            Evidence::StandardUncertainty(_) => "standard_uncertainty",
            Evidence::Step(_) => "step",
            Evidence::BlockGrade { .. } => "block_grade",
            Evidence::Thermal(_) => "thermal",
        }
    }

    /// Returns the formulas that it is made of.
    pub fn formulas(&self) -> Vec<&Formula> {
        match self {
            Evidence::Readings { .. } => Vec::new(),
            Evidence::Scatter { s: it, .. }
            | Evidence::Limits { half_width: it, .. }
            | Evidence::FullRange { range: it, .. }
            | Evidence::Certificate { uncertainty: it, .. }
            | Evidence::StandardUncertainty(it)
            | Evidence::Step(it) => vec![it],
            Evidence::Between { low, high, .. } => vec![low, high],
            Evidence::BlockGrade { length, calibrated_with, .. } => {
                let length = match length {
                    BlockLength::Length(formula) => Some(formula),
                    BlockLength::Stack => None,
                };
                length.into_iter().chain(calibrated_with).collect()
            }
            Evidence::Thermal(it) => {
                let parts = it.parts.iter().flat_map(|part| {
                    let own = part.evidence.iter().flat_map(Evidence::formulas);
                    own.chain(&part.estimate)
                });
                std::iter::once(&it.length).chain(parts).collect()
            }
        }
    }
}

/// How readings are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// A later single reading scatters like these: s.
    Single,
    /// A later mean of n readings: s/√n.
    MeanOf(u32),
    /// The readings are the measurement: their mean, s/√n of all.
    Result,
}

/// What turns an expanded uncertainty into a standard one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Factor {
    /// k, as given.
    K(f64),
    /// The factor of a coverage probability: normal, or t with the contributor's degrees of freedom.
    Coverage(Probability),
}

/// The shape of a bounded (or normal) distribution given by limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Rectangular.
    Rectangular,
    /// Triangular.
    Triangular,
    /// Trapezoidal; the top's share of the base, 0 to 1.
    Trapezoidal(f64),
    /// Arcsine.
    Arcsine,
    /// Normal, the limits holding with this probability.
    Normal(Probability),
}

/// A table of gauge block grades.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GradeTable {
    /// ISO 3650:1998.
    Iso3650,
    /// ASME B89.1.9-2002.
    AsmeB8919,
}

impl GradeTable {
    /// Returns the name of file and record.
    pub fn word(self) -> &'static str {
        match self {
            GradeTable::Iso3650 => "ISO 3650",
            GradeTable::AsmeB8919 => "ASME B89.1.9",
        }
    }

    /// Returns the grades that the table has.
    pub fn grades(self) -> &'static [&'static str] {
        match self {
            GradeTable::Iso3650 => &["0", "1", "2", "K"],
            GradeTable::AsmeB8919 => &["0", "00", "AS-1", "AS-2", "K"],
        }
    }
}

/// A grade of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grade {
    /// The table.
    pub table: GradeTable,
    /// The grade as the table writes it.
    pub grade: String,
}

/// The nominal length of the block that a grade is for.
#[derive(Debug, Clone)]
pub enum BlockLength {
    /// A length.
    Length(Formula),
    /// Each block of the point's stack, independent.
    Stack,
}

/// Thermal expansion mismatch: length·(alpha·difference + alpha_difference·from_20).
#[derive(Debug, Clone)]
pub struct Thermal {
    /// The length.
    pub length: Formula,
    /// `alpha`, `alpha_difference`, `difference`, `from_20`, in this order.
    pub parts: [ThermalPart; 4],
}

/// One part of a thermal contributor.
#[derive(Debug, Clone)]
pub struct ThermalPart {
    /// The place.
    pub origin: Origin,
    /// Best estimate; `None`: zero, as in ±a, or what the evidence gives.
    pub estimate: Option<Formula>,
    /// What is known; `None` for an exactly known value.
    pub evidence: Option<Evidence>,
    /// Degrees of freedom that were given.
    pub dof: Option<Dof>,
    /// The unit in which its figures are reported.
    pub unit: Unit,
}

/// A given correlation between two contributors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// The place.
    pub origin: Origin,
    /// The contributors, by index.
    pub between: (usize, usize),
    /// The correlation coefficient, −1 to 1.
    pub r: f64,
}
