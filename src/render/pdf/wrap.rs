//! Folding of text to a width in points, as a terminal folds it to cells.
//!
//! Text is broken at spaces, never at no-break spaces; a word that is too wide is broken inside only where
//! that is allowed. Nothing is left out but the spaces at which lines break.

use super::face::Face;
use crate::page::Fold;
use unicode_normalization::UnicodeNormalization;

/// Room that rounding may take, in points.
const SLACK: f32 = 0.01;

/// A text as words with their widths.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Words {
    words: Vec<(String, f32)>,
    space: f32,
}

impl Words {
    /// Reads a text; letters and their marks are put together where there is one sign for both.
    pub(super) fn new(text: &str, face: &Face, size: f32) -> Words {
        let text: String = text.nfc().collect();
        let word = |it: &str| {
            let word = it.replace(['\u{a0}', '\u{202f}'], " ");
            let width = face.width(&word, size);
            (word, width)
        };
        let words = text.split(' ').filter(|it| !it.is_empty()).map(word).collect();
        Words { words, space: face.width(" ", size) }
    }

    /// Returns a text of one word whose width is known.
    pub(super) fn of_word(word: &str, width: f32) -> Words {
        Words { words: vec![(word.to_owned(), width)], space: 0.0 }
    }

    /// Returns the words with their widths.
    pub(super) fn into_words(self) -> impl Iterator<Item = (String, f32)> {
        self.words.into_iter()
    }

    /// Returns the width of the text in one line.
    pub(super) fn width(&self) -> f32 {
        let spaces = self.words.len().saturating_sub(1) as f32;
        self.words.iter().map(|it| it.1).sum::<f32>() + spaces * self.space
    }

    /// Returns the width of the widest word.
    pub(super) fn widest(&self) -> f32 {
        self.words.iter().map(|it| it.1).fold(0.0, f32::max)
    }

    /// Returns how many lines [`Words::lines`] makes; where words are broken inside, about as many.
    pub(super) fn count(&self, limit: f32, fold: Fold) -> usize {
        if fold == Fold::Never {
            return 1;
        }
        let (mut lines, mut used) = (0, f32::INFINITY);
        for (_, width) in &self.words {
            if used + self.space + width <= limit + SLACK {
                used += self.space + width;
                continue;
            }
            let broken = fold == Fold::Anywhere && *width > limit + SLACK;
            lines += if broken { ((width / limit.max(1.0)) as usize).saturating_add(1) } else { 1 };
            used = if broken { f32::INFINITY } else { *width };
        }
        lines.max(1)
    }

    /// Returns the lines with their widths, none wider than `limit` where `fold` allows it; at least one line,
    /// which may be empty.
    pub(super) fn lines(
        &self,
        limit: f32,
        fold: Fold,
        face: &Face,
        size: f32,
    ) -> Vec<(String, f32)> {
        let mut lines: Vec<(String, f32)> = Vec::new();
        for (word, width) in &self.words {
            let room = if fold == Fold::Never { f32::INFINITY } else { limit + SLACK };
            match lines.last_mut() {
                Some(line) if line.1 + self.space + width <= room => {
                    line.0 = format!("{} {word}", line.0);
                    line.1 += self.space + width;
                }
                _ if fold == Fold::Anywhere && *width > room => {
                    lines.extend(broken(word, room, face, size));
                }
                _ => lines.push((word.clone(), *width)),
            }
        }
        if lines.is_empty() { vec![(String::new(), 0.0)] } else { lines }
    }
}

/// The pieces of a word that is wider than a line; each has a character at least, and a mark stays with its
/// letter.
fn broken(word: &str, room: f32, face: &Face, size: f32) -> Vec<(String, f32)> {
    let mut pieces = Vec::new();
    let (mut piece, mut used) = (String::new(), 0.0);
    for c in word.chars() {
        let width = face.advance(c) * size / 1000.0;
        if used + width > room && width > 0.0 && !piece.is_empty() {
            pieces.push((std::mem::take(&mut piece), used));
            used = 0.0;
        }
        piece.push(c);
        used += width;
    }
    pieces.push((piece, used));
    pieces
}

#[cfg(test)]
mod tests {
    use super::super::face::Faces;
    use super::*;

    fn folded(text: &str, limit: f32, fold: Fold) -> Vec<String> {
        let faces = Faces::new().unwrap();
        let face = faces.of(false);
        let words = Words::new(text, face, 10.0);
        let lines = words.lines(limit, fold, face, 10.0);
        for (line, width) in &lines {
            assert!((face.width(line, 10.0) - width).abs() < 0.02, "{line}: {width}");
        }
        lines.into_iter().map(|it| it.0).collect()
    }

    #[test]
    fn breaks_between_words_and_inside_only_where_allowed() {
        assert_eq!(folded("one two three", 45.0, Fold::Words), ["one two", "three"]);
        assert_eq!(folded("one two three", 450.0, Fold::Words), ["one two three"]);
        assert_eq!(folded("one two three", 5.0, Fold::Never), ["one two three"]);
        assert_eq!(folded("0.25\u{a0}µm", 5.0, Fold::Words), ["0.25 µm"]);
        assert_eq!(folded("", 5.0, Fold::Anywhere), [""]);
        assert!(folded("abcdefghij", 20.0, Fold::Anywhere).len() > 2);
    }

    #[test]
    fn loses_no_character_and_leaves_no_line_too_wide() {
        let name = "µ標x".repeat(1700);
        let lines = folded(&name, 100.0, Fold::Anywhere);
        assert_eq!(lines.concat(), name);
        let faces = Faces::new().unwrap();
        assert!(lines.iter().all(|it| faces.of(false).width(it, 10.0) <= 100.02));
        let words = Words::new(&name, faces.of(false), 10.0);
        let count = words.count(100.0, Fold::Anywhere);
        assert!(count.abs_diff(lines.len()) <= lines.len() / 5, "{count} of {}", lines.len());
    }

    #[test]
    fn keeps_a_mark_with_its_letter() {
        assert_eq!(folded("e\u{301}x\u{304}", 500.0, Fold::Words), ["éx\u{304}"]);
        let lines = folded(&"x\u{304}".repeat(40), 12.0, Fold::Anywhere);
        assert!(lines.iter().all(|it| it.starts_with('x')), "{lines:?}");
    }
}
