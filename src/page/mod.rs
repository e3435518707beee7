//! What a reader sees, as a tree without a format: headings, tables, findings, cautions.
//!
//! Record in, [`Page`] out; one file per verb. Here numbers become text and get their unit, here
//! it is said in words what a renderer may also show by type or colour. A page knows no width, no
//! colour and no escape sequence; a renderer knows no record.
//!
//! # Examples
//!
//! A report, as HTML and as Markdown. By hand, u = √(0.3² + 0.4²) µm = 0.5 µm:
//!
//! ```
//! use surebound::budget::Budget;
//! use surebound::page;
//! use surebound::record::Record;
//! use surebound::render::{html, markdown};
//!
//! let budget = Budget::parse(
//!     "surebound: 1
//! title: Two certificates
//! measurand: {symbol: L, name: Length, unit: µm}
//! contributors:
//!   - {name: Block, certificate: 0.6 µm, k: 2}
//!   - {name: Comparator <old>, certificate: 0.8 µm, k: 2}
//! ",
//! )?;
//! let record = Record::try_from(&budget.evaluate()?)?;
//! let report = page::report::page(&record);
//! let html = html::render(&report);
//! assert!(html.contains("0.5\u{a0}µm"), "{html}");
//! assert!(html.contains("Comparator &lt;old&gt;"));
//! let markdown = markdown::render(&report);
//! assert!(markdown.starts_with("# Two certificates\n"), "{markdown}");
//! assert!(markdown.contains("| Comparator &lt;old&gt; | lab |"));
//! # Ok::<(), surebound::fault::Faults>(())
//! ```

use crate::record;

pub mod card;
mod compare;
mod coverage;
pub mod crosscheck;
mod data;
pub mod figure;
pub mod judge;
pub mod numbers;
mod regrade;
pub mod report;
mod results;
pub mod rows;
pub mod sheet;
pub mod show;
mod text;
mod together;
mod words;
pub mod workbook;

pub use figure::Figure;
pub use text::Text;

/// A page: its title and what stands under it.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// The title.
    pub title: Text,
    /// The blocks, from top to bottom.
    pub blocks: Vec<Block>,
}

/// A block of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The verdict, to be seen first.
    Verdict(Text),
    /// The page's title, where it stands on this page.
    Title(Text),
    /// What the page is filed as, certificate and documents with their numbers: for the head of each sheet of
    /// paper, and nowhere else.
    Filed(Text),
    /// A heading.
    Heading(Text),
    /// A heading of a part of what the last heading is about.
    Subheading(Text),
    /// A paragraph of pieces with a role each.
    Paragraph(Vec<Span>),
    /// Names and values, one pair a line.
    Pairs(Vec<(Text, Text)>),
    /// A table.
    Table(Table),
    /// Small tables side by side.
    Tiles(Tiles),
    /// A picture.
    Figure(Box<Figure>),
    /// What is folded away until a reader asks for it, where a form can do that.
    Folded(Folded),
    /// Findings, most important first.
    Findings(Vec<Note>),
    /// What the reader has to bear in mind, in small print.
    Cautions(Vec<Text>),
}

/// What is folded away under a title.
#[derive(Debug, Clone, PartialEq)]
pub struct Folded {
    /// What it is.
    pub title: Text,
    /// What is in it.
    pub blocks: Vec<Block>,
}

impl Block {
    /// Returns a paragraph of plain text.
    pub fn plain(text: impl Into<Text>) -> Block {
        Block::Paragraph(vec![Span::plain(text)])
    }
}

/// A piece of a paragraph.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// The text.
    pub text: Text,
    /// What it is to the reader.
    pub role: Role,
}

impl Span {
    /// Returns a piece without emphasis.
    pub fn plain(text: impl Into<Text>) -> Span {
        Span { text: text.into(), role: Role::Plain }
    }

    /// Returns a piece with emphasis.
    pub fn strong(text: impl Into<Text>) -> Span {
        Span { text: text.into(), role: Role::Strong }
    }
}

/// What a piece of text is to the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Running text.
    Plain,
    /// What the eye should find.
    Strong,
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The columns, from left to right.
    pub columns: Vec<Column>,
    /// The rows, one cell per column.
    pub rows: Vec<Vec<Cell>>,
    /// What has to be said about the table; empty where nothing has.
    pub caption: Text,
}

/// Small tables of one kind, to be laid side by side as many as fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Tiles {
    /// The tables, in reading order.
    pub tiles: Vec<Tile>,
    /// What has to be said about all of them; empty where nothing has.
    pub caption: Text,
}

/// A small table.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// Its heading.
    pub heading: Text,
    /// The columns, from left to right.
    pub columns: Vec<Column>,
    /// The rows in groups, from top to bottom: what stands in one belongs together. A row has one cell
    /// per column.
    pub groups: Vec<Vec<Vec<Cell>>>,
}

impl Tile {
    /// Returns its rows without groups, as a table.
    pub fn table(&self) -> Table {
        let rows = self.groups.iter().flatten().cloned().collect();
        Table { columns: self.columns.clone(), rows, caption: Text::default() }
    }
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its heading.
    pub heading: Text,
    /// On which side its cells begin.
    pub align: Align,
    /// What may be done to its cells where the page is too narrow.
    pub fold: Fold,
}

impl Column {
    /// Returns a column of numbers: right-aligned, never folded.
    pub fn number(heading: impl Into<Text>) -> Column {
        Column { heading: heading.into(), align: Align::Right, fold: Fold::Never }
    }

    /// Returns a column of numbers with units: right-aligned, folded between number and unit.
    pub fn quantity(heading: impl Into<Text>) -> Column {
        Column { heading: heading.into(), align: Align::Right, fold: Fold::Words }
    }

    /// Returns a column of fixed words: folded between words only.
    pub fn words(heading: impl Into<Text>) -> Column {
        Column { heading: heading.into(), align: Align::Left, fold: Fold::Words }
    }

    /// Returns a column of texts that people wrote: folded anywhere if it must be.
    pub fn names(heading: impl Into<Text>) -> Column {
        Column { heading: heading.into(), align: Align::Left, fold: Fold::Anywhere }
    }
}

/// On which side the cells of a column begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Left: words.
    Left,
    /// Right: numbers.
    Right,
}

/// What may be done to a cell that is too wide. Nothing is ever cut off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fold {
    /// Nothing.
    Never,
    /// It goes on in the next line, between words.
    Words,
    /// It goes on in the next line, between words or, where a word is too wide, inside it.
    Anywhere,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// A text.
    Text(Text),
    /// A share of a whole from 0 to 1, as a text and a length to be drawn beside it.
    Share {
        /// The share in words: the drawing adds nothing to it.
        text: Text,
        /// The length, from 0 to 1.
        length: f64,
    },
}

impl Cell {
    /// Returns a cell with a text.
    pub fn text(text: impl Into<Text>) -> Cell {
        Cell::Text(text.into())
    }
}

/// A finding as a reader sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// How much it matters, in a word.
    pub severity: Text,
    /// What was found.
    pub message: Text,
    /// What to do about it; empty where there is nothing to do.
    pub help: Text,
    /// The place in the input; empty where there is none.
    pub place: Text,
}

/// Returns the page of a record, by the verb that made it.
pub fn of(record: &record::Record) -> Page {
    match record.kind {
        record::Kind::Show | record::Kind::Sheet => show::page(record),
        record::Kind::Judge => judge::page(record),
        record::Kind::Card => card::page(record),
        record::Kind::Crosscheck => crosscheck::page(record),
    }
}
