//! JCGM 106:2012: conformance probabilities of clause 7 and the guarded acceptance of 8.3.2.

use super::expected::{check, example, rounds_to};
use super::judge::judged;
use super::show::shown;
use surebound::record::Verdict;

/// Clause 7.3, example 1, printed: reading −5,47 V, u = 0,05 V, at most −5,40 V: z = 1,40 and a
/// conformance probability of 0,92.
#[test]
fn breakdown_voltage_of_a_zener_diode() {
    let text = example("jcgm106-7.3-example-1");
    let decision = judged(&text, "", "-5.47 V");
    let risk = decision.specific_risk.unwrap();
    let u = shown(&text).points[0].standard_uncertainty;
    let error = decision.readings.unwrap()[0].error;
    let figures = [
        ("z", "1.40", (-5.40 - error) / u),
        ("conformance probability", "0.92", 1.0 - risk),
        ("specific risk", "–", risk),
    ];
    check("jcgm106-7.3-example-1", &figures);
    assert_eq!(decision.verdict, Some(Verdict::Pass));
}

/// Clause 7.3, example 2, printed: reading 509,7 kPa, u = 8,6 kPa, at least 490 kPa: z = 2,3 and a
/// conformance probability of 0,99.
#[test]
fn bursting_strength_of_a_container() {
    let text = example("jcgm106-7.3-example-2");
    let decision = judged(&text, "", "509.7 kPa");
    let risk = decision.specific_risk.unwrap();
    let u = shown(&text).points[0].standard_uncertainty;
    let error = decision.readings.unwrap()[0].error;
    let figures = [
        ("z", "2.3", (error - 490.0) / u),
        ("conformance probability", "0.99", 1.0 - risk),
        ("specific risk", "–", risk),
    ];
    check("jcgm106-7.3-example-2", &figures);
    assert_eq!(decision.verdict, Some(Verdict::Pass));
}

/// Clause 7.3, table 1, printed: conformance probabilities 0,80, 0,90, 0,95, 0,99 and 0,999 for z =
/// 0,84, 1,28, 1,64, 2,33 and 3,09, one-sided. The probability at a reading z·u inside the limit has
/// to lie where half a unit of z's last digit either way lets it.
#[test]
fn conformance_probabilities_of_table_1() {
    let text = "surebound: 1\ntitle: One limit\nmeasurand: {symbol: X, name: Length, unit: mm}\n\
         contributors: [{name: All, standard_uncertainty: 1 mm}]\n\
         tolerance: at most 0 mm\ndecision: {rule: simple}\n";
    let table =
        [("0.80", "0.84"), ("0.90", "1.28"), ("0.95", "1.64"), ("0.99", "2.33"), ("0.999", "3.09")];
    for (probability, z) in table {
        let at = |digit: &str| {
            let decision = judged(text, "", &format!("-{z}{digit} mm"));
            1.0 - decision.specific_risk.unwrap()
        };
        let below = {
            let z: f64 = z.parse().unwrap();
            1.0 - judged(text, "", &format!("{:.3} mm", -(z - 0.005))).specific_risk.unwrap()
        };
        let printed: f64 = probability.parse().unwrap();
        assert!(below <= printed && printed <= at("5"), "{z}: {below} to {}", at("5"));
        assert!(rounds_to(at(""), probability), "{z}: {}", at(""));
    }
}

/// Both limits count: a reading in the middle of ±2u has the risk 1 − 0.9545 (JCGM 106, 7.4; the
/// probability of two standard deviations of a normal quantity, erf(√2)).
#[test]
fn both_limits_add_to_the_risk() {
    let text = "surebound: 1\ntitle: Two limits\nmeasurand: {symbol: X, name: Length, unit: mm}\n\
         contributors: [{name: All, standard_uncertainty: 1 mm}]\n\
         tolerance: ±2 mm\ndecision: {rule: simple}\n";
    let risk = judged(text, "", "0 mm").specific_risk.unwrap();
    let expected = libm::erfc(std::f64::consts::SQRT_2);
    assert!((risk / expected - 1.0).abs() < 1e-13, "{risk}, {expected}");
}

/// Clause 8.3.2, printed: with w = U and U = 2u the probability of false acceptance is at most 2,3 %,
/// reached on the acceptance limit. U at 95.45 % has k = 2.0000024: the limit is 7.9999976 mm, and
/// 8 mm itself fails by 2.4 nm.
#[test]
fn guarded_acceptance_of_an_upper_limit() {
    let text = example("jcgm106-8.3.2");
    let decision = judged(&text, "", "8 mm");
    let acceptance = decision.acceptance.unwrap().upper.unwrap();
    let figures = [
        ("acceptance limit", "–", acceptance),
        ("specific risk", "2.3", decision.specific_risk.unwrap() * 100.0),
    ];
    check("jcgm106-8.3.2", &figures);
    assert_eq!(decision.verdict, Some(Verdict::Fail));
    assert_eq!(judged(&text, "", "7.9999975 mm").verdict, Some(Verdict::Pass));
    // The risk of whatever passes is no more than on the limit.
    for reading in ["7.99999755 mm", "7.9 mm", "5 mm"] {
        let decision = judged(&text, "", reading);
        assert_eq!(decision.verdict, Some(Verdict::Pass));
        assert!(decision.specific_risk.unwrap() <= 0.02275014);
    }
}
