//! Page → one HTML file that needs nothing else: no script, no font, no address.
//!
//! What people wrote is escaped by the writer of markup; stretches that run from right to left are
//! set apart, so that they do not turn the words around them. Tables scroll in a region of their own
//! where a screen is too narrow, tiles fill a grid, pictures are drawn in place with their text. How
//! it looks is in `page.css`; no meaning hangs on a colour.

use super::{fold, plot};
use crate::page::{
    Align, Block, Cell, Column, Figure, Fold, Folded, Note, Page, Role, Table, Text, Tiles,
};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The style of every page.
const STYLE: &str = include_str!("page.css");

/// A table of more columns than this is set as a block per row where a screen is narrow.
const MANY: usize = 3;

/// A table of so many rows at most is printed on one sheet.
const ROWS: usize = 45;

/// Names with values of so many letters in all, and so many of them, are printed in two columns.
const SHORT: usize = 76;
const SEVERAL: usize = 4;

/// A word of more letters than this may be broken anywhere.
const LONG: usize = 30;

/// A table of more columns than this is printed smaller.
const WIDE: usize = 6;

/// So many tiles may be printed large.
const FEW: usize = 6;

/// Returns a page as an HTML document, with a closing newline.
pub fn render(page: &Page) -> String {
    let title = if page.title.is_empty() { "Surebound" } else { page.title.as_str() };
    let mut writer =
        Writer { page, tables: 0, figures: 0, section: page.title.clone(), level: 2, named: false };
    // Cautions that end a page stand at its foot, others in their place.
    let (blocks, foot) = match page.blocks.as_slice() {
        [blocks @ .., Block::Cautions(texts)] => (blocks, texts.as_slice()),
        blocks => (blocks, [].as_slice()),
    };
    let main: Vec<Markup> = blocks.iter().map(|it| writer.block(it)).collect();
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header { h1 { (words(title)) } }
                main { @for block in &main { (block) } }
                @if !foot.is_empty() { footer { @for text in foot { p { (text_of(text)) } } } }
            }
        }
    };
    document.into_string() + "\n"
}

/// Writes blocks; counts what needs a name of its own.
struct Writer<'a> {
    page: &'a Page,
    tables: usize,
    figures: usize,
    /// The last heading: what the next table is about.
    section: Text,
    /// The level of headings.
    level: usize,
    /// Whether the block before was a heading.
    named: bool,
}

impl Writer<'_> {
    fn block(&mut self, block: &Block) -> Markup {
        let named = std::mem::replace(&mut self.named, matches!(block, Block::Heading(_)));
        match block {
            Block::Verdict(word) => html! { p.verdict { strong { (text_of(word)) } } },
            Block::Title(text) if *text == self.page.title => html! {},
            Block::Filed(_) => html! {},
            Block::Title(text) | Block::Heading(text) => {
                self.section = text.clone();
                heading(self.level, text)
            }
            Block::Subheading(text) => {
                self.section = text.clone();
                heading(self.level + 1, text)
            }
            Block::Paragraph(spans) => html! {
                p { @for (index, span) in spans.iter().enumerate() {
                    @if index > 0 { " " }
                    @if span.role == Role::Strong { strong { (text_of(&span.text)) } }
                    @else { (text_of(&span.text)) }
                } }
            },
            Block::Pairs(pairs) => html! {
                dl.short[is_short(pairs)] { @for (name, value) in pairs {
                    div { dt { (text_of(name)) } dd { (text_of(value)) } }
                } }
            },
            Block::Table(table) => self.table(table),
            Block::Tiles(it) => tiles(it),
            Block::Figure(it) => self.figure(it),
            Block::Folded(it) => self.folded(it),
            Block::Findings(notes) => findings(notes, named),
            Block::Cautions(texts) => html! {
                div.cautions { @for text in texts { p { (text_of(text)) } } }
            },
        }
    }

    fn table(&mut self, table: &Table) -> Markup {
        self.tables += 1;
        let name = format!("Table {}: {}", self.tables, self.section);
        html! {
            div.scroll role="region" aria-label=(name) tabindex="0" {
                table class=[kinds(table)] {
                    (headings(&table.columns))
                    (body(&table.columns, &table.rows, table.columns.len() > MANY))
                }
            }
            @if !table.caption.is_empty() { p.caption { (text_of(&table.caption)) } }
        }
    }

    fn folded(&mut self, folded: &Folded) -> Markup {
        self.section = folded.title.clone();
        self.level += 1;
        let inside: Vec<Markup> = folded.blocks.iter().map(|it| self.block(it)).collect();
        self.level -= 1;
        html! {
            details {
                summary { (text_of(&folded.title)) }
                @for block in &inside { (block) }
            }
        }
    }

    fn figure(&mut self, figure: &Figure) -> Markup {
        self.figures += 1;
        let name = format!("Picture {}: {}", self.figures, figure.title);
        let picture = plot::named(figure, &format!("figure-{}-", self.figures));
        html! {
            figure {
                @match picture {
                    Ok(svg) => { div.scroll role="region" aria-label=(name) tabindex="0" { (PreEscaped(svg)) } }
                    Err(_) => { p { strong { (text_of(&figure.title)) } } }
                }
                figcaption { (text_of(&figure.description)) }
            }
        }
    }
}

