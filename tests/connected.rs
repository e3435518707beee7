//! Data that belong together, through the public path YAML → record: readings in groups, simultaneous
//! readings, calibration lines, and what is found out about them.
//!
//! Figures are by hand, with the arithmetic beside them, or certified by NIST StRD.
#![allow(clippy::unwrap_used)]

#[path = "common/show.rs"]
mod show;

use approx::assert_relative_eq;
use show::{budget, evaluated, shown};
use surebound::advise;
use surebound::record::{DataKind, Grouping, Owner, Point, Section};

/// A budget of dimension one: model and what follows.
fn plain(model: &str, rest: &str) -> Section {
    shown(&format!(
        "surebound: 1\ntitle: t\nmeasurand: {{symbol: q, name: q, unit: 1}}\nmodel: {model}\n{rest}\n"
    ))
}

fn point(model: &str, rest: &str) -> Point {
    plain(model, rest).points.remove(0)
}

const LINE: &str = "lines:\n  - {name: Line, intercept: a, slope: b, x_values: [0, 1, 2, 3], x_unit: 1, y_values: [1, 2, 2, 5], y_unit: 1";

/// The line of [`LINE`] with more keys.
fn line(more: &str) -> String {
    format!("{LINE}{more}}}")
}

/// Groups 1, 3 and 4, 6: means 2 and 5, MS_W = (2 + 2)/2 = 2 with ν = 2, MS_B = 2·(2.25 + 2.25)/1 = 9 with
/// ν = 1, s_B² = (9 − 2)/2 = 3.5. A later single reading: s² = 3.5 + 2 = 4.5 + 1, ν = 5.5²/(4.5²/1 + 1²/2); a later
/// mean of two in one group: s² = 3.5 + 1, ν = 1; the mean of the means, 3.5: s² = 4.5/2, ν = 1. Pooled: s² = 2, or
/// 2/8, with ν = 2.
///
/// Method: M73.
#[test]
fn groups_give_the_scatter_that_is_asked_for() {
    let cases = [
        ("components", "single", 0.0, 5.5, 30.25 / 20.75),
        ("components", "{mean_of: 2}", 0.0, 4.5, 1.0),
        ("components", "result", 3.5, 2.25, 1.0),
        ("pooled", "single", 0.0, 2.0, 2.0),
        ("pooled", "{mean_of: 8}", 0.0, 0.25, 2.0),
    ];
    for (groups, usage, estimate, variance, dof) in cases {
        let zero = if usage == "result" { "" } else { ", estimate: 0" };
        let rest = format!(
            "contributors: [{{name: g, adds_to: x, readings: [[1, 3], [4, 6]], unit: 1, use: {usage}, groups: {groups}{zero}}}]"
        );
        let got = point("x", &rest);
        assert_eq!(got.estimate, estimate, "{groups} {usage}");
        assert_relative_eq!(got.standard_uncertainty, libm::sqrt(variance), max_relative = 1e-15);
        assert_relative_eq!(got.effective_dof.get(), dof, max_relative = 1e-14);
        let found = got.contributors[0].analysis.as_ref().unwrap();
        let grouping = if groups == "pooled" { Grouping::Pooled } else { Grouping::Components };
        assert_eq!((found.grouping, found.groups, found.readings), (grouping, 2, 4));
        assert_eq!((found.between_variance, found.f), (3.5, Some(4.5)));
        assert_relative_eq!(found.within_s, libm::sqrt(2.0), max_relative = 1e-15);
    }
}

