//! The distribution of true errors over a population: density, masses, the places where it changes.

use crate::budget::Shape;
use crate::evidence::distribution::normal;
use core::f64::consts::{FRAC_PI_2, PI};

/// How many standard deviations of a normal population are looked at: beyond lies less than 1e-300.
const FAR: f64 = 38.0;

/// A population of true errors, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prior {
    /// Normal.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation, above 0.
        sd: f64,
    },
    /// Within limits.
    Bounded {
        /// Lower limit.
        low: f64,
        /// Upper limit, above the lower one.
        high: f64,
        /// The shape: rectangular, triangular, trapezoidal or arcsine.
        shape: Shape,
    },
}

impl Prior {
    /// Returns the mean.
    pub fn mean(&self) -> f64 {
        match *self {
            Prior::Normal { mean, .. } => mean,
            Prior::Bounded { low, high, .. } => low + 0.5 * (high - low),
        }
    }

    /// Returns the standard deviation.
    ///
    /// Source: JCGM 101:2008, 6.4.2 to 6.4.6.
    pub fn sd(&self) -> f64 {
        match *self {
            Prior::Normal { sd, .. } => sd,
            Prior::Bounded { low, high, shape } => {
                let half = 0.5 * (high - low);
                match shape {
                    Shape::Arcsine => half / core::f64::consts::SQRT_2,
                    _ => {
                        let top = top(shape);
                        half * libm::sqrt((1.0 + top * top) / 6.0)
                    }
                }
            }
        }
    }

    /// Whether the figures make a distribution, of a shape that a population may have.
    pub(super) fn is_sound(&self) -> bool {
        let shape = match *self {
            Prior::Normal { .. } => true,
            Prior::Bounded { low, high, shape } => {
                let fits = match shape {
                    Shape::Rectangular | Shape::Triangular | Shape::Arcsine => true,
                    Shape::Trapezoidal(top) => (0.0..=1.0).contains(&top),
                    Shape::Curvilinear(_) | Shape::Normal(_) => false,
                };
                fits && low < high
            }
        };
        let (mean, sd) = (self.mean(), self.sd());
        shape && mean.is_finite() && sd > 0.0 && sd.is_finite()
    }

    /// Returns the range that is looked at.
    pub(super) fn range(&self) -> (f64, f64) {
        match *self {
            Prior::Normal { mean, sd } => (mean - FAR * sd, mean + FAR * sd),
            Prior::Bounded { low, high, .. } => (low, high),
        }
    }

    /// Returns the places where the density has a corner, and marks of its scale.
    pub(super) fn marks(&self) -> Vec<f64> {
        match *self {
            Prior::Normal { mean, sd } => {
                let by = [-16.0, -8.0, -4.0, -2.0, 0.0, 2.0, 4.0, 8.0, 16.0];
                by.iter().map(|it| mean + it * sd).collect()
            }
            Prior::Bounded { low, high, shape } => {
                let half = 0.5 * (high - low);
                let edge = half * (1.0 - top(shape));
                vec![low, low + edge, low + half, high - edge, high]
            }
        }
    }

    /// Returns the density at `x`; at a limit that of the inside.
    pub(super) fn density(&self, x: f64) -> f64 {
        match *self {
            Prior::Normal { mean, sd } => normal::density((x - mean) / sd) / sd,
            Prior::Bounded { low, high, shape } => {
                if x < low || x > high {
                    return 0.0;
                }
                let half = 0.5 * (high - low);
                let inside = (x - low).min(high - x);
                if shape == Shape::Arcsine {
                    return 1.0 / (PI * libm::sqrt((x - low) * (high - x)));
                }
                let edge = half * (1.0 - top(shape));
                let height = 1.0 / (2.0 * half - edge);
                if inside >= edge { height } else { height * inside / edge }
            }
        }
    }

