//! The formulas of `docs/method.md`, each by hand, through the library's face: YAML text in, values out.
//!
//! Budgets here are as small as can be, so that the expected number is one line of arithmetic with its
//! source beside it. Published examples and reference values are in tests of their own.

// The whole file is a test; a helper may end it as a test may.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_relative_eq;
use surebound::budget::Budget;
use surebound::fault::Faults;
use surebound::propagate::PointEvaluation;

/// Returns the only point of a budget of dimension one: `model` and what follows.
fn evaluate(rest: &str) -> Result<PointEvaluation, Faults> {
    let text =
        format!("surebound: 1\ntitle: t\nmeasurand: {{symbol: y, name: y, unit: 1}}\n{rest}\n");
    let budget = Budget::parse(&text)?;
    Ok(budget.evaluate()?.points()[0].clone())
}

/// Returns estimate, u and ν of the first contributor's evidence.
fn evidence(contributor: &str) -> (f64, f64, f64) {
    let rest = format!("model: x\ncontributors:\n  - {{name: a, adds_to: x, {contributor}}}");
    let point = evaluate(&rest).unwrap_or_else(|it| panic!("{it:?}"));
    let spread = &point.contributors[0].spread;
    assert_relative_eq!(point.all.standard_uncertainty, spread.standard_uncertainty);
    (point.estimate.si, spread.standard_uncertainty, spread.dof)
}

/// 1, 2, 3, 6: mean 3, squares 4 + 1 + 0 + 9 = 14, s² = 14/3 (JCGM 100:2008, 4.2.1 to 4.2.3).
/// Method: M1.
#[test]
fn readings_give_mean_and_experimental_standard_deviation() {
    let s = (14.0f64 / 3.0).sqrt();
    let readings = "unit: 1, readings: [1, 2, 3, 6]";
    for (usage, mean, u) in
        [("result", 3.0, s / 2.0), ("{mean_of: 9}", 0.0, s / 3.0), ("single", 0.0, s)]
    {
        let given = if usage == "result" { "" } else { "estimate: 0, " };
        let (estimate, found, dof) = evidence(&format!("{given}{readings}, use: {usage}"));
        assert_eq!((estimate, dof), (mean, 3.0), "{usage}");
        assert_relative_eq!(found, u, max_relative = 1e-15);
    }
}

/// An earlier s of 0.6 from 20 degrees of freedom, mean of 4: 0.3 (JCGM 100:2008, 4.2.4).
/// Method: M2.
#[test]
fn scatter_is_divided_by_the_root_of_the_number_of_readings() {
    let (_, u, dof) = evidence("estimate: 0, scatter: 0.6, dof: 20, mean_of: 4");
    assert_eq!((u, dof), (0.3, 20.0));
}

/// a = 0.6: a/√3, a/√6, a·√((1 + β²)/6) with β = 0.5, a/√2 (JCGM 100:2008, 4.3.7 and 4.3.9; JCGM
/// 101:2008, 6.4.3.4 and 6.4.6), and a/k for 95 % of a normal distribution, k = 1.959963984540054 (scipy).
/// Method: M3.
#[test]
fn limits_are_divided_by_the_root_of_their_shape() {
    for (shape, divisor) in [
        ("rectangular", 3f64.sqrt()),
        ("triangular", 6f64.sqrt()),
        ("trapezoidal, top: 0.5", (6f64 / 1.25).sqrt()),
        ("arcsine", 2f64.sqrt()),
        ("normal, coverage: 95 %", 1.959_963_984_540_054),
    ] {
        for key in ["limits: ±0.6", "full_range: 1.2"] {
            let (_, u, dof) = evidence(&format!("estimate: 0, {key}, shape: {shape}"));
            assert_relative_eq!(u, 0.6 / divisor, max_relative = 1e-14);
            assert!(dof.is_infinite(), "{shape}");
        }
    }
}

