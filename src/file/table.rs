//! Rows of a CSV file of any length: where a row ends, its cells, and which columns are which.
//!
//! No input or output: bytes in, places out. Cells are separated by commas; a cell in double quotes may hold
//! commas, line ends and doubled quotes (RFC 4180). Nothing is copied but a cell with doubled quotes.

use super::keys::nearest;
use std::borrow::Cow;

/// Where a cell lies within its row; quotes around it are not part of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cell {
    /// Its first byte.
    pub start: usize,
    /// One after its last byte.
    pub end: usize,
    /// Whether quotes stand around it.
    pub quoted: bool,
}

/// What is wrong at a place of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// The byte of the row.
    pub at: usize,
    /// What is wrong.
    pub what: String,
    /// What to type instead; may be empty.
    pub help: String,
}

impl Wrong {
    /// Returns what is wrong at a byte of the row.
    pub fn new(at: usize, what: impl Into<String>, help: impl Into<String>) -> Wrong {
        Wrong { at, what: what.into(), help: help.into() }
    }
}

/// The columns of a table of readings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Columns {
    /// All names, in order.
    pub names: Vec<String>,
    /// That of the instrument.
    pub instrument: usize,
    /// That of the point; none where the budget has a single result.
    pub at: Option<usize>,
    /// That of readings or errors.
    pub value: usize,
    /// Whether the values are errors.
    pub are_errors: bool,
}

/// Returns where the row that begins at `from` ends (without its line end), and where the next begins;
/// `None` where the bytes end before the row does.
pub fn end_of_row(bytes: &[u8], from: usize) -> Option<(usize, usize)> {
    let first = memchr::memchr2(b'\n', b'"', bytes.get(from..)?)? + from;
    if bytes[first] == b'\n' {
        return Some((without_return(bytes, from, first), first + 1));
    }
    let (mut quoted, mut begins) = (false, true);
    let mut index = from;
    while index < bytes.len() {
        match bytes[index] {
            b'"' if quoted && bytes.get(index + 1) == Some(&b'"') => index += 1,
            b'"' if quoted => quoted = false,
            b'"' if begins => quoted = true,
            b'\n' if !quoted => return Some((without_return(bytes, from, index), index + 1)),
            _ => {}
        }
        begins = !quoted && bytes[index] == b',';
        index += 1;
    }
    None
}

/// Returns where the line that begins at `from` ends, whatever quotes it holds; the end of the bytes ends it.
pub fn end_of_line(bytes: &[u8], from: usize) -> (usize, usize) {
    match memchr::memchr(b'\n', &bytes[from..]) {
        Some(end) => (without_return(bytes, from, from + end), from + end + 1),
        None => (without_return(bytes, from, bytes.len()), bytes.len()),
    }
}

fn without_return(bytes: &[u8], from: usize, end: usize) -> usize {
    if end > from && bytes[end - 1] == b'\r' { end - 1 } else { end }
}

/// Puts the cells of a row into `cells`.
///
/// # Errors
///
/// A quote that is not closed, or text after a closing one.
pub fn split(row: &[u8], cells: &mut Vec<Cell>) -> Result<(), Wrong> {
    cells.clear();
    let mut start = 0;
    loop {
        if row.get(start) == Some(&b'"') {
            let end = closing(row, start + 1).ok_or_else(|| {
                Wrong::new(start, "the quote that opens here is not closed", "close it with `\"`")
            })?;
            cells.push(Cell { start: start + 1, end, quoted: true });
            match row.get(end + 1) {
                None => return Ok(()),
                Some(b',') => start = end + 2,
                Some(_) => {
                    let help = "write a quote inside quotes twice: `\"\"`";
                    return Err(Wrong::new(end + 1, "text stands after the closing quote", help));
                }
            }
            continue;
        }
        match row[start..].iter().position(|it| *it == b',') {
            Some(length) => {
                cells.push(Cell { start, end: start + length, quoted: false });
                start += length + 1;
            }
            None => {
                cells.push(Cell { start, end: row.len(), quoted: false });
                return Ok(());
            }
        }
    }
}

