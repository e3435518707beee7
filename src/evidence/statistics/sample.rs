//! Readings as whole numbers over one denominator, and the roots of exact numbers.
//!
//! The common denominator of decimals is a power of ten: sums of products are sums of integers, and
//! no fraction is reduced on the way. Integers that fit into 64 bits are multiplied and added as such.

use super::Trouble;
use crate::quantity::Exact;
use num_bigint::{BigInt, BigUint};
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// The largest number below 1.
const BELOW_ONE: f64 = 1.0 - f64::EPSILON / 2.0;
/// Bits of a whole root: more than two times those of an `f64`, so that it is rounded but once.
const ROOT_BITS: u64 = 68;

/// Values w·πᵏ/d with whole numbers w.
#[derive(Debug, Clone)]
pub(super) struct Sample {
    whole: Vec<BigInt>,
    /// The same, where all of them fit.
    small: Option<Vec<i64>>,
    denominator: BigInt,
    pi_power: i32,
}

impl Sample {
    /// Brings values to a common denominator.
    pub(super) fn new(values: &[Exact]) -> Result<Sample, Trouble> {
        let pi_power = values.iter().find(|it| !it.is_zero()).map_or(0, Exact::pi_power);
        let other = |it: &Exact| !it.is_zero() && it.pi_power() != pi_power;
        if let Some(index) = values.iter().position(other) {
            return Err(Trouble::NoCommonUnit(index));
        }
        Ok(Sample { pi_power, ..Sample::of(values.iter().map(Exact::ratio)) })
    }

    /// Brings rational numbers to a common denominator.
    pub(super) fn of<'a>(ratios: impl Iterator<Item = &'a BigRational> + Clone) -> Sample {
        let denominator = ratios.clone().fold(BigInt::one(), |common, it| {
            if (&common % it.denom()).is_zero() {
                return common;
            }
            // lcm(a, b) = a · (b / gcd(a, b)), the latter being what a/b is reduced to.
            let left = BigRational::new(common.clone(), it.denom().clone());
            common * left.denom()
        });
        let whole = ratios.map(|it| match *it.denom() == denominator {
            true => it.numer().clone(),
            false => it.numer() * (&denominator / it.denom()),
        });
        Sample::over(whole.collect(), denominator, 0)
    }

    /// Returns the values `whole`/`denominator`·πᵏ.
    pub(super) fn over(whole: Vec<BigInt>, denominator: BigInt, pi_power: i32) -> Sample {
        let small = whole.iter().map(BigInt::to_i64).collect();
        Sample { whole, small, denominator, pi_power }
    }

    /// Returns how many values there are.
    pub(super) fn len(&self) -> usize {
        self.whole.len()
    }

    /// Returns k, the power of π that all values have.
    pub(super) fn pi_power(&self) -> i32 {
        self.pi_power
    }

    /// Returns the products of values at the same place.
    pub(super) fn times(&self, other: &Sample) -> Sample {
        let whole = self.whole.iter().zip(&other.whole).map(|(a, b)| a * b).collect();
        let denominator = &self.denominator * &other.denominator;
        Sample::over(whole, denominator, self.pi_power + other.pi_power)
    }

    /// Returns the sum of the products of values at the same place.
    pub(super) fn dot(&self, other: &Sample) -> BigRational {
        let small = self.small.as_ref().zip(other.small.as_ref()).and_then(|(a, b)| {
            let mut pairs = a.iter().zip(b).map(|(a, b)| i128::from(*a) * i128::from(*b));
            pairs.try_fold(0_i128, i128::checked_add)
        });
        let sum = match small {
            Some(sum) => BigInt::from(sum),
            None => self.whole.iter().zip(&other.whole).map(|(a, b)| a * b).sum(),
        };
        BigRational::new(sum, &self.denominator * &other.denominator)
    }

    /// Returns the rational factor of the sum.
    pub(super) fn sum(&self) -> BigRational {
        let sum = match &self.small {
            Some(small) => BigInt::from(small.iter().map(|it| i128::from(*it)).sum::<i128>()),
            None => self.whole.iter().sum(),
        };
        BigRational::new(sum, self.denominator.clone())
    }

    /// Returns the whole numbers and their common denominator.
    pub(super) fn whole(&self) -> (&[BigInt], &BigInt) {
        (&self.whole, &self.denominator)
    }

    /// Returns the rational factor of S_xy, the sum of the products of deviations from the means.
    pub(super) fn cross(&self, other: &Sample) -> BigRational {
        if self.whole.is_empty() {
            return BigRational::zero();
        }
        self.dot(other) - self.sum() * other.sum() / count(self.len())
    }
}

/// Returns a number of things as a rational.
pub(super) fn count(n: usize) -> BigRational {
    BigRational::from_integer(BigInt::from(n))
}

