//! Dimensions with rational exponents, and temperature scales.
//!
//! A dimension is a product of powers of the seven SI base quantities and of a budget's own units;
//! the factors are kept sorted and without zero exponents, so that equal dimensions are equal values.
//! Words for messages: SI Brochure, 9th edition, 2.3.3 and 2.3.4 (names of quantities, their units).

use std::fmt::Write;

/// Exponents are counted in this fraction: it holds halves to twelfths, twentieths and hundredths,
/// and makes sums exact.
const PARTS: i64 = 277_200;
/// The largest exponent that [`Dimension::power`] returns.
const LARGEST: i64 = 1000;

/// A base dimension.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Base {
    /// An SI base quantity, by its index in [`SYMBOLS`].
    Si(usize),
    /// A budget's own unit, by its symbol.
    Own(String),
}

/// The base units in the order in which they are printed.
const SYMBOLS: [&str; 7] = ["m", "kg", "s", "A", "K", "mol", "cd"];

/// The index of temperature in [`SYMBOLS`].
const TEMPERATURE: usize = 4;

/// A product of base dimensions (SI bases and a budget's own units) with rational exponents.
/// Angles are dimensionless (rad = 1).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Dimension {
    /// Sorted by base; exponents in parts of 1/[`PARTS`], none of them 0.
    factors: Vec<(Base, i64)>,
}

/// The scale that a temperature value carries; no scale: a plain interval, or not a lone temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// A plain value or interval.
    #[default]
    None,
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Kelvin.
    Kelvin,
}

impl Dimension {
    /// The dimension of a plain number.
    pub fn none() -> Dimension {
        Dimension::default()
    }

    /// Whether it is that of a plain number.
    pub fn is_none(&self) -> bool {
        self.factors.is_empty()
    }

    /// The dimension of temperature.
    pub fn temperature() -> Dimension {
        let mut exponents = [0; 7];
        exponents[TEMPERATURE] = 1;
        Dimension::si(exponents)
    }

    /// The dimension of length.
    pub fn length() -> Dimension {
        Dimension::si([1, 0, 0, 0, 0, 0, 0])
    }

    /// Returns that with the whole exponents of m, kg, s, A, K, mol and cd, in this order.
    pub fn si(exponents: [i8; 7]) -> Dimension {
        let factors = exponents.iter().enumerate().filter(|it| *it.1 != 0);
        let factors = factors.map(|(index, &n)| (Base::Si(index), i64::from(n) * PARTS)).collect();
        Dimension { factors }
    }

    /// Returns that of a budget's own unit.
    pub fn own(symbol: &str) -> Dimension {
        Dimension { factors: vec![(Base::Own(symbol.to_owned()), PARTS)] }
    }

    /// Returns that of a product.
    pub fn times(&self, other: &Dimension) -> Dimension {
        self.combine(other, 1)
    }

    /// Returns that of a quotient.
    pub fn over(&self, other: &Dimension) -> Dimension {
        self.combine(other, -1)
    }

    /// Returns that of a power numerator/denominator; `None` if an exponent leaves the range: beyond
    /// ±1000, or a fraction whose denominator does not divide 277 200 (halves to twelfths, twentieths
    /// and hundredths do); a denominator of 0 too, unless there is nothing to raise.
    pub fn power(&self, numerator: i32, denominator: i32) -> Option<Dimension> {
        let raised = |(base, exponent): &(Base, i64)| {
            let product = i128::from(*exponent) * i128::from(numerator);
            let quotient = product.checked_div(denominator.into())?;
            let exact = quotient * i128::from(denominator) == product;
            let small = quotient.unsigned_abs() <= (LARGEST * PARTS).unsigned_abs().into();
            let exponent =
                if exact && small { i64::try_from(quotient).ok()? } else { return None };
            Some((base.clone(), exponent))
        };
        let factors: Option<Vec<_>> = self.factors.iter().map(raised).collect();
        let factors = factors?.into_iter().filter(|it| it.1 != 0).collect();
        Some(Dimension { factors })
    }

    /// Returns words: `length`, `temperature`, `force`, `a plain number`, `length per temperature`,
    /// else base symbols such as `m^2·kg·s^-1`; own units by their symbol.
    pub fn words(&self) -> String {
        if self.is_none() {
            return "a plain number".to_owned();
        }
        self.name().unwrap_or_else(|| self.symbols())
    }

    /// Returns [`Dimension::words`] as they follow "is": `a length`, `an area`, `a plain number`,
    /// `a value per temperature`, ``in `m^2·kg·s^-1` ``.
    pub fn phrase(&self) -> String {
        match self.name() {
            _ if self.is_none() => "a plain number".to_owned(),
            None => format!("in `{}`", self.symbols()),
            Some(name) if name.starts_with("per ") => format!("a value {name}"),
            Some(name) if name.starts_with(['a', 'e', 'i', 'o', 'u']) => format!("an {name}"),
            Some(name) => format!("a {name}"),
        }
    }