fn closing(row: &[u8], from: usize) -> Option<usize> {
    let mut index = from;
    loop {
        index += memchr::memchr(b'"', row.get(index..)?)?;
        if row.get(index + 1) != Some(&b'"') {
            return Some(index);
        }
        index += 2;
    }
}

/// Returns what a cell holds, without spaces around it.
pub fn content(row: &[u8], cell: Cell) -> Cow<'_, [u8]> {
    let bytes = row[cell.start..cell.end].trim_ascii();
    if cell.quoted && memchr::memchr(b'"', bytes).is_some() {
        let text = bytes.to_vec();
        let mut kept = Vec::with_capacity(text.len());
        let mut after_quote = false;
        for byte in text {
            if byte == b'"' && after_quote {
                after_quote = false;
                continue;
            }
            after_quote = byte == b'"';
            kept.push(byte);
        }
        return Cow::Owned(kept);
    }
    Cow::Borrowed(bytes)
}

/// Returns the names in a header; a byte-order mark is not part of them.
///
/// # Errors
///
/// What is no header of a CSV file in UTF-8 with commas.
pub fn names(row: &[u8]) -> Result<Vec<String>, Wrong> {
    if row.starts_with(&[0xff, 0xfe]) || row.starts_with(&[0xfe, 0xff]) || row.contains(&0) {
        return Err(Wrong::new(0, "the file is UTF-16 or no text", "save it as CSV in UTF-8"));
    }
    let text = std::str::from_utf8(row).map_err(|it| {
        Wrong::new(it.valid_up_to(), "the file is not UTF-8", "save it as CSV in UTF-8")
    })?;
    if text.starts_with("surebound") || text.starts_with('#') {
        let help =
            "the file of readings begins with the names of its columns, `instrument,at,reading`";
        return Err(Wrong::new(0, "this is a budget or worksheet, no table of readings", help));
    }
    if let Some(at) = text.find('\r') {
        return Err(Wrong::new(
            at,
            "the lines end in CR alone",
            "save it with line ends LF or CRLF",
        ));
    }
    for (separator, called) in [(';', "semicolons"), ('\t', "tabs")] {
        if text.contains(separator) && !text.contains(',') {
            let at = text.find(separator).unwrap_or(0);
            let help = format!("{}, and decimal points in numbers", text.replace(separator, ","));
            return Err(Wrong::new(at, format!("the cells are separated by {called}"), help));
        }
    }
    let mut cells = Vec::new();
    split(row, &mut cells)?;
    let mut found: Vec<String> = Vec::new();
    for cell in cells {
        let name = String::from_utf8_lossy(&content(row, cell)).into_owned();
        if !name.is_empty() && found.contains(&name) {
            let what = format!("the column `{name}` is there twice");
            return Err(Wrong::new(cell.start, what, "give each column a name of its own"));
        }
        found.push(name);
    }
    Ok(found)
}

/// Returns the column of a name.
///
/// # Errors
///
/// That it is not there, and the nearest name that is.
pub fn column(names: &[String], wanted: &str) -> Result<usize, Wrong> {
    if let Some(index) = names.iter().position(|it| it == wanted) {
        return Ok(index);
    }
    let alike = names.iter().find(|it| it.eq_ignore_ascii_case(wanted)).map(String::as_str);
    let near = alike.or_else(|| nearest(wanted, names.iter().map(String::as_str)));
    let help = match near {
        Some(near) => format!("call the column `{near}` `{wanted}`"),
        None => format!("add a column `{wanted}`; there are {}", list(names)),
    };
    Err(Wrong::new(0, format!("the header has no column `{wanted}`"), help))
}

fn list(names: &[String]) -> String {
    let shown =
        names.iter().take(8).map(|it| format!("`{}`", it.chars().take(40).collect::<String>()));
    let all = shown.collect::<Vec<_>>().join(", ");
    if names.len() > 8 { format!("{all} …") } else { all }
}

