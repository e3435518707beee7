//! What to type instead of a text that is no unit.
//!
//! Rules first (other words for a unit, spaces, `*`, glued powers and products, wrong case), then the
//! most alike spelling. Whatever is offered reads as a unit.

use super::unit::{Units, is_join};
use super::unit_table::all;

/// How alike (0 to 1) a spelling must be to be offered.
const ALIKE: f64 = 0.6;

/// Other words for units; compared with spaces removed, first as written, then in lower case.
const WORDS: &[(&str, &str)] = &[
    ("micron", "µm"),
    ("microns", "µm"),
    ("micrometre", "µm"),
    ("micrometer", "µm"),
    ("millimetre", "mm"),
    ("millimeter", "mm"),
    ("metre", "m"),
    ("meter", "m"),
    ("inch", "in"),
    ("inches", "in"),
    ("\"", "in"),
    ("'", "ft"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("thou", "mil"),
    ("mils", "mil"),
    ("microinch", "µin"),
    ("degC", "°C"),
    ("ºC", "°C"),
    ("oC", "°C"),
    ("celsius", "°C"),
    ("°K", "K"),
    ("degK", "K"),
    ("kelvin", "K"),
    ("degF", "°F"),
    ("ºF", "°F"),
    ("fahrenheit", "°F"),
    ("º", "°"),
    ("degree", "°"),
    ("degrees", "°"),
    ("radian", "rad"),
    ("radians", "rad"),
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("minute", "min"),
    ("minutes", "min"),
    ("mins", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("day", "d"),
    ("days", "d"),
    ("gram", "g"),
    ("grams", "g"),
    ("kilogram", "kg"),
    ("kgs", "kg"),
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("newton", "N"),
    ("newtons", "N"),
    ("pascal", "Pa"),
    ("volt", "V"),
    ("volts", "V"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("ohms", "Ω"),
    ("watt", "W"),
    ("litre", "L"),
    ("liter", "L"),
    ("cc", "cm^3"),
    ("lbft", "lbf·ft"),
    ("lbfft", "lbf·ft"),
    ("ftlb", "lbf·ft"),
    ("lbin", "lbf·in"),
    ("lbfin", "lbf·in"),
    ("inlb", "lbf·in"),
    ("ozin", "ozf·in"),
    ("kph", "km/h"),
    ("rpm", "min^-1"),
    ("percent", "%"),
    ("permille", "‰"),
];

/// Units of force, which make a torque when a length is glued on.
const FORCES: &[&str] = &["N", "kN", "mN", "lbf", "ozf", "kgf"];

/// Returns the unit that `text` most likely means; `None` where nothing is near.
pub(super) fn nearest(units: &Units, text: &str) -> Option<String> {
    let known = |text: &str| units.parse_plain(text).is_ok();
    let text = text.trim();
    let glued: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    if glued.is_empty() {
        return None;
    }
    if let Some(word) = other_word(&glued) {
        return Some(word.to_owned());
    }
    let joined = tidy(text);
    if joined != text && known(&joined) {
        return Some(joined);
    }
    let repaired = by_term(units, &joined).or_else(|| by_term(units, &glued))?;
    known(&repaired).then_some(repaired)
}

/// Returns the unit that another word stands for.
fn other_word(word: &str) -> Option<&'static str> {
    let find = |word: &str| WORDS.iter().find(|it| it.0 == word).map(|it| it.1);
    find(word).or_else(|| find(&word.to_lowercase()))
}

/// Writes `·` for `*` and for spaces between words, and leaves other spaces out.
fn tidy(text: &str) -> String {
    let text = text.replace(['*', '×'], "·");
    let mut tidied = String::new();
    for part in text.split_whitespace() {
        let open = tidied.chars().last().is_none_or(is_join);
        if !open && !part.starts_with(is_join) {
            tidied.push('·');
        }
        tidied.push_str(part);
    }
    tidied
}

/// Repairs each term that is no unit and leaves the others as they are.
fn by_term(units: &Units, text: &str) -> Option<String> {
    let mut repaired = String::new();
    for part in text.split_inclusive(is_join) {
        let term = part.trim_end_matches(is_join);
        let mark = &part[term.len()..];
        let fits = units.parse_plain(term).is_ok();
        repaired.push_str(&if fits { term.to_owned() } else { repair(units, term)? });
        repaired.push_str(mark);
    }
    Some(repaired)
}

/// Returns the unit nearest to one term that is none.
fn repair(units: &Units, term: &str) -> Option<String> {
    if let Some(word) = other_word(term) {
        return Some(word.to_owned());
    }
    let fits = |unit: &str| units.parse_plain(unit).is_ok();
    let cut = term.find(['^', '-', '⁻', '²', '³']).unwrap_or(term.len());
    let cut = term[..cut].find(|c: char| c.is_ascii_digit()).unwrap_or(cut);
    let (word, power) = term.split_at(cut);
    if word.is_empty() {
        return None;
    }
    let power = match power.chars().next() {
        Some('0'..='9' | '-') => format!("^{power}"),
        _ => power.to_owned(),
    };
    let as_it_is = units.is_unit(word).then(|| word.to_owned());
    let word = as_it_is
        .or_else(|| glued(units, word, |force| FORCES.contains(&force)))
        .or_else(|| other_case(units, word))
        .or_else(|| glued(units, word, |_| true))
        .or_else(|| alike(units, word))?;
    let repaired = format!("{word}{power}");
    fits(&repaired).then_some(repaired)
}

/// Returns `N·m` for `Nm`: two units of different dimensions, the first of which `takes` accepts.
fn glued(units: &Units, word: &str, takes: impl Fn(&str) -> bool) -> Option<String> {
    let splits = word.char_indices().skip(1).map(|(index, _)| word.split_at(index));
    let dimension = |part: &str| {
        let unit = units.parse_plain(part).ok().filter(|_| units.is_unit(part))?;
        Some(unit.dimension().clone()).filter(|it| !it.is_none())
    };
    let fits = |it: &(&str, &str)| {
        let (first, second) = (dimension(it.0), dimension(it.1));
        takes(it.0) && first.is_some() && second.is_some() && first != second
    };
    splits.filter(fits).map(|(first, second)| format!("{first}·{second}")).next()
}

/// Returns the unit that differs in upper and lower case only.
fn other_case(units: &Units, word: &str) -> Option<String> {
    let lower = word.to_lowercase();
    spellings(units).find(|it| it.to_lowercase() == lower)
}

/// Returns the most alike spelling; of equally alike ones the first of the table.
fn alike(units: &Units, word: &str) -> Option<String> {
    let score = |it: &str| strsim::normalized_damerau_levenshtein(it, word);
    let mut best: Option<(f64, String)> = None;
    for spelling in spellings(units) {
        let score = score(&spelling);
        if score >= ALIKE && best.as_ref().is_none_or(|it| score > it.0) {
            best = Some((score, spelling));
        }
    }
    best.map(|it| it.1)
}

/// Returns all units of one word.
fn spellings(units: &Units) -> impl Iterator<Item = String> {
    all().map(|it| it.spelling()).chain(units.own().iter().cloned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn units() -> Units {
        Units::with_own(&["HRC".to_owned()]).unwrap()
    }

    #[test]
    fn names_what_was_most_likely_meant() {
        for (written, nearest) in [
            ("m2", "m^2"),
            ("mm3", "mm^3"),
            ("s-1", "s^-1"),
            ("kg/m3", "kg/m^3"),
            ("Nm", "N·m"),
            ("kNm", "kN·m"),
            ("lbfin", "lbf·in"),
            ("Pas", "Pa·s"),
            ("N m", "N·m"),
            ("N*m", "N·m"),
            ("µm / m / K", "µm/m/K"),
            ("MM", "mm"),
            ("Mm", "mm"),
            ("KG", "kg"),
            ("Kg", "kg"),
            ("hz", "Hz"),
            ("khz", "kHz"),
            ("kpa", "kPa"),
            ("hrc", "HRC"),
            ("micron", "µm"),
            ("Micron", "µm"),
            ("deg C", "°C"),
            ("degC", "°C"),
            ("°c", "°C"),
            ("sec", "s"),
            ("inch", "in"),
            ("\"", "in"),
            ("mmm", "mm"),
            ("µinch", "µin"),
            ("MM2", "mm^2"),
            ("micron/m/K", "µm/m/K"),
            ("ppmm", "ppm"),
        ] {
            assert_eq!(units().nearest(written).as_deref(), Some(nearest), "{written}");
        }
    }

    #[test]
    fn offers_nothing_where_nothing_is_near() {
        for written in ["", " ", "x", "speed", "furlong", "5", "^2", "€", "a/b"] {
            assert_eq!(units().nearest(written), None, "{written}");
        }
    }

    #[test]
    fn every_other_word_leads_to_a_unit_and_is_none_itself() {
        for (word, unit) in WORDS {
            assert!(units().parse_plain(unit).is_ok(), "{unit}");
            assert!(units().parse_plain(word).is_err(), "{word}");
        }
    }

    proptest! {
        #[test]
        fn whatever_is_offered_reads_as_a_unit(text in "[a-zA-Z°µ]{1,6}[0-9]?([/·* ][a-zA-Z]{1,3})?|\\PC{0,6}") {
            if let Some(nearest) = units().nearest(&text) {
                prop_assert!(units().parse(&nearest).is_ok(), "{nearest} for {text}");
            }
        }
    }
}
