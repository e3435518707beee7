//! Findings: each is said where it should be and nowhere else, and never alters a number.
//!
//! Budgets are invented; what they must be told follows from `docs/budget-format.md` and the list of
//! findings in the changelog. No outside figures are needed.
#![allow(clippy::unwrap_used, clippy::panic)]

use surebound::advise;
use surebound::budget::Worksheet;
use surebound::budget::parts::WorksheetParts;
use surebound::decide::findings::of_zones;
use surebound::decide::{Readings, find_point};
use surebound::fault::{Finding, Origin, Severity};
use surebound::file::{load_budget, load_worksheet};
use surebound::quantity::Quantity;

/// Returns the findings about a budget whose `contributors` (and what follows) are given.
fn findings(model: &str, rest: &str) -> Vec<Finding> {
    let text = format!(
        "surebound: 1\ntitle: T\nmeasurand: {{symbol: E, name: Error, unit: µm}}\npoints: {{symbol: L, unit: mm, at: [5, 10]}}\n{model}\n{rest}"
    );
    let loaded = load_budget("b.yaml", text.as_bytes());
    let budget =
        loaded.value.unwrap_or_else(|faults| panic!("{}", loaded.source.render_all(&faults)));
    let evaluation = budget.evaluate().unwrap();
    let zones = evaluation.zones().unwrap();
    let mut findings = advise::of_evaluation(&evaluation);
    findings.extend(of_zones(&budget, &zones));
    findings
}

fn codes(model: &str, rest: &str) -> Vec<&'static str> {
    findings(model, rest).iter().map(|it| it.code).collect()
}

const STEP: &str = "contributors:\n  - {name: Step, owner: instrument, step: 1 µm}\n";

#[test]
fn says_nothing_about_a_plain_budget() {
    assert!(codes("model: reading - L", STEP).is_empty());
}

#[test]
fn says_nothing_but_the_recalled_table_about_the_shipped_budgets() {
    for (file, expected) in [
        ("dial-indicator-0-10.yaml", vec![]),
        ("outside-micrometer-0-25.yaml", vec![]),
        ("outside-micrometer-25-50.yaml", vec![]),
        ("inch-micrometer-0-1.yaml", vec!["recalled-table"]),
        ("torque-wrench.yaml", vec![]),
    ] {
        let path = format!("{}/budgets/{file}", env!("CARGO_MANIFEST_DIR"));
        let loaded = load_budget(file, &std::fs::read(path).unwrap());
        let budget = loaded.value.unwrap();
        let evaluation = budget.evaluate().unwrap();
        let found: Vec<&str> =
            advise::of_evaluation(&evaluation).iter().map(|it| it.code).collect();
        assert_eq!(found, expected, "{file}");
    }
}

#[test]
fn names_an_input_that_nothing_uses_and_only_that() {
    let model = "model: reading - block\nestimates: {block: L, idle: 3 mm, half: 0.5}";
    let rest = "contributors:\n  - {name: Step, step: half * 2 µm, owner: instrument}\n";
    let found = findings(model, rest);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].code, found[0].about.as_str()), ("unused-input", "idle"));
}

#[test]
fn names_in_tolerances_sensitivities_and_guard_bands_count_as_used() {
    let model = "model: reading - L\nestimates: {a: 2 µm, b: 3, c: 0.1 µm, d: 1}";
    let rest = "contributors:\n  - {name: Step, step: 1 µm, sensitivity: b, estimate: d * 0 µm}\n\
                tolerance: ±a\ndecision: {rule: guarded, guard_band: {width: c}}\n";
    assert!(!codes(model, rest).contains(&"unused-input"), "{:?}", codes(model, rest));
}

#[test]
fn names_a_contributor_without_effect() {
    let model = "model: reading - L\nestimates: {idle: 3 mm}";
    let rest = "contributors:\n  - {name: Step, step: 1 µm}\n  - {name: Lost, adds_to: idle, limits: ±1 µm}\n";
    let found = codes(model, rest);
    assert!(found.contains(&"without-effect") && found.contains(&"unused-input"), "{found:?}");
}

