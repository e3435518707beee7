//! Specific risk: the probability, given the reading, that the true value lies outside the tolerance.
//!
//! Student's t with the scale u and ν degrees of freedom, centred on the measured value. Both tails
//! are survival functions and are added, so that a risk of 1e-12 keeps its digits.
//!
//! Source: JCGM 106:2012, 7.2 and 7.3 (conformance probability), with t for the normal.

use super::limits::{Limits, Side};
use crate::evidence::distribution::student;
use crate::propagate::Value;

/// Returns the probability that the true value lies outside `limits`, given the value `error`;
/// `u` > 0 in SI, `dof` from 1 to infinite. `None` where `u` or `dof` is out of range.
///
/// Method: M28.
pub fn specific_risk(error: &Value, limits: &Limits, u: f64, dof: f64) -> Option<f64> {
    if !(u > 0.0 && u.is_finite()) {
        return None;
    }
    let tail = |side: Side| match limits.side(side) {
        None => Some(0.0),
        Some(_) => student::survival(limits.margin(side, error) / u, dof),
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

/// Returns the guard band w ≥ 0, in the unit of `u`, for which the specific risk at the acceptance
/// limit is `risk`. `span`: upper less lower limit, `None` for a one-sided tolerance.
///
/// Two-sided, the risk at T − w is S(w/u) + S((span − w)/u): the same at both limits, whatever the
/// tolerance, since t is symmetric. It falls for w from 0 to span/2, where it is smallest.
///
/// Method: M25.
///
/// # Errors
///
/// See [`NoGuardBand`].
pub fn guard_band_for(risk: f64, span: Option<f64>, u: f64, dof: f64) -> Result<f64, NoGuardBand> {
    if risk >= 0.5 {
        return Err(NoGuardBand::NotBelowHalf);
    }
    let one_sided = student::upper_quantile(risk, dof).ok_or(NoGuardBand::Unknown)?;
    let Some(span) = span.map(|it| it / u) else { return Ok(one_sided * u) };
    let tails = |w: f64| {
        let both = student::survival(w, dof).zip(student::survival(span - w, dof));
        both.map(|(near, far)| near + far).ok_or(NoGuardBand::Unknown)
    };
    let middle = 0.5 * span;
    let smallest = tails(middle)?;
    if risk < smallest {
        return Err(NoGuardBand::Smallest(smallest));
    }
    // The second tail only widens the band: the one-sided width is a lower end.
    let (mut low, mut high) = (one_sided.min(middle), middle);
    while low < high {
        let mid = 0.5 * (low + high);
        if mid <= low || mid >= high {
            break;
        }
        if tails(mid)? > risk { low = mid } else { high = mid }
    }
    Ok(high * u)
}

#[cfg(test)]
mod tests {
    use super::super::limits::Limit;
    use super::*;

    const NORMAL: f64 = f64::INFINITY;

    fn limits(lower: Option<f64>, upper: Option<f64>) -> Limits {
        Limits { lower: lower.map(Limit::computed), upper: upper.map(Limit::computed) }
    }

    fn at(si: f64) -> Value {
        Value { si, exact: None }
    }

    fn risk(error: f64, lower: Option<f64>, upper: Option<f64>, u: f64) -> f64 {
        specific_risk(&at(error), &limits(lower, upper), u, NORMAL).unwrap()
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
        assert_eq!(specific_risk(&at(0.0), &limits(None, Some(1.0)), 0.0, NORMAL), None);
    }

    /// Two-sided, normal: g with Φ(g) − Φ(g − span/u) = 0.95 by scipy.optimize.brentq (12 digits);
    /// span/u = 4·C_m. One-sided: the 95 % quantile 1.644853626951.
    /// Method: M25.
    #[test]
    fn guard_band_counts_both_tails() {
        for (capability, expected) in
            [(1.0, 1.796_212_720_6), (1.2, 1.652_901_024_21), (1.5, 1.644_918_116_9)]
        {
            let got = guard_band_for(0.05, Some(4.0 * capability), 1.0, NORMAL).unwrap();
            assert!((got - expected).abs() < 1e-9, "{capability}: {got}");
        }
        let got = guard_band_for(0.05, None, 2.0, NORMAL).unwrap();
        assert!((got - 2.0 * 1.644_853_626_951).abs() < 1e-11, "{got}");
    }

    /// The promise is kept, on both limits, for t too: a property, no outside figure needed.
    #[test]
    fn the_risk_at_the_acceptance_limit_is_the_promised_one() {
        for dof in [1.0, 3.0, 9.5, 120.0, NORMAL] {
            for promise in [0.2, 0.05, 0.02, 1e-3] {
                let zone = limits(Some(-1.0), Some(3.0));
                let Ok(w) = guard_band_for(promise, Some(4.0), 0.3, dof) else {
                    let middle = specific_risk(&at(1.0), &zone, 0.3, dof).unwrap();
                    assert!(middle > promise, "{dof} {promise}");
                    continue;
                };
                for error in [3.0 - w, -1.0 + w] {
                    let got = specific_risk(&at(error), &zone, 0.3, dof).unwrap();
                    assert!((got / promise - 1.0).abs() < 1e-9, "{dof} {promise}: {got}");
                }
            }
        }
    }

    #[test]
    fn refuses_promises_that_no_guard_band_keeps() {
        for promise in [0.5, 0.7] {
            let refused = guard_band_for(promise, None, 1.0, NORMAL);
            assert_eq!(refused, Err(NoGuardBand::NotBelowHalf));
        }
        let Err(NoGuardBand::Smallest(smallest)) = guard_band_for(0.04, Some(4.0), 1.0, NORMAL)
        else {
            panic!("a risk below that of the middle was promised");
        };
        assert!((smallest - 0.045_500_263_896_358_42).abs() < 1e-14, "{smallest}");
    }
}
