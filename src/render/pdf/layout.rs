//! Page → items in a column of a given width: folds texts, measures tables, draws pictures.
//!
//! Sheets do not exist here; an item only says what it has to stay together with. What a form on a screen
//! folds away is put at the end, on sheets of its own.

use super::face::Faces;
use super::flow::{Draw, Flow, Item, Kind, LEVEL, Part, Pen};
use super::picture;
use super::table::Grid;
use super::tiles::beside;
use super::wrap::Words;
use crate::page::{Block, Figure, Fold, Folded, Note, Page, Role, Span, Text};
use crate::render::plot::{self, NotDrawn};
use std::collections::BTreeSet;

/// A size of type: letters and lines, in points.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    pub size: f32,
    pub leading: f32,
    pub bold: bool,
}

impl Style {
    /// Returns the base line of a line of text, from its top.
    pub(super) fn base(&self) -> f32 {
        0.5 * self.leading + 0.36 * self.size
    }
}

const fn style(size: f32, leading: f32, bold: bool) -> Style {
    Style { size, leading, bold }
}

const VERDICT: Style = style(21.0, 26.0, true);
const TITLE: Style = style(14.0, 18.0, true);
const HEADING: Style = style(10.5, 14.0, true);
const SUBHEADING: Style = style(9.0, 12.0, true);
const BODY: Style = style(9.0, 12.0, false);
const SMALL: Style = style(7.5, 10.0, false);
/// The most lines of a verdict that are framed: verdicts are words, but nothing may run off a sheet.
const FRAMED: usize = 4;
/// The highest picture.
const PICTURE: f32 = 200.0;
/// Share of the width that a picture may take.
const PICTURE_SHARE: f32 = 0.6;
/// How far lines after the first are set in, where they are.
const INDENT: f32 = 10.0;
/// So many pairs may stand in two columns, and so far apart.
const SEVERAL: usize = 4;
const BETWEEN: f32 = 14.0;
/// The most characters that are named as drawn as boxes.
const NAMED: usize = 40;

/// A word with its width, and whether it is bold.
type Token = (String, f32, bool);

/// The layout so far.
pub(super) struct Layout<'a> {
    pub faces: &'a Faces,
    pub flow: Flow,
    /// Width of the column.
    pub width: f32,
    /// The highest item that fits on a sheet.
    pub sheet: f32,
    /// The element of the document.
    pub document: usize,
    /// What goes to the end; `None` where that is being set.
    later: Option<Vec<Folded>>,
}

/// Returns the items of a page, for sheets with a body of `width` × `sheet` points.
///
/// # Errors
///
/// [`NotDrawn`], where a picture cannot be drawn.
pub(super) fn lay(page: &Page, faces: &Faces, width: f32, sheet: f32) -> Result<Flow, NotDrawn> {
    let mut flow = Flow::default();
    let document = flow.element(Kind::Document, None);
    let mut layout = Layout { faces, flow, width, sheet, document, later: Some(Vec::new()) };
    layout.blocks(&page.blocks)?;
    let later = layout.later.take().unwrap_or_default();
    for (index, folded) in later.iter().enumerate() {
        let start = layout.flow.items.len();
        layout.heading(&format!("Appendix {}: {}", index + 1, folded.title));
        layout.flow.space(start, 16.0);
        if let Some(first) = layout.flow.items.get_mut(start).filter(|_| index == 0) {
            first.new_sheet = true;
        }
        layout.blocks(&folded.blocks)?;
    }
    layout.name_what_is_missing();
    Ok(layout.flow)
}

