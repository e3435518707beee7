//! Quantity literals: a number, then nothing, one space or a no-break space, then a unit.
//!
//! Characters in, a number with its unit and a length out; names are only asked about, never valued.
//! The grammar (number: `lexeme`; term: `unit`):
//!
//! ```text
//! literal = number [[" " | U+00A0 | U+202F] term {("/" | "·" | "⋅" | ".") term}]
//! ```
//!
//! A word behind the number must be a unit. Behind `/` or `·` it belongs to the literal if it is a
//! unit, ends it in front of the operator if it is a name or a function, and is a fault if it is
//! both or neither. Everything that does not start so is left to the expression.

use super::lexeme::{is_gap, not_a_number, number_length, refuse_groups, sign, text};
use super::unit::{is_dot, is_join, unknown, word_length};
use super::{Decimal, Dimension, Exact, Scale, TextFault, Unit, Units};
use unicode_normalization::UnicodeNormalization;

/// Names that every budget has.
const RESERVED: [&str; 3] = ["pi", "π", "reading"];

/// A number with its unit (spelled `1` where there is none).
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    number: Decimal,
    unit: Unit,
}

/// A literal found at the start of a text by [`scan`].
#[derive(Debug, Clone, PartialEq)]
pub struct Scanned {
    /// The literal.
    pub quantity: Quantity,
    /// Whether a unit was written.
    pub has_unit: bool,
    /// How many characters it takes.
    pub length: usize,
}

impl Quantity {
    /// Joins a number and a unit.
    pub fn new(number: Decimal, unit: Unit) -> Quantity {
        Quantity { number, unit }
    }

    /// Reads a whole text such as `10.301 mm`, `-3 µin` or `0.25` (sign allowed). A missing unit is the
    /// unit `1`.
    ///
    /// # Errors
    ///
    /// What is wrong in it and what to type.
    pub fn parse(text: &str, units: &Units) -> Result<Quantity, TextFault> {
        let chars: Vec<char> = text.chars().collect();
        if let Some(at) = plus_minus(text) {
            let what = format!("`{text}` has `±` where a single value is expected");
            return Err(TextFault::new(at, what, ""));
        }
        let (start, negative) = sign(&chars);
        let rest = &chars[start..];
        let gap = rest.iter().take_while(|c| c.is_whitespace()).count();
        if gap > 0 && rest.get(gap).is_some_and(char::is_ascii_digit) {
            let help = text.replacen(|c: char| c.is_whitespace(), "", gap);
            return Err(TextFault::new(
                start,
                format!("`{text}` has a space in front of the number"),
                help,
            ));
        }
        if !rest.first().is_some_and(|c| c.is_ascii_digit() || *c == '.') {
            return Err(not_a_number(&chars));
        }
        let signed = |mut fault: TextFault| {
            if negative && fault.help.starts_with(|c: char| c.is_ascii_digit()) {
                fault.help.insert(0, '-');
            }
            fault.further(start)
        };
        let scanned = scan(rest, units, &|_| false).map_err(signed)?;
        if scanned.length < rest.len() {
            let what = format!("`{text}` is not a single value with its unit");
            let help = if text.trim() == text { "" } else { text.trim() };
            return Err(TextFault::new(start + scanned.length, what, help));
        }
        let Quantity { number, unit } = scanned.quantity;
        let end = start + number.text().chars().count();
        Ok(Quantity::new(Decimal::from_lexeme(&chars[..end])?, unit))
    }

    /// The number.
    pub fn number(&self) -> &Decimal {
        &self.number
    }

    /// The unit.
    pub fn unit(&self) -> &Unit {
        &self.unit
    }

    /// Exact value in SI.
    pub fn exact(&self) -> Exact {
        self.number.exact().mul(self.unit.factor())
    }

    /// The nearest `f64` to the value in SI.
    pub fn si(&self) -> f64 {
        self.exact().to_f64()
    }

    /// The dimension.
    pub fn dimension(&self) -> &Dimension {
        self.unit.dimension()
    }

    /// The temperature scale.
    pub fn scale(&self) -> Scale {
        self.unit.scale()
    }

    /// The text: number and unit with one space, the number as written; the number alone for the
    /// unit `1`.
    pub fn text(&self) -> String {
        match self.unit.text() {
            "1" => self.number.text().to_owned(),
            unit => format!("{} {unit}", self.number.text()),
        }
    }
}

