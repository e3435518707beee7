//! Populations from what is recorded: a share within tolerance, or past errors; and the exact interval of a
//! share.
//!
//! Sources: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413 (interval); JCGM 100:2008, 4.2 and
//! 5.1 (spread and its uncertainty).

use super::risks::{acceptance_probability, risks};
use super::{Prior, Sides, ends};
use crate::evidence::distribution::beta::beta_quantile;
use crate::propagate::density::Density;

/// Rounds of a search, as a guard.
const ROUNDS: usize = 200;

/// What a share within tolerance is counted of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Share {
    /// True errors.
    Actual,
    /// Measured errors: the measurement's own spread is in them.
    Observed,
}

/// Why no spread gives a share.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoSpread {
    /// The mean is not within the tolerance.
    #[error(
        "the mean does not lie within the tolerance, and a share then belongs to two spreads or to none"
    )]
    MeanOutside,
    /// With one limit a share that is not above one half has no mean inside; with any limits a share that
    /// every spread exceeds.
    #[error("every spread leaves more than that within the tolerance, at least {0:.4}")]
    AtLeast(f64),
    /// The measurement alone leaves less within.
    #[error(
        "the measurement alone leaves fewer of the measured errors within the tolerance: {0:.4} at most"
    )]
    AtMost(f64),
    /// The share is not between 0 and 1.
    #[error("a share lies above 0 % and below 100 %")]
    NoShare,
    /// A probability is not known.
    #[error("a probability is not known")]
    Unknown,
}

/// Returns the standard deviation of the normal population about `mean` of which `share` lies within the
/// tolerance: of true errors, or of measured ones.
///
/// Method: M104.
///
/// # Errors
///
/// See [`NoSpread`].
pub fn spread_for_share(
    share: f64,
    of: Share,
    mean: f64,
    tolerance: Sides,
    density: &Density,
) -> Result<f64, NoSpread> {
    let (low, high) = ends(tolerance);
    if !(low < mean && mean < high) {
        return Err(NoSpread::MeanOutside);
    }
    if !(0.0 < share && share < 1.0) {
        return Err(NoSpread::NoShare);
    }
    let one_sided = low.is_infinite() || high.is_infinite();
    if one_sided && share <= 0.5 {
        return Err(NoSpread::AtLeast(0.5));
    }
    let nearest = (mean - low).min(high - mean);
    if of == Share::Observed {
        let most =
            acceptance_probability(mean, Some(tolerance), density).ok_or(NoSpread::Unknown)?;
        if share >= most {
            return Err(NoSpread::AtMost(most));
        }
    }
    let within = |sd: f64| -> Result<f64, NoSpread> {
        let prior = Prior::Normal { mean, sd };
        match (of, density) {
            (Share::Actual, _) => Ok(prior.within(tolerance)),
            (Share::Observed, Density::T { u, dof }) if dof.is_infinite() => {
                Ok(Prior::Normal { mean, sd: libm::hypot(sd, *u) }.within(tolerance))
            }
            (Share::Observed, _) => {
                let found = risks(&prior, tolerance, Some(tolerance), density);
                found.map(|it| it.accepted).ok_or(NoSpread::Unknown)
            }
        }
    };
    spread_of(share, nearest, &within)
}

/// Returns the spread at which a share that falls with it is `share`: a bracket from `nearest` on, then halving of
/// its logarithm.
fn spread_of(
    share: f64,
    nearest: f64,
    within: &dyn Fn(f64) -> Result<f64, NoSpread>,
) -> Result<f64, NoSpread> {
    let (mut narrow, mut wide) = (nearest, nearest);
    while within(narrow)? < share {
        narrow *= 0.25;
        if narrow < f64::MIN_POSITIVE * 1e6 {
            return Err(NoSpread::Unknown);
        }
    }
    while within(wide)? > share {
        wide *= 4.0;
        if !wide.is_finite() || wide > 1e12 * nearest {
            return Err(NoSpread::AtLeast(within(wide)?));
        }
    }
    for _ in 0..ROUNDS {
        let mid = libm::sqrt(narrow) * libm::sqrt(wide);
        if mid <= narrow || mid >= wide || wide - narrow <= 1e-14 * wide {
            break;
        }
        if within(mid)? > share { narrow = mid } else { wide = mid }
    }
    Ok(0.5 * (narrow + wide))
}

/// What past errors say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfHistory {
    /// Mean of the errors.
    pub mean: f64,
    /// Standard uncertainty of the mean, the scatter of the errors alone.
    pub mean_uncertainty: f64,
    /// Their standard deviation.
    pub observed_sd: f64,
    /// Standard deviation of the instruments' true errors.
    pub sd: f64,
    /// Standard uncertainty of `sd`.
    pub sd_uncertainty: f64,
}

/// Why past errors tell no population.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoPopulation {
    /// Fewer than two errors.
    TooLittle {
        /// How many.
        count: usize,
    },
    /// Their spread is beyond the numbers that can be computed with.
    TooLarge,
    /// The errors spread no more than the measurement alone.
    NoMoreThanMeasurement {
        /// Their standard deviation.
        observed: f64,
        /// That of the measurement.
        measurement: f64,
    },
}

/// Returns the population behind past errors: the variance of the instruments is the observed one less
/// that part of u² that varies from one calibration to the next.
///
/// The uncertainty of the spread follows to first order from those of both variances: 2s⁴/(n − 1) for
/// normal errors, 2u⁴/ν for the measurement.
///
/// Method: M105.
///
/// # Errors
///
/// See [`NoPopulation`].
pub fn population_from_history(
    errors: &[f64],
    varying: f64,
    dof: f64,
) -> Result<OfHistory, NoPopulation> {
    let count = errors.len();
    if count < 2 {
        return Err(NoPopulation::TooLittle { count });
    }
    let n = count as f64;
    // Deviations from the first error keep the digits that a large common error would cost.
    let first = errors[0];
    let shift = errors.iter().map(|it| it - first).sum::<f64>() / n;
    let square = |it: f64| it * it;
    let sum: f64 = errors.iter().map(|it| square(it - first - shift)).sum();
    let (variance, own) = (sum / (n - 1.0), varying * varying);
    let observed = libm::sqrt(variance);
    if !square(variance).is_finite() {
        return Err(NoPopulation::TooLarge);
    }
    // A difference that rounding may have made is none.
    let left = variance - own;
    if left.is_nan() || left <= 1e-12 * variance {
        return Err(NoPopulation::NoMoreThanMeasurement { observed, measurement: varying });
    }
    let sd = libm::sqrt(left);
    let of_variances = 2.0 * square(variance) / (n - 1.0) + 2.0 * square(own) / dof;
    Ok(OfHistory {
        mean: first + shift,
        mean_uncertainty: libm::sqrt(variance / n),
        observed_sd: observed,
        sd,
        sd_uncertainty: 0.5 * libm::sqrt(of_variances) / sd,
    })
}

/// Returns the exact binomial interval of a share of which `k` of `n` were found, at a confidence, each
/// tail half of the rest; `None` for no trials or a count beyond them.
///
/// Method: M106.
pub fn clopper_pearson(k: u64, n: u64, confidence: f64) -> Option<(f64, f64)> {
    if n == 0 || k > n || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let tail = 0.5 * (1.0 - confidence);
    let (k, n) = (k as f64, n as f64);
    let low = if k == 0.0 { 0.0 } else { beta_quantile(tail, k, n - k + 1.0)? };
    let high = if k == n { 1.0 } else { 1.0 - beta_quantile(tail, n - k, k + 1.0)? };
    Some((low, high))
}