/// Two equal groups 1, 3: MS_B = 0, so s_B² = −1, counted as 0: a single reading has s² = MS_W = 2, the mean
/// of the means s² = 2/4, both with ν = 2.
#[test]
fn a_negative_variance_between_groups_is_shown_and_counts_as_zero() {
    for (usage, variance) in [("single, estimate: 0", 2.0), ("result", 0.5)] {
        let rest = format!(
            "contributors: [{{name: g, adds_to: x, readings: [[1, 3], [1, 3]], unit: 1, groups: components, use: {usage}}}]"
        );
        let got = point("x", &rest);
        assert_relative_eq!(got.standard_uncertainty, libm::sqrt(variance), max_relative = 1e-15);
        assert_eq!(got.effective_dof.get(), 2.0);
        let found = got.contributors[0].analysis.as_ref().unwrap();
        assert_eq!((found.between_variance, found.between_s), (-1.0, None));
        assert_eq!((found.f, found.f_probability), (Some(0.0), Some(1.0)));
    }
}

/// Units at each reading, groups of different size, and the contributor's unit in the record.
#[test]
fn groups_take_units_as_plain_readings_do() {
    let text = |readings: &str, unit: &str| {
        format!(
            "surebound: 1\ntitle: t\nmeasurand: {{symbol: q, name: q, unit: µm}}\ncontributors: [{{name: g, readings: {readings}{unit}, use: single, groups: components}}]\n"
        )
    };
    let one = shown(&text("[[1, 3, 2], [4, 6]]", ", unit: µm"));
    let other = shown(&text("[[1 µm, 0.003 mm, 2 µm], [4000 nm, 6 µm]]", ""));
    assert_eq!(one.points, other.points);
    let found = one.points[0].contributors[0].analysis.as_ref().unwrap();
    // MS_W = (1 + 1 + 0 + 1 + 1)/3 µm².
    assert_relative_eq!(found.within_s, libm::sqrt(4.0 / 3.0), max_relative = 1e-14);
}

/// Rows (1, 5), (2, 5), (3, 8): covariances of the means S/(3·2) with S_xx = 2, S_yy = 6, S_xy = 3: x + y has
/// u² = 1/3 + 1 + 2/2 = 7/3, one component with ν = 2. Beside it on x: u = 1 with ν = 10. u² = 10/3,
/// ν = (10/3)²/((7/3)²/2 + 1/10).
///
/// Method: M57.
#[test]
fn simultaneous_readings_are_one_component_beside_others() {
    let rest = "observations: [{inputs: [x, y], units: [1, 1], rows: [[1, 5], [2, 5], [3, 8]]}]\n\
                contributors: [{name: other, adds_to: x, standard_uncertainty: 1, dof: 10}]";
    let section = plain("x + y", rest);
    let got = &section.points[0];
    assert_eq!(got.estimate, 8.0);
    assert_relative_eq!(got.standard_uncertainty, libm::sqrt(10.0 / 3.0), max_relative = 1e-14);
    let dof = (100.0 / 9.0) / (49.0 / 18.0 + 0.1);
    assert_relative_eq!(got.effective_dof.get(), dof, max_relative = 1e-13);
    let data = &section.data.as_ref().unwrap()[0];
    assert_eq!((data.kind, data.n, data.owner), (DataKind::Observations, 3, Owner::Laboratory));
    let inputs: Vec<_> = data.columns.iter().map(|it| (it.input.as_str(), it.estimate)).collect();
    assert_eq!(inputs, [("x", 2.0), ("y", 6.0)]);
    assert_relative_eq!(data.correlation[0][1], libm::sqrt(0.75), max_relative = 1e-15);
    assert_eq!((data.dof.get(), &data.line), (2.0, &None));
}