/// Reads an unsigned literal from the start of `chars` (which begins with a digit or a point), as far as it goes.
/// `is_name` says which words are names of the budget (it is given them in NFC with U+03BC for µ): a unit term
/// after `/` or `·` that is also a name is a fault.
///
/// # Errors
///
/// What is wrong, with the offset of the place.
pub fn scan(
    chars: &[char],
    units: &Units,
    is_name: &dyn Fn(&str) -> bool,
) -> Result<Scanned, TextFault> {
    let number_end = number_length(chars)?;
    refuse_groups(chars, number_end)?;
    let number = Decimal::from_lexeme(&chars[..number_end])?;
    let scanner = Scanner { chars, units, is_name, number: number.text().to_owned(), number_end };
    Ok(match scanner.unit_start()? {
        None => {
            let quantity = Quantity::new(number, Unit::one());
            Scanned { quantity, has_unit: false, length: number_end }
        }
        Some(start) => {
            let (unit, length) = scanner.unit(start)?;
            scanner.refuse_second_unit(&unit, length)?;
            Scanned { quantity: Quantity::new(number, unit), has_unit: true, length }
        }
    })
}

/// What the part of a literal behind its number is read with.
struct Scanner<'a> {
    chars: &'a [char],
    units: &'a Units,
    is_name: &'a dyn Fn(&str) -> bool,
    /// The number's text.
    number: String,
    /// Where the number ends.
    number_end: usize,
}

