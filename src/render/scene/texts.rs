//! How wide a text is, roughly, and its lines where it is too wide.

use unicode_width::UnicodeWidthChar;

/// Returns the width of a text in letters of `size`: an estimate from above for common sans serif faces.
pub(super) fn width(text: &str, size: f64) -> f64 {
    size * text.chars().map(em).sum::<f64>()
}

/// The width of a character in sizes of its letters.
fn em(c: char) -> f64 {
    match c {
        _ if c.width() == Some(2) => 1.0,
        _ if c.width() == Some(0) => 0.0,
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '!' | '\'' | '|' | ' ' | '\u{a0}' => 0.32,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '-' | '/' => 0.41,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.95,
        _ if c.is_uppercase() => 0.7,
        _ => 0.6,
    }
}

/// Returns at most `most` lines of `room` at most, broken between words or, where a word is too wide, inside
/// it; what does not fit is cut off at `…`.
pub(super) fn folded(text: &str, size: f64, room: f64, most: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut rest = text.trim();
    while !rest.is_empty() {
        if lines.last().is_some_and(|it| !it.is_empty()) {
            lines.push(String::new());
        }
        let Some(line) = lines.last_mut() else { break };
        let end = fitting(rest, size, room);
        let cut = if rest[end..].is_empty() || rest[end..].starts_with(' ') {
            end
        } else {
            rest[..end].rfind(' ').filter(|it| *it > 0).unwrap_or(end)
        };
        line.push_str(rest[..cut].trim_end());
        rest = rest[cut..].trim_start();
        if lines.len() == most && !rest.is_empty() {
            let Some(line) = lines.last_mut() else { break };
            let whole = format!("{line} {rest}");
            let end = fitting(&whole, size, room - width("…", size));
            *line = format!("{}…", whole[..end].trim_end());
            break;
        }
    }
    lines
}

/// The length in bytes of the longest beginning that fits; at least one character.
fn fitting(text: &str, size: f64, room: f64) -> usize {
    let mut used = 0.0;
    for (index, c) in text.char_indices() {
        used += size * em(c);
        if used > room && index > 0 {
            return index;
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folds_between_words_and_cuts_what_is_left() {
        // In letters of 10 a plain character is 6 wide, a space 3.2: three words of three take 18 each.
        assert_eq!(folded("abc abd abe", 10.0, 61.0, 2), ["abc abd abe"]);
        assert_eq!(folded("abc abd abe", 10.0, 40.0, 2), ["abc abd", "abe"]);
        assert_eq!(folded("abc abd abe abg", 10.0, 24.5, 2), ["abc", "abd…"]);
        assert_eq!(folded("", 10.0, 25.0, 2), [""]);
    }

    #[test]
    fn no_line_is_wider_than_its_room_whatever_the_name() {
        for name in ["x".repeat(5000), "標準ブロック".repeat(100), "one two ".repeat(900)] {
            let lines = folded(&name, 26.0, 200.0, 2);
            assert_eq!(lines.len(), 2);
            assert!(lines.iter().all(|it| width(it, 26.0) <= 200.0), "{lines:?}");
            assert!(lines[1].ends_with('…'));
        }
    }
}
