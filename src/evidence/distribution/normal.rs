//! The standard normal distribution: probabilities from `libm`'s error functions, quantiles from
//! rational approximations.
//!
//! Takes points and probabilities, returns points and probabilities, all dimensionless. May use
//! nothing else of the crate. Notation as in the parent module.
//!
//! Source of the quantile: M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988) 477-484
//! (coefficients from memory, proved by the test against mpmath).

use super::{NARROW, narrow};

/// 1/√2 as the sum of two binary64 numbers, and 1/√π, 1/√(2π).
const ROOT_HALF: f64 = core::f64::consts::FRAC_1_SQRT_2;
const ROOT_HALF_REST: f64 = -4.833_646_656_726_457e-17;
const ROOT_PI_INVERSE: f64 = 0.564_189_583_547_756_3;
const PEAK: f64 = 0.398_942_280_401_432_7;

/// Coefficients of AS 241, lowest power first: numerator and denominator.
type Rational = ([f64; 8], [f64; 8]);

/// For d ≤ 0.425, in 0.180625 − d².
const CENTRAL: Rational = (
    [
        3.387_132_872_796_366_5,
        133.141_667_891_784_38,
        1_971.590_950_306_551_3,
        13_731.693_765_509_46,
        45_921.953_931_549_87,
        67_265.770_927_008_7,
        33_430.575_583_588_13,
        2_509.080_928_730_122_7,
    ],
    [
        1.0,
        42.313_330_701_600_91,
        687.187_007_492_057_9,
        5_394.196_021_424_751,
        21_213.794_301_586_597,
        39_307.895_800_092_71,
        28_729.085_735_721_943,
        5_226.495_278_852_854,
    ],
);

/// For √(−ln q) ≤ 5, in √(−ln q) − 1.6.
const MIDDLE: Rational = (
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        0.241_780_725_177_450_6,
        0.022_723_844_989_269_184,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        0.689_767_334_985_1,
        0.148_103_976_427_480_08,
        0.015_198_666_563_616_457,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
);

/// For √(−ln q) > 5, in √(−ln q) − 5.
const FAR: Rational = (
    [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        0.296_560_571_828_504_87,
        0.026_532_189_526_576_124,
        1.242_660_947_388_078_4e-3,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ],
    [
        1.0,
        0.599_832_206_555_888,
        0.136_929_880_922_735_8,
        0.014_875_361_290_850_615,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_8e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ],
);

/// Returns the density at `x`.
pub fn density(x: f64) -> f64 {
    // x²/2 as a sum, since its rounding alone would show as x²/2 units in the last place.
    let square = x * x;
    let rest = if square < 1e4 { libm::fma(x, x, -square) } else { 0.0 };
    PEAK * libm::exp(-0.5 * square) * (1.0 - 0.5 * rest)
}

/// Returns the probability of a value of at most `x`; NaN only for NaN.
///
/// Worst measured relative error on both sides 2.3e-16 (test `normal_probabilities_agree_with_reference`).
pub fn cdf(x: f64) -> f64 {
    survival(-x)
}

/// Returns the probability of a value above `x`; NaN only for NaN. Accuracy as [`cdf`].
pub fn survival(x: f64) -> f64 {
    let t = x * ROOT_HALF;
    let plain = libm::erfc(t);
    if !(0.5..28.0).contains(&t) {
        return 0.5 * plain;
    }
    // What rounding took off x/√2 counts 2t² times in the tail: put back to first order.
    let lost = libm::fma(x, ROOT_HALF, -t) + x * ROOT_HALF_REST;
    0.5 * plain - lost * ROOT_PI_INVERSE * libm::exp(-t * t)
}

/// Returns the probability between zero and `x ≥ 0`.
fn centre(x: f64) -> f64 {
    0.5 * libm::erf(x * ROOT_HALF)
}

/// Returns the probability between `lo` and `hi`, zero where the interval is empty (`hi ≤ lo`) and
/// NaN only for NaN; by terms of one sign, so a narrow or a far interval keeps its relative accuracy.
///
/// Worst measured relative error 4e-14 (test `intervals_agree_with_reference`).
pub fn between(lo: f64, hi: f64) -> f64 {
    if lo.is_nan() || hi.is_nan() {
        f64::NAN
    } else if hi <= lo {
        0.0
    } else if hi <= 0.0 {
        between(-hi, -lo)
    } else if (hi - lo) * lo.abs().max(1.0) <= NARROW {
        narrow(density, lo, hi)
    } else if lo < 0.0 {
        centre(-lo) + centre(hi)
    } else if hi < 1.0 {
        centre(hi) - centre(lo)
    } else {
        survival(lo) - survival(hi)
    }
}