/// Returns the `f64` nearest to √`square`·πᵏ; `square` ≥ 0. Correctly rounded for k = 0.
pub(super) fn root(square: &BigRational, pi_power: i32) -> f64 {
    let (above, below) = (square.numer().magnitude(), square.denom().magnitude());
    let missing = (2 * ROOT_BITS + below.bits()).saturating_sub(above.bits());
    let half = missing.div_ceil(2);
    let scaled = above << (2 * half);
    let quotient = &scaled / below;
    let whole = quotient.sqrt();
    let exact = &whole * &whole * below == scaled;
    // Between two whole numbers the half stands for whatever follows: it decides no rounding.
    let twice = (whole << 1_u8) + BigUint::from(u8::from(!exact));
    let ratio = BigRational::new(twice.into(), BigInt::one() << (half + 1));
    Exact::with_pi(ratio, pi_power).to_f64()
}

/// Returns S_xy/√(S_xx S_yy), rounded once, and 0 where x or y does not vary. It is ±1 where, and only
/// where, the data lie on a line exactly.
pub(super) fn correlation(cross: &BigRational, xx: &BigRational, yy: &BigRational) -> f64 {
    if xx.is_zero() || yy.is_zero() {
        return 0.0;
    }
    let square = cross * cross / (xx * yy);
    let magnitude = if square.is_one() { 1.0 } else { root(&square, 0).min(BELOW_ONE) };
    if cross.is_negative() { -magnitude } else { magnitude }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ratio(above: i64, below: i64) -> BigRational {
        BigRational::new(above.into(), below.into())
    }

    /// Squares of doubles, by hand; the root of 2 as std has it; 1e-400 and 1e400 are no doubles.
    #[test]
    fn roots_of_squares_are_exact_and_need_no_square_in_range() {
        assert_eq!(root(&ratio(9, 4), 0), 1.5);
        assert_eq!(root(&ratio(0, 1), 3), 0.0);
        assert_eq!(root(&ratio(2, 1), 0), std::f64::consts::SQRT_2);
        assert_eq!(root(&ratio(1, 4), 1), std::f64::consts::FRAC_PI_2);
        let ten = BigRational::from_integer(10.into());
        assert_eq!(root(&ten.pow(400), 0), 1e200);
        assert_eq!(root(&ten.pow(-400), 0), 1e-200);
    }

    #[test]
    fn values_with_different_powers_of_pi_have_no_common_unit() {
        let pi = Exact::with_pi(ratio(1, 180), 1);
        let values = [Exact::zero(), pi.clone(), Exact::from_integer(2), pi.clone()];
        assert_eq!(Sample::new(&values).unwrap_err(), Trouble::NoCommonUnit(2));
        let sum = Sample::new(&[Exact::zero(), pi.clone(), pi]).unwrap();
        assert_eq!((sum.sum(), sum.pi_power()), (ratio(1, 90), 1));
    }

    /// By hand: (2⁶³ − 1)² fits into 127 bits, two of them just so, three of them do not.
    #[test]
    fn sums_beyond_128_bits_are_exact() {
        let large = BigRational::from_integer(i64::MAX.into());
        for n in 1..5_usize {
            let sample = Sample::of(vec![large.clone(); n].iter());
            assert_eq!(sample.dot(&sample), &large * &large * count(n));
            assert_eq!(sample.sum(), &large * count(n));
        }
    }

    proptest! {
        /// IEEE 754 square roots are correctly rounded, so both ways agree to the last bit.
        #[test]
        fn the_root_of_a_double_is_that_of_the_machine(value in prop::num::f64::POSITIVE) {
            prop_assume!(value.is_finite());
            let exact = BigRational::from_float(value).unwrap();
            prop_assert_eq!(root(&exact, 0), value.sqrt());
        }

        /// Sums of fractions, one by one, against those over the common denominator.
        #[test]
        fn the_common_denominator_changes_no_sum(
            values in prop::collection::vec((-999..999_i64, 1..60_i64), 1..9)
        ) {
            let ratios: Vec<BigRational> = values.iter().map(|it| ratio(it.0, it.1)).collect();
            let sample = Sample::of(ratios.iter());
            prop_assert_eq!(sample.sum(), ratios.iter().sum::<BigRational>());
            let squares: BigRational = ratios.iter().map(|it| it * it).sum();
            prop_assert_eq!(&sample.times(&sample).sum(), &squares);
            prop_assert_eq!(&sample.dot(&sample), &squares);
            let (whole, below) = sample.whole();
            let back = whole.iter().map(|it| BigRational::new(it.clone(), below.clone()));
            prop_assert_eq!(back.collect::<Vec<_>>(), ratios);
        }
    }
}
