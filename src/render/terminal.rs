//! Page → text for a terminal or a plain file.
//!
//! Bold type, where it is allowed, marks headings and verdicts; every word is there without it.
//! Notation: `width` is in terminal cells; no line is wider unless a number would have to be cut.

use super::columns::{Cells, widths};
use super::fold;
use super::picture;
use crate::page::{
    Align, Block, Cell, Figure, Fold, Note, Page, Role, Span, Table, Text, Tile, Tiles,
};

/// The gap between two columns, in cells.
const GAP: usize = 2;
/// The gap between two tiles, in cells.
const TILE_GAP: usize = 4;
/// The length of a full bar, in cells.
const BAR: usize = 6;
/// The page's narrowest width, in cells.
const NARROWEST: usize = 40;

/// Which type may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Characters only.
    Plain,
    /// Bold type for headings and verdicts.
    Bold,
}

/// Returns a page as text, `width` cells wide (at least 40), with a closing newline.
pub fn render(page: &Page, width: usize, style: Style) -> String {
    let mut out = Output { text: String::new(), width: width.max(NARROWEST), style };
    let mut before = None;
    for block in page.blocks.iter().filter(|it| !matches!(it, Block::Filed(_))) {
        if before.is_some_and(|before| apart(before, block)) {
            out.text.push('\n');
        }
        out.block(block);
        before = Some(block);
    }
    out.text
}

/// Whether an empty line stands between two blocks.
fn apart(before: &Block, block: &Block) -> bool {
    use Block::{Findings, Heading, Pairs, Paragraph, Subheading, Table, Title, Verdict};
    !matches!(
        (before, block),
        (Title(_) | Verdict(_) | Heading(_) | Subheading(_), Paragraph(_))
            | (Heading(_) | Subheading(_) | Paragraph(_), Table(_))
            | (Heading(_) | Subheading(_) | Table(_), Pairs(_))
            | (Title(_), Heading(_))
            | (Heading(_), Findings(_))
    )
}

/// The text so far, and how to go on.
struct Output {
    text: String,
    width: usize,
    style: Style,
}

impl Output {
    fn block(&mut self, block: &Block) {
        match block {
            Block::Verdict(word) => self.verdict(word),
            Block::Filed(_) => {}
            Block::Title(text) | Block::Heading(text) | Block::Subheading(text) => {
                self.bold(text.as_str());
            }
            Block::Paragraph(spans) => self.paragraph(spans),
            Block::Pairs(pairs) => self.pairs(pairs),
            Block::Table(table) => self.table(table),
            Block::Tiles(tiles) => self.tiles(tiles),
            Block::Figure(figure) => self.figure(figure),
            Block::Folded(folded) => {
                self.bold(folded.title.as_str());
                folded.blocks.iter().for_each(|it| self.block(it));
            }
            Block::Findings(notes) => notes.iter().for_each(|note| self.note(note)),
            Block::Cautions(texts) => {
                texts.iter().for_each(|text| self.hanging("", text.as_str(), 0))
            }
        }
    }

    /// The verdict in capitals between two bars, to be found at a glance.
    fn verdict(&mut self, word: &Text) {
        let line = format!("=====  {}  =====", word.as_str().to_uppercase());
        self.bold(&line);
    }

    fn paragraph(&mut self, spans: &[Span]) {
        let text = spans.iter().map(|span| span.text.as_str()).collect::<Vec<_>>().join(" ");
        let strong = spans.iter().all(|span| span.role == Role::Strong);
        if strong { self.bold(&text) } else { self.hanging("", &text, 0) }
    }

    /// Names on the left, values folded beside them.
    fn pairs(&mut self, pairs: &[(Text, Text)]) {
        let widest = pairs.iter().map(|(name, _)| fold::width(name.as_str())).max().unwrap_or(0);
        let column = widest.min(self.width / 2);
        for (name, value) in pairs {
            let names = fold::lines(name.as_str(), column, Fold::Anywhere);
            let values = fold::lines(value.as_str(), self.width - column - GAP, Fold::Anywhere);
            for index in 0..names.len().max(values.len()) {
                let at = |lines: &[String]| lines.get(index).cloned().unwrap_or_default();
                let line =
                    format!("{}{}{}", pad(&at(&names), column, Align::Left), gap(), at(&values));
                self.line(&line);
            }
        }
    }

    fn note(&mut self, note: &Note) {
        let place = match note.place.is_empty() {
            true => String::new(),
            false => format!(" ({})", note.place),
        };
        self.hanging("", &format!("{}: {}{place}", note.severity, note.message), 2);
        if !note.help.is_empty() {
            self.hanging("  ", &format!("help: {}", note.help), 2);
        }
    }

