//! Specific risk: the probability, given the reading, that the true value lies outside the tolerance.
//!
//! From the distribution behind the decision ([`Density`]), centred on the measured value. Both tails
//! are taken from their own side and added, so that a risk of 1e-12 keeps its digits.
//!
//! Source: JCGM 106:2012, 7.2 and 7.3 (conformance probability), with the density in use for the normal.

use super::limits::{Limits, Side};
use crate::evidence::distribution::student;
use crate::propagate::Value;
use crate::propagate::density::Density;

/// Returns the probability that the true value lies outside `limits`, given the value `error`.
/// `None` where the density has no value.
///
/// Method: M28.
pub fn specific_risk(error: &Value, limits: &Limits, density: &Density) -> Option<f64> {
    let tail = |side: Side| match (limits.side(side), side) {
        (None, _) => Some(0.0),
        (Some(_), Side::Lower) => density.below(limits.margin(side, error)),
        (Some(_), Side::Upper) => density.above(limits.margin(side, error)),
    };
    let risk = tail(Side::Lower)? + tail(Side::Upper)?;
    risk.is_finite().then_some(risk.min(1.0))
}

/// Why no guard band keeps a promised risk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoGuardBand {
    /// The promise is not below 50 %: it would need a negative guard band.
    NotBelowHalf,
    /// The smallest reachable risk, in the middle of a two-sided tolerance.
    Smallest(f64),
    /// Uncertainty or degrees of freedom out of range.
    Unknown,
}

/// What the guard band is measured from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reach {
    /// A lower limit alone.
    Lower,
    /// An upper limit alone.
    Upper,
    /// Two limits, this far apart in SI.
    Both(f64),
}

/// Returns the guard band w ≥ 0, in SI, for which the specific risk at the acceptance limit (at the
/// worse of two) is `risk`.
///
/// Two-sided, the risk at the upper T − w is P(more than w above) + P(more than span − w below), and
/// the other way round at the lower one. It falls for w from 0 to span/2, where it is smallest.
///
/// Method: M25.
///
/// # Errors
///
/// See [`NoGuardBand`].
pub fn guard_band_for(risk: f64, reach: Reach, density: &Density) -> Result<f64, NoGuardBand> {
    if risk >= 0.5 {
        return Err(NoGuardBand::NotBelowHalf);
    }
    let above = |w: f64| density.above(w).ok_or(NoGuardBand::Unknown);
    let below = |w: f64| density.below(w).ok_or(NoGuardBand::Unknown);
    match reach {
        Reach::Upper => one_sided(risk, density, &above),
        Reach::Lower => one_sided(risk, density, &below),
        Reach::Both(span) => {
            let tails = |w: f64| -> Result<f64, NoGuardBand> {
                let upper = above(w)? + below(span - w)?;
                if density.is_symmetric() {
                    return Ok(upper);
                }
                Ok(upper.max(below(w)? + above(span - w)?))
            };
            let middle = 0.5 * span;
            let smallest = tails(middle)?;
            if risk < smallest {
                return Err(NoGuardBand::Smallest(smallest));
            }
            match density {
                Density::T { .. } => bisect(risk, (0.0, middle), &tails),
                _ => closed_in(risk, (0.0, middle), &tails),
            }
        }
    }
}

/// Returns the width beyond which one tail holds `risk`.
fn one_sided(
    risk: f64,
    density: &Density,
    tail: &dyn Fn(f64) -> Result<f64, NoGuardBand>,
) -> Result<f64, NoGuardBand> {
    if let Density::T { u, dof } = density {
        return student::upper_quantile(risk, *dof).map(|it| it * u).ok_or(NoGuardBand::Unknown);
    }
    let (mut low, mut high) = (0.0, density.scale().ok_or(NoGuardBand::Unknown)?);
    while tail(high)? > risk {
        low = high;
        high *= 2.0;
        if !high.is_finite() {
            return Err(NoGuardBand::Unknown);
        }
    }
    closed_in(risk, (low, high), tail)
}

