//! Decimal numbers: kept as their text and as an exact value.
//!
//! Text in, exact rational out, never by way of a binary number. The notation is that of
//! `lexeme`, with a sign. Rounding for print is in `rounding`, offered here too.

use super::exact::power_of_ten;
use super::lexeme::{MINUS, not_a_number, number_length, refuse_groups, sign, text};
use super::{Exact, TextFault};
use num_bigint::BigInt;
use num_rational::BigRational;

pub use super::rounding::{
    exact_text, fixed, last_place, round_to, round_uncertainty, significant,
};

/// The largest number of digits that a number may have.
const MOST_DIGITS: usize = 400;
/// The largest exponent that is worth looking at: a double ends at 1.8·10³⁰⁸ and 4.9·10⁻³²⁴, and
/// [`MOST_DIGITS`] may stand on either side of the point.
const LARGEST_EXPONENT: i32 = 999;

/// A number as it was written and its exact value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decimal {
    text: String,
    exact: Exact,
}

impl Decimal {
    /// Reads a whole text: an optional sign (`+`, `-`, U+2212), digits, optional point with digits on
    /// both sides, optional exponent. At most 400 digits; the value must fit into a double.
    ///
    /// # Errors
    ///
    /// What is wrong (`_`, decimal comma, hex, `.5`, `5.`, `1e999`, `.inf`, `1:30`, `012`, spaces …)
    /// and what to type.
    pub fn parse(text: &str) -> Result<Decimal, TextFault> {
        let chars: Vec<char> = text.chars().collect();
        let (start, negative) = sign(&chars);
        let signed = |fault: TextFault| with_sign(fault, negative, start);
        let rest = &chars[start..];
        let begins = rest.iter().position(|c| *c != '.').unwrap_or(0);
        if begins > 1 || !rest.get(begins).is_some_and(char::is_ascii_digit) {
            return Err(not_a_number(&chars));
        }
        let length = number_length(rest).map_err(signed)?;
        refuse_groups(rest, length).map_err(signed)?;
        if length < rest.len() {
            return Err(trailing(&chars, start + length));
        }
        Decimal::from_lexeme(&chars)
    }

    /// Returns the text as written, minus sign folded to `-`.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Returns the exact value.
    pub fn exact(&self) -> &Exact {
        &self.exact
    }

    /// Returns the number of digits after the point, the exponent counted in (`2.500` → 3, `1e-3` → 3,
    /// `1e3` → 0).
    pub fn places(&self) -> usize {
        let (mantissa, exponent) = split(&self.text);
        let fraction = mantissa.split_once('.').map_or(0, |it| it.1.len());
        let exponent: i64 = exponent.parse().unwrap_or(0);
        let places = i64::try_from(fraction).unwrap_or(i64::MAX).saturating_sub(exponent);
        usize::try_from(places).unwrap_or(0)
    }

    /// Returns the opposite number; its text begins with `-` exactly where this one's does not.
    pub fn negated(&self) -> Decimal {
        let text = match self.text.strip_prefix('-') {
            Some(rest) => rest.to_owned(),
            None => format!("-{}", self.text.trim_start_matches('+')),
        };
        Decimal { text, exact: self.exact.neg() }
    }

    /// Returns the number that `chars` are, which follow the grammar (with a sign).
    ///
    /// # Errors
    ///
    /// Too many digits, or a value that does not fit into a double.
    pub(super) fn from_lexeme(chars: &[char]) -> Result<Decimal, TextFault> {
        let written = text(chars);
        let folded = written.replace(MINUS, "-");
        let (mantissa, exponent) = split(&folded);
        let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
        if digits.len() > MOST_DIGITS {
            let what = format!("a number of {} digits, beyond {MOST_DIGITS}", digits.len());
            return Err(TextFault::new(0, what, "write fewer digits"));
        }
        let beyond = |what: &str| Err(TextFault::new(0, format!("`{written}` is too {what}"), ""));
        // An exponent that does not fit is far beyond the limit, too.
        let limit = LARGEST_EXPONENT;
        let small = exponent.starts_with('-');
        let exponent = exponent.parse().unwrap_or(if small { -limit - 1 } else { limit + 1 });
        if exponent.abs() > limit {
            return beyond(if small { "small for a double" } else { "large for a double" });
        }
        let fraction = mantissa.split_once('.').map_or(0, |it| it.1.len());
        let scale = exponent - i32::try_from(fraction).expect("at most 400 digits");
        let integer: BigInt = digits.parse().expect("one or more digits by the grammar");
        let ratio = BigRational::from_integer(integer) * power_of_ten(scale);
        let exact = Exact::new(ratio);
        let nearest = exact.to_f64();
        if nearest.is_infinite() {
            return beyond("large for a double");
        }
        if nearest == 0.0 && !exact.is_zero() {
            return beyond("small for a double");
        }
        let exact = if folded.starts_with('-') { exact.neg() } else { exact };
        Ok(Decimal { text: folded, exact })
    }
}