fn heading(level: usize, text: &Text) -> Markup {
    match level {
        2 => html! { h2 { (text_of(text)) } },
        3 => html! { h3 { (text_of(text)) } },
        _ => html! { h4 { (text_of(text)) } },
    }
}

fn headings(columns: &[Column]) -> Markup {
    html! {
        thead { tr { @for column in columns {
            @if column.heading.is_empty() { td {} }
            @else { th scope="col" class=(class(column)) { (text_of(&column.heading)) } }
        } } }
    }
}

/// What the style sheet does to a table.
fn kinds(table: &Table) -> Option<String> {
    let (columns, rows) = (table.columns.len(), table.rows.len());
    let kinds = [("wide", columns > WIDE), ("many", columns > MANY), ("whole", rows <= ROWS)];
    let kinds: Vec<&str> = kinds.into_iter().filter(|it| it.1).map(|it| it.0).collect();
    (!kinds.is_empty()).then(|| kinds.join(" "))
}

/// Whether all names with their values are short, and there are several.
fn is_short(pairs: &[(Text, Text)]) -> bool {
    let width = |it: &(Text, Text)| fold::width(it.0.as_str()) + fold::width(it.1.as_str());
    pairs.len() >= SEVERAL && pairs.iter().all(|it| width(it) <= SHORT)
}

/// Rows of a table; the first cell names its row, the others name their columns where they are `labelled`.
fn body(columns: &[Column], rows: &[Vec<Cell>], labelled: bool) -> Markup {
    html! {
        tbody { @for row in rows { tr {
            @for (index, (column, cell)) in columns.iter().zip(row).enumerate() {
                @if index == 0 && !is_empty(cell) {
                    th scope="row" class=(class(column)) { (in_cell(cell)) }
                } @else {
                    td class=(class(column)) data-label=[label(column, labelled)] { (in_cell(cell)) }
                }
            }
        } } }
    }
}

fn label(column: &Column, labelled: bool) -> Option<&str> {
    (labelled && !column.heading.is_empty()).then(|| column.heading.as_str())
}

/// Whether a text is one word of digits and signs: a date, a number.
fn is_date_like(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|it| it.is_ascii_digit() || it == '-')
}

/// What is in a cell; a word that no screen could hold may be broken.
fn in_cell(cell: &Cell) -> Markup {
    match cell {
        Cell::Text(text) if fold::widest_word(text.as_str()) > LONG => {
            html! { span.long { (text_of(text)) } }
        }
        // Dates have hyphens, but are one word.
        Cell::Text(text) if is_date_like(text.as_str()) => {
            html! { span.one { (text_of(text)) } }
        }
        _ => content(cell),
    }
}

