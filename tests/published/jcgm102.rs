//! Several results of one budget: JCGM 102:2011, 9.2 and 9.5, and JCGM 100:2008, H.2, approach 1.

use super::expected::{check, example};
use super::show::shown;
use surebound::record::{Point, Results};

fn results(name: &str) -> (Point, Results) {
    let point = shown(&example(name)).points.remove(0);
    let results = point.results.clone().expect("the budget has results");
    (point, results)
}

fn r(results: &Results, a: usize, b: usize) -> f64 {
    results.correlation[a][b].expect("both have an uncertainty")
}

/// 9.2.2 to 9.2.4, tables 3 to 5, printed for the law of propagation: u, r, k_p and k_q; whether the
/// common input is normal or rectangular does not matter to it.
#[test]
fn two_sums_with_a_common_part() {
    for (name, u, coefficient) in [
        ("jcgm102-9.2.2", "1.414", "0.500"),
        ("jcgm102-9.2.3", "1.414", "0.500"),
        ("jcgm102-9.2.4", "3.162", "0.900"),
    ] {
        let (point, results) = results(name);
        let region = results.region.as_ref().expect("at 95 %");
        let figures = [
            ("u(Y1)", u, point.standard_uncertainty),
            ("u(Y2)", u, results.figures[0].standard_uncertainty),
            ("r(Y1, Y2)", coefficient, r(&results, 0, 1)),
            ("k_p", "2.45", region.ellipsoid_factor),
            ("k_q", "2.24", region.rectangle_factor),
        ];
        check(name, &figures);
        assert_eq!((region.quantities, results.independent), (2, 2));
    }
}

/// 9.5.2, tables 12 and 13, printed: θ = 20,023 2 °C with u = 0,004 5 °C from the correlated constants
/// of the thermometer.
#[test]
fn temperature_from_a_calibrated_thermometer() {
    let (_, results) = results("jcgm102-9.5");
    let theta = &results.figures[0];
    let figures = [
        ("θ", "20.0232", theta.estimate),
        ("u(θ)", "0.0045", theta.standard_uncertainty),
        ("r(R, θ)", "–", r(&results, 0, 1)),
    ];
    check("jcgm102-9.5", &figures);
    assert_eq!((theta.unit.as_str(), results.units[1].as_str()), ("°C", "°C"));
}

/// JCGM 100:2008, table H.4, printed: R, X and Z with u and all three r. They follow from two quantities,
/// V/I and φ, so only two of them vary independently; the readings are one component with 4 degrees of
/// freedom for each of them.
#[test]
fn resistance_reactance_and_impedance() {
    let (point, results) = results("jcgm100-h2");
    let (x, z) = (&results.figures[0], &results.figures[1]);
    let figures = [
        ("R", "127.732", point.estimate),
        ("u(R)", "0.071", point.standard_uncertainty),
        ("X", "219.847", x.estimate),
        ("u(X)", "0.295", x.standard_uncertainty),
        ("Z", "254.260", z.estimate),
        ("u(Z)", "0.236", z.standard_uncertainty),
        ("r(R, X)", "-0.588", r(&results, 0, 1)),
        ("r(R, Z)", "-0.485", r(&results, 0, 2)),
        ("r(X, Z)", "0.993", r(&results, 1, 2)),
        ("u(R, X)", "–", results.covariance[0][1]),
        ("u(R, Z)", "–", results.covariance[0][2]),
        ("u(X, Z)", "–", results.covariance[1][2]),
    ];
    check("jcgm100-h2", &figures);
    assert_eq!(results.independent, 2);
    for it in &results.figures {
        assert!((it.effective_dof.get() / 4.0 - 1.0).abs() < 1e-12, "{:?}", it.effective_dof);
    }
}
