//! Units: a spelling becomes an exact factor to SI, a dimension and a temperature scale.
//!
//! The table is in `unit_table`, what to type instead of an unknown unit in `unit_hint`. The grammar:
//!
//! ```text
//! unit  = "1" | ["1/"] term {("/" | "·" | "⋅" | ".") term}      "/" inverts the next term only
//! term  = word ["^" ["+" | "-" | "−"] digits | superscripts]    the power a whole number, 1 to 12
//! word  = "%" | "‰" | "′" | "″" | "℃" | "℉" | ["°"] letter {letter | digit | "_"} | "°"
//! ```
//!
//! Nothing is looked up in any other way, and no space stands inside a unit.

use super::lexeme::{MINUS, sign, text};
use super::unit_table::{find, fold};
use super::{Dimension, Exact, Scale, TextFault};
use unicode_normalization::UnicodeNormalization;

/// The largest power of a term.
const LARGEST_POWER: i32 = 12;

/// A unit, possibly compound: spelling, exact factor to SI, dimension, temperature scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    text: String,
    factor: Exact,
    dimension: Dimension,
    scale: Scale,
}

impl Unit {
    /// The unit of a plain number, spelled `1`.
    pub fn one() -> Unit {
        let factor = Exact::from_integer(1);
        Unit { text: "1".to_owned(), factor, dimension: Dimension::none(), scale: Scale::None }
    }

    /// The spelling as written, with µ, Ω and · folded to one form; what reports print.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Exact factor to the coherent SI unit (rad = 1, own units = 1).
    pub fn factor(&self) -> &Exact {
        &self.factor
    }

    /// The same as the nearest `f64`.
    pub fn si(&self) -> f64 {
        self.factor.to_f64()
    }

    /// The dimension.
    pub fn dimension(&self) -> &Dimension {
        &self.dimension
    }

    /// The scale: set only for a lone `°C`, `°F` or `K` to the power one.
    pub fn scale(&self) -> Scale {
        self.scale
    }

    /// Returns the product with `term` behind the operator `mark`, `/` or `·`.
    pub(super) fn joined(self, mark: char, term: &Unit) -> Unit {
        let inverts = mark == '/';
        let factor = match self.factor.div(&term.factor) {
            Some(quotient) if inverts => quotient,
            _ => self.factor.mul(&term.factor),
        };
        let dimension = &self.dimension;
        let dimension = if inverts {
            dimension.over(&term.dimension)
        } else {
            dimension.times(&term.dimension)
        };
        let mark = if inverts { '/' } else { '·' };
        Unit {
            text: format!("{}{mark}{}", self.text, term.text),
            factor,
            dimension,
            scale: Scale::None,
        }
    }
}

/// The units that a budget knows: the table and its own.
#[derive(Debug, Clone, Default)]
pub struct Units {
    own: Vec<String>,
}

impl Units {
    /// Returns the table with a budget's own units added, each its own dimension.
    ///
    /// # Errors
    ///
    /// The index of the symbol and what is wrong: already a unit (or reads as a prefixed one), twice, or
    /// not a word (a letter, then letters, digits and `_`).
    pub fn with_own(own: &[String]) -> Result<Units, (usize, TextFault)> {
        let mut units = Units::default();
        for (index, symbol) in own.iter().enumerate() {
            let folded = canonical(symbol);
            let chars: Vec<char> = folded.chars().collect();
            let is_word = chars.first().is_some_and(|c| c.is_alphabetic())
                && word_length(&chars) == chars.len();
            let problem = if !is_word {
                Some("cannot be a unit: a unit is a letter, then letters, digits or `_`")
            } else if find(&folded).is_some() {
                Some("is already a unit")
            } else if units.own.contains(&folded) {
                Some("is listed twice")
            } else {
                None
            };
            if let Some(problem) = problem {
                let help = if is_word { format!("leave `{symbol}` out") } else { String::new() };
                return Err((index, TextFault::new(0, format!("`{symbol}` {problem}"), help)));
            }
            units.own.push(folded);
        }
        Ok(units)
    }

    /// Reads a whole text as a unit (`µm/m/K`, `N·m`, `1`).
    ///
    /// # Errors
    ///
    /// Unknown unit with the nearest known one (`m2` → `m^2`, `Nm` → `N·m`, wrong case, …), a space
    /// inside, …
    pub fn parse(&self, text: &str) -> Result<Unit, TextFault> {
        self.parse_plain(text).map_err(|mut fault| {
            if fault.help.is_empty() {
                fault.help = self.nearest(text).unwrap_or_default();
            }
            fault
        })
    }