fn is_empty(cell: &Cell) -> bool {
    matches!(cell, Cell::Text(text) if text.is_empty())
}

fn content(cell: &Cell) -> Markup {
    match cell {
        Cell::Text(text) => text_of(text),
        Cell::Share { text, length } => {
            let length = format!("width:{:.3}em", 4.0 * length.clamp(0.0, 1.0));
            html! { span.share { (text_of(text)) } span.bar aria-hidden="true" style=(length) {} }
        }
    }
}

/// How the cells of a column are set.
fn class(column: &Column) -> &'static str {
    match (column.align, column.fold) {
        (Align::Right, Fold::Never) => "number",
        (Align::Right, _) => "quantity",
        (Align::Left, Fold::Anywhere) => "name",
        (Align::Left, _) => "word",
    }
}

/// A grid as wide in each part as the widest tile. The style sheet takes its width in characters.
fn tiles(tiles: &Tiles) -> Markup {
    let widest = tiles.tiles.iter().map(|tile| {
        let width = |text: &Text| fold::width(text.as_str());
        let cells = |index: usize| tile.groups.iter().flatten().map(move |row| &row[index]);
        let column = |(index, column): (usize, &Column)| {
            let cell = |cell: &Cell| match cell {
                Cell::Text(text) | Cell::Share { text, .. } => width(text),
            };
            cells(index).map(cell).max().unwrap_or(0).max(width(&column.heading))
        };
        tile.columns.iter().enumerate().map(column).sum::<usize>() + tile.columns.len()
    });
    let style = format!("--tile:{}", widest.max().unwrap_or(0).clamp(10, 80));
    html! {
        div.tiles.few[tiles.tiles.len() <= FEW] style=(style) { @for tile in &tiles.tiles {
            table {
                caption { (text_of(&tile.heading)) }
                (headings(&tile.columns))
                @for group in &tile.groups { (body(&tile.columns, group, false)) }
            }
        } }
        @if !tiles.caption.is_empty() { p.caption { (text_of(&tiles.caption)) } }
    }
}

/// Findings, under a heading of their own unless one names them already.
fn findings(notes: &[Note], named: bool) -> Markup {
    html! {
        section.findings aria-label="Findings" {
            @if !named { h2 { "Findings" } }
            ul { @for note in notes { li {
                strong { (text_of(&note.severity)) } ": " (text_of(&note.message))
                @if !note.place.is_empty() { " " span.place { "(" (text_of(&note.place)) ")" } }
                @if !note.help.is_empty() { p.help { "help: " (text_of(&note.help)) } }
            } } }
        }
    }
}

fn text_of(text: &Text) -> Markup {
    words(text.as_str())
}

/// A text with its stretches from right to left set apart.
fn words(text: &str) -> Markup {
    let (mut rest, mut pieces) = (text, Vec::new());
    while let Some(start) = rest.find(is_right_to_left) {
        let (before, from) = rest.split_at(start);
        // Signs and spaces between two such letters belong to the stretch.
        let end = from.find(|c: char| c.is_alphanumeric() && !is_right_to_left(c));
        let stretch = &from[..end.unwrap_or(from.len())];
        let last = stretch.rfind(is_right_to_left).unwrap_or(0);
        let length = last + stretch[last..].chars().next().map_or(0, char::len_utf8);
        pieces.push((before, &stretch[..length]));
        rest = &rest[start + length..];
    }
    html! { @for (before, stretch) in &pieces { (before) bdi { (stretch) } } (rest) }
}

/// Whether a letter belongs to a script that is written from right to left.
fn is_right_to_left(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}')
        || matches!(c, '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}

#[cfg(test)]
mod tests;
