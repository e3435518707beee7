//! The validated types of a budget. Values of these types keep every rule of `docs/budget-format.md`
//! that can be checked without computing; only [`Budget::new`](super::Budget::new) makes them.
//!
//! Values are in SI where they are `f64`; `Formula`s see the base values of a point.

use super::dataset::Dataset;
use super::derived::DerivedResult;
use super::formula::Formula;
use super::knowledge::Evidence;
use super::names::{Names, READING, Role};
use super::number::{Date, Dof, Probability};
use super::population::Population;
use super::rule::{Decision, Tolerance};
use crate::fault::Origin;
use crate::model::Expr;
use crate::model::expr::Node;
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
    pub(crate) results: Vec<DerivedResult>,
    pub(crate) contributors: Vec<Contributor>,
    pub(crate) datasets: Vec<Dataset>,
    pub(crate) links: Vec<Link>,
    pub(crate) order: Order,
    pub(crate) coverage: Coverage,
    pub(crate) digits: usize,
    pub(crate) display: Option<Display>,
    pub(crate) tolerance: Option<Tolerance>,
    pub(crate) decision: Option<Decision>,
    pub(crate) repeatability: Option<Formula>,
    pub(crate) population: Option<Population>,
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

    /// The results beside the measurand, in the order of the file.
    pub fn results(&self) -> &[DerivedResult] {
        &self.results
    }

    /// The contributors, in the order of the file; after them the columns of the data.
    pub fn contributors(&self) -> &[Contributor] {
        &self.contributors
    }

    /// Data that several inputs come from together.
    pub fn datasets(&self) -> &[Dataset] {
        &self.datasets
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

    /// The greatest difference between two readings at a point, in the measurand's dimension.
    pub fn repeatability(&self) -> Option<&Formula> {
        self.repeatability.as_ref()
    }

    /// What is known of such instruments before the reading.
    pub fn population(&self) -> Option<&Population> {
        self.population.as_ref()
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

    /// Whether the model is `reading` and nothing else, so that the measurand is no error of an instrument.
    pub fn is_reading_alone(&self) -> bool {
        matches!(&self.model.node, Node::Name(name) if name == READING)
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

/// Which orders of the law of propagation enter u.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Second order where it changes u by 1 % or more.
    Auto,
    /// First order only.
    First,
    /// Second order always.
    Second,
}

/// How the reported coverage factor is made.
#[derive(Debug, Clone, PartialEq)]
pub struct Coverage {
    /// The coverage probability.
    pub probability: Probability,
    /// The method.
    pub method: CoverageMethod,
    /// Whether effective degrees of freedom are truncated or interpolated.
    pub dof: DofRule,
    /// The place of the method.
    pub origin: Origin,
}

/// The methods of coverage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CoverageMethod {
    /// Student's t with the effective degrees of freedom.
    T,
    /// A fixed factor.
    Fixed(f64),
    /// The distribution of the measurand, computed without random numbers.
    Exact,
    /// The distribution of the measurand by simulation (JCGM 101:2008, 7).
    MonteCarlo,
}

/// What happens to effective degrees of freedom before a quantile is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DofRule {
    /// Truncated to the next lower integer (default).
    Truncate,
    /// Taken as they are.
    Interpolate,
}

/// What the instrument can show.
#[derive(Debug, Clone)]
pub struct Display {
    /// The step, in the reading's dimension, above 0.
    pub step: Quantity,
    /// Whether it was given as `display` (else found among the contributors' steps).
    pub given: bool,
}
