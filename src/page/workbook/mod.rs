//! A workbook as data: sheets, rows and cells with live formulas, without a file format.
//!
//! Record in, [`Workbook`] out. Numbers keep their full digits, and each formula carries the record's
//! figure as its result, so that a reader that does not recalculate sees the record; one that does
//! works u, ν, k and U out again. Which figures follow a change and which do not is said beside them.
//!
//! Names that people wrote are only ever text: no sheet is called by one, and none is part of a formula.

mod budget;
mod combined;
mod decisions;
mod formula;
mod notes;
mod overview;

use super::{Text, words};
use crate::record::{Record, Section};

/// The longest text that a cell holds, in UTF-16 units.
const LONGEST: usize = 32_000;

/// A workbook.
#[derive(Debug, Clone, PartialEq)]
pub struct Workbook {
    /// The title.
    pub title: Text,
    /// The program that made it, with its version.
    pub program: Text,
    /// The sheets, in their order.
    pub sheets: Vec<Sheet>,
}

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Its name: one of our own words, at most 31 characters, no two alike.
    pub name: String,
    /// The columns, from left to right.
    pub columns: Vec<Column>,
    /// The rows, from top to bottom; the first is row 1 in formulas.
    pub rows: Vec<Row>,
    /// How many columns stay in sight when the sheet is moved.
    pub fixed_columns: u16,
}

impl Sheet {
    fn new(name: &str, columns: Vec<Column>) -> Sheet {
        Sheet { name: name.to_owned(), columns, rows: Vec::new(), fixed_columns: 1 }
    }

    /// The number that the next row has in formulas.
    fn next(&self) -> usize {
        self.rows.len() + 1
    }

    fn push(&mut self, role: Role, cells: Vec<Cell>) {
        self.rows.push(Row { role, cells });
    }

    fn line(&mut self, role: Role, text: impl Into<Text>) {
        self.push(role, vec![Cell::text(text)]);
    }

    /// A name and a value.
    fn pair(&mut self, name: &str, value: Cell) {
        self.push(Role::Plain, vec![Cell::text(name), value]);
    }

    fn blank(&mut self) {
        self.push(Role::Plain, Vec::new());
    }
}

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its width in characters.
    pub width: u16,
    /// Whether long texts go on in the next line of their cell.
    pub wraps: bool,
}

impl Column {
    const fn of(width: u16) -> Column {
        Column { width, wraps: false }
    }

    const fn wrapped(width: u16) -> Column {
        Column { width, wraps: true }
    }
}

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What it is to the reader.
    pub role: Role,
    /// Its cells, from the first column on.
    pub cells: Vec<Cell>,
}

/// What a row is to the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// The title of a sheet.
    Title,
    /// A heading within a sheet.
    Heading,
    /// The headings of a table's columns.
    Columns,
    /// Anything else.
    Plain,
    /// A part of the row above it.
    Part,
    /// A figure that the reader looks for.
    Result,
    /// What the reader has to bear in mind.
    Remark,
}

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// A text, never a formula whatever it begins with.
    Text(Text),
    /// A number, finite.
    Number(f64, Look),
    /// A date: year, month, day.
    Date(u16, u8, u8),
    /// A text that leads to a place: sheet and row, the first being 1.
    Link(Text, String, usize),
    /// A formula without its `=`, in English names and with commas.
    Formula {
        /// The formula.
        formula: String,
        /// What it comes to.
        result: Outcome,
        /// How a number is shown.
        look: Look,
    },
}

/// What a formula comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A number, finite.
    Number(f64),
    /// A word.
    Word(&'static str),
}

/// How a number is shown; the cell holds all its digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    /// As the spreadsheet likes.
    General,
    /// In per cent.
    Percent,
    /// With this many decimals.
    Fixed(u32),
}

impl Cell {
    /// Returns a cell with a text: cut, and said to be, where it is longer than a cell can be.
    pub fn text(text: impl Into<Text>) -> Cell {
        let text: Text = text.into();
        if text.is_empty() { Cell::Empty } else { Cell::Text(cut(text)) }
    }

    /// Returns a cell with a number; -0 is 0.
    pub fn number(number: f64) -> Cell {
        Cell::Number(number + 0.0, Look::General)
    }

    /// Returns a cell with a number, or an empty one.
    fn maybe(number: Option<f64>) -> Cell {
        number.map_or(Cell::Empty, Cell::number)
    }

    /// Returns a cell with a text, or an empty one.
    fn maybe_text(text: Option<&str>) -> Cell {
        text.map_or(Cell::Empty, Cell::text)
    }

    /// Returns a cell with a share in per cent, or an empty one.
    fn percent(number: Option<f64>) -> Cell {
        number.map_or(Cell::Empty, |it| Cell::Number(it + 0.0, Look::Percent))
    }

    /// Returns a cell with a date, where the text is one that spreadsheets know; else with the text.
    fn date(text: Option<&str>) -> Cell {
        let Some(text) = text else { return Cell::Empty };
        date(text)
            .map_or_else(|| Cell::text(text), |(year, month, day)| Cell::Date(year, month, day))
    }

