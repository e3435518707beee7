//! One lattice point in, one value of the integrand out.
//!
//! A coordinate in 0…1 becomes a value of its unknown by the inverse of its distribution function, which is
//! tabulated: cells of a chart, on each a parabola of the weight, inverted by Newton's rule. On a chart the
//! weight is smooth, so 4096 cells leave less than 1e-9 of
//! probability.

use super::law::{Chart, Law};
use super::problem::{Problem, Row};
use super::ranges::{Ranges, all, intersect, within};
use super::swift::Swift;

/// Cells of all charts of a law together, about.
const CELLS: usize = 4096;

/// Evaluates the integrand of a problem at points of the unit cube.
pub struct Sampler<'a> {
    problem: &'a Problem,
    inverses: Vec<Inverse>,
    /// Values of the unknowns, of a divisor what it multiplies by.
    z: Vec<f64>,
    /// Per unknown: the points without a rest of which it is the last unknown.
    binds: Vec<Vec<usize>>,
    /// The points with a rest.
    rows: Vec<Flat>,
    /// Their coefficients, one after the other.
    linear: Vec<f64>,
}

/// A point with a rest.
struct Flat {
    low: f64,
    high: f64,
    products: Vec<(usize, usize, f64)>,
    own: Swift,
}

impl<'a> Sampler<'a> {
    /// Tabulates the laws of a problem with at least one unknown.
    pub fn new(problem: &'a Problem) -> Sampler<'a> {
        let inverses = problem.dims.iter().map(|it| Inverse::new(it.law)).collect();
        let binds = (0..problem.dims.len()).map(|d| bound_by(problem, d)).collect();
        let kept = || problem.rows.iter().zip(Swift::of(problem)).filter(|it| !it.0.own.is_none());
        let flat = |(row, own): (&Row, Swift)| Flat {
            low: row.low,
            high: row.high,
            products: row.products.clone(),
            own,
        };
        let linear = kept().flat_map(|it| it.0.linear.iter().copied()).collect();
        let rows = kept().map(flat).collect();
        Sampler { problem, inverses, z: vec![0.0; problem.dims.len()], binds, rows, linear }
    }

    /// Returns a bound on what the tables add to the error.
    pub fn error(&self) -> f64 {
        self.rows.iter().map(|it| it.own.error()).sum()
    }

    /// Returns the probability of all points given the unknowns at these coordinates; a point without a rest
    /// leaves the last unknown that it depends on an interval, whose probability is a factor.
    pub fn at(&mut self, u: &[f64]) -> f64 {
        self.z.fill(0.0);
        let mut product = 1.0;
        for (d, u) in u.iter().enumerate() {
            let (p, raw) = if self.binds[d].is_empty() {
                (1.0, self.inverses[d].at(*u))
            } else {
                self.drawn(d, *u)
            };
            product *= p;
            if product == 0.0 {
                return 0.0;
            }
            self.z[d] = self.factor(d) * raw;
        }
        for (row, linear) in self.rows.iter().zip(self.linear.chunks_exact(self.z.len())) {
            let error = sum(linear, &row.products, &self.z);
            product *= row.own.between(row.low - error, row.high - error);
            if product <= 0.0 {
                return 0.0;
            }
        }
        product
    }

    /// Draws an unknown within the limits that it has; returns their probability and the draw.
    fn drawn(&self, d: usize, u: f64) -> (f64, f64) {
        let law = self.problem.dims[d].law;
        let ranges = self.limits(d);
        let parts: Vec<f64> = ranges.iter().map(|it| law.between(it.0, it.1)).collect();
        let total: f64 = parts.iter().sum();
        let mut left = u * total;
        for (range, part) in ranges.iter().zip(&parts) {
            if left <= *part {
                let below = law.between(f64::NEG_INFINITY, range.0) + left;
                return (total, self.inverses[d].at(below.clamp(0.0, 1.0)).clamp(range.0, range.1));
            }
            left -= part;
        }
        (total, ranges.last().map_or(0.0, |it| it.1.clamp(-f64::MAX, f64::MAX)))
    }

    fn factor(&self, d: usize) -> f64 {
        self.problem.dims[d].under.map_or(1.0, |chi| self.z[chi])
    }

    /// Returns where an unknown may lie for the points that it binds, given those before it.
    fn limits(&self, last: usize) -> Ranges {
        let factor = self.factor(last);
        let mut ranges = all();
        for row in self.binds[last].iter().map(|r| &self.problem.rows[*r]) {
            let base = sum(&row.linear, &row.products, &self.z);
            let (mut slope, mut square) = (row.linear[last], 0.0);
            for &(a, b, c) in &row.products {
                match (a == last, b == last) {
                    (true, true) => square += c,
                    (true, false) => slope += c * self.z[b],
                    (false, true) => slope += c * self.z[a],
                    (false, false) => {}
                }
            }
            let next = within(base, slope * factor, square * factor * factor, row.low, row.high);
            ranges = intersect(&ranges, &next);
        }
        ranges
    }
}

/// Returns a point's error but its rest.
fn sum(linear: &[f64], products: &[(usize, usize, f64)], z: &[f64]) -> f64 {
    let sum: f64 = linear.iter().zip(z).map(|it| it.0 * it.1).sum();
    products.iter().fold(sum, |sum, &(a, b, c)| sum + c * z[a] * z[b])
}

/// Returns the points without a rest that depend on unknown `d` and on none after it; one that depends on
/// nothing binds the first.
fn bound_by(problem: &Problem, d: usize) -> Vec<usize> {
    let last = |row: &Row| {
        let linear = row.linear.iter().rposition(|it| *it != 0.0).unwrap_or(0);
        row.products.iter().fold(linear, |most, it| most.max(it.0).max(it.1))
    };
    let rows = problem.rows.iter().enumerate();
    rows.filter(|it| it.1.own.is_none() && last(it.1) == d).map(|it| it.0).collect()
}

/// The inverse of a distribution function (of a divisor: in descending order of it).
pub struct Inverse {
    charts: Vec<Chart>,
    /// Cells per chart.
    each: usize,
    /// The cells of all charts, in their order.
    cells: Vec<Cell>,
    /// Per even share of probability: the cell in which it begins.
    guide: Vec<u32>,
}

struct Cell {
    /// Probability before the cell.
    before: f64,
    /// Probability of the cell: the first, second and third power of the place in it.
    powers: [f64; 3],
}

impl Inverse {
    /// Tabulates a law.
    pub fn new(law: Law) -> Inverse {
        let charts = law.charts();
        let each = CELLS / charts.len();
        let mut cells = Vec::with_capacity(CELLS);
        let mut before = 0.0;
        for chart in &charts {
            let step = (chart.to - chart.from) / each as f64;
            for k in 0..each {
                let from = chart.from + step * k as f64;
                let weight = |share: f64| chart.weight(from + share * step) * step;
                let (start, middle, end) = (weight(0.0), weight(0.5), weight(1.0));
                let slope = 4.0 * middle - 3.0 * start - end;
                let bend = 2.0 * (start + end) - 4.0 * middle;
                let powers = [start, 0.5 * slope, bend / 3.0];
                cells.push(Cell { before, powers });
                before += powers.iter().sum::<f64>();
            }
        }
        for cell in &mut cells {
            cell.before /= before;
            cell.powers.iter_mut().for_each(|it| *it /= before);
        }
        let mut guide = Vec::with_capacity(CELLS + 1);
        let mut index = 0;
        for k in 0..=CELLS {
            while cells.get(index + 1).is_some_and(|it| it.before <= k as f64 / CELLS as f64) {
                index += 1;
            }
            guide.push(index as u32);
        }
        Inverse { charts, each, cells, guide }
    }

