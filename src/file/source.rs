//! One file as text: turns opaque origins into lines and columns, and faults into what a person reads.
//!
//! Lines and columns count from 1, columns in characters (Unicode scalar values), as editors do.
//! A byte-order mark is not part of the text. The text is never altered; only what is shown of it
//! has control characters made visible and long lines cut.

use super::scalar::{self, Style};
use crate::fault::{Fault, Origin};

/// How many characters of a line are shown.
const SHOWN: usize = 100;
/// How many characters before the column are shown of a line that is cut.
const BEFORE: usize = 40;
/// One byte offset is kept for so many characters.
const STRIDE: usize = 256;

/// The name and text of one file, with the places of the nodes that were read from it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    name: String,
    text: String,
    length: usize,
    /// Where each line begins, in characters.
    lines: Vec<usize>,
    /// The byte offset of every character whose index is a multiple of `STRIDE`.
    strides: Vec<usize>,
    spans: Vec<Span>,
}

/// What a node takes up in the text, in characters from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Span {
    /// The first character: of a quoted text the quote, of a block text its `|` or `>`.
    pub start: usize,
    /// One after the last character.
    pub end: usize,
    /// How the text is written.
    pub style: Style,
}

impl Source {
    /// Returns the file `name` with `text`, without any places yet.
    pub(super) fn new(name: &str, text: String) -> Source {
        let (mut lines, mut strides, mut length) = (vec![0], Vec::new(), 0);
        for (byte, character) in text.char_indices() {
            if length % STRIDE == 0 {
                strides.push(byte);
            }
            length += 1;
            if character == '\n' {
                lines.push(length);
            }
        }
        Source { name: name.to_string(), text, length, lines, strides, spans: Vec::new() }
    }

    /// Returns the name of the file, as it was given.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the text of the file, as far as it was read: all of it, unless it was refused unread.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Returns the line and column of `origin`, from 1, in characters; (1, 1) where no text holds it.
    ///
    /// An offset counts characters of the value and is carried over to the text: past an opening
    /// quote, `''`, escapes and the line breaks and indentation of a text over several lines.
    /// In a folded block (`>`) with lines indented further it may be off within these lines.
    pub fn place(&self, origin: Origin) -> (usize, usize) {
        let span = (origin.id() as usize).checked_sub(1).and_then(|index| self.spans.get(index));
        let Some(span) = span else { return (1, 1) };
        let offset = match (origin.offset() as usize, span.style) {
            (0, Style::Plain | Style::Other) => 0,
            (offset, style) => scalar::offset_in(self.slice(span.start, span.end), style, offset),
        };
        self.line_column(span.start + offset)
    }

    /// Returns `fault` as `file:line:column: message`, the line of the file and the help, if any;
    /// without a line break at the end.
    pub fn render(&self, fault: &Fault) -> String {
        let (line, column) = self.place(fault.origin);
        let message = visible(&fault.message());
        let mut shown = format!("{}:{line}:{column}: {message}", visible(&self.name));
        let excerpt = self.excerpt(line, column);
        if !excerpt.trim().is_empty() {
            shown.push_str("\n  ");
            shown.push_str(&excerpt);
        }
        for (index, help) in fault.help.lines().enumerate() {
            shown.push_str(if index == 0 { "\nhelp: " } else { "\n  " });
            shown.push_str(&visible(help));
        }
        shown
    }

    /// Returns all `faults` in the order of their places, each once, with an empty line between.
    pub fn render_all(&self, faults: &[Fault]) -> String {
        let mut sorted: Vec<&Fault> = faults.iter().collect();
        sorted.sort_by_key(|fault| self.place(fault.origin));
        let mut shown: Vec<String> = Vec::new();
        let mut same_place = 0;
        let mut place = (0, 0);
        for fault in sorted {
            let (here, text) = (self.place(fault.origin), self.render(fault));
            if here != place {
                (place, same_place) = (here, shown.len());
            }
            if !shown[same_place..].contains(&text) {
                shown.push(text);
            }
        }
        shown.join("\n\n")
    }

    /// Keeps the places of the nodes, in the order of their numbers from 1.
    pub(super) fn keep(&mut self, spans: Vec<Span>) {
        self.spans = spans;
    }

    /// Makes an origin for the single character `index`.
    pub(super) fn mark(&mut self, index: usize) -> Origin {
        self.spans.push(Span { start: index, end: index, style: Style::Other });
        Origin::node(self.spans.len() as u32)
    }

    /// Returns the line and column, from 1, of the character `index`, from 0.
    pub(super) fn line_column(&self, index: usize) -> (usize, usize) {
        let line = self.lines.partition_point(|start| *start <= index);
        (line, index - self.lines[line - 1] + 1)
    }