/// y = x² at x = 1 mm/1 mm with a large u: by hand u₁ = 2u, u₂² = 4u² + 2u⁴.
#[test]
fn says_that_the_second_order_enters_and_by_how_much() {
    let model = "model: reading - L + x^2 * 1 µm\nestimates: {x: 1}";
    let rest = |u: f64, order: &str| {
        format!(
            "contributors:\n  - {{name: X, adds_to: x, standard_uncertainty: {u}}}\norder: {order}\n"
        )
    };
    // √(1 + u²/2) − 1: 1.10 % at u = 0.21, 0.90 % at 0.19.
    assert!(codes(model, &rest(0.21, "auto")).contains(&"second-order"));
    assert!(!codes(model, &rest(0.19, "auto")).contains(&"second-order"));
    assert!(codes(model, &rest(0.21, "first")).contains(&"second-order-left-out"));
    assert!(!codes(model, &rest(0.19, "first")).contains(&"second-order-left-out"));
    assert!(!codes(model, &rest(0.21, "second")).contains(&"second-order"));
    let message = findings(model, &rest(0.21, "auto"))[0].message.clone();
    assert!(message.contains("1.1 %"), "{message}");
}

/// The shift of x² is u²; against u₁ = 2u it is u/2 of u: 10 % is passed between u = 0.19 and 0.21
/// (by hand, second order in use: u²/√(4u² + 2u⁴)).
#[test]
fn says_that_curvature_shifts_the_estimate_from_ten_per_cent_on() {
    let model = "model: reading - L + x^2 * 1 µm\nestimates: {x: 1}";
    let rest =
        |u: f64| format!("contributors:\n  - {{name: X, adds_to: x, standard_uncertainty: {u}}}\n");
    assert!(!codes(model, &rest(0.19)).contains(&"estimate-shifted"));
    assert!(codes(model, &rest(0.22)).contains(&"estimate-shifted"));
}

#[test]
fn says_that_the_second_order_cannot_be_told_at_a_kink_of_a_derivative() {
    // x^1.5 at 0: the first derivative is 0, the second does not exist.
    let model = "model: reading - L + y * 1 µm\nestimates: {x: 1, y: (x - 1)^2.5}";
    let rest = "contributors:\n  - {name: X, adds_to: x, standard_uncertainty: 0.1}\n  - {name: Step, step: 1 µm}\norder: first\n";
    let loaded = codes_or_fault(model, rest);
    assert!(loaded == "second-order-unknown" || loaded.contains("derivative"), "{loaded}");
}

fn codes_or_fault(model: &str, rest: &str) -> String {
    let text = format!(
        "surebound: 1\ntitle: T\nmeasurand: {{symbol: E, name: Error, unit: µm}}\npoints: {{symbol: L, unit: mm, at: [5, 10]}}\n{model}\n{rest}"
    );
    let budget = load_budget("b.yaml", text.as_bytes()).value.unwrap();
    match budget.evaluate() {
        Ok(evaluation) => advise::of_evaluation(&evaluation)
            .iter()
            .map(|it| it.code)
            .collect::<Vec<_>>()
            .join(" "),
        Err(faults) => faults.to_string(),
    }
}

#[test]
fn says_that_degrees_of_freedom_are_approximate_only_with_linked_finite_ones() {
    let rest = |dof: &str, r: &str| {
        format!(
            "contributors:\n  - {{name: A, standard_uncertainty: 1 µm{dof}}}\n  - {{name: B, standard_uncertainty: 1 µm}}\nlinked:\n  - {{between: [A, B], r: {r}}}\n"
        )
    };
    let model = "model: reading - L";
    assert_eq!(codes(model, &rest(", dof: 9", "0.5")), ["dof-approximate"]);
    assert!(codes(model, &rest("", "0.5")).is_empty());
    assert!(codes(model, &rest(", dof: 9", "0")).is_empty());
}

#[test]
fn says_which_grade_table_is_recalled_and_how_far() {
    let rest = |table: &str, grade: &str| {
        format!(
            "contributors:\n  - {{name: Block, adds_to: L, block_grade: {grade}, table: {table}}}\n"
        )
    };
    let said = |table: &str, grade: &str| {
        let found = findings("model: reading - L", &rest(table, grade));
        found.first().map_or(String::new(), |it| it.message.clone())
    };
    assert_eq!(said("ISO 3650", "0"), "");
    assert!(said("ISO 3650", "K").contains("recalled, not read"));
    assert!(said("ASME B89.1.9", "0").contains("recalled, not read"));
    assert!(said("ASME B89.1.9", "00").contains("recalled and doubtful"));
}

#[test]
fn says_that_a_name_with_limits_alone_is_taken_as_zero() {
    let rest =
        |extra: &str| format!("contributors:\n  - {{name: D, adds_to: d, limits: ±1 µm{extra}}}\n");
    assert_eq!(codes("model: reading - L + d", &rest("")), ["zero-estimate"]);
    assert!(codes("model: reading - L + d", &rest(", estimate: 2 µm")).is_empty());
    let between = "contributors:\n  - {name: D, adds_to: d, limits: [1 µm, 3 µm]}\n";
    assert!(codes("model: reading - L + d", between).is_empty());
}

