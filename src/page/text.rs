//! Text that is safe to show: what people wrote, with everything that could act on a reader's
//! screen made harmless.
//!
//! Names come from files that others wrote. A line break or tab becomes a space, another control
//! character its visible picture (U+2400 …), and invisible characters that turn the direction of
//! writing or break lines become U+FFFD. Markup stays text: escaping it is the renderer's part.

use std::fmt;

/// A text in one line without control characters.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Text(String);

impl Text {
    /// Returns the text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Returns whether it is empty.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Text {
        Text(text.chars().map(harmless).collect())
    }
}

impl From<String> for Text {
    fn from(text: String) -> Text {
        Text::from(text.as_str())
    }
}

impl From<&String> for Text {
    fn from(text: &String) -> Text {
        Text::from(text.as_str())
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Returns the character itself, or a visible one in its place.
fn harmless(c: char) -> char {
    match c {
        '\t' | '\n' | '\r' | '\u{85}' | '\u{2028}' | '\u{2029}' => ' ',
        '\0'..='\u{1f}' => char::from_u32(0x2400 + c as u32).unwrap_or('\u{fffd}'),
        '\u{7f}' => '\u{2421}',
        '\u{80}'..='\u{9f}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' => {
            '\u{fffd}'
        }
        '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' => '\u{fffd}',
        '\u{e0000}'..='\u{e0fff}' => '\u{fffd}',
        _ => c,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_control_characters_instead_of_sending_them() {
        let text = Text::from("a\u{1b}[31mred\u{7f}\u{9b}0m\u{7}");
        assert_eq!(text.as_str(), "a\u{241b}[31mred\u{2421}\u{fffd}0m\u{2407}");
    }

    #[test]
    fn stays_in_one_line_and_one_direction() {
        assert_eq!(Text::from("one\r\ntwo\tthree").as_str(), "one  two three");
        assert_eq!(Text::from("a\u{202e}b\u{2066}c").as_str(), "a\u{fffd}b\u{fffd}c");
    }

    #[test]
    fn leaves_markup_and_other_scripts_alone() {
        for text in ["<script>alert(1)</script>", "µm, Ω, 0 °C", "標準ブロック", "Prüfmaß"]
        {
            assert_eq!(Text::from(text).as_str(), text);
        }
    }
}
