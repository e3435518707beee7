//! JCGM 100:2008: the examples of clauses 4, 5.2.2 and 7.2.2, of F.2.2.1 and G.4.1.

use super::expected::{check, example};
use super::show::shown;
use surebound::record::Point;

fn only_point(name: &str) -> Point {
    shown(&example(name)).points.remove(0)
}

/// Clause 4.3.3, printed: U = 240 µg is three standard deviations, so u = 80 µg; u/m = 80e-9.
#[test]
fn mass_standard_with_three_sigma() {
    let point = only_point("jcgm100-4.3.3");
    let (u, m) = (point.standard_uncertainty, point.estimate);
    check("jcgm100-4.3.3", &[("u", "80", u * 1e6), ("u/m", "80", u / m * 1e9)]);
}

/// Clause 4.3.4, printed: 129 µΩ at 99 %, so k = 2,58, u = 50 µΩ and u/R = 5,0e-6.
#[test]
fn resistor_with_an_interval_of_99_percent() {
    let point = only_point("jcgm100-4.3.4");
    let u = point.standard_uncertainty;
    let figures =
        [("k", "2.58", 129e-6 / u), ("u", "50", u * 1e6), ("u/R", "5.0", u / point.estimate * 1e6)];
    check("jcgm100-4.3.4", &figures);
}

/// Clause 4.3.5, printed: l = 10,11 mm within ±0,04 mm with even odds: u = 1,48·0,04 = 0,06 mm, and
/// u² = 3,5e-3 mm². The midpoint of the limits is the estimate.
#[test]
fn length_with_even_odds() {
    let point = only_point("jcgm100-4.3.5");
    let u = point.standard_uncertainty;
    let figures = [
        ("estimate", "10.11", point.estimate),
        ("1/k", "1.48", u / 0.04),
        ("u", "0.06", u),
        ("u²", "3.5", u * u * 1e3),
    ];
    check("jcgm100-4.3.5", &figures);
}

/// Clause 4.3.7, example 1, printed: ±0,40e-6 rectangular: u = 0,23e-6 K⁻¹, u² = 53,3e-15 K⁻².
#[test]
fn expansion_of_copper_rectangular() {
    let u = only_point("jcgm100-4.3.7-example-1").standard_uncertainty;
    check("jcgm100-4.3.7-example-1", &[("u", "0.23", u), ("u²", "53.3", u * u * 1e3)]);
}

/// Clauses 4.3.7, example 2, and 5.1.5, printed: limit 15 µV, its u 8,7 µV, u_c² = 219 µV², u_c =
/// 15 µV, u_c/V = 16e-6.
#[test]
fn digital_voltmeter() {
    let point = only_point("jcgm100-4.3.7-example-2");
    let limits = point.contributors[1].standard_uncertainty;
    assert_eq!(point.contributors[1].unit, "µV");
    let u = point.standard_uncertainty;
    let figures = [
        ("limit", "15", limits * libm::sqrt(3.0)),
        ("u of the limit", "8.7", limits),
        ("u_c²", "219", u * u),
        ("u_c", "15", u),
        ("u_c/V", "16", u / point.estimate * 1e6),
    ];
    check("jcgm100-4.3.7-example-2", &figures);
}

/// Clause 4.3.8, printed: limits 16,40e-6 and 16,92e-6 around 16,52e-6: u = 0,15e-6. The Guide keeps
/// 16,52e-6 as the estimate; here the midpoint of uneven limits is an estimate and moves it to 16.66e-6.
#[test]
fn expansion_of_copper_with_uneven_limits() {
    let point = only_point("jcgm100-4.3.8");
    let figures =
        [("u", "0.15", point.standard_uncertainty), ("estimate", "16.52", point.estimate)];
    check("jcgm100-4.3.8", &figures);
    let added = point.contributors[0].estimate;
    assert!((added - 0.14).abs() < 1e-15, "the midpoint is shown as an estimate: {added}");
}

