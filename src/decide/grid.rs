//! The display grid: which of the readings n·step that a display can show lie in each zone.
//!
//! Computed once per point from [`Zones`] by its own comparison, so that judge, card and printed
//! sheets cannot disagree. The model must rise or fall with the reading; the thresholds are found
//! from a straight-line guess, by galloping and bisection on n. Where a model turns round, or the
//! thresholds lie beyond 2⁴⁰ steps, there is no grid.

use super::limits::{Limit, Limits, Side};
use super::verdict::{Cause, Verdict};
use super::zones::Zones;
use crate::propagate::Value;
use crate::quantity::Exact;
use std::cell::RefCell;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// How far a threshold may lie from the start, in steps.
const REACH: i64 = 1 << 40;

/// How many readings between and around the thresholds are probed for a model that turns round.
const PROBES: i64 = 16;

/// The readings of a zone: n from `low` to `high`, both included; an open side has no end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// The lowest n.
    pub low: Option<i64>,
    /// The highest n.
    pub high: Option<i64>,
}

/// The display grid of one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    step: Exact,
    rising: bool,
    zones: Vec<(Verdict, Option<Stretch>)>,
    tolerance: Option<Stretch>,
    beside: Option<i64>,
    decision: Zones,
}

impl Stretch {
    /// Whether it holds n.
    pub fn contains(&self, n: i64) -> bool {
        self.low.is_none_or(|low| low <= n) && self.high.is_none_or(|high| n <= high)
    }
}

impl Grid {
    /// Returns the grid of readings n·`step` (both in SI of the reading), `model` giving the
    /// measurand for a reading, searched from the reading `start`; `None` where there is none.
    pub fn new(
        step: &Exact,
        start: &Exact,
        model: &dyn Fn(&Exact) -> Option<Value>,
        zones: &Zones,
    ) -> Option<Grid> {
        let search = Search::new(step, start, model, zones.tie)?;
        let mut found = Vec::new();
        for zone in &zones.zones {
            found.push((zone.verdict, search.stretch(&zone.limits)?));
        }
        let tolerance = search.stretch(&zones.tolerance)?;
        let beside = search.beside(&zones.tolerance)?;
        let rising = search.slope > 0.0;
        search.is_monotone().then(|| Grid {
            step: step.clone(),
            rising,
            zones: found,
            tolerance,
            beside,
            decision: zones.clone(),
        })
    }

    /// Returns the reading n, in SI.
    pub fn reading(&self, n: i64) -> Exact {
        Exact::from_integer(n).mul(&self.step)
    }

    /// Returns n where the display can show `reading` (in SI).
    pub fn index(&self, reading: &Exact) -> Option<i64> {
        index_on(reading, &self.step)
    }

    /// Returns verdict and cause of the reading n.
    pub fn verdict(&self, n: i64) -> (Verdict, Option<Cause>) {
        let holds = |it: &Option<Stretch>| it.is_some_and(|stretch| stretch.contains(n));
        let zone = self.zones.iter().find(|it| holds(&it.1));
        let verdict = zone.map_or(Verdict::Fail, |it| it.0);
        (verdict, self.decision.cause(verdict, holds(&self.tolerance)))
    }

    /// Returns the readings of the zone with this verdict, better zones inside it included; `None`
    /// where the rule has no such zone or the display can show none of it.
    pub fn stretch(&self, verdict: Verdict) -> Option<Stretch> {
        self.zones.iter().find(|it| it.0 == verdict).and_then(|it| it.1)
    }

    /// Returns the last reading within the zone towards a side of the measurand, and the next one
    /// beyond it.
    pub fn edge(&self, verdict: Verdict, side: Side) -> Option<(i64, i64)> {
        let stretch = self.stretch(verdict)?;
        if (side == Side::Upper) == self.rising {
            stretch.high.map(|n| (n, n + 1))
        } else {
            stretch.low.map(|n| (n, n - 1))
        }
    }

    /// Whether the measurand rises with the reading.
    pub fn is_rising(&self) -> bool {
        self.rising
    }

    /// Returns, ascending, every reading within `around` steps of where a verdict changes, and of a
    /// limit of the tolerance, even of one so narrow that the display can show no reading within it.
    pub fn near_limits(&self, around: i64) -> Vec<i64> {
        let stretches = self.zones.iter().filter_map(|it| it.1).chain(self.tolerance);
        let mut readings = std::collections::BTreeSet::new();
        if let (None, Some(n)) = (self.tolerance, self.beside) {
            readings.extend(n - around..=n + around);
        }
        for stretch in stretches {
            let low = stretch.low.map(|n| (n - around, n + around - 1));
            let high = stretch.high.map(|n| (n - around + 1, n + around));
            for (first, last) in low.into_iter().chain(high) {
                readings.extend(first..=last);
            }
        }
        readings.into_iter().collect()
    }
}

/// Returns n where `reading` is n·`step`.
pub fn index_on(reading: &Exact, step: &Exact) -> Option<i64> {
    reading.div(step)?.to_integer()
}

