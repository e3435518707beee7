//! Workbook → the bytes of an `.xlsx` file (ISO/IEC 29500).
//!
//! The same workbook gives the same bytes: nothing in the file is from a clock. Text is written as
//! text; where it begins like a formula the cell is marked, so that it stays text when it is edited.

use crate::page::Text;
use crate::page::workbook::{Cell, Look, Outcome, Role, Sheet, Workbook};
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Formula, Url, Worksheet,
    XlsxError,
};
use std::collections::BTreeMap;

/// Functions that the file format stores with a prefix, since they are younger than it.
const YOUNGER: [&str; 3] = ["T.INV.2T(", "NORM.S.INV(", "BETA.INV("];

/// The day that stands for the day of making: it is no clock's.
const DAY: (u16, u8, u8) = (2000, 1, 1);

/// Why a workbook cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum Failed {
    /// A number is NaN or infinite.
    #[error("cell {cell} of sheet `{sheet}` is not a finite number: the workbook is not written")]
    NotFinite {
        /// The sheet.
        sheet: String,
        /// The cell, such as `B3`.
        cell: String,
    },
    /// It is more than the file format can hold.
    #[error("the workbook cannot be written: {0}")]
    Format(#[from] XlsxError),
}

/// Returns a workbook as the bytes of a file.
///
/// # Errors
///
/// [`Failed::NotFinite`] for NaN and infinities, [`Failed::Format`] where the workbook has more rows
/// (1 048 576) or names of sheets longer (31 characters) than the format can hold.
pub fn render(workbook: &Workbook) -> Result<Vec<u8>, Failed> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let (year, month, day) = DAY;
    let properties = DocProperties::new()
        .set_title(short(&workbook.title))
        .set_comment(format!("Made by {}", workbook.program.as_str()))
        .set_creation_datetime(&ExcelDateTime::from_ymd(year, month, day)?);
    book.set_properties(&properties);
    let mut formats = Formats::default();
    for sheet in &workbook.sheets {
        write_sheet(book.add_worksheet(), sheet, &mut formats)?;
    }
    Ok(book.save_to_buffer()?)
}

/// A property holds 255 characters.
fn short(text: &Text) -> String {
    text.as_str().chars().take(250).collect()
}

fn write_sheet(out: &mut Worksheet, sheet: &Sheet, formats: &mut Formats) -> Result<(), Failed> {
    out.set_name(&sheet.name)?;
    for (index, column) in (0u16..).zip(&sheet.columns) {
        out.set_column_width(index, column.width)?;
    }
    out.set_freeze_panes(0, sheet.fixed_columns)?;
    out.set_landscape().set_print_fit_to_pages(1, 0).set_footer("&L&A&R&P/&N");
    for (index, row) in (0u32..).zip(&sheet.rows) {
        for (column, cell) in (0u16..).zip(&row.cells) {
            let wraps = sheet.columns.get(usize::from(column)).is_some_and(|it| it.wraps);
            let format = formats.of((row.role, wraps, Kind::of(cell)));
            Place { sheet, at: (index, column) }.write(out, cell, format)?;
        }
    }
    Ok(())
}

/// Where a cell is.
struct Place<'a> {
    sheet: &'a Sheet,
    at: (u32, u16),
}

impl Place<'_> {
    fn write(&self, out: &mut Worksheet, cell: &Cell, format: &Format) -> Result<(), Failed> {
        let (row, column) = self.at;
        match cell {
            Cell::Empty => {}
            Cell::Text(text) => {
                out.write_string_with_format(row, column, text.as_str(), format)?;
            }
            Cell::Number(number, _) => {
                out.write_number_with_format(row, column, self.finite(*number)?, format)?;
            }
            Cell::Date(year, month, day) => {
                let date = ExcelDateTime::from_ymd(*year, *month, *day)?;
                out.write_date_with_format(row, column, date, format)?;
            }
            Cell::Link(text, sheet, to) => {
                let link = Url::new(format!("internal:'{sheet}'!A{to}")).set_text(text.as_str());
                out.write_url_with_format(row, column, link, format)?;
            }
            Cell::Formula { formula, result, .. } => {
                let result = match result {
                    Outcome::Number(number) => self.finite(*number)?.to_string(),
                    Outcome::Word(word) => (*word).to_owned(),
                };
                let formula = Formula::new(stored(formula)).set_result(result);
                out.write_formula_with_format(row, column, formula, format)?;
            }
        }
        Ok(())
    }

    fn finite(&self, number: f64) -> Result<f64, Failed> {
        let (row, column) = self.at;
        number.is_finite().then_some(number).ok_or_else(|| Failed::NotFinite {
            sheet: self.sheet.name.clone(),
            cell: rust_xlsxwriter::utility::row_col_to_cell(row, column),
        })
    }
}

/// What a cell's format hangs on, beside its row and column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Text,
    /// A text that a spreadsheet would take for a formula if it were typed.
    Marked,
    Number(Look),
    Date,
    Link,
}

impl Kind {
    fn of(cell: &Cell) -> Kind {
        match cell {
            Cell::Text(text) if like_formula(text) => Kind::Marked,
            Cell::Empty | Cell::Text(_) => Kind::Text,
            Cell::Number(_, look) | Cell::Formula { look, .. } => Kind::Number(*look),
            Cell::Date(..) => Kind::Date,
            Cell::Link(..) => Kind::Link,
        }
    }
}

/// The formats that are in use: a workbook has many cells and few of them.
#[derive(Default)]
struct Formats(BTreeMap<(Role, bool, Kind), Format>);

impl Formats {
    fn of(&mut self, key: (Role, bool, Kind)) -> &Format {
        self.0.entry(key).or_insert_with(|| {
            let (role, wraps, kind) = key;
            let format = by_role(role, wraps);
            match kind {
                Kind::Text => format,
                Kind::Marked => format.set_quote_prefix(),
                Kind::Number(look) => shown(format, look),
                Kind::Date => format.set_num_format("yyyy-mm-dd").set_align(FormatAlign::Left),
                Kind::Link => format.set_underline(LINE),
            }
        })
    }
}

/// How a row's role is shown: by weight, slant and lines, never by colour.
fn by_role(role: Role, wraps: bool) -> Format {
    let plain = match wraps {
        true => Format::new().set_text_wrap().set_align(FormatAlign::Top),
        false => Format::new(),
    };
    match role {
        Role::Plain => plain,
        Role::Title => plain.set_bold().set_font_size(14),
        Role::Heading => plain.set_bold().set_font_size(12),
        Role::Columns => plain.set_bold().set_border_bottom(FormatBorder::Thin).set_text_wrap(),
        Role::Result => plain.set_bold(),
        Role::Part | Role::Remark => plain.set_italic(),
    }
}

const LINE: rust_xlsxwriter::FormatUnderline = rust_xlsxwriter::FormatUnderline::Single;

fn shown(format: Format, look: Look) -> Format {
    match look {
        Look::General => format,
        Look::Percent => format.set_num_format("0.0###%"),
        Look::Fixed(0) => format.set_num_format("0"),
        Look::Fixed(decimals) => {
            format.set_num_format(format!("0.{}", "0".repeat(decimals.min(30) as usize)))
        }
    }
}

/// Whether a spreadsheet would take the text for a formula if it were typed.
fn like_formula(text: &Text) -> bool {
    text.as_str().starts_with(['=', '+', '-', '@'])
}

/// Returns a formula as the file stores it.
fn stored(formula: &str) -> String {
    YOUNGER.iter().fold(formula.to_owned(), |it, name| it.replace(name, &format!("_xlfn.{name}")))
}
