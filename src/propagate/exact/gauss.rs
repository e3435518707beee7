//! Gauss-Legendre rules and adaptive integration with them. Pure numbers.

use super::meter::spend;
use std::sync::OnceLock;

/// Deepest bisection of a panel.
const DEPTH: usize = 60;

/// Returns abscissae and weights on (−1, 1) of the rule with 16 nodes.
pub fn sixteen() -> &'static [(f64, f64)] {
    static RULE: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    RULE.get_or_init(|| legendre(16))
}

/// Returns abscissae and weights on (−1, 1) of the rule with 24 nodes.
pub fn twenty_four() -> &'static [(f64, f64)] {
    static RULE: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    RULE.get_or_init(|| legendre(24))
}

/// Returns the rule with `n` nodes: roots of the Legendre polynomial by Newton's method.
fn legendre(n: usize) -> Vec<(f64, f64)> {
    let mut rule = vec![(0.0, 0.0); n];
    for i in 0..n.div_ceil(2) {
        let mut x = libm::cos(std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5));
        let mut slope = 1.0;
        for _ in 0..8 {
            let (value, derivative) = polynomial(n, x);
            slope = derivative;
            x -= value / derivative;
        }
        let weight = 2.0 / ((1.0 - x * x) * slope * slope);
        rule[i] = (-x, weight);
        rule[n - 1 - i] = (x, weight);
    }
    rule
}

/// Returns the Legendre polynomial of degree `n` and its derivative.
fn polynomial(n: usize, x: f64) -> (f64, f64) {
    let (mut last, mut this) = (1.0, x);
    for k in 2..=n {
        let k = k as f64;
        (last, this) = (this, ((2.0 * k - 1.0) * x * this - (k - 1.0) * last) / k);
    }
    (this, n as f64 * (x * this - last) / (x * x - 1.0))
}

/// An integral and a bound on its error; where `spent` the integrand was too rough.
#[derive(Debug, Clone, Copy, Default)]
pub struct Integral {
    /// Its value.
    pub value: f64,
    /// Sum of what the last bisections changed, plus rounding.
    pub error: f64,
}

/// Integrates between consecutive `breaks`, bisecting until a bisection changes less than `tolerance`.
/// `left` is the number of evaluations that may be spent; what is left over shows in `error`.
pub fn integrate(
    f: &mut dyn FnMut(f64) -> f64,
    breaks: &[f64],
    tolerance: f64,
    left: &mut usize,
) -> Integral {
    let mut sum = Integral::default();
    for pair in breaks.windows(2) {
        if pair[0] < pair[1] {
            let whole = panel(f, pair[0], pair[1]);
            let mut part = Part { f: &mut *f, tolerance, left: &mut *left };
            let found = part.refine(pair[0], pair[1], whole, DEPTH);
            sum.value += found.value;
            sum.error += found.error;
        }
    }
    sum.error += 4.0 * f64::EPSILON * sum.value.abs();
    sum
}

struct Part<'a> {
    f: &'a mut dyn FnMut(f64) -> f64,
    tolerance: f64,
    left: &'a mut usize,
}

impl Part<'_> {
    fn refine(&mut self, lo: f64, hi: f64, whole: f64, depth: usize) -> Integral {
        let middle = lo + 0.5 * (hi - lo);
        let (lower, upper) = (panel(self.f, lo, middle), panel(self.f, middle, hi));
        *self.left = self.left.saturating_sub(32);
        let change = (lower + upper - whole).abs();
        let floor = 8.0 * f64::EPSILON * (lower.abs() + upper.abs());
        let paid = spend(32);
        if change <= self.tolerance.max(floor) || depth == 0 || *self.left == 0 || !paid {
            return Integral { value: lower + upper, error: change };
        }
        let a = self.refine(lo, middle, lower, depth - 1);
        let b = self.refine(middle, hi, upper, depth - 1);
        Integral { value: a.value + b.value, error: a.error + b.error }
    }
}

fn panel(f: &mut dyn FnMut(f64) -> f64, lo: f64, hi: f64) -> f64 {
    let half = 0.5 * (hi - lo);
    let middle = lo + half;
    half * sixteen().iter().map(|&(x, w)| w * f(middle + half * x)).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ∫ x³⁰ over (−1, 1) = 2/31 (rule with 16 nodes: exact to degree 31) and ∫ x⁴⁶ = 2/47; by hand.
    #[test]
    fn rules_are_exact_to_their_degree() {
        for (rule, power, expected) in
            [(sixteen(), 30.0, 2.0 / 31.0), (twenty_four(), 46.0, 2.0 / 47.0)]
        {
            let got: f64 = rule.iter().map(|&(x, w)| w * libm::pow(x, power)).sum();
            assert!((got / expected - 1.0).abs() < 1e-13, "degree {power}: {got}");
        }
    }

    /// ∫₀¹ −ln x dx = 1 and ∫₀¹ dx/√x = 2, by hand: singular at an end.
    #[test]
    fn bisection_resolves_singular_ends() {
        let mut left = 100_000;
        let log = integrate(&mut |x| -libm::log(x), &[0.0, 1.0], 1e-16, &mut left);
        assert!((log.value - 1.0).abs() <= log.error && log.error < 1e-13, "{log:?}");
    }
}