    /// Whether `term` alone (no power, no product) is a unit of the table, prefixed, or an own unit.
    pub fn is_unit(&self, term: &str) -> bool {
        let term = canonical(term);
        find(&term).is_some() || self.own.contains(&term)
    }

    /// Returns the known unit, possibly compound, that is nearest to a text that is none.
    pub fn nearest(&self, text: &str) -> Option<String> {
        super::unit_hint::nearest(self, text)
    }

    /// Returns the own units.
    pub(super) fn own(&self) -> &[String] {
        &self.own
    }

    /// Reads a whole text as a unit, without looking for a nearest one.
    pub(super) fn parse_plain(&self, text: &str) -> Result<Unit, TextFault> {
        let chars: Vec<char> = text.chars().collect();
        match chars.as_slice() {
            [] => return Err(TextFault::new(0, "a unit is missing", "1")),
            ['1'] => return Ok(Unit::one()),
            _ => {}
        }
        if let Some(at) = chars.iter().position(|c| c.is_whitespace()) {
            return Err(TextFault::new(at, format!("`{text}` has a space inside the unit"), ""));
        }
        let (mut unit, mut end) =
            if chars.starts_with(&['1', '/']) { (Unit::one(), 1) } else { self.term(&chars, 0)? };
        while let Some(&mark) = chars.get(end) {
            if !is_join(mark) {
                let rest = super::lexeme::text(&chars[end..]);
                return Err(TextFault::new(end, format!("`{rest}` cannot go on a unit"), ""));
            }
            let (term, next) = self.term(&chars, end + 1)?;
            unit = unit.joined(mark, &term);
            end = next;
        }
        Ok(unit)
    }

    /// Reads one term with its power at `start`; returns it and where it ends.
    pub(super) fn term(&self, chars: &[char], start: usize) -> Result<(Unit, usize), TextFault> {
        let end = start + word_length(&chars[start..]);
        let word = text(&chars[start..end]);
        if word.is_empty() {
            let rest = text(&chars[start..]);
            let what = if rest.is_empty() {
                "a unit is missing at the end".to_owned()
            } else {
                unknown(&rest)
            };
            return Err(TextFault::new(start, what, ""));
        }
        let base = self.base(&word).ok_or_else(|| TextFault::new(start, unknown(&word), ""))?;
        let (power, length) = power(&chars[end..]).map_err(|fault| fault.further(end))?;
        let written = text(&chars[end..end + length]).replace(MINUS, "-");
        let past_limit = || {
            let what = format!("`{word}{written}`: the power of a unit is 1 to {LARGEST_POWER}");
            TextFault::new(end, what, "")
        };
        let factor = base.factor.powi(power).ok_or_else(past_limit)?;
        let dimension = base.dimension.power(power, 1).ok_or_else(past_limit)?;
        if power == 0 || power.abs() > LARGEST_POWER {
            return Err(past_limit());
        }
        let scale = if power == 1 { base.scale } else { Scale::None };
        Ok((Unit { text: base.text + &written, factor, dimension, scale }, end + length))
    }

    /// Returns the unit that is one word.
    fn base(&self, word: &str) -> Option<Unit> {
        let text = canonical(word);
        if let Some(unit) = find(&text) {
            let (factor, dimension) = (unit.factor(), unit.dimension());
            return Some(Unit { text, factor, dimension, scale: unit.scale() });
        }
        let dimension = self.own.contains(&text).then(|| Dimension::own(&text))?;
        Some(Unit { text, dimension, ..Unit::one() })
    }
}

/// Returns what is wrong with a word that is no unit.
pub(super) fn unknown(word: &str) -> String {
    format!("`{word}` is not a known unit")
}

/// Whether `c` joins two terms of a unit.
pub(super) fn is_join(c: char) -> bool {
    c == '/' || c == '.' || is_dot(c)
}

/// Whether `c` is one of the multiplication dots.
pub(super) fn is_dot(c: char) -> bool {
    matches!(c, '·' | '⋅')
}

/// Returns the length of the word (of a unit or a name) at the start, 0 where there is none.
pub(super) fn word_length(chars: &[char]) -> usize {
    match chars.first() {
        Some('%' | '‰' | '′' | '″' | '℃' | '℉') => 1,
        Some('°') if chars.get(1).is_some_and(|c| c.is_alphabetic()) => 1 + letters(&chars[1..]),
        Some('°') => 1,
        Some(c) if c.is_alphabetic() || *c == '_' => letters(chars),
        _ => 0,
    }
}

