//! Readings of one quantity to mean, experimental standard deviation and lag-1 autocorrelation.
//!
//! Sources: JCGM 100:2008, 4.2.1 to 4.2.3; the lag-1 coefficient as NIST StRD certifies it.

use super::Trouble;
use super::sample::{Sample, count, root};
use crate::quantity::Exact;
use num_rational::BigRational;
use num_traits::Zero;

/// Number, mean and scatter of readings of the same quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Moments {
    /// How many readings there are, at least two.
    pub n: usize,
    /// Their mean.
    pub mean: Exact,
    /// The rational factor of their variance s², with twice the power of π of the readings.
    variance: BigRational,
    pi_power: i32,
}

/// Returns the moments of readings in any order.
///
/// # Errors
///
/// [`Trouble::TooFew`] for fewer than two, [`Trouble::NoCommonUnit`].
///
/// Method: M1.
pub fn moments(readings: &[Exact]) -> Result<Moments, Trouble> {
    let sample = Sample::new(readings)?;
    let n = sample.len();
    if n < 2 {
        return Err(Trouble::TooFew { found: n, needed: 2 });
    }
    let pi_power = sample.pi_power();
    let mean = Exact::with_pi(sample.sum() / count(n), pi_power);
    Ok(Moments { n, mean, variance: sample.cross(&sample) / count(n - 1), pi_power })
}

impl Moments {
    /// Returns the experimental standard deviation s of a single reading, rounded once.
    pub fn s(&self) -> f64 {
        self.s_of_mean(1)
    }

    /// Returns s/√m, the scatter of a mean of `m` readings, rounded once; infinite for m = 0.
    pub fn s_of_mean(&self, m: usize) -> f64 {
        if m == 0 { f64::INFINITY } else { root(&(&self.variance / count(m)), self.pi_power) }
    }

    /// Returns the degrees of freedom, n − 1.
    pub fn dof(&self) -> f64 {
        self.n as f64 - 1.0
    }
}

/// Returns Σ(x_i − x̄)(x_{i+1} − x̄)/Σ(x_i − x̄)² of readings in their order: near 1 where they drift.
/// `None` where there are fewer than two, all are equal, or they have no common unit.
///
/// Method: M51.
pub fn lag1(readings: &[Exact]) -> Option<f64> {
    let sample = Sample::new(readings).ok().filter(|it| it.len() > 1)?;
    let squares = sample.cross(&sample);
    if squares.is_zero() {
        return None;
    }
    let n = sample.len();
    let mean = sample.sum() / count(n);
    let part = |range: std::ops::Range<usize>| Sample::new(&readings[range]).ok();
    let (former, latter) = (part(0..n - 1)?, part(1..n)?);
    let products =
        former.dot(&latter) - &mean * (former.sum() + latter.sum()) + count(n - 1) * &mean * &mean;
    Some(Exact::new(products / squares).to_f64())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whole(values: &[i64]) -> Vec<Exact> {
        values.iter().map(|it| Exact::from_integer(*it)).collect()
    }

    /// By hand: 1, 2, 3, 6 have the mean 3 and the squares 4 + 1 + 0 + 9 = 14, s² = 14/3.
    #[test]
    fn moments_follow_by_hand() {
        let got = moments(&whole(&[1, 2, 3, 6])).unwrap();
        assert_eq!((got.n, got.dof(), got.mean.clone()), (4, 3.0, Exact::from_integer(3)));
        assert_eq!(got.s(), (14.0 / 3.0_f64).sqrt());
        assert_eq!(got.s_of_mean(4), (14.0 / 12.0_f64).sqrt());
        assert_eq!(got.s_of_mean(0), f64::INFINITY);
    }

    #[test]
    fn a_single_reading_says_nothing_of_the_scatter() {
        assert_eq!(moments(&whole(&[7])), Err(Trouble::TooFew { found: 1, needed: 2 }));
        assert_eq!(moments(&[]), Err(Trouble::TooFew { found: 0, needed: 2 }));
        assert_eq!(moments(&whole(&[7, 7])).unwrap().s(), 0.0);
    }

    /// By hand: a half turn and a full one, mean 3π/2, deviations ±π/2, s² = π²/2.
    #[test]
    fn angles_keep_their_power_of_pi() {
        let turns = [1, 2].map(|it| Exact::with_pi(BigRational::from_integer(it.into()), 1));
        let got = moments(&turns).unwrap();
        assert_eq!(got.mean, Exact::with_pi(BigRational::new(3.into(), 2.into()), 1));
        let expected = std::f64::consts::PI / 2.0_f64.sqrt();
        assert!((got.s() - expected).abs() <= 1e-15, "got {}", got.s());
    }

    /// By hand: 1, 2, 3, 6 have the deviations −2, −1, 0, 3 and the products 2 + 0 + 0, over 14.
    ///
    /// Method: M51.
    #[test]
    fn lag1_follows_by_hand() {
        assert_eq!(lag1(&whole(&[1, 2, 3, 6])), Some(2.0 / 14.0));
        assert_eq!(lag1(&whole(&[1, 2])), Some(-0.5));
        assert_eq!(lag1(&whole(&[5, 5, 5])), None);
        assert_eq!(lag1(&whole(&[5])), None);
        let turn = Exact::with_pi(BigRational::from_integer(1.into()), 1);
        assert_eq!(lag1(&[Exact::from_integer(1), turn.clone()]), None);
        // With a zero reading beside others in degrees one half of the list may be all zero.
        assert_eq!(lag1(&[Exact::zero(), turn]), Some(-0.5));
    }
}