impl Scanner<'_> {
    /// Returns where the unit starts, `None` where there is none.
    fn unit_start(&self) -> Result<Option<usize>, TextFault> {
        let start = self.skip_spaces(self.number_end);
        match self.chars.get(start) {
            Some('/') => self.refuse_operator_before_unit(start, true)?,
            Some(c) if is_dot(*c) => self.refuse_operator_before_unit(start, false)?,
            Some('"' | '\'') if start == self.number_end => return Err(self.unknown(start)),
            _ => {}
        }
        let word = self.word(start);
        if word.is_empty() {
            return Ok(None);
        }
        if !self.units.is_unit(&word) {
            return Err(self.not_a_unit(start, &word));
        }
        let gap = &self.chars[self.number_end..start];
        if gap.len() > 1 || !gap.iter().all(|c| is_gap(*c)) {
            let what = format!("more than one space between `{}` and `{word}`", self.number);
            let end = self.unit(start).map_or(start, |it| it.1);
            let help = format!("{} {}", self.number, text(&self.chars[start..end]));
            return Err(TextFault::new(self.number_end, what, help));
        }
        Ok(Some(start))
    }

    /// Reads the unit at `start`, as far as it goes; returns it and where it ends.
    fn unit(&self, start: usize) -> Result<(Unit, usize), TextFault> {
        let (mut unit, mut end) = self.units.term(self.chars, start)?;
        while let Some(&mark) = self.chars.get(end).filter(|c| is_join(**c)) {
            let word = self.word(end + 1);
            if word.is_empty() {
                break;
            }
            let (is_unit, is_name) = (self.units.is_unit(&word), self.is_name(end + 1, &word));
            match (is_unit, is_name) {
                (true, true) => return Err(self.ambiguous(&unit, end, &word)),
                (true, false) => {}
                (false, true) if mark == '.' => {
                    let help = format!("{} {} * {word}", self.number, unit.text());
                    return Err(TextFault::new(end, "a point does not multiply names", help));
                }
                (false, true) => break,
                (false, false) => return Err(self.unknown(start).at(end + 1, unknown(&word))),
            }
            let (term, next) = self.units.term(self.chars, end + 1)?;
            unit = unit.joined(mark, &term);
            end = next;
        }
        Ok((unit, end))
    }

    /// Refuses `5 N m`: a space between two terms of a unit.
    fn refuse_second_unit(&self, unit: &Unit, end: usize) -> Result<(), TextFault> {
        let start = self.skip_spaces(end);
        let word = self.word(start);
        if start == end
            || word.is_empty()
            || self.is_name(start, &word)
            || !self.units.is_unit(&word)
        {
            return Ok(());
        }
        let both = format!("{} {word}", unit.text());
        let nearest = self.units.nearest(&both).unwrap_or_default();
        let what = format!("`{both}` has a space inside the unit");
        Err(TextFault::new(end, what, format!("{} {nearest}", self.number)))
    }

    /// Refuses `2 /K`, `1/K` and `2·mm`, where the word glued to the operator is a unit and no name.
    fn refuse_operator_before_unit(&self, at: usize, inverts: bool) -> Result<(), TextFault> {
        let word = self.word(at + 1);
        if word.is_empty() || !self.units.is_unit(&word) || self.is_name(at + 1, &word) {
            return Ok(());
        }
        let (term, end) = self.units.term(self.chars, at + 1)?;
        let unit = if inverts { inverted(term.text()) } else { term.text().to_owned() };
        let rest: String = self.chars[end..].iter().take_while(|c| !c.is_whitespace()).collect();
        let help = [format!("{} {unit}{rest}", self.number), format!("{} {unit}", self.number)];
        let reads = |help: &String| Quantity::parse(help, self.units).is_ok();
        let help = help.into_iter().find(reads).unwrap_or_default();
        let mark = self.chars[at];
        let what = format!("`{mark}{word}` stands where the unit of `{}` begins", self.number);
        Err(TextFault::new(at, what, help))
    }

    /// Returns the fault for a word behind the number that is no unit.
    fn not_a_unit(&self, start: usize, word: &str) -> TextFault {
        if !self.is_name(start, word) {
            return self.unknown(start);
        }
        let written = text(&self.chars[..start + word.chars().count()]);
        let what = format!("`{written}` has no operator between number and name");
        TextFault::new(start, what, format!("{} * {word}", self.number))
    }

    /// Returns the fault for an unknown unit at `start`, with the whole literal to type.
    fn unknown(&self, start: usize) -> TextFault {
        let word = self.word(start);
        let is_end = |c: &char| c.is_whitespace() || matches!(c, '(' | ')' | '*' | '+' | ',' | '±');
        let whole: String = self.chars[start..].iter().take_while(|c| !is_end(c)).collect();
        let shown = if word.is_empty() { whole.clone() } else { word.clone() };
        // Longer readings first: `deg C`, `m2/s`, `m2`.
        let next: String = self.chars[start..].iter().skip(whole.chars().count()).collect();
        let next = next.split_whitespace().next().unwrap_or_default();
        let texts = [format!("{whole} {next}"), whole, word];
        let mut wrong = texts.iter().filter(|it| self.units.parse_plain(it).is_err());
        let nearest = wrong.find_map(|it| self.units.nearest(it));
        let help = nearest.map(|it| format!("{} {it}", self.number)).unwrap_or_default();
        TextFault::new(start, unknown(&shown), help)
    }

    /// Returns the fault for a word behind `/` or `·` that is both a unit and a name.
    fn ambiguous(&self, unit: &Unit, at: usize, word: &str) -> TextFault {
        let operator = if self.chars[at] == '/' { '/' } else { '*' };
        let what = format!("`{word}` is both a unit and a name of this budget");
        let end = at + 1 + word.chars().count();
        let is_power = |c: &char| c.is_ascii_digit() || "^-⁻⁰¹²³⁴⁵⁶⁷⁸⁹".contains(*c);
        let power: String =
            self.chars[end.min(self.chars.len())..].iter().take_while(|c| is_power(c)).collect();
        let (number, unit) = (&self.number, unit.text());
        let help = format!("write `{number} {unit} {operator} {word}{power}`, or rename `{word}`");
        TextFault::new(at + 1, what, help)
    }

    /// Whether the word at `start` is a name, or a function with its parenthesis.
    fn is_name(&self, start: usize, word: &str) -> bool {
        let folded: String = word.nfc().collect::<String>().replace('\u{b5}', "\u{3bc}");
        let end = start + word.chars().count();
        RESERVED.contains(&folded.as_str())
            || (self.is_name)(&folded)
            || (!self.units.is_unit(word) && self.chars.get(self.skip_spaces(end)) == Some(&'('))
    }

    /// Returns the word at `start`, empty where there is none.
    fn word(&self, start: usize) -> String {
        let rest = self.chars.get(start..).unwrap_or_default();
        text(&rest[..word_length(rest)])
    }

    /// Returns the place of the first character from `start` that is not white space.
    fn skip_spaces(&self, start: usize) -> usize {
        start + self.chars[start..].iter().take_while(|c| c.is_whitespace()).count()
    }
}

impl TextFault {
    /// Returns the same help for another place and message.
    fn at(mut self, at: usize, what: String) -> TextFault {
        (self.at, self.what) = (at, what);
        self
    }
}

/// Returns the text of 1/term for the text of a term with or without power.
fn inverted(term: &str) -> String {
    let cut = term.find(|c: char| c == '^' || c == '⁻' || "¹²³⁰⁴⁵⁶⁷⁸⁹".contains(c));
    let (word, power) = term.split_at(cut.unwrap_or(term.len()));
    match power {
        "" => format!("{word}^-1"),
        "^-1" | "⁻¹" => word.to_owned(),
        _ if power.starts_with("^-") => format!("{word}^{}", &power[2..]),
        _ if power.starts_with('^') => format!("{word}^-{}", power[1..].trim_start_matches('+')),
        _ => match power.strip_prefix('⁻') {
            Some(positive) => format!("{word}{positive}"),
            None => format!("{word}⁻{power}"),
        },
    }
}

