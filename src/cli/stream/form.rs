//! The form of judged rows: CSV or one JSON object a line.

use crate::decide::table::Outcome;
use crate::decide::{Cause, Verdict};
use crate::file::table::{self, Cell};
use crate::quantity::decimal::significant;

/// The columns that are added.
pub(super) const OWN: [&str; 6] =
    ["result", "result_unit", "verdict", "cause", "specific_risk", "instrument_verdict"];

/// The form of judged rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Form {
    /// Cells separated by commas, with a header
    Csv,
    /// One JSON object per row
    Jsonl,
}

impl Form {
    /// Returns the header; none in JSON.
    pub(super) fn header(self, names: &[String]) -> Vec<u8> {
        let mut out = Vec::new();
        if self == Form::Csv {
            for name in names.iter().map(String::as_str).chain(OWN) {
                if !out.is_empty() {
                    out.push(b',');
                }
                table::write_cell(name.as_bytes(), &mut out);
            }
            out.push(b'\n');
        }
        out
    }

    /// Returns what is added for an outcome, up to the instrument's verdict.
    pub(super) fn added(self, outcome: &Outcome, unit: &str) -> Vec<u8> {
        let (verdict, cause) = (outcome.verdict.word(), cause(outcome.cause));
        let risk = outcome.specific_risk.map(risk);
        match self {
            Form::Csv => {
                let mut out = vec![b','];
                table::write_cell(outcome.number.as_bytes(), &mut out);
                out.push(b',');
                table::write_cell(unit.as_bytes(), &mut out);
                let risk = risk.unwrap_or_default();
                out.extend_from_slice(format!(",{verdict},{cause},{risk},").as_bytes());
                out
            }
            Form::Jsonl => {
                let risk = risk.unwrap_or_else(|| "null".into());
                let cause = if cause.is_empty() { "null".into() } else { json(cause) };
                let (number, unit) = (&outcome.number, json(unit));
                let text = format!(
                    ",\"result\":{number},\"result_unit\":{unit},\"verdict\":\"{verdict}\",\"cause\":{cause},\
                     \"specific_risk\":{risk},\"instrument_verdict\":"
                );
                text.into_bytes()
            }
        }
    }

    /// Writes a row with what is added; `anew`: cells to be used where its text cannot stay.
    pub(super) fn row(
        self,
        row: &[u8],
        anew: Option<&mut Vec<Cell>>,
        (added, verdict): (&[u8], Verdict),
        names: &[String],
        out: &mut Vec<u8>,
    ) {
        if self == Form::Jsonl {
            let mut cells = Vec::new();
            let _fits = table::split(row, &mut cells);
            let mut before = b'{';
            for (name, cell) in names.iter().zip(cells) {
                out.push(before);
                before = b',';
                out.extend_from_slice(json(name).as_bytes());
                out.push(b':');
                let text = table::content(row, cell);
                out.extend_from_slice(json(&String::from_utf8_lossy(&text)).as_bytes());
            }
            out.extend_from_slice(added);
            out.extend_from_slice(json(verdict.word()).as_bytes());
            out.extend_from_slice(b"}\n");
            return;
        }
        match anew {
            None => out.extend_from_slice(row),
            Some(cells) => {
                let _fits = table::split(row, cells);
                for (index, cell) in cells.iter().enumerate() {
                    if index > 0 {
                        out.push(b',');
                    }
                    let whole = Cell { ..*cell };
                    let text = unquoted(row, whole);
                    table::write_cell(&text, out);
                }
            }
        }
        out.extend_from_slice(added);
        out.extend_from_slice(verdict.word().as_bytes());
        out.push(b'\n');
    }
}

/// What a cell holds, with the spaces around it.
fn unquoted(row: &[u8], cell: Cell) -> Vec<u8> {
    let text = row[cell.start..cell.end].to_vec();
    if !cell.quoted {
        return text;
    }
    String::from_utf8_lossy(&text).replace("\"\"", "\"").into_bytes()
}

/// Returns the word of a cause; none for a plain pass.
fn cause(cause: Option<Cause>) -> &'static str {
    match cause {
        None => "",
        Some(Cause::Tolerance) => "tolerance",
        Some(Cause::GuardBand) => "guard band",
        Some(Cause::Requirement) => "requirement",
        Some(Cause::Check) => "check",
        Some(Cause::Repeatability) => "repeatability",
    }
}

/// Returns a risk with four digits.
fn risk(risk: f64) -> String {
    match risk {
        0.0 => "0".into(),
        1e-4.. => significant(risk, 4),
        _ => format!("{risk:.3e}"),
    }
}

fn json(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn risks_have_four_digits() {
        assert_eq!(
            [risk(0.0), risk(0.083_14), risk(1.0), risk(1.234_56e-9)],
            ["0", "0.08314", "1.000", "1.235e-9"]
        );
    }
}
