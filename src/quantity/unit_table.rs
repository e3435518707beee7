//! The table of units: symbol, exact factor to the coherent SI unit, dimension, allowed prefixes.
//!
//! Data and its look-up, nothing else. A factor is a product and quotient of decimals, as its source
//! defines it, times a power of π. Which prefixes a unit takes is written out for each, so that no
//! two spellings collide (`min` is the minute, never a milli-inch); a test goes through all of them.
//!
//! Sources: SI = SI Brochure, 9th edition (2019): tables 2 and 4 (base and derived units), 7
//! (prefixes), 8 (units accepted beside the SI), 2.3.4 and 5.4.7 (plain numbers, %). Yard and pound = the
//! international agreement of 1959: yard 0.9144 m, pound 0.453 592 37 kg. g_n = standard gravity,
//! 9.806 65 m/s², 3rd CGPM 1901. bar, tonne-force relatives and °F as in NIST SP 811 (2008), annex B.

use super::{Decimal, Dimension, Exact, Scale};
use num_rational::BigRational;
use num_traits::One;

/// One unit.
#[derive(Debug)]
pub(super) struct Entry {
    /// The spelling, folded as by [`fold`].
    pub(super) symbol: &'static str,
    /// Decimals joined by `*` and `/`.
    factor: &'static str,
    pi_power: i32,
    exponents: [i8; 7],
    prefixes: &'static [&'static str],
}

/// A unit with the power of ten of its prefix.
#[derive(Debug, Clone, Copy)]
pub(super) struct Prefixed {
    entry: &'static Entry,
    prefix: &'static str,
}

impl Prefixed {
    /// Exact factor to the coherent SI unit.
    pub(super) fn factor(self) -> Exact {
        let power = PREFIXES.iter().find(|it| it.0 == self.prefix).map_or(0, |it| it.1);
        let ratio = product(self.entry.factor) * super::exact::power_of_ten(power);
        Exact::with_pi(ratio, self.entry.pi_power)
    }

    /// The dimension.
    pub(super) fn dimension(self) -> Dimension {
        Dimension::si(self.entry.exponents)
    }

    /// The scale that the unit has when it stands alone.
    pub(super) fn scale(self) -> Scale {
        match self.entry.symbol {
            "°C" => Scale::Celsius,
            "°F" => Scale::Fahrenheit,
            "K" => Scale::Kelvin,
            _ => Scale::None,
        }
    }

    /// The folded spelling.
    pub(super) fn spelling(self) -> String {
        format!("{}{}", self.prefix, self.entry.symbol)
    }
}

/// Returns the unit spelled `term`, which is folded.
pub(super) fn find(term: &str) -> Option<Prefixed> {
    TABLE.iter().find_map(|entry| {
        let prefix = term.strip_suffix(entry.symbol)?;
        let prefix = if prefix == "u" { "µ" } else { prefix };
        if prefix.is_empty() {
            return Some(Prefixed { entry, prefix: "" });
        }
        let prefix = entry.prefixes.iter().find(|it| **it == prefix)?;
        Some(Prefixed { entry, prefix })
    })
}

/// Returns all units with all their prefixes, in the order of the table.
pub(super) fn all() -> impl Iterator<Item = Prefixed> {
    TABLE.iter().flat_map(|entry| {
        let prefixes = std::iter::once("").chain(entry.prefixes.iter().copied());
        prefixes.map(move |prefix| Prefixed { entry, prefix })
    })
}

/// Folds one spelling of a term to that of the table: μ to µ, `ohm` and Ω (U+2126) to Ω (U+03A9),
/// the kelvin sign to K, ℃ and ℉ to two characters, a `u` that stands for µ to µ.
pub(super) fn fold(term: &str) -> String {
    let folded = term
        .replace('\u{3bc}', "µ")
        .replace('\u{2126}', "Ω")
        .replace('\u{212a}', "K")
        .replace('\u{2103}', "°C")
        .replace('\u{2109}', "°F");
    let folded = match folded.strip_suffix("ohm") {
        Some(prefix) => format!("{prefix}Ω"),
        None => folded,
    };
    match folded.strip_prefix('u') {
        Some(rest) if find(&folded).is_some() => format!("µ{rest}"),
        _ => folded,
    }
}