/// Returns where `±`, `+-` or `+/-` stands, in characters.
fn plus_minus(text: &str) -> Option<usize> {
    let found = ["±", "+-", "+/-", "+\u{2212}"].iter().filter_map(|it| text.find(it)).min()?;
    Some(text[..found].chars().count())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Scans with the names `x`, `rho`, `L`, `μ_1` (folded) and the own unit `HRC`.
    fn scanned(written: &str) -> Result<Scanned, TextFault> {
        let units = Units::with_own(&["HRC".to_owned()]).unwrap();
        let names = ["x", "rho", "L", "\u{3bc}_1", "e"];
        scan(&written.chars().collect::<Vec<_>>(), &units, &|word| names.contains(&word))
    }

    fn parse(written: &str) -> Result<Quantity, TextFault> {
        Quantity::parse(written, &Units::default())
    }

    #[test]
    fn a_literal_ends_where_the_expression_goes_on() {
        for (written, text, length) in [
            ("5mm", "5 mm", 3),
            ("5 mm", "5 mm", 4),
            ("5\u{a0}mm", "5 mm", 4),
            ("5\u{202f}mm", "5 mm", 4),
            ("1.5e3 mm", "1.5e3 mm", 8),
            ("2.500", "2.500", 5),
            ("5 mm / x", "5 mm", 4),
            ("5 mm/x", "5 mm", 4),
            ("5 mm·x", "5 mm", 4),
            ("5 mm/2", "5 mm", 4),
            ("5 mm/(x)", "5 mm", 4),
            ("5 mm/sin(x)", "5 mm", 4),
            ("5 mm/pi", "5 mm", 4),
            ("5 mm/reading", "5 mm", 4),
            ("2 mm^2 * x", "2 mm^2", 6),
            ("2 mm² * x", "2 mm²", 5),
            ("11.5 µm/m/K * x", "11.5 µm/m/K", 11),
            ("11.5 um/m/K", "11.5 µm/m/K", 11),
            ("3 N·m", "3 N·m", 5),
            ("3 N.m", "3 N·m", 5),
            ("60 HRC", "60 HRC", 6),
            ("5 %", "5 %", 3),
            ("5% of", "5 %", 2),
            ("2 * x", "2", 1),
            ("2*x", "2", 1),
            ("2·x", "2", 1),
            ("2 / x", "2", 1),
            ("1/rho", "1", 1),
            ("1/2", "1", 1),
            ("1/(x)", "1", 1),
            ("1/L", "1", 1),
            ("2^3", "2", 1),
            ("2 - 1", "2", 1),
            ("2) mm", "2", 1),
            ("2, 3", "2", 1),
            ("5 mm ± 1 µm", "5 mm", 4),
            ("5 mm, x", "5 mm", 4),
            ("5 mm L", "5 mm", 4),
            ("30° + x", "30 °", 3),
        ] {
            let got = scanned(written).unwrap_or_else(|fault| panic!("{written}: {fault:?}"));
            assert_eq!((got.quantity.text().as_str(), got.length), (text, length), "{written}");
            assert_eq!(got.has_unit, text.contains(' '), "{written}");
        }
    }

    #[test]
    fn refuses_with_place_and_what_to_type() {
        for (written, at, help) in [
            ("5  mm + x", 1, "5 mm"),
            ("5\tmm/m", 1, "5 mm/m"),
            ("2x", 1, "2 * x"),
            ("2 x", 2, "2 * x"),
            ("2e", 1, "2 * e"),
            ("2 \u{b5}_1", 2, "2 * \u{b5}_1"),
            ("2 pi", 2, "2 * pi"),
            ("2 sin(x)", 2, "2 * sin"),
            ("2 /K", 2, "2 K^-1"),
            ("1/K", 1, "1 K^-1"),
            ("1/mm^2", 1, "1 mm^-2"),
            ("1/s²", 1, "1 s⁻²"),
            ("1/m/K", 1, "1 m^-1/K"),
            ("1/K * x", 1, "1 K^-1"),
            ("1/K+x", 1, "1 K^-1"),
            ("2·mm", 1, "2 mm"),
            ("5 m2", 2, "5 m^2"),
            ("5 Nm", 2, "5 N·m"),
            ("5 MM", 2, "5 mm"),
            ("5 micron + x", 2, "5 µm"),
            ("5 deg C", 5, "5 °C"),
            ("5 N m", 3, "5 N·m"),
            ("5\"", 1, "5 in"),
            ("5 mm/L", 5, "write `5 mm / L`, or rename `L`"),
            ("5 mm·L", 5, "write `5 mm * L`, or rename `L`"),
            ("5 mm.x", 4, "5 mm * x"),
            ("5 µm/M", 5, "5 µm/m"),
            ("5 mm/speed", 5, ""),
            ("5 furlong", 2, ""),
            ("0,5 mm", 1, "0.5"),
            ("1 000 mm", 1, "1000"),
            ("1_000 mm", 1, "1000"),
            (".5 mm", 0, "0.5"),
            ("5. mm", 0, "5.0"),
            ("1.2.3", 3, ""),
            ("1e999 mm", 0, ""),
        ] {
            let fault = scanned(written).expect_err(written);
            assert_eq!((fault.at, fault.help.as_str()), (at, help), "{written}: {}", fault.what);
        }
    }

    #[test]
    fn a_power_after_a_unit_is_a_whole_number_or_a_fault() {
        for written in ["5 mm^x", "5 mm^(2)", "5 mm^0.5", "5 mm^2^3", "5 mm^ 2"] {
            let fault = scanned(written).unwrap_err();
            assert_eq!(
                (fault.at, fault.what.as_str()),
                (4, "`^` after a unit takes a whole number")
            );
        }
    }

    #[test]
    fn says_what_is_wrong_in_one_line() {
        for (written, what) in [
            ("5 furlong", "`furlong` is not a known unit"),
            ("2x", "`2x` has no operator between number and name"),
            ("5 mm/L", "`L` is both a unit and a name of this budget"),
            ("2 /K", "`/K` stands where the unit of `2` begins"),
            ("5  mm", "more than one space between `5` and `mm`"),
            ("5 N m", "`N m` has a space inside the unit"),
        ] {
            assert_eq!(scanned(written).unwrap_err().what, what);
        }
    }

    #[test]
    fn whole_texts_have_a_sign_and_exact_values() {
        for (written, text, si) in [
            ("10.301 mm", "10.301 mm", 0.010_301),
            ("-3 µin", "-3 µin", -7.62e-8),
            ("\u{2212}3 uin", "-3 µin", -7.62e-8),
            ("+0.25", "+0.25", 0.25),
            ("25 %", "25 %", 0.25),
            ("180°", "180 °", std::f64::consts::PI),
            ("20 °C", "20 °C", 20.0),
        ] {
            let quantity = parse(written).unwrap();
            assert_eq!((quantity.text().as_str(), quantity.si()), (text, si), "{written}");
        }
        assert_eq!(parse("20 °C").unwrap().scale(), Scale::Celsius);
        let inch = parse("1 in").unwrap().exact();
        assert_eq!(inch, parse("25.4 mm").unwrap().exact());
    }

    #[test]
    fn whole_texts_are_one_value_and_nothing_else() {
        for (written, at, help) in [
            ("±3 µm", 0, ""),
            ("5 mm ± 1 µm", 5, ""),
            ("+/-3 µm", 0, ""),
            ("- 3 mm", 1, "-3 mm"),
            ("-0,5 mm", 2, "-0.5"),
            ("-5 Nm", 3, "-5 N·m"),
            ("5 mm / 2", 4, ""),
            ("5 mm ", 4, "5 mm"),
            ("mm", 0, ""),
            ("", 0, ""),
            (".inf", 0, "write a finite decimal number"),
            ("~", 0, "write a number, or leave the key out"),
        ] {
            let fault = parse(written).expect_err(written);
            assert_eq!((fault.at, fault.help.as_str()), (at, help), "{written}: {}", fault.what);
        }
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(written in "[0-9.][0-9.eE,_ µumNKxL/·^()*⁻²-]{0,12}|[0-9]\\PC{0,8}") {
            match scanned(&written) {
                Ok(found) => prop_assert!(found.length <= written.chars().count()),
                Err(fault) => prop_assert!(fault.at <= written.chars().count()),
            }
        }

        /// What is printed of a literal reads as the same literal.
        #[test]
        fn the_text_of_a_literal_reads_as_the_same(number in "[1-9][0-9]{0,5}(\\.[0-9]{1,4})?", index in 0..200_usize) {
            let all: Vec<_> = super::super::unit_table::all().map(|it| it.spelling()).collect();
            let quantity = parse(&format!("{number}{}", all[index % all.len()])).unwrap();
            prop_assert_eq!(parse(&quantity.text()), Ok(quantity));
        }
    }
}
