//! The exact distribution of whole budgets, from YAML, against brute force that shares nothing with it.
//!
//! `tests/scripts/exact_budgets.py` draws every budget once more by hand (numpy, 4 000 000 draws, fixed seed);
//! its values are in `tests/data/exact_budgets.csv`. A value may be off by 4 of its standard errors: over the
//! 136 of them that happens once in 120 sets of draws, and the seed is fixed.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/show.rs"]
mod show;

use surebound::budget::Scope;
use surebound::propagate::PointEvaluation;
use surebound::propagate::density::Density;

/// What stands around the contributors: a plain difference unless a case has a model of its own.
const PLAIN: &str = "points: {symbol: L, unit: mm, at: [25]}\n";

/// The budgets: name, scope, and what follows the measurand.
fn cases() -> Vec<(&'static str, Scope, String)> {
    let plain = |rest: &str| format!("{PLAIN}contributors:\n{rest}");
    let model = |model: &str, rest: &str| format!("{PLAIN}{model}\ncontributors:\n{rest}");
    let product = "model: reading - L + a*b - 6 µm\nestimates: {a: 3, b: 2 µm}";
    let factors = "  - {name: A, adds_to: a, limits: ±1}\n  - {name: B, adds_to: b, standard_uncertainty: 0.6 µm}\n";
    let groups = "  - {name: A, limits: ±1 µm, owner: instrument, largest_of: scatter}\n  - {name: B, limits: ±1.5 µm, owner: instrument, largest_of: scatter}\n  - {name: C, limits: ±1 µm, shape: triangular}\ntolerance: ±9 µm\n";
    vec![
        ("step and normal", Scope::All, plain("  - {name: Step, step: 2 µm}\n  - {name: N, standard_uncertainty: 0.2 µm}\n")),
        ("two rectangles and readings", Scope::All, plain("  - {name: A, limits: ±2 µm}\n  - {name: B, limits: ±1 µm}\n  - {name: C, readings: [0.1, 0.3, -0.2, 0.0, 0.4], unit: µm, use: single}\n")),
        ("thermal with shifted parts", Scope::All, plain("  - {name: T, thermal: {length: 1000 mm, alpha: 11.5 µm/m/K ± 1 µm/m/K, alpha_difference: ±2 µm/m/K, difference: 0.5 K ± 0.3 K, from_20: 1 K ± 1.5 K}}\n  - {name: Step, step: 0.4 µm}\n  - {name: N, standard_uncertainty: 0.1 µm}\n")),
        ("product of two about zero", Scope::All, model("model: reading - L + a*b\nestimates: {a: 0 µm, b: 0}", "  - {name: A, adds_to: a, limits: ±2 µm}\n  - {name: B, adds_to: b, limits: ±1}\n  - {name: N, standard_uncertainty: 0.2 µm}\n")),
        ("star", Scope::All, model("model: reading - L + k*(a + b)\nestimates: {k: 1, a: 2 µm, b: -1 µm}", "  - {name: K, adds_to: k, limits: ±0.5}\n  - {name: A, adds_to: a, limits: ±1 µm}\n  - {name: B, adds_to: b, standard_uncertainty: 0.5 µm}\n")),
        ("three draws", Scope::All, plain("  - {name: A, limits: ±1 µm, times: 3}\n  - {name: N, standard_uncertainty: 0.1 µm}\n  - {name: S, limits: ±0.5 µm, shape: arcsine}\n")),
        ("stack of calibrated blocks", Scope::All, "points:\n  symbol: L\n  unit: mm\n  at:\n    - {at: 9, stack: [1.005 mm, 7.995 mm]}\ncontributors:\n  - {name: Blocks, adds_to: L, block_grade: 0, table: ISO 3650, length: stack, calibrated_with: 0.3 µm}\n  - {name: Step, step: 1 µm}\n".to_owned()),
        ("negative sensitivity", Scope::All, plain("  - {name: A, limits: ±1 µm, shape: arcsine, sensitivity: -2}\n  - {name: T, standard_uncertainty: 0.3 µm, dof: 3}\n  - {name: None, limits: ±5 µm, sensitivity: 0}\n")),
        ("largest of; all", Scope::All, format!("{}decision: {{rule: simple, uncertainty: all}}\n", plain(groups))),
        ("largest of; laboratory", Scope::Laboratory, format!("{}decision: {{rule: simple, uncertainty: laboratory}}\n", plain(groups))),
        ("observations", Scope::All, format!("{PLAIN}model: reading - L + a - 2*b\nobservations:\n  - {{inputs: [a, b], units: [µm, µm], rows: [[0.3, 0.2], [0.1, 0.0], [-0.4, -0.1], [0.2, 0.3], [0.0, 0.1]]}}\ncontributors:\n  - {{name: A, limits: ±0.6 µm}}\n")),
        ("linked normals", Scope::All, plain("  - {name: A, standard_uncertainty: 0.5 µm}\n  - {name: Step, step: 2 µm}\n  - {name: B, standard_uncertainty: 0.4 µm}\nlinked:\n  - {between: [A, B], r: -0.6}\n")),
        ("linked by zero", Scope::All, plain("  - {name: A, limits: ±1 µm}\n  - {name: B, standard_uncertainty: 0.3 µm}\n  - {name: C, limits: ±0.5 µm, shape: triangular}\n  - {name: D, standard_uncertainty: 0 µm}\nlinked:\n  - {between: [A, B], r: 0}\n  - {between: [C, D], r: 0.9}\n")),
        ("rough shapes", Scope::All, plain("  - {name: A, limits: ±2 µm, shape: trapezoidal, top: 0.4}\n  - {name: B, limits: ±1 µm, shape: triangular}\n  - {name: C, limits: ±1 µm, limits_known_within: 20 %}\n")),
        ("asymmetric product", Scope::All, model(product, factors)),
        ("first order", Scope::All, format!("{}order: first\n", model(product, factors))),
        ("several contributors on both", Scope::All, model("model: reading - L + k*a - 2 µm\nestimates: {k: 1, a: 2 µm}", "  - {name: K, adds_to: k, standard_uncertainty: 0.2}\n  - {name: L, adds_to: k, standard_uncertainty: 0.15}\n  - {name: A, adds_to: a, limits: ±1 µm}\n  - {name: Step, adds_to: a, step: 0.5 µm}\n")),
    ]
}

