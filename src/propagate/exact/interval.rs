//! From probabilities to coverage intervals, by a bracketed Newton iteration; and the humps of a density.

use super::shape::{Part, Shape};
use super::{Probability, Refusal, Sum};
use crate::evidence::distribution::normal;

/// Largest relative error of a half-width that is given out.
const PROMISE: f64 = 1e-9;
/// Relative step at which the iteration ends.
const STEP: f64 = 1e-12;

/// A coverage interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Bound on the error of the half-width, relative to it.
    pub relative_error: f64,
}

/// An end, and a bound on its error.
struct End {
    at: f64,
    error: f64,
}

/// Returns the interval with equal probabilities outside on both sides.
///
/// Method: M39.
pub fn interval(sum: &Sum, probability: f64) -> Result<Interval, Refusal> {
    if !(0.0 < probability && probability < 1.0) {
        return Err(Refusal::Probability(probability));
    }
    let beyond = 0.5 * (1.0 - probability);
    let high = end(sum, beyond, &|x| sum.survival(x), 1.0)?;
    let low = if sum.is_symmetric() {
        End { at: -high.at, error: high.error }
    } else {
        let mirrored = end(sum, beyond, &|x| sum.cdf(-x), -1.0)?;
        End { at: -mirrored.at, error: mirrored.error }
    };
    let relative_error = (high.error + low.error) / (high.at - low.at).abs();
    if relative_error.is_nan() || relative_error > PROMISE {
        return Err(Refusal::Imprecise { relative_error });
    }
    Ok(Interval { low: low.at, high: high.at, relative_error })
}

/// Returns x with probability `beyond` above it; the density at x is the sum's at `sign`·x.
fn end(
    sum: &Sum,
    beyond: f64,
    survival: &dyn Fn(f64) -> Probability,
    sign: f64,
) -> Result<End, Refusal> {
    let spread = sum.body.spread() * sum.unit;
    let symmetric = sum.is_symmetric();
    let (mut low, mut high) = (if symmetric { 0.0 } else { -2.0 * spread }, f64::INFINITY);
    while !symmetric && survival(low).value < beyond {
        low *= 2.0;
    }
    let mut x = spread * normal::upper_quantile(beyond).unwrap_or(1.0).max(1e-3);
    let mut found = End { at: x, error: f64::INFINITY };
    for _ in 0..200 {
        let here = survival(x);
        if here.error >= 0.5 {
            return Err(Refusal::Rough);
        }
        let density = sum.density(sign * x);
        let excess = here.value - beyond;
        if excess > 0.0 {
            low = x
        } else {
            high = x
        }
        let step = newton(x, excess, beyond, density);
        found = End { at: x, error: (excess.abs() + here.error) / density };
        let size = x.abs().max(1e-6 * spread);
        if excess.abs() <= 0.1 * here.error || step.abs() <= STEP * size {
            return Ok(found);
        }
        let next = x + step;
        let inside = low < next && next < high;
        x = match (inside, high.is_finite()) {
            (true, true) => next,
            (true, false) => next.min(low.max(spread) * 8.0),
            (false, true) => low + 0.5 * (high - low),
            (false, false) => 2.0 * x.abs().max(spread),
        };
        if high - low <= 2.0 * f64::EPSILON * size {
            break;
        }
    }
    Ok(found)
}

/// Returns the step of Newton's method on ln P over ln x far out, on P near the middle.
fn newton(x: f64, excess: f64, beyond: f64, density: f64) -> f64 {
    let value = beyond + excess;
    if density <= 0.0 || value <= 0.0 {
        return f64::NAN;
    }
    if x <= 0.0 || beyond > 0.2 || excess.abs() < 1e-3 * beyond {
        return excess / density;
    }
    x * libm::expm1((value * libm::log(value / beyond) / (density * x)).min(3.0))
}

/// Returns how many humps the density has.
///
/// Method: M40.
pub fn humps(sum: &Sum) -> usize {
    let arcsine = |it: &Part| matches!(it.shape, Shape::Arcsine);
    let rays = sum.body.stars.iter().flat_map(|it| &it.rays);
    let inner = rays.flat_map(|it| &it.parts).chain(&sum.body.parts).any(arcsine);
    if !inner && sum.body.stars.iter().all(|it| it.slope == 0.0) {
        return 1;
    }
    let spread = sum.body.spread() * sum.unit;
    let density = |k: i32| sum.density(0.02 * (f64::from(k) + 0.5) * spread);
    let half: Vec<f64> = (0..200).map(density).collect();
    let all: Vec<f64> = if sum.is_symmetric() {
        half.iter().rev().chain(&half).copied().collect()
    } else {
        (-200..0).map(density).chain(half.iter().copied()).collect()
    };
    let least = 1e-7 * all.iter().fold(0.0, |most: f64, it| most.max(*it));
    let (mut count, mut rising, mut extreme) = (0, true, 0.0);
    for it in all.into_iter().chain([0.0]) {
        if rising && it < extreme - least {
            (count, rising, extreme) = (count + 1, false, it);
        } else if !rising && it > extreme + least {
            (rising, extreme) = (true, it);
        } else {
            extreme = if rising { f64::max(extreme, it) } else { f64::min(extreme, it) };
        }
    }
    count
}
