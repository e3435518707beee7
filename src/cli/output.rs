//! Results out: a record in the form that was asked for, on standard output.

use super::{DONE, Failure, Format, NOT_PASSED};
use crate::page;
use crate::record::Record;
use crate::render::{json, terminal};
use std::io::{ErrorKind, Write};

/// The width of text pages, in cells.
const WIDTH: usize = 100;

/// Writes a record to standard output and returns the exit code that its verdicts ask for.
///
/// # Errors
///
/// [`Failure::Machine`] where standard output cannot be written, or the record holds a number that
/// is not finite. A reader that has gone away is no failure.
pub(super) fn record(record: &Record, format: Format) -> Result<u8, Failure> {
    let text = match format {
        Format::Text => terminal::render(&page::of(record), WIDTH, style()),
        Format::Json => {
            json::render(record).map_err(|fault| Failure::Machine(fault.to_string()))?
        }
    };
    write(&text)?;
    Ok(if record.all_pass() { DONE } else { NOT_PASSED })
}

/// Writes a text to standard output.
///
/// # Errors
///
/// [`Failure::Machine`] where it cannot be written. A reader that has gone away is no failure.
pub(super) fn write(text: &str) -> Result<(), Failure> {
    let mut out = anstream::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(reason) if reason.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::Machine(format!("standard output cannot be written: {reason}")))
        }
        _ => Ok(()),
    }
}

/// Bold type on a terminal, unless `NO_COLOR` or the terminal's kind speaks against it.
fn style() -> terminal::Style {
    match anstream::AutoStream::choice(&std::io::stdout()) {
        anstream::ColorChoice::Never => terminal::Style::Plain,
        _ => terminal::Style::Bold,
    }
}