    /// Returns the unknown with probability `u` before it.
    pub fn at(&self, u: f64) -> f64 {
        let place = (u * CELLS as f64) as usize;
        let mut index = self.guide[place.min(CELLS)] as usize;
        while self.cells.get(index + 1).is_some_and(|it| it.before <= u) {
            index += 1;
        }
        let cell = &self.cells[index];
        let [a, b, c] = cell.powers;
        let wanted = u - cell.before;
        let mut t = (wanted / (a + b + c)).clamp(0.0, 1.0);
        for _ in 0..4 {
            let slope = a + t * (2.0 * b + 3.0 * t * c);
            if slope > 0.0 {
                let next = (t - (t * (a + t * (b + t * c)) - wanted) / slope).clamp(0.0, 1.0);
                let moved = (next - t).abs();
                t = next;
                // The next step would move it by less than the square of this one.
                if moved < 1e-4 {
                    break;
                }
            }
        }
        let chart = &self.charts[index / self.each];
        let place = ((index % self.each) as f64 + t) / self.each as f64;
        chart.z(chart.from + (chart.to - chart.from) * place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The distribution function at the quantile of p gives p back; the two share only the shape.
    #[test]
    fn inverts_the_distribution_function() {
        let laws = [
            Law::Normal(0.7),
            Law::T { scale: 0.4, dof: 1.0 },
            Law::T { scale: 0.4, dof: 1e4 },
            Law::Trapezoid(1.3, 0.0),
            Law::Trapezoid(1.3, 0.4),
            Law::Doubtful(1.0, 0.3),
            Law::Doubtful(1.0, 1.0),
            Law::Arcsine(0.8),
        ];
        for law in laws {
            let inverse = Inverse::new(law);
            for k in 1..500 {
                let p = f64::from(k) / 500.0;
                let back = law.between(f64::NEG_INFINITY, inverse.at(p));
                assert!((back - p).abs() < 1e-9, "{law:?}: {p}, {back}");
            }
        }
    }
}
