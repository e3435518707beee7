//! Names: which words can be one, and the one form that each is kept in.
//!
//! A name starts with a letter of any script; letters, digits, `_`, subscript digits and letters
//! and combining marks (`x̄`) follow. Spellings that look alike are made one: NFC, and the micro
//! sign (U+00B5) becomes the Greek letter (U+03BC).

use super::expr::Function;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Folds a name to NFC with µ (U+00B5) and μ (U+03BC) made one (U+03BC).
pub fn fold(name: &str) -> String {
    name.nfc().map(|letter| if letter == '\u{b5}' { '\u{3bc}' } else { letter }).collect()
}

/// Returns why `name` cannot be a name (reserved, not a word), or `None`.
pub fn name_problem(name: &str) -> Option<String> {
    let folded = fold(name);
    let Some(first) = folded.chars().next() else {
        return Some("a name cannot be empty".into());
    };
    if !starts_word(first) {
        return Some(format!("`{name}` cannot be a name: a name starts with a letter"));
    }
    if let Some(bad) = folded.chars().find(|letter| !continues_word(*letter)) {
        let bad = if bad == ' ' { "a space".into() } else { format!("`{bad}`") };
        let rule = "a name has only letters, digits, `_` and subscripts";
        return Some(format!("`{name}` cannot be a name because of {bad}: {rule}"));
    }
    let taken = match folded.as_str() {
        "pi" => "it is the number π",
        "reading" => "it is what the instrument shows",
        "log" => "it would be taken for a logarithm",
        word if Function::named(word).is_some() => "it is a function",
        _ => return None,
    };
    Some(format!("`{name}` cannot be a name: {taken}"))
}

/// Returns whether a word of an expression can start with `letter`.
pub(super) fn starts_word(letter: char) -> bool {
    letter.is_alphabetic() && !is_subscript(letter) && !is_combining_mark(letter)
}

/// Returns whether `letter` belongs to a word that has started.
pub(super) fn continues_word(letter: char) -> bool {
    letter.is_alphabetic()
        || letter.is_ascii_digit()
        || letter == '_'
        || is_subscript(letter)
        || is_combining_mark(letter)
}

fn is_subscript(letter: char) -> bool {
    matches!(letter, '\u{2080}'..='\u{2089}' | '\u{2090}'..='\u{209c}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folds_micro_sign_and_composes_accents() {
        assert_eq!(fold("\u{b5}_r"), "\u{3bc}_r");
        assert_eq!(fold("\u{3bc}_r"), "\u{3bc}_r");
        assert_eq!(fold("e\u{301}"), "é");
        assert_eq!(fold("\u{2126}"), "\u{3a9}");
    }

    #[test]
    fn takes_letters_of_any_script_with_subscripts() {
        for name in ["L", "Δt", "α₁₂", "x_2", "тест", "長さ", "x\u{304}", "tₐ", "sinus", "pi2"]
        {
            assert_eq!(name_problem(name), None, "{name}");
        }
    }

    #[test]
    fn refuses_what_is_no_word_and_says_why() {
        let cases = [
            ("", "a name cannot be empty"),
            ("2x", "`2x` cannot be a name: a name starts with a letter"),
            ("_x", "`_x` cannot be a name: a name starts with a letter"),
            ("₂x", "`₂x` cannot be a name: a name starts with a letter"),
            (
                "a-b",
                "`a-b` cannot be a name because of `-`: a name has only letters, digits, `_` and subscripts",
            ),
            (
                "a b",
                "`a b` cannot be a name because of a space: a name has only letters, digits, `_` and subscripts",
            ),
            (
                "x²",
                "`x²` cannot be a name because of `²`: a name has only letters, digits, `_` and subscripts",
            ),
            ("pi", "`pi` cannot be a name: it is the number π"),
            ("reading", "`reading` cannot be a name: it is what the instrument shows"),
            ("log", "`log` cannot be a name: it would be taken for a logarithm"),
            ("atan2", "`atan2` cannot be a name: it is a function"),
        ];
        for (name, why) in cases {
            assert_eq!(name_problem(name).as_deref(), Some(why));
        }
    }
}
