//! Readings without end: each judged from the display grid of its point, in whole numbers.
//!
//! A number m·10⁻ᵖ in the unit of readings is the reading n of the display where (m·a + b)/d is whole; a, b
//! and d are known for each point and p. Its outcome is that of [`Grid::verdict`] and is worked out once. What
//! is off the grid, or has a unit of its own, goes the way of any reading: exactly, by
//! [`Zones::classify`](super::Zones::classify).

use super::figures::Relation;
use super::findings;
use super::grid::Grid;
use super::judge::{is_far_off, no_tolerance, nothing_to_judge_by};
use super::limits::{Limit, Side};
use super::point::{PointDecision, PointZones, is_error, start_of};
use super::readings::{Entry, find_point, read_value, unit_of_entries};
use super::several;
use super::verdict::{Cause, Verdict};
use crate::budget::parts::Text;
use crate::budget::worksheet::Take;
use crate::fault::{Fault, Faults, Finding, Origin};
use crate::propagate::{Evaluation, PointEvaluation, Value};
use crate::quantity::decimal::short;
use crate::quantity::{Exact, Quantity};
use num_traits::ToPrimitive;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Digits after the point that are looked up.
const PLACES: u8 = 12;

/// Readings within so many steps of the point's start have a place of their own.
const NEAR: i64 = 2048;

/// So many outcomes are kept before all are forgotten.
const KEPT: usize = 1 << 14;

/// The points of an evaluation made ready for readings without end.
pub struct Table<'a> {
    evaluation: &'a Evaluation<'a>,
    spots: Vec<Option<Spot<'a>>>,
    /// What is to be said of the zones.
    findings: Vec<Finding>,
    /// Whether the values are errors in the measurand's unit.
    pub are_errors: bool,
    /// Which of several readings at a point is reported.
    pub take: Take,
}

/// A point with a tolerance.
struct Spot<'a> {
    point: &'a PointEvaluation,
    decision: PointDecision,
    /// By how much the readings may differ.
    repeatability: Option<Limit>,
    grid: Option<Grid>,
    /// n = (m·a + b)/d for each number of places; `None` where these are no 64-bit numbers.
    lines: Vec<Option<(i64, i64, i64)>>,
    /// The first n that has a place of its own.
    first: i64,
}

/// What one reading came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The measurand.
    pub error: Value,
    /// The reading in SI; `None` where an error was given.
    reading: Option<Exact>,
    /// The measurand as a number of its unit, ASCII signs.
    pub number: String,
    /// The verdict.
    pub verdict: Verdict,
    /// What it is due to; `None` for a plain pass.
    pub cause: Option<Cause>,
    /// The probability that the true value lies outside the tolerance; `None`: not determined.
    pub specific_risk: Option<f64>,
    /// Whether it lies within the tolerance.
    pub within: bool,
    /// Whether the display cannot show it.
    pub off_grid: bool,
    /// Whether it lies over a hundred times the tolerance beyond it.
    pub far_off: bool,
}

/// The readings of one instrument at one point, as they come.
#[derive(Debug, Clone, Default)]
pub struct Reported {
    /// How many there are.
    pub count: u32,
    /// Whether the reported one lies within the tolerance.
    pub within: bool,
    /// The reported verdict; undecided without a reading.
    verdict: Option<(Verdict, Option<Cause>)>,
    /// The number of the reported outcome.
    number: u32,
    kept: Option<Box<Kept>>,
}

/// What is kept of the readings at a point where one of them does not decide.
#[derive(Debug, Clone)]
struct Kept {
    /// The sum of readings, where all are readings, and that of the measurand.
    readings: Option<Exact>,
    sum: Value,
    low: Value,
    high: Value,
}

