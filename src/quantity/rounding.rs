//! Rounding in decimal: what is printed of a computed value.
//!
//! A double becomes its shortest decimal that comes back to it, cut to 15 significant digits (half
//! away from zero), and is rounded half away from zero from there: on decimal digits, never in
//! binary, so that 1.005, which lies below its text in binary, still becomes 1.01. Values given here
//! are finite; NaN and infinities print as such and are never rounded.
//!
//! Source: practice of EA-4/02 and ILAC-P14 for expanded uncertainties (two digits; rounding down by
//! at most 5 %).

use super::Exact;
use super::exact::power_of_ten;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive, Zero};

/// The significant digits of a double that can be trusted.
const TRUSTED: usize = 15;

/// Returns `value` with `places` digits after the point, rounded half away from zero from its shortest
/// text cut to 15 significant digits; trailing zeros kept; never `-0`.
///
/// Values of 10¹⁵ and beyond have no trusted digit after the point and are printed as `1.5e20`.
pub fn fixed(value: f64, places: usize) -> String {
    let Some(digits) = Digits::of(value) else {
        return value.to_string();
    };
    let place = i32::try_from(places).map_or(i32::MIN, |it| -it);
    let rounded = digits.rounded(place);
    if rounded.lead >= TRUSTED as i32 { rounded.scientific() } else { rounded.plain(places) }
}

/// Returns `value` with `digits` significant digits (as `fixed`, without exponent), e.g. `1.234` → `1.2`,
/// `123` → `120`, 9.96 with 2 → `10`. Zero is `0`; `digits` of 0 counts as 1.
pub fn significant(value: f64, digits: usize) -> String {
    let place = last_place(value, digits);
    let places = usize::try_from(-place).unwrap_or(0);
    Digits::of(value).map_or_else(
        || value.to_string(),
        |it| {
            let rounded = it.rounded(place);
            if rounded.lead >= TRUSTED as i32 {
                rounded.scientific()
            } else {
                rounded.plain(places)
            }
        },
    )
}

/// Returns the decimal place (10^place) of the last of `digits` significant digits of `value` after
/// rounding: 0.0123 with 2 → -3, 9.96 with 2 → 0. That of zero is 0.
pub fn last_place(value: f64, digits: usize) -> i32 {
    let Some(all) = Digits::of(value).filter(|it| !it.is_zero()) else {
        return 0;
    };
    let back = i32::try_from(digits.max(1) - 1).unwrap_or(i32::MAX / 2);
    let rounded = all.rounded(all.lead - back);
    rounded.lead - back
}

/// Returns `value` rounded to a multiple of 10^place, half away from zero in decimal from 15
/// significant digits; never `-0`.
pub fn round_to(value: f64, place: i32) -> f64 {
    Digits::of(value).map_or(value, |it| it.rounded(place).to_f64())
}

/// Returns an expanded uncertainty rounded to `digits` (1 or 2) significant digits: half up in decimal
/// from 15 significant digits, up if rounding down would take over 5 % off; with the place of its last
/// digit (after a carry: 9.95 with 2 → 10 and 0). Zero stays 0 with place 0.
///
/// Method: M32.
pub fn round_uncertainty(value: f64, digits: usize) -> (f64, i32) {
    let Some(all) = Digits::of(value).filter(|it| !it.is_zero()) else {
        return (value, 0);
    };
    let place = all.lead - i32::try_from(digits.max(1) - 1).unwrap_or(i32::MAX / 2);
    let mut rounded = all.rounded(place);
    if rounded.takes_over_five_percent_off(&all) {
        rounded = all.next_up(place);
    }
    let result = rounded.to_f64();
    (result, last_place(result, digits))
}

/// Returns the exact value as a decimal text with `places` digits, or `None` where it has more digits
/// than that (or a factor π).
pub fn exact_text(value: &Exact, places: usize) -> Option<String> {
    if value.pi_power() != 0 {
        return None;
    }
    let integer = scaled(value.ratio(), u32::try_from(places).ok()?)?;
    let sign = if integer.is_negative() && !integer.is_zero() { "-" } else { "" };
    let digits = format!("{:0>width$}", integer.magnitude().to_string(), width = places + 1);
    let (whole, fraction) = digits.split_at(digits.len() - places);
    let point = if places > 0 { "." } else { "" };
    Some(format!("{sign}{whole}{point}{fraction}"))
}

/// Returns a ratio times 10ᵖ where that is whole: where its denominator divides 10ᵖ.
fn scaled(ratio: &BigRational, places: u32) -> Option<BigInt> {
    let short = ratio.denom().to_u64().zip(10_u64.checked_pow(places));
    if let Some((denominator, ten)) = short {
        return (ten % denominator == 0).then(|| ratio.numer() * (ten / denominator));
    }
    let scaled = ratio * power_of_ten(i32::try_from(places).ok()?);
    scaled.is_integer().then(|| scaled.to_integer())
}

/// A decimal number ±d₀.d₁d₂…·10^lead; zero has no digits and lead 0.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Digits {
    negative: bool,
    digits: Vec<u8>,
    lead: i32,
}

