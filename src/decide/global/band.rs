//! Guard bands that keep a promise over a population, and those of published formulas over the TUR.
//!
//! Sources: JCGM 106:2012, 9.5. The formulas over the TUR are recalled: quadrature (root difference of
//! squares) from D. Deaver, NCSL Workshop 1994; the fit for 2 % from M. Dobbert, NCSLI Workshop 2008.

use super::risks::Setting;
use super::{Prior, Sides, ends, posterior_risk};
use crate::propagate::density::Density;

/// How near to the smallest width a width is looked for, as a share of the scale.
const NEAR: f64 = 1e-11;
/// How near to the smallest width one that is walked to along the slope is, as a share of itself and of what is
/// left as acceptance.
const WIDTH: f64 = 1e-9;
/// The share of half the tolerance that is left as acceptance where the risk is not worked out any more.
const SLIVER: f64 = 1e-8;
/// Rounds of a search, as a guard.
const ROUNDS: usize = 200;
/// Places between tolerance limit and middle at which a risk that may turn round is looked at.
const PLACES: usize = 64;

/// Why no guard band keeps a promise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoBand {
    /// The smallest risk that can be reached.
    Smallest(f64),
    /// A probability is not known.
    Unknown,
}

/// Returns the smallest guard band w ≥ 0, in SI, for which the consumer's risk over the population is at
/// most `promise` (above 0). Between two limits the risk falls to 0 as acceptance shrinks to a value, with
/// one limit as it moves away, so that every promise can be kept.
///
/// Method: M93.
///
/// # Errors
///
/// [`NoBand::Smallest`] for a promise that is not above 0; [`NoBand::Unknown`] where a risk is not known.
pub fn guard_band_for_consumer(
    promise: f64,
    prior: &Prior,
    tolerance: Sides,
    density: &Density,
) -> Result<f64, NoBand> {
    if promise.is_nan() || promise <= 0.0 {
        return Err(NoBand::Smallest(0.0));
    }
    let setting = Setting::new(prior, tolerance, density).ok_or(NoBand::Unknown)?;
    let (low, high) = ends(tolerance);
    // Only the order matters in the search: ln keeps it straight over many decades.
    let excess = |w: f64| -> Result<f64, NoBand> {
        if low + w >= high - w {
            return Ok(f64::NEG_INFINITY);
        }
        let risk = setting.consumer((low + w, high - w)).ok_or(NoBand::Unknown)?;
        Ok(if risk > 0.0 { libm::log(risk / promise) } else { f64::NEG_INFINITY })
    };
    let middle = 0.5 * (high - low);
    if let Some(w) = by_slope(&setting, promise, (low, high)) {
        return Ok(w);
    }
    if excess(0.0)? <= 0.0 {
        return Ok(0.0);
    }
    let mut first = setting.scale().min(if middle.is_finite() { middle } else { f64::MAX });
    let mut below = 0.0;
    while excess(first)? > 0.0 {
        below = first;
        first = if middle.is_finite() { 0.5 * (first + middle) } else { 2.0 * first };
        if !first.is_finite() || (middle.is_finite() && middle - first <= SLIVER * middle) {
            return Ok(middle);
        }
    }
    search((below, first), &excess)
}

/// Returns the width by Newton's method on the logarithm of the risk; `None` unless its slope is known and the
/// steps close in. The logarithm falls ever faster, so that every step but the first comes from beyond the root.
fn by_slope(setting: &Setting, promise: f64, (low, high): (f64, f64)) -> Option<f64> {
    let widest = 0.5 * (high - low);
    let (mut inner, mut outer) = (0.0, widest);
    let mut w = 0.0;
    // The width and the logarithm's slope of the last round.
    let mut last: Option<(f64, f64)> = None;
    for _ in 0..ROUNDS {
        // What is left of so little hangs on the rounding of the limits: one value passes, which keeps any promise.
        if widest.is_finite() && widest - w <= SLIVER * widest {
            return Some(widest);
        }
        let acceptance = (low + w, high - w);
        let risk = setting.consumer(acceptance)?;
        if w == 0.0 && risk <= promise {
            return Some(w);
        }
        if risk > promise {
            inner = w
        } else {
            outer = w
        }
        let slope = setting.slope(acceptance)? / risk;
        let step = libm::log(risk / promise) / slope;
        let next = w + step;
        // What the step leaves is its square times half the curvature over the slope; before that is known, and
        // where next to nothing is accepted, at most 100 squares over the scale or over what is left of that.
        let room = widest - next;
        let bend = match last {
            Some((before, of)) if w != before => 2.0 * ((slope - of) / (w - before) / slope).abs(),
            _ => 100.0 / setting.scale(),
        };
        let left = step * step * bend.max(1.0 / room);
        last = Some((w, slope));
        let near = WIDTH * next.min(room);
        if (0.0..=near).contains(&left) {
            // A tangent lies above what falls ever faster: it ends on the side of the promise.
            return Some((next + near).min(widest));
        }
        w = if inner < next && next < outer { next } else { 0.5 * (inner + outer) };
        if !w.is_finite() {
            return None;
        }
    }
    None
}

