//! Corners of evidence and propagation that the larger suites pass by, through YAML.
#![allow(clippy::unwrap_used, clippy::panic)]

use surebound::file::load_budget;
use surebound::record::{Point, Record};

const HEAD: &str = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\n";

/// Returns the points of the record of a budget whose rest is given; its fault's text otherwise.
fn points(rest: &str) -> Result<Vec<Point>, String> {
    let loaded = load_budget("b.yaml", format!("{HEAD}{rest}").as_bytes());
    let budget = loaded.value.map_err(|faults| loaded.source.render_all(&faults))?;
    let evaluation = budget.evaluate().map_err(|faults| loaded.source.render_all(&faults.0))?;
    Ok(Record::try_from(&evaluation).unwrap().sections.remove(0).points)
}

fn close(got: f64, expected: f64) {
    assert!((got / expected - 1.0).abs() < 1e-12, "got {got}, expected {expected}");
}

/// By hand: U(1.005 mm) + U(8 mm) with U(L) = 0.05 µm + 0.5 µm/m·L, over k = 2:
/// (0.0505025 + 0.054) / 2 µm; a point without a stack is one block.
#[test]
fn a_certificate_over_a_stack_adds_up_block_by_block() {
    let found = points(
        "points:\n  symbol: L\n  unit: mm\n  at: [5, {at: 9.005, stack: [1.005 mm, 8 mm]}]\n\
         contributors:\n  - {name: C, certificate: 0.05 µm + 0.5 µm/m * L, k: 2, length: stack}\n",
    )
    .unwrap();
    close(found[0].standard_uncertainty, 0.0525 / 2.0);
    close(found[1].standard_uncertainty, (0.050_502_5 + 0.054) / 2.0);
}

/// By hand, ISO 3650 grade 0 (read): ±0.12 µm up to 10 mm: two blocks √2·0.12/√3 µm; with a
/// calibration U = 0.04 µm (k = 2) of each beside it 2·(0.12²/3 + 0.02²).
#[test]
fn grades_over_a_stack_are_independent_block_by_block() {
    let rest = |extra: &str| {
        format!(
            "points:\n  symbol: L\n  unit: mm\n  at: [{{at: 9.005, stack: [1.005 mm, 8 mm]}}]\n\
             contributors:\n  - {{name: B, adds_to: L, block_grade: 0, table: ISO 3650, length: stack{extra}}}\n"
        )
    };
    close(points(&rest("")).unwrap()[0].standard_uncertainty, (2.0f64 * 0.0144 / 3.0).sqrt());
    let both = points(&rest(", calibrated_with: 0.04 µm")).unwrap();
    close(both[0].standard_uncertainty, (2.0f64 * (0.0144 / 3.0 + 0.0004)).sqrt());
}

#[test]
fn draws_that_are_no_whole_number_at_a_point_are_refused() {
    let rest = |times: &str| {
        format!(
            "points:\n  symbol: L\n  unit: mm\n  at: [{{at: 5, n: 2}}, {{at: 7, n: 2.5}}]\n\
             contributors:\n  - {{name: W, limits: ±1 µm, times: {times}}}\n"
        )
    };
    let refused = points(&rest("n")).unwrap_err();
    assert!(refused.contains("2.5") && refused.contains("whole number"), "{refused}");
    assert!(points(&rest("0 - n")).unwrap_err().contains("whole number"));
    // By hand: four draws of u = 1/√3 µm.
    close(
        points(&rest("2 * n - n + 2 - (n - 2)")).unwrap()[0].standard_uncertainty,
        2.0 / 3f64.sqrt(),
    );
}

/// `d` is known to be a length before `a` is, which waits for `b`: its value is still made after `a`'s.
#[test]
fn a_bare_name_may_be_made_of_estimates_that_come_later() {
    let found = points(
        "model: reading + d\nestimates: {a: b * 2, b: 3 µm}\n\
         contributors:\n  - {name: D, adds_to: d, limits: ±1 µm, estimate: a}\n",
    )
    .unwrap();
    close(found[0].estimate, 6.0);
}