impl Digits {
    /// Returns the 15 digits of a finite value.
    fn of(value: f64) -> Option<Digits> {
        if !value.is_finite() {
            return None;
        }
        // `{:e}` is the shortest text that comes back: `d.ddde±x`.
        let text = format!("{:e}", value.abs());
        let (mantissa, lead) = text.split_once('e')?;
        let digits = mantissa.bytes().filter(u8::is_ascii_digit).map(|it| it - b'0').collect();
        let all = Digits { negative: value < 0.0, digits, lead: lead.parse().ok()? };
        Some(all.trimmed().rounded_to(TRUSTED))
    }

    fn is_zero(&self) -> bool {
        self.digits.is_empty()
    }

    /// Returns it without zeros at the end; zero without sign.
    fn trimmed(mut self) -> Digits {
        while self.digits.last() == Some(&0) {
            self.digits.pop();
        }
        if self.digits.is_empty() {
            return Digits { negative: false, digits: Vec::new(), lead: 0 };
        }
        self
    }

    /// Returns it rounded to a multiple of 10^place.
    fn rounded(&self, place: i32) -> Digits {
        let keep = i64::from(self.lead) - i64::from(place) + 1;
        match usize::try_from(keep) {
            Ok(keep) => self.rounded_to(keep),
            Err(_) => Digits { negative: false, digits: Vec::new(), lead: 0 },
        }
    }

    /// Returns it rounded to the first `keep` digits, half away from zero.
    fn rounded_to(&self, keep: usize) -> Digits {
        let up = self.digits.get(keep).is_some_and(|digit| *digit >= 5);
        self.cut(keep, up)
    }

    /// Returns the multiple of 10^place that lies next away from zero, `place` at or below the lead.
    fn next_up(&self, place: i32) -> Digits {
        let keep = usize::try_from(self.lead - place + 1).unwrap_or(0);
        self.cut(keep, true)
    }

    /// Returns the first `keep` digits, one more in the last of them if `up`.
    fn cut(&self, keep: usize, up: bool) -> Digits {
        let (mut digits, mut lead) = (self.digits.clone(), self.lead);
        digits.truncate(keep);
        if up {
            digits.resize(keep, 0);
            while digits.last() == Some(&9) {
                digits.pop();
            }
            match digits.last_mut() {
                Some(last) => *last += 1,
                None => {
                    digits.push(1);
                    lead += 1;
                }
            }
        }
        Digits { negative: self.negative, digits, lead }.trimmed()
    }

    /// Whether it lies below `whole` by more than 5 % of `whole`.
    fn takes_over_five_percent_off(&self, whole: &Digits) -> bool {
        // Both as integers of 10^(lead − 20): at most 22 digits, and 20 times that fits 128 bits.
        let unit = whole.lead - 20;
        let (rounded, whole) = (self.in_units(unit), whole.in_units(unit));
        whole > rounded && 20 * (whole - rounded) > whole
    }

    /// Returns the magnitude in units of 10^unit, `unit` at or below its last digit.
    fn in_units(&self, unit: i32) -> u128 {
        let count = usize::try_from(self.lead - unit + 1).unwrap_or(0);
        let digit = |index: usize| u128::from(self.digits.get(index).copied().unwrap_or(0));
        (0..count).fold(0, |sum, index| sum * 10 + digit(index))
    }

