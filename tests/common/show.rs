//! The public path from YAML text to the section of a record, without readings.

use surebound::budget::Budget;
use surebound::file::{history, load_budget_with};
use surebound::propagate::Evaluation;
use surebound::record::{Record, Section};

/// Errors found on arrival, for budgets that name such a file: by hand, in µm.
const AS_FOUND: &[u8] = b"error\n0\n2\n-1\n3\n-2\n1\n";

/// Reads a budget that has no fault.
#[track_caller]
pub fn budget(text: &str) -> Budget {
    let loaded = load_budget_with("a.yaml", text.as_bytes(), &|path| {
        let rows = history::history(AS_FOUND, &path.text);
        Ok(rows.expect("a sound file"))
    });
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
#[allow(dead_code)]
pub fn shown(text: &str) -> Section {
    let budget = budget(text);
    let record = Record::try_from(&evaluated(&budget));
    assert!(record.is_ok(), "{:?}\n{text}", record.err());
    record.expect("no fault was told").sections.remove(0)
}
