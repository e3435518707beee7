//! Student's t for every real ν from 1 to infinity: one method over the whole range.
//!
//! Takes points, probabilities and degrees of freedom, returns points and probabilities, all
//! dimensionless. May use nothing else of the crate. Notation as in the parent module, and
//! `y = 1/(1 + x²/ν)`, `z = 1 − y`, `g = x f(x) = √z y^(ν/2) / B(½, ν/2)` with the density `f`.
//!
//! - Near the median (x² < 2) the probability is a series of positive terms, `d = g Σ tₙ`.
//! - Beyond, it is a continued fraction, `q = g / 2F`, the even part of the one of the incomplete beta
//!   function; its coefficients are written so that they stay finite for ν → ∞, where it
//!   becomes the one of erfc. No branch at a large ν is needed, and none is there.
//! - Quantiles: Newton in x on `d` and in ln x on `ln q`. Both functions are concave, so the steps
//!   are monotone after the first and cannot cycle.
//!
//! Sources: DLMF 8.17.7 and 8.17.8 (series); A. R. DiDonato and A. H. Morris, ACM TOMS 18 (1992) 360-373,
//! equation 9 (continued fraction, number from memory); DLMF 5.11.8 (ratio of gamma functions); D. L. Wallace,
//! Annals of Mathematical Statistics 30 (1959) 1124-1130 (starting value, from memory).

use super::{NARROW, beta, narrow, normal};

/// Series in 1/a of ln(Γ(a + ½) / (Γ(a) √a)): the coefficients B₂ₖ (2^(1−2k) − 2) / (2k (2k − 1)) of
/// a^(1−2k), k = 1 to 8. At a ≥ 16 the first one left out is 2e-17 of a unit in the last place.
const GAMMA_RATIO: [f64; 8] = [
    -1.0 / 8.0,
    1.0 / 192.0,
    -1.0 / 640.0,
    17.0 / 14_336.0,
    -31.0 / 18_432.0,
    691.0 / 180_224.0,
    -5_461.0 / 425_984.0,
    929_569.0 / 15_728_640.0,
];

/// 1/√(2π).
const NORMAL_PEAK: f64 = 0.398_942_280_401_432_7;

/// x² up to which the series is used, and the tail probability from which quantiles use it.
const NEAR: f64 = 2.0;
const NEAR_TAIL: f64 = 0.2;

/// Newton rounds, as a guard: nine pass every test.
const ROUNDS: usize = 60;

/// Returns the density at `x`, or `None` where `x` is NaN or `dof` is not in 1…∞.
pub fn density(x: f64, dof: f64) -> Option<f64> {
    let student = Student::new(dof)?;
    if x.is_nan() { None } else { Some(student.density(x)) }
}

/// Returns the probability of a value of at most `x`, or `None` where `x` is NaN or `dof` is not
/// in 1…∞.
///
/// Worst measured relative error, in both tails down to 1e-300, 1.1e-13 (test
/// `student_probabilities_agree_with_reference`).
pub fn cdf(x: f64, dof: f64) -> Option<f64> {
    survival(-x, dof)
}

/// Returns the probability of a value above `x`, or `None` where `x` is NaN or `dof` is not in 1…∞.
/// Accuracy as [`cdf`].
pub fn survival(x: f64, dof: f64) -> Option<f64> {
    let student = Student::new(dof)?;
    if x.is_nan() {
        None
    } else if x < 0.0 {
        Some(1.0 - student.survival(-x))
    } else {
        Some(student.survival(x))
    }
}

/// Returns the probability between `lo` and `hi`, zero where the interval is empty (`hi ≤ lo`), or
/// `None` where a limit is NaN or `dof` is not in 1…∞. By terms of one sign, so a narrow or a far
/// interval keeps its relative accuracy.
///
/// Worst measured relative error 4e-14 (test `intervals_agree_with_reference`).
pub fn between(lo: f64, hi: f64, dof: f64) -> Option<f64> {
    let student = Student::new(dof)?;
    if lo.is_nan() || hi.is_nan() { None } else { Some(student.between(lo, hi)) }
}

/// Returns the `x` with `cdf(x, dof) = p`, or `None` unless `0 < p < 1`, `dof` is in 1…∞ and `x` is
/// within the range of `f64` (ν = 1 leaves it below p = 2e-309).
///
/// Worst measured relative error 1.4e-14 for p from ½ + 1e-7 to 1 − 1e-12 and ν from 1 to infinity (test
/// `student_quantiles_agree_with_reference`), 3.6e-14 for tails down to 1e-300 (test
/// `student_quantiles_off_the_grid_agree_with_reference`).
pub fn quantile(p: f64, dof: f64) -> Option<f64> {
    upper_quantile(p, dof).map(|x| 0.0 - x)
}