impl<'a> Table<'a> {
    /// Makes an evaluation ready.
    ///
    /// # Errors
    ///
    /// No tolerance or no decision; the faults of [`Evaluation::zones`]; a model that does not use
    /// `reading`; errors where the model is not `reading` minus something.
    pub fn new(
        evaluation: &'a Evaluation<'a>,
        are_errors: bool,
        take: Take,
    ) -> Result<Table<'a>, Faults> {
        let budget = evaluation.budget();
        let zones = evaluation.zones()?;
        if budget.decision().is_none() || zones.iter().all(Option::is_none) {
            return Err(nothing_to_judge_by(budget).into());
        }
        let mut found = findings::of_zones(budget, &zones);
        if evaluation.points().iter().any(PointEvaluation::uses_reading) {
            found.extend(findings::no_display_step(budget));
        }
        let mut spots = Vec::new();
        for (point, zones) in evaluation.points().iter().zip(zones) {
            let spot = zones.and_then(|it| Spot::new(evaluation, point, it, are_errors));
            spots.push(spot.transpose()?);
        }
        Ok(Table { evaluation, spots, findings: found, are_errors, take })
    }

    /// The points by index, and whether each has a tolerance.
    pub fn points(&self) -> impl Iterator<Item = (usize, bool)> + '_ {
        self.spots.iter().enumerate().map(|(index, it)| (index, it.is_some()))
    }

    /// Returns what is to be said of the budget's zones, and of how many readings are taken together: `counts`
    /// holds the points with a reading, and how many the instrument with the fewest and that with the most have
    /// there.
    pub fn findings(&self, counts: &[(usize, [usize; 2])]) -> Vec<Finding> {
        let of_counts = several::findings_of_many(self.evaluation, self.take, counts);
        self.findings.iter().cloned().chain(of_counts).collect()
    }

    /// Returns what a point is called.
    pub fn title(&self, index: usize) -> String {
        self.evaluation.budget().points().list.get(index).map_or(String::new(), |it| it.title())
    }

    /// Returns the unit of the measurand.
    pub fn unit(&self) -> &str {
        self.evaluation.budget().measurand().unit.text()
    }

    /// Whether rows name their point.
    pub fn needs_point(&self) -> bool {
        self.evaluation.budget().points().unit.is_some()
    }

    /// Returns the verdict of an instrument: the worst of all points with a tolerance; at best undecided
    /// where one has no reading, or a row of the instrument could not be read.
    ///
    /// Method: M96.
    pub fn instrument(&self, reported: &[Reported], has_bad_rows: bool) -> Verdict {
        let points = self.points().filter(|it| it.1);
        let verdicts = points.map(|(index, _)| match reported.get(index) {
            Some(it) => it.verdict().0,
            None => Verdict::Undecided,
        });
        let bad = has_bad_rows.then_some(Verdict::Undecided);
        verdicts.chain(bad).max().unwrap_or(Verdict::Undecided)
    }

    /// Adds an outcome, given by its number, to those of its point.
    pub fn report(&self, at: usize, reported: &mut Reported, number: u32, outcomes: &[Outcome]) {
        let Some(Some(spot)) = self.spots.get(at) else { return };
        let one = |number: u32| outcomes.get(number as usize);
        if let Some((outcome, before)) = one(number).zip(one(reported.number).or(one(number))) {
            reported.add(number, (outcome, before), self.take, spot);
        }
    }
}

impl Reported {
    /// Returns the verdict of the point.
    pub fn verdict(&self) -> (Verdict, Option<Cause>) {
        self.verdict.unwrap_or((Verdict::Undecided, None))
    }

    /// Takes one more reading in: the first of equal ones stays the worst; a mean is judged anew; readings
    /// that differ by more than they may fail.
    fn add(
        &mut self,
        number: u32,
        (outcome, before): (&Outcome, &Outcome),
        take: Take,
        spot: &Spot,
    ) {
        self.count += 1;
        let first = self.count == 1;
        let fails = self.verdict.filter(|it| it.1 == Some(Cause::Repeatability));
        if take == Take::Mean || spot.repeatability.is_some() {
            match &mut self.kept {
                None => self.kept = Some(Box::new(Kept::new(outcome))),
                Some(kept) => kept.add(outcome),
            }
        }
        if take == Take::Mean && !first {
            let mean = self.kept.as_ref().and_then(|it| it.mean(self.count, spot));
            let zones = &spot.decision.zones;
            self.verdict = mean.as_ref().map(|it| zones.classify(it));
            self.within = mean.is_some_and(|it| zones.tolerance.contains(&it, zones.tie));
        } else if first || take == Take::Last || spot.margin(outcome) < spot.margin(before) {
            self.verdict = Some((outcome.verdict, outcome.cause));
            self.within = outcome.within;
            self.number = number;
        }
        let apart = self.kept.as_ref().is_some_and(|it| it.is_apart(spot));
        if (apart || fails.is_some()) && self.verdict().0 != Verdict::Fail {
            self.verdict = Some((Verdict::Fail, Some(Cause::Repeatability)));
        }
    }
}

