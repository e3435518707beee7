//! `budget.crosscheck(…)`: the law of propagation beside the Monte Carlo method, and whether it is
//! validated by it (JCGM 101:2008, clause 8).
//!
//! Notation: δ is the numerical tolerance of u for one or two significant digits; d_low and d_high are
//! the distances of the interval ends. The simulation runs until twice its standard errors are within a
//! fifth of δ for the digits that decide.

use super::density::Density;
use super::evaluate::{Run, evaluated};
use super::simulate::Simulated;
use super::simulation::{Interval, tolerance};
use super::{Evaluation, Options, PointEvaluation};
use crate::budget::{Budget, CoverageMethod};
use crate::fault::Faults;

/// Trials at a point after which a crosscheck gives up, where nothing else is said: a fifth of δ takes
/// up to 25 times the trials that δ does.
pub const TRIALS_MAX: u64 = 400_000_000;

/// Cells of a picture.
const CELLS: usize = 96;

/// Standard errors that chance does not reach (six in 100 000).
const CERTAIN: f64 = 4.0;

/// What is to be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question {
    /// Which of the simulated intervals.
    pub interval: Interval,
    /// The only point that is wanted; `None` for all.
    pub point: Option<usize>,
}

impl Default for Question {
    fn default() -> Question {
        Question { interval: Interval::Symmetric, point: None }
    }
}

/// A budget evaluated by the law of propagation, with what the Monte Carlo method says of it.
#[derive(Debug, Clone)]
pub struct Crosscheck<'a> {
    /// The law of propagation, by the budget's method (t where that is `monte_carlo`), with the
    /// simulation beside it.
    pub evaluation: Evaluation<'a>,
    /// Which of the simulated intervals was compared.
    pub interval: Interval,
    /// One comparison per point of the evaluation.
    pub points: Vec<Comparison>,
}

/// Both results at one point, in SI of the measurand.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The interval of the law of propagation.
    pub law: [f64; 2],
    /// The simulated interval; that of the law where there is nothing to draw.
    pub simulated: [f64; 2],
    /// d_low and d_high.
    pub differences: [f64; 2],
    /// What follows at one and at two significant digits of u.
    pub checks: [Check; 2],
    /// Whether the law of propagation is validated at the digits that decide; `None` where the
    /// simulation is not good enough to tell.
    pub validated: Option<bool>,
    /// Both densities; `None` where there is nothing to draw.
    pub picture: Option<Picture>,
}

/// What follows at a number of significant digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// Significant digits of u, 1 or 2.
    pub digits: u32,
    /// δ; `None` where u is 0.
    pub tolerance: Option<f64>,
    /// Whether both differences are within δ; `None` where the simulation is not good enough to tell.
    pub validated: Option<bool>,
}

/// Two densities over equal cells, in 1/SI of the measurand.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Where the first cell begins.
    pub low: f64,
    /// Where the last cell ends.
    pub high: f64,
    /// That of the law of propagation; `None` where its u is 0.
    pub law: Option<Vec<f64>>,
    /// The simulated one.
    pub simulated: Vec<f64>,
}

impl Crosscheck<'_> {
    /// Whether the law of propagation is validated at every point.
    pub fn validated(&self) -> bool {
        self.points.iter().all(|it| it.validated == Some(true))
    }
}

impl Budget {
    /// Evaluates the budget by the law of propagation and by the Monte Carlo method, and compares the
    /// intervals. `options.digits` are the digits of u that decide.
    ///
    /// # Errors
    ///
    /// As [`Budget::evaluate_with`], whatever the budget's method of coverage is.
    pub fn crosscheck(
        &self,
        options: &Options,
        question: &Question,
    ) -> Result<Crosscheck<'_>, Faults> {
        let method = match self.coverage().method {
            CoverageMethod::MonteCarlo => CoverageMethod::T,
            other => other,
        };
        let interval = question.interval;
        let run = Run { options, method, beside: Some(interval), only: question.point };
        let evaluation = evaluated(self, &run)?;
        let compared = |it: &PointEvaluation| compared(it, interval, options.digits);
        let points = evaluation.points().iter().map(compared).collect();
        Ok(Crosscheck { evaluation, interval, points })
    }
}