/// Returns the number of characters that may go on a word: letters, digits, `_`, subscript digits and
/// accents; a degree sign too, as in `m°C`.
fn letters(chars: &[char]) -> usize {
    let goes_on = |c: &char| {
        c.is_alphabetic()
            || c.is_ascii_digit()
            || matches!(c, '_' | '°' | '\u{2080}'..='\u{2089}' | '\u{300}'..='\u{36f}')
    };
    chars.iter().take_while(|c| goes_on(c)).count()
}

/// Folds a term to the table's spelling, by way of the composed form of its letters.
fn canonical(term: &str) -> String {
    fold(&term.nfc().collect::<String>())
}

/// Returns the power at the start and its length; 1 and 0 where there is none.
fn power(chars: &[char]) -> Result<(i32, usize), TextFault> {
    if chars.first() == Some(&'^') {
        return caret(chars);
    }
    let negative = chars.first() == Some(&'⁻');
    let start = usize::from(negative);
    let digits: String = chars[start..].iter().map_while(|c| superscript(*c)).collect();
    if digits.is_empty() {
        return Ok((1, 0));
    }
    let length = start + digits.chars().count();
    let power: i32 = digits.parse().unwrap_or(i32::MAX);
    Ok((if negative { -power } else { power }, length))
}

/// Returns the power behind `^` and its length.
fn caret(chars: &[char]) -> Result<(i32, usize), TextFault> {
    let (sign, negative) = sign(&chars[1..]);
    let start = 1 + sign;
    let digits: String = chars[start..].iter().take_while(|c| c.is_ascii_digit()).collect();
    let end = start + digits.len();
    let goes_on = match chars.get(end) {
        Some('.') => chars.get(end + 1).is_some_and(char::is_ascii_digit),
        Some(c) => *c == '^' || word_length(&[*c]) > 0,
        None => false,
    };
    if digits.is_empty() || goes_on {
        let help = "write the whole number first, or the quantity in parentheses: `(5 mm)^x`";
        return Err(TextFault::new(0, "`^` after a unit takes a whole number", help));
    }
    let power: i32 = digits.parse().unwrap_or(i32::MAX);
    Ok((if negative { -power } else { power }, end))
}