/// Returns a width at which a falling tail is not above `risk`, 1e-12 of itself above the smallest one: by
/// false position with halved weights (Illinois), as a tail that is computed is dear; by halving the
/// exponent where the ends are far apart.
fn closed_in(
    risk: f64,
    (mut low, mut high): (f64, f64),
    tail: &dyn Fn(f64) -> Result<f64, NoGuardBand>,
) -> Result<f64, NoGuardBand> {
    let (mut above, mut below) = (tail(low)? - risk, tail(high)? - risk);
    if above <= 0.0 {
        return Ok(low);
    }
    // The side that the last step moved: an end that stays twice loses half of its weight.
    let mut last = None;
    for round in 0..200 {
        if high - low <= 1e-12 * high {
            break;
        }
        let secant = low + (high - low) * (above / (above - below));
        let inside = low < secant && secant < high;
        let mid = match () {
            () if low > 0.0 && high > 16.0 * low => low.sqrt() * high.sqrt(),
            // Every fourth step halves, so that the interval shrinks whatever the tail looks like.
            () if inside && round % 4 != 3 => secant,
            () => 0.5 * (low + high),
        };
        let excess = tail(mid)? - risk;
        let beyond = excess > 0.0;
        match (beyond, last == Some(beyond)) {
            (true, same) => {
                (low, above) = (mid, excess);
                below *= if same { 0.5 } else { 1.0 };
            }
            (false, same) => {
                (high, below) = (mid, excess);
                above *= if same { 0.5 } else { 1.0 };
            }
        }
        last = Some(beyond);
    }
    Ok(high)
}

/// Returns the smallest width, to the last bit, at which a falling tail is not above `risk`.
fn bisect(
    risk: f64,
    (mut low, mut high): (f64, f64),
    tail: &dyn Fn(f64) -> Result<f64, NoGuardBand>,
) -> Result<f64, NoGuardBand> {
    while low < high {
        let mid = 0.5 * (low + high);
        if mid <= low || mid >= high {
            break;
        }
        if tail(mid)? > risk { low = mid } else { high = mid }
    }
    Ok(high)
}

#[cfg(test)]
mod tests {
    use super::super::limits::Limit;
    use super::*;

    const NORMAL: f64 = f64::INFINITY;

    fn limits(lower: Option<f64>, upper: Option<f64>) -> Limits {
        Limits { lower: lower.map(Limit::computed), upper: upper.map(Limit::computed) }
    }

    fn t(u: f64, dof: f64) -> Density {
        Density::T { u, dof }
    }

    fn at(si: f64) -> Value {
        Value { si, exact: None }
    }

    fn risk(error: f64, lower: Option<f64>, upper: Option<f64>, u: f64) -> f64 {
        specific_risk(&at(error), &limits(lower, upper), &t(u, NORMAL)).unwrap()
    }

    /// JCGM 106:2012, 7.3, table 1: conformance probability 0.80 … 0.999 at z = 0.84 … 3.09. z is
    /// printed to two decimals, so the probability is met within 0.005 times the density at z.
    #[test]
    fn reproduces_table_1_of_jcgm_106() {
        for (z, conformance) in
            [(0.84, 0.80), (1.28, 0.90), (1.64, 0.95), (2.33, 0.99), (3.09, 0.999)]
        {
            let within = 0.005 * 0.398_942_280_401_432_7 * libm::exp(-0.5 * z * z) * 1.05;
            let got = 1.0 - risk(-z, None, Some(0.0), 1.0);
            assert!((got - conformance).abs() < within, "{z}: {got}");
        }
    }

    /// JCGM 106:2012, 7.3, example 1 (breakdown voltage of at most −5.40 V; −5.47 V, u 0.05 V: 0.92)
    /// and example 2 (burst strength of at least 490 kPa; 509.7 kPa, u 8.6 kPa: 0.99). Two digits.
    /// Method: M28.
    #[test]
    fn reproduces_examples_1_and_2_of_jcgm_106() {
        let diode = 1.0 - risk(-5.47, None, Some(-5.40), 0.05);
        let container = 1.0 - risk(509.7, Some(490.0), None, 8.6);
        assert!((diode - 0.92).abs() < 0.005, "{diode}");
        assert!((container - 0.99).abs() < 0.005, "{container}");
    }