/// JCGM 101:2008, 9.4.2, table 8, r = 0, x₁ = x₂ = 0, u = 0.005: first order 0, second order 50e-6,
/// estimate 50e-6 off. y = x₁² + x₂², printed to two digits; by hand √(2·2·u⁴) = 2u² exactly.
#[test]
fn the_second_order_enters_where_the_first_is_zero() {
    let found = points(
        "model: reading + (a^2 + b^2) * 1 µm\nestimates: {a: 0, b: 0}\n\
         contributors:\n  - {name: A, adds_to: a, standard_uncertainty: 0.005}\n  - {name: B, adds_to: b, standard_uncertainty: 0.005}\n",
    )
    .unwrap();
    assert_eq!(found[0].first_order_standard_uncertainty, 0.0);
    close(found[0].standard_uncertainty, 50e-6);
    close(found[0].second_order_shift.unwrap(), 50e-6);
    assert_eq!((found[0].second_order_share, found[0].correlation_share), (1.0, 0.0));
}

/// By hand: c = 0 for a block that cancels: all figures are 0, none is undefined.
#[test]
fn a_contributor_that_cancels_leaves_nothing_and_nothing_undefined() {
    let found = points(
        "model: reading + a - a\nestimates: {a: 1 µm}\n\
         contributors:\n  - {name: A, adds_to: a, limits: ±1 µm}\n",
    )
    .unwrap();
    let point = &found[0];
    assert_eq!((point.standard_uncertainty, point.expanded_uncertainty), (0.0, 0.0));
    assert_eq!((point.contributors[0].sensitivity, point.contributors[0].share), (0.0, 0.0));
    assert!(point.effective_dof.is_infinite());
    assert_eq!((point.correlation_share, point.second_order_share), (0.0, 0.0));
    assert_eq!(point.test.all.tur, None);
}

/// The finding about a fault at two points stands once, at the tolerance.
#[test]
fn a_fault_of_the_tolerance_at_several_points_is_said_once() {
    let text = format!(
        "{HEAD}points: {{symbol: L, unit: mm, at: [5, 10, 15]}}\n\
         contributors:\n  - {{name: A, limits: ±1 µm}}\ntolerance:\n  by_point:\n    - {{up_to: 7 mm, limits: ±4 µm}}\n"
    );
    let budget = load_budget("b.yaml", text.as_bytes()).value.unwrap();
    let faults = budget.evaluate().unwrap().zones().unwrap_err();
    assert_eq!(faults.0.len(), 1, "{faults}");
}

/// By hand, L = 1 m: 1 µm/K·... the parts contribute 10·0.1 = 1 µm (ν 4) and 2·1 = 2 µm (ν 9), so
/// u² = 5 µm² and ν = 25/(1/4 + 16/9) (JCGM 100:2008, G.4.1).
#[test]
fn a_thermal_contributor_has_the_degrees_of_freedom_of_its_parts() {
    let thermal = |difference: &str, from_20: &str| {
        format!(
            "points: {{symbol: L, unit: m, at: [1]}}\norder: first\ncontributors:\n  - name: T\n    thermal:\n      \
             alpha: 10 µm/m/K\n      alpha_difference: 2 µm/m/K\n      difference: {difference}\n      from_20: {from_20}\n"
        )
    };
    let found = points(&thermal(
        "{standard_uncertainty: 0.1 K, dof: 4}",
        "{standard_uncertainty: 1 K, dof: 9}",
    ))
    .unwrap();
    let line = &found[0].contributors[0];
    close(line.standard_uncertainty, 5f64.sqrt());
    close(line.dof.get(), 25.0 / (0.25 + 16.0 / 9.0));
    close(found[0].effective_dof.get(), 25.0 / (0.25 + 16.0 / 9.0));
    assert_eq!(line.distribution, "sum");
    let exact = points(&thermal("0.5 K", "1 K")).unwrap();
    let line = &exact[0].contributors[0];
    assert_eq!((line.distribution.as_str(), line.standard_uncertainty), ("exact", 0.0));
    close(exact[0].estimate, 7.0);
}

