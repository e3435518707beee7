//! Up to three unknowns: adaptive integrals, one within the other.
//!
//! Given all unknowns but the innermost, each point's error is linear or quadratic in that. Points without
//! a rest leave it an intersection of intervals; where no point has a rest, its probability is a closed form
//! and one integral fewer is left. Elsewhere the integrand is a product of probabilities, integrated between
//! the places where a point's limit is met and where its rest begins and ends.

use super::law::Chart;
use super::problem::Problem;
use super::quadrature::{Estimate, adaptive};
use super::ranges::{Ranges, all, intersect, within};
use super::swift::Swift;

/// Per number of unknowns: tolerance and most panels of the innermost integral, then outwards.
const LEVELS: [&[(f64, usize)]; 3] =
    [&[(1e-13, 3000)], &[(1e-11, 200), (1e-10, 300)], &[(5e-8, 60), (1e-7, 60), (3e-7, 100)]];

/// Most places at which the innermost integral is split beforehand.
const SPLITS: usize = 1000;

/// Returns the probability; the problem has one to three unknowns.
///
/// Method: M48.
pub fn integrate(problem: &Problem) -> Estimate {
    let count = problem.dims.len();
    let mut state = State {
        problem,
        charts: problem.dims.iter().map(|it| it.law.charts()).collect(),
        reach: reaches(problem),
        own: problem.rows.iter().map(|it| it.own.reach()).collect(),
        base: vec![vec![0.0; problem.rows.len()]; count],
        z: vec![0.0; count],
        bare: problem.rows.iter().all(|it| it.own.is_none()),
        swift: if count > 2 { Swift::of(problem) } else { Vec::new() },
    };
    let tables: f64 = state.swift.iter().map(Swift::error).sum();
    let got = state.level(0);
    Estimate { value: got.value, error: got.error + problem.rounding() + tables }
}

/// Most places at which an outer integral is split beforehand.
const CORNERS: usize = 48;

struct State<'a> {
    problem: &'a Problem,
    charts: Vec<Vec<Chart>>,
    /// Largest size of each unknown, with its divisor.
    reach: Vec<f64>,
    /// Largest size of each point's rest.
    own: Vec<f64>,
    /// Per level: each point's error by the unknowns further out.
    base: Vec<Vec<f64>>,
    /// Unknowns that are fixed; of a divisor what it multiplies by.
    z: Vec<f64>,
    /// Whether no point has a rest.
    bare: bool,
    /// Of three unknowns: the rests from tables.
    swift: Vec<Swift>,
}

/// One point's error as a function of one unknown.
#[derive(Clone, Copy)]
struct Curve {
    base: f64,
    slope: f64,
    square: f64,
}