impl Columns {
    /// Returns the columns of a header; `needs_at`: whether the budget has points; `own`: names that are
    /// added to the rows.
    ///
    /// # Errors
    ///
    /// See [`names`]; a column that is missing; both `reading` and `error`; a name that is to be added.
    pub fn new(row: &[u8], needs_at: bool, own: &[&str]) -> Result<Columns, Wrong> {
        let names = names(row)?;
        if let Some(taken) = names.iter().find(|it| own.contains(&it.as_str())) {
            let what = format!("the column `{taken}` is there already, and is to be added");
            return Err(Wrong::new(0, what, format!("rename it, such as `previous_{taken}`")));
        }
        let instrument = column(&names, "instrument")?;
        let at = match column(&names, "at") {
            Err(wrong) if needs_at => return Err(wrong),
            found => found.ok(),
        };
        let has = |name: &str| names.iter().position(|it| it == name);
        let (value, are_errors) = match (has("reading"), has("error")) {
            (Some(_), Some(_)) => {
                let what = "the header has both `reading` and `error`";
                let help = "keep one of them, and rename the other, such as `noted_error`";
                return Err(Wrong::new(0, what, help));
            }
            (None, Some(error)) => (error, true),
            (reading, None) => (reading.map_or_else(|| column(&names, "reading"), Ok)?, false),
        };
        Ok(Columns { names, instrument, at, value, are_errors })
    }

    /// Returns the instrument that a row names for certain: one that was split into as many cells as the header
    /// has, with a name in UTF-8.
    pub fn instrument_of<'r>(&self, row: &'r [u8], cells: &[Cell]) -> Option<Cow<'r, [u8]>> {
        let cell = cells.get(self.instrument).filter(|_| cells.len() == self.names.len())?;
        let name = content(row, *cell);
        (!name.is_empty() && std::str::from_utf8(&name).is_ok()).then_some(name)
    }
}

/// Returns whether a spreadsheet would take the cell for a formula: it begins as one and is no plain number.
pub fn is_formula(cell: &[u8]) -> bool {
    let begins = matches!(cell.first(), Some(b'=' | b'+' | b'-' | b'@' | b'\t' | b'\r'));
    begins && !is_number(cell)
}

fn is_number(cell: &[u8]) -> bool {
    let digits = cell.strip_prefix(b"-").or_else(|| cell.strip_prefix(b"+")).unwrap_or(cell);
    let (mantissa, exponent) = match digits.iter().position(|it| matches!(it, b'e' | b'E')) {
        Some(at) => (&digits[..at], Some(&digits[at + 1..])),
        None => (digits, None),
    };
    let whole = |it: &[u8]| !it.is_empty() && it.iter().all(u8::is_ascii_digit);
    let exponent = exponent.map(|it| it.strip_prefix(b"-").unwrap_or(it));
    let mut parts = mantissa.splitn(2, |it| *it == b'.');
    parts.by_ref().all(whole) && exponent.is_none_or(whole)
}

