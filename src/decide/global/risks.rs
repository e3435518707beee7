//! Consumer's and producer's risk: the joint probabilities, before the reading, of being outside the
//! tolerance and accepted, and of being inside and not accepted.
//!
//! Source: JCGM 106:2012, 9.3 and annex A, equations (A.15) to (A.17) for the normal case.

use super::error::MeasurementError;
use super::posterior::{conjugate, weight_outside};
use super::prior::unfolded;
use super::quadrature::{integral, marks};
use super::{Prior, Sides, ends};
use crate::evidence::distribution::normal;
use crate::propagate::density::Density;

/// The risks of accepting within an interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Risks {
    /// Consumer's risk: outside the tolerance and accepted.
    pub consumer: f64,
    /// Producer's risk: inside the tolerance and not accepted.
    pub producer: f64,
    /// The share of the population inside the tolerance.
    pub in_tolerance: f64,
    /// The share that is accepted.
    pub accepted: f64,
}

/// Returns the risks of accepting what is measured within `acceptance` (`None`: nothing); `None` where the
/// measurement has no distribution or an integral does not come out to 1e-10 (1e-7 where its tails are
/// those of an exact distribution, 1e-4 where they are simulated).
///
/// Worst measured relative error against mpmath, risks above 1e-14: see the test
/// `risks_agree_with_reference`.
///
/// Method: M90.
pub fn risks(
    prior: &Prior,
    tolerance: Sides,
    acceptance: Option<Sides>,
    density: &Density,
) -> Option<Risks> {
    let setting = Setting::new(prior, tolerance, density)?;
    let in_tolerance = prior.within(tolerance);
    let Some(acceptance) = acceptance.map(ends).filter(|it| it.0 <= it.1) else {
        let producer = in_tolerance;
        return Some(Risks { consumer: 0.0, producer, in_tolerance, accepted: 0.0 });
    };
    let consumer = setting.consumer(acceptance)?;
    let producer = setting.producer(acceptance)?;
    let both = setting.joint(setting.tolerance, acceptance, Asks::Accepted)?;
    Some(Risks { consumer, producer, in_tolerance, accepted: both + consumer })
}

/// Returns the probability that an instrument with this true error is accepted; `None` where the
/// measurement has no distribution.
///
/// Method: M91.
pub fn acceptance_probability(
    true_error: f64,
    acceptance: Option<Sides>,
    density: &Density,
) -> Option<f64> {
    let error = MeasurementError::new(density);
    if true_error.is_nan() || !error.is_sound() {
        return None;
    }
    let Some((low, high)) = acceptance.map(ends) else { return Some(0.0) };
    error.between(low - true_error, high - true_error)
}

/// Which outcome of the measurement counts.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Asks {
    Accepted,
    Rejected,
}

/// A population, a tolerance and a measurement.
pub(super) struct Setting<'a> {
    prior: &'a Prior,
    tolerance: (f64, f64),
    error: MeasurementError<'a>,
    scale: f64,
    relative: f64,
}