/// y = 2x in every row: x·y = 2x² with u(x) = 1/√3 at 2: u = 8/√3 to first order; the second order adds
/// ½·4²·u⁴ = 8/9 and shifts by ½·4·u² = 2/3. What cancels exactly has u = 0.
#[test]
fn perfectly_collinear_columns_are_taken_as_they_are() {
    let rows =
        |rows: &str| format!("observations: [{{inputs: [x, y], units: [1, 1], rows: {rows}}}]");
    let rest = rows("[[1, 2], [2, 4], [3, 6]]");
    let got = point("x * y", &format!("order: first\n{rest}"));
    assert_relative_eq!(got.standard_uncertainty, 8.0 / libm::sqrt(3.0), max_relative = 1e-14);
    assert_eq!(got.effective_dof.get().round(), 2.0);
    let got = point("x * y", &format!("order: second\n{rest}"));
    let u = libm::sqrt(64.0 / 3.0 + 8.0 / 9.0);
    assert_relative_eq!(got.standard_uncertainty, u, max_relative = 1e-13);
    assert_relative_eq!(got.second_order_shift.unwrap(), 2.0 / 3.0, max_relative = 1e-13);
    let rest = rows("[[1, 3], [2, 2], [3, 1]]");
    let section = plain("x + y", &rest);
    assert_eq!(section.data.as_ref().unwrap()[0].correlation[0][1], -1.0);
    assert!(section.points[0].standard_uncertainty < 1e-8);
    assert_eq!(section.points[0].estimate, 4.0);
}

/// Points (0, 1), (1, 2), (2, 2), (3, 5): slope 6/5, intercept 7/10, s² = 9/10 with ν = 2, x̄ = 3/2, S_xx = 5. A
/// later observation at 4: 5.5 with u² = s²·(1 + 1/4 + 2.5²/5) = 2.25; the line itself: 2.25 − 0.9.
#[test]
fn predictions_do_not_depend_on_where_the_intercept_is_taken() {
    for from in ["0", "1.5", "4", "-100"] {
        let more = format!(", residual: e, x_from: {from}");
        let got = point(&format!("a + b * (4 - ({from})) + e"), &line(&more));
        assert_relative_eq!(got.estimate, 5.5, max_relative = 1e-14);
        assert_relative_eq!(got.standard_uncertainty, 1.5, max_relative = 1e-11);
        assert_relative_eq!(got.effective_dof.get(), 2.0, max_relative = 1e-11);
        let got = point(&format!("a + b * (4 - ({from}))"), &line(&format!(", x_from: {from}")));
        let u = libm::sqrt(1.35);
        assert_relative_eq!(got.standard_uncertainty, u, max_relative = 1e-11);
    }
}

/// The same line read backwards: an observation of 3.1 is x = 2, u² = (s/slope)²·(1 + 1/4 + 0.5²/5) = 0.625·1.3
/// to first order.
#[test]
fn a_line_is_read_backwards_through_the_model() {
    for from in ["0", "1.5", "4"] {
        let more = format!(", residual: e, x_from: {from}");
        let model = format!("{from} + (3.1 - e - a) / b");
        let got = point(&model, &format!("order: first\n{}", line(&more)));
        assert_relative_eq!(got.estimate, 2.0, max_relative = 1e-14);
        assert_relative_eq!(got.standard_uncertainty, libm::sqrt(0.8125), max_relative = 1e-13);
        assert_relative_eq!(got.effective_dof.get(), 2.0, max_relative = 1e-13);
    }
}

/// A later observation scatters anew at each point; the line is the same at all.
#[test]
fn only_the_residual_is_not_shared() {
    let got = point("a + b + e", &line(", residual: e, owner: instrument"));
    let shared: Vec<f64> = got.contributors.iter().map(|it| it.shared).collect();
    assert_eq!(shared, [1.0, 1.0, 0.0]);
    assert!(got.contributors.iter().all(|it| it.owner == Owner::Instrument));
}

/// All of the data belong to the instrument: the laboratory's part is exactly known.
#[test]
fn data_of_the_instrument_leave_the_laboratory_nothing() {
    let rest = "order: second\nobservations: [{inputs: [x, y], units: [1, 1], rows: [[1, 5], [2, 5], [3, 8]], owner: instrument}]";
    let got = point("x * y", rest);
    assert!(got.standard_uncertainty > 0.0);
    assert_eq!(got.test.laboratory.standard_uncertainty, 0.0);
}