/// Returns the smallest place of a falling function in a bracket at which it is not above 0: by false
/// position with halved weights, every third step a halving.
fn search(
    (mut low, mut high): (f64, f64),
    excess: &dyn Fn(f64) -> Result<f64, NoBand>,
) -> Result<f64, NoBand> {
    let (mut above, mut below) = (excess(low)?, excess(high)?);
    let mut last = None;
    for round in 0..ROUNDS {
        if high - low <= NEAR * high {
            break;
        }
        let secant = low + (high - low) * (above / (above - below));
        let inside = below.is_finite() && low < secant && secant < high;
        let mid = if inside && round % 3 != 2 { secant } else { 0.5 * (low + high) };
        if mid <= low || mid >= high {
            break;
        }
        let here = excess(mid)?;
        let beyond = here > 0.0;
        let same = last == Some(beyond);
        if beyond {
            (low, above) = (mid, here);
            below *= if same { 0.5 } else { 1.0 };
        } else {
            (high, below) = (mid, here);
            above *= if same { 0.5 } else { 1.0 };
        }
        last = Some(beyond);
        // A value a hair beyond the root closes the bracket from the other side.
        let hair = mid + if beyond { NEAR } else { -NEAR } * mid;
        if here.abs() < 1e-9 && hair > low && hair < high {
            let there = excess(hair)?;
            if there > 0.0 { (low, above) = (hair, there) } else { (high, below) = (hair, there) }
        }
    }
    Ok(high)
}

/// Returns the smallest guard band w ≥ 0, in SI, for which the specific risk with the population as prior
/// is at most `promise` at the acceptance limits (at the worse of two).
///
/// Method: M94.
///
/// # Errors
///
/// [`NoBand::Smallest`] with the smallest risk that any guard band reaches; [`NoBand::Unknown`] where a
/// risk is not known.
pub fn guard_band_for_posterior(
    promise: f64,
    prior: &Prior,
    tolerance: Sides,
    density: &Density,
) -> Result<f64, NoBand> {
    let (low, high) = ends(tolerance);
    let risk = |error: f64| posterior_risk(prior, error, tolerance, density).ok_or(NoBand::Unknown);
    let worst = |w: f64| -> Result<f64, NoBand> {
        let lower = if low.is_finite() { risk(low + w)? } else { 0.0 };
        let upper = if high.is_finite() { risk(high - w)? } else { 0.0 };
        Ok(lower.max(upper))
    };
    let scale = Setting::new(prior, tolerance, density).ok_or(NoBand::Unknown)?.scale();
    let wide = match (0.5 * (high - low)).is_finite() {
        true => 0.5 * (high - low),
        // With one limit: far beyond both population and measurement.
        false => {
            64.0 * scale + 64.0 * prior.sd() + (prior.mean() - low.max(-high)).abs().min(1e300)
        }
    };
    let (mut before, mut least) = (0.0, worst(0.0)?);
    if least <= promise {
        return Ok(0.0);
    }
    for place in 1..=PLACES {
        let w = wide * place as f64 / PLACES as f64;
        let here = worst(w)?;
        if here <= promise {
            let excess = |w: f64| Ok(worst(w)? - promise);
            return search((before, w), &excess);
        }
        (before, least) = (w, least.min(here));
    }
    Err(NoBand::Smallest(least))
}

/// Returns the guard band of the acceptance limit √(T² − U²), T being half the tolerance span: TUR·U·(1 −
/// √(1 − 1/TUR²)), without cancellation; `None` for a TUR below 1.
///
/// Source: root difference of squares, recalled from D. Deaver (1994).
///
/// Method: M95.
pub fn from_tur_quadrature(tur: f64, expanded: f64) -> Option<f64> {
    if tur.is_nan() || tur < 1.0 {
        return None;
    }
    let square = (1.0 / tur) * (1.0 / tur);
    // 1 − √(1 − x²) = x²/(1 + √(1 − x²)), and TUR·x² = x.
    Some(expanded * (1.0 / tur) / (1.0 + libm::sqrt(1.0 - square)))
}

/// Returns the guard band M·U with M = 1.04 − exp(0.38·ln TUR − 0.54), 0 where M is negative: a fit to the
/// width for which the consumer's risk is 2 % for the worst of all centred normal populations.
///
/// NaN unless the TUR is above 0: what is not known is no width of 0.
///
/// Source: recalled from M. Dobbert (2008).
pub fn from_tur_two_percent(tur: f64, expanded: f64) -> f64 {
    if tur.is_nan() || tur <= 0.0 {
        return f64::NAN;
    }
    let multiple = 1.04 - libm::exp(0.38 * libm::log(tur) - 0.54);
    expanded * multiple.max(0.0)
}