fn text(rest: &str) -> String {
    format!(
        "surebound: 1\ntitle: T\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n{rest}coverage: {{method: exact, probability: 95 %}}\n"
    )
}

/// Returns the reference values of a budget: what, x, value, standard error.
fn reference(name: &str) -> Vec<(String, f64, f64, f64)> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/exact_budgets.csv");
    let file = std::fs::read_to_string(path).unwrap();
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().unwrap_or(f64::NAN);
        (cells[0] == name).then(|| (cells[1].to_owned(), number(2), number(3), number(4)))
    };
    file.lines().filter(|it| !it.starts_with('#')).skip(1).filter_map(row).collect()
}

/// Returns a figure in micrometres, or a probability.
fn figure(point: &PointEvaluation, scope: Scope, what: &str, x: f64) -> f64 {
    let density = &point.scope(scope).density;
    match what {
        "above" => density.above(x * 1e-6).unwrap(),
        "below" => density.below(x * 1e-6).unwrap(),
        "low" => point.interval.low * 1e6,
        "high" => point.interval.high * 1e6,
        other => panic!("{other}"),
    }
}

/// Method: M70.
#[test]
fn budgets_agree_with_brute_force() {
    let mut compared = 0;
    for (name, scope, rest) in cases() {
        let budget = show::budget(&text(&rest));
        let evaluation = show::evaluated(&budget);
        let point = &evaluation.points()[0];
        assert!(matches!(point.scope(scope).density, Density::Exact(_)), "{name}");
        for (what, x, expected, se) in reference(name) {
            // The interval is that of all contributors.
            if scope == Scope::Laboratory && (what == "low" || what == "high") {
                continue;
            }
            let got = figure(point, scope, &what, x);
            assert!(
                (got - expected).abs() <= 4.0 * se,
                "{name}, {what} {x}: {got}, {expected} ± {se}"
            );
            compared += 1;
        }
        let (k, u) = (point.coverage_factor, point.all.standard_uncertainty);
        let half = 0.5 * (point.interval.high - point.interval.low);
        assert!((k * u / half - 1.0).abs() < 1e-12, "{name}: {k}");
        let accuracy = point.interval.exact.unwrap();
        assert!(accuracy.relative_error <= 1e-9, "{name}: {accuracy:?}");
        assert_eq!(accuracy.left_out, 0.0, "{name}");
    }
    assert_eq!(compared, 134);
}