/// NIST StRD, univariate sets: certified mean and s, to 13 digits through a budget file.
#[test]
fn univariate_sets_of_nist_through_a_budget() {
    for (text, mean, s) in [
        (include_str!("data/nist_lew.csv"), -177.435, 277.332_168_044_316),
        (include_str!("data/nist_mavro.csv"), 2.001_856, 0.000_429_123_454_003_053),
        (include_str!("data/nist_michelso.csv"), 299.8524, 0.079_010_547_819_051_8),
    ] {
        let readings: Vec<&str> = text.lines().skip(2).collect();
        let n = readings.len() as f64;
        let rest = format!(
            "contributors: [{{name: r, adds_to: x, readings: [{}], unit: 1, use: result}}]",
            readings.join(", ")
        );
        let got = point("x", &rest);
        assert_relative_eq!(got.estimate, mean, max_relative = 1e-14);
        assert_relative_eq!(got.standard_uncertainty * n.sqrt(), s, max_relative = 5e-14);
        assert_relative_eq!(got.effective_dof.get(), n - 1.0, max_relative = 1e-14);
    }
}

/// NIST StRD, Norris: certified intercept, slope, their standard deviations and s, to 13 digits through a
/// budget file.
#[test]
fn the_line_of_nist_through_a_budget() {
    let pairs = include_str!("data/nist_norris.csv").lines().skip(2);
    let (x, y): (Vec<&str>, Vec<&str>) = pairs.map(|it| it.split_once(',').unwrap()).unzip();
    let rest = format!(
        "lines: [{{name: Norris, intercept: a, slope: b, x_values: [{}], x_unit: 1, y_values: [{}], y_unit: 1}}]",
        x.join(", "),
        y.join(", ")
    );
    let section = plain("a + 0 * b", &rest);
    let data = &section.data.as_ref().unwrap()[0];
    let figures = [
        (data.columns[0].estimate, -0.262_323_073_774_029),
        (data.columns[1].estimate, 1.002_116_818_020_45),
        (data.columns[0].standard_uncertainty, 0.232_818_234_301_152),
        (data.columns[1].standard_uncertainty, 0.000_429_796_848_199_937),
        (data.line.as_ref().unwrap().residual_s.unwrap(), 0.884_796_396_144_373),
        (section.points[0].estimate, -0.262_323_073_774_029),
    ];
    for (got, certified) in figures {
        assert_relative_eq!(got, certified, max_relative = 5e-14);
    }
    assert_eq!((data.n, data.dof.get(), data.kind), (36, 34.0, DataKind::Line));
}

/// Findings of a budget of dimension one: code and message.
fn found(rest: &str) -> Vec<(&'static str, String)> {
    let text =
        format!("surebound: 1\ntitle: t\nmeasurand: {{symbol: q, name: q, unit: µm}}\n{rest}\n");
    let budget = budget(&text);
    let findings = advise::of_evaluation(&evaluated(&budget));
    findings.into_iter().map(|it| (it.code, it.message)).collect()
}

/// Groups of two, as above: F = 4.5 with 1 and 2 degrees of freedom has the tail 1 − √(F/(F + 2)) = 16.8 %;
/// 1, 3 and 21, 23: F = 400/2 = 200, 1 − √(200/202) = 0.50 %. Variance between 1, 3 and 1, 3: −1.
///
/// Method: M74.
#[test]
fn groups_are_told_what_they_show() {
    let groups = |readings: &str, groups: &str| {
        found(&format!(
            "contributors: [{{name: g, readings: {readings}, unit: µm, use: single, groups: {groups}}}]"
        ))
    };
    assert_eq!(groups("[[1, 3], [4, 6]]", "pooled"), []);
    let told = groups("[[1, 3], [21, 23]]", "pooled");
    assert_eq!(told[0].0, "groups-differ");
    assert!(told[0].1.contains("(F = 200, probability 0.50 %)"), "{}", told[0].1);
    let told = groups("[[1, 3], [1, 3]]", "components");
    assert_eq!(told.iter().map(|it| it.0).collect::<Vec<_>>(), ["between-negative"]);
    assert!(told[0].1.contains("estimated at -1.0 µm²; it is counted as 0"), "{}", told[0].1);
    let told = groups("[[1, 3], [4, 6]]", "components");
    assert_eq!(told.iter().map(|it| it.0).collect::<Vec<_>>(), ["few-groups"]);
    assert_eq!(groups("[[1, 3], [4, 6], [2, 5], [7, 8]]", "components"), []);
}