/// From −1 to 4: midpoint 1.5 is an estimate, half-width 2.5 (JCGM 100:2008, 4.3.7).
/// Method: M4.
#[test]
fn limits_that_are_not_symmetric_have_a_midpoint() {
    let (estimate, u, _) = evidence("limits: [-1, 4]");
    assert_eq!(estimate, 1.5);
    assert_relative_eq!(u, 2.5 / 3f64.sqrt(), max_relative = 1e-15);
}

/// U = 3 with k = 2; for 95 %: k = 1.959963984540054 (normal) and, with 9 degrees of freedom,
/// 2.262157162798205 (t; both scipy). JCGM 100:2008, 4.3.3 and 4.3.4.
/// Method: M5.
#[test]
fn a_certificate_is_divided_by_its_factor() {
    for (given, k, dof) in [
        ("k: 2", 2.0, f64::INFINITY),
        ("coverage: 95 %", 1.959_963_984_540_054, f64::INFINITY),
        ("coverage: 95 %, dof: 9", 2.262_157_162_798_205, 9.0),
    ] {
        let (_, u, found) = evidence(&format!("estimate: 0, certificate: 3, {given}"));
        assert_relative_eq!(u, 3.0 / k, max_relative = 1e-13);
        assert_eq!(found, dof, "{given}");
    }
}

/// A step d spreads a rectangle of ±d/2: d/√12 = 0.29 d (JCGM 100:2008, F.2.2.1).
/// Method: M6.
#[test]
fn a_step_is_divided_by_the_root_of_twelve() {
    let (_, u, _) = evidence("estimate: 0, step: 1");
    assert_relative_eq!(u, 1.0 / 12f64.sqrt(), max_relative = 1e-15);
}

/// ISO 3650:1998, table 5, grade 0: 0.14 µm over 10 mm up to 25 mm, so 0.14/√3 µm; calibrated with
/// U = 0.06 µm (k = 2): √(0.14²/3 + 0.03²) µm. A length of exactly 0 is no block.
/// Method: M7.
#[test]
fn a_block_grade_is_a_rectangle_of_its_limit_deviation() {
    for (length, more, u) in [
        ("20 mm", "", 0.14 / 3f64.sqrt()),
        ("20 mm", ", calibrated_with: 0.06 µm", (0.14f64 * 0.14 / 3.0 + 0.0009).sqrt()),
        ("0 mm", ", calibrated_with: 0.06 µm", 0.0),
    ] {
        let text = format!(
            "surebound: 1\ntitle: t\nmeasurand: {{symbol: y, name: y, unit: µm}}\ncontributors:\n  \
             - {{name: a, block_grade: 0, table: ISO 3650, length: {length}{more}}}\n"
        );
        let budget = Budget::parse(&text).unwrap();
        let got = budget.evaluate().unwrap().points()[0].all.standard_uncertainty;
        assert_relative_eq!(got * 1e6, u, max_relative = 1e-12);
    }
}

/// Standard uncertainties: α 10 ± 1 ppm/K, α_difference 0 ± 1 ppm/K, difference 0 ± 0.3 K, from_20
/// 2 ± 1 K; length 0.1 m. First order: 0.1·√((10·0.3)² + (1·2)²) = 0.1·√13 µm; the two products add
/// 0.1²·((1·0.3)² + (1·1)²) µm² (JCGM 100:2008, H.1.2 and the note of 5.1.2).
/// Method: M8.
#[test]
fn thermal_multiplies_expansions_and_temperatures() {
    let root = "1.7320508075688772";
    let text = format!(
        "surebound: 1\ntitle: t\nmeasurand: {{symbol: y, name: y, unit: µm}}\norder: second\n\
         contributors:\n  - name: a\n    thermal: {{length: 0.1 m, \
         alpha: 10 µm/m/K ± {root} µm/m/K, alpha_difference: ±{root} µm/m/K, \
         difference: ±(0.3 * {root} K), from_20: 2 K ± {root} K}}\n"
    );
    let budget = Budget::parse(&text).unwrap_or_else(|it| panic!("{it:?}"));
    let point = budget.evaluate().unwrap().points()[0].clone();
    assert_relative_eq!(point.all.first_order, 1e-7 * 13f64.sqrt(), max_relative = 1e-12);
    let second = 1e-7 * (13.0f64 + 0.09 + 1.0).sqrt();
    assert_relative_eq!(point.all.standard_uncertainty, second, max_relative = 1e-12);
}

