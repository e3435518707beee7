//! Page → Markdown: headings, lists and tables as CommonMark with the table extension has them.
//!
//! What people wrote stays text: every character that could begin markup is escaped, so that a
//! reader who parses the file gets the same characters back. Tiles follow one another, a figure is
//! its title and its description.

use crate::page::{Align, Block, Cell, Figure, Note, Page, Role, Span, Table, Text, Tiles};

/// Returns a page as Markdown, with a closing newline.
pub fn render(page: &Page) -> String {
    let mut out = String::new();
    if !page.title.is_empty() {
        push(&mut out, &heading(1, &page.title));
    }
    page.blocks.iter().for_each(|it| block(&mut out, page, it, 2));
    out
}

/// Writes a block; `level` is that of its headings.
fn block(out: &mut String, page: &Page, it: &Block, level: usize) {
    match it {
        Block::Verdict(word) => push(out, &strong(&word.as_str().to_uppercase())),
        Block::Title(text) if *text == page.title => {}
        Block::Filed(_) => {}
        Block::Title(text) | Block::Heading(text) => push(out, &heading(level, text)),
        Block::Subheading(text) => push(out, &heading(level + 1, text)),
        Block::Paragraph(spans) => push(out, &paragraph(spans)),
        Block::Pairs(pairs) => push(out, &list(pairs.iter().map(pair))),
        Block::Table(it) => with_caption(out, &table(it), &it.caption),
        Block::Tiles(it) => tiles(out, it),
        Block::Figure(it) => figure(out, it),
        Block::Folded(it) => {
            push(out, &heading(level + 1, &it.title));
            it.blocks.iter().for_each(|it| block(out, page, it, level + 2));
        }
        Block::Findings(notes) => push(out, &list(notes.iter().map(note))),
        Block::Cautions(texts) => texts.iter().for_each(|it| push(out, &line(it))),
    }
}

/// Adds a block: an empty line stands before all but the first.
fn push(out: &mut String, block: &str) {
    if block.is_empty() {
        return;
    }
    if !out.is_empty() {
        out.push('\n');
    }
    out.push_str(block);
    out.push('\n');
}

fn with_caption(out: &mut String, block: &str, caption: &Text) {
    push(out, block);
    push(out, &line(caption));
}

fn paragraph(spans: &[Span]) -> String {
    let piece = |span: &Span| match span.role {
        Role::Strong => strong(span.text.as_str()),
        Role::Plain => escaped(span.text.as_str()),
    };
    // What begins with emphasis begins with `**`, which stands for no other markup.
    at_line_start(spans.iter().map(piece).collect::<Vec<_>>().join(" ").trim())
}

/// A heading of a level; a last `#` would count as its end.
fn heading(level: usize, text: &Text) -> String {
    let level = "#".repeat(level.min(6));
    let text = inline(text);
    match text.strip_suffix('#') {
        Some(before) => format!("{level} {before}\\#"),
        None => format!("{level} {text}"),
    }
}

fn list(items: impl Iterator<Item = String>) -> String {
    items.map(|it| format!("- {it}")).collect::<Vec<_>>().join("\n")
}

fn pair((name, value): &(Text, Text)) -> String {
    format!("{}: {}", strong(name.as_str()), inline(value))
}

fn note(note: &Note) -> String {
    let mut text = format!("{}: {}", strong(note.severity.as_str()), inline(&note.message));
    if !note.place.is_empty() {
        text += &format!(" ({})", inline(&note.place));
    }
    if !note.help.is_empty() {
        text += &format!("\\\n  help: {}", inline(&note.help));
    }
    text
}

fn table(table: &Table) -> String {
    let row = |cells: Vec<String>| format!("| {} |", cells.join(" | "));
    let headings = table.columns.iter().map(|it| inline(&it.heading)).collect();
    let rule = table.columns.iter().map(|it| match it.align {
        Align::Left => "---".to_owned(),
        Align::Right => "---:".to_owned(),
    });
    let mut lines = vec![row(headings), row(rule.collect())];
    // The drawing of a share adds nothing to its text.
    let cell = |cell: &Cell| match cell {
        Cell::Text(text) | Cell::Share { text, .. } => inline(text),
    };
    lines.extend(table.rows.iter().map(|cells| row(cells.iter().map(cell).collect())));
    lines.join("\n")
}

fn tiles(out: &mut String, tiles: &Tiles) {
    for tile in &tiles.tiles {
        push(out, &heading(3, &tile.heading));
        push(out, &table(&tile.table()));
    }
    push(out, &line(&tiles.caption));
}

fn figure(out: &mut String, figure: &Figure) {
    push(out, &strong(figure.title.as_str()));
    push(out, &line(&figure.description));
}

/// Emphasis around what does not begin or end with a space; nothing around nothing.
fn strong(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() { String::new() } else { format!("**{}**", escaped(text)) }
}

/// A text inside a line.
fn inline(text: &Text) -> String {
    escaped(text.as_str().trim())
}

/// A text that stands at the beginning of a line.
fn line(text: &Text) -> String {
    at_line_start(&inline(text))
}

/// Returns a text in which no character begins markup: entities for those that HTML would take, a
/// backslash before the others.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text.chars();
    while let Some(c) = rest.next() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '~' | '$' | '^' | '|' => out.extend(['\\', c]),
            // Some programs make links of addresses and accounts without any markup.
            '@' => out.extend(['\\', c]),
            ':' if rest.as_str().starts_with("//") => out.extend(['\\', c]),
            '.' if out.to_ascii_lowercase().ends_with("www") => out.extend(['\\', c]),
            _ => out.push(c),
        }
    }
    out
}

/// Returns a line, trimmed, whose first characters begin neither heading, list nor rule.
fn at_line_start(text: &str) -> String {
    let digits = text.chars().take_while(char::is_ascii_digit).count();
    match text[digits..].chars().next() {
        Some('.' | ')') if digits > 0 => format!("{}\\{}", &text[..digits], &text[digits..]),
        Some('#' | '+' | '-' | '=') if digits == 0 => format!("\\{text}"),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests;
