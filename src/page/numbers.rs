//! Numbers as a reader sees them: rounded for the eye, never cut.
//!
//! These are for reading; the record keeps full digits, and the figures to be reported are rounded
//! by `propagate` and stand in the record as text.

use crate::record::Dof;

/// Returns a number with `digits` significant digits (1 to 15), without an exponent from 0.00001
/// to below ten million (after rounding), and as `1.2e-7` beyond; 0 is `0`.
pub fn significant(number: f64, digits: usize) -> String {
    if number == 0.0 {
        return "0".into();
    }
    // `{:e}` rounds to the digits asked for, so its exponent is the one after rounding.
    let scientific = format!("{number:.*e}", digits.saturating_sub(1));
    let exponent = scientific.split_once('e').and_then(|(_, it)| it.parse::<i32>().ok());
    match exponent {
        Some(exponent @ -5..=6) => {
            let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
            let rounded = scientific.parse::<f64>().unwrap_or(number);
            minus(&format!("{rounded:.decimals$}"))
        }
        _ => minus(&scientific),
    }
}

/// Returns a text with a true minus sign before each number below zero, so that a page has one sign
/// for it; hyphens and exponents stay.
pub fn minus(text: &str) -> String {
    let mut before = ' ';
    let mut signed = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        let sign = c == '-' && before == ' ' && rest.peek().is_some_and(char::is_ascii_digit);
        signed.push(if sign { '\u{2212}' } else { c });
        before = if c == '\u{a0}' { ' ' } else { c };
    }
    signed
}

/// Returns running text in which no line ends between a number and `unit`.
pub fn kept_together(text: &str, unit: &str) -> String {
    let apart = format!(" {unit}");
    let mut pieces = text.split(apart.as_str()).peekable();
    let mut joined = String::with_capacity(text.len());
    while let Some(piece) = pieces.next() {
        joined.push_str(piece);
        let Some(next) = pieces.peek() else { break };
        let whole = !next.starts_with(char::is_alphanumeric);
        let number = joined.ends_with(|c: char| c.is_ascii_digit());
        joined.push_str(if number && whole && !unit.is_empty() { "\u{a0}" } else { " " });
        joined.push_str(unit);
    }
    joined
}

/// Returns an uncertainty: two significant digits.
pub fn uncertainty(number: f64) -> String {
    significant(number, 2)
}

/// Returns a number as short as three significant digits allow: `−1`, `0.025`, `11.5`.
pub fn short(number: f64) -> String {
    trimmed(number, 3)
}

/// Returns what follows from one reading, to six significant digits and with at least `decimals`:
/// `2.0`, `−1.25`, `2.54`.
pub fn value(number: f64, decimals: usize) -> String {
    let text = trimmed(number, 6);
    let given = text.split_once('.').map_or(0, |(_, it)| it.len());
    if text.contains('e') || given >= decimals {
        return text;
    }
    let point = if given == 0 { "." } else { "" };
    format!("{text}{point}{}", "0".repeat(decimals - given))
}

/// Returns a limit as it was given, without zeros at the end: nine significant digits, so that `1000.0025` is not
/// taken for `1000`.
pub fn given(number: f64) -> String {
    trimmed(number, 9)
}

fn trimmed(number: f64, digits: usize) -> String {
    let text = significant(number, digits);
    if text.contains('e') || !text.contains('.') {
        return text;
    }
    text.trim_end_matches('0').trim_end_matches('.').into()
}

/// Returns a number with its unit; a plain number (unit `1`) stands alone. A narrow column may put
/// the unit into the next line.
pub fn with_unit(number: &str, unit: &str) -> String {
    if unit == "1" || unit.is_empty() { number.into() } else { format!("{number} {unit}") }
}

/// Returns a number with its unit for running text: the two stay in one line.
pub fn joined(number: &str, unit: &str) -> String {
    with_unit(number, unit).replace(' ', "\u{a0}")
}

/// Returns degrees of freedom rounded down, as the quantile takes them: `16`, `∞`.
pub fn dof(dof: Dof) -> String {
    let number = dof.get();
    if dof.is_infinite() {
        "∞".into()
    } else if number >= 1e5 {
        significant(number, 2)
    } else {
        // Within 1e-9 of an integer it is that integer, as in the quantile; and never below 1.
        format!("{:.0}", (number * (1.0 + 1e-9)).floor().max(1.0))
    }
}

