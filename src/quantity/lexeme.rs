//! The extent of a number at the start of a text, and what to type instead of other notations.
//!
//! Characters in, a length or a fault out; no value is computed here. The grammar:
//!
//! ```text
//! number   = digits ["." digits] [("e" | "E") ["+" | "-" | "−"] digits]
//! digits   = "0" … "9", one or more; in front of the point no zero before another digit
//! ```

use super::TextFault;

/// The minus sign U+2212.
pub(super) const MINUS: char = '\u{2212}';

/// Returns how many characters the unsigned number at the start of `chars` takes.
///
/// # Errors
///
/// What stands there instead of a number, or goes on after it as no number can (`1_000`, `0,5`,
/// `1.2.3`, `0x1f`, `012`, `1:30`), with what to type.
pub(super) fn number_length(chars: &[char]) -> Result<usize, TextFault> {
    let whole = digits(chars);
    if whole == 0 {
        return Err(missing_digits(chars));
    }
    refuse_radix(chars)?;
    let mut end = whole;
    if chars.get(end) == Some(&'.') {
        let fraction = digits(&chars[end + 1..]);
        if fraction == 0 {
            let written = text(&chars[..=end]);
            let what = format!("`{written}` has no digit after the point");
            let zeros = chars[..whole - 1].iter().take_while(|c| **c == '0').count();
            return Err(TextFault::new(0, what, format!("{}0", &written[zeros..])));
        }
        end += 1 + fraction;
    }
    end += exponent(&chars[end..]);
    refuse_leading_zero(&chars[..end], whole)?;
    refuse_separator(chars, whole, end)?;
    Ok(end)
}

/// Returns how many characters the sign at the start of `chars` takes, and whether it is a minus.
pub(super) fn sign(chars: &[char]) -> (usize, bool) {
    match chars.first() {
        Some('+') => (1, false),
        Some('-' | &MINUS) => (1, true),
        _ => (0, false),
    }
}

/// Returns the fault for a text that is no number at all.
pub(super) fn not_a_number(chars: &[char]) -> TextFault {
    let written = text(chars);
    let word = written.trim_start_matches(['.', '+', '-', MINUS]).to_lowercase();
    let (what, help) = match word.as_str() {
        "" if written.is_empty() => ("a number is missing".to_owned(), String::new()),
        "inf" | "infinity" | "nan" | "∞" => (
            format!("`{written}` is not a number that can be computed with"),
            "write a finite decimal number".to_owned(),
        ),
        "~" | "null" => (
            format!("`{written}` is not a number"),
            "write a number, or leave the key out".to_owned(),
        ),
        _ => (format!("`{written}` is not a number"), String::new()),
    };
    TextFault::new(0, what, help)
}

/// Whether `c` separates a number from its unit: a space or one that does not break a line.
pub(super) fn is_gap(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{202f}')
}

/// Returns the fault for groups of digits with spaces between them, where `chars` starts so.
pub(super) fn refuse_groups(chars: &[char], number: usize) -> Result<(), TextFault> {
    let is_part = |c: &char| c.is_ascii_digit() || c.is_whitespace() || *c == '.';
    let gap = chars[number..].iter().take_while(|c| c.is_whitespace()).count();
    if gap == 0 || !chars.get(number + gap).is_some_and(char::is_ascii_digit) {
        return Ok(());
    }
    let end = chars.iter().take_while(|c| is_part(c)).count().max(number);
    let written = text(&chars[..end]);
    let joined: String = written.chars().filter(|c| !c.is_whitespace()).collect();
    let joined = trim_zeros(&joined);
    let what = format!("`{}` has a space between digits", written.trim_end());
    Err(TextFault::new(number, what, joined))
}

/// Returns the characters as a text.
pub(super) fn text(chars: &[char]) -> String {
    chars.iter().collect()
}

/// Returns the number of ASCII digits at the start.
fn digits(chars: &[char]) -> usize {
    chars.iter().take_while(|c| c.is_ascii_digit()).count()
}

/// Returns the length of the exponent at the start, 0 where there is none.
fn exponent(chars: &[char]) -> usize {
    let Some(rest) = chars.strip_prefix(&['e']).or_else(|| chars.strip_prefix(&['E'])) else {
        return 0;
    };
    let sign = sign(rest).0;
    match digits(&rest[sign..]) {
        0 => 0,
        count => 1 + sign + count,
    }
}

/// Returns the fault for `.5`, or for no number at all.
fn missing_digits(chars: &[char]) -> TextFault {
    let fraction = if chars.first() == Some(&'.') { digits(&chars[1..]) } else { 0 };
    if fraction == 0 {
        return not_a_number(chars);
    }
    let end = 1 + fraction + exponent(&chars[1 + fraction..]);
    let written = text(&chars[..end]);
    TextFault::new(0, format!("`{written}` has no digit before the point"), format!("0{written}"))
}

/// Refuses hexadecimal, octal and binary numbers.
fn refuse_radix(chars: &[char]) -> Result<(), TextFault> {
    let radix = match chars {
        ['0', 'x' | 'X', ..] => 16,
        ['0', 'o' | 'O', ..] => 8,
        ['0', 'b' | 'B', ..] => 2,
        _ => return Ok(()),
    };
    let count = chars[2..].iter().take_while(|c| c.is_digit(radix)).count();
    if count == 0 {
        return Ok(());
    }
    let written = text(&chars[..2 + count]);
    let help = u128::from_str_radix(&written[2..], radix).map(|value| value.to_string());
    let what = format!("`{written}` is not a decimal number");
    Err(TextFault::new(0, what, help.unwrap_or_default()))
}