/// Returns the readings of the display next to one that it cannot show: n below and above.
pub fn neighbours(reading: &Exact, step: &Exact) -> Option<(i64, i64)> {
    let below = reading.floor_div(step)?;
    Some((below, below.checked_add(1)?))
}

/// The search for thresholds; values of the model are kept by n.
struct Search<'a> {
    step: &'a Exact,
    model: &'a dyn Fn(&Exact) -> Option<Value>,
    tie: f64,
    start: i64,
    slope: f64,
    seen: RefCell<BTreeMap<i64, Value>>,
}

impl<'a> Search<'a> {
    fn new(
        step: &'a Exact,
        start: &Exact,
        model: &'a dyn Fn(&Exact) -> Option<Value>,
        tie: f64,
    ) -> Option<Search<'a>> {
        let start = start.floor_div(step).filter(|n| n.abs() < REACH)?;
        let seen = RefCell::new(BTreeMap::new());
        let mut search = Search { step, model, tie, start, slope: 0.0, seen };
        let (first, second) = (search.value(start)?, search.value(start + 1)?);
        search.slope = second.si - first.si;
        (search.slope != 0.0 && search.slope.is_finite()).then_some(search)
    }

    fn value(&self, n: i64) -> Option<Value> {
        if let Some(value) = self.seen.borrow().get(&n) {
            return Some(value.clone());
        }
        let value = (self.model)(&Exact::from_integer(n).mul(self.step))?;
        self.seen.borrow_mut().insert(n, value.clone());
        Some(value)
    }

    /// Returns the readings within `limits`, `Some(None)` where there are none.
    fn stretch(&self, limits: &Limits) -> Option<Option<Stretch>> {
        if limits.is_empty(self.tie) {
            return Some(None);
        }
        let lower = limits.lower.as_ref().map(|it| self.threshold(it, Side::Lower));
        let upper = limits.upper.as_ref().map(|it| self.threshold(it, Side::Upper));
        let (mut low, mut high) = (flip(lower)?, flip(upper)?);
        if self.slope < 0.0 {
            (low, high) = (high, low);
        }
        let none = low.zip(high).is_some_and(|(low, high)| low > high);
        Some((!none).then_some(Stretch { low, high }))
    }

    /// Returns the last n within a limit of the tolerance, whether or not the other one holds it too;
    /// `Some(None)` where there is no limit.
    fn beside(&self, tolerance: &Limits) -> Option<Option<i64>> {
        let side = |side: Side| tolerance.side(side).map(|it| self.threshold(it, side));
        flip(side(Side::Upper).or_else(|| side(Side::Lower)))
    }

    /// Returns the last n within one limit, going towards that limit and beyond.
    ///
    /// Method: M30.
    fn threshold(&self, limit: &Limit, side: Side) -> Option<i64> {
        let beyond = match side {
            Side::Lower => Ordering::Less,
            Side::Upper => Ordering::Greater,
        };
        let within = |n: i64| self.value(n).map(|it| limit.compare(&it, self.tie) != beyond);
        let outwards = if (side == Side::Upper) == (self.slope > 0.0) { 1 } else { -1 };
        let first = self.seen.borrow().get(&self.start)?.si;
        let guess = libm::round((limit.si - first) / self.slope);
        if guess.is_nan() || guess.abs() > REACH as f64 {
            return None;
        }
        last_within(self.start + guess as i64, outwards, &within)
    }

    /// Whether the values seen, and some more around them, go one way only.
    fn is_monotone(&self) -> bool {
        let end = |last: bool| {
            let seen = self.seen.borrow();
            if last { seen.keys().next_back().copied() } else { seen.keys().next().copied() }
        };
        let Some((low, high)) = end(false).zip(end(true)) else { return false };
        let wide = (high - low).max(PROBES);
        for probe in -2..=PROBES + 2 {
            if self.value(low + wide / PROBES * probe).is_none() {
                return false;
            }
        }
        let seen = self.seen.borrow();
        let values: Vec<f64> = seen.values().map(|it| it.si).collect();
        values.windows(2).all(|pair| (pair[1] - pair[0]) * self.slope > 0.0)
    }
}

/// Returns the last n in direction `outwards` for which `within` holds; `None` beyond the reach or
/// where the model has no value.
fn last_within(guess: i64, outwards: i64, within: &dyn Fn(i64) -> Option<bool>) -> Option<i64> {
    let inside = within(guess)?;
    let direction = if inside { outwards } else { -outwards };
    let (mut known, mut leap) = (guess, 1_i64);
    let other = loop {
        let next = known + direction * leap;
        if within(next)? != inside {
            break next;
        }
        known = next;
        leap = if leap < REACH { leap * 2 } else { return None };
    };
    let (mut good, mut bad) = if inside { (known, other) } else { (other, known) };
    while (bad - good).abs() > 1 {
        let middle = good + (bad - good) / 2;
        if within(middle)? { good = middle } else { bad = middle }
    }
    Some(good)
}

