//! Folding of text to a width, counted in terminal cells (East Asian wide characters are two).
//!
//! Text is broken at spaces, never at no-break spaces; a word that is too wide is broken inside
//! only where that is allowed. Nothing is left out but the spaces at which lines break.

use crate::page::Fold;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Returns the width of a text in terminal cells.
pub(super) fn width(text: &str) -> usize {
    text.width()
}

/// Returns the width of the widest word.
pub(super) fn widest_word(text: &str) -> usize {
    text.split(' ').map(width).max().unwrap_or(0)
}

/// Returns the lines of `text`, each at most `limit` cells wide where `fold` allows it; at least one
/// line, which may be empty.
pub(super) fn lines(text: &str, limit: usize, fold: Fold) -> Vec<String> {
    if fold == Fold::Never || width(text) <= limit {
        return vec![text.to_owned()];
    }
    let mut lines = vec![String::new()];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let line = lines.last_mut().expect("the list starts with one line and only grows");
        if line.is_empty() {
            line.push_str(word);
        } else if width(line) + 1 + width(word) <= limit {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
        if fold == Fold::Anywhere {
            break_last(&mut lines, limit);
        }
    }
    lines
}

/// Breaks the last line inside its word while it is too wide.
fn break_last(lines: &mut Vec<String>, limit: usize) {
    let Some(mut rest) = lines.pop() else { return };
    while width(&rest) > limit {
        let tail = rest.split_off(fitting(&rest, limit));
        lines.push(std::mem::replace(&mut rest, tail));
        if rest.is_empty() {
            return;
        }
    }
    lines.push(rest);
}

/// The length in bytes of the longest beginning that fits; at least one character.
fn fitting(text: &str, limit: usize) -> usize {
    let mut used = 0;
    for (index, c) in text.char_indices() {
        used += c.width().unwrap_or(0);
        if used > limit && index > 0 {
            return index;
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn breaks_between_words() {
        assert_eq!(lines("one two three", 8, Fold::Words), ["one two", "three"]);
        assert_eq!(lines("one two three", 13, Fold::Words), ["one two three"]);
        assert_eq!(lines("", 3, Fold::Words), [""]);
    }

    #[test]
    fn breaks_inside_a_word_only_where_allowed() {
        assert_eq!(lines("a 123456789", 4, Fold::Words), ["a", "123456789"]);
        assert_eq!(lines("a bcdefghij", 4, Fold::Anywhere), ["a", "bcde", "fghi", "j"]);
        assert_eq!(lines("0.123456 µm", 4, Fold::Never), ["0.123456 µm"]);
    }

    #[test]
    fn counts_wide_and_combining_characters() {
        assert_eq!(lines("標準ブロック", 4, Fold::Anywhere), ["標準", "ブロ", "ック"]);
        assert_eq!(lines("標準", 1, Fold::Anywhere), ["標", "準"]);
        assert_eq!(width("e\u{301}"), 1);
    }

    #[test]
    fn loses_no_character() {
        let name = "x".repeat(5000);
        assert_eq!(lines(&name, 37, Fold::Anywhere).concat(), name);
        let joined = lines("a b  c d", 3, Fold::Words).join(" ");
        assert_eq!(joined, "a b c d");
    }
}