    /// Returns the index of the character at `line`, from 1, and `column`, from 0; at most the length.
    pub(super) fn index(&self, line: usize, column: usize) -> usize {
        let start = self.lines.get(line.max(1) - 1).copied().unwrap_or(self.length);
        (start + column).min(self.length)
    }

    fn slice(&self, start: usize, end: usize) -> &str {
        let (from, to) = (self.byte(start), self.byte(end.max(start)));
        self.text.get(from..to).unwrap_or("")
    }

    fn byte(&self, index: usize) -> usize {
        let Some(base) = self.strides.get(index / STRIDE) else { return self.text.len() };
        let mut rest = self.text[*base..].char_indices();
        rest.nth(index % STRIDE).map_or(self.text.len(), |(byte, _)| base + byte)
    }

    /// Returns the line as it is shown: `SHOWN` characters around the column, what is cut as `…`.
    fn excerpt(&self, line: usize, column: usize) -> String {
        let start = self.lines[line - 1];
        let end = self.lines.get(line).map_or(self.length, |next| next - 1);
        if end - start <= SHOWN {
            return visible(self.slice(start, end).trim_end());
        }
        let from = (start + column - 1).saturating_sub(BEFORE).max(start);
        let to = (from + SHOWN).min(end);
        let left = if from > start { "…" } else { "" };
        let right = if to < end { "…" } else { "" };
        format!("{left}{}{right}", visible(self.slice(from, to).trim_end()))
    }
}

/// Returns `text` with a sign for every character that a terminal would not show or would obey.
fn visible(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\t' => shown.push('→'),
            '\0'..='\u{1f}' => shown.extend(char::from_u32(0x2400 + character as u32)),
            '\u{7f}' => shown.push('␡'),
            '\u{80}'..='\u{9f}'
            | '\u{200b}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}'
            | '\u{feff}' => shown.push_str(&format!("<U+{:04X}>", character as u32)),
            _ => shown.push(character),
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(text: &str, start: usize, end: usize, style: Style) -> Source {
        let mut source = Source::new("a.yaml", text.to_string());
        source.keep(vec![Span { start, end, style }]);
        source
    }

    #[test]
    fn shows_place_line_and_help() {
        let source = source("a: 1\nµm: zwölf mm\n", 9, 17, Style::Plain);
        let fault = Fault::new(Origin::node(1).further(6), "unknown unit `mm`").help("`m`");
        let shown = "a.yaml:2:11: unknown unit `mm`\n  µm: zwölf mm\nhelp: `m`";
        assert_eq!(source.render(&fault), shown);
        let bare = Fault::new(Origin::node(1), "x").rule("must be y");
        assert_eq!(source.render(&bare), "a.yaml:2:5: x: must be y\n  µm: zwölf mm");
    }

    #[test]
    fn shows_a_fault_without_place_at_the_start() {
        let source = source("a: 1\n", 0, 1, Style::Plain);
        assert_eq!(source.render(&Fault::new(Origin::NONE, "x")), "a.yaml:1:1: x\n  a: 1");
        assert_eq!(source.place(Origin::node(7)), (1, 1));
    }

    #[test]
    fn makes_control_characters_visible() {
        let source = source("a:\t\u{1b}[31m\r\n", 0, 1, Style::Plain);
        let fault = Fault::new(Origin::node(1), "`\u{7}\u{202e}`").help("one\ntwo");
        let shown = "a.yaml:1:1: `␇<U+202E>`\n  a:→␛[31m\nhelp: one\n  two";
        assert_eq!(source.render(&fault), shown);
    }

    #[test]
    fn cuts_long_lines_around_the_column() {
        let text = format!("{}X{}\n", "µ".repeat(300), "b".repeat(300));
        let source = source(&text, 300, 301, Style::Plain);
        let line = format!("…{}X{}…", "µ".repeat(40), "b".repeat(59));
        let shown = format!("a.yaml:1:301: x\n  {line}");
        assert_eq!(source.render(&Fault::new(Origin::node(1), "x")), shown);
    }

    #[test]
    fn sorts_by_place_and_drops_exact_duplicates() {
        let mut source = Source::new("f", "a: 1\nb: 2\n".into());
        let (late, early) = (source.mark(5), source.mark(0));
        let twin = source.mark(5);
        let faults = [(late, "z"), (early, "y"), (late, "w"), (twin, "z")];
        let faults = faults.map(|(origin, what)| Fault::new(origin, what));
        let shown = "f:1:1: y\n  a: 1\n\nf:2:1: z\n  b: 2\n\nf:2:1: w\n  b: 2";
        assert_eq!(source.render_all(&faults), shown);
    }
}
