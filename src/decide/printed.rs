//! Limits for paper: rounded towards the better side, so that paper never passes what the engine
//! fails; the guard band is tolerance less printed limit, so that the sum closes.
//!
//! All values are exact numbers of the measurand's unit. A limit that is not exact and lies within
//! the tie tolerance of a printable value is that value, as it is for [`Zones::classify`].

use super::figures::{Figures, in_unit, places, power_of_ten, shortest};
use super::limits::{Limit, Limits, Side};
use super::zones::Zones;
use crate::quantity::Exact;
use std::cmp::Ordering;

/// A printed number of the measurand's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct PrintedNumber {
    /// The text, signed as errors are, without unit.
    pub text: String,
    /// The value, in the measurand's unit.
    pub value: f64,
    /// The same, exact.
    pub exact: Exact,
}

/// The printed limits of one side.
#[derive(Debug, Clone, PartialEq)]
pub struct PrintedSide {
    /// The tolerance limit: as it is where its decimals end, else rounded inwards.
    pub tolerance: PrintedNumber,
    /// The acceptance limit; `None` where nothing passes.
    pub acceptance: Option<PrintedNumber>,
    /// The limit beyond which a value fails, where that is not the acceptance limit.
    pub outermost: Option<PrintedNumber>,
    /// Distance of tolerance limit and printed acceptance limit.
    pub guard_band: Option<PrintedNumber>,
    /// Distance of tolerance limit and printed outermost limit.
    pub outer_guard_band: Option<PrintedNumber>,
}

/// The printed limits of one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Printed {
    /// Those of the lower side.
    pub lower: Option<PrintedSide>,
    /// Those of the upper side.
    pub upper: Option<PrintedSide>,
}

/// Finest place that crossed printed limits are refined to, below the usual one.
const FINER: i32 = 8;

impl Printed {
    /// Returns the printed limits of `zones`.
    pub fn new(zones: &Zones, figures: &Figures) -> Printed {
        let tie = zones.tie / figures.unit().si();
        let paper = Paper { figures, tie, place: figures.place() };
        let acceptance = zones.acceptance().map(|it| paper.both(it));
        let last = zones.zones.len() > 1;
        let outermost = zones.outermost().filter(|_| last).map(|it| paper.both(it));
        let side = |side: Side| {
            let tolerance = paper.tolerance(zones.tolerance.side(side)?, side);
            let limit = |it: &Option<[Option<Exact>; 2]>| it.as_ref()?[side as usize].clone();
            let (accepted, outer) = (limit(&acceptance), limit(&outermost));
            let band = |it: &Option<Exact>| it.as_ref()?.sub(&tolerance).map(|it| it.abs());
            Some(PrintedSide {
                guard_band: band(&accepted).map(|it| paper.unsigned(it)),
                outer_guard_band: band(&outer).map(|it| paper.unsigned(it)),
                acceptance: accepted.map(|it| paper.signed(it)),
                outermost: outer.map(|it| paper.signed(it)),
                tolerance: paper.signed(tolerance),
            })
        };
        Printed { lower: side(Side::Lower), upper: side(Side::Upper) }
    }

    /// Returns the printed limits of a side.
    pub fn side(&self, side: Side) -> Option<&PrintedSide> {
        match side {
            Side::Lower => self.lower.as_ref(),
            Side::Upper => self.upper.as_ref(),
        }
    }
}

/// What limits are printed with.
#[derive(Clone, Copy)]
struct Paper<'a> {
    figures: &'a Figures,
    tie: f64,
    place: i32,
}

