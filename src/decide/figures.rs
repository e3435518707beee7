//! Texts of readings and errors in what the display can show.
//!
//! Readings get as many decimals as the step has in the reading's unit; errors those of the step in
//! the measurand's unit, and more only where the value has more. Printed limits are two digits finer
//! than the step, or without a step than a two-digit U. Errors carry their sign.

use super::limits::{Limit, Limits};
use crate::propagate::Value;
use crate::quantity::decimal::{exact_text, fixed, last_place, significant};
use crate::quantity::{Exact, Unit};

/// How the measurand hangs on the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// It is the reading, or the reading minus the point's value.
    Difference,
    /// It is the reading minus something else that does not depend on it.
    Shifted,
    /// It is some other function of the reading.
    Function,
    /// It does not depend on the reading.
    Apart,
}

impl Relation {
    /// Whether a step of the reading is the same step of the measurand.
    pub fn is_difference(self) -> bool {
        matches!(self, Relation::Difference | Relation::Shifted)
    }
}

/// How values of one point are written.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    unit: Unit,
    reading_unit: Unit,
    step: Option<Exact>,
    relation: Relation,
    signed: bool,
    error_places: usize,
    reading_places: Option<usize>,
    place: i32,
}

/// The most decimals that an exact value is written with beyond the printed place.
const MORE: usize = 6;

impl Figures {
    /// Returns the figures for a measurand in `unit` and readings in `reading_unit`. `step`: of the
    /// display, in SI; `limits`: the tolerance; `expanded`: U at 95.45 % of the decision's scope, in
    /// SI, above 0.
    pub fn new(
        unit: &Unit,
        reading_unit: &Unit,
        step: Option<&Exact>,
        relation: Relation,
        limits: &Limits,
        expanded: f64,
    ) -> Figures {
        let alike = relation != Relation::Apart && unit.dimension() == reading_unit.dimension();
        let shown = step.filter(|_| alike).map(|it| Limit::from_exact(it.clone()));
        let digit = shown.map(|it| last_digit(&in_unit(&it, unit)));
        let place = digit.unwrap_or_else(|| last_place(expanded / unit.si(), 2)) - 2;
        let place = place.clamp(-30, 30);
        let error_digit = digit.filter(|_| relation.is_difference()).unwrap_or(place);
        let reading = step.map(|it| Limit::from_exact(it.clone()));
        let reading = reading.map(|it| places(last_digit(&in_unit(&it, reading_unit))));
        let below_zero = |it: &Option<Limit>| it.as_ref().is_some_and(|it| it.si < 0.0);
        Figures {
            unit: unit.clone(),
            reading_unit: reading_unit.clone(),
            step: step.cloned(),
            relation,
            signed: below_zero(&limits.lower) || below_zero(&limits.upper),
            error_places: places(error_digit),
            reading_places: reading,
            place,
        }
    }

    /// The measurand's unit.
    pub fn unit(&self) -> &Unit {
        &self.unit
    }

    /// The display step, in SI of the reading.
    pub fn step(&self) -> Option<&Exact> {
        self.step.as_ref()
    }

    /// How the measurand hangs on the reading.
    pub fn relation(&self) -> Relation {
        self.relation
    }

    /// The place (10ⁿ) of the last digit of printed limits, in the measurand's unit.
    pub fn place(&self) -> i32 {
        self.place
    }

    /// The fewest and the most decimals that an exact value of the measurand is written with.
    pub fn error_decimals(&self) -> (usize, usize) {
        (self.error_places, places(self.place) + MORE)
    }

    /// Whether values above zero carry a plus sign.
    pub fn is_signed(&self) -> bool {
        self.signed
    }

    /// Returns a value of the measurand with its unit, such as `+2 µm`.
    pub fn error(&self, value: &Value) -> String {
        self.with_unit(&self.error_number(value))
    }

    /// Returns a value of the measurand without its unit, such as `+2`.
    pub fn error_number(&self, value: &Value) -> String {
        let number = in_unit(&Limit::from(value), &self.unit);
        let most = places(self.place) + MORE;
        let exact = number.exact.as_ref().and_then(|it| shortest(it, self.error_places, most));
        let text = exact.unwrap_or_else(|| fixed(number.si, places(self.place)));
        let is_zero = !text.contains(|it: char| ('1'..='9').contains(&it));
        match number.exact {
            // What is not zero is not written as zero.
            Some(it) if is_zero && !it.is_zero() => self.sign(&trim(&significant(number.si, 6))),
            _ => self.sign(&text),
        }
    }

