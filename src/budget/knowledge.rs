//! What is known about contributors: the validated kinds of evidence.
//!
//! Part of the domain; made by [`Budget::new`](super::Budget::new) alone.

use super::dataset::DataKind;
use super::formula::Formula;
use super::number::{Dof, Probability};
use crate::fault::Origin;
use crate::quantity::{Quantity, Unit};

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
    /// Repeated readings in groups: two or more, none empty, some with two readings.
    Groups {
        /// The readings, group by group.
        groups: Vec<Vec<Quantity>>,
        /// How they are used.
        usage: Use,
        /// Which scatter counts.
        grouping: Grouping,
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
    /// One input of common data, whose columns are correlated.
    Column {
        /// Index of the data in [`Budget::datasets`](super::Budget::datasets).
        dataset: usize,
        /// The column.
        column: usize,
        /// What the data are.
        of: DataKind,
    },
}

impl Evidence {
    /// Returns the word of file and record: the evidence's key.
    pub fn word(&self) -> &'static str {
        match self {
            Evidence::Readings { .. } | Evidence::Groups { .. } => "readings",
            Evidence::Scatter { .. } => "scatter",
            Evidence::Limits { .. } | Evidence::Between { .. } => "limits",
            Evidence::FullRange { .. } => "full_range",
            Evidence::Certificate { .. } => "certificate",
            Evidence::StandardUncertainty(_) => "standard_uncertainty",
            Evidence::Step(_) => "step",
            Evidence::BlockGrade { .. } => "block_grade",
            Evidence::Thermal(_) => "thermal",
            Evidence::Column { of, .. } => of.word(),
        }
    }

    /// Whether these are readings that are the measurement themselves: their mean is an estimate.
    pub fn are_result(&self) -> bool {
        let usage = match self {
            Evidence::Readings { usage, .. } | Evidence::Groups { usage, .. } => Some(*usage),
            _ => None,
        };
        usage == Some(Use::Result)
    }

    /// Returns the formulas that it is made of.
    pub fn formulas(&self) -> Vec<&Formula> {
        match self {
            Evidence::Readings { .. } | Evidence::Groups { .. } | Evidence::Column { .. } => {
                Vec::new()
            }
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

/// Which scatter of readings in groups counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grouping {
    /// That within groups: each group is another piece or point.
    Pooled,
    /// That between groups and within: each group is another day or operator.
    Components,
}

impl Grouping {
    /// Returns the word of file and record.
    pub fn word(self) -> &'static str {
        match self {
            Grouping::Pooled => "pooled",
            Grouping::Components => "components",
        }
    }
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
    /// Rectangular, its half-width known only within this share of it, above 0 and up to 1.
    Curvilinear(f64),
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
