//! The seam between verbs and engine: paths and words in, a record out.
//!
//! Each function reads its files, evaluates, decides and maps the result to a record.

use super::{Failure, Source};
use crate::record::Record;
use std::path::Path;

/// Returns the `show` record of the budget at `path`; `at` asks for one point.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or for an `at` that is no point.
pub(super) fn show(path: &Path, at: Option<&str>) -> Result<Record, Failure> {
    let source = Source::read(path)?;
    unavailable(&source, at.map_or("show", |_| "show --at"))
}

/// Returns the `judge` record of one reading under the budget at `path`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or for a reading or point that does not fit.
pub(super) fn judge_reading(
    path: &Path,
    at: Option<&str>,
    reading: &str,
) -> Result<Record, Failure> {
    let source = Source::read(path)?;
    let point = at.unwrap_or("the only point");
    unavailable(&source, &format!("judge {reading} at {point}"))
}

/// Returns the `judge` record of the worksheet at `path`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the files, or where `path` is a budget: it then needs a
/// reading.
pub(super) fn judge_worksheet(path: &Path) -> Result<Record, Failure> {
    let source = Source::read(path)?;
    unavailable(&source, "judge")
}

/// Returns the `card` record of the budget at `path`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or where no display step or decision is known.
pub(super) fn card(path: &Path) -> Result<Record, Failure> {
    let source = Source::read(path)?;
    unavailable(&source, "card")
}

/// Returns the JSON Schema of a budget file.
///
/// # Errors
///
/// [`Failure::Machine`] where it cannot be made.
pub(super) fn budget_schema() -> Result<String, Failure> {
    Err(Failure::Machine("the schema of a budget is not connected".into()))
}

/// Returns the JSON Schema of a worksheet file.
///
/// # Errors
///
/// [`Failure::Machine`] where it cannot be made.
pub(super) fn worksheet_schema() -> Result<String, Failure> {
    Err(Failure::Machine("the schema of a worksheet is not connected".into()))
}

fn unavailable(source: &Source, verb: &str) -> Result<Record, Failure> {
    let path = source.path.display();
    Err(Failure::Machine(format!("{path}: `{verb}` has no engine connected")))
}
