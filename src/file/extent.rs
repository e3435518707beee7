//! How far a row of a table of readings goes, where a quote may have been left standing.
//!
//! A cell in quotes may hold line ends. A quote that opens by mistake takes in the lines that follow, and
//! their readings with them. So a cell that takes in lines and then does not fit, is never closed, or holds
//! what are rows, is no cell: its row ends with its line and is faulty, and the next line is read anew.
//!
//! Each line is read twice at most: a line that a quote takes in whole holds quotes that would also be closed
//! at its end were it read by itself.

use super::table::{Cell, Columns, Wrong, end_of_line, end_of_row, split};

/// No row is longer, in bytes.
pub const LONGEST: usize = 1024 * 1024;

/// How far a row goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Extent {
    /// Where it ends, without its line end.
    pub end: usize,
    /// Where the next one begins.
    pub next: usize,
    /// How many line ends its cells hold.
    pub breaks: u64,
    /// A quote that takes in lines which do not belong to it; the row ends with its line.
    pub astray: Option<Astray>,
}

/// A quote that takes in lines which do not belong to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Astray {
    /// The byte of the row where it opens.
    pub opens: usize,
    /// Where what it takes in ends, as a byte of the whole.
    pub until: usize,
    /// How many lines it takes in.
    pub lines: u64,
    why: Why,
}

/// Why a cell that takes in lines is no cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Why {
    NotClosed,
    TextAfter,
    HoldsRows,
    TooLong,
}

impl Extent {
    fn of((end, next): (usize, usize)) -> Extent {
        Extent { end, next, breaks: 0, astray: None }
    }
}

impl Astray {
    /// Returns what is wrong with the row of line `line`.
    pub fn wrong(&self, line: u64) -> Wrong {
        let last = line + self.lines;
        let takes = format!("the quote that opens here takes in the lines to {last}");
        let what = match self.why {
            Why::NotClosed => "the quote that opens here is not closed".to_owned(),
            Why::TextAfter => format!("{takes}, where text stands after the closing quote"),
            Why::HoldsRows => format!("{takes}, among them whole rows"),
            Why::TooLong => format!("{takes}, more than {} MiB", LONGEST / (1024 * 1024)),
        };
        let help =
            "close it with `\"` in its line, or leave it out; the lines after it are read as rows";
        Wrong::new(self.opens, what, help)
    }
}

/// Returns how far the row goes that begins at `from`; `None` where the bytes end before that is known.
/// `all_there`: no more bytes follow.
pub fn extent(
    bytes: &[u8],
    from: usize,
    all_there: bool,
    columns: &Columns,
    cells: &mut Vec<Cell>,
) -> Option<Extent> {
    match memchr::memchr2(b'\n', b'"', bytes.get(from..)?) {
        Some(first) if bytes[from + first] == b'\n' => {
            let end = from + first;
            let returns = usize::from(first > 0 && bytes[end - 1] == b'\r');
            return Some(Extent::of((end - returns, end + 1)));
        }
        None if !all_there => return None,
        None => return Some(Extent::of(end_of_line(bytes, from))),
        Some(_) => {}
    }
    let line = end_of_line(bytes, from);
    let row = match end_of_row(bytes, from) {
        Some(row) => row,
        None if all_there => (bytes.len(), bytes.len()),
        None if bytes.len() - from > LONGEST => (from + LONGEST, bytes.len()),
        None => return None,
    };
    if row.1 == line.1 {
        return Some(Extent::of(line));
    }
    let text = &bytes[from..row.0];
    let (why, until) = match split(text, cells) {
        Ok(()) if text.len() > LONGEST => (Why::TooLong, row.0),
        Ok(()) if holds_rows(text, cells, columns) => (Why::HoldsRows, row.0),
        Ok(()) => {
            return Some(Extent { end: row.0, next: row.1, breaks: count(text), astray: None });
        }
        Err(wrong) if text.get(wrong.at) == Some(&b'"') => {
            // Behind the quote that is not closed, so that the first cell that takes in lines is found.
            cells.push(Cell { start: wrong.at + 1, end: text.len(), quoted: true });
            (Why::NotClosed, line.0)
        }
        Err(wrong) => (Why::TextAfter, from + wrong.at),
    };
    let spans = |it: &&Cell| memchr::memchr(b'\n', &text[it.start..it.end]).is_some();
    let opens =
        cells.iter().find(spans).or(cells.last()).map_or(0, |it| it.start.saturating_sub(1));
    let lines = count(&bytes[from..until]);
    let astray = Some(Astray { opens, until, lines, why });
    Some(Extent { astray, ..Extent::of(line) })
}

