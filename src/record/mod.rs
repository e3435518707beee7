//! The result record: everything that a verb found out, as plain data, and its JSON.
//!
//! Stage 8 of the pipeline. Pages are built from it alone, and `docs/record.schema.json` is its
//! promise: within `record: 1` fields are only added. Nothing is computed here.
//!
//! Conventions: a number is in the measurand's unit unless a unit stands beside it, and finite;
//! infinite degrees of freedom are the word `infinite` ([`Dof`]); `null` means "not determined",
//! never zero, and [`Reason`] says why where it was asked for. Text that a person wrote stays as
//! it was written.
//!
//! # Examples
//!
//! A certificate of U = 0.4 µm with k = 2 is u = 0.2 µm (by hand), here in the measurand's unit:
//!
//! ```
//! use surebound::budget::Budget;
//! use surebound::record::{Dof, Record};
//!
//! let budget = Budget::parse(
//!     "surebound: 1
//! title: A length by one certificate
//! measurand: {symbol: L, name: Length, unit: µm}
//! contributors: [{name: Certificate, certificate: 0.4 µm, k: 2}]
//! ",
//! )?;
//! let record = Record::try_from(&budget.evaluate()?)?;
//! let point = &record.sections[0].points[0];
//! assert!((point.standard_uncertainty - 0.2).abs() < 1e-15);
//! assert_eq!(point.effective_dof, Dof::INFINITE);
//! assert!(record.to_json()?.contains("\"effective_dof\": \"infinite\""));
//! assert_eq!(point.decision, None); // not determined, as nothing is asked for
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

mod compare;
mod data;
mod decision;
mod finite;
pub mod from;
mod from_bench;
mod from_compare;
mod from_data;
mod from_sheet;
mod from_simulation;
mod from_together;
mod json;
mod point;
mod regrade;
mod results;
#[cfg(test)]
pub(crate) mod sample;
#[cfg(test)]
mod sample_compare;
pub mod schema;
mod section;
mod sheet;
mod simulation;
mod together;
mod value;
mod worksheet;

pub use compare::{
    Acceptances, Alternative, DensityCurve, History, OperatingCurve, Population, PopulationSource,
};
pub use data::{Analysis, CommonData, DataColumn, DataKind, Fit, Grouping};
pub use decision::{
    Acceptance, CardReading, Cause, Decision, Density, PrintedLimits, ReadingVerdict, Rule, Scope,
    Spread, Take, Verdict, Zone,
};
pub use finite::NotFinite;
pub use from_simulation::crosschecked;
pub use json::NotARecord;
pub use point::{
    At, Contributor, Coverage, CoverageMethod, DofRule, Input, Owner, Part, Point, Reason,
    Reported, ScopeFigures, Tests, Tolerance,
};
pub use regrade::{Decisive, Regrade};
pub use results::{Region, ResultFigures, Results};
pub use section::{
    BudgetHead, DecisionHead, Display, GuardBand, GuardBandKind, Measurand, Requires, Section,
};
pub use sheet::{Sheet, SheetLimit, SheetLine, SheetList, SheetRun, SheetSpread};
pub use simulation::{Crosscheck, Densities, DigitCheck, IntervalKind, Simulation, StandardErrors};
pub use together::{Together, WithinTolerance};
pub use value::{Dof, Texts};
pub use worksheet::{Check, CheckResult, Instrument, Tally, Worksheet};

/// The version of the record that this program writes.
pub const VERSION: u32 = 1;

/// What one run of a verb found out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// The version of this format: 1.
    #[schemars(extend("const" = 1))]
    pub record: u32,
    /// The verb that made the record.
    pub kind: Kind,
    /// The program that made the record.
    pub program: Program,
    /// What was asked for beside the files, as it was typed.
    pub options: Options,
    /// The files that were read, in the order of reading.
    pub files: Vec<File>,
    /// One section per budget.
    pub sections: Vec<Section>,
    /// The worksheet that was judged; null where there was none.
    pub worksheet: Option<Worksheet>,
    /// The instrument as a whole; null where no worksheet was judged.
    pub instrument: Option<Instrument>,
    /// What the readings come to under other tolerances, as they were asked for; null where none was.
    pub regrade: Option<Vec<Regrade>>,
    /// What is worth saying about the result, in the order of importance.
    pub findings: Vec<Finding>,
}

impl Record {
    /// Returns an empty record of a verb, made by this version of the program.
    pub fn new(kind: Kind) -> Record {
        let program =
            Program { name: "surebound".into(), version: env!("CARGO_PKG_VERSION").into() };
        let options = Options::default();
        Record {
            record: VERSION,
            kind,
            program,
            options,
            files: Vec::new(),
            sections: Vec::new(),
            worksheet: None,
            instrument: None,
            regrade: None,
            findings: Vec::new(),
        }
    }

