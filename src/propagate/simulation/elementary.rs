//! Logarithm, exponential, sine and cosine without branches or tables, for the compiler to vectorise.
//!
//! Plain IEEE operations in a fixed order, no fused ones: the same bits with any vector instructions.
//! Each is for the range that the samplers need, and as good there as `libm` to two units of the last
//! place (the tests measure it).
//!
//! Sources: fdlibm's logarithm (argument reduction and coefficients, as in the crate `libm`); Taylor's
//! series; polynomials by `tests/scripts/simulation_polynomials.py`.

/// ln 2 in two parts, the first with room for a product with a small integer.
const LN_2: (f64, f64) = (6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10);

/// Returns ln u for 0 < u ≤ 1 (normal numbers).
#[inline(always)]
pub(super) fn ln(u: f64) -> f64 {
    // u = z·2^k with z between √½ and √2; 64 keeps k positive for a logical shift.
    let bits = u.to_bits();
    let above = bits.wrapping_sub(ROOT_HALF).wrapping_add(64 << 52);
    let k = f64::from_bits((above >> 52) | TWO_52) - (4_503_599_627_370_496.0 + 64.0);
    let z = f64::from_bits((above & MANTISSA).wrapping_add(ROOT_HALF));
    let f = z - 1.0;
    let s = f / (2.0 + f);
    let square = s * s;
    let fourth = square * square;
    let even = fourth
        * (0.399_999_999_994_094_2
            + fourth * (0.222_221_984_321_497_84 + fourth * 0.153_138_376_992_093_73));
    let odd = square
        * (0.666_666_666_666_673_5
            + fourth
                * (0.285_714_287_436_623_9
                    + fourth * (0.181_835_721_616_180_5 + fourth * 0.147_981_986_051_165_86)));
    let half = 0.5 * f * f;
    s * (half + (odd + even)) + k * LN_2.1 - half + f + k * LN_2.0
}

/// The bits of √½, of 2⁵² and of a mantissa.
const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
const TWO_52: u64 = 0x4330_0000_0000_0000;
const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;

/// Returns e^y - 1 for 0 ≤ y ≤ 600, with full relative accuracy near 0.
#[inline(always)]
pub(super) fn expm1(y: f64) -> f64 {
    // y = k·ln 2 + r with |r| ≤ ½ ln 2; adding 1.5·2⁵² leaves k in the lowest bits.
    let shifted = y * core::f64::consts::LOG2_E + 6_755_399_441_055_744.0;
    let k = shifted - 6_755_399_441_055_744.0;
    let r = (y - k * LN_2.0) - k * LN_2.1;
    let scale = f64::from_bits((shifted.to_bits() << 52).wrapping_add(0x3ff0_0000_0000_0000));
    let square = r * r;
    scale * (r + square * pairwise(&FACTORIALS, r, square)) + (scale - 1.0)
}

/// 1/13! to 1/2!.
const FACTORIALS: [f64; 12] = [
    1.0 / 6_227_020_800.0,
    1.0 / 479_001_600.0,
    1.0 / 39_916_800.0,
    1.0 / 3_628_800.0,
    1.0 / 362_880.0,
    1.0 / 40_320.0,
    1.0 / 5_040.0,
    1.0 / 720.0,
    1.0 / 120.0,
    1.0 / 24.0,
    1.0 / 6.0,
    1.0 / 2.0,
];

/// Returns sin πw for |w| ≤ ½.
#[inline(always)]
pub(super) fn sin_pi(w: f64) -> f64 {
    w * polynomial(&SINE_HALF, w * w)
}

/// Returns sin πw and cos πw for |w| ≤ ¼.
#[inline(always)]
pub(super) fn sin_cos_pi(w: f64) -> (f64, f64) {
    let square = w * w;
    (w * polynomial(&SINE_QUARTER, square), polynomial(&COSINE_QUARTER, square))
}

/// Returns a polynomial of degree 11, highest power first, by products that can be taken side by side:
/// the processor need not wait for each before it begins the next.
#[inline(always)]
fn pairwise(c: &[f64; 12], x: f64, square: f64) -> f64 {
    let fourth = square * square;
    let high = (c[0] * x + c[1]) * square + (c[2] * x + c[3]);
    let middle = (c[4] * x + c[5]) * square + (c[6] * x + c[7]);
    let low = (c[8] * x + c[9]) * square + (c[10] * x + c[11]);
    (high * fourth + middle) * fourth + low
}