/// 1/x at 1e-150 with u = 1e10: f′ and c·u are in range, the jet of 1/x along u is not. `auto` needs it, `first` says what it cannot tell.
#[test]
fn a_second_order_that_cannot_be_computed_is_a_fault_unless_it_is_left_out() {
    let rest = |order: &str| {
        format!(
            "model: reading + 1 µm * c / x\nestimates: {{c: 1e-250, x: 1e-150}}\n\
             contributors:\n  - {{name: X, adds_to: x, standard_uncertainty: 1e10}}\norder: {order}\n"
        )
    };
    assert!(points(&rest("auto")).is_err());
    assert_eq!(points(&rest("first")).unwrap()[0].second_order_standard_uncertainty, None);
}

/// By hand: √4 µm is added to the block, so the error is 2 µm less and the block 2 µm more; the model
/// is no longer exact, and the reading is listed among its inputs.
#[test]
fn a_correction_that_is_not_exact_reaches_the_estimate_and_the_input() {
    let found = points(
        "points: {symbol: L, unit: mm, at: [5]}\nmodel: reading - block\nestimates: {block: L}\n\
         contributors:\n  - {name: B, adds_to: block, limits: ±1 µm, estimate: sqrt(4) * 1 µm}\n",
    )
    .unwrap();
    assert!((found[0].estimate + 2.0).abs() < 1e-9, "{}", found[0].estimate);
    let inputs: Vec<(&str, f64)> =
        found[0].inputs.iter().map(|it| (it.name.as_str(), it.estimate)).collect();
    assert_eq!(inputs.len(), 2, "{inputs:?}");
    assert_eq!(inputs[0], ("reading", 5.0));
    assert!(inputs[1].0 == "block" && (inputs[1].1 - 5.002).abs() < 1e-12, "{inputs:?}");
}

/// By hand, L = 1 m: 10 µm/m/K · 0.1 K = 1 µm and 10 µm/m/K · 0.3 K = 3 µm: u = √10 µm.
#[test]
fn two_thermal_contributors_keep_apart() {
    let one = |name: &str, u: &str| {
        format!(
            "  - name: {name}\n    thermal:\n      alpha: 10 µm/m/K\n      alpha_difference: 0 K^-1\n      \
             difference: {{standard_uncertainty: {u} K}}\n      from_20: 0 K\n"
        )
    };
    let found = points(&format!(
        "points: {{symbol: L, unit: m, at: [1]}}\ncontributors:\n{}{}",
        one("A", "0.1"),
        one("B", "0.3")
    ))
    .unwrap();
    close(found[0].standard_uncertainty, 10f64.sqrt());
    close(found[0].contributors[0].contribution, 1.0);
    close(found[0].contributors[1].contribution, 3.0);
}

/// By hand: 2 m · 10 µm/m/K · √0.25 K = 10 µm; the square root keeps it from being exact.
#[test]
fn a_thermal_value_that_is_not_exact_is_the_whole_product() {
    let found = points(
        "points: {symbol: L, unit: m, at: [2]}\ncontributors:\n  - name: T\n    thermal:\n      alpha: 10 µm/m/K\n      \
         alpha_difference: 0 K^-1\n      difference: sqrt(0.25) * 1 K\n      from_20: 0 K\n",
    )
    .unwrap();
    assert!((found[0].contributors[0].estimate - 10.0).abs() < 1e-9, "{:?}", found[0].contributors);
    assert!((found[0].estimate - 10.0).abs() < 1e-9, "{}", found[0].estimate);
}