impl Paper<'_> {
    /// Returns both limits of a zone, lower first; finer where rounding would cross them.
    fn both(&self, limits: &Limits) -> [Option<Exact>; 2] {
        let at = |place: i32| {
            [Side::Lower, Side::Upper].map(|side| {
                let limit = in_unit(limits.side(side)?, self.figures.unit());
                inwards(&limit, side, place, self.tie)
            })
        };
        let crossed = |both: &[Option<Exact>; 2]| match both {
            [Some(lower), Some(upper)] => lower.compare(upper) == Some(Ordering::Greater),
            _ => false,
        };
        let finer = (0..=FINER).map(|more| at(self.place - more)).find(|it| !crossed(it));
        finer.unwrap_or_else(|| at(self.place - FINER))
    }

    fn tolerance(&self, limit: &Limit, side: Side) -> Exact {
        let limit = in_unit(limit, self.figures.unit());
        let most = places(self.place) + 4;
        let ends = limit.exact.as_ref().filter(|it| shortest(it, 0, most).is_some());
        let rounded = || inwards(&limit, side, self.place, self.tie);
        ends.cloned().or_else(rounded).unwrap_or_else(Exact::zero)
    }

    fn signed(&self, exact: Exact) -> PrintedNumber {
        let text = self.text(&exact);
        PrintedNumber { text: self.figures.sign(&text), value: exact.to_f64(), exact }
    }

    fn unsigned(&self, exact: Exact) -> PrintedNumber {
        PrintedNumber { text: self.text(&exact), value: exact.to_f64(), exact }
    }

    /// Whole numbers are written without decimals, all others down to the printed place.
    fn text(&self, exact: &Exact) -> String {
        match exact.to_integer() {
            Some(whole) => whole.to_string().replace('-', "−"),
            None => self.figures.number(exact),
        }
    }
}