/// Returns a tolerance-to-uncertainty ratio, rounded down so that it never looks better than it is:
/// `3.9` for 3.98, from 100 on without decimals; `–` where none is stated.
pub fn tur(tur: Option<f64>) -> String {
    match tur {
        None => "–".into(),
        Some(tur) if tur < 1e5 => {
            let decimals = if tur < 100.0 { 1 } else { 0 };
            let scale = if tur < 100.0 { 10.0 } else { 1.0 };
            format!("{:.decimals$}", (tur * scale * (1.0 + 1e-12)).floor() / scale)
        }
        Some(tur) => significant(tur, 2),
    }
}

/// Returns a share in per cent: `59 %`, `<1 %`, `just below 0 %`, `0 %` only where it is zero.
pub fn share(share: f64) -> String {
    let percent = share * 100.0;
    if percent == 0.0 {
        "0 %".into()
    } else if percent.abs() < 1.0 {
        if percent > 0.0 { "<1 %".into() } else { "just below 0 %".into() }
    } else {
        minus(&format!("{percent:.0} %"))
    }
}

/// Returns a risk in per cent, with two significant digits and rounded up, so that it never looks
/// smaller than it is; below 0.001 % it is `under 0.001 %`.
pub fn risk(risk: f64) -> String {
    let percent = risk * 100.0;
    if percent == 0.0 {
        return "0 %".into();
    }
    if percent < 1e-3 {
        return "under 0.001 %".into();
    }
    let mut decimals = 0;
    let mut scale = 1.0;
    while percent * scale < 9.5 && decimals < 5 {
        decimals += 1;
        scale *= 10.0;
    }
    let up = ((percent * scale) * (1.0 - 1e-12)).ceil() / scale;
    format!("{up:.decimals$} %")
}

/// Returns the same as [`risk`], for a narrow column that has `%` in its heading: `8.3`, `<0.001`.
pub fn risk_percent(risk: f64) -> String {
    self::risk(risk).replace("under ", "<").replace(" %", "")
}

/// Returns a probability in per cent, rounded down to two decimals: `95.45 %`.
pub fn probability(probability: f64) -> String {
    let hundredths = (probability * 1e4 * (1.0 + 1e-12)).floor() / 100.0;
    format!("{hundredths} %")
}

/// Returns a probability of being within tolerance in per cent, rounded down so that it never looks
/// better than it is: `98.3 %`, from 99 % with two decimals; `over 99.99 %`, `under 0.1 %`.
pub fn conformance(probability: f64) -> String {
    let percent = probability * 100.0;
    let decimals = if percent < 99.0 { 1 } else { 2 };
    let scale = if percent < 99.0 { 10.0 } else { 100.0 };
    match percent {
        it if it >= 99.99 => "over 99.99 %".into(),
        it if it < 0.1 => "under 0.1 %".into(),
        it => format!("{:.decimals$} %", (it * scale * (1.0 + 1e-12)).floor() / scale),
    }
}