/// Returns the `x` with `survival(x, dof) = q`; range and accuracy as [`quantile`].
pub fn upper_quantile(q: f64, dof: f64) -> Option<f64> {
    let student = Student::new(dof)?;
    super::signed(q, |d, q| student.magnitude(d, q))
}

/// Returns the factor `k` with `P(|T| ≤ k) = probability`; range and accuracy as [`quantile`].
///
/// Method: M17.
pub fn two_sided_factor(probability: f64, dof: f64) -> Option<f64> {
    let student = Student::new(dof)?;
    super::two_sided(probability, |d, q| student.magnitude(d, q))
}

/// The distribution for one ν in 1…∞, with the density at zero worked out: for many densities.
#[derive(Debug, Clone, Copy)]
pub struct Student {
    dof: f64,
    peak: f64,
}

/// What series and continued fraction need of a point `x ≥ 0`.
struct Point {
    /// √y.
    narrow: f64,
    /// x √y, at most √ν.
    scaled: f64,
    y: f64,
    z: f64,
    /// ln y^(ν/2).
    log_decay: f64,
}

impl Student {
    /// Returns the distribution, or `None` unless `dof` is in 1…∞.
    pub fn new(dof: f64) -> Option<Student> {
        (dof >= 1.0).then(|| Student { dof, peak: peak(dof) })
    }

    fn point(&self, x: f64) -> Point {
        let root = libm::sqrt(self.dof);
        let w = x * x / self.dof;
        let y = 1.0 / (1.0 + w);
        // ν ln(1 + w), where w may have lost its digits to underflow or be out of range
        let decay = if w < 1e-18 {
            x * x
        } else if w.is_finite() {
            self.dof * libm::log1p(w)
        } else {
            2.0 * self.dof * libm::log(x / root)
        };
        let (z, narrow) = if w.is_finite() { (w * y, libm::sqrt(y)) } else { (1.0, root / x) };
        Point { narrow, scaled: x * narrow, y, z, log_decay: -0.5 * decay }
    }

    /// x f(x).
    fn power(&self, at: &Point) -> f64 {
        at.scaled * self.peak * libm::exp(at.log_decay)
    }

    /// Returns the density at `x`; NaN for NaN.
    pub fn density(&self, x: f64) -> f64 {
        if self.dof.is_infinite() {
            return normal::density(x);
        }
        if x.is_infinite() {
            return 0.0;
        }
        let at = self.point(x.abs());
        self.peak * libm::exp(at.log_decay) * at.narrow
    }

    /// P(0 < T < x) for finite x ≥ 0 with x² < [`NEAR`].
    fn centre(&self, x: f64) -> f64 {
        let at = self.point(x);
        self.power(&at) * series(&at)
    }

    /// Returns P(T > x) for `x` ≥ 0.
    pub fn survival(&self, x: f64) -> f64 {
        if self.dof.is_infinite() {
            normal::survival(x)
        } else if x.is_infinite() {
            0.0
        } else if x * x < NEAR {
            0.5 - self.centre(x)
        } else {
            let at = self.point(x);
            0.5 * self.power(&at) / fraction(&at, 0.5 * self.dof)
        }
    }

    fn between(&self, lo: f64, hi: f64) -> f64 {
        if self.dof.is_infinite() {
            return normal::between(lo, hi);
        }
        let near = |x: f64| if x * x < NEAR { self.centre(x) } else { 0.5 - self.survival(x) };
        if hi <= lo {
            0.0
        } else if hi <= 0.0 {
            self.between(-hi, -lo)
        } else if (hi - lo) * self.steepness(lo) <= NARROW {
            narrow(|x| self.density(x), lo, hi)
        } else if lo < 0.0 {
            near(-lo) + near(hi)
        } else if hi * hi < NEAR {
            near(hi) - near(lo)
        } else {
            self.survival(lo) - self.survival(hi)
        }
    }

    /// About how often per unit of x the density changes by a factor e, at least 1.
    fn steepness(&self, x: f64) -> f64 {
        (x.abs() / (1.0 + x * x / self.dof)).max(1.0)
    }

    /// The point above zero with probability `d` between it and zero, `q` beyond it.
    fn magnitude(&self, d: f64, q: f64) -> Option<f64> {
        if self.dof.is_infinite() {
            Some(normal::magnitude(d, q))
        } else if q >= NEAR_TAIL {
            self.solve_centre(d)
        } else {
            self.solve_tail(q)
        }
    }

