//! Rectangles peeled off a sum with light tails, widest first.
//!
//! With H_m(x) = E(x − S)₊^m / m!, a rectangle ±a on a rest G gives
//! H_m(x) = [H_{m+1}^G(x + a) − H_{m+1}^G(x − a)] / 2a. Below the support H is zero, above it the polynomial
//! of the moments, so scales that lie decades apart cost nothing. Every value carries a bound on its error.

use super::series::Series;
use super::shape::NORMAL_REACH;
use crate::evidence::distribution::normal;

/// What is left when the rectangles are off.
#[derive(Debug, Clone)]
pub enum Leaf {
    /// Zero, exactly.
    Point,
    /// A normal of this standard deviation.
    Normal(f64),
    /// A Fourier series.
    Series(Series),
}

/// Rectangles over a leaf.
#[derive(Debug, Clone)]
pub struct Peel {
    /// Half-widths, widest first.
    widths: Vec<f64>,
    leaf: Leaf,
    /// Where the sum of the leaf and the rectangles from the one at this index on ends.
    reach: Vec<f64>,
    /// E S^j / j! of the same.
    moments: Vec<Vec<f64>>,
}

impl Peel {
    /// Prepares `widths` (widest first) over `leaf`.
    ///
    /// Method: M33.
    pub fn new(widths: Vec<f64>, leaf: Leaf) -> Peel {
        let order = widths.len() + 1;
        let mut reach = vec![leaf.reach()];
        let mut moments = vec![leaf.moments(order)];
        for &a in widths.iter().rev() {
            reach.push(reach[reach.len() - 1] + a);
            moments.push(widen(&moments[moments.len() - 1], a));
        }
        reach.reverse();
        moments.reverse();
        Peel { widths, leaf, reach, moments }
    }

    /// Returns P(S < x) and a bound on its error.
    pub fn below(&self, x: f64) -> (f64, f64) {
        self.integral(0, 0, x)
    }

    /// Returns the density at `x`.
    pub fn density(&self, x: f64) -> f64 {
        self.integral(0, -1, x).0
    }

    /// Returns H_m of the leaf and the rectangles from `index` on.
    fn integral(&self, index: usize, m: i32, x: f64) -> (f64, f64) {
        if x <= -self.reach[index] {
            return (0.0, 1e-17 * self.leaf.size(m));
        }
        if x >= self.reach[index] {
            return polynomial(&self.moments[index], m, x);
        }
        let Some(&a) = self.widths.get(index) else { return self.leaf.integral(m, x) };
        let (upper, upper_error) = self.integral(index + 1, m + 1, x + a);
        let (lower, lower_error) = self.integral(index + 1, m + 1, x - a);
        let rounding = f64::EPSILON * (upper.abs() + lower.abs());
        ((upper - lower) / (2.0 * a), (upper_error + lower_error + rounding) / (2.0 * a))
    }
}

impl Leaf {
    fn reach(&self) -> f64 {
        match self {
            Leaf::Point => 0.0,
            Leaf::Normal(sigma) => NORMAL_REACH * sigma,
            Leaf::Series(series) => series.reach(),
        }
    }

    fn size(&self, m: i32) -> f64 {
        let reach = self.reach();
        (0..m).fold(1.0, |it, _| it * reach)
    }

    /// Returns E S^j / j! up to j = `order`.
    fn moments(&self, order: usize) -> Vec<f64> {
        match self {
            Leaf::Point => (0..=order).map(|j| if j == 0 { 1.0 } else { 0.0 }).collect(),
            Leaf::Normal(sigma) => {
                let mut all = vec![0.0; order + 1];
                let (mut value, mut l) = (1.0, 1.0);
                for even in all.iter_mut().step_by(2) {
                    *even = value;
                    value *= 0.5 * sigma * sigma / l;
                    l += 1.0;
                }
                all
            }
            Leaf::Series(series) => {
                let reach = series.reach();
                let at_end: Vec<f64> =
                    (0..order).map(|m| series.integral(m as i32, reach).0).collect();
                let taylor = |m: usize| {
                    let (mut sum, mut factor) = (0.0, 1.0);
                    for j in 0..=m {
                        sum += at_end[m - j] * factor;
                        factor *= -reach / (j + 1) as f64;
                    }
                    sum
                };
                (0..order).map(|m| if m == 0 { 1.0 } else { taylor(m) }).collect()
            }
        }
    }

    fn integral(&self, m: i32, x: f64) -> (f64, f64) {
        match self {
            Leaf::Point => (0.0, 0.0),
            Leaf::Normal(sigma) => normal_integral(m, x, *sigma),
            Leaf::Series(series) => series.integral(m, x),
        }
    }
}

/// Returns σ^m·G_m(x/σ) by m·G_m = z·G_{m−1} + G_{m−2} and a bound on its error.
fn normal_integral(m: i32, x: f64, sigma: f64) -> (f64, f64) {
    let z = x / sigma;
    let (mut last, mut this) = (normal::density(z), normal::cdf(z));
    if m < 0 {
        return (last / sigma, 4.0 * f64::EPSILON * last / sigma);
    }
    let (mut last_error, mut error) = (2.0 * f64::EPSILON * last, 2.0 * f64::EPSILON * this);
    let mut scale = 1.0;
    for k in 1..=m {
        let k = f64::from(k);
        let next = (z * this + last) / k;
        let next_error =
            (z.abs() * error + last_error + f64::EPSILON * ((z * this).abs() + last)) / k;
        (last, this) = (this, next);
        (last_error, error) = (error, next_error);
        scale *= sigma;
    }
    (scale * this, scale * error)
}

/// Returns Σ moment_j·x^(m−j)/(m−j)! and a bound on its rounding.
fn polynomial(moments: &[f64], m: i32, x: f64) -> (f64, f64) {
    if m < 0 {
        return (0.0, 0.0);
    }
    let m = m as usize;
    let (mut sum, mut size, mut factor) = (0.0, 0.0, 1.0);
    for k in 0..=m {
        let term = moments.get(m - k).copied().unwrap_or(0.0) * factor;
        sum += term;
        size += term.abs();
        factor *= x / (k + 1) as f64;
    }
    (sum, 2.0 * f64::EPSILON * size)
}

/// Returns the moments E S^j / j! with a rectangle ±a added.
fn widen(moments: &[f64], a: f64) -> Vec<f64> {
    let at = |j: usize| {
        let (mut sum, mut factor, mut k) = (0.0, 1.0, 0);
        while k <= j {
            sum += moments[j - k] * factor;
            factor *= a * a / ((k + 2) * (k + 3)) as f64;
            k += 2;
        }
        sum
    };
    (0..moments.len()).map(at).collect()
}