    /// Returns the base symbols with their exponents, such as `m^2·kg·s^-1`; `1` for a plain number.
    pub fn symbols(&self) -> String {
        if self.is_none() {
            return "1".to_owned();
        }
        let mut text = String::new();
        for (base, exponent) in &self.factors {
            if !text.is_empty() {
                text.push('·');
            }
            match base {
                Base::Si(index) => text.push_str(SYMBOLS[*index]),
                Base::Own(symbol) => text.push_str(symbol),
            }
            push_exponent(&mut text, *exponent);
        }
        text
    }

    /// Returns words for a dimension that has them.
    fn name(&self) -> Option<String> {
        if let Some(known) = self.known() {
            return Some(known.to_owned());
        }
        if let Some(known) = Dimension::none().over(self).known() {
            return Some(format!("per {known}"));
        }
        DIVISORS.iter().find_map(|&(divisor, exponents)| {
            let known = self.times(&Dimension::si(exponents));
            known.known().map(|known| format!("{known} per {divisor}"))
        })
    }

    /// Returns the word of the table.
    fn known(&self) -> Option<&'static str> {
        let symbols = self.symbols();
        KNOWN.iter().find(|it| it.0 == symbols).map(|it| it.1)
    }

    /// Returns the product with `other` to the power `sign`.
    fn combine(&self, other: &Dimension, sign: i64) -> Dimension {
        let mut factors = self.factors.clone();
        for (base, exponent) in &other.factors {
            match factors.binary_search_by(|it| it.0.cmp(base)) {
                Ok(index) => factors[index].1 += sign * exponent,
                Err(index) => factors.insert(index, (base.clone(), sign * exponent)),
            }
        }
        factors.retain(|it| it.1 != 0);
        Dimension { factors }
    }
}

impl Scale {
    /// The unit's spelling: `°C`, `°F`, `K`, or empty.
    pub fn symbol(self) -> &'static str {
        match self {
            Scale::None => "",
            Scale::Celsius => "°C",
            Scale::Fahrenheit => "°F",
            Scale::Kelvin => "K",
        }
    }
}

/// Words for common dimensions, by their symbols. Torque and energy share one.
const KNOWN: &[(&str, &str)] = &[
    ("m", "length"),
    ("m^2", "area"),
    ("m^3", "volume"),
    ("kg", "mass"),
    ("s", "time"),
    ("A", "electric current"),
    ("K", "temperature"),
    ("mol", "amount of substance"),
    ("cd", "luminous intensity"),
    ("m·s^-1", "speed"),
    ("m·s^-2", "acceleration"),
    ("s^-1", "frequency"),
    ("m·kg·s^-2", "force"),
    ("m^2·kg·s^-2", "torque or energy"),
    ("m^2·kg·s^-3", "power"),
    ("m^-1·kg·s^-2", "pressure"),
    ("m^-3·kg", "density"),
    ("m^-1·kg·s^-1", "dynamic viscosity"),
    ("m^2·s^-1", "kinematic viscosity"),
    ("s·A", "electric charge"),
    ("m^2·kg·s^-3·A^-1", "voltage"),
    ("m^2·kg·s^-3·A^-2", "electric resistance"),
    ("m^-2·kg^-1·s^3·A^2", "electric conductance"),
    ("m^-2·kg^-1·s^4·A^2", "capacitance"),
    ("m^2·kg·s^-2·A^-2", "inductance"),
    ("kg·s^-2·A^-1", "magnetic flux density"),
    ("m^2·kg·s^-2·A^-1", "magnetic flux"),
    ("m^-2·cd", "luminance or illuminance"),
];

/// What a known dimension may be divided by, first match first.
const DIVISORS: &[(&str, [i8; 7])] = &[
    ("temperature", [0, 0, 0, 0, 1, 0, 0]),
    ("time", [0, 0, 1, 0, 0, 0, 0]),
    ("length", [1, 0, 0, 0, 0, 0, 0]),
    ("mass", [0, 1, 0, 0, 0, 0, 0]),
    ("volume", [3, 0, 0, 0, 0, 0, 0]),
    ("force", [1, 1, -2, 0, 0, 0, 0]),
    ("pressure", [-1, 1, -2, 0, 0, 0, 0]),
    ("voltage", [2, 1, -3, -1, 0, 0, 0]),
];