/// Clause 4.4.3 and table 1, printed: mean 100,145 °C, s = 1,489 °C, u = 0,333 °C of 20 readings.
#[test]
fn temperature_from_twenty_readings() {
    let point = only_point("jcgm100-4.4.3");
    let u = point.standard_uncertainty;
    let figures = [
        ("estimate", "100.145", point.estimate),
        ("s", "1.489", u * libm::sqrt(20.0)),
        ("u", "0.333", u),
    ];
    check("jcgm100-4.4.3", &figures);
    assert_eq!(point.effective_dof.get(), 19.0);
}

/// Clause 4.4.5, printed: bounds 96 °C and 104 °C, rectangular: 100 °C and u = 2,3 °C.
#[test]
fn temperature_between_bounds_rectangular() {
    let point = only_point("jcgm100-4.4.5");
    let figures = [("estimate", "100", point.estimate), ("u", "2.3", point.standard_uncertainty)];
    check("jcgm100-4.4.5", &figures);
}

/// Clause 4.4.6, printed: the same bounds, triangular: u = 1,6 °C.
#[test]
fn temperature_between_bounds_triangular() {
    let point = only_point("jcgm100-4.4.6");
    assert_eq!(point.estimate, 100.0);
    check("jcgm100-4.4.6", &[("u", "1.6", point.standard_uncertainty)]);
}

/// Clause 5.2.2, note 1, printed: ten resistors compared with one standard, r = +1: 10 kΩ and u_c =
/// 1 Ω; 0,32 Ω, were they uncorrelated. The correlations make up nine tenths of u².
#[test]
fn ten_resistors_from_one_standard() {
    let point = only_point("jcgm100-5.2.2");
    let squares: f64 = point.contributors.iter().map(|it| it.contribution * it.contribution).sum();
    let figures = [
        ("estimate", "10", point.estimate / 1e3),
        ("u_c, r = 1", "1", point.standard_uncertainty),
        ("u_c, were they uncorrelated", "0.32", libm::sqrt(squares)),
    ];
    check("jcgm100-5.2.2", &figures);
    assert!((point.correlation_share - 0.9).abs() < 1e-12, "{}", point.correlation_share);
}

/// Clauses 7.2.2 and 7.2.4, printed: u_c = 0,35 mg with 9 degrees of freedom at 95 %: k = 2,26 and
/// U = 0,79 mg. Reported: m = 100,021 47 g and U = 0,000 79 g.
#[test]
fn mass_standard_as_reported() {
    let point = only_point("jcgm100-7.2.2");
    let figures =
        [("k", "2.26", point.coverage_factor), ("U", "0.79", point.expanded_uncertainty * 1e3)];
    check("jcgm100-7.2.2", &figures);
    assert_eq!(point.reported.estimate_text(), "100.02147");
    assert_eq!(point.reported.expanded_uncertainty_text(), "0.00079");
    assert_eq!(point.reported.coverage_factor_text(), "2.26");
}

/// Clause F.2.2.1, printed: u = 0,29 times the step.
#[test]
fn digital_step_of_one_gram() {
    check("jcgm100-f.2.2.1", &[("u", "0.29", only_point("jcgm100-f.2.2.1").standard_uncertainty)]);
}

/// Clause G.4.1, printed: u_c/y = 1,03 %, ν_eff = 19,0, t_95(19) = 2,09, U = 2,2 %. Unrounded, ν_eff
/// is 18.9987, which truncates to 18: k = 2.10 and not 2,09; U is 2,2 % either way.
#[test]
fn product_of_three_quantities() {
    let point = only_point("jcgm100-g.4.1");
    let figures = [
        ("u_c/y", "1.03", point.standard_uncertainty / point.estimate * 100.0),
        ("ν_eff", "19.0", point.effective_dof.get()),
        ("k", "2.09", point.coverage_factor),
        ("U", "2.2", point.expanded_uncertainty * 100.0),
    ];
    check("jcgm100-g.4.1", &figures);
}