    /// Returns a formula with its result.
    fn formula(formula: String, result: f64) -> Cell {
        Cell::formula_as(formula, result, Look::General)
    }

    fn formula_as(formula: String, result: f64, look: Look) -> Cell {
        Cell::Formula { formula, result: Outcome::Number(result + 0.0), look }
    }
}

/// Returns year, month and day of `2027-03-01`; `None` for what is no date from 1901 on.
fn date(text: &str) -> Option<(u16, u8, u8)> {
    let mut parts = text.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let digits = |it: &str, count| it.len() == count && it.bytes().all(|b| b.is_ascii_digit());
    if parts.next().is_some() || !digits(year, 4) || !digits(month, 2) || !digits(day, 2) {
        return None;
    }
    let (year, month, day) = (year.parse().ok()?, month.parse().ok()?, day.parse().ok()?);
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u8::from(leap),
        1..=12 => 31,
        _ => return None,
    };
    (year > 1900 && (1..=days).contains(&day)).then_some((year, month, day))
}

fn cut(text: Text) -> Text {
    let units = |it: &str| it.encode_utf16().count();
    if text.as_str().len() <= LONGEST || units(text.as_str()) <= LONGEST {
        return text;
    }
    let mut kept = String::new();
    let mut length = 0;
    for c in text.as_str().chars() {
        length += c.len_utf16();
        if length > LONGEST - 100 {
            break;
        }
        kept.push(c);
    }
    Text::from(kept + " … [longer than a cell can be; the whole text is in the JSON record]")
}

/// Returns the workbook of a record.
pub fn of(record: &Record) -> Workbook {
    let mut budgets = Vec::new();
    let mut places = Vec::new();
    for (index, section) in record.sections.iter().enumerate() {
        let name = match record.sections.len() {
            1 => "Budget".to_owned(),
            _ => format!("Budget {}", index + 1),
        };
        let (sheet, figures) = budget::sheet(&name, section);
        budgets.push(sheet);
        places.push((name, figures));
    }
    let mut sheets = vec![overview::sheet(record, &places)];
    sheets.extend(budgets);
    sheets.extend(notes::readings(record));
    sheets.extend(decisions::comparison(record));
    sheets.extend(decisions::population(record));
    sheets.extend(notes::results(record));
    sheets.push(notes::findings(record));
    sheets.push(notes::record(record));
    let program = &record.program;
    Workbook {
        title: title(record),
        program: Text::from(format!("{} {}", program.name, program.version)),
        sheets,
    }
}

/// The instrument, or the budgets.
fn title(record: &Record) -> Text {
    let instrument = record.instrument.as_ref().and_then(|it| it.id.as_deref());
    let titles = || record.sections.iter().map(words::budget_title).collect::<Vec<_>>().join("; ");
    instrument.map_or_else(|| Text::from(titles()), Text::from)
}

/// Returns the measurand's unit as a heading says it: ` in µm`, nothing for a plain number.
fn in_unit(section: &Section) -> String {
    match section.budget.measurand.unit.as_str() {
        "1" => String::new(),
        unit => format!(" in {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    /// By hand: 2028 is a leap year, 2100 is none.
    #[test]
    fn takes_for_a_date_only_what_is_one() {
        assert_eq!(date("2027-03-01"), Some((2027, 3, 1)));
        assert_eq!(date("2028-02-29"), Some((2028, 2, 29)));
        let none = [
            "2027-02-29",
            "2100-02-29",
            "2027-13-01",
            "1900-01-01",
            "27-03-01",
            "2027-3-1",
            "soon",
        ];
        assert!(none.iter().all(|it| date(it).is_none()));
        assert_eq!(Cell::date(Some("soon")), Cell::text("soon"));
    }

    #[test]
    fn cuts_only_what_no_cell_can_hold_and_says_so() {
        let name = "µ".repeat(5000);
        assert_eq!(Cell::text(&name), Cell::Text(Text::from(&name)));
        let Cell::Text(cut) = Cell::text("😀".repeat(20_000)) else { panic!("no text") };
        assert!(cut.as_str().encode_utf16().count() < LONGEST);
        assert!(cut.as_str().ends_with("JSON record]"));
    }

    #[test]
    fn names_its_sheets_itself() {
        let mut record = sample::worksheet();
        record.sections.push(record.sections[0].clone());
        record.sections[1].budget.title = "[x]:*?/\\ '".repeat(30);
        let names: Vec<String> = of(&record).sheets.into_iter().map(|it| it.name).collect();
        let expected = ["Overview", "Budget 1", "Budget 2", "Readings", "Findings", "Record"];
        assert_eq!(names[..4], expected[..4]);
        assert!(
            names.iter().all(|it| it.len() <= 31)
                && names.ends_with(&expected.map(String::from)[4..])
        );
    }
}
