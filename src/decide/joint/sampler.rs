//! One lattice point in, one value of the integrand out.
//!
//! A coordinate in 0…1 becomes a value of its unknown by the inverse of its distribution function, which is
//! tabulated: cells of a chart, on each a parabola of the weight, inverted by Newton's rule. On a chart the
//! weight is smooth, so 2048 cells leave less than 1e-9 of
//! probability.

use super::law::{Chart, Law};
use super::problem::{Problem, Row};
use super::ranges::{Ranges, all, intersect, within};

/// Cells of all charts of a law together, about.
const CELLS: usize = 2048;

/// Evaluates the integrand of a problem at points of the unit cube.
pub struct Sampler<'a> {
    problem: &'a Problem,
    inverses: Vec<Inverse>,
    /// Values of the unknowns, of a divisor what it multiplies by.
    z: Vec<f64>,
    bare: bool,
}

impl<'a> Sampler<'a> {
    /// Tabulates the laws of a problem with at least one unknown.
    pub fn new(problem: &'a Problem) -> Sampler<'a> {
        let inverses = problem.dims.iter().map(|it| Inverse::new(it.law)).collect();
        let bare = problem.rows.iter().any(|it| it.own.is_none());
        Sampler { problem, inverses, z: vec![0.0; problem.dims.len()], bare }
    }

    /// Returns the probability of all points given the unknowns at these coordinates; where points have no
    /// rest, the factor of the last unknown's limits with it.
    pub fn at(&mut self, u: &[f64]) -> f64 {
        let last = u.len() - 1;
        for (d, u) in u[..last].iter().enumerate() {
            self.z[d] = self.factor(d) * self.inverses[d].at(*u);
        }
        let mut product = 1.0;
        let mut drawn = u[last];
        let mut kept = (f64::NEG_INFINITY, f64::INFINITY);
        if self.bare {
            let law = self.problem.dims[last].law;
            let ranges = self.limits(last);
            let parts: Vec<f64> = ranges.iter().map(|it| law.between(it.0, it.1)).collect();
            product = parts.iter().sum();
            if product == 0.0 {
                return 0.0;
            }
            let mut left = drawn * product;
            let part = parts.iter().position(|it| {
                let here = left <= *it;
                if !here {
                    left -= it;
                }
                here
            });
            kept = ranges[part.unwrap_or(ranges.len() - 1)];
            drawn = (law.between(f64::NEG_INFINITY, kept.0) + left).clamp(0.0, 1.0);
        }
        self.z[last] = self.factor(last) * self.inverses[last].at(drawn).clamp(kept.0, kept.1);
        for row in self.problem.rows.iter().filter(|it| !it.own.is_none()) {
            let error = self.error(row);
            product *= row.own.between(row.low - error, row.high - error);
            if product == 0.0 {
                break;
            }
        }
        product
    }

    fn factor(&self, d: usize) -> f64 {
        self.problem.dims[d].under.map_or(1.0, |chi| self.z[chi])
    }

    fn error(&self, row: &Row) -> f64 {
        let sum: f64 = row.linear.iter().zip(&self.z).map(|it| it.0 * it.1).sum();
        row.products.iter().fold(sum, |sum, &(a, b, c)| sum + c * self.z[a] * self.z[b])
    }

    /// Returns where the last unknown may lie for the points without a rest, given all others.
    fn limits(&mut self, last: usize) -> Ranges {
        self.z[last] = 0.0;
        let factor = self.factor(last);
        let mut ranges = all();
        for row in self.problem.rows.iter().filter(|it| it.own.is_none()) {
            let base = self.error(row);
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

/// The inverse of a distribution function (of a divisor: in descending order of it).
struct Inverse {
    charts: Vec<Chart>,
    /// Cells per chart.
    each: usize,
    /// The cells of all charts, in their order.
    cells: Vec<Cell>,
}

struct Cell {
    /// Probability before the cell.
    before: f64,
    /// Probability of the cell: the first, second and third power of the place in it.
    powers: [f64; 3],
}

impl Inverse {
    fn new(law: Law) -> Inverse {
        let charts = law.charts();
        let each = CELLS / charts.len();
        let mut cells = Vec::with_capacity(CELLS);
        let mut before = 0.0;
        for chart in &charts {
            #[expect(clippy::cast_precision_loss, reason = "about a thousand")]
            let step = (chart.to - chart.from) / each as f64;
            for k in 0..each {
                #[expect(clippy::cast_precision_loss, reason = "about a thousand")]
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
        Inverse { charts, each, cells }
    }

    /// Returns the unknown with probability `u` before it.
    fn at(&self, u: f64) -> f64 {
        let after = self.cells.partition_point(|it| it.before <= u);
        let index = after.max(1) - 1;
        let cell = &self.cells[index];
        let [a, b, c] = cell.powers;
        let wanted = u - cell.before;
        let mut t = (wanted / (a + b + c)).clamp(0.0, 1.0);
        for _ in 0..4 {
            let slope = a + t * (2.0 * b + 3.0 * t * c);
            if slope > 0.0 {
                t = (t - (t * (a + t * (b + t * c)) - wanted) / slope).clamp(0.0, 1.0);
            }
        }
        let chart = &self.charts[index / self.each];
        #[expect(clippy::cast_precision_loss, reason = "a few thousand")]
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
