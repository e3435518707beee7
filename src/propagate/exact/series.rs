//! The Fourier series of a sum with light tails, and its repeated integrals H_m(x) = E(x − S)₊^m / m!.
//!
//! The density being next to nothing outside (−L, L), its series with period 2L has the values of the
//! characteristic function at kπ/L as coefficients: no error but truncation and what lies outside.
//! H_m is the (m + 1)-fold integral from −L. Not for t, whose tails would fold back.

use super::body::{Body, Cut};
use super::meter::spend;
use std::f64::consts::PI;

/// Terms turned by multiplication before sine and cosine are taken anew.
const BLOCK: usize = 32;

/// A series with the integrals that a number of peeled rectangles needs.
#[derive(Debug, Clone)]
pub struct Series {
    /// L.
    reach: f64,
    /// Coefficients of cos and sin of ω_k·x, k = 1, 2, …, over L.
    terms: Vec<(f64, f64)>,
    /// Trigonometric part of H_m at −L.
    start: Vec<f64>,
    /// Error of any probability.
    error: f64,
}

/// Returns how many terms the series has.
pub fn length(body: &Body, cut: Cut) -> f64 {
    cut.limit * body.reach() / PI
}

impl Series {
    /// Prepares H_0 to H_`order`; `None` where a star needs too many nodes.
    ///
    /// Method: M34.
    pub fn new(body: &Body, cut: Cut, order: usize) -> Option<Series> {
        let reach = body.reach();
        let count = length(body, cut).ceil().max(2.0) as usize;
        if !spend(8 * count as u64) {
            return None;
        }
        let ts: Vec<f64> = (1..=count).map(|k| k as f64 * PI / reach).collect();
        let values = body.characteristic(&ts)?;
        let terms = values.into_iter().map(|(re, im)| (re / reach, im / reach)).collect();
        let mut series = Series { reach, terms, start: Vec::new(), error: 0.0 };
        series.start = (0..=order).map(|m| series.trigonometric(m, -reach)).collect();
        let sum: f64 = series
            .terms
            .iter()
            .enumerate()
            .map(|(k, it)| it.0.hypotenuse(it.1) / (k + 1) as f64)
            .sum();
        series.error = cut.error + 2e-17 + 4.0 * f64::EPSILON * (1.0 + sum * reach / PI);
        Some(series)
    }

    /// Returns L.
    pub fn reach(&self) -> f64 {
        self.reach
    }

    /// Returns H_m at |x| ≤ L and a bound on its error; m = −1 is the density.
    pub fn integral(&self, m: i32, x: f64) -> (f64, f64) {
        let from_start = x + self.reach;
        if m < 0 {
            return (0.5 / self.reach + self.turn(0, x), self.error / self.reach);
        }
        let m = m as usize;
        let mut power = from_start / (2.0 * self.reach);
        for k in 0..m {
            power *= from_start / (k + 2) as f64;
        }
        let mut constants = 0.0;
        let mut factor = 1.0;
        for k in 0..=m {
            constants += self.start[m - k] * factor;
            factor *= from_start / (k + 1) as f64;
        }
        let value = power + self.trigonometric(m, x) - constants;
        let size = (0..m).fold(1.0, |it, k| it * self.reach / (k + 1) as f64);
        (value, self.error * size + 2.0 * f64::EPSILON * (power + constants.abs()))
    }

    /// Returns the (m + 1)-fold integral of the trigonometric terms.
    fn trigonometric(&self, m: usize, x: f64) -> f64 {
        self.turn(m + 1, x)
    }

    /// Returns Re Σ (re + i·im)·(i/ω)^n·exp(−iωx).
    fn turn(&self, n: usize, x: f64) -> f64 {
        let unit = PI / self.reach;
        let angle = unit * x;
        let (step_sin, step_cos) = libm::sincos(angle);
        let mut sum = 0.0;
        for (block, terms) in self.terms.chunks(BLOCK).enumerate() {
            let first = (block * BLOCK + 1) as f64;
            let (mut sin, mut cos) = libm::sincos(first * angle);
            for (k, &(re, im)) in terms.iter().enumerate() {
                let (mut a, mut b) = (re * cos + im * sin, im * cos - re * sin);
                let mut scale = 1.0;
                let inverse = 1.0 / (unit * (first + k as f64));
                for _ in 0..n {
                    (a, b) = (-b, a);
                    scale *= inverse;
                }
                sum += a * scale;
                (sin, cos) = (sin * step_cos + cos * step_sin, cos * step_cos - sin * step_sin);
            }
        }
        sum
    }
}

trait Hypotenuse {
    fn hypotenuse(self, other: Self) -> Self;
}

impl Hypotenuse for f64 {
    fn hypotenuse(self, other: f64) -> f64 {
        (self * self + other * other).sqrt()
    }
}