/// An interval about an asymmetric product leaves as much out above as below, though its ends are not
/// alike: theory, no outside figure.
#[test]
fn an_asymmetric_interval_leaves_the_same_out_on_both_sides() {
    for name in ["asymmetric product", "star", "thermal with shifted parts"] {
        let (_, _, rest) = cases().into_iter().find(|it| it.0 == name).unwrap();
        let budget = show::budget(&text(&rest));
        let point = show::evaluated(&budget).points()[0].clone();
        let (low, high) = (point.interval.low, point.interval.high);
        assert!((high + low).abs() > 0.001 * (high - low), "{name}: {low} {high}");
        let outside = [point.all.density.above(high), point.all.density.below(-low)];
        for it in outside {
            assert!((it.unwrap() - 0.025).abs() < 1e-10, "{name}: {outside:?}");
        }
    }
}

/// JCGM 101:2008, 9.2.3 (table 3, half-width 3.88) and 9.2.4 (table 4: 17.0): closed forms to twelve digits,
/// 2√3·(2 − (3/5)^(1/4)) by hand, and by mpmath inversion of the sum of four rectangles of u 1, 1, 1, 10.
#[test]
fn sums_of_rectangles_have_the_half_widths_of_jcgm_101() {
    for (last, expected, within) in
        [("1", 3.879_406_741_35, 5e-12), ("10", 17.015_814_099_9, 5e-11)]
    {
        // Limits ±√3·u, written so that u is 1 to sixteen digits.
        let rest: String = ["1", "1", "1", last]
            .iter()
            .enumerate()
            .map(|(at, u)| format!("  - {{name: X{at}, limits: ±({u} * sqrt(3) * 1 µm)}}\n"))
            .collect();
        let section = show::shown(&text(&format!("{PLAIN}contributors:\n{rest}")));
        let point = &section.points[0];
        assert!((point.expanded_uncertainty - expected).abs() < within, "{last}: {point:?}");
        assert!(point.coverage.relative_error.unwrap() <= 1e-9);
        assert_eq!(point.coverage.left_out, Some(0.0));
    }
}

/// EA-4/02, S10 (recalled, not read): a caliper with ±50 µm and a step of 50 µm has k = 1.83, as here. S9: a
/// multimeter whose step of 0.1 V dominates has k = 1.65, that of the rectangle alone; with the other one of
/// ±11 mV it is a trapezoid with (61 − x)²/(2·100·22) = 0.025 beyond x, by hand x = 61 − √110, k = 1.7088.
#[test]
fn the_factors_of_the_trade_are_met_where_rectangles_dominate() {
    let factor = |lines: &str| {
        show::shown(&text(&format!("{PLAIN}contributors:\n{lines}"))).points[0].coverage_factor
    };
    let caliper = "  - {name: Play, limits: ±50 µm}\n  - {name: Step, step: 50 µm}\n  - {name: Blocks, limits: ±0.8 µm}\n";
    assert_eq!(format!("{:.2}", factor(caliper)), "1.83");
    let step = "  - {name: Step, step: 100 µm}\n";
    assert!((factor(step) - 0.95 * 3f64.sqrt()).abs() < 1e-9);
    let meter = format!("{step}  - {{name: Source, limits: ±11 µm}}\n");
    let expected = (61.0 - 110f64.sqrt()) / ((2500.0 + 121.0) / 3f64).sqrt();
    assert!((factor(&meter) / expected - 1.0).abs() < 1e-9, "{expected}");
}

