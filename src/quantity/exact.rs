//! Exact numbers q·πᵏ with a rational q: what decides whether a reading lies on a limit.
//!
//! Pure arithmetic: no text, no units. π occurs because a degree is π/180; sums of different powers
//! of π are not representable and are `None`, never an approximation.

use num_bigint::{BigInt, BigUint, Sign};
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};
use std::cmp::Ordering;

/// The first 100 decimals of π (OEIS A000796), as an integer over 10¹⁰⁰.
const PI_DIGITS: &str = "31415926535897932384626433832795028841971693993751\
                         058209749445923078164062862089986280348253421170679";
/// How many of them stand after the point.
const PI_PLACES: u32 = 100;
/// The largest exponent that [`Exact::powi`] takes.
const LARGEST_POWER: i32 = 64;
/// The largest power of π that [`Exact::powi`] returns; keeps sums of powers far from overflow.
const LARGEST_PI_POWER: i32 = 1024;
/// The largest size of a numerator or denominator that [`Exact::powi`] returns, in bits.
const LARGEST_BITS: u64 = 200_000;

/// An exact number q·πᵏ; zero always has k = 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exact {
    ratio: BigRational,
    pi_power: i32,
}

impl Exact {
    /// Returns q·π⁰.
    pub fn new(ratio: BigRational) -> Exact {
        Exact { ratio, pi_power: 0 }
    }

    /// Returns q·πᵏ.
    pub fn with_pi(ratio: BigRational, pi_power: i32) -> Exact {
        let pi_power = if ratio.is_zero() { 0 } else { pi_power };
        Exact { ratio, pi_power }
    }

    /// Returns the integer `n`.
    pub fn from_integer(n: i64) -> Exact {
        Exact::new(BigRational::from_integer(n.into()))
    }

    /// Returns 0.
    pub fn zero() -> Exact {
        Exact::new(BigRational::zero())
    }

    /// Whether it is 0.
    pub fn is_zero(&self) -> bool {
        self.ratio.is_zero()
    }

    /// Whether it is below 0.
    pub fn is_negative(&self) -> bool {
        self.ratio.is_negative()
    }

    /// Returns the sum; `None` where the powers of π differ and neither is zero.
    pub fn add(&self, other: &Exact) -> Option<Exact> {
        if self.is_zero() {
            return Some(other.clone());
        }
        if other.is_zero() {
            return Some(self.clone());
        }
        let same = self.pi_power == other.pi_power;
        same.then(|| Exact::with_pi(&self.ratio + &other.ratio, self.pi_power))
    }

    /// Returns the difference; `None` as for the sum.
    pub fn sub(&self, other: &Exact) -> Option<Exact> {
        self.add(&other.neg())
    }

    /// Returns the product.
    pub fn mul(&self, other: &Exact) -> Exact {
        // Nothing and one are common, and a product of rationals looks for common factors twice.
        if self.is_zero() || other.is_zero() {
            return Exact::zero();
        }
        let pi_power = self.pi_power.saturating_add(other.pi_power);
        match (self.ratio.is_one(), other.ratio.is_one()) {
            (true, _) => Exact::with_pi(other.ratio.clone(), pi_power),
            (_, true) => Exact::with_pi(self.ratio.clone(), pi_power),
            _ => Exact::with_pi(&self.ratio * &other.ratio, pi_power),
        }
    }

    /// Returns the quotient; `None` for division by zero.
    pub fn div(&self, other: &Exact) -> Option<Exact> {
        if other.is_zero() {
            return None;
        }
        if self.is_zero() || (other.pi_power == 0 && other.ratio.is_one()) {
            return Some(self.clone());
        }
        let pi_power = self.pi_power.saturating_sub(other.pi_power);
        Some(Exact::with_pi(&self.ratio / &other.ratio, pi_power))
    }

    /// Returns the opposite number.
    pub fn neg(&self) -> Exact {
        Exact { ratio: -&self.ratio, pi_power: self.pi_power }
    }

    /// Returns the absolute value.
    pub fn abs(&self) -> Exact {
        Exact { ratio: self.ratio.abs(), pi_power: self.pi_power }
    }