/// The points of [`LINE`] have Σ residual² = 1.8: with u = 0.5, χ² = 7.2, whose tail for ν = 2 is exp(−3.6) = 2.7 %;
/// u = 1: exp(−0.9) = 41 %; u = 20: exp(−0.00225) = 99.78 %.
///
/// Method: M75.
#[test]
fn residuals_are_held_against_given_uncertainties() {
    let told = |u: &str| {
        let line = line(&format!(", y_uncertainty: {u}")).replace("y_unit: 1", "y_unit: µm");
        found(&format!("model: a + 2 * b\n{line}"))
    };
    let far = told("0.5");
    assert_eq!(far[0].0, "line-residuals");
    assert!(far[0].1.ends_with("χ² = 7.20, ν = 2, probability 2.7 %"), "{}", far[0].1);
    assert_eq!(told("1"), []);
    let near = told("20");
    assert_eq!(near[0].0, "line-too-good");
    assert!(near[0].1.ends_with("χ² = 0.00450, ν = 2, probability 99.78 %"), "{}", near[0].1);
}

/// By hand: 0 to 10 in steps, deviations −5 to 5: Σd_i·d_(i+1) = 2·(20 + 12 + 6 + 2) = 80 over 110; 2/√11 = 0.60. Nine
/// of them are too few to tell.
///
/// Method: M76.
#[test]
fn readings_that_drift_are_told() {
    let told = |readings: &str| {
        found(&format!("contributors: [{{name: r, readings: {readings}, unit: µm, use: single}}]"))
    };
    let drift = told("[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]");
    assert_eq!(drift[0].0, "readings-drift");
    assert!(drift[0].1.contains("they drift (lag-1 autocorrelation 0.73 of 11"), "{}", drift[0].1);
    assert_eq!(told("[0, 1, 2, 3, 4, 5, 6, 7, 8]"), []);
    let other = told("[0, 1, 0, 1, 0, 1, 0, 1, 0, 1]");
    assert!(other[0].1.starts_with("each reading goes the other way"), "{}", other[0].1);
    assert_eq!(told("[0, 1, 1, 0, 0, 1, 1, 0, 0, 1]"), []);
}

/// The examples of `docs/connected-data.md`, each in a budget that it fits into.
#[test]
fn the_examples_of_the_page_evaluate() {
    let page = include_str!("../docs/connected-data.md");
    let blocks = page.split("```yaml\n").skip(1).filter_map(|it| it.split("```").next());
    let heads = [
        "measurand: {symbol: q, name: q, unit: µm}\ncontributors:\n",
        "measurand: {symbol: q, name: q, unit: Ω}\nmodel: V / I * cos(phi)\n",
        "measurand: {symbol: q, name: q, unit: µm}\npoints: {symbol: L, unit: mm, at: [2, 9]}\nmodel: c0 + c1 * (L - 5 mm) + e\n",
    ];
    assert_eq!(blocks.clone().count(), heads.len());
    for (head, block) in heads.iter().zip(blocks) {
        let section = shown(&format!("surebound: 1\ntitle: t\n{head}{block}"));
        assert!(section.points[0].standard_uncertainty > 0.0, "{block}");
    }
}