/// Three draws: u·√3; the excess kurtosis of a sum of n like parts is 1/n of theirs, −1.2 for a
/// rectangle (cumulants add). Two rectangles make a triangle, whose kurtosis is 2.4.
/// Method: M9.
#[test]
fn times_adds_independent_draws() {
    let (_, u, _) = evidence("estimate: 0, limits: ±1, times: 3");
    assert_relative_eq!(u, 1.0, max_relative = 1e-15);
    let rest = |times: u32| {
        format!(
            "model: x\ncontributors:\n  - {{name: a, adds_to: x, estimate: 0, limits: ±1, \
             times: {times}}}"
        )
    };
    for (times, kurtosis) in [(1, 1.8), (2, 2.4), (3, 2.6)] {
        let point = evaluate(&rest(times)).unwrap();
        let found = point.contributors[0].spread.distribution.kurtosis();
        assert_relative_eq!(found, kurtosis, max_relative = 1e-15);
    }
}

/// u known within 25 %: ν = 1/(2·0.25²) = 8 (JCGM 100:2008, G.4.2, example).
/// Method: M10.
#[test]
fn doubt_about_u_becomes_degrees_of_freedom() {
    let (_, _, dof) = evidence("estimate: 0, standard_uncertainty: 1, u_known_within: 25 %");
    assert_eq!(dof, 8.0);
}

/// x = 10 + 0.5 (correction) + 1 (midpoint of 0 to 2); y = x² (JCGM 100:2008, 4.1.4).
/// Method: M11.
#[test]
fn means_midpoints_and_corrections_are_added_to_the_input() {
    let rest = "model: x * x\nestimates: {x: 10}\ncontributors:\n  \
        - {name: a, adds_to: x, limits: [0, 2]}\n  \
        - {name: b, adds_to: x, estimate: 0.5, standard_uncertainty: 0.1}";
    assert_relative_eq!(evaluate(rest).unwrap().estimate.si, 11.5 * 11.5, max_relative = 1e-15);
}

/// y = 3a + b, u = 1 and 2, r = 0.5: u² = 9 + 4 + 2·3·2·0.5 = 19 (JCGM 100:2008, equation (16)); the
/// correlation's share is 6/19. Without the link √13, equation (10).
/// Method: M13.
#[test]
fn first_order_adds_contributions_and_their_correlation() {
    let rest = "model: 3 * a + b\ncontributors:\n  \
        - {name: A, adds_to: a, estimate: 0, standard_uncertainty: 1}\n  \
        - {name: B, adds_to: b, estimate: 0, standard_uncertainty: 2}";
    let alone = evaluate(rest).unwrap();
    assert_relative_eq!(alone.all.standard_uncertainty, 13f64.sqrt(), max_relative = 1e-15);
    let linked = evaluate(&format!("{rest}\nlinked: [{{between: [A, B], r: 0.5}}]")).unwrap();
    assert_relative_eq!(linked.all.standard_uncertainty, 19f64.sqrt(), max_relative = 1e-14);
    assert_relative_eq!(linked.all.correlation_share, 6.0 / 19.0, max_relative = 1e-13);
}