/// Returns the `x` with `cdf(x) = p`, or `None` unless `0 < p < 1`.
///
/// Worst measured relative error 4.5e-16, for q from 1e-300 to ½ − 1e-7
/// (test `normal_quantiles_agree_with_reference`).
pub fn quantile(p: f64) -> Option<f64> {
    upper_quantile(p).map(|x| 0.0 - x)
}

/// Returns the `x` with `survival(x) = q`, or `None` unless `0 < q < 1`. Accuracy as [`quantile`].
pub fn upper_quantile(q: f64) -> Option<f64> {
    super::signed(q, |d, q| Some(magnitude(d, q)))
}

/// Returns the factor `k` with `P(|Z| ≤ k) = probability`, or `None` unless `0 < probability < 1`.
/// Accuracy as [`quantile`].
///
/// Method: M17.
pub fn two_sided_factor(probability: f64) -> Option<f64> {
    super::two_sided(probability, |d, q| Some(magnitude(d, q)))
}

/// Returns the point above zero with probability `d` between it and zero, `q` beyond it.
pub(super) fn magnitude(d: f64, q: f64) -> f64 {
    if d <= 0.425 {
        return d * ratio(&CENTRAL, 0.180_625 - d * d);
    }
    let r = libm::sqrt(-libm::log(q));
    if r <= 5.0 { ratio(&MIDDLE, r - 1.6) } else { ratio(&FAR, r - 5.0) }
}

/// Evaluates a rational function by Horner's rule.
fn ratio((top, bottom): &Rational, x: f64) -> f64 {
    let horner =
        |coefficients: &[f64; 8]| coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c);
    horner(top) / horner(bottom)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1/√(2π) at zero; e⁻² of it at 2 (mpmath: 0.05399096651318805195).
    #[test]
    fn density_has_known_values() {
        assert_eq!(density(0.0), PEAK);
        assert!((density(2.0) / 0.053_990_966_513_188_05 - 1.0).abs() < 4e-16);
        assert_eq!(density(f64::INFINITY), 0.0);
        assert_eq!(density(-40.0), 0.0);
    }

    #[test]
    fn refuses_what_is_no_probability() {
        for p in [f64::NAN, 0.0, 1.0, -0.1, 1.1, f64::INFINITY] {
            assert_eq!(quantile(p), None);
            assert_eq!(upper_quantile(p), None);
            assert_eq!(two_sided_factor(p), None);
        }
    }

    #[test]
    fn takes_the_ends_of_the_range() {
        assert_eq!(cdf(f64::INFINITY), 1.0);
        assert_eq!(survival(f64::INFINITY), 0.0);
        assert_eq!(survival(f64::NEG_INFINITY), 1.0);
        assert_eq!(between(f64::NEG_INFINITY, f64::INFINITY), 1.0);
        assert_eq!(between(f64::NEG_INFINITY, 0.0), 0.5);
        assert_eq!(between(1.0, 1.0), 0.0);
        assert_eq!(between(2.0, 1.0), 0.0);
        assert_eq!(quantile(0.5), Some(0.0));
        assert!(cdf(f64::NAN).is_nan() && between(f64::NAN, 1.0).is_nan());
    }

    /// The rational functions meet at their limits, d = 0.425 and √(−ln q) = 5: over a step of 2e-6 in q
    /// the fall is that of the density, where a jump of 4e-14 of x would show.
    #[test]
    fn pieces_of_the_quantile_meet() {
        for q in [0.075, libm::exp(-25.0)] {
            let (below, above) = (upper_quantile(q * 0.999_999), upper_quantile(q * 1.000_001));
            let fall = (below.unwrap() - above.unwrap()) * density(upper_quantile(q).unwrap());
            assert!((fall / (2e-6 * q) - 1.0).abs() < 1e-6, "at {q}: {fall:e}");
        }
    }
}