impl Kept {
    fn new(outcome: &Outcome) -> Kept {
        let [sum, low, high] = std::array::from_fn(|_| outcome.error.clone());
        Kept { readings: outcome.reading.clone(), sum, low, high }
    }

    fn add(&mut self, outcome: &Outcome) {
        let readings = self.readings.as_ref().zip(outcome.reading.as_ref());
        self.readings = readings.and_then(|(sum, it)| sum.add(it));
        let (sum, error) = (&self.sum, &outcome.error);
        let exact = sum.exact.as_ref().zip(error.exact.as_ref()).and_then(|(a, b)| a.add(b));
        self.sum = Value { si: exact.as_ref().map_or(sum.si + error.si, Exact::to_f64), exact };
        let order = |it: &Value| Limit::from(it).compare(error, 0.0);
        if order(&self.low) == Ordering::Less {
            self.low = error.clone();
        }
        if order(&self.high) == Ordering::Greater {
            self.high = error.clone();
        }
    }

    /// Returns the measurand at the mean of the readings; of errors, their mean.
    fn mean(&self, count: u32, spot: &Spot) -> Option<Value> {
        let number = Exact::from_integer(i64::from(count));
        if let Some(sum) = &self.readings {
            return spot.point.model.at_exact_reading(&sum.div(&number)?).ok();
        }
        let exact = self.sum.exact.as_ref().and_then(|it| it.div(&number));
        let si = exact.as_ref().map_or(self.sum.si / f64::from(count), Exact::to_f64);
        Some(Value { si, exact })
    }

    /// Whether the readings differ by more than they may.
    fn is_apart(&self, spot: &Spot) -> bool {
        let spread = Limit::from(&self.high).minus(&Limit::from(&self.low));
        let order = |it: &Limit| it.compare(&spread.value(), spot.decision.zones.tie);
        spot.repeatability.as_ref().is_some_and(|it| order(it) == Ordering::Greater)
    }
}