    /// Returns the reading with its unit, such as `10.302 mm`.
    pub fn reading(&self, reading: &Exact) -> String {
        let number = in_unit(&Limit::from_exact(reading.clone()), &self.reading_unit);
        let least = self.reading_places.unwrap_or(0);
        let exact = number.exact.as_ref().and_then(|it| shortest(it, least, least + 12));
        let text = exact.unwrap_or_else(|| fixed(number.si, least + 6));
        join(&minus(&text), &self.reading_unit)
    }

    /// Returns a distance (in SI of the measurand) without sign, with its unit, at the printed
    /// place; rounded up, so that nothing is nearer than it says.
    pub fn width(&self, width: &Limit) -> String {
        let unit = power_of_ten(self.place);
        let number = in_unit(width, &self.unit);
        let steps = libm::ceil(number.si / unit.to_f64() - 1e-6);
        let rounded = Exact::from_integer(steps as i64).mul(&unit);
        self.with_unit(&self.number(&rounded))
    }

    /// Returns a distance (in SI of the measurand) without sign, with its unit: as an error is.
    pub fn distance(&self, distance: &Limit) -> String {
        let apart = match &distance.exact {
            Some(exact) => Limit::from_exact(exact.abs()),
            None => Limit::computed(distance.si.abs()),
        };
        let text = self.error(&apart.value());
        text.trim_start_matches('+').to_owned()
    }

    /// Returns a number of the measurand's unit on the printed place, without plus sign and unit.
    pub fn number(&self, value: &Exact) -> String {
        let least = places(self.place);
        let text = shortest(value, least, least + 2 * MORE);
        minus(&text.unwrap_or_else(|| fixed(value.to_f64(), least + MORE)))
    }

    /// Returns a number's text with a plus sign where the figures carry signs and it is above zero.
    pub fn sign(&self, text: &str) -> String {
        let positive = text.contains(|it: char| ('1'..='9').contains(&it))
            && !text.starts_with(['-', '−', '+']);
        if self.signed && positive { format!("+{text}") } else { minus(text) }
    }

    /// Returns a number's text with the measurand's unit.
    pub fn with_unit(&self, number: &str) -> String {
        join(number, &self.unit)
    }
}

/// Returns a limit as a number of `unit`.
pub(crate) fn in_unit(limit: &Limit, unit: &Unit) -> Limit {
    match limit.exact.as_ref().and_then(|it| it.div(unit.factor())) {
        Some(exact) => Limit::from_exact(exact),
        None => Limit::computed(limit.si / unit.si()),
    }
}

/// Returns a limit (in SI) with its unit for a message, as short as it is exact; ASCII minus, to be
/// typed.
pub(crate) fn plain(limit: &Limit, unit: &Unit) -> String {
    let number = in_unit(limit, unit);
    let exact = number.exact.as_ref().and_then(|it| shortest(it, 0, 12));
    join(&exact.unwrap_or_else(|| trim(&significant(number.si, 6))), unit)
}

/// Returns a tolerance in words, with its unit: `±4 µm`, `-1 µm to 3 µm`, `at most 2 µm`.
pub fn tolerance_text(limits: &Limits, unit: &Unit) -> String {
    match (&limits.lower, &limits.upper) {
        (_, Some(upper)) if limits.is_symmetric() => format!("±{}", plain(upper, unit)),
        (Some(lower), Some(upper)) => format!("{} to {}", plain(lower, unit), plain(upper, unit)),
        (None, Some(upper)) => format!("at most {}", plain(upper, unit)),
        (Some(lower), None) => format!("at least {}", plain(lower, unit)),
        (None, None) => String::new(),
    }
}

/// Returns the number of decimals that a step, given as a number of the shown unit, needs.
pub fn decimals_of(step: &Exact) -> usize {
    places(last_digit(&Limit::from_exact(step.clone())))
}

/// Returns a probability in per cent, six digits at most.
pub(crate) fn percent(probability: f64) -> String {
    format!("{} %", trim(&significant(100.0 * probability, 6)))
}

/// Returns a probability in per cent, rounded up to three digits.
pub(crate) fn percent_up(probability: f64) -> String {
    let percent = 100.0 * probability;
    let place = last_place(percent, 3);
    let unit = power_of_ten(place);
    let steps = libm::ceil(percent / unit.to_f64());
    let rounded = Exact::from_integer(steps as i64).mul(&unit);
    let text = exact_text(&rounded, places(place)).unwrap_or_else(|| significant(percent, 3));
    format!("{} %", trim(&text))
}

/// Returns a ratio rounded down to two decimals: never shown as the figure that it misses.
pub(crate) fn ratio_down(ratio: f64) -> String {
    if ratio < 0.1 {
        significant(ratio, 2)
    } else {
        trim(&fixed(libm::floor(ratio * 100.0 + 1e-9) / 100.0, 2))
    }
}