impl State<'_> {
    /// Integrates over the unknowns from `level` inwards.
    fn level(&mut self, level: usize) -> Estimate {
        if level + 1 == self.problem.dims.len() {
            return self.innermost();
        }
        let (tolerance, most) = self.limits(level);
        let window = self.window(level);
        let corners = self.corners(level);
        let mut sum = Estimate::exact(0.0);
        let charts = self.charts[level].clone();
        for chart in &charts {
            let (from, to) = span(chart, &window);
            // Two unknowns can afford four panels to begin with, three of them two.
            let parts = if self.problem.dims.len() > 2 { 2 } else { 4 };
            let end = |k: i32| from + (to - from) * f64::from(k) / f64::from(parts);
            let mut ends: Vec<f64> = (0..=parts).map(end).collect();
            ends.extend(corners.iter().map(|z| chart.x(*z)).filter(|x| from < *x && *x < to));
            ends.sort_by(f64::total_cmp);
            ends.dedup();
            let tolerance = tolerance / charts_count(&charts);
            let got = adaptive(&ends, tolerance, most, &mut |x| {
                self.fix(level, chart.z(x));
                self.level(level + 1).times(chart.weight(x))
            });
            sum.value += got.value;
            sum.error += got.error;
        }
        sum
    }

    fn limits(&self, level: usize) -> (f64, usize) {
        let levels = LEVELS[self.problem.dims.len() - 1];
        levels[levels.len() - 1 - level]
    }

    fn factor(&self, level: usize) -> f64 {
        self.problem.dims[level].under.map_or(1.0, |chi| self.z[chi])
    }

    /// Sets an unknown and adds what it does to each point's error.
    fn fix(&mut self, level: usize, raw: f64) {
        let z = raw * self.factor(level);
        self.z[level] = z;
        for r in 0..self.problem.rows.len() {
            let curve = self.curve(level, r);
            self.base[level + 1][r] = curve.base + z * (curve.slope + z * curve.square);
        }
    }

    /// Returns a point's error as a function of the unknown of this level, those further in being zero.
    fn curve(&self, level: usize, r: usize) -> Curve {
        let row = &self.problem.rows[r];
        let (mut slope, mut square) = (row.linear[level], 0.0);
        for &(a, b, c) in &row.products {
            match (a == level, b == level) {
                (true, true) => square += c,
                (true, false) if b < level => slope += c * self.z[b],
                (false, true) if a < level => slope += c * self.z[a],
                _ => {}
            }
        }
        Curve { base: self.base[level][r], slope, square }
    }

    /// Returns where an unknown may lie so that the others can still bring every point within its limits;
    /// the whole line for divisors, and for points with products of it or further in.
    fn window(&self, level: usize) -> Ranges {
        let mut ranges = all();
        let factor = self.factor(level);
        for (r, row) in self.problem.rows.iter().enumerate() {
            if row.products.iter().any(|it| it.0.max(it.1) > level) {
                continue;
            }
            let further: f64 = (level + 1..row.linear.len())
                .map(|d| times(row.linear[d].abs(), self.reach[d]))
                .sum();
            let slack = further + self.own[r];
            let it = self.curve(level, r);
            let next = within(
                it.base,
                it.slope * factor,
                it.square * factor * factor,
                row.low - slack,
                row.high + slack,
            );
            ranges = intersect(&ranges, &next);
        }
        ranges
    }

    /// Returns where the integral over the unknowns further in is not smooth: a corner of one of them, or of a
    /// point's rest, meets a limit. None where there are too many, which the halving has to find.
    fn corners(&self, level: usize) -> Vec<f64> {
        let factor = self.factor(level);
        let mut places = Vec::new();
        for (r, row) in self.problem.rows.iter().enumerate() {
            if row.products.iter().any(|it| it.0.max(it.1) > level) {
                continue;
            }
            let mut shifts = both(&row.own.kinks());
            for d in level + 1..row.linear.len() {
                let kinks = self.problem.dims[d].law.kinks();
                let further =
                    both(&kinks.iter().map(|it| it * row.linear[d]).collect::<Vec<f64>>());
                shifts = shifts.iter().flat_map(|a| further.iter().map(move |b| a + b)).collect();
            }
            let it = self.curve(level, r);
            let place = |more: f64| {
                let (slope, square) = (it.slope * factor, it.square * factor * factor);
                within(it.base, slope, square, row.low - more, row.high + more)
            };
            places.extend(shifts.into_iter().flat_map(place).flat_map(|it| [it.0, it.1]));
            if places.len() > CORNERS {
                return Vec::new();
            }
        }
        places.retain(|it| it.is_finite());
        places
    }

    /// Integrates over the last unknown.
    fn innermost(&mut self) -> Estimate {
        let last = self.problem.dims.len() - 1;
        let factor = self.factor(last);
        let curves: Vec<Curve> = (0..self.problem.rows.len())
            .map(|r| {
                let it = self.curve(last, r);
                Curve {
                    base: it.base,
                    slope: it.slope * factor,
                    square: it.square * factor * factor,
                }
            })
            .collect();
        let ranges = self.window(last);
        if self.bare {
            let law = self.problem.dims[last].law;
            return Estimate::exact(ranges.iter().map(|it| law.between(it.0, it.1)).sum());
        }
        if ranges.is_empty() {
            return Estimate::exact(0.0);
        }
        let splits = self.splits(&curves, &ranges);
        let (tolerance, most) = self.limits(last);
        let pieces = charts_count(&self.charts[last]) * charts_count(&ranges);
        let mut sum = Estimate::exact(0.0);
        for chart in &self.charts[last] {
            for range in &ranges {
                let (from, to) = span(chart, &[*range]);
                let mut ends = vec![from, 0.5 * (from + to), to];
                ends.extend(splits.iter().map(|z| chart.x(*z)).filter(|x| from < *x && *x < to));
                ends.sort_by(f64::total_cmp);
                ends.dedup();
                let got = adaptive(&ends, tolerance / pieces, most, &mut |x| {
                    Estimate::exact(chart.weight(x) * self.product(&curves, chart.z(x)))
                });
                sum.value += got.value;
                sum.error += got.error;
            }
        }
        sum
    }

    /// Returns the product of the points' probabilities at a value of the last unknown.
    fn product(&self, curves: &[Curve], z: f64) -> f64 {
        let mut product = 1.0;
        for (r, (row, curve)) in self.problem.rows.iter().zip(curves).enumerate() {
            if row.own.is_none() {
                continue;
            }
            let error = curve.base + z * (curve.slope + z * curve.square);
            let (low, high) = (row.low - error, row.high - error);
            product *= match self.swift.get(r) {
                Some(swift) => swift.between(low, high),
                None => row.own.between(low, high),
            };
            if product <= 0.0 {
                return 0.0;
            }
        }
        product
    }

    /// Returns where the integrand is not smooth, or changes fast: the tightest limits of all points and the
    /// corners of each point's rest about its limits, as far as they lie within the ranges. A corner close to
    /// the end of a panel is seen by no rule, so none is left to the halving to find.
    fn splits(&self, curves: &[Curve], ranges: &[(f64, f64)]) -> Vec<f64> {
        let inside = |z: &f64| ranges.iter().any(|it| it.0 < *z && *z < it.1);
        let mut places = Vec::new();
        let mut tightest = all();
        for (row, it) in self.problem.rows.iter().zip(curves) {
            let place =
                |more: f64| within(it.base, it.slope, it.square, row.low - more, row.high + more);
            tightest = intersect(&tightest, &place(0.0));
            let kinks = row.own.kinks();
            let shifts = kinks.iter().flat_map(|it| [*it, -*it]);
            places.extend(shifts.flat_map(place).flat_map(|it| [it.0, it.1]).filter(inside));
        }
        places.truncate(SPLITS);
        places.extend(tightest.iter().flat_map(|it| [it.0, it.1]).filter(inside));
        places
    }
}

/// Returns the values with both signs; of none zero alone.
fn both(values: &[f64]) -> Vec<f64> {
    if values.is_empty() { vec![0.0] } else { values.iter().flat_map(|it| [*it, -*it]).collect() }
}

/// Returns the part of a chart that lies in the hull of a set; an empty one at its beginning if none does.
fn span(chart: &Chart, ranges: &[(f64, f64)]) -> (f64, f64) {
    let (Some(first), Some(last)) = (ranges.first(), ranges.last()) else {
        return (chart.from, chart.from);
    };
    let (one, two) = (chart.x(first.0), chart.x(last.1));
    (one.min(two), one.max(two))
}

fn charts_count<T>(list: &[T]) -> f64 {
    list.len().max(1) as f64
}

/// Returns the largest size of each unknown; under a divisor there is none that is useful.
fn reaches(problem: &Problem) -> Vec<f64> {
    let reach =
        |it: &super::problem::Dim| if it.under.is_some() { f64::INFINITY } else { it.law.reach() };
    problem.dims.iter().map(reach).collect()
}

/// Returns a product in which zero times infinity is zero.
fn times(coefficient: f64, reach: f64) -> f64 {
    if coefficient == 0.0 { 0.0 } else { coefficient * reach }
}