    fn table(&mut self, table: &Table) {
        for (row, line) in lines(table, self.width) {
            if row == 0 { self.bold_line(&line) } else { self.line(&line) }
        }
        if !table.caption.is_empty() {
            self.hanging("", table.caption.as_str(), 0);
        }
    }

    /// Small tables side by side, as many as fit; rows of tiles are an empty line apart.
    fn tiles(&mut self, tiles: &Tiles) {
        let tiles_as_lines: Vec<Vec<String>> =
            tiles.tiles.iter().map(|tile| tile_lines(tile, self.width)).collect();
        let all = tiles_as_lines.iter().flatten();
        let widest = all.map(|it| fold::width(it)).max().unwrap_or(0);
        let fit = ((self.width + TILE_GAP) / (widest + TILE_GAP)).max(1);
        for (index, row) in tiles_as_lines.chunks(fit).enumerate() {
            if index > 0 {
                self.text.push('\n');
            }
            for line in 0..row.iter().map(Vec::len).max().unwrap_or(0) {
                let piece = |tile: &Vec<String>| {
                    pad(tile.get(line).map_or("", String::as_str), widest, Align::Left)
                };
                let pieces: Vec<String> = row.iter().map(piece).collect();
                let text = pieces.join(&" ".repeat(TILE_GAP));
                if line < 1 { self.bold_line(&text) } else { self.line(&text) }
            }
        }
        if !tiles.caption.is_empty() {
            self.hanging("", tiles.caption.as_str(), 0);
        }
    }

    fn figure(&mut self, figure: &Figure) {
        self.bold(figure.title.as_str());
        match &figure.hills {
            Some(hills) => picture::lines(hills, self.width).iter().for_each(|it| self.line(it)),
            None => self.hanging("", figure.description.as_str(), 0),
        }
    }

    /// Folded text in bold, where bold is allowed.
    fn bold(&mut self, text: &str) {
        for line in fold::lines(text, self.width, Fold::Anywhere) {
            self.bold_line(&line);
        }
    }

    fn bold_line(&mut self, line: &str) {
        match self.style {
            Style::Plain => self.line(line),
            Style::Bold => self.line(&format!("\u{1b}[1m{}\u{1b}[0m", line.trim_end())),
        }
    }

    /// Folded text, its first line after `first`, the others indented.
    fn hanging(&mut self, first: &str, text: &str, indent: usize) {
        let start = first.len();
        let room = self.width - start - indent;
        let lines = fold::lines(text, room, Fold::Anywhere);
        for (index, line) in lines.iter().enumerate() {
            let space = if index == 0 { 0 } else { indent };
            self.line(&format!("{first}{}{line}", " ".repeat(space)));
        }
    }

    /// One line as it stands; no-break spaces have done their work.
    fn line(&mut self, line: &str) {
        self.text.push_str(line.replace('\u{a0}', " ").trim_end());
        self.text.push('\n');
    }
}

/// The lines of a table with the row they belong to; row 0 is the heading.
fn lines(table: &Table, width: usize) -> Vec<(usize, String)> {
    let columns: Vec<Cells> = (0..table.columns.len()).map(|index| cells(table, index)).collect();
    let gaps = GAP * columns.len().saturating_sub(1);
    let widths = widths(&columns, width.saturating_sub(gaps));
    let folded = columns.iter().zip(&widths).map(|(column, &width)| column.lines(width));
    let folded: Vec<Vec<Vec<String>>> = folded.collect();
    let mut lines = Vec::new();
    for row in 0..=table.rows.len() {
        let height = folded.iter().map(|column| column[row].len()).max().unwrap_or(0);
        for line in 0..height {
            let piece = |index: usize| {
                let text = folded[index][row].get(line).map_or("", String::as_str);
                pad(text, widths[index], table.columns[index].align)
            };
            lines.push((row, (0..widths.len()).map(piece).collect::<Vec<_>>().join(&gap())));
        }
    }
    lines
}

/// The lines of a tile: its heading, folded to the table's width, and the table with a rule where a
/// group ends.
fn tile_lines(tile: &Tile, width: usize) -> Vec<String> {
    let table = lines(&tile.table(), width);
    let widest = table.iter().map(|it| fold::width(it.1.trim_end())).max().unwrap_or(0);
    let mut text = fold::lines(tile.heading.as_str(), widest.max(1), Fold::Anywhere);
    let ends: Vec<usize> = (tile.groups.iter())
        .scan(0, |rows, group| {
            *rows += group.len();
            Some(*rows)
        })
        .collect();
    let mut before = 0;
    for (row, line) in table {
        if row != before && (before == 0 || ends.contains(&before)) {
            text.push("-".repeat(widest));
        }
        text.push(line);
        before = row;
    }
    text
}