/// Returns 10ⁿ, n within ±60.
pub(crate) fn power_of_ten(n: i32) -> Exact {
    let ten = Exact::from_integer(10);
    ten.powi(n.clamp(-60, 60)).expect("a power of ten with an exponent within ±64 exists")
}

/// Returns the number of decimals that a last digit at 10ⁿ needs.
pub(crate) fn places(n: i32) -> usize {
    usize::try_from(-n).unwrap_or(0)
}

/// Returns the text with the fewest decimals, from `least` to `most`, that holds the whole value.
pub(crate) fn shortest(value: &Exact, least: usize, most: usize) -> Option<String> {
    (least..=most).find_map(|places| exact_text(value, places))
}

/// Returns a number's text with its unit.
pub(crate) fn join(number: &str, unit: &Unit) -> String {
    match unit.text() {
        "1" => number.to_owned(),
        unit => format!("{number} {unit}"),
    }
}

/// Returns the place of a step's last digit that is not zero; that of its first digit where its
/// decimals do not end.
fn last_digit(step: &Limit) -> i32 {
    let ends = |n: &i32| {
        let quotient = step.exact.as_ref().and_then(|it| it.div(&power_of_ten(*n)));
        quotient.is_some_and(|it| exact_text(&it, 0).is_some())
    };
    let first = libm::floor(libm::log10(step.si) + 1e-12) as i32;
    (0..=18).map(|below| first - below).find(ends).unwrap_or(first)
}

fn minus(text: &str) -> String {
    text.replace('-', "−")
}

fn trim(text: &str) -> String {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Case, force, micrometer, value};
    use super::*;
    use crate::quantity::Units;

    fn figures(case: &Case) -> Figures {
        case.zones().decision.unwrap().figures
    }

    #[test]
    fn errors_and_readings_are_written_as_the_display_shows_them() {
        let figures = figures(&micrometer("±4 µm", "simple", 1.0));
        assert_eq!(figures.error(&value("2 µm")), "+2 µm");
        assert_eq!(figures.error(&value("-3 µm")), "−3 µm");
        assert_eq!(figures.error(&value("0 µm")), "0 µm");
        assert_eq!(figures.error(&value("1.87 µm")), "+1.87 µm");
        assert_eq!(figures.error(&Value { si: 1.876_543e-6, exact: None }), "+1.88 µm");
        assert_eq!(figures.reading(&value("10.3 mm").exact.unwrap()), "10.300 mm");
        assert_eq!(figures.place(), -2);
    }

    #[test]
    fn a_coarse_step_in_a_fine_unit_needs_no_decimals() {
        let coarse = figures(&micrometer("±40 µm", "simple", 1.0).display("0.05 mm"));
        assert_eq!((coarse.place(), coarse.error(&value("50 µm"))), (-1, "+50 µm".to_owned()));
        let fine = figures(&micrometer("±40 µm", "simple", 1.0).display("0.5 µm"));
        assert_eq!((fine.place(), fine.error(&value("3 µm"))), (-3, "+3.0 µm".to_owned()));
        assert_eq!(fine.reading(&value("10.3 mm").exact.unwrap()), "10.3000 mm");
    }

    /// 1e-4 in shown in millimetres is 2.54 µm: its last digit counts.
    #[test]
    fn an_inch_step_ends_in_micrometres() {
        let inch = figures(&micrometer("±40 µm", "simple", 1.0).display("0.0001 in"));
        assert_eq!(inch.place(), -4);
    }

    #[test]
    fn widths_are_rounded_up_and_distances_to_the_printed_place() {
        let figures = figures(&micrometer("±4 µm", "simple", 1.0));
        assert_eq!(figures.width(&Limit::computed(1.4512e-6)), "1.46 µm");
        assert_eq!(figures.width(&Limit::computed(1.5e-6)), "1.50 µm");
        assert_eq!(figures.distance(&Limit::computed(-1.4512e-6)), "1.45 µm");
    }

    #[test]
    fn nothing_below_zero_means_no_signs() {
        let figures = figures(&force("reading", "at least 5 N", "simple", 0.3));
        assert_eq!(figures.sign("5.3"), "5.3");
        assert_eq!(figures.sign("-1"), "−1");
    }

    #[test]
    fn small_texts_for_messages() {
        let unit = Units::default().parse("µm").unwrap();
        assert_eq!(plain(&Limit::computed(-4e-6), &unit), "-4 µm");
        assert_eq!(percent(0.05), "5 %");
        assert_eq!(percent_up(0.045_500_26), "4.56 %");
        assert_eq!(percent_up(0.05), "5 %");
        assert_eq!(ratio_down(3.999_9), "3.99");
        assert_eq!(ratio_down(4.0), "4");
        assert_eq!(ratio_down(0.012_3), "0.012");
    }
}