/// Whether a line within the row is a whole row itself: as many cells as the header, a number where the point
/// or the value belongs, and not what is left of cells that stand around a line end.
fn holds_rows(text: &[u8], cells: &[Cell], columns: &Columns) -> bool {
    let last = cells.len().saturating_sub(1);
    let mut start = 0;
    loop {
        let end = memchr::memchr(b'\n', &text[start..]).map_or(text.len(), |it| start + it);
        let cell_at = |at: usize| cells.iter().rposition(|it| it.start <= at).unwrap_or(0);
        let first = if start == 0 { 0 } else { cell_at(start) };
        let ending = if end == text.len() { last } else { cell_at(end) };
        let pieces: Vec<&[u8]> = text[start..end].split(|it| *it == b',').collect();
        let is_number = |column: Option<usize>| {
            let piece = column.and_then(|it| pieces.get(it)).map(|it| it.trim_ascii_start());
            let digits = piece.and_then(|it| it.strip_prefix(b"-").or(Some(it)));
            digits.and_then(<[u8]>::first).is_some_and(u8::is_ascii_digit)
        };
        let whole = pieces.len() == columns.names.len() && (first, ending) != (0, last);
        if whole && (is_number(Some(columns.value)) || is_number(columns.at)) {
            return true;
        }
        if end == text.len() {
            return false;
        }
        start = end + 1;
    }
}

/// Returns how many lines end in some bytes.
pub fn count(bytes: &[u8]) -> u64 {
    memchr::memchr_iter(b'\n', bytes).count() as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(header: &str, text: &str) -> Vec<(String, Option<(Why, u64)>)> {
        let columns = Columns::new(header.as_bytes(), true, &[]).unwrap();
        let (mut from, mut found) = (0, Vec::new());
        while from < text.len() {
            let row = extent(text.as_bytes(), from, true, &columns, &mut Vec::new()).unwrap();
            let astray = row.astray.map(|it| (it.why, it.lines));
            found.push((text[from..row.end].to_owned(), astray));
            from = row.next;
        }
        found
    }

    #[test]
    fn a_cell_in_quotes_holds_line_ends() {
        for (header, row) in [
            ("instrument,at,reading,note", "A,5,5.1,\"two\r\nlines\""),
            ("instrument,at,reading,note", "A,5,5.1,\"in all\n2, 3 and more, 5\n\""),
            ("note,instrument,at,reading", "\"two\nlines\",A,5,5.1"),
            ("note,instrument,at,reading,by", "\"two\nlines\",A,5,5.1,\"and\nthree\""),
            ("note,at,reading,instrument", "n,5,5.1,\"M\n1\""),
        ] {
            assert_eq!(rows(header, row), [(row.to_owned(), None)], "{row:?}");
        }
    }

    #[test]
    fn a_quote_that_takes_in_rows_ends_with_its_line() {
        let (last, first) = ("instrument,at,reading,note", "note,instrument,at,reading");
        for (header, text, expected) in [
            (last, "A,5,5.2,\"3/4\nB,5,5.1,n\nB,6,6.1,\"1/2\"\n", Some((Why::TextAfter, 2))),
            (last, "A,5,5.2,\"3/4\nB,5,5.1,n\nB,6,6.1,1/2\"\n", Some((Why::HoldsRows, 2))),
            (last, "A,5,5.2,\"3/4\nB,5,x,1/2\"\n", Some((Why::HoldsRows, 1))),
            (last, "A,5,5.2,\"3/4\nB,5,5.1,n\n", Some((Why::NotClosed, 0))),
            (first, "\"3/4,A,5,5.2\n1/2\",B,5,5.1\n", Some((Why::HoldsRows, 1))),
        ] {
            let found = rows(header, text);
            let lines: Vec<&str> = found.iter().map(|it| it.0.as_str()).collect();
            assert_eq!(lines, text.lines().collect::<Vec<_>>(), "{text:?}");
            assert_eq!(found[0].1, expected, "{text:?}");
        }
    }

    #[test]
    fn a_row_that_may_go_on_is_waited_for() {
        let columns = Columns::new(b"instrument,at,reading,note", true, &[]).unwrap();
        let of = |text: &str| extent(text.as_bytes(), 0, false, &columns, &mut Vec::new());
        assert_eq!(of("A,5,5.1,\"two\nlin"), None);
        assert_eq!(of("A,5,5.1,two"), None);
        let long = format!("A,5,5.1,\"{}", "x\n".repeat(LONGEST));
        assert_eq!(of(&long).unwrap().next, 11);
        let long = format!("A,5,5.1,\"{}\"\n", "x\n".repeat(LONGEST));
        assert_eq!(of(&long).unwrap().astray.unwrap().why, Why::TooLong);
    }
}