/// Ours: at most 30 % of u² the density is t or normal, above it the exact one; by hand, a rectangle ±a
/// beside u = 1: a²/3/(1 + a²/3) is 30 % at a = 1.1339.
/// Method: M71.
#[test]
fn a_contributor_that_is_not_normal_decides_the_density_from_30_per_cent_on() {
    let word = |rest: &str, coverage: &str| {
        let head = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\n";
        let text = format!("{head}{PLAIN}contributors:\n{rest}{coverage}");
        let budget = show::budget(&text);
        show::evaluated(&budget).points()[0].all.density.word()
    };
    let rest = |a: &str| {
        format!("  - {{name: N, standard_uncertainty: 1 µm}}\n  - {{name: A, limits: ±{a} µm}}\n")
    };
    assert_eq!(word(&rest("1.13"), ""), "normal");
    assert_eq!(word(&rest("1.14"), ""), "exact");
    assert_eq!(word(&rest("0.1"), "coverage: {method: exact}\n"), "exact");
    let zero = "  - {name: A, standard_uncertainty: 0 µm}\n";
    assert_eq!(word(zero, "coverage: {method: exact}\n"), "normal");
    let t = |dof: &str| {
        format!(
            "  - {{name: N, standard_uncertainty: 1 µm}}\n  - {{name: A, standard_uncertainty: 1 µm{dof}}}\n"
        )
    };
    assert_eq!((word(&t(""), ""), word(&t(", dof: 5"), "")), ("normal", "exact"));
}

/// A budget of 10 000 contributors and a dominant step: the figures are made without running through
/// contributors for each contributor, and the distribution waits until a risk is asked for. Quadratic work
/// would be 10⁸ steps for each of several loops; the bound is 30 times what was measured.
#[test]
fn ten_thousand_contributors_are_no_burden() {
    let lines: String = (0..10_000)
        .map(|at| format!("  - {{name: N{at}, limits: ±0.0{} µm}}\n", at % 97 + 1))
        .collect();
    let step = "  - {name: Step, step: 20 µm}\n";
    let head = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\n";
    let text = format!("{head}{PLAIN}contributors:\n{step}{lines}");
    let budget = show::budget(&text);
    let began = std::time::Instant::now();
    let point = show::evaluated(&budget).points()[0].clone();
    let evaluated = began.elapsed();
    assert_eq!(point.all.density.word(), "exact");
    let risk = point.all.density.above(1.5e-5).unwrap();
    let asked = began.elapsed();
    assert!(risk > 0.0 && risk < 0.2, "{risk}");
    assert!(evaluated.as_secs_f64() < 3.0 && asked.as_secs_f64() < 10.0, "{evaluated:?} {asked:?}");
}

/// Steps, a grade and a thermal contributor, nothing smooth: of the two products the smaller is left out,
/// and the risk at +3 µm is that of 2·10⁷ draws with numpy (`default_rng(3)`): 0.002255 ± 0.000011.
#[test]
fn steps_beside_a_thermal_contributor_are_summed() {
    let text = "surebound: 1\ntitle: t\nmeasurand: {symbol: E, name: E, unit: µm}\n\
        points: {symbol: L, unit: mm, at: [15, 25]}\ncoverage: {method: exact}\ncontributors:\n\
        - {name: A, step: 1 µm}\n- {name: B, step: 1 µm}\n\
        - {name: C, block_grade: 0, table: ISO 3650, length: L}\n\
        - {name: D, thermal: {alpha: 11.5 µm/m/K ± 1 µm/m/K, alpha_difference: ±1 µm/m/K, \
          difference: ±0.3 K, from_20: ±1 K}}\n";
    let budget = show::budget(text);
    let points = show::evaluated(&budget).points().to_vec();
    let accuracy = points[0].interval.exact.unwrap();
    assert!(accuracy.left_out > 0.0 && accuracy.left_out < 0.01, "{accuracy:?}");
    let beyond = points[1].all.density.above(1e-6).unwrap();
    assert!((beyond - 0.002_255).abs() < 4.0 * 0.000_010_6, "{beyond}");
}
