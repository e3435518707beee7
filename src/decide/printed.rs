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