impl<'a> Spot<'a> {
    fn new(
        evaluation: &'a Evaluation<'a>,
        point: &'a PointEvaluation,
        zones: PointZones,
        are_errors: bool,
    ) -> Option<Result<Spot<'a>, Fault>> {
        let budget = evaluation.budget();
        let (decision, repeatability) = (zones.decision?, zones.repeatability);
        let relation = decision.figures.relation();
        if relation == Relation::Apart {
            let fault = Fault::new(budget.origin(), "the model does not use `reading`");
            return Some(Err(fault.rule("readings are judged by a model that uses them")));
        }
        if are_errors && !is_error(budget, relation) {
            let fault = Fault::new(budget.origin(), "`error` cannot be judged by this budget");
            let rule = "errors are for models that are `reading` minus something";
            let help = "give a column `reading`, and what the instrument showed";
            return Some(Err(fault.rule(rule).help(help)));
        }
        let grid = decision.grid(budget, point);
        let start = start_of(budget, point);
        let shift = match are_errors {
            true => point.model.at_exact_reading(&start).ok().and_then(|it| start.sub(&it.exact?)),
            false => Some(Exact::zero()),
        };
        let step = decision.figures.step().cloned();
        let unit = unit_of_entries(budget, are_errors).factor().clone();
        let known = step.as_ref().zip(shift.as_ref()).filter(|_| grid.is_some());
        let line = |places: u8| known.and_then(|(step, shift)| line(&unit, step, shift, places));
        let lines = (0..=PLACES).map(line).collect();
        let first = step.and_then(|it| start.floor_div(&it)).unwrap_or(0).saturating_sub(NEAR / 2);
        Some(Ok(Spot { point, decision, repeatability, grid, lines, first }))
    }

    /// Returns n where m·10⁻ᵖ is a reading of the display.
    ///
    /// Method: M97.
    fn index(&self, number: i64, places: u8) -> Option<i64> {
        let (a, b, d) = (*self.lines.get(usize::from(places))?)?;
        if d == 1 {
            return number.checked_mul(a)?.checked_add(b);
        }
        let times = i128::from(number) * i128::from(a) + i128::from(b);
        if times % i128::from(d) != 0 {
            return None;
        }
        i64::try_from(times / i128::from(d)).ok()
    }

    fn on_grid(&self, grid: &Grid, n: i64, are_errors: bool) -> Option<Outcome> {
        let reading = grid.reading(n);
        let error = self.point.model.at_exact_reading(&reading).ok()?;
        let reading = (!are_errors).then_some(reading);
        Some(Outcome { reading, ..self.outcome(error, grid.verdict(n), false) })
    }

    /// Judges a value, in SI, as any reading is.
    fn exactly(&self, given: Exact, are_errors: bool) -> Result<Outcome, Fault> {
        let step = self.decision.figures.step();
        let (error, reading) = if are_errors {
            let shift = self.shift();
            let reading = shift.and_then(|it| it.add(&given));
            (Value { si: given.to_f64(), exact: Some(given) }, reading)
        } else {
            (self.point.model.at_exact_reading(&given)?, Some(given))
        };
        let on = |(step, reading): (&Exact, Exact)| super::grid::index_on(&reading, step).is_some();
        let off_grid = step.zip(reading.clone()).is_some_and(|it| !on(it));
        let verdict = self.decision.zones.classify(&error);
        let reading = reading.filter(|_| !are_errors);
        Ok(Outcome { reading, ..self.outcome(error, verdict, off_grid) })
    }

    /// Returns how far inside the nearest limit of the tolerance an outcome lies, in SI.
    fn margin(&self, outcome: &Outcome) -> f64 {
        let of = |side| self.decision.zones.tolerance.margin(side, &outcome.error);
        of(Side::Lower).min(of(Side::Upper))
    }

    fn shift(&self) -> Option<Exact> {
        let zero = Exact::zero();
        zero.sub(&self.point.model.at_exact_reading(&zero).ok()?.exact?)
    }

    fn outcome(&self, error: Value, verdict: (Verdict, Option<Cause>), off_grid: bool) -> Outcome {
        let PointDecision { zones, figures, .. } = &self.decision;
        let within = zones.tolerance.contains(&error, zones.tie);
        let text = figures.error(&error);
        let number =
            text.strip_suffix(figures.unit().text()).filter(|_| figures.unit().text() != "1");
        let number = number.unwrap_or(&text).trim().replace('−', "-");
        Outcome {
            reading: None,
            number: number.trim_start_matches('+').to_owned(),
            verdict: verdict.0,
            cause: verdict.1,
            specific_risk: zones.specific_risk(&error),
            within,
            off_grid,
            far_off: is_far_off(&error, &zones.tolerance),
            error,
        }
    }
}

/// Returns a, b and d of n = (m·a + b)/d for numbers m·10⁻ᵖ of a unit, shifted by a reading.
fn line(unit: &Exact, step: &Exact, shift: &Exact, places: u8) -> Option<(i64, i64, i64)> {
    let ten = Exact::from_integer(10).powi(i32::from(places))?;
    let (slope, offset) = (unit.div(&ten)?.div(step)?, shift.div(step)?);
    if slope.pi_power() != 0 || (offset.pi_power() != 0 && !offset.is_zero()) {
        return None;
    }
    let (slope, offset) = (slope.ratio(), offset.ratio());
    let whole = num_bigint::BigInt::from(1);
    if *slope.denom() == whole && *offset.denom() == whole {
        return Some((slope.numer().to_i64()?, offset.numer().to_i64()?, 1));
    }
    let a = (slope.numer() * offset.denom()).to_i64()?;
    let b = (offset.numer() * slope.denom()).to_i64()?;
    Some((a, b, (slope.denom() * offset.denom()).to_i64()?))
}

/// A desk at which readings are judged: it remembers what it has judged.
pub struct Desk<'t> {
    table: &'t Table<'t>,
    outcomes: Vec<Outcome>,
    /// Outcomes by point and n, and by point and number.
    near: Vec<Vec<u32>>,
    other: BTreeMap<(usize, i64, u8), u32>,
    places: Vec<(Vec<u8>, usize)>,
    last: usize,
}

