//! Results beside the measurand, by hand: what reaches them, what is said about them, and their page.
//!
//! Budgets are as small as can be, so that an expected number is a line of arithmetic beside it.

// The whole file is a test; a helper may end it as a test may.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/show.rs"]
mod show;

use approx::assert_relative_eq;
use show::shown;
use std::process::Command;
use surebound::advise;
use surebound::record::{Point, Record, Results};

/// A budget of plain numbers with `a` = 3 ± 0.3 and `b` = 4 ± 0.4, and what is put around them.
fn text(model: &str, results: &str, more: &str) -> String {
    format!(
        "surebound: 1\ntitle: T\nmeasurand: {{symbol: y, name: Y, unit: 1}}\nmodel: {model}\nresults:\n{results}\n\
         estimates: {{a: 3, b: 4}}\ncontributors:\n  - {{name: a, adds_to: a, standard_uncertainty: 0.3}}\n  \
         - {{name: b, adds_to: b, standard_uncertainty: 0.4}}\n{more}\n"
    )
}

fn one(symbol: &str, model: &str) -> String {
    format!("  - {{symbol: {symbol}, name: N, unit: 1, model: {model}}}\n")
}

fn point(text: &str) -> (Point, Results) {
    let point = shown(text).points.remove(0);
    let results = point.results.clone().unwrap();
    (point, results)
}

/// a + b and a − b with r(a, b) = 0.5: variances 0.25 ± 2·0.5·0.12 = 0.37 and 0.13, covariance
/// u²(a) − u²(b) = −0.07, r = −0.07/√(0.37·0.13).
/// Method: M58, M59.
#[test]
fn sum_and_difference_have_the_covariance_of_theory() {
    let linked = "linked: [{between: [a, b], r: 0.5}]";
    let (point, results) = point(&text("a + b", &one("d", "a - b"), linked));
    let expected = [[0.37, -0.07], [-0.07, 0.13]];
    for (got, expected) in results.covariance.iter().flatten().zip(expected.iter().flatten()) {
        assert_relative_eq!(got, expected, max_relative = 1e-14);
    }
    let r = -0.07 / (0.37f64 * 0.13).sqrt();
    assert_relative_eq!(results.correlation[0][1].unwrap(), r, max_relative = 1e-14);
    let d = &results.figures[0];
    assert_eq!((d.estimate, results.independent), (-1.0, 2));
    assert_relative_eq!(d.standard_uncertainty, 0.13f64.sqrt(), max_relative = 1e-14);
    assert_relative_eq!(d.expanded_uncertainty, point.coverage_factor * d.standard_uncertainty);
}

/// What is added to the measurand itself, 0.5 ± 1.2 and nothing else, reaches y + 1 and not the same model
/// written out: 1.2² more variance, and a covariance of 0.25 alone.
#[test]
fn what_adds_to_the_measurand_reaches_results_through_its_symbol_alone() {
    let results = one("p", "y + 1") + &one("q", "a + b + 1");
    let more = "  - {name: direct, estimate: 0.5, standard_uncertainty: 1.2}";
    let (point, results) = point(&text("a + b", &results, more));
    let [p, q] = [&results.figures[0], &results.figures[1]];
    assert_eq!((point.estimate, p.estimate, q.estimate), (7.5, 8.5, 8.0));
    let square = |u: f64| u * u;
    assert_relative_eq!(square(point.standard_uncertainty), 1.69, max_relative = 1e-14);
    assert_relative_eq!(square(p.standard_uncertainty), 1.69, max_relative = 1e-14);
    assert_relative_eq!(square(q.standard_uncertainty), 0.25, max_relative = 1e-14);
    assert_relative_eq!(results.covariance[0][2], 0.25, max_relative = 1e-14);
}

/// An input that a result alone uses: it takes its value from its contributors, and nothing says that it
/// is unused or without effect.
#[test]
fn an_input_that_only_a_result_uses_is_an_input() {
    let more = "  - {name: c, adds_to: c, limits: [1.9, 2.1]}";
    let budget = show::budget(&text("a + b", &one("p", "y * c"), more));
    let evaluation = show::evaluated(&budget);
    let results = evaluation.points()[0].results.as_ref().unwrap();
    assert_eq!(results.figures[0].estimate.si, 14.0);
    // 14²·[(0.5/7)² + (0.1/√3/2)²], first order.
    let u = 14.0 * (0.25f64 / 49.0 + 0.01 / 12.0).sqrt();
    assert_relative_eq!(results.figures[0].combined.first_order, u, max_relative = 1e-14);
    assert!(advise::of_evaluation(&evaluation).is_empty());
    assert_eq!(evaluation.points()[0].contributors[2].contribution, 0.0);
}