    /// Newton in x. The starting value is below the root and `d` concave: no step passes the root.
    fn solve_centre(&self, d: f64) -> Option<f64> {
        let mut x = d / self.peak;
        for _ in 0..ROUNDS {
            let at = self.point(x);
            let power = self.power(&at);
            if power == 0.0 {
                // d is zero or so small that x is d over the peak to all digits.
                return Some(x);
            }
            let step = d / power - series(&at);
            x += x * step;
            if step.abs() < 1e-8 {
                return Some(x);
            }
        }
        None
    }

    /// Newton in ln x on ln q; quadratic, so a step below 1e-8 leaves nothing but rounding.
    fn solve_tail(&self, q: f64) -> Option<f64> {
        let mut x = self.start(q);
        let log_q = libm::log(q);
        for _ in 0..ROUNDS {
            if !x.is_finite() {
                return None;
            }
            let at = self.point(x);
            let f = fraction(&at, 0.5 * self.dof);
            let log_tail = libm::log(0.5 * at.scaled * self.peak / f) + at.log_decay;
            let step = (log_tail - log_q) / (2.0 * f);
            x *= libm::exp(step);
            if step.abs() < 1e-8 {
                return Some(x).filter(|x| x.is_finite());
            }
        }
        None
    }

    /// A starting value: far out from the leading term `q ≈ y^(ν/2) / (ν B)`, which errs inwards,
    /// elsewhere from the normal quantile by Wallace's approximation.
    fn start(&self, q: f64) -> f64 {
        let log_y = 2.0 * libm::log(q * libm::sqrt(self.dof) / self.peak) / self.dof;
        if log_y < -core::f64::consts::LN_2 {
            let far = -0.5 * (log_y - libm::log1p(-libm::exp(log_y)));
            return libm::sqrt(self.dof) * libm::exp(far);
        }
        let z = normal::magnitude(0.5 - q, q) * (8.0 * self.dof.min(1e9) + 3.0)
            / (8.0 * self.dof.min(1e9) + 1.0);
        libm::sqrt(self.dof) * libm::sqrt(libm::expm1(z * z / self.dof))
    }
}

/// Returns the density at zero, Γ((ν + 1)/2) / (Γ(ν/2) √(πν)).
fn peak(dof: f64) -> f64 {
    let mut a = 0.5 * dof;
    let mut lifted = 1.0;
    // Γ(a + ½)/Γ(a) = a/(a + ½) · Γ(a + 3/2)/Γ(a + 1), and the same once more for √a.
    while a < 16.0 {
        lifted *= a / (a + 0.5);
        a += 1.0;
    }
    let inverse = 1.0 / a;
    let square = inverse * inverse;
    let series = GAMMA_RATIO.iter().rev().fold(0.0, |sum, c| sum * square + c) * inverse;
    let lift = if dof < 32.0 { libm::sqrt(2.0 * a / dof) } else { 1.0 };
    NORMAL_PEAK * lifted * lift * libm::exp(series)
}

/// Returns Σ tₙ with t₀ = 1, tₙ₊₁ = tₙ z (ν/2 + ½ + n)/(3/2 + n); all terms are positive.
fn series(at: &Point) -> f64 {
    beta::series(0.5, at.z, 0.5 * at.scaled * at.scaled)
}