impl Layout<'_> {
    fn blocks(&mut self, blocks: &[Block]) -> Result<(), NotDrawn> {
        for block in blocks {
            let start = self.flow.items.len();
            let space = self.block(block)?;
            self.flow.space(start, space);
        }
        Ok(())
    }

    /// Sets a block and returns the space above it.
    fn block(&mut self, block: &Block) -> Result<f32, NotDrawn> {
        match block {
            Block::Verdict(word) => self.verdict(word),
            Block::Title(text) => {
                let tokens = self.tokens(text.as_str(), TITLE);
                self.lines(Kind::Title, &tokens, TITLE, [0.0, 0.0], true);
            }
            // It stands in the head of the sheets.
            Block::Filed(_) => return Ok(0.0),
            Block::Heading(text) => {
                self.heading(text.as_str());
                return Ok(10.0);
            }
            Block::Subheading(text) => {
                let tokens = self.tokens(text.as_str(), SUBHEADING);
                self.lines(Kind::Subheading, &tokens, SUBHEADING, [0.0, 0.0], true);
                return Ok(8.0);
            }
            Block::Paragraph(spans) => {
                self.paragraph(spans);
                return Ok(3.0);
            }
            Block::Pairs(pairs) => self.pairs(pairs),
            Block::Table(table) => {
                self.table(&Grid::of_table(table));
                self.caption(&table.caption);
            }
            Block::Tiles(tiles) => self.tiles(tiles),
            Block::Figure(figure) => {
                self.figure(figure)?;
                return Ok(8.0);
            }
            Block::Folded(folded) => return self.folded(folded),
            Block::Findings(notes) => notes.iter().for_each(|it| self.note(it)),
            Block::Cautions(texts) => {
                self.cautions(texts);
                return Ok(8.0);
            }
        }
        Ok(6.0)
    }

    /// The verdict in capitals inside a heavy frame, to be found at a glance.
    fn verdict(&mut self, word: &Text) {
        let element = self.flow.element(Kind::Paragraph, Some(self.document));
        let text = word.as_str().to_uppercase();
        let face = self.faces.of(true);
        let words = Words::new(&text, face, VERDICT.size);
        let lines = words.lines(self.width - 24.0, Fold::Anywhere, face, VERDICT.size);
        if lines.len() > FRAMED {
            self.flow.elements.pop();
            let tokens = self.tokens(&text, HEADING);
            return self.lines(Kind::Paragraph, &tokens, HEADING, [0.0, 0.0], false);
        }
        let height = lines.len() as f32 * VERDICT.leading + 8.0;
        let pen = Pen { width: 2.0, gray: 0.0, dashes: Vec::new() };
        let frame = Draw::rectangle([1.0, 1.0], [self.width - 2.0, height - 2.0], Some(pen), None);
        let text = |(index, (text, _)): (usize, (String, f32))| {
            let base = 4.0 + index as f32 * VERDICT.leading + VERDICT.base();
            text_at([12.0, base], VERDICT, text)
        };
        let draws = lines.into_iter().enumerate().map(text).collect();
        let frame = Part { element: None, draws: vec![frame] };
        let parts = vec![frame, Part { element: Some(element), draws }];
        self.flow.items.push(Item { height, parts, keep: true, ..Item::default() });
    }

    fn heading(&mut self, text: &str) {
        let tokens = self.tokens(text, HEADING);
        self.lines(Kind::Heading, &tokens, HEADING, [0.0, 0.0], true);
    }

    fn paragraph(&mut self, spans: &[Span]) {
        let strong = |it: &Span| it.role == Role::Strong;
        let style = |bold| Style { bold, ..BODY };
        let tokens = spans.iter().flat_map(|it| self.tokens(it.text.as_str(), style(strong(it))));
        let tokens: Vec<Token> = tokens.collect();
        self.lines(Kind::Paragraph, &tokens, BODY, [0.0, 0.0], false);
    }

    /// Names and values; in two columns where they are several and all are short.
    fn pairs(&mut self, pairs: &[(Text, Text)]) {
        let whole = Grid::of_pairs(pairs);
        let half = (self.width - BETWEEN) / 2.0;
        if pairs.len() < SEVERAL || self.natural(&whole) > half {
            return self.table(&whole);
        }
        let (left, right) = pairs.split_at(pairs.len().div_ceil(2));
        let mut items = self.rows(&Grid::of_pairs(left), half);
        for (row, item) in self.rows(&Grid::of_pairs(right), half).into_iter().enumerate() {
            beside(&mut items, row, item.moved(half + BETWEEN, 0.0));
        }
        if let Some(last) = items.last_mut() {
            last.keep = false;
        }
        self.flow.items.extend(items);
    }

    /// What has to be said about a table, below it.
    pub(super) fn caption(&mut self, text: &Text) {
        if text.is_empty() {
            return;
        }
        if let Some(last) = self.flow.items.last_mut() {
            last.keep = true;
        }
        let start = self.flow.items.len();
        self.plain(text.as_str(), SMALL, [0.0, 0.0]);
        self.flow.space(start, 2.0);
    }

    fn note(&mut self, note: &Note) {
        let bold = Style { bold: true, ..BODY };
        let mut tokens = self.tokens(&format!("{}:", note.severity), bold);
        let place =
            if note.place.is_empty() { String::new() } else { format!(" ({})", note.place) };
        tokens.extend(self.tokens(&format!("{}{place}", note.message), BODY));
        let start = self.flow.items.len();
        self.lines(Kind::Paragraph, &tokens, BODY, [0.0, INDENT], false);
        self.flow.space(start, 3.0);
        if !note.help.is_empty() {
            if let Some(last) = self.flow.items.last_mut() {
                last.keep = true;
            }
            self.plain(&format!("help: {}", note.help), BODY, [INDENT, 2.0 * INDENT]);
        }
    }

    /// Small print, below a thin line.
    fn cautions(&mut self, texts: &[Text]) {
        let rule = Draw::line([0.0, 0.0], [self.width, 0.0], 0.5, 0.5);
        let parts = vec![Part { element: None, draws: vec![rule] }];
        self.flow.items.push(Item { height: 3.0, parts, keep: true, ..Item::default() });
        texts.iter().for_each(|it| self.plain(it.as_str(), SMALL, [0.0, 0.0]));
    }

    /// A picture as lines and text; what it shows in words goes with it for those who cannot see it.
    fn figure(&mut self, figure: &Figure) -> Result<(), NotDrawn> {
        let svg = plot::svg(figure)?;
        let (height, draws) =
            picture::draws(&svg, self.faces, [PICTURE_SHARE * self.width, PICTURE])?;
        let element = self.flow.element(Kind::Figure, Some(self.document));
        let instead = [&figure.title, &figure.description].map(Text::as_str);
        let said = instead.into_iter().filter(|it| !it.is_empty()).collect::<Vec<_>>().join(". ");
        if let Some(it) = self.flow.elements.get_mut(element) {
            it.instead = Some(said);
        }
        let parts = vec![Part { element: Some(element), draws }];
        self.flow.items.push(Item { height, parts, ..Item::default() });
        Ok(())
    }

    /// Nothing folds on paper: what can be left for later goes to the end.
    fn folded(&mut self, folded: &Folded) -> Result<f32, NotDrawn> {
        let Some(later) = &mut self.later else {
            self.heading(folded.title.as_str());
            self.blocks(&folded.blocks)?;
            return Ok(10.0);
        };
        later.push(folded.clone());
        let text = format!("{}: see appendix {}, at the end.", folded.title, later.len());
        self.plain(&text, BODY, [0.0, 0.0]);
        Ok(3.0)
    }

    /// Says which characters are drawn as boxes, where some are.
    fn name_what_is_missing(&mut self) {
        let mut missing = BTreeSet::new();
        let parts = self.flow.items.iter().flat_map(|it| &it.parts);
        for draw in parts.flat_map(|it| &it.draws) {
            if let Draw::Text { text, bold, .. } = draw {
                let face = self.faces.of(*bold);
                missing.extend(text.chars().filter(|it| face.glyph(*it).is_none()));
            }
        }
        if missing.is_empty() {
            return;
        }
        let named = missing.iter().take(NAMED).map(|it| format!("U+{:04X}", u32::from(*it)));
        let named = named.collect::<Vec<_>>().join(", ");
        let more = match missing.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let text = format!(
            "A box stands for a character that the typeface of this page does not have: {named}{more}. \
             The text of the file has the characters."
        );
        let start = self.flow.items.len();
        self.plain(&text, SMALL, [0.0, 0.0]);
        self.flow.space(start, 6.0);
    }

    fn plain(&mut self, text: &str, style: Style, indents: [f32; 2]) {
        let tokens = self.tokens(text, style);
        self.lines(Kind::Paragraph, &tokens, style, indents, false);
    }

    fn tokens(&self, text: &str, style: Style) -> Vec<Token> {
        let words = Words::new(text, self.faces.of(style.bold), style.size);
        words.into_words().map(|(word, width)| (word, width, style.bold)).collect()
    }

    /// Returns the lines of a text in `width` points, one item each, to be kept together.
    pub(super) fn narrow(&mut self, kind: Kind, text: &str, style: Style, width: f32) -> Vec<Item> {
        let tokens = self.tokens(text, style);
        let lines = self.broken(&tokens, style, [0.0, 0.0], width);
        let element = self.flow.element(kind, Some(self.document));
        let item = |draws| {
            let parts = vec![Part { element: Some(element), draws }];
            Item { height: style.leading, parts, keep: true, ..Item::default() }
        };
        lines.into_iter().map(item).collect()
    }

    /// Adds the lines of a text, one item each; the first and the last two of them stay together, and all of
    /// them stay with what follows where `keep` says so.
    fn lines(&mut self, kind: Kind, tokens: &[Token], style: Style, indents: [f32; 2], keep: bool) {
        let lines = self.broken(tokens, style, indents, self.width);
        let count = lines.len();
        if count == 0 {
            return;
        }
        let element = self.flow.element(kind, Some(self.document));
        for (index, draws) in lines.into_iter().enumerate() {
            let parts = vec![Part { element: Some(element), draws }];
            let joined = index + 1 < count && (index == 0 || index + 2 == count);
            let keep = keep || joined;
            self.flow.items.push(Item { height: style.leading, parts, keep, ..Item::default() });
        }
    }

    /// Breaks words into lines, each as runs of one face.
    fn broken(
        &self,
        tokens: &[Token],
        style: Style,
        indents: [f32; 2],
        room: f32,
    ) -> Vec<Vec<Draw>> {
        let mut lines: Vec<Vec<Draw>> = Vec::new();
        let mut used = f32::INFINITY;
        for (word, width, bold) in tokens {
            let face = self.faces.of(*bold);
            let style = Style { bold: *bold, ..style };
            let space = face.width(" ", style.size);
            if used + space + width <= room {
                let line = lines.last_mut().map(Vec::as_mut_slice);
                match line.and_then(|it| it.last_mut()) {
                    Some(Draw::Text { text, bold: before, .. }) if *before == *bold => {
                        *text = format!("{text} {word}");
                    }
                    _ => {
                        let draw = text_at([used + space, style.base()], style, word.clone());
                        lines.extend(lines.is_empty().then(Vec::new));
                        lines.iter_mut().last().into_iter().for_each(|it| it.push(draw.clone()));
                    }
                }
                used += space + width;
                continue;
            }
            let inner = room - indents[1];
            let words = Words::of_word(word, *width);
            for (piece, width) in words.lines(inner, Fold::Anywhere, face, style.size) {
                let indent = if lines.is_empty() { indents[0] } else { indents[1] };
                lines.push(vec![text_at([indent, style.base()], style, piece)]);
                used = indent + width;
            }
        }
        lines
    }
}

/// A line of text with its base line's left end.
pub(super) fn text_at(at: [f32; 2], style: Style, text: String) -> Draw {
    Draw::Text { at, size: style.size, bold: style.bold, turn: LEVEL, text }
}
