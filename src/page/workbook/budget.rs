//! A budget's sheet: one block per point with its contributors, their sum, and u, ν, k, U below.
//!
//! |c·u|, its square, its share and its part of ν are formulas in each row; a contributor counts where
//! the column `counts` says `yes`, so that one of a group can be taken in the place of another.

use super::super::{Text, words};
use super::formula::{dof, dof_formula};
use super::{Cell, Column, Look, Role, Sheet, combined, in_unit};
use crate::record::{Contributor, Dof, Part, Point, Section};

/// The columns of the block, in their order; the letters are those of the sheet.
pub(super) const COUNTS: &str = "G";
pub(super) const U: &str = "I";
pub(super) const DOF: &str = "K";
pub(super) const SENSITIVITY: &str = "L";
pub(super) const CONTRIBUTION: &str = "N";
pub(super) const SQUARE: &str = "O";
pub(super) const TERM: &str = "Q";

/// How wide the columns are, from A to U.
const WIDTHS: [u16; 21] =
    [36, 12, 18, 14, 12, 8, 8, 14, 14, 10, 10, 14, 12, 16, 16, 12, 14, 18, 30, 12, 30];

/// The rows of a point's figures on its budget's sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Figures {
    /// The heading of the block.
    pub(super) heading: usize,
    pub(super) estimate: usize,
    pub(super) u: usize,
    pub(super) dof: usize,
    pub(super) factor: usize,
    pub(super) expanded: usize,
    pub(super) reported: usize,
    pub(super) reported_estimate: usize,
}

/// The rows of a block that its formulas speak of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rows {
    /// The first contributor.
    first: usize,
    /// The last one, with its parts; below `first` where there is none.
    last: usize,
    /// u.
    pub(super) u: usize,
}

impl Rows {
    /// The cells of a column beside all contributors.
    fn range(self, column: &str) -> String {
        format!("{column}{}:{column}{}", self.first, self.last)
    }

    /// The sum over what counts.
    pub(super) fn counted(self, column: &str) -> Option<String> {
        let some = self.last >= self.first;
        some.then(|| format!("SUMIF({},\"yes\",{})", self.range(COUNTS), self.range(column)))
    }
}

/// Returns the sheet of a budget, and where each point's figures are on it.
pub(super) fn sheet(name: &str, section: &Section) -> (Sheet, Vec<Figures>) {
    let mut sheet = Sheet::new(name, WIDTHS.map(Column::of).to_vec());
    sheet.line(Role::Title, words::budget_title(section));
    sheet.line(Role::Plain, words::measurand(section));
    let live = "u, ν, k, U and shares are formulas over the rows: change a figure or what counts, and they \
                follow. Estimates, sensitivities and whatever is called a constant do not.";
    sheet.line(Role::Remark, live);
    let figures = section.points.iter().map(|point| block(&mut sheet, section, point)).collect();
    (sheet, figures)
}

fn block(sheet: &mut Sheet, section: &Section, point: &Point) -> Figures {
    sheet.blank();
    let heading = sheet.next();
    sheet.line(Role::Heading, words::point_name(point));
    sheet.push(Role::Columns, headings(section));
    let first = sheet.next();
    let length: usize = point.contributors.iter().map(|it| 1 + parts(it).len()).sum();
    let last = first + length - 1;
    let rows = Rows { first, last, u: last + combined::rows_above_u(point) + 1 };
    for contributor in &point.contributors {
        push_contributor(sheet, point, contributor, rows);
    }
    combined::push(sheet, section, point, rows, heading)
}

fn headings(section: &Section) -> Vec<Cell> {
    let unit = in_unit(section);
    let square = if unit.is_empty() { String::new() } else { format!("{unit}²") };
    let headings = [
        "contributor".to_owned(),
        "adds to".into(),
        "evidence".into(),
        "distribution".into(),
        "owner".into(),
        "shared".into(),
        "counts".into(),
        "estimate".into(),
        "u".into(),
        "unit".into(),
        "ν".into(),
        "sensitivity c".into(),
        "unit of c".into(),
        format!("|c·u|{unit}"),
        format!("(c·u)²{square}"),
        "share of u²".into(),
        "share²/ν".into(),
        "largest of".into(),
        "basis".into(),
        "due".into(),
        "note".into(),
    ];
    headings.map(Cell::text).to_vec()
}

fn parts(contributor: &Contributor) -> &[Part] {
    contributor.parts.as_deref().unwrap_or_default()
}

/// The formulas of a row: |c·u|, its square, its share, its part of ν.
struct Line {
    row: usize,
    u_row: usize,
}

impl Line {
    fn cell(&self, column: &str) -> String {
        format!("{column}{}", self.row)
    }

    fn contribution(&self, result: f64) -> Cell {
        let product = format!("ABS({}*{})", self.cell(SENSITIVITY), self.cell(U));
        Cell::formula(product, result)
    }