/// Writes a cell so that it is read back as it is, and never run: a quote mark `'` before a formula.
pub fn write_cell(cell: &[u8], out: &mut Vec<u8>) {
    let harmful = is_formula(cell);
    let special = |it: &u8| matches!(it, b',' | b'"' | b'\n' | b'\r');
    if !cell.iter().any(special) {
        if harmful {
            out.push(b'\'');
        }
        out.extend_from_slice(cell);
        return;
    }
    out.extend_from_slice(if harmful { b"\"'" } else { b"\"" });
    for byte in cell {
        if *byte == b'"' {
            out.push(b'"');
        }
        out.push(*byte);
    }
    out.push(b'"');
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(row: &str) -> Vec<String> {
        let mut cells = Vec::new();
        split(row.as_bytes(), &mut cells).unwrap();
        let text =
            |it: &Cell| String::from_utf8(content(row.as_bytes(), *it).into_owned()).unwrap();
        cells.iter().map(text).collect()
    }

    #[test]
    fn splits_cells_with_and_without_quotes() {
        for (row, expected) in [
            ("a,b,c", vec!["a", "b", "c"]),
            ("", vec![""]),
            (",", vec!["", ""]),
            ("\"a,b\",c", vec!["a,b", "c"]),
            ("\"a\nb\", c ", vec!["a\nb", "c"]),
            ("\"a \"\"b\"\"\",\"\"", vec!["a \"b\"", ""]),
            ("\"\"\"\"\"\"", vec!["\"\""]),
            ("3\" anvil,x", vec!["3\" anvil", "x"]),
        ] {
            assert_eq!(cells(row), expected, "{row}");
        }
    }

    #[test]
    fn a_row_ends_at_a_line_end_outside_quotes() {
        let bytes = b"a,b\r\n\"x\ny\",z\nlast";
        assert_eq!(end_of_row(bytes, 0), Some((3, 5)));
        assert_eq!(end_of_row(bytes, 5), Some((12, 13)));
        assert_eq!(end_of_row(bytes, 13), None);
        assert_eq!(end_of_line(bytes, 13), (17, 17));
        assert_eq!(end_of_row(b"5\" x\n", 0), Some((4, 5)));
        assert_eq!(end_of_row(b"\"x\n", 0), None);
    }

    /// The rows of RFC 4180 as the crate `csv` reads them.
    #[test]
    fn agrees_with_the_csv_crate() {
        let text = "a,\"b,1\",c\n\"q\"\"q\",,\"\n\"\nx,y,z\n";
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut from = 0;
        for record in reader.records() {
            let expected: Vec<String> = record.unwrap().iter().map(str::to_owned).collect();
            let (end, next) = end_of_row(text.as_bytes(), from).unwrap();
            assert_eq!(cells(&text[from..end]), expected);
            from = next;
        }
        assert_eq!(from, text.len());
    }

    #[test]
    fn refuses_quotes_that_do_not_fit() {
        let mut found = Vec::new();
        assert_eq!(split(b"a,\"b", &mut found).unwrap_err().at, 2);
        assert_eq!(split(b"\"a\"b,c", &mut found).unwrap_err().at, 3);
    }

    #[test]
    fn a_formula_is_written_as_text_and_a_number_as_it_is() {
        for (cell, expected) in [
            ("=1+1", "'=1+1"),
            ("+1", "+1"),
            ("-0.001", "-0.001"),
            ("-1e-3", "-1e-3"),
            ("-1+1", "'-1+1"),
            ("-", "'-"),
            ("@a", "'@a"),
            ("\tx", "'\tx"),
            ("\rx", "\"'\rx\""),
            ("=a,\"b\"", "\"'=a,\"\"b\"\"\""),
            ("a=b", "a=b"),
            ("a,b", "\"a,b\""),
        ] {
            let mut out = Vec::new();
            write_cell(cell.as_bytes(), &mut out);
            assert_eq!(String::from_utf8(out).unwrap(), expected, "{cell}");
        }
    }

    #[test]
    fn a_header_that_does_not_do_says_what_to_type() {
        let wrong = |header: &str| {
            let wrong = Columns::new(header.as_bytes(), true, &["verdict"]).unwrap_err();
            format!("{} | {}", wrong.what, wrong.help)
        };
        for (header, expected) in [
            ("instrument,at,raeding", "no column `reading` | call the column `raeding` `reading`"),
            ("Instrument,at,reading", "call the column `Instrument` `instrument`"),
            ("instrument,reading", "no column `at`"),
            ("instrument,at,reading,error", "both `reading` and `error`"),
            ("instrument;at;reading", "separated by semicolons | instrument,at,reading, and"),
            ("instrument,at,at,reading", "the column `at` is there twice"),
            ("instrument,at,reading,verdict", "rename it, such as `previous_verdict`"),
            ("surebound: 1", "a budget or worksheet"),
            ("a\rb", "CR alone"),
        ] {
            assert!(wrong(header).contains(expected), "{header}: {}", wrong(header));
        }
        let columns = Columns::new(b"x,error,at,instrument", true, &[]).unwrap();
        assert_eq!(
            (columns.instrument, columns.at, columns.value, columns.are_errors),
            (3, Some(2), 1, true)
        );
    }
}