    fn sign(&self) -> &'static str {
        if self.negative { "-" } else { "" }
    }

    /// Returns the text with `places` digits after the point.
    fn plain(&self, places: usize) -> String {
        let digit = |place: i64| {
            let index = usize::try_from(i64::from(self.lead) - place).ok();
            let digit = index.and_then(|it| self.digits.get(it)).copied().unwrap_or(0);
            char::from(b'0' + digit)
        };
        let mut text = self.sign().to_owned();
        text.extend((0..=i64::from(self.lead.max(0))).rev().map(digit));
        if places > 0 {
            text.push('.');
            text.extend((1..=places).map(|it| digit(i64::try_from(it).map_or(i64::MIN, |it| -it))));
        }
        text
    }

    /// Returns the text `d.ddde±x`, which every parser of numbers reads.
    fn scientific(&self) -> String {
        let digits: String = self.digits.iter().map(|it| char::from(b'0' + it)).collect();
        let (first, rest) = digits.split_at(digits.len().min(1));
        let point = if rest.is_empty() { "" } else { "." };
        format!("{}{first}{point}{rest}e{}", self.sign(), self.lead)
    }

    /// Returns the nearest double.
    fn to_f64(&self) -> f64 {
        if self.is_zero() {
            return 0.0;
        }
        self.scientific().parse().expect("digits, a point and an exponent are a number")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Decimal;
    use proptest::prelude::*;

    // Expected values: decimal arithmetic by hand from the rule at the head of the file.

    #[test]
    fn fixed_rounds_half_away_from_zero_in_decimal() {
        for (value, places, expected) in [
            (1.005, 2, "1.01"),
            (-1.005, 2, "-1.01"),
            (2.5, 0, "3"),
            (0.5, 0, "1"),
            (0.05, 0, "0"),
            (-0.04, 1, "0.0"),
            (-0.0, 2, "0.00"),
            (9.995, 2, "10.00"),
            (0.1 + 0.2, 17, "0.30000000000000000"),
            (1.0, 3, "1.000"),
            (123_456.0, 1, "123456.0"),
            (5e-324, 3, "0.000"),
            (999_999_999_999_999.0, 0, "999999999999999"),
            (1e15, 2, "1e15"),
            (1.234_567_890_123_456_7e20, 2, "1.23456789012346e20"),
            (0.000_123_456, 5, "0.00012"),
        ] {
            assert_eq!(fixed(value, places), expected, "{value} with {places}");
        }
    }

    #[test]
    fn significant_digits_carry_and_keep_their_zeros() {
        for (value, digits, expected, place) in [
            (1.234, 2, "1.2", -1),
            (123.0, 2, "120", 1),
            (9.96, 2, "10", 0),
            (9.94, 2, "9.9", -1),
            (0.0123, 2, "0.012", -3),
            (0.000_123_456, 3, "0.000123", -6),
            (2.0, 3, "2.00", -2),
            (-99.96, 3, "-100", 0),
            (0.0, 2, "0", 0),
            (1.5, 0, "2", 0),
            (1.2e-20, 2, "0.000000000000000000012", -21),
            (2.5e16, 1, "3e16", 16),
        ] {
            assert_eq!(significant(value, digits), expected, "{value} with {digits}");
            assert_eq!(last_place(value, digits), place, "place of {value} with {digits}");
        }
    }

    #[test]
    fn rounds_to_a_place_of_either_sign() {
        for (value, place, expected) in [
            (1.005, -2, 1.01),
            (149.0, 2, 100.0),
            (150.0, 2, 200.0),
            (-0.25, -1, -0.3),
            (49.0, 2, 0.0),
            (50.0, 2, 100.0),
            (4.9, 2, 0.0),
            (1.0, 400, 0.0),
        ] {
            assert_eq!(round_to(value, place), expected, "{value} at {place}");
        }
        assert!(round_to(-0.01, 0).is_sign_positive());
    }

    /// Method: M32.
    #[test]
    fn an_uncertainty_is_never_rounded_down_by_over_five_percent() {
        for (value, digits, expected, place) in [
            (9.95, 2, 10.0, 0),
            (9.94, 2, 9.9, -1),
            (1.05, 2, 1.1, -1),
            (1.049, 2, 1.0, -1),
            (104.9, 2, 100.0, 1),
            (105.0, 2, 110.0, 1),
            (0.000_123_456, 2, 0.000_12, -5),
            (1.4, 1, 2.0, 0),
            (1.05, 1, 1.0, 0),
            (1.053, 1, 2.0, 0),
            (2.49, 1, 3.0, 0),
            (9.4, 1, 9.0, 0),
            (9.48, 1, 10.0, 1),
            (9.6, 1, 10.0, 1),
            (3.0, 1, 3.0, 0),
            (0.0, 2, 0.0, 0),
        ] {
            assert_eq!(round_uncertainty(value, digits), (expected, place), "{value}, {digits}");
        }
    }

    #[test]
    fn exact_texts_exist_only_where_the_digits_suffice() {
        let exact = |text: &str| Decimal::parse(text).unwrap().exact().clone();
        assert_eq!(exact_text(&exact("2.5"), 3), Some("2.500".to_owned()));
        assert_eq!(exact_text(&exact("-0.05"), 2), Some("-0.05".to_owned()));
        assert_eq!(exact_text(&exact("-0"), 0), Some("0".to_owned()));
        assert_eq!(exact_text(&exact("1e3"), 0), Some("1000".to_owned()));
        assert_eq!(exact_text(&exact("0.125"), 2), None);
        let third = exact("1").div(&exact("3")).unwrap();
        assert_eq!(exact_text(&third, 40), None);
        assert_eq!(exact_text(&Exact::with_pi(third.ratio().recip(), 1), 3), None);
    }

    #[test]
    fn values_that_are_not_finite_stay_visible() {
        assert_eq!(fixed(f64::NAN, 2), "NaN");
        assert_eq!(significant(f64::INFINITY, 2), "inf");
        assert!(round_to(f64::NAN, 0).is_nan());
    }

    proptest! {
        /// A decimal of at most 15 digits is printed digit for digit.
        #[test]
        fn fifteen_digits_come_back_unchanged(digits in -999_999_999_999_999..=999_999_999_999_999_i64, places in 0..12_usize) {
            let exact = Exact::new(num_rational::BigRational::from_integer(digits.into()) * power_of_ten(-(places as i32)));
            let text = exact_text(&exact, places).unwrap();
            prop_assert_eq!(fixed(exact.to_f64(), places), text);
        }

        /// At most half up, at most 5 % down, whatever the size.
        #[test]
        fn a_rounded_uncertainty_stays_near(value in 1e-200..1e200_f64, digits in 1..=2_usize) {
            let (rounded, place) = round_uncertainty(value, digits);
            prop_assert!(rounded >= value * (0.95 - 1e-12));
            prop_assert!(rounded <= value * 2.0);
            prop_assert_eq!(round_to(rounded, place), rounded);
        }
    }
}