    /// Returns the slope of the density at `x`, away from its corners.
    pub(super) fn slope(&self, x: f64) -> f64 {
        match *self {
            Prior::Normal { mean, sd } => -(x - mean) / (sd * sd) * self.density(x),
            Prior::Bounded { low, high, shape } => {
                let half = 0.5 * (high - low);
                let edge = half * (1.0 - top(shape));
                if (x - low).min(high - x) >= edge {
                    return 0.0;
                }
                let rise = 1.0 / (2.0 * half - edge) / edge;
                if x - low < high - x { rise } else { -rise }
            }
        }
    }

    /// Returns the probability of a true error between `a` and `b`, relative accuracy in both tails; 0
    /// where `b` is not above `a`.
    pub fn mass(&self, a: f64, b: f64) -> f64 {
        match *self {
            // `partial_cmp` would say the same: a NaN has no mass.
            _ if b <= a || a.is_nan() || b.is_nan() => 0.0,
            Prior::Normal { mean, sd } => normal::between((a - mean) / sd, (b - mean) / sd),
            Prior::Bounded { low, high, shape } => {
                let (a, b) = (a.max(low), b.min(high));
                if b <= a { 0.0 } else { bounded(low, high, shape, a, b) }
            }
        }
    }

    /// Returns the probability of a true error within limits.
    pub fn within(&self, sides: super::Sides) -> f64 {
        let (low, high) = super::ends(sides);
        self.mass(low, high)
    }
}

/// Returns the share of the base that the top of a straight-sided shape has.
fn top(shape: Shape) -> f64 {
    match shape {
        Shape::Triangular => 0.0,
        Shape::Trapezoidal(top) => top,
        _ => 1.0,
    }
}

/// Returns the mass of a bounded shape between two of its places: from the nearer end where both lie on
/// one half, in two halves otherwise.
fn bounded(low: f64, high: f64, shape: Shape, a: f64, b: f64) -> f64 {
    let half = 0.5 * (high - low);
    let middle = low + half;
    if a < middle && b > middle {
        return bounded(low, high, shape, a, middle) + bounded(low, high, shape, middle, b);
    }
    // Distances from the nearer end, the smaller first.
    let (near, far) = if b <= middle { (a - low, b - low) } else { (high - b, high - a) };
    if shape == Shape::Arcsine {
        let angle =
            |it: f64| 2.0 * libm::asin(libm::sqrt((it / (2.0 * half)).clamp(0.0, 1.0))) / PI;
        return angle(far) - angle(near);
    }
    let edge = half * (1.0 - top(shape));
    let height = 1.0 / (2.0 * half - edge);
    let sloped = |it: f64| it.min(edge);
    let slope = if edge > 0.0 {
        0.5 * height / edge * (sloped(far) - sloped(near)) * (sloped(far) + sloped(near))
    } else {
        0.0
    };
    slope + height * ((far - edge).max(0.0) - (near - edge).max(0.0))
}

/// A change of variable that takes the poles of the arcsine density away: x and its weight (density times
/// derivative) over a place from 0 to 1 between `a` and `b`.
pub(super) fn unfolded(prior: &Prior, a: f64, b: f64) -> impl Fn(f64) -> (f64, f64) + '_ {
    let (arcsine, low, high) = match *prior {
        Prior::Bounded { low, high, shape: Shape::Arcsine } => (true, low, high),
        _ => (false, 0.0, 0.0),
    };
    let (centre, half) = (low + 0.5 * (high - low), 0.5 * (high - low));
    // From the distances to both ends: an arcsine near ±1 would lose half of the digits, 1e-8 of the whole.
    let angle = move |x: f64| {
        let (below, above) = (x - low, high - x);
        2.0 * libm::atan2(libm::sqrt(below.max(0.0)), libm::sqrt(above.max(0.0))) - FRAC_PI_2
    };
    let (from, to) = if arcsine { (angle(a), angle(b)) } else { (a, b) };
    move |place: f64| {
        let at = from + place * (to - from);
        if arcsine {
            (centre + half * libm::sin(at.clamp(-FRAC_PI_2, FRAC_PI_2)), (to - from) / PI)
        } else {
            (at, prior.density(at) * (to - from))
        }
    }
}