/// Refuses `012`, of which nobody knows whether it is meant as octal; `whole` digits stand first.
fn refuse_leading_zero(number: &[char], whole: usize) -> Result<(), TextFault> {
    if whole < 2 || number[0] != '0' {
        return Ok(());
    }
    let zeros = number[..whole - 1].iter().take_while(|c| **c == '0').count();
    let what = format!("`{}` begins with a zero", text(number));
    Err(TextFault::new(0, what, text(&number[zeros..])))
}

/// Refuses what goes on after the number at `end` as no number can.
fn refuse_separator(chars: &[char], whole: usize, end: usize) -> Result<(), TextFault> {
    let (Some(&mark), Some(true)) = (chars.get(end), chars.get(end + 1).map(char::is_ascii_digit))
    else {
        return Ok(());
    };
    let run = |mark: char| {
        chars.iter().take_while(|c| c.is_ascii_digit() || **c == mark || **c == '.').count()
    };
    let without = |mark: char| trim_zeros(&text(&chars[..run(mark)]).replace(mark, ""));
    let (what, help) = match mark {
        '_' => (format!("`{}` has `_` in it", text(&chars[..run('_')])), without('_')),
        '\'' | '’' if digits(&chars[end + 1..]) == 3 => {
            (format!("`{}` has marks between digits", text(&chars[..run(mark)])), without(mark))
        }
        ',' => comma(chars, whole, end),
        '.' => (format!("`{}` has a second point", text(&chars[..run('.')])), String::new()),
        ':' => (
            format!("`{}` is not a decimal number", text(&chars[..run(':')])),
            "write a decimal number, such as `1.5`".to_owned(),
        ),
        _ => return Ok(()),
    };
    Err(TextFault::new(end, what, help))
}

/// Returns a number's text without zeros before its first digit: joined groups may begin with some
/// (`0_0`), and what is offered must be accepted.
fn trim_zeros(number: &str) -> String {
    let trimmed = number.trim_start_matches('0');
    let zero = if trimmed.starts_with(|c: char| c.is_ascii_digit()) { "" } else { "0" };
    format!("{zero}{trimmed}")
}

/// Returns what is wrong with a comma at `end`, and what to type: `0.5` for `0,5`; both readings of
/// `1,000`; `1000.5` for `1,000.5`.
fn comma(chars: &[char], whole: usize, end: usize) -> (String, String) {
    let run = chars.iter().take_while(|c| c.is_ascii_digit() || matches!(c, ',' | '.')).count();
    let written = text(&chars[..run]);
    let written = written.trim_end_matches([',', '.']);
    let (joined, commas) = (written.replace(',', ""), written.matches(',').count());
    let grouped = whole <= 3 && end == whole && digits(&chars[end + 1..]) == 3 && chars[0] != '0';
    let help = match (commas, grouped, written.contains('.')) {
        (1, true, false) => format!("`{}` or `{joined}`", written.replace(',', ".")),
        (_, true, _) => joined,
        (1, false, false) => written.replace(',', "."),
        _ => "write a point for the decimals and no mark between groups of digits".to_owned(),
    };
    (format!("`{written}` has a comma between digits"), help)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &str) -> Result<usize, TextFault> {
        number_length(&text.chars().collect::<Vec<_>>())
    }

    #[test]
    fn a_joined_number_is_offered_without_leading_zeros() {
        for (written, help) in [("0_0", "0"), ("0_0.5", "0.5"), ("1_000", "1000")] {
            assert_eq!(length(written).unwrap_err().help, help);
        }
    }

    #[test]
    fn a_number_ends_where_it_cannot_go_on() {
        for (written, expected) in [
            ("5", 1),
            ("0", 1),
            ("0.50 mm", 4),
            ("1.5e3 mm", 5),
            ("1e\u{2212}3", 4),
            ("2 e", 1),
            ("2e", 1),
            ("2e-x", 1),
            ("3E+2x", 4),
            ("0x", 1),
            ("5, 6", 1),
            ("5'", 1),
        ] {
            assert_eq!(length(written).unwrap(), expected, "{written}");
        }
    }

    #[test]
    fn refuses_other_notations_with_what_to_type() {
        for (written, help) in [
            ("1_000", "1000"),
            ("1_000_000.5 mm", "1000000.5"),
            ("0,5", "0.5"),
            ("12,75 mm", "12.75"),
            ("1,000", "`1.000` or `1000`"),
            ("1,000.5", "1000.5"),
            ("1,000,000", "1000000"),
            ("0,500", "0.500"),
            (".5", "0.5"),
            (".5e3", "0.5e3"),
            ("5.", "5.0"),
            ("5.mm", "5.0"),
            ("00.", "0.0"),
            ("0x1f", "31"),
            ("0b11", "3"),
            ("0o17", "15"),
            ("012", "12"),
            ("00", "0"),
            ("00.5", "0.5"),
            ("1'000", "1000"),
            ("1.2.3", ""),
            ("1:30", "write a decimal number, such as `1.5`"),
        ] {
            assert_eq!(length(written).unwrap_err().help, help, "{written}");
        }
    }

    #[test]
    fn shows_what_was_written() {
        for (written, what) in [
            ("1_000 mm", "`1_000` has `_` in it"),
            ("0,5 mm", "`0,5` has a comma between digits"),
            ("5. mm", "`5.` has no digit after the point"),
            ("0x1fg", "`0x1f` is not a decimal number"),
            (".inf", "`.inf` is not a number that can be computed with"),
            ("~", "`~` is not a number"),
            ("", "a number is missing"),
        ] {
            assert_eq!(length(written).unwrap_err().what, what);
        }
    }
}