    /// JCGM 106:2012, 7.7: at C_m = 1 (span 4u) the conformance probability is 95 % or more only in
    /// the middle tenth of the tolerance; at its edge, 0.449 of the span (scipy), just 95 %.
    #[test]
    fn both_tails_count_in_a_narrow_tolerance() {
        let middle = risk(0.0, Some(-2.0), Some(2.0), 1.0);
        assert!((middle - 0.045_500_263_896_358_42).abs() < 1e-14, "{middle}");
        let edge = risk(4.0 * 0.449_053_180_149 - 2.0, Some(-2.0), Some(2.0), 1.0);
        assert!((edge - 0.05).abs() < 1e-11, "{edge}");
    }

    /// Survival at 7: 1.279812543885835e-12 (mpmath, 30 digits). 1 − cdf would keep three digits.
    #[test]
    fn tiny_risks_keep_their_digits() {
        let got = risk(-7.0, None, Some(0.0), 1.0);
        assert!((got / 1.279_812_543_885_835e-12 - 1.0).abs() < 1e-9, "{got:e}");
    }

    #[test]
    fn the_risk_is_a_half_on_a_far_two_sided_limit_and_one_far_outside() {
        assert_eq!(risk(100.0, Some(-100.0), Some(100.0), 1.0), 0.5);
        assert_eq!(risk(1e6, Some(-100.0), Some(100.0), 1.0), 1.0);
        assert_eq!(specific_risk(&at(0.0), &limits(None, Some(1.0)), &t(0.0, NORMAL)), None);
    }

    /// Two-sided, normal: g with Φ(g) − Φ(g − span/u) = 0.95 by scipy.optimize.brentq (12 digits);
    /// span/u = 4·C_m. One-sided: the 95 % quantile 1.644853626951.
    /// Method: M25.
    #[test]
    fn guard_band_counts_both_tails() {
        for (capability, expected) in
            [(1.0, 1.796_212_720_6), (1.2, 1.652_901_024_21), (1.5, 1.644_918_116_9)]
        {
            let got = guard_band_for(0.05, Reach::Both(4.0 * capability), &t(1.0, NORMAL)).unwrap();
            assert!((got - expected).abs() < 1e-9, "{capability}: {got}");
        }
        for reach in [Reach::Upper, Reach::Lower] {
            let got = guard_band_for(0.05, reach, &t(2.0, NORMAL)).unwrap();
            assert!((got - 2.0 * 1.644_853_626_951).abs() < 1e-11, "{got}");
        }
    }

    /// One-sided over an exact distribution: t (ν = 4, scale 8) and a rectangle of half-width 3, in a unit of 1
    /// and one of 1e-6; widths by mpmath 1.3, 30 digits: mean of the tail of t over the rectangle, root.
    /// Method: M25.
    #[test]
    fn a_one_sided_guard_band_follows_the_exact_distribution() {
        use crate::evidence::{Distribution, Piece};
        use crate::propagate::exact::{Sum, Term};
        for unit in [1.0, 1e-6, 1e3] {
            let t = Piece::one(Distribution::T, 8.0 * unit, 4.0);
            let half = 3.0 / 3f64.sqrt();
            let step = Piece::one(Distribution::Rectangular, half * unit, f64::INFINITY);
            let sum = Sum::new(vec![Term::Piece(t), Term::Piece(step)]).unwrap();
            let density = Density::Exact(std::sync::Arc::new(sum));
            for (risk, expected) in [
                (0.05, 17.286_647_456_620_32),
                (0.01, 30.169_277_810_511_96),
                (0.3, 4.671_467_892_222_599),
                (1e-6, 332.645_327_724_050_9),
            ] {
                for reach in [Reach::Upper, Reach::Lower] {
                    let got = guard_band_for(risk, reach, &density).unwrap() / unit;
                    assert!((got / expected - 1.0).abs() < 1e-8, "{unit} {risk}: {got}");
                }
            }
        }
    }