/// Returns `limit` (a number of the measurand's unit) rounded to a multiple of 10^`place`: an upper
/// limit down, a lower one up; one that is not exact to a multiple within `tie`. `None` where the
/// multiple leaves the range of 64 bits.
///
/// Method: M29.
pub(crate) fn inwards(limit: &Limit, side: Side, place: i32, tie: f64) -> Option<Exact> {
    let unit = power_of_ten(place);
    let exactly = limit.exact.as_ref().and_then(|it| match side {
        Side::Upper => it.floor_div(&unit),
        Side::Lower => it.neg().floor_div(&unit).map(|n| -n),
    });
    let nearly = || {
        let steps = limit.si / unit.to_f64();
        let nearest = libm::round(steps);
        let whole = if (steps - nearest).abs() * unit.to_f64() <= tie {
            nearest
        } else {
            match side {
                Side::Upper => libm::floor(steps),
                Side::Lower => libm::ceil(steps),
            }
        };
        (whole.abs() < 9e15).then_some(whole as i64)
    };
    exactly.or_else(nearly).map(|n| Exact::from_integer(n).mul(&unit))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Case, force, micrometer};
    use super::super::verdict::Verdict;
    use super::*;

    fn printed(case: &Case) -> Printed {
        case.zones().decision.unwrap().printed
    }

    fn texts(side: &PrintedSide) -> [String; 3] {
        let text =
            |it: &Option<PrintedNumber>| it.as_ref().map_or("–".into(), |it| it.text.clone());
        [side.tolerance.text.clone(), text(&side.acceptance), text(&side.guard_band)]
    }

    /// Method: M29.
    #[test]
    fn limits_are_rounded_inwards_and_the_sum_closes() {
        let case = micrometer("±4 µm", "guarded", 1.4512);
        let (lower, upper) = (printed(&case).lower.unwrap(), printed(&case).upper.unwrap());
        assert_eq!(texts(&upper), ["+4", "+2.54", "1.46"]);
        assert_eq!(texts(&lower), ["−4", "−2.54", "1.46"]);
        let relaxed = printed(&micrometer("±4 µm", "relaxed", 1.4579));
        assert_eq!(texts(&relaxed.upper.unwrap()), ["+4", "+5.45", "1.45"]);
        let three = printed(&micrometer("±4 µm", "three-way", 1.4579)).lower.unwrap();
        assert_eq!(three.outermost.unwrap().text, "−5.45");
        assert_eq!(three.outer_guard_band.unwrap().text, "1.45");
    }

    #[test]
    fn an_exact_limit_is_printed_as_it_is() {
        let case = micrometer("±4 µm", "guarded", 1.0).width("1.5 µm");
        assert_eq!(texts(&printed(&case).upper.unwrap()), ["+4", "+2.50", "1.50"]);
        let simple = micrometer("±2.125 µm", "simple", 1.0);
        assert_eq!(texts(&printed(&simple).upper.unwrap()), ["+2.125", "+2.12", "0.005"]);
    }

    /// 4 µm less 1.4 µm in `f64` is 2.6 µm within 1e-21 m: printed as 2.60, not 2.59.
    #[test]
    fn a_computed_limit_within_the_tie_tolerance_is_the_printable_value() {
        let case = micrometer("±4 µm", "guarded", 1.4);
        assert_eq!(texts(&printed(&case).upper.unwrap()), ["+4", "+2.60", "1.40"]);
        assert_eq!(texts(&printed(&case).lower.unwrap()), ["−4", "−2.60", "1.40"]);
    }

    #[test]
    fn an_empty_zone_prints_no_limit() {
        let upper = printed(&micrometer("±4 µm", "guarded", 4.5)).upper.unwrap();
        assert_eq!(texts(&upper), ["+4", "–", "–"]);
    }

    #[test]
    fn a_zone_narrower_than_the_printed_place_is_printed_finer() {
        let case = micrometer("±4 µm", "guarded", 1.0).width("3.999 µm");
        assert_eq!(texts(&printed(&case).upper.unwrap()), ["+4", "0", "4"]);
        let case = micrometer("[1.001 µm, 1.004 µm]", "simple", 1.0);
        assert_eq!(texts(&printed(&case).upper.unwrap()), ["1.004", "1.004", "0"]);
    }

    #[test]
    fn without_a_step_two_more_digits_than_u_are_printed() {
        let case = force("reading", "at least 5 N", "guarded", 0.314_15);
        assert_eq!(texts(&printed(&case).lower.unwrap()), ["5", "5.3142", "0.3142"]);
    }

    /// The display shows multiples of the step, here on a grid of whole micrometres or ten-thousandths
    /// of an inch; the verdict from paper is the engine's on each of them.
    #[test]
    fn printed_limits_reproduce_every_verdict_over_the_display() {
        for rule in ["simple", "guarded", "relaxed", "three-way", "four-way"] {
            for tolerance in ["±4 µm", "[-1 µm, 3 µm]", "at most 2 µm", "at least -3 µm"] {
                for expanded in [0.3, 0.999_999_9, 1.0, 1.457, 2.0, 3.4] {
                    let case = micrometer(tolerance, rule, expanded);
                    let decision = case.zones().decision.unwrap();
                    for error in -12..=12 {
                        let exact =
                            Exact::from_integer(error).mul(decision.figures.unit().factor());
                        let value = Limit::from_exact(exact).value();
                        let engine = decision.zones.classify(&value).0;
                        let (pass, fail) = on_paper(&decision.printed, &Exact::from_integer(error));
                        let told = format!("{rule} {tolerance} {expanded} {error}");
                        assert_eq!(engine == Verdict::Pass, pass, "{told}");
                        assert_eq!(engine == Verdict::Fail, fail, "{told}");
                    }
                }
            }
        }
    }

    /// Whether a reader of the printed limits passes, and fails, an error in the measurand's unit.
    fn on_paper(printed: &Printed, error: &Exact) -> (bool, bool) {
        let within = |number: &Option<PrintedNumber>, side: Side| {
            number.as_ref().is_some_and(|it| {
                let order = error.compare(&it.exact).unwrap();
                order == Ordering::Equal || (order == Ordering::Less) == (side == Side::Upper)
            })
        };
        let (mut pass, mut fail) = (true, false);
        for side in [Side::Lower, Side::Upper] {
            if let Some(it) = printed.side(side) {
                pass &= within(&it.acceptance, side);
                let last = if it.outermost.is_some() { &it.outermost } else { &it.acceptance };
                fail |= !within(last, side);
            }
        }
        (pass, fail)
    }
}