    /// Returns the integer power; `None` for 0 to a negative power, |n| > 64, or a result of more
    /// than 200 000 bits or beyond π to the 1024.
    pub fn powi(&self, n: i32) -> Option<Exact> {
        if n.unsigned_abs() > LARGEST_POWER.unsigned_abs() || (self.is_zero() && n < 0) {
            return None;
        }
        let bits = self.ratio.numer().bits().max(self.ratio.denom().bits());
        let pi_power = self.pi_power.checked_mul(n)?;
        if bits.checked_mul(n.unsigned_abs().into())? > LARGEST_BITS
            || pi_power.unsigned_abs() > LARGEST_PI_POWER.unsigned_abs()
        {
            return None;
        }
        Some(Exact::with_pi(self.ratio.pow(n), pi_power))
    }

    /// Compares; `None` where the powers of π differ (and the signs do not decide).
    pub fn compare(&self, other: &Exact) -> Option<Ordering> {
        let sign = |it: &Exact| if it.is_zero() { 0 } else { 1 - 2 * i8::from(it.is_negative()) };
        if self.pi_power == other.pi_power {
            return Some(self.ratio.cmp(&other.ratio));
        }
        let by_sign = sign(self).cmp(&sign(other));
        (by_sign != Ordering::Equal).then_some(by_sign)
    }

    /// Returns the nearest `f64`, ties to even; infinite beyond its range.
    ///
    /// Correctly rounded for k = 0. Otherwise π is taken with 100 decimals, so that the result is the
    /// nearest one unless the value lies within |k|·10⁻¹⁰⁰ of the middle between two.
    pub fn to_f64(&self) -> f64 {
        let (numerator, denominator) = (self.ratio.numer(), self.ratio.denom().magnitude());
        let magnitude = if self.pi_power == 0 {
            nearest(numerator.magnitude(), denominator)
        } else {
            let pi = PI_DIGITS.parse::<BigUint>().expect("the constant consists of digits");
            let (pi, one) = (pi, BigUint::from(10_u8).pow(PI_PLACES));
            let power = self.pi_power.unsigned_abs();
            let (above, below) = if self.pi_power > 0 { (pi, one) } else { (one, pi) };
            nearest(&(numerator.magnitude() * above.pow(power)), &(denominator * below.pow(power)))
        };
        if numerator.sign() == Sign::Minus && magnitude > 0.0 { -magnitude } else { magnitude }
    }

    /// Returns the whole number, where it is one that fits.
    pub fn to_integer(&self) -> Option<i64> {
        let whole = self.pi_power == 0 && self.ratio.is_integer();
        if whole { self.ratio.numer().to_i64() } else { None }
    }

    /// Returns floor(self / step) where both have the same power of π and the result fits.
    pub fn floor_div(&self, step: &Exact) -> Option<i64> {
        let quotient = self.div(step)?;
        if quotient.pi_power == 0 { quotient.ratio.floor().numer().to_i64() } else { None }
    }

    /// Returns the rational factor q.
    pub fn ratio(&self) -> &BigRational {
        &self.ratio
    }

    /// Returns k.
    pub fn pi_power(&self) -> i32 {
        self.pi_power
    }
}

/// Returns 10^`exponent`.
pub(super) fn power_of_ten(exponent: i32) -> BigRational {
    let power = BigInt::from(10).pow(exponent.unsigned_abs());
    if exponent < 0 {
        BigRational::new_raw(BigInt::one(), power)
    } else {
        BigRational::from_integer(power)
    }
}