/// Returns the value of decimals joined by `*` and `/`.
fn product(text: &str) -> BigRational {
    let decimal = |part: &str| {
        let decimal = Decimal::parse(part).expect("the factors of the table are read by a test");
        decimal.exact().ratio().clone()
    };
    text.split('*').fold(BigRational::one(), |value, part| {
        let mut parts = part.split('/').map(decimal);
        let first = parts.next().unwrap_or_else(BigRational::one);
        value * parts.fold(first, |quotient, divisor| quotient / divisor)
    })
}

/// SI prefixes that some unit takes (SI Brochure, table 7).
const PREFIXES: &[(&str, i32)] = &[
    ("T", 12),
    ("G", 9),
    ("M", 6),
    ("k", 3),
    ("h", 2),
    ("d", -1),
    ("c", -2),
    ("m", -3),
    ("µ", -6),
    ("n", -9),
    ("p", -12),
    ("f", -15),
];

/// Writes one line of the table.
const fn unit(
    symbol: &'static str,
    factor: &'static str,
    exponents: [i8; 7],
    prefixes: &'static [&'static str],
) -> Entry {
    Entry { symbol, factor, pi_power: 0, exponents, prefixes }
}

/// Writes a line for an angle: a rational number of π.
const fn angle(symbol: &'static str, factor: &'static str) -> Entry {
    Entry { symbol, factor, pi_power: 1, exponents: NUMBER, prefixes: &[] }
}

/// Exponents of m, kg, s, A, K, mol, cd.
const NUMBER: [i8; 7] = [0, 0, 0, 0, 0, 0, 0];
const LENGTH: [i8; 7] = [1, 0, 0, 0, 0, 0, 0];
const MASS: [i8; 7] = [0, 1, 0, 0, 0, 0, 0];
const FORCE: [i8; 7] = [1, 1, -2, 0, 0, 0, 0];
const PRESSURE: [i8; 7] = [-1, 1, -2, 0, 0, 0, 0];
const KELVIN: [i8; 7] = [0, 0, 0, 0, 1, 0, 0];
const TIME: [i8; 7] = [0, 0, 1, 0, 0, 0, 0];
const FREQUENCY: [i8; 7] = [0, 0, -1, 0, 0, 0, 0];
const CURRENT: [i8; 7] = [0, 0, 0, 1, 0, 0, 0];
const VOLTAGE: [i8; 7] = [2, 1, -3, -1, 0, 0, 0];
const RESISTANCE: [i8; 7] = [2, 1, -3, -2, 0, 0, 0];
const CONDUCTANCE: [i8; 7] = [-2, -1, 3, 2, 0, 0, 0];
const POWER: [i8; 7] = [2, 1, -3, 0, 0, 0, 0];
const ENERGY: [i8; 7] = [2, 1, -2, 0, 0, 0, 0];
const CHARGE: [i8; 7] = [0, 0, 1, 1, 0, 0, 0];
const CAPACITANCE: [i8; 7] = [-2, -1, 4, 2, 0, 0, 0];
const INDUCTANCE: [i8; 7] = [2, 1, -2, -2, 0, 0, 0];
const FLUX_DENSITY: [i8; 7] = [0, 1, -2, -1, 0, 0, 0];
const FLUX: [i8; 7] = [2, 1, -2, -1, 0, 0, 0];
const VOLUME: [i8; 7] = [3, 0, 0, 0, 0, 0, 0];
const AMOUNT: [i8; 7] = [0, 0, 0, 0, 0, 1, 0];
const LUMINOUS: [i8; 7] = [0, 0, 0, 0, 0, 0, 1];
const ILLUMINANCE: [i8; 7] = [-2, 0, 0, 0, 0, 0, 1];