/// Returns the digit that a superscript stands for.
fn superscript(c: char) -> Option<char> {
    let digits = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let digit = digits.iter().position(|it| *it == c)?;
    char::from_digit(u32::try_from(digit).ok()?, 10)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn parse(text: &str) -> Result<Unit, TextFault> {
        let own = ["HRC".to_owned(), "dB".to_owned()];
        Units::with_own(&own).unwrap().parse(text)
    }

    #[test]
    fn reads_compound_units_with_the_slash_for_the_next_term_only() {
        for (written, text, si, words) in [
            ("mm", "mm", 1e-3, "length"),
            ("µm/m/K", "µm/m/K", 1e-6, "per temperature"),
            ("um/m/K", "µm/m/K", 1e-6, "per temperature"),
            ("\u{3bc}m", "\u{b5}m", 1e-6, "length"),
            ("uin", "µin", 2.54e-8, "length"),
            ("N.m", "N·m", 1.0, "torque or energy"),
            ("N⋅m", "N·m", 1.0, "torque or energy"),
            ("mm^2", "mm^2", 1e-6, "area"),
            ("m²", "m²", 1.0, "area"),
            ("K⁻¹", "K⁻¹", 1.0, "per temperature"),
            ("K^\u{2212}1", "K^-1", 1.0, "per temperature"),
            ("g/cm³", "g/cm³", 1e3, "density"),
            ("kohm", "kΩ", 1e3, "electric resistance"),
            ("M\u{2126}", "MΩ", 1e6, "electric resistance"),
            ("m/s^2", "m/s^2", 1.0, "acceleration"),
            ("N/mm^2", "N/mm^2", 1e6, "pressure"),
            ("m/s·kg", "m/s·kg", 1.0, "m·kg·s^-1"),
            ("1", "1", 1.0, "a plain number"),
            ("1/K", "1/K", 1.0, "per temperature"),
            ("%", "%", 1e-2, "a plain number"),
            ("%/K", "%/K", 1e-2, "per temperature"),
            ("HRC", "HRC", 1.0, "HRC"),
            ("°", "°", std::f64::consts::PI / 180.0, "a plain number"),
            ("µm/°", "µm/°", 1.8e-4 / std::f64::consts::PI, "length"),
        ] {
            let unit = parse(written).unwrap();
            assert_eq!(
                (unit.text(), unit.dimension().words().as_str()),
                (text, words),
                "{written}"
            );
            assert!((unit.si() / si - 1.0).abs() < 1e-15, "{written}: {}", unit.si());
        }
    }

    #[test]
    fn only_a_lone_temperature_unit_carries_a_scale() {
        for (written, scale) in [
            ("°C", Scale::Celsius),
            ("\u{2103}", Scale::Celsius),
            ("m°C", Scale::Celsius),
            ("°F", Scale::Fahrenheit),
            ("K", Scale::Kelvin),
            ("\u{212a}", Scale::Kelvin),
            ("mK", Scale::Kelvin),
            ("K^1", Scale::Kelvin),
            ("K^-1", Scale::None),
            ("1/K", Scale::None),
            ("K·m", Scale::None),
            ("m", Scale::None),
        ] {
            assert_eq!(parse(written).unwrap().scale(), scale, "{written}");
        }
    }

    #[test]
    fn refuses_what_is_no_unit_at_its_place() {
        for (written, at, what, help) in [
            ("", 0, "a unit is missing", "1"),
            ("m2", 0, "`m2` is not a known unit", "m^2"),
            ("Nm", 0, "`Nm` is not a known unit", "N·m"),
            ("µm/M", 3, "`M` is not a known unit", "µm/m"),
            ("µm /m", 2, "`µm /m` has a space inside the unit", "µm/m"),
            ("m/", 2, "a unit is missing at the end", ""),
            ("m^0", 1, "`m^0`: the power of a unit is 1 to 12", ""),
            ("m^13", 1, "`m^13`: the power of a unit is 1 to 12", ""),
            ("m^99999999999", 1, "`m^99999999999`: the power of a unit is 1 to 12", ""),
            ("5", 0, "`5` is not a known unit", ""),
            ("m%", 1, "`%` cannot go on a unit", ""),
        ] {
            let fault = parse(written).unwrap_err();
            let got = (fault.at, fault.what.as_str(), fault.help.as_str());
            assert_eq!(got, (at, what, help), "{written}");
        }
        for written in ["m^0.5", "m^x", "m^", "m^2^3", "m^-", "m^2x"] {
            let fault = parse(written).unwrap_err();
            assert_eq!(
                (fault.at, fault.what.as_str()),
                (1, "`^` after a unit takes a whole number")
            );
        }
    }

    #[test]
    fn own_units_are_new_words_listed_once() {
        let with = |own: &[&str]| {
            Units::with_own(&own.iter().map(|it| (*it).to_owned()).collect::<Vec<_>>())
        };
        assert!(
            with(&["HRC", "dB", "HB_10"]).is_ok_and(|it| it.is_unit("HRC") && !it.is_unit("HV"))
        );
        for (own, index, what) in [
            (&["HRC", "mm"][..], 1, "`mm` is already a unit"),
            (&["um"][..], 0, "`um` is already a unit"),
            (&["kohm"][..], 0, "`kohm` is already a unit"),
            (&["dB", "dB"][..], 1, "`dB` is listed twice"),
        ] {
            let (at, fault) = with(own).unwrap_err();
            assert_eq!((at, fault.what.as_str()), (index, what));
        }
        for symbol in ["", "5", "2x", "a b", "%x", "a/b", "m·x", "_a", "°R", "a^2"] {
            let (_, fault) = with(&[symbol]).unwrap_err();
            assert!(fault.what.contains("cannot be a unit"), "{symbol}: {}", fault.what);
        }
    }

    #[test]
    fn a_term_alone_is_a_unit_or_not() {
        let units = Units::default();
        for term in ["m", "um", "µin", "min", "m°C", "ohm", "%", "‰", "deg"] {
            assert!(units.is_unit(term), "{term}");
        }
        for term in ["", "1", "m^2", "N·m", "x", "u", "HRC", "M"] {
            assert!(!units.is_unit(term), "{term}");
        }
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(text in "[µumkNKs°/·.^⁻²0-9 -]{0,10}|\\PC{0,8}") {
            match parse(&text) {
                // What is printed reads as the same unit.
                Ok(unit) => prop_assert_eq!(parse(unit.text()), Ok(unit)),
                Err(fault) => prop_assert!(fault.at <= text.chars().count()),
            }
        }

        /// a/b·b has the factor and dimension of a, for any two units of the table.
        #[test]
        fn quotients_are_undone_by_products(a in 0..200_usize, b in 0..200_usize) {
            let all: Vec<_> = super::super::unit_table::all().map(|it| it.spelling()).collect();
            let (a, b) = (&all[a % all.len()], &all[b % all.len()]);
            let (lone, joined) = (parse(a).unwrap(), parse(&format!("{a}/{b}·{b}")).unwrap());
            prop_assert_eq!(lone.factor(), joined.factor());
            prop_assert_eq!(lone.dimension(), joined.dimension());
        }
    }
}
