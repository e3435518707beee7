//! Decimal numbers: kept as their text and as an exact value.
use super::{Exact, TextFault};

/// A number as it was written and its exact value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decimal {
    text: String,
    exact: Exact,
}

impl Decimal {
    /// Reads a whole text: an optional sign (`+`, `-`, U+2212), digits, optional point with digits on both
    /// sides, optional exponent.
    ///
    /// # Errors
    ///
    /// What is wrong (`_`, decimal comma, hex, `.5`, `5.`, `1e999`, `.inf`, `1:30`, `012`, spaces …) and what to type.
    pub fn parse(text: &str) -> Result<Decimal, TextFault> {
        let _ = text;
        todo!()
    }
    /// Returns the text as written, minus sign folded to `-`.
    pub fn text(&self) -> &str {
        &self.text
    }
    /// Returns the exact value.
    pub fn exact(&self) -> &Exact {
        &self.exact
    }
    /// Returns the number of digits after the point, the exponent counted in (`2.500` → 3, `1e-3` → 3, `1e3` → 0).
    pub fn places(&self) -> usize {
        todo!()
    }
}

/// Returns `value` with `places` digits after the point, rounded half away from zero from its shortest text
/// cut to 15 significant digits; trailing zeros kept; never `-0`.
pub fn fixed(value: f64, places: usize) -> String {
    let _ = (value, places);
    todo!()
}

/// Returns `value` with `digits` significant digits (as `fixed`, without exponent), e.g. `1.234` → `1.2`, `123` → `120`, 9.96 with 2 → `10`.
pub fn significant(value: f64, digits: usize) -> String {
    let _ = (value, digits);
    todo!()
}

/// Returns the decimal place (10^place) of the last of `digits` significant digits of `value` after rounding: 0.0123 with 2 → -3.
pub fn last_place(value: f64, digits: usize) -> i32 {
    let _ = (value, digits);
    todo!()
}

/// Returns `value` rounded to a multiple of 10^place, half away from zero in decimal from 15 significant digits.
pub fn round_to(value: f64, place: i32) -> f64 {
    let _ = (value, place);
    todo!()
}

/// Returns an expanded uncertainty rounded to `digits` (1 or 2) significant digits: half up in decimal from 15 significant
/// digits, up if rounding down would take over 5 % off; with the place of its last digit.
pub fn round_uncertainty(value: f64, digits: usize) -> (f64, i32) {
    let _ = (value, digits);
    todo!()
}

/// Returns the exact value as a decimal text with `places` digits, or `None` where it has more digits than that.
pub fn exact_text(value: &Exact, places: usize) -> Option<String> {
    let _ = (value, places);
    todo!()
}