/// The units. The more common of a field come first: a hint takes the first that fits.
#[rustfmt::skip]
static TABLE: &[Entry] = &[
    // Length. SI, table 2; yard agreement 1959 (inch = yard/36, foot = yard/3).
    unit("m", "1", LENGTH, &["m", "µ", "n", "c", "d", "k", "p", "f"]),
    unit("in", "0.9144/36", LENGTH, &["µ"]),
    unit("mil", "0.9144/36/1000", LENGTH, &[]),
    unit("ft", "0.9144/3", LENGTH, &[]),
    unit("yd", "0.9144", LENGTH, &[]),
    // Angle. SI, tables 4 and 8: 1° = π/180 rad, 1′ = 1°/60, 1″ = 1′/60.
    unit("rad", "1", NUMBER, &["m", "µ", "n"]),
    angle("°", "1/180"),
    angle("deg", "1/180"),
    angle("′", "1/10800"),
    angle("arcmin", "1/10800"),
    angle("″", "1/648000"),
    angle("arcsec", "1/648000"),
    // Mass. SI, tables 2 and 8; pound agreement 1959 (ounce = pound/16).
    unit("g", "0.001", MASS, &["k", "m", "µ", "n"]),
    unit("t", "1000", MASS, &[]),
    unit("lb", "0.45359237", MASS, &[]),
    unit("oz", "0.45359237/16", MASS, &[]),
    // Force. SI, table 4; mass times g_n.
    unit("N", "1", FORCE, &["k", "m", "M", "µ", "n"]),
    unit("kgf", "9.80665", FORCE, &[]),
    unit("lbf", "0.45359237*9.80665", FORCE, &[]),
    unit("ozf", "0.45359237*9.80665/16", FORCE, &[]),
    // Pressure. SI, table 4; bar = 10⁵ Pa (NIST SP 811); psi = lbf/in².
    unit("Pa", "1", PRESSURE, &["k", "h", "M", "G", "m"]),
    unit("bar", "100000", PRESSURE, &["m", "µ"]),
    unit("psi", "0.45359237*9.80665*36/0.9144*36/0.9144", PRESSURE, &[]),
    // Temperature intervals. SI, table 4; degree Fahrenheit = 5/9 K (NIST SP 811).
    unit("°C", "1", KELVIN, &["m"]),
    unit("K", "1", KELVIN, &["m", "µ", "n"]),
    unit("°F", "5/9", KELVIN, &[]),
    // Time and frequency. SI, tables 2, 4 and 8.
    unit("s", "1", TIME, &["m", "µ", "n", "p", "f"]),
    unit("min", "60", TIME, &[]),
    unit("h", "3600", TIME, &[]),
    unit("d", "86400", TIME, &[]),
    unit("Hz", "1", FREQUENCY, &["k", "M", "G", "T", "m"]),
    // Electricity and magnetism. SI, tables 2 and 4.
    unit("V", "1", VOLTAGE, &["m", "µ", "k", "n", "M"]),
    unit("A", "1", CURRENT, &["m", "µ", "n", "k", "p", "f"]),
    unit("Ω", "1", RESISTANCE, &["k", "m", "M", "µ", "n", "G", "T"]),
    unit("W", "1", POWER, &["k", "m", "M", "µ", "n", "G"]),
    unit("J", "1", ENERGY, &["k", "m", "M", "µ", "n", "G"]),
    unit("S", "1", CONDUCTANCE, &["m", "µ", "n", "k"]),
    unit("F", "1", CAPACITANCE, &["m", "µ", "n", "p", "f"]),
    unit("H", "1", INDUCTANCE, &["m", "µ", "n", "p"]),
    unit("C", "1", CHARGE, &["m", "µ", "n", "p", "k"]),
    unit("T", "1", FLUX_DENSITY, &["m", "µ", "n"]),
    unit("Wb", "1", FLUX, &["m", "µ"]),
    // Volume. SI, table 8: litre = 1 dm³.
    unit("L", "0.001", VOLUME, &["m", "µ", "n", "c", "d", "h"]),
    unit("l", "0.001", VOLUME, &["m", "µ", "n", "c", "d", "h"]),
    // Amount and light. SI, tables 2 and 4.
    unit("mol", "1", AMOUNT, &["m", "µ", "n", "k"]),
    unit("cd", "1", LUMINOUS, &["m", "k"]),
    unit("lm", "1", LUMINOUS, &[]),
    unit("lx", "1", ILLUMINANCE, &["m", "k"]),
    // Plain numbers. SI, 5.4.7; ppb is taken as 10⁻⁹, its meaning in English.
    unit("%", "0.01", NUMBER, &[]),
    unit("‰", "0.001", NUMBER, &[]),
    unit("ppm", "0.000001", NUMBER, &[]),
    unit("ppb", "0.000000001", NUMBER, &[]),
];

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn factor(spelling: &str) -> Exact {
        find(spelling).unwrap_or_else(|| panic!("{spelling} is not there")).factor()
    }

    #[test]
    fn no_two_spellings_collide() {
        let mut seen: BTreeMap<String, String> = BTreeMap::new();
        for unit in all() {
            let spelling = unit.spelling();
            let mut written = vec![spelling.clone()];
            written.extend(spelling.strip_prefix('µ').map(|rest| format!("u{rest}")));
            written.extend(spelling.strip_suffix('Ω').map(|rest| format!("{rest}ohm")));
            for written in written {
                let before = seen.insert(written.clone(), spelling.clone());
                assert_eq!(before, None, "`{written}` is spelled twice");
                assert_eq!(fold(&written), spelling);
                assert_eq!(find(&fold(&written)).unwrap().spelling(), spelling);
            }
        }
        assert!(seen.len() > 180, "{} spellings", seen.len());
    }

    #[test]
    fn every_prefix_of_the_table_has_its_power_and_every_factor_is_read() {
        for unit in all() {
            assert!(unit.prefix.is_empty() || PREFIXES.iter().any(|it| it.0 == unit.prefix));
            assert!(unit.factor().to_f64() > 0.0, "{}", unit.spelling());
        }
    }

    /// Exact by definition: NIST SP 811 (2008), annex B.8, bold factors (inch, mil, foot, yard, pound, ounce,
    /// kilogram-force, bar), and the digits that it prints of pound-force, ounce-force and psi.
    #[test]
    fn factors_are_those_of_the_definitions() {
        for (spelling, exact) in [
            ("in", "0.0254"),
            ("µin", "0.0000000254"),
            ("mil", "0.0000254"),
            ("ft", "0.3048"),
            ("yd", "0.9144"),
            ("mm", "0.001"),
            ("lb", "0.45359237"),
            ("oz", "0.028349523125"),
            ("kg", "1"),
            ("kgf", "9.80665"),
            ("lbf", "4.4482216152605"),
            ("mbar", "100"),
            ("hPa", "100"),
            ("min", "60"),
            ("d", "86400"),
            ("mL", "0.000001"),
            ("ppm", "1e-6"),
            ("m°C", "0.001"),
        ] {
            assert_eq!(&factor(spelling), Decimal::parse(exact).unwrap().exact(), "{spelling}");
        }
        for (spelling, printed) in
            [("psi", 6.894_757e3), ("ozf", 2.780_139e-1), ("′", 2.908_882e-4)]
        {
            // Seven printed digits: half a unit of the last is below 3e-7 of the value.
            assert!((factor(spelling).to_f64() / printed - 1.0).abs() < 3e-7, "{spelling}");
        }
    }

    #[test]
    fn angles_carry_a_power_of_pi() {
        assert_eq!(factor("°").pi_power(), 1);
        assert_eq!(factor("°"), factor("′").mul(&Exact::from_integer(60)));
        assert_eq!(factor("′"), factor("arcsec").mul(&Exact::from_integer(60)));
        assert_eq!(factor("mrad").pi_power(), 0);
    }

    #[test]
    fn only_listed_prefixes_are_taken() {
        for spelling in
            ["Mm", "kin", "min\u{2032}", "mmil", "kmin", "mh", "kft", "k°C", "dd", "mkg", "u", "µ"]
        {
            assert!(find(spelling).is_none(), "{spelling}");
        }
        assert_eq!(find("min").map(|it| it.dimension()), Some(Dimension::si(TIME)));
    }
}
