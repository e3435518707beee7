//! Rows → CSV (RFC 4180, but for line ends: `\n`), UTF-8, one line of names first.
//!
//! Numbers are the shortest text that gives the same double back. A text that a spreadsheet would run
//! as a formula (it begins with `=`, `+`, `-` or `@`) gets a `'` in front, and so does one that begins
//! with `'`: whoever takes one `'` off again has the text as it was.

use crate::page::rows::{Rows, Value};

/// Returns rows as CSV.
///
/// # Errors
///
/// Where a number is NaN or infinite: the name of its column.
pub fn render(table: &Rows) -> Result<String, NotFinite> {
    let mut csv = line(table.columns.iter().map(|it| (*it).to_owned()));
    for row in &table.rows {
        let cells = row.iter().zip(&table.columns).map(|(value, column)| cell(value, column));
        csv += &line(cells.collect::<Result<Vec<String>, NotFinite>>()?.into_iter());
    }
    Ok(csv)
}

/// A number that is NaN or infinite.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a number in column `{column}` is not finite: the table is not written")]
pub struct NotFinite {
    /// The column that it stands in.
    pub column: &'static str,
}

fn line(cells: impl Iterator<Item = String>) -> String {
    cells.collect::<Vec<_>>().join(",") + "\n"
}

fn cell(value: &Value, column: &'static str) -> Result<String, NotFinite> {
    match value {
        Value::Empty => Ok(String::new()),
        Value::Text(text) => Ok(quoted(text.as_str())),
        Value::Number(number) if number.is_finite() => Ok(digits(*number)),
        Value::Number(_) => Err(NotFinite { column }),
    }
}

/// The shortest text of a number, with an exponent where it would be long.
fn digits(number: f64) -> String {
    let text = format!("{number:?}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn quoted(text: &str) -> String {
    let harmless = match text.starts_with(['=', '+', '-', '@', '\'']) {
        true => format!("'{text}"),
        false => text.to_owned(),
    };
    match harmless.contains([',', '"', '\n', '\r']) {
        true => format!("\"{}\"", harmless.replace('"', "\"\"")),
        false => harmless,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(value: Value) -> String {
        let table = Rows { columns: vec!["a"], rows: vec![vec![value]] };
        render(&table).unwrap().lines().nth(1).unwrap().to_owned()
    }

    #[test]
    fn disarms_what_a_spreadsheet_would_run() {
        let cases = [
            ("=1+1", "'=1+1"),
            ("+1", "'+1"),
            ("-x", "'-x"),
            ("@a", "'@a"),
            ("'=1", "''=1"),
            ("=\"a\",b", "\"'=\"\"a\"\",b\""),
            ("a=1", "a=1"),
        ];
        for (text, expected) in cases {
            assert_eq!(one(Value::Text(text.into())), expected);
        }
    }

    #[test]
    fn writes_all_digits_and_no_number_that_is_none() {
        let cases =
            [(-0.5, "-0.5"), (1e-7, "1e-7"), (3.0, "3"), (0.1 + 0.2, "0.30000000000000004")];
        for (number, expected) in cases {
            assert_eq!(one(Value::Number(number)), expected);
        }
        let table = Rows { columns: vec!["a"], rows: vec![vec![Value::Number(f64::NAN)]] };
        assert_eq!(render(&table), Err(NotFinite { column: "a" }));
    }
}