impl<'a> Setting<'a> {
    pub(super) fn new(
        prior: &'a Prior,
        tolerance: Sides,
        density: &'a Density,
    ) -> Option<Setting<'a>> {
        let error = MeasurementError::new(density);
        if !(prior.is_sound() && error.is_sound()) {
            return None;
        }
        let scale = error.scale()?;
        let relative = error.relative();
        Some(Setting { prior, tolerance: ends(tolerance), error, scale, relative })
    }

    /// Returns a width that tells the scale of the measurement.
    pub(super) fn scale(&self) -> f64 {
        self.scale
    }

    /// Returns the probability of being outside the tolerance and accepted.
    pub(super) fn consumer(&self, acceptance: (f64, f64)) -> Option<f64> {
        let (low, high) = self.tolerance;
        let above = self.joint((high, f64::INFINITY), acceptance, Asks::Accepted)?;
        if self.is_even(acceptance) {
            return Some(2.0 * above);
        }
        Some(above + self.joint((f64::NEG_INFINITY, low), acceptance, Asks::Accepted)?)
    }

    /// Whether population, tolerance, acceptance and measurement are the same on both sides.
    fn is_even(&self, acceptance: (f64, f64)) -> bool {
        let Prior::Normal { mean, .. } = self.prior else { return false };
        let even = |(low, high): (f64, f64)| mean - low == high - mean;
        self.error.density(0.0).is_some() && even(self.tolerance) && even(acceptance)
    }

    /// Returns how fast the consumer's risk falls as both acceptance limits move inwards: at each the density
    /// of measured values times the risk of the value there. `None` unless the population is normal and the
    /// measurement's density known.
    pub(super) fn slope(&self, (low, high): (f64, f64)) -> Option<f64> {
        let Prior::Normal { mean, sd } = self.prior else { return None };
        let at = |limit: f64| match self.error.normal() {
            _ if limit.is_infinite() => Some(0.0),
            Some(u) => {
                let wide = libm::hypot(*sd, u);
                let density = normal::density((limit - mean) / wide) / wide;
                Some(density * conjugate((*mean, *sd), (limit, u), self.tolerance))
            }
            None => weight_outside(self.prior, &self.error, limit, self.tolerance),
        };
        Some(at(low)? + at(high)?)
    }

    fn producer(&self, acceptance: (f64, f64)) -> Option<f64> {
        self.joint(self.tolerance, acceptance, Asks::Rejected)
    }

    /// Returns the probability of a true error within `region` and an outcome of the measurement.
    fn joint(&self, region: (f64, f64), acceptance: (f64, f64), asks: Asks) -> Option<f64> {
        if region.0 == f64::INFINITY || region.1 == f64::NEG_INFINITY {
            return Some(0.0);
        }
        match (self.error.is_student(), self.prior) {
            (true, Prior::Normal { .. }) => self.over_errors(region, acceptance, asks),
            _ => self.over_population(region, acceptance, asks),
        }
    }

    /// The outer integral over true errors: the measurement's tails are cheap, or its density unknown.
    fn over_population(
        &self,
        region: (f64, f64),
        (low, high): (f64, f64),
        asks: Asks,
    ) -> Option<f64> {
        let reach = self.prior.range();
        let range = (region.0.max(reach.0), region.1.min(reach.1));
        if range.0 >= range.1 {
            return Some(0.0);
        }
        let outcome = |x: f64| match asks {
            Asks::Accepted => self.error.between(low - x, high - x),
            Asks::Rejected => Some(self.error.below(low - x)? + self.error.above(high - x)?),
        };
        let near = [low, high].into_iter().filter(|it| it.is_finite());
        // A normal has nothing to be seen beyond 16u; other tails may have.
        let far = if self.error.normal().is_some() { 16.0 } else { f64::INFINITY } * self.scale;
        let near =
            near.flat_map(|it| around(it, self.scale).filter(move |at| (at - it).abs() <= far));
        let at = marks(range, near.chain(self.prior.marks()));
        let mut sum = 0.0;
        // Marks of one panel each are unfolded by themselves, so that a pole lies at an end.
        let pieces = at.len() - 1;
        let map: Vec<_> = at.windows(2).map(|it| unfolded(self.prior, it[0], it[1])).collect();
        let places: Vec<f64> = (0..=pieces).map(|it| it as f64).collect();
        let integrand = |place: f64| {
            let index = (place.floor().max(0.0) as usize).min(pieces - 1);
            let (x, weight) = map[index](place - index as f64);
            Some(weight * outcome(x)?)
        };
        sum += integral(&places, self.relative, &integrand)?;
        Some(sum)
    }

    /// Returns the part of a region that counts: what the population reaches, and of a tail of it, where acceptance
    /// gets rarer outwards, what is not below 1e-26 of its density at the region's near end.
    fn within_reach(&self, region: (f64, f64), acceptance: (f64, f64), asks: Asks) -> (f64, f64) {
        const FALL: f64 = 60.0;
        let reach = self.prior.range();
        let (mut from, mut to) = (region.0.max(reach.0), region.1.min(reach.1));
        let (mean, sd) = (self.prior.mean(), self.prior.sd());
        let far = |near: f64| sd * libm::hypot((near - mean) / sd, libm::sqrt(2.0 * FALL));
        let middle = 0.5 * (acceptance.0 + acceptance.1);
        if asks == Asks::Rejected {
            return (from, to);
        }
        if from >= mean && middle <= from {
            to = to.min(mean + far(from));
        } else if to <= mean && middle >= to {
            from = from.max(mean - far(to));
        }
        (from, to)
    }

    /// The outer integral over the measurement's error: its density is cheap, its tails are dear. The
    /// errors beyond those at which the acceptance interval has left the population are one tail.
    fn over_errors(&self, region: (f64, f64), (low, high): (f64, f64), asks: Asks) -> Option<f64> {
        let corners = [region.0, region.1].into_iter().filter(|it| it.is_finite());
        let region = self.within_reach(region, (low, high), asks);
        if region.0 >= region.1 {
            return Some(0.0);
        }
        // Accepted are true errors from low − e to high − e.
        let mass = |e: f64| match asks {
            Asks::Accepted => self.prior.mass(region.0.max(low - e), region.1.min(high - e)),
            Asks::Rejected => {
                self.prior.mass(region.0, region.1.min(low - e))
                    + self.prior.mass(region.0.max(high - e), region.1)
            }
        };
        // Beyond the errors at which a limit of acceptance leaves the region, nothing changes any more.
        let limits: Vec<f64> = [low, high].into_iter().filter(|it| it.is_finite()).collect();
        let leaves: Vec<f64> =
            limits.iter().flat_map(|it| [it - region.0, it - region.1]).collect();
        let (Some(first), Some(last)) =
            (leaves.iter().copied().reduce(f64::min), leaves.iter().copied().reduce(f64::max))
        else {
            return Some(mass(0.0));
        };
        let tails = mass(first) * self.error.below(first)? + mass(last) * self.error.above(last)?;
        // Where a limit of acceptance passes a limit of tolerance, or the middle of the population if that is inside.
        let middle = Some(self.prior.mean()).filter(|it| region.0 < *it && *it < region.1);
        let passed = corners.chain(middle);
        let near = passed.flat_map(|x| limits.iter().map(move |it| it - x));
        let near = near.flat_map(|it| around(it, self.prior.sd()));
        let at = marks((first, last), near.chain(around(0.0, self.scale)));
        let within = integral(&at, self.relative, &|e| Some(self.error.density(e)? * mass(e)))?;
        Some(tails + within)
    }
}

/// Returns marks about a place, graded by the scale.
fn around(place: f64, scale: f64) -> impl Iterator<Item = f64> {
    const BY: [f64; 9] = [-1000.0, -100.0, -10.0, -1.0, 0.0, 1.0, 10.0, 100.0, 1000.0];
    BY.into_iter().map(move |it| place + it * scale)
}