/// Appends `^2`, `^-1`, `^(1/2)` or nothing for the exponent in parts.
fn push_exponent(text: &mut String, parts: i64) {
    if parts == PARTS {
        return;
    }
    let (mut a, mut b) = (parts.abs(), PARTS);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    let (numerator, denominator) = (parts / a, PARTS / a);
    // Writing to a `String` cannot fail.
    let _ = match denominator {
        1 => write!(text, "^{numerator}"),
        _ => write!(text, "^({numerator}/{denominator})"),
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn says_common_dimensions_in_plain_words() {
        for (exponents, words) in [
            ([0, 0, 0, 0, 0, 0, 0], "a plain number"),
            ([1, 0, 0, 0, 0, 0, 0], "length"),
            ([2, 0, 0, 0, 0, 0, 0], "area"),
            ([0, 0, 0, 0, 1, 0, 0], "temperature"),
            ([0, 0, 0, 0, -1, 0, 0], "per temperature"),
            ([1, 0, 0, 0, -1, 0, 0], "length per temperature"),
            ([2, 1, -3, -1, -1, 0, 0], "voltage per temperature"),
            ([1, 1, -2, 0, 0, 0, 0], "force"),
            ([2, 1, -2, 0, 0, 0, 0], "torque or energy"),
            ([-1, 1, -2, 0, 0, 0, 0], "pressure"),
            ([0, 1, -2, 0, 0, 0, 0], "force per length"),
            ([3, 0, -1, 0, 0, 0, 0], "volume per time"),
            ([0, 0, 1, 0, 0, 0, 0], "time"),
            ([0, 0, -1, 0, 0, 0, 0], "frequency"),
            ([2, 1, -1, 0, 0, 0, 0], "m^2·kg·s^-1"),
            ([0, 0, 0, 0, 0, 3, 2], "mol^3·cd^2"),
        ] {
            assert_eq!(Dimension::si(exponents).words(), words);
        }
    }

    #[test]
    fn phrases_follow_the_word_is() {
        let per = Dimension::none().over(&Dimension::temperature());
        assert_eq!(Dimension::length().phrase(), "a length");
        assert_eq!(Dimension::si([2, 0, 0, 0, 0, 0, 0]).phrase(), "an area");
        assert_eq!(Dimension::none().phrase(), "a plain number");
        assert_eq!(per.phrase(), "a value per temperature");
        assert_eq!(Dimension::own("HRC").phrase(), "in `HRC`");
    }

    #[test]
    fn every_word_stands_for_one_dimension_in_printed_order() {
        for (index, (symbols, _)) in KNOWN.iter().enumerate() {
            assert!(KNOWN[..index].iter().all(|it| it.0 != *symbols), "{symbols} is there twice");
            let place = |part: &str| {
                let base = part.split('^').next().unwrap_or_default();
                SYMBOLS.iter().position(|it| *it == base).unwrap()
            };
            let places: Vec<_> = symbols.split('·').map(place).collect();
            assert!(places.is_sorted(), "{symbols} is never printed so");
        }
    }

    #[test]
    fn own_units_are_dimensions_of_their_own() {
        let (hardness, level) = (Dimension::own("HRC"), Dimension::own("dB"));
        assert_ne!(hardness, level);
        assert_eq!(hardness.words(), "HRC");
        assert_eq!(hardness.over(&Dimension::length()).words(), "m^-1·HRC");
        assert!(hardness.over(&hardness).is_none());
    }

    #[test]
    fn takes_roots_exactly_and_refuses_what_it_cannot_hold() {
        let area = Dimension::length().power(2, 1).unwrap();
        assert_eq!(area.power(1, 2), Some(Dimension::length()));
        assert_eq!(area.power(-1, 2).unwrap().words(), "per length");
        assert_eq!(Dimension::length().power(1, 2).unwrap().words(), "m^(1/2)");
        assert_eq!(Dimension::length().power(37, 20).unwrap().words(), "m^(37/20)");
        assert_eq!(Dimension::length().power(1, 13), None);
        assert_eq!(Dimension::length().power(1001, 1), None);
        assert_eq!(Dimension::length().power(1, 0), None);
        assert_eq!(Dimension::length().power(0, 1), Some(Dimension::none()));
        assert_eq!(Dimension::none().power(i32::MAX, 13), Some(Dimension::none()));
    }

    #[test]
    fn scales_are_spelled_as_their_units() {
        let spelled = [Scale::None, Scale::Celsius, Scale::Fahrenheit, Scale::Kelvin];
        assert_eq!(spelled.map(Scale::symbol), ["", "°C", "°F", "K"]);
    }

    proptest! {
        /// The dimensions are a commutative group (written as products).
        #[test]
        fn products_and_quotients_undo_each_other(a: [i8; 7], b: [i8; 7], n in 1..12_i32) {
            let (a, b) = (Dimension::si(a).times(&Dimension::own("dB")), Dimension::si(b));
            prop_assert_eq!(a.times(&b), b.times(&a));
            prop_assert_eq!(a.times(&b).over(&b), a.clone());
            let root = a.power(1, n).unwrap();
            let product = (0..n).fold(Dimension::none(), |product, _| product.times(&root));
            prop_assert_eq!(product, a);
        }
    }
}
