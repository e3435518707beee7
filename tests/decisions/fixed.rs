//! Decimals as whole numbers of 1e-12, so that the tests compare exactly and share no code with the program.

/// A decimal with at most twelve places, in units of 1e-12.
pub type Fixed = i128;

/// One, in units of 1e-12.
pub const ONE: Fixed = 1_000_000_000_000;

/// Reads a decimal as the record prints it: `+2.54`, `−2.54`, `10.300`.
pub fn fixed(text: &str) -> Fixed {
    let text = text.replace('−', "-");
    let (negative, digits) = match text.strip_prefix('-') {
        Some(digits) => (true, digits),
        None => (false, text.strip_prefix('+').unwrap_or(&text)),
    };
    let (whole, rest) = digits.split_once('.').unwrap_or((digits, ""));
    assert!(rest.len() <= 12, "at most twelve places: {text}");
    let number: Fixed = format!("{whole}{rest:0<12}").parse().expect("digits");
    if negative { -number } else { number }
}

/// Writes it as a person would, without zeros at the end.
pub fn written(number: Fixed) -> String {
    let (whole, rest) = (number.abs() / ONE, number.abs() % ONE);
    let sign = if number < 0 { "-" } else { "" };
    let rest = format!("{rest:012}");
    let rest = rest.trim_end_matches('0');
    if rest.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{rest}") }
}

#[test]
fn texts_and_numbers_go_both_ways() {
    assert_eq!(fixed("+2.54"), 2_540_000_000_000);
    assert_eq!(fixed("−0.5"), -ONE / 2);
    assert_eq!(written(fixed("10.300")), "10.3");
    assert_eq!(written(fixed("-0.0001")), "-0.0001");
    assert_eq!(written(0), "0");
}