    /// Returns whether nothing in the record speaks against passing: every verdict that was given
    /// is a pass, the instrument's too, no check failed, and every crosscheck is validated. A record
    /// without verdicts has nothing against it.
    pub fn all_pass(&self) -> bool {
        let points = || self.sections.iter().flat_map(|section| &section.points);
        let mut crosschecks = points().filter_map(|point| point.crosscheck.as_ref());
        let mut verdicts = points()
            .filter_map(|point| point.decision.as_ref().and_then(|decision| decision.verdict))
            .chain(self.instrument.as_ref().map(|instrument| instrument.verdict));
        let mut checks = self.worksheet.iter().flat_map(|worksheet| &worksheet.checks);
        verdicts.all(|verdict| verdict == Verdict::Pass)
            && checks.all(|check| check.result != CheckResult::NotOk)
            && crosschecks.all(|it| it.validated == Some(true))
    }
}

/// The verb that made a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// The budget, point by point.
    Show,
    /// Readings with their verdicts.
    Judge,
    /// The readings near the limits with their verdicts, point by point.
    Card,
    /// The law of propagation beside a simulation.
    Crosscheck,
    /// What a page at the bench judges readings by.
    Sheet,
}

/// The program that made a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Program {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// What was asked for beside the files; null where it was not given. What cannot alter the result (the
/// number of threads, the form, other files to be written) is not here.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Options {
    /// The point that was asked for, as it was typed.
    pub at: Option<String>,
    /// The reading to judge, as it was typed.
    pub reading: Option<String>,
    /// The limits to judge by as well, as they were typed.
    pub regrade: Option<String>,
    /// The fixed number of trials of a simulation.
    pub trials: Option<u64>,
    /// The number of trials at a point after which a simulation gives up.
    pub trials_max: Option<u64>,
    /// The seed of a simulation.
    pub seed: Option<u64>,
    /// The significant digits of u that a simulation is to make stable.
    pub digits: Option<u32>,
    /// The simulated interval that the law of propagation is compared with.
    pub interval: Option<IntervalKind>,
    /// What a card lists; null: readings.
    pub card_as: Option<CardAs>,
}

/// What a card lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum CardAs {
    /// What the display shows.
    Readings,
    /// The errors that follow from it.
    Errors,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct File {
    /// Its path as it was given, or as the worksheet names it.
    pub path: String,
    /// The SHA-256 of its bytes: 64 hexadecimal digits in lower case.
    #[schemars(regex(pattern = r"^[0-9a-f]{64}$"))]
    pub sha256: String,
    /// What it was read as.
    pub role: Role,
}

/// What a file was read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// A budget.
    Budget,
    /// A worksheet.
    Worksheet,
    /// Past errors of such instruments.
    History,
}

/// Something worth saying that alters no number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// A short fixed word for programs, such as `second-order`.
    pub code: String,
    /// How much it matters.
    pub severity: Severity,
    /// What was found, in one sentence.
    pub message: String,
    /// What to do about it; null where there is nothing to do.
    pub help: Option<String>,
    /// What it is about in the reader's words (a contributor, points); null where it is the whole.
    pub about: Option<String>,
    /// The place in the input, as `file:line:column`; null where there is none.
    #[serde(rename = "where")]
    pub place: Option<String>,
}

/// How much a finding matters.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Good to know; nothing to do.
    Note,
    /// Look at it before the result is used.
    Caution,
    /// The result is not what the reader will take it for, unless something is done.
    Warning,
}

impl Severity {
    /// Returns the word that pages print.
    pub fn word(self) -> &'static str {
        crate::fault::Severity::from(self).word()
    }
}

impl From<crate::fault::Severity> for Severity {
    fn from(severity: crate::fault::Severity) -> Severity {
        match severity {
            crate::fault::Severity::Note => Severity::Note,
            crate::fault::Severity::Caution => Severity::Caution,
            crate::fault::Severity::Warning => Severity::Warning,
        }
    }
}

impl From<Severity> for crate::fault::Severity {
    fn from(severity: Severity) -> crate::fault::Severity {
        match severity {
            Severity::Note => crate::fault::Severity::Note,
            Severity::Caution => crate::fault::Severity::Caution,
            Severity::Warning => crate::fault::Severity::Warning,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passes_only_where_every_verdict_and_every_check_does() {
        let record = sample::worksheet();
        assert!(!record.all_pass(), "one point of the sample is a conditional pass");
        let mut record = sample::judged();
        assert!(record.all_pass());
        record.sections[0].points[0].decision.as_mut().unwrap().verdict = Some(Verdict::Undecided);
        assert!(!record.all_pass());
    }

    #[test]
    fn fails_by_a_failed_check_alone() {
        let mut record = sample::judged();
        let mut worksheet = sample::worksheet().worksheet.unwrap();
        record.worksheet = Some(worksheet.clone());
        assert!(record.all_pass());
        worksheet.checks[0].result = CheckResult::NotOk;
        record.worksheet = Some(worksheet);
        assert!(!record.all_pass());
    }

    #[test]
    fn has_nothing_against_a_record_without_verdicts() {
        assert!(sample::shown().all_pass());
    }
}
