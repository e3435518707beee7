//! Carries a place in a scalar's value back to the text that it was read from.
//!
//! A value and its text differ by quotes, escapes, and the line breaks and indentation of a text
//! over several lines (YAML 1.2.2, chapters 7.3 and 8.1). All counts are characters, from 0.

/// How a node is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Style {
    /// Without quotes.
    Plain,
    /// In `'…'`.
    Single,
    /// In `"…"`.
    Double,
    /// A block after `|`.
    Literal,
    /// A block after `>`.
    Folded,
    /// A list, a map, or a single place.
    Other,
}

/// Returns where character `offset` of the value stands in `raw`, at most the length of `raw`.
/// Offset 0 of a quoted or block text is its first own character, not the quote.
pub(super) fn offset_in(raw: &str, style: Style, offset: usize) -> usize {
    let simple = !raw.contains(['\n', '\\']) && !raw.contains("''");
    match style {
        Style::Other => offset,
        Style::Plain if simple => offset,
        Style::Single | Style::Double if simple => offset + 1,
        Style::Literal | Style::Folded => in_block(raw, style, offset),
        _ => in_flow(raw, style, offset),
    }
}

/// Plain and quoted texts: a line break with the blanks around it is one space, each further one is
/// a line break of the value.
fn in_flow(raw: &str, style: Style, offset: usize) -> usize {
    let chars: Vec<char> = raw.chars().collect();
    let (mut at, mut seen) = (usize::from(style != Style::Plain), 0);
    while at < chars.len() {
        let (width, makes) = match fold(&chars, at) {
            Some((next, breaks)) => (next - at, (breaks - 1).max(1)),
            None => step(&chars, at, style),
        };
        if offset < seen + makes {
            return at;
        }
        seen += makes;
        at += width;
    }
    chars.len()
}

/// Where blanks and at least one line break begin at `at`: the next text and the number of breaks.
fn fold(chars: &[char], at: usize) -> Option<(usize, usize)> {
    let run = chars[at..].iter().take_while(|c| matches!(c, ' ' | '\t' | '\r' | '\n'));
    let (length, breaks) =
        run.fold((0, 0), |(length, breaks), c| (length + 1, breaks + usize::from(*c == '\n')));
    (breaks > 0).then_some((at + length, breaks))
}

/// How many characters of the text make how many of the value, within a line.
fn step(chars: &[char], at: usize, style: Style) -> (usize, usize) {
    let next = chars.get(at + 1).copied();
    match (style, chars[at], next) {
        (Style::Single, '\'', Some('\'')) => (2, 1),
        (Style::Double, '\\', Some('x')) => (4, 1),
        (Style::Double, '\\', Some('u')) => (6, 1),
        (Style::Double, '\\', Some('U')) => (10, 1),
        (Style::Double, '\\', Some('\n' | '\r')) => {
            let (end, _) = fold(chars, at + 1).unwrap_or((at + 2, 1));
            (end - at, 0)
        }
        (Style::Double, '\\', Some(_)) => (2, 1),
        _ => (1, 1),
    }
}

/// Block texts: `raw` begins at the `|` or `>`; the indentation is that of the first line with text.
fn in_block(raw: &str, style: Style, offset: usize) -> usize {
    let mut lines = raw.split_inclusive('\n');
    let mut at = lines.next().map_or(0, |header| header.chars().count());
    let is_empty = |line: &str| line.trim_end().is_empty();
    let first = raw.split('\n').skip(1).find(|line| !is_empty(line));
    let indent = first.map_or(0, |line| line.chars().take_while(|c| *c == ' ').count());
    let (mut seen, mut after_empty) = (0, false);
    for line in lines {
        let text = line.trim_end_matches(['\n', '\r']);
        let length = text.chars().count();
        let skipped = text.chars().take_while(|c| *c == ' ').count().min(indent);
        // Before an empty line, the line break of a folded text is only the fold.
        let fold = style == Style::Folded && is_empty(line) && !after_empty && seen > 0;
        seen -= usize::from(fold);
        after_empty = is_empty(line);
        let makes = length - skipped + 1;
        if offset < seen + makes {
            return at + skipped + (offset - seen);
        }
        seen += makes;
        at += line.chars().count();
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each value character must be found at the same character of the text.
    fn check(raw: &str, style: Style, value: &str, but: &str) {
        let chars: Vec<char> = raw.chars().collect();
        for (offset, expected) in value.chars().enumerate() {
            if !but.contains(expected) {
                assert_eq!(chars[offset_in(raw, style, offset)], expected, "{raw:?} {offset}");
            }
        }
    }

    #[test]
    fn finds_characters_within_a_line() {
        check("±max(0.1 µm)", Style::Plain, "±max(0.1 µm)", "");
        check("'a b'", Style::Single, "a b", "");
        check("\"a b\"", Style::Double, "a b", "");
        check("'it''s so'", Style::Single, "it's so", "");
        check("\"a\\u00b5b\\x41c\\\"d\"", Style::Double, "aµbAc\"d", "µA\"");
        check("a\\b''c", Style::Plain, "a\\b''c", "");
    }

    #[test]
    fn finds_characters_over_several_lines() {
        check("ab\n   cd  \n ef", Style::Plain, "ab cd ef", " ");
        check("ab\n\n\n  cd", Style::Plain, "ab\n\ncd", "");
        check("'ab\r\n  cd'", Style::Single, "ab cd", " ");
        check("\"ab\\\n  cd\"", Style::Double, "abcd", "");
        check("|  # note\n  ab\n   cd\n\n  ef\n", Style::Literal, "ab\n cd\n\nef\n", "");
        check(">-\n  ab\n  cd\n\n  ef\n", Style::Folded, "ab cd\nef", " \n");
    }

    #[test]
    fn stays_within_the_text() {
        for style in [Style::Plain, Style::Single, Style::Double, Style::Literal, Style::Folded] {
            assert!(offset_in("|\n\n", style, 99) <= 3);
            assert!(offset_in("\"\\", style, 99) <= 100);
        }
    }
}
