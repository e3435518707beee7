//! JCGM 100:2008, annexes H.2 (simultaneous readings), H.3 (a line) and H.5 (analysis of variance).

use super::expected::{check, example};
use super::show::shown;
use surebound::record::{CommonData, Point};

fn only_point(name: &str) -> Point {
    shown(&example(name)).points.remove(0)
}

fn data(name: &str) -> CommonData {
    shown(&example(name)).data.expect("common data").remove(0)
}

/// Annex H.2, approach 1, tables H.2 to H.4: R, X and Z from the means of five simultaneous sets. One
/// component of variance with 4 degrees of freedom; k is that of t for them.
#[test]
fn quantities_from_means_of_simultaneous_readings() {
    for (name, estimate, u) in
        [("jcgm100-h2-reactance", "219.847", "0.295"), ("jcgm100-h2-impedance", "254.260", "0.236")]
    {
        let point = only_point(name);
        let figures = [
            ("estimate", estimate, point.estimate),
            ("u", u, point.standard_uncertainty),
            ("k at 95.45 %, ν = 4", "–", point.coverage_factor),
        ];
        check(name, &figures);
        assert!((point.effective_dof.get() - 4.0).abs() < 1e-11, "{name}");
    }
    let (name, data) = ("jcgm100-h2-resistance", data("jcgm100-h2-resistance"));
    let (point, r) = (only_point(name), data.correlation);
    let figures = [
        ("estimate", "127.732", point.estimate),
        ("u", "0.071", point.standard_uncertainty),
        ("k at 95.45 %, ν = 4", "–", point.coverage_factor),
        ("r(V, I)", "-0.36", r[0][1]),
        ("r(V, φ)", "0.86", r[0][2]),
        ("r(I, φ)", "-0.65", r[1][2]),
    ];
    check(name, &figures);
}

/// Annex H.2, approach 2, table H.5: R, X and Z from each set, then the mean of the five.
#[test]
fn quantities_row_by_row() {
    for (name, estimate, u) in [
        ("jcgm100-h2-resistance-rows", "127.732", "0.071"),
        ("jcgm100-h2-reactance-rows", "219.847", "0.295"),
        ("jcgm100-h2-impedance-rows", "254.260", "0.236"),
    ] {
        let point = only_point(name);
        let figures =
            [("estimate", estimate, point.estimate), ("u", u, point.standard_uncertainty)];
        check(name, &figures);
        assert_eq!(point.effective_dof.get(), 4.0);
    }
}

/// Annex H.3, clauses H.3.3 and H.3.4: the line, and the predicted correction at 30 °C.
#[test]
fn correction_of_a_thermometer() {
    let name = "jcgm100-h3";
    let (point, data) = (only_point(name), data(name));
    let fit = data.line.expect("a line");
    let figures = [
        ("y_1", "-0.1712", data.columns[0].estimate),
        ("s(y_1)", "0.0029", data.columns[0].standard_uncertainty),
        ("y_2", "0.00218", data.columns[1].estimate),
        ("s(y_2)", "0.00067", data.columns[1].standard_uncertainty),
        ("r(y_1, y_2)", "-0.930", data.correlation[0][1]),
        ("s", "0.0035", fit.residual_s.expect("from the residuals")),
        ("b(30)", "-0.1494", point.estimate),
        ("u_c(b(30))", "0.0041", point.standard_uncertainty),
        ("ν", "9", point.effective_dof.get()),
    ];
    check(name, &figures);
    assert_eq!((fit.x_from, fit.x_unit.as_str(), fit.residuals.len()), (20.0, "°C", 11));
    assert_eq!((fit.chi_squared, fit.chi_squared_probability), (None, None));
}

/// Annex H.5, clauses H.5.2.2 to H.5.2.5: means of ten days, the scatter between them and within.
#[test]
fn zener_standard_over_ten_days() {
    let name = "jcgm100-h5";
    let point = only_point(name);
    let u = point.standard_uncertainty * 1e6;
    // The contributor is shown in the measurand's unit, V.
    let found = point.contributors[0].analysis.as_ref().expect("groups");
    let within = found.within_s * 1e6;
    let f = found.f.expect("some scatter");
    let figures = [
        ("mean", "10.000097", point.estimate),
        ("s of the daily means", "57", u * 10f64.sqrt()),
        ("s_a", "128", within * f.sqrt()),
        ("s_b", "85", within),
        ("F", "2.25", f),
        ("s_B", "43", found.between_s.expect("above zero") * 1e6),
        ("u of the mean", "18", u),
        ("ν", "9", point.effective_dof.get()),
    ];
    check(name, &figures);
    let sizes = (found.groups, found.readings, found.within_dof.get(), found.between_dof.get());
    assert_eq!(sizes, (10, 50, 40.0, 9.0));
}