    /// The promise is kept, on both limits, for t too: a property, no outside figure needed.
    #[test]
    fn the_risk_at_the_acceptance_limit_is_the_promised_one() {
        for dof in [1.0, 3.0, 9.5, 120.0, NORMAL] {
            for promise in [0.2, 0.05, 0.02, 1e-3] {
                let zone = limits(Some(-1.0), Some(3.0));
                let Ok(w) = guard_band_for(promise, Reach::Both(4.0), &t(0.3, dof)) else {
                    let middle = specific_risk(&at(1.0), &zone, &t(0.3, dof)).unwrap();
                    assert!(middle > promise, "{dof} {promise}");
                    continue;
                };
                for error in [3.0 - w, -1.0 + w] {
                    let got = specific_risk(&at(error), &zone, &t(0.3, dof)).unwrap();
                    assert!((got / promise - 1.0).abs() < 1e-9, "{dof} {promise}: {got}");
                }
            }
        }
    }

    /// An asymmetric density, (1 + X)·(1 + Y) − 1 with rectangles: the promise is kept at the worse limit,
    /// and no smaller width keeps it; one-sided limits have widths of their own. A property, no outside figure.
    #[test]
    fn an_asymmetric_density_has_a_guard_band_for_either_limit() {
        use crate::evidence::{Distribution, Piece};
        use crate::propagate::exact::{Arm, Sum, Term};
        let piece = |u: f64| Piece::one(Distribution::Rectangular, u, NORMAL);
        let arm = Arm { slope: 1.0, product: 1.0, pieces: vec![piece(0.4)] };
        let term = Term::Star { centre: piece(0.3), slope: 1.0, arms: vec![arm] };
        let density = Density::Exact(std::sync::Arc::new(Sum::new(vec![term]).unwrap()));
        let of = |reach| guard_band_for(0.05, reach, &density).unwrap();
        let (upper, lower, both) = (of(Reach::Upper), of(Reach::Lower), of(Reach::Both(2.4)));
        assert!(upper > 1.05 * lower, "{upper} {lower}");
        assert!((density.above(upper).unwrap() / 0.05 - 1.0).abs() < 1e-9);
        assert!((density.below(lower).unwrap() / 0.05 - 1.0).abs() < 1e-9);
        let zone = limits(Some(-1.2), Some(1.2));
        let risk = |error: f64| specific_risk(&at(error), &zone, &density).unwrap();
        let worse = |w: f64| risk(1.2 - w).max(risk(w - 1.2));
        assert!((worse(both) / 0.05 - 1.0).abs() < 1e-9, "{both}");
        assert!(worse(0.999 * both) > 0.05 && both >= upper);
        // Not below what is beyond the estimate already: then no band is needed.
        let little = density.above(0.0).unwrap().min(density.below(0.0).unwrap());
        assert!(little < 0.5);
        let none = match density.above(0.0).unwrap() < 0.5 {
            true => Reach::Upper,
            false => Reach::Lower,
        };
        let promise = 0.5 * (little + 0.5);
        assert_eq!(guard_band_for(promise, none, &density), Ok(0.0));
    }

    #[test]
    fn refuses_promises_that_no_guard_band_keeps() {
        for promise in [0.5, 0.7] {
            let refused = guard_band_for(promise, Reach::Upper, &t(1.0, NORMAL));
            assert_eq!(refused, Err(NoGuardBand::NotBelowHalf));
        }
        let Err(NoGuardBand::Smallest(smallest)) =
            guard_band_for(0.04, Reach::Both(4.0), &t(1.0, NORMAL))
        else {
            panic!("a risk below that of the middle was promised");
        };
        assert!((smallest - 0.045_500_263_896_358_42).abs() < 1e-14, "{smallest}");
    }
}
