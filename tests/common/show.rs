//! The public path from YAML text to the section of a record, without readings.

use surebound::budget::Budget;
use surebound::file::load_budget;
use surebound::propagate::Evaluation;
use surebound::record::{Record, Section};

/// Reads a budget that has no fault.
#[track_caller]
pub fn budget(text: &str) -> Budget {
    let loaded = load_budget("a.yaml", text.as_bytes());
    let told = loaded.value.as_ref().err().map(|it| loaded.source.render_all(it));
    assert!(told.is_none(), "{}\n{text}", told.unwrap_or_default());
    loaded.value.expect("no fault was told")
}

/// Evaluates a budget that has a value at every point.
#[track_caller]
pub fn evaluated(budget: &Budget) -> Evaluation<'_> {
    let evaluation = budget.evaluate();
    assert!(evaluation.is_ok(), "{:?}", evaluation.err());
    evaluation.expect("no fault was told")
}

/// Returns the section of the `show` record.
#[track_caller]
pub fn shown(text: &str) -> Section {
    let budget = budget(text);
    let record = Record::try_from(&evaluated(&budget));
    assert!(record.is_ok(), "{:?}\n{text}", record.err());
    record.expect("no fault was told").sections.remove(0)
}