impl<'t> Desk<'t> {
    /// Returns a desk that remembers nothing yet.
    pub fn new(table: &'t Table<'t>) -> Desk<'t> {
        let near = table.spots.iter().map(|_| Vec::new()).collect();
        Desk {
            table,
            outcomes: Vec::new(),
            near,
            other: BTreeMap::new(),
            places: Vec::new(),
            last: 0,
        }
    }

    /// What was judged, by number, since the last [`Desk::forget`].
    pub fn outcomes(&self) -> &[Outcome] {
        &self.outcomes
    }

    /// Forgets what was judged where that is much; returns whether it has.
    pub fn forget(&mut self) -> bool {
        if self.outcomes.len() < KEPT {
            return false;
        }
        self.outcomes.clear();
        self.other.clear();
        self.near.iter_mut().for_each(Vec::clear);
        true
    }

    /// Returns the index of the point that a text names.
    ///
    /// # Errors
    ///
    /// See [`find_point`].
    pub fn point(&mut self, text: &[u8]) -> Result<usize, Fault> {
        // Rows come in the order of the points, mostly.
        let count = self.places.len();
        for by in [1, 0] {
            let guess = if self.last + by < count { self.last + by } else { 0 };
            if self.places.get(guess).is_some_and(|it| it.0 == text) {
                self.last = guess;
                return Ok(self.places[guess].1);
            }
        }
        if let Some(place) = self.places.iter().position(|it| it.0 == text) {
            self.last = place;
            return Ok(self.places[place].1);
        }
        let written = String::from_utf8_lossy(text);
        let budget = self.table.evaluation.budget();
        if written.is_empty() && budget.points().unit.is_none() {
            return Ok(0);
        }
        let found = find_point(budget, &written, Origin::NONE)?;
        if count < 256 {
            self.places.push((text.to_vec(), found));
        }
        Ok(found)
    }

    /// Judges a reading or error at a point, and returns the number of its outcome.
    ///
    /// # Errors
    ///
    /// A text that is no value of the kind; a point without tolerance; a reading where the model has no value.
    pub fn judge(&mut self, at: usize, text: &[u8]) -> Result<u32, Fault> {
        let table = self.table;
        let Some(Some(spot)) = table.spots.get(at) else { return Err(self.without(at, text)) };
        let Some((number, places)) = short(text) else { return self.written(spot, text) };
        let Some(grid) = &spot.grid else { return self.other(spot, (at, number, places), text) };
        let Some(n) = spot.index(number, places) else {
            return self.other(spot, (at, number, places), text);
        };
        let near = n.checked_sub(spot.first).filter(|it| (0..NEAR).contains(it));
        let Some(near) = near.map(|it| it as usize) else {
            return self.other(spot, (at, number, places), text);
        };
        let row = &mut self.near[at];
        if row.is_empty() {
            row.resize(NEAR as usize, u32::MAX);
        }
        if row[near] == u32::MAX {
            let Some(outcome) = spot.on_grid(grid, n, table.are_errors) else {
                return self.written(spot, text);
            };
            row[near] = self.outcomes.len() as u32;
            self.outcomes.push(outcome);
        }
        Ok(row[near])
    }

    fn other(&mut self, spot: &Spot, key: (usize, i64, u8), text: &[u8]) -> Result<u32, Fault> {
        if let Some(found) = self.other.get(&key) {
            return Ok(*found);
        }
        let found = self.written(spot, text)?;
        self.other.insert(key, found);
        Ok(found)
    }

    /// Judges a value as it is written.
    fn written(&mut self, spot: &Spot, text: &[u8]) -> Result<u32, Fault> {
        let given = self.quantity(text)?;
        let outcome = spot.exactly(given.exact(), self.table.are_errors)?;
        self.outcomes.push(outcome);
        Ok(self.outcomes.len() as u32 - 1)
    }

    fn quantity(&self, text: &[u8]) -> Result<Quantity, Fault> {
        let text = Text::new(String::from_utf8_lossy(text), Origin::NONE);
        read_value(self.table.evaluation.budget(), &text, self.table.are_errors)
    }

    fn without(&self, at: usize, text: &[u8]) -> Fault {
        let points = self.table.evaluation.points();
        match (self.quantity(text), points.get(at)) {
            (Ok(quantity), Some(point)) => {
                let entry =
                    Entry { origin: Origin::NONE, quantity, is_error: self.table.are_errors };
                no_tolerance(self.table.evaluation.budget(), point, &entry)
            }
            (Err(fault), _) => fault,
            (Ok(_), None) => Fault::new(Origin::NONE, "there is no such point"),
        }
    }
}