/// Compares the intervals of a point: validated where d_low and d_high are within δ.
///
/// Source: JCGM 101:2008, 8.1.
///
/// Method: M80.
fn compared(point: &PointEvaluation, interval: Interval, digits: u32) -> Comparison {
    let law = [point.interval.low, point.interval.high].map(|it| point.estimate.si + it);
    let Some(simulated) = &point.simulated else { return nothing_drawn(law) };
    let ends = match interval {
        Interval::Symmetric => simulated.symmetric,
        Interval::Shortest => simulated.shortest,
    };
    let differences = [(law[0] - ends[0]).abs(), (law[1] - ends[1]).abs()];
    let spread = simulated.spread(point.probability);
    let checks = [1, 2].map(|digits| {
        let tolerance = spread.and_then(|it| tolerance(it, digits));
        let validated = agreement(simulated, interval, differences, (digits, tolerance));
        Check { digits, tolerance, validated }
    });
    let decides = checks.iter().find(|it| it.digits == digits);
    Comparison {
        law,
        simulated: ends,
        differences,
        checks,
        validated: decides.and_then(|it| it.validated),
        picture: Some(picture(point, simulated, law, ends)),
    }
}

/// A point at which everything is exactly known.
fn nothing_drawn(law: [f64; 2]) -> Comparison {
    let check = |digits| Check { digits, tolerance: None, validated: Some(true) };
    Comparison {
        law,
        simulated: law,
        differences: [0.0; 2],
        checks: [1, 2].map(check),
        validated: Some(true),
        picture: None,
    }
}

/// Whether both differences are within δ. Where twice the standard errors are not within a fifth of δ,
/// only a difference that chance does not explain can be told.
///
/// Source: JCGM 101:2008, 8.1 and 8.2; the margin of four standard errors is ours.
///
/// Method: M81.
fn agreement(
    simulated: &Simulated,
    interval: Interval,
    differences: [f64; 2],
    (digits, tolerance): (u32, Option<f64>),
) -> Option<bool> {
    let largest = differences[0].max(differences[1]);
    let Some(delta) = tolerance else { return Some(largest <= simulated.bin_error) };
    let settled = simulated.stabilised && simulated.digits.is_some_and(|it| it >= digits);
    let errors = simulated.errors.map(|it| match interval {
        Interval::Symmetric => it.symmetric,
        Interval::Shortest => it.shortest,
    });
    let error = errors.map(|it| it[0].max(it[1]));
    if settled || error.is_some_and(|it| 2.0 * it <= super::evaluate::VALIDATING * delta) {
        return Some(largest <= delta);
    }
    let beyond = |error: f64, end: f64| end > delta + CERTAIN * error;
    let apart = errors.is_some_and(|it| (0..2).any(|end| beyond(it[end], differences[end])));
    apart.then_some(false)
}

/// Returns both densities over a range that holds both intervals.
fn picture(
    point: &PointEvaluation,
    simulated: &Simulated,
    law: [f64; 2],
    ends: [f64; 2],
) -> Picture {
    let (first, last) = (law[0].min(ends[0]), law[1].max(ends[1]));
    let margin = 0.3 * (last - first);
    let (low, high) = (first - margin, last + margin);
    let origin = simulated.estimate;
    let drawn = simulated.shares.density(low - origin, high - origin, CELLS);
    Picture { low, high, law: of_law(point, low, high), simulated: drawn }
}

/// Returns the density of the law of propagation: the exact one where the interval is exact, else that
/// of t; `None` where u is 0.
fn of_law(point: &PointEvaluation, low: f64, high: f64) -> Option<Vec<f64>> {
    let (u, dof) = (point.all.standard_uncertainty, point.all.quantile_dof);
    let density = match (point.method, &point.all.density) {
        (CoverageMethod::Exact, exact) => exact.clone(),
        _ => Density::T { u, dof },
    };
    let width = (high - low) / CELLS as f64;
    let edge = |at: usize| density.above(low + width * at as f64 - point.estimate.si);
    let edges: Option<Vec<f64>> = (0..=CELLS).map(edge).collect();
    let share = |pair: &[f64]| (pair[0] - pair[1]).max(0.0) / width;
    edges.map(|it| it.windows(2).map(share).collect())
}