/// Returns the continued fraction F, with `a = ν/2`.
fn fraction(at: &Point, a: f64) -> f64 {
    beta::fraction(a, 0.5, at.y, at.z, 0.5 * at.scaled * at.scaled - 0.5 * at.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::f64::consts::{PI, SQRT_2};

    fn close(got: f64, expected: f64, bound: f64) {
        assert!((got / expected - 1.0).abs() <= bound, "got {got:e}, expected {expected:e}");
    }

    /// Closed forms, DLMF 5.4: Γ((ν + 1)/2)/(Γ(ν/2) √(πν)) is 1/π, 1/√8, 2/(π√3), 3/8 for ν = 1 to 4;
    /// 1/√(2π) in the limit.
    #[test]
    fn peak_has_its_closed_forms() {
        for (dof, expected) in [
            (1.0, 1.0 / PI),
            (2.0, 1.0 / (2.0 * SQRT_2)),
            (3.0, 2.0 / (PI * libm::sqrt(3.0))),
            (4.0, 0.375),
            (1e300, NORMAL_PEAK),
            (f64::MAX, NORMAL_PEAK),
        ] {
            close(peak(dof), expected, 2e-15);
        }
    }

    /// The two ways to the peak, below and above the switch of the recurrence at ν = 32.
    #[test]
    fn peak_is_continuous_at_the_switch() {
        close(peak(32.0 - 1e-13), peak(32.0), 2e-15);
    }

    /// Closed forms: ν = 1, the Cauchy distribution, x = cot πq; ν = 2, x = (1 − 2q)/√(2q(1 − q)).
    #[test]
    fn quantile_has_its_closed_forms_for_one_and_two() {
        for q in [1e-300, 1e-200, 1e-30, 1e-12, 1e-6, 1e-3, 0.05, 0.19, 0.2, 0.21, 0.3, 0.375] {
            let cauchy = 1.0 / libm::tan(PI * q);
            close(upper_quantile(q, 1.0).unwrap(), cauchy, 5e-13);
            let two = (1.0 - 2.0 * q) / libm::sqrt(2.0 * q * (1.0 - q));
            close(upper_quantile(q, 2.0).unwrap(), two, 5e-13);
        }
    }

    /// The Cornish-Fisher series, Abramowitz and Stegun 26.7.5; the first term left out is below
    /// 1e-15 of z for ν ≥ 1e5 and z ≤ 8.
    #[test]
    fn quantile_follows_cornish_fisher_for_large_dof() {
        for dof in [1e5, 3e5, 1e6, 1e8, 1e13, 1e17, 1e40, 1e300, f64::MAX] {
            for q in [1e-15, 1e-9, 1e-4, 0.025, 0.15, 0.2, 0.3, 0.499] {
                let z = normal::upper_quantile(q).unwrap();
                let s = z * z;
                let terms = [
                    1.0,
                    (s + 1.0) / 4.0,
                    ((5.0 * s + 16.0) * s + 3.0) / 96.0,
                    (((3.0 * s + 19.0) * s + 17.0) * s - 15.0) / 384.0,
                    ((((79.0 * s + 776.0) * s + 1482.0) * s - 1920.0) * s - 945.0) / 92_160.0,
                ];
                let series = terms.iter().rev().fold(0.0, |sum, term| sum / dof + term);
                close(upper_quantile(q, dof).unwrap(), z * series, 2e-14);
            }
        }
    }

    /// Both ways to the probability on the two sides of their common limit x² = 2.
    #[test]
    fn series_and_fraction_meet() {
        for dof in [1.0, 1.3, 4.0, 31.9, 1e3, 2e4, 1e9, 1e200] {
            let student = Student::new(dof).unwrap();
            let at = student.point(libm::sqrt(NEAR));
            let inner = 0.5 - student.power(&at) * series(&at);
            close(0.5 * student.power(&at) / fraction(&at, 0.5 * dof), inner, 1e-14);
        }
    }

    #[test]
    fn refuses_bad_arguments() {
        for dof in [f64::NAN, 0.999_999, 0.0, -3.0, f64::NEG_INFINITY] {
            assert_eq!(cdf(1.0, dof), None);
            assert_eq!(density(1.0, dof), None);
            assert_eq!(between(0.0, 1.0, dof), None);
            assert_eq!(quantile(0.9, dof), None);
            assert_eq!(two_sided_factor(0.95, dof), None);
        }
        for p in [f64::NAN, 0.0, 1.0, -0.1, 1.1, f64::INFINITY] {
            assert_eq!(quantile(p, 5.0), None);
            assert_eq!(upper_quantile(p, 5.0), None);
            assert_eq!(two_sided_factor(p, 5.0), None);
        }
        assert_eq!(survival(f64::NAN, 5.0), None);
        assert_eq!(between(f64::NAN, 1.0, 5.0), None);
    }

    /// 1/(π q) for the smallest q of `f64` is 6e322: no number of `f64`.
    #[test]
    fn refuses_a_quantile_out_of_range() {
        assert_eq!(upper_quantile(5e-324, 1.0), None);
        assert!(upper_quantile(5e-324, 1.1).unwrap() > 1e290);
    }

    #[test]
    fn takes_the_ends_of_the_range() {
        for dof in [1.0, 7.0, 1e300, f64::INFINITY] {
            assert_eq!(cdf(f64::INFINITY, dof), Some(1.0));
            assert_eq!(cdf(f64::NEG_INFINITY, dof), Some(0.0));
            assert_eq!(cdf(0.0, dof), Some(0.5));
            assert_eq!(density(f64::INFINITY, dof), Some(0.0));
            assert_eq!(between(f64::NEG_INFINITY, f64::INFINITY, dof), Some(1.0));
            assert_eq!(between(2.0, 1.0, dof), Some(0.0));
            assert_eq!(quantile(0.5, dof), Some(0.0));
        }
    }
}