#[test]
fn says_that_nothing_passes_where_the_guard_band_fills_the_tolerance() {
    let rest = format!("{STEP}tolerance: ±0.5 µm\ndecision: {{rule: guarded, uncertainty: all}}\n");
    let found = findings("model: reading - L", &rest);
    let empty = found.iter().find(|it| it.code == "acceptance-zone-empty").unwrap();
    assert_eq!(empty.severity, Severity::Warning);
    assert!(
        !codes("model: reading - L", &rest.replace("±0.5", "±5"))
            .contains(&"acceptance-zone-empty")
    );
}

#[test]
fn says_when_fewer_than_one_degree_of_freedom_is_left() {
    // By hand: a = (1, −0.99), r = 1: a·Ra = (0.01, −0.0099), ν = 0.0001²/(0.01² + 0.0099²) = 5e-5.
    let rest = "contributors:\n  - {name: A, adds_to: a, standard_uncertainty: 1 µm, dof: 1}\n  - {name: B, adds_to: b, standard_uncertainty: 0.99 µm, dof: 1}\nlinked:\n  - {between: [A, B], r: 1}\n";
    let model = "model: reading - L + a - b\nestimates: {a: 0 µm, b: 0 µm}";
    assert!(codes(model, rest).contains(&"dof-below-one"), "{:?}", codes(model, rest));
}

#[test]
fn says_that_a_missing_display_step_leaves_things_unsaid_only_when_readings_are_judged() {
    let text = |step: &str| {
        format!(
            "surebound: 1\ntitle: T\nmeasurand: {{symbol: E, name: Error, unit: µm}}\npoints: {{symbol: L, unit: mm, at: [5, 10]}}\ncontributors:\n  - {{name: S, owner: instrument, {step}: 1 µm}}\ntolerance: ±9 µm\ndecision: {{rule: simple, uncertainty: all}}\n"
        )
    };
    let said = |step: &str| {
        let budget = load_budget("b.yaml", text(step).as_bytes()).value.unwrap();
        let evaluation = budget.evaluate().unwrap();
        let at = find_point(&budget, "5 mm", Origin::NONE).unwrap();
        let reading = Quantity::parse("5.001 mm", budget.units()).unwrap();
        let judgement = evaluation.judge(&Readings::one(at, reading, Origin::NONE)).unwrap();
        judgement.findings.iter().any(|it| it.code == "no-display-step")
    };
    assert!(said("standard_uncertainty"));
    assert!(!said("step"));
}

fn worksheet(text: &str) -> Worksheet {
    load_worksheet("w.yaml", text.as_bytes()).value.unwrap()
}

fn about_worksheet(worksheet: &Worksheet) -> Vec<Finding> {
    let text = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\npoints: {symbol: L, unit: mm, at: [5]}\ncontributors:\n  - {name: Block, limits: ±1 µm, basis: Set GB-07, due: 2026-11-20}\n  - {name: Step, owner: instrument, step: 1 µm}\n";
    let budget = load_budget("b.yaml", text.as_bytes()).value.unwrap();
    advise::of_worksheet(worksheet, &budget)
}

#[test]
fn says_that_evidence_was_due_before_the_readings() {
    let dated = |date: &str| {
        worksheet(&format!(
            "surebound_worksheet: 1\ninstrument: {{id: X}}\ndate: {date}\nsections:\n  - {{budget: b.yaml, readings: {{5: 5.000}}}}\n"
        ))
    };
    let found = about_worksheet(&dated("2026-11-21"));
    assert_eq!((found.len(), found[0].code), (1, "overdue"));
    assert!(found[0].message.contains("Set GB-07") && found[0].message.contains("2026-11-20"));
    assert!(about_worksheet(&dated("2026-11-20")).is_empty());
    let undated = Worksheet::new(WorksheetParts::default()).unwrap();
    assert!(about_worksheet(&undated).is_empty());
}

#[test]
fn says_that_the_zero_setting_does_not_repeat_beyond_a_step() {
    let zero = |values: &str| {
        worksheet(&format!(
            "surebound_worksheet: 1\ninstrument: {{id: X}}\nzero: [{values}]\nsections:\n  - {{budget: b.yaml, readings: {{5: 5.000}}}}\n"
        ))
    };
    assert!(about_worksheet(&zero("0.000, 0.001, 0.000")).is_empty());
    let found = about_worksheet(&zero("0.000, 0.002, 0.000"));
    assert_eq!((found.len(), found[0].code), (1, "zero-not-repeated"));
    assert!(found[0].message.contains("0.002 mm"), "{}", found[0].message);
    assert_eq!(about_worksheet(&zero("-0.001, 0.001")).len(), 1);
}