/// Of a group the member counts that counts for the measurand (here `b`, 0.4 against 0.3); of a group on
/// which the measurand does not depend, the one that is largest for the first result that does.
/// Method: M62.
#[test]
fn of_a_group_the_measurands_member_counts_else_that_of_the_first_result() {
    let results = one("p", "5 * a + b") + &one("q", "c + 3 * d") + &one("s", "9 * c + d");
    let more = "  - {name: c, adds_to: c, standard_uncertainty: 0.2, estimate: 0, largest_of: h}\n  \
                - {name: d, adds_to: d, standard_uncertainty: 0.1, estimate: 0, largest_of: h}\n";
    let text = text("a + b", &results, more)
        .replace("standard_uncertainty: 0.3", "standard_uncertainty: 0.3, largest_of: g")
        .replace("standard_uncertainty: 0.4", "standard_uncertainty: 0.4, largest_of: g");
    let (point, results) = point(&text);
    let kept: Vec<bool> = point.contributors.iter().map(|it| it.kept).collect();
    assert_eq!(kept, [false, true, false, true]);
    let u: Vec<f64> = results.figures.iter().map(|it| it.standard_uncertainty).collect();
    // p: only b, 0.4, although 5·0.3 is larger; q: 3·0.1 beats 0.2; s: d again, 0.1.
    for (got, expected) in u.iter().zip([0.4, 0.3, 0.1]) {
        assert_relative_eq!(*got, expected, max_relative = 1e-14);
    }
}

/// The square has f″ = 2, so at 0 its first order is nothing and its second order √2·u² (M14).
#[test]
fn the_order_of_propagation_is_each_results_own() {
    let more = "  - {name: c, adds_to: c, standard_uncertainty: 0.5, estimate: 0}";
    let budget = show::budget(&text("a + b", &one("p", "c^2"), more));
    let evaluation = show::evaluated(&budget);
    let results = evaluation.points()[0].results.as_ref().unwrap();
    let p = &results.figures[0].combined;
    assert!(p.second_order_used && !evaluation.points()[0].all.second_order_used);
    assert_eq!(p.first_order, 0.0);
    assert_relative_eq!(p.standard_uncertainty, 2f64.sqrt() * 0.25, max_relative = 1e-14);
    assert_eq!(results.correlation, [[Some(1.0), None], [None, None]]);
    let codes: Vec<&str> = advise::of_evaluation(&evaluation).iter().map(|it| it.code).collect();
    let expected = ["second-order", "estimate-shifted", "covariance-first-order", "results-tied"];
    assert_eq!(codes, expected);
}

#[test]
fn says_what_order_first_leaves_out_of_a_result() {
    let more = "  - {name: c, adds_to: c, standard_uncertainty: 0.5, estimate: 0}\norder: first";
    let budget = show::budget(&text("a + b", &one("p", "c^2"), more));
    let findings = advise::of_evaluation(&show::evaluated(&budget));
    let left_out = findings.iter().find(|it| it.code == "second-order-left-out").unwrap();
    assert!(left_out.message.contains("`p`"), "{}", left_out.message);
    let budget = show::budget(&text("a + b", &one("p", "sqrt(a - 3)"), "order: first"));
    assert!(budget.evaluate().is_err(), "the first derivative does not exist");
}

/// Without uncertainty there is no correlation; the record says so, and of which result.
#[test]
fn a_result_without_uncertainty_has_no_correlation_and_a_reason() {
    let (point, results) = point(&text("a + b", &one("p", "2 * pi"), ""));
    assert_eq!(results.correlation, [[Some(1.0), None], [None, None]]);
    assert_eq!(results.covariance[1], [0.0, 0.0]);
    let reason = point.reasons.iter().find(|it| it.field == "results.correlation").unwrap();
    assert_eq!(reason.reason, "u of `p` is zero");
    assert_eq!(results.figures[0].expanded_uncertainty, 0.0);
}