#[inline(always)]
fn polynomial<const N: usize>(coefficients: &[f64; N], z: f64) -> f64 {
    let mut sum = coefficients[0];
    for coefficient in &coefficients[1..] {
        sum = sum * z + coefficient;
    }
    sum
}

/// sin(πw)/w in w², |w| ≤ ½, highest power first; error below 1e-18.
const SINE_HALF: [f64; 9] = [
    7.697_826_768_224_191e-7,
    -2.190_349_707_462_601_8e-5,
    4.662_998_161_898_394e-4,
    -7.370_430_505_916_944e-3,
    8.214_588_657_310_29e-2,
    -5.992_645_293_189_447e-1,
    2.550_164_039_877_300_7,
    -5.167_712_780_049_969,
    core::f64::consts::PI,
];

/// sin(πw)/w in w², |w| ≤ ¼, highest power first; error below 1e-17.
const SINE_QUARTER: [f64; 7] = [
    4.615_318_553_835_81e-4,
    -7.370_021_586_907_771e-3,
    8.214_586_918_000_175e-2,
    -5.992_645_289_396_449e-1,
    2.550_164_039_873_376_3,
    -5.167_712_780_049_954,
    core::f64::consts::PI,
];

/// cos πw in w², |w| ≤ ¼, highest power first; error below 4e-20.
const COSINE_QUARTER: [f64; 8] = [
    -1.035_674_725_519_949_9e-4,
    1.929_465_744_080_004_2e-3,
    -2.580_688_565_295_130_7e-2,
    2.353_306_301_908_878_7e-1,
    -1.335_262_768_851_917_4,
    4.058_712_126_416_747,
    -4.934_802_200_544_679,
    1.0,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers spread over many decades, from 2⁻⁵³ to 1 - 2⁻⁵³, and close to 1.
    fn units() -> impl Iterator<Item = f64> {
        let small = (0..200_000).map(|i| libm::pow(2.0, -53.0 * f64::from(i) / 200_000.0));
        let even = (1..200_000).map(|i| f64::from(i) / 200_000.0);
        let near = (1..54).map(|i| 1.0 - libm::pow(2.0, -f64::from(i)));
        small.chain(even).chain(near).filter(|u| *u < 1.0)
    }

    /// It is fdlibm's, as `libm`'s is (below one unit of the last place): the same to the bit.
    #[test]
    fn logarithm_agrees_with_libm() {
        for u in units() {
            assert_eq!(ln(u), libm::log(u), "{u:e}");
        }
    }

    /// From 1e-17, where the terms of large ν are, to 600; measured 2.3e-16.
    #[test]
    fn exponential_agrees_with_libm() {
        let arguments = (0..400_000).map(|i| libm::pow(10.0, -17.0 + 19.77 * f64::from(i) / 4e5));
        let error = |y: f64| (expm1(y) / libm::expm1(y) - 1.0).abs();
        let worst = arguments.map(error).fold(0.0, f64::max);
        assert!(worst < 8.8e-16, "{worst:e}");
        assert_eq!(expm1(0.0), 0.0);
    }

    /// Against `libm` at the product πw, whose rounding is taken off by the slope; measured 2.3e-16.
    #[test]
    fn sine_and_cosine_agree_with_libm() {
        use core::f64::consts::PI;
        // π·w = high + low, w having 26 bits or fewer and π in two parts of which the first has 27.
        let (first, second) =
            (f64::from_bits(PI.to_bits() & !0x3ff_ffff), 1.224_646_799_147_353e-16);
        let rest = PI - first + second;
        for i in -100_000_i32..=100_000 {
            let w = f64::from(i) / 262_144.0;
            let (high, low) = (first * w, rest * w);
            let sine = libm::sin(high) + low * libm::cos(high);
            let cosine = libm::cos(high) - low * libm::sin(high);
            assert!((sin_pi(w) - sine).abs() < 7e-16, "{w}");
            if w.abs() <= 0.25 {
                let (s, c) = sin_cos_pi(w);
                assert!((s - sine).abs() < 4e-16 && (c - cosine).abs() < 4e-16, "{w}");
            }
        }
    }
}
