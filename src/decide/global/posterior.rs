//! Specific risk with the population as prior: the probability, given the reading and what was known
//! before, that the true value lies outside the tolerance.
//!
//! Source: JCGM 106:2012, 7.2 and A.4: the posterior is the prior times the likelihood of the reading.

use super::error::MeasurementError;
use super::prior::unfolded;
use super::quadrature::{integral, marks};
use super::{Prior, Sides, ends};
use crate::evidence::distribution::normal;
use crate::propagate::density::Density;

/// Returns the probability that the true value lies outside `tolerance`, given the measured value `error`
/// and the population; `None` where the measurement has no distribution, where the reading cannot come
/// from the population, or where an integral does not come out.
///
/// Normal and normal in closed form, each tail from its own side; anything else by quadrature, over tails by
/// parts where the measurement's density is not known (then to 1e-7 of the larger terms, to 1e-4 of
/// them for a simulation).
///
/// Method: M92.
pub fn posterior_risk(
    prior: &Prior,
    error: f64,
    tolerance: Sides,
    density: &Density,
) -> Option<f64> {
    let measurement = MeasurementError::new(density);
    if !(prior.is_sound() && measurement.is_sound()) {
        return None;
    }
    let (low, high) = ends(tolerance);
    let risk = match (prior, density) {
        (Prior::Normal { mean, sd }, Density::T { u, dof }) if dof.is_infinite() => {
            conjugate((*mean, *sd), (error, *u), (low, high))
        }
        _ => {
            let relative = measurement.relative();
            let posterior = Posterior { prior, error: &measurement, at: error, relative };
            let reach = prior.range();
            posterior.outside((low, high))? / posterior.weight(reach.0, reach.1)?
        }
    };
    risk.is_finite().then_some(risk.clamp(0.0, 1.0))
}

/// Normal prior and normal measurement: a normal posterior.
pub(super) fn conjugate(
    (mean, sd): (f64, f64),
    (error, u): (f64, f64),
    (low, high): (f64, f64),
) -> f64 {
    let wide = libm::hypot(sd, u);
    let (weight, spread) = ((sd / wide) * (sd / wide), sd * (u / wide));
    let centre = mean + weight * (error - mean);
    normal::cdf((low - centre) / spread) + normal::survival((high - centre) / spread)
}

/// Returns the density of measured values at `at` times the risk of that value, to five digits: the slope
/// that a search walks along; `None` where the measurement's density is not known.
pub(super) fn weight_outside(
    prior: &Prior,
    error: &MeasurementError,
    at: f64,
    tolerance: (f64, f64),
) -> Option<f64> {
    error.density(0.0)?;
    Posterior { prior, error, at, relative: 1e-5 }.outside(tolerance)
}

/// The posterior, not normalised.
struct Posterior<'a> {
    prior: &'a Prior,
    error: &'a MeasurementError<'a>,
    at: f64,
    /// To what share of itself an integral is taken.
    relative: f64,
}

impl Posterior<'_> {
    /// Returns the weight of true errors outside a tolerance.
    fn outside(&self, (low, high): (f64, f64)) -> Option<f64> {
        let reach = self.prior.range();
        let tails = [(reach.0, low.min(reach.1)), (high.max(reach.0), reach.1)];
        // The nearer tail first: the other one often does not count.
        let far = self.at - low > high - self.at;
        let (near, other) = if far { (tails[1], tails[0]) } else { (tails[0], tails[1]) };
        let sum = self.weight(near.0, near.1)?;
        if self.most(other).is_some_and(|it| it <= 0.1 * self.relative * sum) {
            return Some(sum);
        }
        Some(sum + self.weight(other.0, other.1)?)
    }

    /// Returns what a tail's weight is at most: its mass times the density of the measurement at its near end.
    fn most(&self, (a, b): (f64, f64)) -> Option<f64> {
        if a >= b {
            return Some(0.0);
        }
        let near = if b < self.at { b } else { a };
        let outside = b < self.at || a > self.at;
        let density = self.error.density(self.at - near).filter(|_| outside)?;
        Some(density * self.prior.mass(a, b))
    }

    /// Returns the weight of true errors between `a` and `b`, both within reach of the prior.
    fn weight(&self, a: f64, b: f64) -> Option<f64> {
        if a >= b {
            return Some(0.0);
        }
        let scale = self.error.scale()?;
        const BY: [f64; 7] = [-64.0, -8.0, -1.0, 0.0, 1.0, 8.0, 64.0];
        let near = BY.iter().map(|it| self.at + it * scale);
        let at = marks((a, b), near.chain(self.prior.marks()));
        match self.error.is_rough() {
            true => self.by_parts(&at),
            false => self.by_density(&at),
        }
    }

    fn by_density(&self, at: &[f64]) -> Option<f64> {
        let pieces = at.len() - 1;
        let map: Vec<_> = at.windows(2).map(|it| unfolded(self.prior, it[0], it[1])).collect();
        let places: Vec<f64> = (0..=pieces).map(|it| it as f64).collect();
        let integrand = |place: f64| {
            let index = (place.floor().max(0.0) as usize).min(pieces - 1);
            let (x, weight) = map[index](place - index as f64);
            Some(weight * self.error.density(self.at - x)?)
        };
        integral(&places, self.relative, &integrand)
    }

    /// ∫ p dF by parts, piece by piece, with the tail that is small there: p·S − ∫ … for true errors above
    /// the reading, p·F below it.
    fn by_parts(&self, at: &[f64]) -> Option<f64> {
        let mut sum = 0.0;
        for pair in at.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let inside = 0.5 * (a + b);
            let upper = inside >= self.at;
            // True above x, given the reading: the measurement's error lies below at − x.
            let tail = |x: f64| match upper {
                true => self.error.below(self.at - x),
                false => self.error.above(self.at - x),
            };
            let sign = if upper { 1.0 } else { -1.0 };
            // One-sided densities at the ends of the piece: a corner may lie there.
            let inner = |x: f64| self.prior.density(x + (inside - x) * 1e-12);
            let ends = sign * (inner(a) * tail(a)? - inner(b) * tail(b)?);
            let slope = |x: f64| Some(self.prior.slope(x) * tail(x)?);
            // Flat is the density of the population alone: a tail may be zero here and not at the ends.
            let flat = [0.01, 0.5, 0.99].iter().all(|it| self.prior.slope(a + it * (b - a)) == 0.0);
            let change = match flat {
                true => 0.0,
                false => integral(&[a, b], self.relative, &slope)?,
            };
            sum += ends + sign * change;
        }
        if sum.is_finite() { Some(sum.max(0.0)) } else { None }
    }
}