/// A fixed factor has no probability, so no region can be stated; each U takes the factor.
#[test]
fn a_fixed_factor_has_no_regions() {
    let more = "coverage: {method: fixed, k: 2}";
    let (point, results) = point(&text("a + b", &one("p", "a - b"), more));
    assert_eq!(results.region, None);
    assert!(point.reasons.iter().any(|it| it.field == "results.region"));
    assert_eq!(results.figures[0].coverage_factor, 2.0);
    let (_, normal) =
        self::point(&text("a + b", &one("p", "a - b"), "coverage: {probability: 95 %}"));
    let region = normal.region.unwrap();
    assert_eq!((region.probability, region.quantities), (0.95, 2));
}

#[test]
fn finite_degrees_of_freedom_are_said_to_weaken_the_regions() {
    let text = text("a + b", &one("p", "a - b"), "");
    let codes = |text: &str| -> Vec<&'static str> {
        let budget = show::budget(text);
        let evaluation = show::evaluated(&budget);
        advise::of_evaluation(&evaluation).iter().map(|it| it.code).collect()
    };
    assert!(codes(&text).is_empty());
    assert_eq!(
        codes(&text.replace("uncertainty: 0.3", "uncertainty: 0.3, dof: 5")),
        ["region-dof"]
    );
}

/// Points with keys of their own: an estimate that a point replaces is replaced in results too.
#[test]
fn a_point_replaces_estimates_in_results_too() {
    let text = text("reading - L", &one("p", "a * L"), "")
        .replace("\nmodel:", "\npoints: {symbol: L, unit: 1, at: [1, {at: 2, a: 10}]}\nmodel:");
    let points = shown(&text).points;
    let of = |index: usize| points[index].results.as_ref().unwrap().figures[0].clone();
    assert_eq!((of(0).estimate, of(1).estimate), (3.0, 20.0));
    assert_relative_eq!(of(1).standard_uncertainty, 0.6, max_relative = 1e-14);
}

/// A reading is judged by the measurand; what it does to the results is not worked out.
#[test]
fn judging_is_about_the_measurand_alone() {
    let text = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\npoints: {symbol: L, unit: mm, at: [5]}\n\
        results: [{symbol: E_rel, name: Relative error, unit: µm/m, model: E / L}]\n\
        contributors: [{name: Step, owner: instrument, step: 1 µm}]\n\
        tolerance: ±4 µm\ndecision: {rule: guarded, uncertainty: all}\n";
    assert!(shown(text).points[0].results.is_some());
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("b.yaml"), text).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
    let arguments =
        ["judge", "b.yaml", "--at", "5 mm", "--reading", "5.001 mm", "--format", "json"];
    let output = command.current_dir(folder.path()).args(arguments).output().unwrap();
    let record: Record = serde_json::from_slice(&output.stdout).unwrap();
    let point = &record.sections[0].points[0];
    assert!(point.results.is_none() && point.decision.as_ref().unwrap().verdict.is_some());
}

/// Returns the text of a code block of the page, from the first line to the closing fence.
fn block(page: &str, language: &str) -> String {
    let start = format!("```{language}\n");
    let rest = page.split_once(&start).expect("a block of that language").1;
    rest.split_once("```").expect("a closing fence").0.to_string()
}

/// The example of `docs/several-results.md`, run: the page shows what the program prints.
#[test]
fn the_worked_example_is_what_the_program_prints() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/several-results.md");
    let page = std::fs::read_to_string(path).unwrap();
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("coil.yaml"), block(&page, "yaml")).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
    let output = command.current_dir(folder.path()).args(["show", "coil.yaml"]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let expected = block(&page, "text");
    assert!(said.contains(&expected), "the page says\n{expected}\nthe program\n{said}");
    assert!(said.lines().all(|it| it.chars().count() <= 100), "{said}");
}

/// 20 results with long symbols: the matrix is broken into blocks, and nothing is wider than 100 columns.
#[test]
fn many_results_fit_the_page() {
    let results: String = (0..20).map(|it| one(&format!("quantity_{it:02}"), "a * b")).collect();
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("b.yaml"), text("a + b", &results, "")).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
    let output = command.current_dir(folder.path()).args(["show", "b.yaml"]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.lines().all(|it| it.chars().count() <= 100), "{said}");
    assert_eq!(said.matches("\nr  ").count(), 4, "{said}");
}