/// Returns the upper end of an interval of a share in per cent, rounded up: `98.4 %`, from 99 % with two decimals.
pub fn share_above(share: f64) -> String {
    let percent = share * 100.0;
    let (decimals, scale) = if percent < 99.0 { (1, 10.0) } else { (2, 100.0) };
    match percent {
        it if it >= 100.0 => "100 %".into(),
        it => format!("{:.decimals$} %", (it * scale * (1.0 - 1e-12)).ceil() / scale),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: never rounded up, so that 98.39 % is not 98.4 %.
    #[test]
    fn a_probability_of_conformance_is_rounded_down() {
        let cases = [
            (1.0, "over 99.99 %"),
            (0.99989, "99.98 %"),
            (0.9839, "98.3 %"),
            (0.9990, "99.90 %"),
            (0.5, "50.0 %"),
            (0.0009, "under 0.1 %"),
        ];
        for (probability, text) in cases {
            assert_eq!(conformance(probability), text);
        }
    }

    #[test]
    fn keeps_significant_digits_and_closing_zeros() {
        let cases = [
            (0.7123, "0.71"),
            (0.0996, "0.10"),
            (9.96, "10"),
            (1234.5, "1200"),
            (0.00001234, "0.000012"),
            (0.0000099999, "0.000010"),
            (1.26e-7, "1.3e-7"),
            (9.99e6, "1.0e7"),
            (9.4e6, "9400000"),
            (1.26e9, "1.3e9"),
            (-0.5, "−0.50"),
            (0.0, "0"),
        ];
        for (number, expected) in cases {
            assert_eq!(uncertainty(number), expected, "{number}");
        }
    }

    #[test]
    fn shortens_without_changing_the_value() {
        let cases = [(1.0, "1"), (-1.0, "−1"), (0.025, "0.025"), (11.5, "11.5"), (1000.0, "1000")];
        for (number, expected) in cases {
            assert_eq!(short(number), expected);
        }
        assert_eq!(value(-123.25, 1), "−123.25");
        assert_eq!(value(0.1 + 0.2, 0), "0.3");
    }

    #[test]
    fn writes_one_minus_sign_and_leaves_hyphens_and_exponents() {
        let cases = [
            ("-1 µm to 3 µm", "−1 µm to 3 µm"),
            ("up to -1.5", "up to −1.5"),
            ("part 7-5, 1e-7, a -b", "part 7-5, 1e-7, a -b"),
        ];
        for (text, expected) in cases {
            assert_eq!(minus(text), expected);
        }
        assert_eq!(significant(-1.26e-9, 2), "−1.3e-9");
    }

    #[test]
    fn never_parts_a_number_from_its_unit() {
        let text = "reads 3 in; it lies in the limit 4 in, 5 inner";
        let expected = "reads 3\u{a0}in; it lies in the limit 4\u{a0}in, 5 inner";
        assert_eq!(kept_together(text, "in"), expected);
        assert_eq!(kept_together("2 µm", "µm"), "2\u{a0}µm");
    }

    #[test]
    fn a_limit_keeps_the_digits_that_it_was_given_with() {
        assert_eq!(given(1000.0025), "1000.0025");
        assert_eq!(given(-0.03), "−0.03");
        assert_eq!(given(0.1 + 0.2), "0.3", "and none that arithmetic adds");
    }

    #[test]
    fn pads_an_error_to_the_decimals_of_its_column() {
        let cases = [(1.0, "1.00"), (-1.5, "−1.50"), (0.0, "0.00"), (1.125, "1.125")];
        for (number, expected) in cases {
            assert_eq!(value(number, 2), expected);
        }
    }

    #[test]
    fn never_shows_a_ratio_better_than_it_is() {
        assert_eq!(tur(Some(3.999)), "3.9");
        assert_eq!(tur(Some(4.0)), "4.0");
        assert_eq!(tur(Some(250.9)), "250");
        assert_eq!(tur(None), "–");
    }

    #[test]
    fn never_shows_a_risk_smaller_than_it_is() {
        let cases =
            [(0.0123, "1.3 %"), (0.05, "5.0 %"), (0.5, "50 %"), (0.97001, "98 %"), (1.0, "100 %")];
        for (number, expected) in cases {
            assert_eq!(risk(number), expected, "{number}");
        }
        assert_eq!(risk(1e-9), "under 0.001 %");
        assert_eq!(risk_percent(1e-9), "<0.001");
        assert_eq!(risk_percent(0.05), "5.0");
        assert_eq!(risk(0.0), "0 %");
    }

    #[test]
    fn rounds_degrees_of_freedom_down_but_not_below_one() {
        let shown = |number| dof(Dof::new(number).unwrap());
        assert_eq!(shown(16.99), "16");
        assert_eq!(shown(16.0 - 1e-10), "16");
        assert_eq!(shown(0.5), "1");
        assert_eq!(dof(Dof::INFINITE), "∞");
    }

    #[test]
    fn never_shows_a_small_share_as_none() {
        assert_eq!(share(0.004), "<1 %");
        assert_eq!(share(-0.004), "just below 0 %");
        assert_eq!(share(0.0), "0 %");
        assert_eq!(share(0.591), "59 %");
    }

    #[test]
    fn shows_probabilities_as_they_are_written() {
        assert_eq!(probability(0.9545), "95.45 %");
        assert_eq!(probability(0.99), "99 %");
        assert_eq!(probability(0.99999), "99.99 %");
    }
}
