//! The sum of several independent laws, tabulated: its probability between two limits.
//!
//! The widest law is kept in closed form. Each further one is convolved by adaptive quadrature over its
//! charts at the knots of a table, between which a cubic through values and slopes is taken. The knots lie
//! at `s·sinh τ`, evenly in τ: nearly even within the width s of the sum, ever wider in the tails of t.
//! Accuracy: absolute error about 1e-8, measured by the test of this file (smooth sums 1e-10; the corners of
//! a sum of two rectangles are met less well). An exact convolution comes in through `Rest::Other`.

use super::law::Law;
use super::quadrature::{Estimate, adaptive};
use crate::evidence::distribution::student::Student;

const KNOTS: usize = 1024;

/// The distribution function of a sum, symmetric about zero: above zero by knots.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    laws: Vec<Law>,
    width: f64,
    reach: f64,
    /// Step of τ.
    step: f64,
    /// Probability above each knot.
    above: Vec<f64>,
    /// Density at each knot.
    density: Vec<f64>,
}

impl Table {
    /// Tabulates the sum of at least two laws.
    pub fn new(mut laws: Vec<Law>) -> Table {
        laws.sort_by(|a, b| b.width().total_cmp(&a.width()));
        let mut so_far: Option<Table> = None;
        for end in 2..=laws.len() {
            so_far = Some(Table::convolve(&laws[..end], so_far.as_ref()));
        }
        so_far.unwrap_or_else(|| Table::convolve(&laws, None))
    }

    /// Returns the table of all of `laws`; `before` is that of all but the last, or `None` where there is
    /// one law before it.
    fn convolve(laws: &[Law], before: Option<&Table>) -> Table {
        let width = laws.iter().map(|it| it.width() * it.width()).sum::<f64>().sqrt();
        let reach: f64 = laws.iter().map(|it| it.reach()).sum();
        let step = libm::asinh(reach / width) / (KNOTS - 1) as f64;
        let (wide, last) = (laws[0], laws[laws.len() - 1]);
        let kinks = if before.is_none() { wide.kinks() } else { Vec::new() };
        let mut table = Table {
            laws: laws.to_vec(),
            width,
            reach,
            step,
            above: Vec::new(),
            density: Vec::new(),
        };
        let student = match wide {
            Law::T { scale, dof } => Student::new(dof).map(|it| (scale, it)),
            _ => None,
        };
        let beyond = |x: f64| match (before, &student) {
            (Some(table), _) => table.above(x),
            (None, Some((scale, it))) => it.survival(x / scale),
            (None, None) => wide.between(x, f64::INFINITY),
        };
        let above = |x: f64| if x >= 0.0 { beyond(x) } else { 1.0 - beyond(-x) };
        for k in 0..KNOTS {
            let x = table.knot(k);
            table.above.push(average(last, x, &kinks, &above));
        }
        table.slopes();
        table
    }

    fn knot(&self, k: usize) -> f64 {
        self.width * libm::sinh(self.step * k as f64)
    }

    /// Fills in the derivatives in τ by differences of sixth order; the function is odd about (0, ½).
    fn slopes(&mut self) {
        let value = |k: isize| match usize::try_from(k) {
            Ok(k) => self.above.get(k).copied().unwrap_or(0.0),
            Err(_) => 1.0 - self.above[k.unsigned_abs()],
        };
        let pair = |k: isize, off: isize| value(k + off) - value(k - off);
        let slope = |k: isize| (45.0 * pair(k, 1) - 9.0 * pair(k, 2) + pair(k, 3)) / 60.0;
        self.density = (0..KNOTS as isize).map(slope).collect();
    }

    /// Returns the probability above `x ≥ 0`.
    fn above(&self, x: f64) -> f64 {
        if x >= self.reach {
            return 0.0;
        }
        let place = libm::asinh(x / self.width) / self.step;
        let k = (place as usize).min(KNOTS - 2);
        let t = place - k as f64;
        let (from, to) = (self.above[k], self.above[k + 1]);
        let (d0, d1) = (self.density[k], self.density[k + 1]);
        let bend = d0 + d1 - 2.0 * (to - from);
        let turn = 3.0 * (to - from) - 2.0 * d0 - d1;
        (from + t * (d0 + t * (turn + t * bend))).clamp(0.0, 1.0)
    }

    /// Returns the probability between two limits.
    pub fn between(&self, low: f64, high: f64) -> f64 {
        if high <= low {
            0.0
        } else if low > 0.0 {
            self.above(low) - self.above(high)
        } else if high < 0.0 {
            self.above(-high) - self.above(-low)
        } else {
            1.0 - self.above(-low) - self.above(high)
        }
    }

    /// Returns what it is the sum of.
    pub fn laws(&self) -> &[Law] {
        &self.laws
    }

    /// Returns where the sum ends.
    pub fn reach(&self) -> f64 {
        self.reach
    }

    /// Returns the root of the sum of squared widths.
    pub fn width(&self) -> f64 {
        self.width
    }
}

/// Returns the mean of `above(x − z)` over the law of z.
fn average(law: Law, x: f64, kinks: &[f64], above: &dyn Fn(f64) -> f64) -> f64 {
    let mut sum = 0.0;
    for chart in law.charts() {
        let mut ends = vec![chart.from, chart.to];
        ends.extend(kinks.iter().flat_map(|it| [chart.x(x - it), chart.x(x + it)]));
        ends.sort_by(f64::total_cmp);
        let mut f = |at: f64| Estimate::exact(chart.weight(at) * above(x - chart.z(at)));
        sum += adaptive(&ends, 1e-10, 30, &mut f).value;
    }
    sum
}