/// One column of a table with its shares drawn.
fn cells(table: &Table, index: usize) -> Cells {
    let column = &table.columns[index];
    let share_width = table.rows.iter().filter_map(|row| match &row[index] {
        Cell::Share { text, .. } => Some(fold::width(text.as_str())),
        Cell::Text(_) => None,
    });
    let share_width = share_width.max().unwrap_or(0);
    let cell = |row: &Vec<Cell>| match &row[index] {
        Cell::Text(text) => text.as_str().to_owned(),
        Cell::Share { text, length } => {
            let text = pad(text.as_str(), share_width, Align::Right);
            format!("{text} {}", bar(*length)).trim_end().replace(' ', "\u{a0}")
        }
    };
    let cells = table.rows.iter().map(cell).collect();
    Cells { heading: column.heading.as_str().to_owned(), cells, fold: column.fold }
}

/// A bar in eighths of a cell; a share over zero shows at least the thinnest.
fn bar(length: f64) -> String {
    const EIGHTHS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];
    let eighths = (length.clamp(0.0, 1.0) * (BAR * 8) as f64).round() as usize;
    let eighths = if length > 0.0 { eighths.max(1) } else { 0 };
    format!("{}{}", "█".repeat(eighths / 8), EIGHTHS[eighths % 8])
}

fn pad(text: &str, width: usize, align: Align) -> String {
    let space = " ".repeat(width.saturating_sub(fold::width(text)));
    match align {
        Align::Left => format!("{text}{space}"),
        Align::Right => format!("{space}{text}"),
    }
}

fn gap() -> String {
    " ".repeat(GAP)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::Column;

    fn page(blocks: Vec<Block>) -> Page {
        Page { title: Text::default(), blocks }
    }

    #[test]
    fn draws_bars_that_grow_with_the_share() {
        assert_eq!(bar(0.0), "");
        assert_eq!(bar(1e-9), "▏");
        assert_eq!(bar(0.5), "███");
        assert_eq!(bar(1.0), "██████");
    }

    #[test]
    fn lines_up_words_on_the_left_and_numbers_on_the_right() {
        let columns = vec![Column::names("name"), Column::number("u"), Column::words("share")];
        let row = |name: &str, u: &str, text: &str, length| {
            vec![Cell::text(name), Cell::text(u), Cell::Share { text: text.into(), length }]
        };
        let rows = vec![row("a", "10.5", "100 %", 1.0), row("bcdefg", "1", "9 %", 0.09)];
        let table = Table { columns, rows, caption: "as said".into() };
        let expected = "name       u  share\n\
                        a       10.5  100 % ██████\n\
                        bcdefg     1    9 % ▌\n\
                        as said\n";
        assert_eq!(render(&page(vec![Block::Table(table)]), 100, Style::Plain), expected);
    }

    /// Nine cells wide and four apart: three go into 40 cells, and the rest follows below.
    #[test]
    fn packs_as_many_tiles_as_fit() {
        let tile = |heading: &str| {
            let columns = vec![Column::number("mm"), Column::words("word")];
            let row = |a: &str, b: &str| vec![Cell::text(a), Cell::text(b)];
            let groups = vec![vec![row("1.5", "fail")], vec![row("2.5", "pass")]];
            Tile { heading: heading.into(), columns, groups }
        };
        let tiles = Tiles { tiles: ["a", "b", "c", "d"].map(tile).into(), caption: "end".into() };
        let expected = "a            b            c\n \
                        mm  word     mm  word     mm  word\n\
                        ---------    ---------    ---------\n\
                        1.5  fail    1.5  fail    1.5  fail\n\
                        ---------    ---------    ---------\n\
                        2.5  pass    2.5  pass    2.5  pass\n\
                        \n\
                        d\n \
                        mm  word\n\
                        ---------\n\
                        1.5  fail\n\
                        ---------\n\
                        2.5  pass\n\
                        end\n";
        assert_eq!(render(&page(vec![Block::Tiles(tiles)]), 40, Style::Plain), expected);
    }

    #[test]
    fn hangs_findings_under_their_first_word() {
        let note = Note {
            severity: "note".into(),
            message: "a sentence that is too long for one line of forty".into(),
            help: "do this".into(),
            place: "b.yaml:1:2".into(),
        };
        let expected = "note: a sentence that is too long for\n  \
                        one line of forty (b.yaml:1:2)\n  \
                        help: do this\n";
        assert_eq!(render(&page(vec![Block::Findings(vec![note])]), 40, Style::Plain), expected);
    }

    #[test]
    fn puts_the_verdict_between_bars_in_capitals_and_bold_where_it_may() {
        let page = page(vec![Block::Verdict("conditional pass".into())]);
        let plain = "=====  CONDITIONAL PASS  =====";
        assert_eq!(render(&page, 100, Style::Plain), format!("{plain}\n"));
        assert_eq!(render(&page, 100, Style::Bold), format!("\u{1b}[1m{plain}\u{1b}[0m\n"));
    }
}
