//! EA-4/02 M:2022, examples S3 and S7.

use super::expected::{check, example};
use super::show::shown;

/// S3, printed: mean ratio 1,000 010 5 with s = 0,158e-6 and u = 0,0707e-6; R_X = 10 000,178 Ω, u =
/// 8,33 mΩ, k = 2, U = 17 mΩ. (Recalled; the arithmetic closes.)
#[test]
fn standard_resistor_by_substitution() {
    let point = &shown(&example("ea4-02-s3")).points[0];
    let ratio = &point.contributors[5];
    let u = point.standard_uncertainty;
    let figures = [
        ("mean ratio", "1.0000105", ratio.estimate),
        ("s of the ratio", "0.158", ratio.standard_uncertainty * libm::sqrt(5.0) * 1e6),
        ("u of the ratio", "0.0707", ratio.standard_uncertainty * 1e6),
        ("estimate", "10000.178", point.estimate),
        ("u", "8.33", u * 1e3),
        ("U", "17", point.expanded_uncertainty * 1e3),
    ];
    check("ea4-02-s3", &figures);
    assert_eq!(point.coverage_factor, 2.0);
    assert_eq!(point.coverage.probability, None, "only a factor is fixed");
}

/// S7, printed: L_X = 30,043 dB, u = 0,0224 dB, k = 2, U = 0,045 dB. (Recalled.) Reported as printed.
#[test]
fn step_attenuator() {
    let point = &shown(&example("ea4-02-s7")).points[0];
    let figures = [
        ("estimate", "30.043", point.estimate),
        ("u", "0.0224", point.standard_uncertainty),
        ("U", "0.045", point.expanded_uncertainty),
    ];
    check("ea4-02-s7", &figures);
    assert_eq!(point.reported.estimate_text(), "30.043");
    assert_eq!(point.reported.expanded_uncertainty_text(), "0.045");
}
