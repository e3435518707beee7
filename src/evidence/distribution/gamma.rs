//! The upper tail of chi-squared: the regularised incomplete gamma function.
//!
//! With a = ν/2, x half the value and D = xᵃ e⁻ˣ/Γ(a): below the middle P = D/a·Σ xⁿ/((a+1)…(a+n)), a
//! sum of positive terms, beyond it Q = D over a continued fraction. D is written with deviations from the
//! middle and Stirling's remainder, so that large ν lose no digits.
//!
//! May use nothing else of the crate.
//!
//! Sources: DLMF 8.11.4 (series), 8.9.2 (continued fraction, even part), 5.11.1 (Stirling).

use core::f64::consts::PI;

/// Largest ν: the number of terms grows as √ν.
pub(super) const LARGEST_DOF: f64 = 1e7;
/// Guard of sums and fractions; the largest ν needs about 20 000.
const TERMS: usize = 100_000;

/// B₂ₖ/(2k(2k − 1)), k = 1 to 8: the remainder of Stirling's series in 1/a^(2k−1). At a ≥ 10 the
/// first one left out is below 2e-17.
const STIRLING: [f64; 8] = [
    1.0 / 12.0,
    -1.0 / 360.0,
    1.0 / 1_260.0,
    -1.0 / 1_680.0,
    1.0 / 1_188.0,
    -691.0 / 360_360.0,
    1.0 / 156.0,
    -3_617.0 / 122_400.0,
];

/// Returns the probability of a chi-squared above `x`, or `None` where `x` is NaN or negative or `dof`
/// is not in 1…10⁷.
///
/// Worst measured relative error WORST (test `chi_squared_tails_agree_with_reference`).
pub fn chi_squared_survival(x: f64, dof: f64) -> Option<f64> {
    if !(x >= 0.0 && (1.0..=LARGEST_DOF).contains(&dof)) {
        return None;
    }
    if x.is_infinite() {
        return Some(0.0);
    }
    let (a, x) = (0.5 * dof, 0.5 * x);
    let off = (x - a) / a;
    let d = libm::sqrt(a / (2.0 * PI)) * libm::exp(-a * excess(off, x / a) - stirling(a));
    if x <= a.max(1.0) { Some(1.0 - d / a * series(a, x)?) } else { Some(d / fraction(a, x)?) }
}

/// Returns Σ xⁿ/((a+1)…(a+n)).
fn series(a: f64, x: f64) -> Option<f64> {
    let (mut term, mut sum) = (1.0, 1.0);
    for n in 1..TERMS {
        term *= x / (a + n as f64);
        sum += term;
        if term < 1e-17 * sum {
            return Some(sum);
        }
    }
    None
}

/// Returns x + 1 − a − 1(1−a)/(x + 3 − a − …), by Lentz's method.
fn fraction(a: f64, x: f64) -> Option<f64> {
    let mut bottom = x + 1.0 - a;
    let mut f = bottom;
    let (mut c, mut d) = (bottom, 0.0);
    for n in 1..TERMS {
        let n = n as f64;
        let top = n * (a - n);
        bottom += 2.0;
        d = 1.0 / (bottom + top * d);
        c = bottom + top / c;
        f *= c * d;
        if (c * d - 1.0).abs() < 2e-16 {
            return Some(f);
        }
    }
    None
}

/// Returns u − ln(1 + u) for u > −1, given 1 + u as well, which may have more digits. Near zero by
/// r·u − 2r³(1/3 + r²/5 + …) with r = u/(2 + u), where nothing cancels.
pub(super) fn excess(u: f64, one_plus_u: f64) -> f64 {
    if !(-0.7..=3.0).contains(&u) {
        return u - libm::log(one_plus_u);
    }
    let r = u / (2.0 + u);
    let square = r * r;
    let (mut power, mut sum) = (1.0, 0.0);
    for n in 0..TERMS {
        let term = power / (2.0 * n as f64 + 3.0);
        sum += term;
        power *= square;
        if term < 1e-17 * sum {
            break;
        }
    }
    r * (u - 2.0 * square * sum)
}

/// Returns ln Γ(a) − (a − ½) ln a + a − ½ ln 2π for a > 0.
pub(super) fn stirling(a: f64) -> f64 {
    let (mut a, mut lifted) = (a, 0.0);
    // Γ(a + 1) = a Γ(a)
    while a < 10.0 {
        lifted += (a + 0.5) * libm::log1p(1.0 / a) - 1.0;
        a += 1.0;
    }
    let inverse = 1.0 / a;
    let square = inverse * inverse;
    lifted + STIRLING.iter().rev().fold(0.0, |sum, c| sum * square + c) * inverse
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64, bound: f64) {
        assert!((got / expected - 1.0).abs() <= bound, "got {got:e}, expected {expected:e}");
    }

    /// Closed forms for 2 and 4 degrees of freedom: e^(−x/2) and (1 + x/2)·e^(−x/2).
    #[test]
    fn has_its_closed_forms_for_even_degrees_of_freedom() {
        for x in [1e-9, 0.3, 1.0, 2.0, 2.1, 4.0, 7.2, 30.0, 300.0, 1_300.0] {
            let tail = libm::exp(-0.5 * x);
            close(chi_squared_survival(x, 2.0).unwrap(), tail, 1e-13);
            close(chi_squared_survival(x, 4.0).unwrap(), (1.0 + 0.5 * x) * tail, 1e-13);
        }
    }

    /// Γ(½) = √π, Γ(1) = 1 and Γ(10) = 362 880 (DLMF 5.4.1 and 5.4.6).
    #[test]
    fn the_remainder_of_stirling_has_its_closed_forms() {
        let plain = |a: f64| (a - 0.5) * libm::log(a) - a + 0.5 * libm::log(2.0 * PI);
        for (a, log_gamma) in [(0.5, 0.5 * libm::log(PI)), (1.0, 0.0), (10.0, libm::log(362_880.0))]
        {
            assert!((stirling(a) + plain(a) - log_gamma).abs() < 4e-15, "a = {a}");
        }
    }

    /// u − ln(1 + u) = u²/2 − u³/3 + …, and directly where nothing cancels.
    #[test]
    fn the_excess_over_the_logarithm_keeps_its_digits() {
        close(excess(1e-9, 1.0), 5e-19, 1e-9);
        close(excess(-1e-6, 1.0), 0.5e-12 * (1.0 + 2e-6 / 3.0), 1e-11);
        for u in [-0.7, -0.5, 1.0, 2.9, 3.0] {
            close(excess(u, 1.0 + u), u - libm::log1p(u), 2e-15);
        }
        assert_eq!(excess(0.0, 1.0), 0.0);
    }

    #[test]
    fn refuses_bad_arguments_and_takes_the_ends() {
        for (x, dof) in [(-1.0, 3.0), (f64::NAN, 3.0), (1.0, 0.9), (1.0, f64::NAN), (1.0, 2e7)] {
            assert_eq!(chi_squared_survival(x, dof), None, "{x}, {dof}");
        }
        assert_eq!(chi_squared_survival(0.0, 1.0), Some(1.0));
        assert_eq!(chi_squared_survival(f64::INFINITY, 1.0), Some(0.0));
        assert_eq!(chi_squared_survival(1e308, 1e7), Some(0.0));
    }
}
