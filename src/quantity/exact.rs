//! Exact numbers q·πᵏ with a rational q: what decides whether a reading lies on a limit.
use num_rational::BigRational;
use std::cmp::Ordering;

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
        let _ = (ratio, pi_power);
        todo!()
    }
    /// Returns the integer `n`.
    pub fn from_integer(n: i64) -> Exact {
        let _ = n;
        todo!()
    }
    /// Returns 0.
    pub fn zero() -> Exact {
        todo!()
    }
    /// Whether it is 0.
    pub fn is_zero(&self) -> bool {
        todo!()
    }
    /// Whether it is below 0.
    pub fn is_negative(&self) -> bool {
        todo!()
    }
    /// Returns the sum; `None` where the powers of π differ and neither is zero.
    pub fn add(&self, other: &Exact) -> Option<Exact> {
        let _ = other;
        todo!()
    }
    /// Returns the difference; `None` as for the sum.
    pub fn sub(&self, other: &Exact) -> Option<Exact> {
        let _ = other;
        todo!()
    }
    /// Returns the product.
    pub fn mul(&self, other: &Exact) -> Exact {
        let _ = other;
        todo!()
    }
    /// Returns the quotient; `None` for division by zero.
    pub fn div(&self, other: &Exact) -> Option<Exact> {
        let _ = other;
        todo!()
    }
    /// Returns the opposite number.
    pub fn neg(&self) -> Exact {
        todo!()
    }
    /// Returns the absolute value.
    pub fn abs(&self) -> Exact {
        todo!()
    }
    /// Returns the integer power; `None` for 0 to a negative power, or |n| > 64.
    pub fn powi(&self, n: i32) -> Option<Exact> {
        let _ = n;
        todo!()
    }
    /// Compares; `None` where the powers of π differ (and the signs do not decide).
    pub fn compare(&self, other: &Exact) -> Option<Ordering> {
        let _ = other;
        todo!()
    }
    /// Returns the nearest `f64` (k = 0: correctly rounded); infinite beyond its range.
    pub fn to_f64(&self) -> f64 {
        todo!()
    }
    /// Returns the whole number, where it is one that fits.
    pub fn to_integer(&self) -> Option<i64> {
        todo!()
    }
    /// Returns floor(self / step) where both have the same power of π and the result fits.
    pub fn floor_div(&self, step: &Exact) -> Option<i64> {
        let _ = step;
        todo!()
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