/// y = x² at x = 1, u = 0.3: for a normal input Var(x²) = 4u² + 2u⁴ exactly, for a rectangle with
/// fourth moment 1.8·u⁴ it is 4u² + 0.8·u⁴ (moments of the square); mean shift u². The note of JCGM
/// 100:2008, 5.1.2, is the first. y = a·b at 0, 0: u = u_a·u_b.
/// Method: M14.
#[test]
fn second_order_of_a_square_and_a_product_is_exact() {
    let square = |kind: &str| {
        format!(
            "model: x * x\nestimates: {{x: 1}}\norder: second\ncontributors:\n  \
            - {{name: a, adds_to: x, {kind}}}"
        )
    };
    let u2 = 0.09f64;
    for (kind, fourth) in [("standard_uncertainty: 0.3", 2.0), ("limits: ±0.5196152422706632", 0.8)]
    {
        let point = evaluate(&square(kind)).unwrap();
        let expected = (4.0 * u2 + fourth * u2 * u2).sqrt();
        assert_relative_eq!(point.all.standard_uncertainty, expected, max_relative = 1e-12);
        assert_relative_eq!(point.all.shift.unwrap(), u2, max_relative = 1e-12);
    }
    let rest = "model: a * b\nestimates: {a: 0, b: 0}\norder: second\ncontributors:\n  \
        - {name: A, adds_to: a, standard_uncertainty: 0.2}\n  \
        - {name: B, adds_to: b, standard_uncertainty: 0.3}";
    let product = evaluate(rest).unwrap();
    assert_relative_eq!(product.all.standard_uncertainty, 0.06, max_relative = 1e-14);
}

/// JCGM 100:2008, G.4.1, example: 0.25 %, 0.57 %, 0.82 % with 9, 4, 14 degrees of freedom: 19.0 printed,
/// 18.9987 unrounded (equation (G.2b)).
/// Method: M15.
#[test]
fn effective_degrees_of_freedom_follow_welch_and_satterthwaite() {
    let rest = "model: a + b + c\ncontributors:\n  \
        - {name: A, adds_to: a, estimate: 0, standard_uncertainty: 0.25, dof: 9}\n  \
        - {name: B, adds_to: b, estimate: 0, standard_uncertainty: 0.57, dof: 4}\n  \
        - {name: C, adds_to: c, estimate: 0, standard_uncertainty: 0.82, dof: 14}";
    let point = evaluate(rest).unwrap();
    assert!((point.all.effective_dof - 18.9987).abs() < 5e-5, "{}", point.all.effective_dof);
    assert_eq!(point.all.quantile_dof, 18.0);
}

/// u = 2 with 9 degrees of freedom at 95 %: k = 2.262157162798205 (scipy), U = k·u; a fixed k is taken
/// as it is (JCGM 100:2008, 6.2.1, 6.3.3 and G.3.2).
/// Method: M18.
#[test]
fn the_expanded_uncertainty_is_k_times_u() {
    let rest = |coverage: &str| {
        format!(
            "model: a\ncoverage: {coverage}\ncontributors:\n  \
            - {{name: A, adds_to: a, estimate: 0, standard_uncertainty: 2, dof: 9}}"
        )
    };
    let point = evaluate(&rest("{probability: 95 %, method: t}")).unwrap();
    assert_relative_eq!(point.coverage_factor, 2.262_157_162_798_205, max_relative = 1e-13);
    assert_eq!(point.expanded_uncertainty, point.coverage_factor * 2.0);
    let fixed = evaluate(&rest("{method: fixed, k: 3}")).unwrap();
    assert_eq!(fixed.expanded_uncertainty, 6.0);
    // The U of decisions stays that of 95.45 %: t with 9 degrees of freedom.
    assert_relative_eq!(fixed.all.test_factor, TEST_FACTOR_9, max_relative = 1e-12);
}

/// scipy.stats.t.ppf(0.97725, 9).
const TEST_FACTOR_9: f64 = 2.319_809_441_022_430_4;

/// Of a group only the largest |c·u| counts: 2 here, and 1 where only the laboratory's count (common
/// practice, no source).
/// Method: M20.
#[test]
fn only_the_largest_of_a_group_counts_in_each_scope() {
    let rest = "model: a\ncontributors:\n  \
        - {name: A, adds_to: a, estimate: 0, standard_uncertainty: 1, largest_of: g}\n  \
        - {name: B, adds_to: a, estimate: 0, standard_uncertainty: 2, largest_of: g, \
        owner: instrument}";
    let point = evaluate(rest).unwrap();
    assert_eq!(point.all.standard_uncertainty, 2.0);
    assert_eq!(point.laboratory.standard_uncertainty, 1.0);
    let kept: Vec<bool> = point.contributors.iter().map(|it| it.kept).collect();
    assert_eq!(kept, [false, true]);
}
