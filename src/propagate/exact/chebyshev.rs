//! Polynomials on (−1, 1) as Chebyshev series through values at the roots of the next one. Pure numbers.

use std::f64::consts::PI;

/// Returns the node of index `k` among `N`, falling.
pub fn node<const N: usize>(k: usize) -> f64 {
    libm::cos(PI * (k as f64 + 0.5) / N as f64)
}

/// Returns the coefficients of the polynomial through values at the nodes.
pub fn coefficients<const N: usize>(values: &[f64; N]) -> [f64; N] {
    // cos(jπ(2k + 1)/2N) has few values over all j and k.
    let cosines: Vec<f64> =
        (0..4 * N).map(|it| libm::cos(PI * it as f64 / (2 * N) as f64)).collect();
    let mut all = [0.0; N];
    for (j, c) in all.iter_mut().enumerate() {
        for (k, value) in values.iter().enumerate() {
            *c += value * cosines[j * (2 * k + 1) % (4 * N)];
        }
        *c *= if j == 0 { 1.0 } else { 2.0 } / N as f64;
    }
    all
}

/// Returns the value at `u`, by Clenshaw's recurrence.
pub fn value<const N: usize>(series: &[f64; N], u: f64) -> f64 {
    let (mut a, mut b) = (0.0, 0.0);
    for &c in series[1..].iter().rev() {
        (a, b) = (2.0 * u * a - b + c, a);
    }
    u * a - b + series[0]
}

/// Returns the derivative at `u`.
pub fn slope<const N: usize>(series: &[f64; N], u: f64) -> f64 {
    let (mut a, mut b) = (0.0, 0.0);
    for (k, &c) in series.iter().enumerate().skip(1).rev() {
        (a, b) = (2.0 * u * a - b + k as f64 * c, a);
    }
    a
}