    fn square(&self, contribution: f64) -> Cell {
        Cell::formula(format!("{}^2", self.cell(CONTRIBUTION)), contribution * contribution)
    }

    /// (c·u)²/u², 0 where u is.
    fn ratio(&self) -> String {
        let u = format!("{CONTRIBUTION}${}", self.u_row);
        format!("IF({u}=0,0,({}/{u})^2)", self.cell(CONTRIBUTION))
    }

    fn share(&self, result: f64) -> Cell {
        let share = format!("IF({}=\"yes\",{},0)", self.cell(COUNTS), self.ratio());
        Cell::formula_as(share, result, Look::Percent)
    }

    fn term(&self, result: f64) -> Cell {
        let dof = self.cell(DOF);
        let term = format!("IF(ISNUMBER({dof}),{}^2/{dof},0)", self.ratio());
        Cell::formula(term, result)
    }
}

/// (c·u)²/u², 0 where u is.
fn ratio(point: &Point, contribution: f64) -> f64 {
    let u = point.standard_uncertainty;
    let ratio = if u == 0.0 { 0.0 } else { contribution / u };
    ratio * ratio
}

/// A contributor's part of 1/ν: the square of its share over its degrees of freedom.
pub(super) fn term(point: &Point, contribution: f64, dof: Dof) -> f64 {
    let ratio = ratio(point, contribution);
    ratio * ratio / dof.get()
}

fn push_contributor(sheet: &mut Sheet, point: &Point, it: &Contributor, rows: Rows) {
    let line = Line { row: sheet.next(), u_row: rows.u };
    let parts = parts(it);
    let whole = point.standard_uncertainty != 0.0 && !parts.is_empty();
    let of_parts =
        |column: &str| format!("SUM({column}{}:{column}{})", line.row + 1, line.row + parts.len());
    let (u, dof, contribution, term) = match parts.is_empty() {
        true => (
            Cell::number(it.standard_uncertainty),
            dof(it.dof),
            line.contribution(it.contribution),
            line.term(term(point, it.contribution, it.dof)),
        ),
        // Its parts make it: its own u is what they come to, its sensitivity is 1.
        false => (
            Cell::formula(line.cell(CONTRIBUTION), it.standard_uncertainty),
            match whole {
                true => of_terms(&line, &of_parts(TERM), it.dof),
                false => dof(it.dof),
            },
            Cell::formula(format!("SQRT({})", of_parts(SQUARE)), it.contribution),
            Cell::formula(of_parts(TERM), term_of_parts(point, parts)),
        ),
    };
    let counts = if it.kept { "yes" } else { "no" };
    sheet.push(
        Role::Plain,
        vec![
            Cell::text(&it.name),
            Cell::maybe_text(it.adds_to.as_deref()),
            Cell::text(&it.kind),
            Cell::text(&it.distribution),
            Cell::text(it.owner.word()),
            Cell::number(it.shared),
            Cell::text(counts),
            Cell::number(it.estimate),
            u,
            Cell::text(&it.unit),
            dof,
            Cell::number(it.sensitivity),
            Cell::text(&it.sensitivity_unit),
            contribution,
            line.square(it.contribution),
            line.share(it.share),
            term,
            Cell::maybe_text(it.largest_of.as_deref()),
            Cell::maybe_text(it.basis.as_deref()),
            Cell::date(it.due.as_deref()),
            Cell::maybe_text(it.note.as_deref()),
        ],
    );
    for part in parts {
        push_part(sheet, point, part, rows);
    }
}

/// The degrees of freedom of a contributor that parts make.
fn of_terms(line: &Line, terms: &str, dof: Dof) -> Cell {
    let formula = format!("IF({terms}=0,\"infinite\",{}^2/{terms})", line.ratio());
    dof_formula(formula, dof)
}

fn term_of_parts(point: &Point, parts: &[Part]) -> f64 {
    parts.iter().map(|it| term(point, it.contribution, it.dof)).sum()
}

fn push_part(sheet: &mut Sheet, point: &Point, it: &Part, rows: Rows) {
    let line = Line { row: sheet.next(), u_row: rows.u };
    let words = |text: &str| Cell::text(Text::from(text));
    sheet.push(
        Role::Part,
        vec![
            words(&format!("– {}", it.name.replace('_', " "))),
            Cell::Empty,
            Cell::Empty,
            words(&it.distribution),
            Cell::Empty,
            Cell::Empty,
            words("part"),
            Cell::number(it.estimate),
            Cell::number(it.standard_uncertainty),
            words(&it.unit),
            dof(it.dof),
            Cell::number(it.sensitivity),
            words(&it.sensitivity_unit),
            line.contribution(it.contribution),
            line.square(it.contribution),
            Cell::Empty,
            line.term(term(point, it.contribution, it.dof)),
        ],
    );
}
