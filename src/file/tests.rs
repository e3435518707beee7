//! Reads whole files and small faulty ones: every fault with its place, message and help.

mod contributor_faults;
mod faults;
mod plain_faults;
mod whole;

pub(super) use whole::{BUDGET_TEXT, WORKSHEET_TEXT};

use super::{AnyReading, any};

/// The faults of `text` as a person reads them, without the file's name and the line of the file:
/// `line:column: message` and the help after ` | `.
fn shown(text: &str) -> Vec<String> {
    let (source, faults) = match any("a.yaml", text.as_bytes()) {
        AnyReading::Budget(reading) => (reading.source, reading.faults),
        AnyReading::Worksheet(reading) => (reading.source, reading.faults),
    };
    let show = |fault: &crate::fault::Fault| {
        let (line, column) = source.place(fault.origin);
        let help = if fault.help.is_empty() { "" } else { " | " };
        format!("{line}:{column}: {}{help}{}", fault.message(), fault.help)
    };
    faults.iter().map(show).collect()
}

/// Compares the faults of `text` with `expected`, all of them.
#[track_caller]
fn assert_faults(text: &str, expected: &[&str]) {
    assert_eq!(shown(text), expected, "\n{text}");
}
