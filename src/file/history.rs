//! A file of past errors: CSV with a column `error` and, where errors belong to points, `at`.

use super::table::{self, Cell, Wrong};
use crate::budget::parts::HistoryRow;

/// Returns the rows of a history. Other columns are not looked at; empty lines are passed over.
///
/// # Errors
///
/// What is wrong, with line and column of the file, and what to type.
pub fn history(bytes: &[u8], name: &str) -> Result<Vec<HistoryRow>, String> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.trim_ascii().is_empty() {
        return Err(format!("{name}:1:1: the file is empty; give it a column `error`"));
    }
    let (mut from, mut line, mut header) = (0, 1, None);
    let mut rows = Vec::new();
    while from < bytes.len() {
        let (end, next) = table::end_of_row(bytes, from).unwrap_or_else(|| last_row(bytes, from));
        let row = &bytes[from..end];
        let placed = |it: Wrong| message(name, line, row, &it);
        match &header {
            _ if row.trim_ascii().is_empty() => {}
            None => header = Some(Header::new(row).map_err(placed)?),
            Some(header) => rows.push(header.row(row, line).map_err(placed)?),
        }
        line += memchr::memchr_iter(b'\n', &bytes[from..next]).count() as u64;
        from = next;
    }
    if rows.is_empty() {
        return Err(format!("{name}:{line}:1: there are no rows below the header"));
    }
    Ok(rows)
}

/// The last row may lack its line end; a quote that is never closed ends with its line.
fn last_row(bytes: &[u8], from: usize) -> (usize, usize) {
    let whole = &bytes[from..];
    match table::split(whole, &mut Vec::new()) {
        Ok(()) => (bytes.len(), bytes.len()),
        Err(_) => table::end_of_line(bytes, from),
    }
}

fn message(name: &str, line: u64, row: &[u8], wrong: &Wrong) -> String {
    let before = &row[..wrong.at.min(row.len())];
    let further = memchr::memchr_iter(b'\n', before).count() as u64;
    let start = memchr::memrchr(b'\n', before).map_or(0, |it| it + 1);
    let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
    let help = if wrong.help.is_empty() { String::new() } else { format!("; {}", wrong.help) };
    format!("{name}:{}:{column}: {}{help}", line + further, wrong.what)
}

/// The columns of a history.
struct Header {
    count: usize,
    error: usize,
    at: Option<usize>,
}

impl Header {
    fn new(row: &[u8]) -> Result<Header, Wrong> {
        let names = table::names(row)?;
        let error = table::column(&names, "error")?;
        let at = names.iter().position(|it| it == "at");
        Ok(Header { count: names.len(), error, at })
    }

    fn row(&self, row: &[u8], line: u64) -> Result<HistoryRow, Wrong> {
        let mut cells = Vec::new();
        table::split(row, &mut cells)?;
        if cells.len() != self.count {
            return Err(count(cells.len(), self.count, row));
        }
        let text = |cell: Cell| {
            String::from_utf8(table::content(row, cell).into_owned()).map_err(|_| {
                Wrong::new(cell.start, "the cell is not UTF-8", "save the file as UTF-8")
            })
        };
        let error = text(cells[self.error])?;
        if error.is_empty() {
            return Err(Wrong::new(
                cells[self.error].start,
                "the error is missing",
                "write a number",
            ));
        }
        if let Some(point) = decimal_comma(&error) {
            let what = format!("`{error}` has a decimal comma");
            return Err(Wrong::new(cells[self.error].start, what, format!("write `{point}`")));
        }
        let at = self.at.map(|it| text(cells[it])).transpose()?;
        let before = &row[..cells[self.error].start];
        let start = memchr::memrchr(b'\n', before).map_or(0, |it| it + 1);
        let line = line + memchr::memchr_iter(b'\n', before).count() as u64;
        let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
        Ok(HistoryRow { line, column, at, error })
    }
}

/// Returns what is wrong with a row of too few or too many cells.
pub fn count(found: usize, wanted: usize, row: &[u8]) -> Wrong {
    let what = format!(
        "the row has {found} {}, the header {wanted}",
        if found == 1 { "cell" } else { "cells" }
    );
    let help = if found > wanted {
        "a comma within a cell needs quotes around it: `\"a, b\"`; a number has a decimal point"
    } else {
        "write a comma for each cell, empty or not"
    };
    Wrong::new(row.len(), what, help)
}

/// Returns `2,5` as `2.5`.
pub fn decimal_comma(text: &str) -> Option<String> {
    let (before, after) = text.split_once(',')?;
    let fits = before.ends_with(|it: char| it.is_ascii_digit())
        && after.starts_with(|it: char| it.is_ascii_digit())
        && !after.contains(',');
    fits.then(|| format!("{before}.{after}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_errors_with_and_without_points_whatever_the_line_ends() {
        let text =
            "\u{feff}who,error,at\r\nA,1.5,10\r\n\r\n\"B, C\",\"-2 \",\"10\r\n\"\r\nD,3 µm,x";
        let rows = history(text.as_bytes(), "past.csv").unwrap();
        let found: Vec<(u64, &str, Option<&str>)> =
            rows.iter().map(|it| (it.line, it.error.as_str(), it.at.as_deref())).collect();
        assert_eq!(found, [(2, "1.5", Some("10")), (4, "-2", Some("10")), (6, "3 µm", Some("x"))]);
        assert_eq!(history(b"error\n1\n", "x").unwrap()[0].at, None);
    }

    #[test]
    fn says_where_it_is_wrong_and_what_to_type() {
        for (text, expected) in [
            ("", "past.csv:1:1: the file is empty"),
            ("error\n", "past.csv:2:1: there are no rows below the header"),
            (
                "eror\n1\n",
                "past.csv:1:1: the header has no column `error`; call the column `eror` `error`",
            ),
            ("error;at\n1;2\n", "past.csv:1:6: the cells are separated by semicolons; error,at"),
            ("at,error\n1,\"2,5\"\n", "past.csv:2:4: `2,5` has a decimal comma; write `2.5`"),
            ("at,error\n1,2,5\n", "past.csv:2:6: the row has 3 cells, the header 2"),
            ("at,error\n1\n", "past.csv:2:2: the row has 1 cell, the header 2"),
            ("at,error\n1,\n", "past.csv:2:3: the error is missing"),
            ("at,error\n1,\"2\n3,4\n", "past.csv:2:3: the quote that opens here is not closed"),
        ] {
            let message = history(text.as_bytes(), "past.csv").unwrap_err();
            assert!(message.starts_with(expected), "{text}: {message}");
        }
        let message = history(b"error\n\xff\n", "past.csv").unwrap_err();
        assert!(message.starts_with("past.csv:2:1: the cell is not UTF-8"), "{message}");
    }
}