/// Turns a side that may be open, with a search that may fail, inside out.
fn flip(side: Option<Option<i64>>) -> Option<Option<i64>> {
    match side {
        None => Some(None),
        Some(found) => found.map(Some),
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Case, micrometer};
    use super::*;

    fn decided(case: &Case) -> (Option<Grid>, Zones, Vec<(i64, Value)>) {
        let budget = case.budget();
        let evaluation = case.evaluate(&budget);
        let decision = evaluation.zones().unwrap()[0].clone().unwrap().decision.unwrap();
        let point = &evaluation.points()[0];
        let grid = decision.grid(&budget, point);
        let step = budget.display().unwrap().step.exact();
        let start = budget.points().list[0].at.as_ref().unwrap().exact().floor_div(&step).unwrap();
        let value = |n: i64| {
            let reading = Exact::from_integer(n).mul(&step);
            (n, point.model.at_exact_reading(&reading).unwrap())
        };
        (grid, decision.zones, (start - 40..=start + 40).map(value).collect())
    }

    /// Method: M30.
    #[test]
    fn the_grid_and_the_zones_agree_on_every_reading() {
        let models =
            ["reading - L", "L - reading", "2 * (reading - L)", "reading * reading / L - L"];
        let tolerances = ["±4 µm", "[-1 µm, 3 µm]", "at most 2 µm", "at least -3 µm"];
        for model in models {
            for tolerance in tolerances {
                for rule in ["simple", "guarded", "relaxed", "three-way", "four-way"] {
                    let case = micrometer(tolerance, rule, 1.457).model(model);
                    let (grid, zones, values) = decided(&case);
                    let grid = grid.unwrap_or_else(|| panic!("{model} {tolerance} {rule}"));
                    for (n, value) in values {
                        let expected = zones.classify(&value);
                        assert_eq!(grid.verdict(n), expected, "{model} {tolerance} {rule} {n}");
                    }
                }
            }
        }
    }

    #[test]
    fn edges_point_to_their_side_of_the_measurand() {
        let rising = decided(&micrometer("±4 µm", "guarded", 1.457)).0.unwrap();
        assert_eq!(rising.edge(Verdict::Pass, Side::Upper), Some((2502, 2503)));
        assert_eq!(rising.edge(Verdict::Pass, Side::Lower), Some((2498, 2497)));
        let falling = micrometer("±4 µm", "guarded", 1.457).model("L - reading");
        let falling = decided(&falling).0.unwrap();
        assert_eq!(falling.edge(Verdict::Pass, Side::Upper), Some((2498, 2497)));
        assert!(!falling.is_rising() && rising.is_rising());
    }

    #[test]
    fn a_zone_between_two_readings_holds_none() {
        let case = micrometer("[0.2 µm, 0.8 µm]", "simple", 1.0);
        let grid = decided(&case).0.unwrap();
        assert_eq!(grid.stretch(Verdict::Pass), None);
        assert_eq!(grid.verdict(2500).0, Verdict::Fail);
    }

    #[test]
    fn readings_near_the_limits_are_listed_once_and_in_order() {
        let grid = decided(&micrometer("±4 µm", "simple", 1.0)).0.unwrap();
        assert_eq!(grid.near_limits(1), [2495, 2496, 2504, 2505]);
    }

    #[test]
    fn a_model_that_turns_round_has_no_grid() {
        let case = micrometer("±4 µm", "simple", 1.0).model("abs(reading - L) - 1 µm");
        assert!(decided(&case).0.is_none());
    }

    /// By construction: the last n within is `edge`, whatever the guess and the direction.
    #[test]
    fn the_search_finds_the_edge_from_any_guess() {
        for edge in [-1000, -1, 0, 7, 12_345] {
            for guess in [edge - 900, edge - 1, edge, edge + 1, edge + 2, edge + 900] {
                for outwards in [1, -1] {
                    let within = |n: i64| Some((edge - n) * outwards >= 0);
                    assert_eq!(
                        last_within(guess, outwards, &within),
                        Some(edge),
                        "{guess} {outwards}"
                    );
                }
            }
        }
    }

    #[test]
    fn the_search_gives_up_beyond_its_reach_and_where_there_is_no_value() {
        assert_eq!(last_within(0, 1, &|_| Some(true)), None);
        assert_eq!(last_within(0, 1, &|_| Some(false)), None);
        assert_eq!(last_within(0, 1, &|n| (n < 5).then_some(true)), None);
    }

    /// 10 000 km are 10¹³ steps of 1 µm, more than the 2⁴⁰ that are searched.
    #[test]
    fn a_tolerance_beyond_the_reach_has_no_grid() {
        assert!(decided(&micrometer("±10000000 m", "simple", 1.0)).0.is_none());
        assert!(decided(&micrometer("±1000 m", "simple", 1.0)).0.is_some());
    }

    #[test]
    fn readings_between_the_steps_have_neighbours() {
        let step = Exact::from_integer(2);
        assert_eq!(index_on(&Exact::from_integer(7), &step), None);
        assert_eq!(index_on(&Exact::from_integer(-8), &step), Some(-4));
        assert_eq!(neighbours(&Exact::from_integer(-7), &step), Some((-4, -3)));
    }
}