/// Reads a short number of the same grammar without exponent: its digits as a whole number and how many of
/// them stand after the point. `None` for any other text, which [`Decimal::parse`] reads or refuses.
pub fn short(text: &[u8]) -> Option<(i64, u8)> {
    let (digits, negative) = match text.first()? {
        b'-' => (&text[1..], true),
        b'+' => (&text[1..], false),
        _ => (text, false),
    };
    if digits.len() > 18 || (digits.len() > 1 && digits[0] == b'0' && digits[1] != b'.') {
        return None;
    }
    let (mut number, mut point) = (0_i64, None);
    for (index, byte) in digits.iter().enumerate() {
        match byte {
            b'0'..=b'9' => number = number * 10 + i64::from(byte - b'0'),
            b'.' if point.is_none() && index > 0 => point = Some(index),
            _ => return None,
        }
    }
    let places = match point {
        Some(at) if at + 1 == digits.len() => return None,
        Some(at) => digits.len() - at - 1,
        None if digits.is_empty() => return None,
        None => 0,
    };
    Some((if negative { -number } else { number }, places as u8))
}

/// Returns mantissa and exponent (`0` where there is none).
fn split(text: &str) -> (&str, &str) {
    let (mantissa, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    (mantissa, exponent.trim_start_matches('+'))
}

/// Moves a fault behind a sign of `start` characters, and puts a minus before the number to type.
fn with_sign(fault: TextFault, negative: bool, start: usize) -> TextFault {
    let mut fault = fault.further(start);
    if negative && fault.help.starts_with(|c: char| c.is_ascii_digit()) {
        fault.help.insert(0, '-');
    }
    fault
}

/// Returns the fault for a number that ends at `end`, before the text does.
fn trailing(chars: &[char], end: usize) -> TextFault {
    let what = format!("`{}` is not a plain number", text(chars));
    TextFault::new(end, what, text(&chars[..end]).replace(MINUS, "-"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn keeps_the_text_and_the_exact_value() {
        for (written, text, expected, places) in [
            ("2.500", "2.500", (5, 2), 3),
            ("+1.10", "+1.10", (11, 10), 2),
            ("\u{2212}3", "-3", (-3, 1), 0),
            ("1e-3", "1e-3", (1, 1000), 3),
            ("1.5E3", "1.5E3", (1500, 1), 0),
            ("1.5e\u{2212}1", "1.5e-1", (3, 20), 2),
            ("2e+0", "2e+0", (2, 1), 0),
            ("-0.0", "-0.0", (0, 1), 1),
            ("0", "0", (0, 1), 0),
        ] {
            let decimal = Decimal::parse(written).unwrap();
            let expected = BigRational::new(expected.0.into(), expected.1.into());
            assert_eq!(decimal.text(), text);
            assert_eq!(decimal.exact(), &Exact::new(expected), "{written}");
            assert_eq!(decimal.places(), places, "{written}");
        }
    }

    #[test]
    fn refuses_what_is_not_a_plain_number_and_says_what_to_type() {
        for (written, at, help) in [
            ("1_000", 1, "1000"),
            ("-1_000", 2, "-1000"),
            ("0,5", 1, "0.5"),
            ("\u{2212}.5", 1, "-0.5"),
            ("5.", 0, "5.0"),
            ("-0x1f", 1, "-31"),
            ("012", 0, "12"),
            ("00", 0, "0"),
            ("0_0", 1, "0"),
            ("0 50", 1, "50"),
            ("1 000", 1, "1000"),
            ("1\u{2009}000\u{2009}000", 1, "1000000"),
            ("1\u{a0}000.5", 1, "1000.5"),
            ("5 mm", 1, "5"),
            ("5 ", 1, "5"),
            (".inf", 0, "write a finite decimal number"),
            ("-.inf", 0, "write a finite decimal number"),
            (".nan", 0, "write a finite decimal number"),
            ("~", 0, "write a number, or leave the key out"),
            ("1:30", 1, "write a decimal number, such as `1.5`"),
            ("", 0, ""),
            ("-", 0, ""),
            ("- 5", 0, ""),
            ("--5", 0, ""),
            ("..5", 0, ""),
            ("e5", 0, ""),
            ("\u{0663}", 0, ""),
        ] {
            let fault = Decimal::parse(written).unwrap_err();
            assert_eq!((fault.at, fault.help.as_str()), (at, help), "{written}: {}", fault.what);
        }
    }

    /// The largest double is 1.797…e308, the smallest 4.94e-324 (IEEE 754 binary64).
    #[test]
    fn refuses_what_does_not_fit_into_a_double_at_once() {
        let long = "1".repeat(401);
        for (written, what) in [
            ("1e999", "`1e999` is too large for a double"),
            ("1.8e308", "`1.8e308` is too large for a double"),
            ("1e999999999999999", "`1e999999999999999` is too large for a double"),
            ("-1e999999999", "`-1e999999999` is too large for a double"),
            ("1e-999", "`1e-999` is too small for a double"),
            ("2e-324", "`2e-324` is too small for a double"),
            ("1e-999999999999999", "`1e-999999999999999` is too small for a double"),
            ("0e99999", "`0e99999` is too large for a double"),
            (long.as_str(), "a number of 401 digits, beyond 400"),
        ] {
            assert_eq!(Decimal::parse(written).unwrap_err().what, what);
        }
        assert!(Decimal::parse("1.79e308").is_ok());
        assert!(Decimal::parse("5e-324").is_ok());
        assert!(Decimal::parse("0e-300").is_ok());
    }

    #[test]
    fn short_numbers_are_those_of_the_grammar() {
        for text in ["0", "-0", "0.10", "+1.5", "-12.003", "123456789012345678", "0.00000000000001"]
        {
            let (number, places) = short(text.as_bytes()).unwrap();
            let decimal = Decimal::parse(text).unwrap();
            let scaled = BigRational::new(number.into(), BigInt::from(10).pow(places.into()));
            assert_eq!(
                (decimal.exact(), decimal.places()),
                (&Exact::new(scaled), usize::from(places)),
                "{text}"
            );
        }
        for text in [
            "",
            "-",
            "+",
            ".5",
            "5.",
            "012",
            "1e3",
            "1 ",
            "1,5",
            "1.2.3",
            "nan",
            "1234567890123456789",
        ] {
            assert_eq!(short(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn the_opposite_turns_sign_and_text() {
        for (written, text) in [("5.0", "-5.0"), ("-5.0", "5.0"), ("+5.0", "-5.0")] {
            let decimal = Decimal::parse(written).unwrap();
            let negated = decimal.negated();
            assert_eq!(negated.text(), text);
            assert_eq!(Ok(negated), Decimal::parse(text));
        }
    }

    proptest! {
        /// Rust's own parser rounds decimals correctly (documented at `f64::from_str`).
        #[test]
        fn the_nearest_double_is_that_of_the_language(written in "-?(0|[1-9][0-9]{0,20})(\\.[0-9]{1,30})?(e-?[0-9]{1,3})?") {
            let expected: f64 = written.parse().unwrap();
            match Decimal::parse(&written) {
                Ok(decimal) => prop_assert_eq!(decimal.exact().to_f64(), expected),
                Err(_) => prop_assert!(expected.is_infinite() || expected == 0.0),
            }
        }

        #[test]
        fn no_text_makes_it_panic(written in "[-+−0-9.,_eEx: ]{0,12}|\\PC{0,8}") {
            if let Err(fault) = Decimal::parse(&written) {
                prop_assert!(fault.at <= written.chars().count());
                prop_assert!(!fault.what.is_empty());
            }
        }

        /// Whatever number is offered instead of a refused text is itself accepted.
        #[test]
        fn what_is_offered_can_be_typed(written in "[-+]?[0-9]{1,4}[.,_ ][0-9]{1,4}|-?\\.[0-9]{1,3}|0[0-9]{1,3}\\.?") {
            if let Err(fault) = Decimal::parse(&written)
                && fault.help.starts_with(|c: char| c.is_ascii_digit() || c == '-')
            {
                prop_assert!(Decimal::parse(&fault.help).is_ok(), "{} for {}", fault.help, written);
            }
        }
    }
}