/// Returns the `f64` nearest to `numerator`/`denominator`, ties to even; `denominator` > 0.
///
/// `quotient`·2^-`shift` with 64 or 65 bits and a sticky remainder is rounded once, to 53 bits or,
/// below the normal range, to a multiple of 2^-1074 (IEEE 754-2019, 3.4 and 4.3.1).
fn nearest(numerator: &BigUint, denominator: &BigUint) -> f64 {
    if numerator.is_zero() {
        return 0.0;
    }
    // Two integers below 2^53 are doubles, and one division rounds once.
    let small = |it: &BigUint| it.to_u64().filter(|it| *it <= 1 << f64::MANTISSA_DIGITS);
    if let (Some(above), Some(below)) = (small(numerator), small(denominator)) {
        return above as f64 / below as f64;
    }
    // A size in bits is below 2^63 in any memory, and both are far below in any text read here.
    let bits = |it: &BigUint| i64::try_from(it.bits()).unwrap_or(i64::MAX / 4);
    let shift = 64 - (bits(numerator) - bits(denominator));
    let (above, below) = if shift >= 0 {
        (numerator << shift.unsigned_abs(), denominator.clone())
    } else {
        (numerator.clone(), denominator << shift.unsigned_abs())
    };
    let quotient = &above / &below;
    let sticky = &quotient * &below != above;
    let quotient = quotient.to_u128().expect("it has at most 65 bits by the choice of the shift");
    let top = 127 - i64::from(quotient.leading_zeros()) - shift;
    if top > 1023 {
        return f64::INFINITY;
    }
    let last = (top - 52).max(-1074);
    let drop = last + shift;
    if drop > 100 {
        return 0.0;
    }
    let mantissa = quotient >> drop;
    let (rest, half) = (quotient - (mantissa << drop), 1_u128 << (drop - 1));
    let up = rest > half || (rest == half && (sticky || mantissa % 2 == 1));
    let mantissa = (mantissa + u128::from(up)).to_u64().expect("at most 2^53");
    // The encoding is continuous: a carry out of the mantissa goes into the exponent.
    let exponent = (last + 1074).unsigned_abs();
    f64::from_bits((exponent << 52) + mantissa)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ratio(numerator: i64, denominator: i64) -> BigRational {
        BigRational::new(numerator.into(), denominator.into())
    }

    fn decimal(digits: i64, exponent: i32) -> Exact {
        Exact::new(BigRational::from_integer(digits.into()) * power_of_ten(exponent))
    }

    fn pi(numerator: i64, denominator: i64, power: i32) -> Exact {
        Exact::with_pi(ratio(numerator, denominator), power)
    }

    #[test]
    fn zero_loses_its_power_of_pi() {
        assert_eq!(pi(0, 1, 3), Exact::zero());
        assert_eq!(pi(2, 1, 1).sub(&pi(2, 1, 1)), Some(Exact::zero()));
        assert_eq!(pi(2, 1, 1).mul(&Exact::zero()), Exact::zero());
    }

    #[test]
    fn adds_only_like_powers_of_pi_but_zero_to_anything() {
        assert_eq!(pi(1, 2, 1).add(&pi(1, 3, 1)), Some(pi(5, 6, 1)));
        assert_eq!(pi(1, 2, 1).add(&pi(1, 3, 0)), None);
        assert_eq!(pi(1, 2, 1).add(&Exact::zero()), Some(pi(1, 2, 1)));
        assert_eq!(Exact::zero().sub(&pi(1, 2, 1)), Some(pi(-1, 2, 1)));
    }

    #[test]
    fn refuses_division_by_zero_and_unreasonable_powers() {
        assert_eq!(Exact::from_integer(1).div(&Exact::zero()), None);
        assert_eq!(Exact::from_integer(1).floor_div(&Exact::zero()), None);
        assert_eq!(Exact::zero().powi(-1), None);
        assert_eq!(Exact::from_integer(2).powi(65), None);
        assert_eq!(Exact::from_integer(2).powi(i32::MIN), None);
        let huge = Exact::from_integer(3).powi(64).and_then(|it| it.powi(64));
        assert_eq!(huge.and_then(|it| it.powi(64)), None);
        assert_eq!(Exact::zero().powi(0), Some(Exact::from_integer(1)));
        assert_eq!(pi(2, 3, 1).powi(-2), Some(pi(9, 4, -2)));
    }

    #[test]
    fn compares_different_powers_of_pi_by_sign_alone() {
        assert_eq!(pi(1, 1, 1).compare(&pi(3, 1, 0)), None);
        assert_eq!(pi(-1, 1, 1).compare(&pi(3, 1, 0)), Some(Ordering::Less));
        assert_eq!(pi(1, 1, 1).compare(&Exact::zero()), Some(Ordering::Greater));
        assert_eq!(pi(1, 2, 1).compare(&pi(1, 3, 1)), Some(Ordering::Greater));
        assert_eq!(decimal(3, -1).compare(&decimal(30, -2)), Some(Ordering::Equal));
    }

    #[test]
    fn floor_division_goes_down_for_negative_numbers() {
        assert_eq!(decimal(-5, -1).floor_div(&decimal(2, -1)), Some(-3));
        assert_eq!(decimal(6, -1).floor_div(&decimal(2, -1)), Some(3));
        assert_eq!(decimal(1, 30).floor_div(&decimal(1, 0)), None);
        assert_eq!(pi(7, 1, 1).floor_div(&pi(2, 1, 1)), Some(3));
        assert_eq!(pi(7, 1, 1).floor_div(&pi(2, 1, 0)), None);
    }

    #[test]
    fn gives_whole_numbers_only_where_they_are() {
        assert_eq!(decimal(25, -1).to_integer(), None);
        assert_eq!(decimal(250, -1).to_integer(), Some(25));
        assert_eq!(pi(1, 1, 1).to_integer(), None);
        assert_eq!(decimal(1, 40).to_integer(), None);
    }

    /// The neighbours of π and π/180 as `f64` are std's constants (IEEE 754 nearest values of π).
    #[test]
    fn rounds_multiples_of_pi_to_the_nearest_double() {
        assert_eq!(pi(1, 1, 1).to_f64(), std::f64::consts::PI);
        assert_eq!(pi(1, 2, 1).to_f64(), std::f64::consts::FRAC_PI_2);
        assert_eq!(pi(1, 1, -1).to_f64(), std::f64::consts::FRAC_1_PI);
        assert_eq!(pi(-1, 3, 1).to_f64(), -std::f64::consts::FRAC_PI_3);
    }

    /// Ties and range ends of IEEE 754 binary64: 2^53 + 1 is a tie, the largest double is
    /// (2 − 2^-52)·2^1023, the smallest 2^-1074; half of it is a tie with 0.
    #[test]
    fn rounds_ties_to_even_and_saturates_at_the_ends_of_the_range() {
        assert_eq!(Exact::from_integer((1 << 53) + 1).to_f64(), 9_007_199_254_740_992.0);
        assert_eq!(Exact::from_integer((1 << 53) + 3).to_f64(), 9_007_199_254_740_996.0);
        let half = Exact::new(ratio(1, 2));
        let power = |n: usize| Exact::new(BigRational::new(BigInt::one(), BigInt::one() << n));
        assert_eq!(power(1074).to_f64(), f64::from_bits(1));
        assert_eq!(power(1075).to_f64(), 0.0);
        assert_eq!(power(1075).add(&power(1200)).map(|it| it.to_f64()), Some(f64::from_bits(1)));
        assert_eq!(power(1022).mul(&half).to_f64(), f64::MIN_POSITIVE / 2.0);
        assert_eq!(decimal(18, 307).to_f64(), f64::INFINITY);
        assert_eq!(decimal(-1, 309).to_f64(), f64::NEG_INFINITY);
        assert_eq!(Exact::new(power(1).ratio().pow(-1023)).to_f64() * 2.0, f64::INFINITY);
    }

    proptest! {
        /// Rust's own parser rounds decimals correctly (documented at `f64::from_str`).
        #[test]
        fn agrees_with_the_decimal_parser_of_the_language(digits: i64, exponent in -345..310_i32) {
            let expected: f64 = format!("{digits}e{exponent}").parse().unwrap();
            prop_assert_eq!(decimal(digits, exponent).to_f64().to_bits(), (expected + 0.0).to_bits());
        }

        /// The same close to and below the smallest normal double.
        #[test]
        fn agrees_with_it_among_subnormal_numbers(digits in 1..i64::MAX, exponent in -345..-320_i32) {
            let expected: f64 = format!("{digits}e{exponent}").parse().unwrap();
            prop_assert_eq!(decimal(digits, exponent).to_f64(), expected);
        }

        /// Every double is a fraction with a power of two, and comes back from it.
        #[test]
        fn every_double_comes_back(value in prop::num::f64::NORMAL | prop::num::f64::SUBNORMAL) {
            let exact = Exact::new(BigRational::from_float(value).unwrap());
            prop_assert_eq!(exact.to_f64(), value);
        }

        /// The middle between two neighbours goes to the even one, a trifle beside it to the nearer.
        #[test]
        fn the_middle_between_neighbours_goes_to_the_even_one(bits in 1..0x7fe0_0000_0000_0000_u64) {
            let (low, high) = (f64::from_bits(bits), f64::from_bits(bits + 1));
            let exact = |value| BigRational::from_float(value).unwrap();
            let middle = (exact(low) + exact(high)) / BigInt::from(2);
            let even = if bits % 2 == 0 { low } else { high };
            prop_assert_eq!(Exact::new(middle.clone()).to_f64(), even);
            let trifle = &middle * power_of_ten(-60);
            prop_assert_eq!(Exact::new(&middle + &trifle).to_f64(), high);
            prop_assert_eq!(Exact::new(&middle - &trifle).to_f64(), low);
        }
    }
}
