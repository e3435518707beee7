//! Findings: each is said where it should be and nowhere else, and never alters a number.
//!
//! Budgets are invented; what they must be told follows from `docs/budget-format.md` and the list of
//! findings in the changelog. No outside figures are needed.
#![allow(clippy::unwrap_used, clippy::panic)]

use surebound::advise;
use surebound::budget::parts::WorksheetParts;
use surebound::budget::{Take, Worksheet};
use surebound::decide::findings::of_zones;
use surebound::decide::readings::Row;
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

const STEP: &str = "contributors:\n  - {name: Step, owner: instrument, step: 1 µm}\n  - {name: Scatter, standard_uncertainty: 0.3 µm}\n";

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
    let rest = "contributors:\n  - {name: Step, step: half * 2 µm, owner: instrument}\n  - {name: Scatter, standard_uncertainty: 1 µm}\n";
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
            "contributors:\n  - {{name: Block, adds_to: L, block_grade: {grade}, table: {table}}}\n  - {{name: Scatter, standard_uncertainty: 1 µm}}\n"
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
    let rest = |extra: &str| {
        format!(
            "contributors:\n  - {{name: D, adds_to: d, limits: ±1 µm{extra}}}\n  - {{name: N, standard_uncertainty: 1 µm}}\n"
        )
    };
    assert_eq!(codes("model: reading - L + d", &rest("")), ["zero-estimate"]);
    assert!(codes("model: reading - L + d", &rest(", estimate: 2 µm")).is_empty());
    let between = "contributors:\n  - {name: D, adds_to: d, limits: [1 µm, 3 µm]}\n  - {name: N, standard_uncertainty: 1 µm}\n";
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

/// The risk on a tolerance limit that is far from the other is 50 %, beyond it by the width that leaves 5 % it is 95 %.
#[test]
fn says_that_a_rule_keeps_no_promise() {
    let told = |decision: &str| {
        let rest = format!(
            "{STEP}tolerance: ±5 µm\npopulation: {{mean: 0 µm, sd: 2.5 µm}}\ndecision: {{uncertainty: all, {decision}}}\n"
        );
        let found = findings("model: reading - L", &rest);
        let it = found.into_iter().find(|it| it.code == "promise-not-kept");
        it.map(|it| (it.severity, it.message))
    };
    let promise = "guard_band: {specific_risk: 5 %}";
    for rule in ["guarded", "three-way", "four-way"] {
        assert_eq!(told(&format!("rule: {rule}, {promise}")), None, "{rule}");
    }
    assert_eq!(told("rule: relaxed, guard_band: {times_U: 1}"), None);
    let (severity, message) = told(&format!("rule: relaxed, {promise}")).unwrap();
    assert_eq!(severity, Severity::Warning);
    assert!(message.ends_with("a specific risk of 5 %: a pass has up to 95 %"), "{message}");
    let (_, message) = told(&format!("rule: simple, {promise}")).unwrap();
    assert!(message.ends_with("a specific risk of 5 %: a pass has up to 50 %"), "{message}");
    let unmet = format!("rule: guarded, {promise}, requires: {{tur: 400, otherwise: relaxed}}");
    assert!(told(&unmet).is_some());
    let (_, message) = told("rule: simple, guard_band: {consumer_risk: 0.1 %}").unwrap();
    assert!(message.contains("the rule simple keeps no promise of a consumer's risk of 0.1 %"));
    assert_eq!(told("rule: simple, guard_band: {consumer_risk: 40 %}"), None, "that one holds");
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
    let found = about_worksheet(&undated);
    assert_eq!(
        (found.len(), found[0].code),
        (1, "undated"),
        "nothing to hold the due date against"
    );
}

/// What is to be done is the same for all of them: it is said once.
#[test]
fn says_once_that_the_evidence_of_several_contributors_was_due() {
    let text = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\npoints: {symbol: L, unit: mm, at: [5]}\ncontributors:\n  - {name: Block, limits: ±1 µm, basis: Set GB-07, due: 2026-11-20}\n  - {name: Room, limits: ±1 µm, due: 2026-10-01}\n  - {name: Later, limits: ±1 µm, due: 2027-10-01}\n";
    let budget = load_budget("b.yaml", text.as_bytes()).value.unwrap();
    let sheet = worksheet(
        "surebound_worksheet: 1\ninstrument: {id: X}\ndate: 2026-11-21\nsections:\n  - {budget: b.yaml, readings: {5: 5.000}}\n",
    );
    let found = advise::of_worksheet(&sheet, &budget);
    assert_eq!((found.len(), found[0].code), (1, "overdue"));
    let message = &found[0].message;
    for part in ["Block (Set GB-07) on 2026-11-20", "Room on 2026-10-01"] {
        assert!(message.contains(part), "{message}");
    }
    assert!(!message.contains("Later"), "{message}");
}

#[test]
fn says_that_the_zero_setting_does_not_repeat_beyond_a_step() {
    let zero = |values: &str| {
        worksheet(&format!(
            "surebound_worksheet: 1\ninstrument: {{id: X}}\ndate: 2026-11-20\nzero: [{values}]\nsections:\n  - {{budget: b.yaml, readings: {{5: 5.000}}}}\n"
        ))
    };
    assert!(about_worksheet(&zero("0.000, 0.001, 0.000")).is_empty());
    let found = about_worksheet(&zero("0.000, 0.002, 0.000"));
    assert_eq!((found.len(), found[0].code), (1, "zero-not-repeated"));
    assert!(found[0].message.contains("0.002 mm"), "{}", found[0].message);
    assert_eq!(about_worksheet(&zero("-0.001, 0.001")).len(), 1);
    // A unit is that which is written.
    assert!(about_worksheet(&zero("0.000, 1 µm")).is_empty());
    assert_eq!(about_worksheet(&zero("0.000, 1 µm, 2 µm"))[0].code, "zero-not-repeated");
}

/// 5 mm beside zero repeated well, and nothing was said.
#[test]
fn says_that_the_zero_setting_is_not_at_zero() {
    let zero = |values: &str| {
        worksheet(&format!(
            "surebound_worksheet: 1\ninstrument: {{id: X}}\ndate: 2026-11-20\nzero: [{values}]\nsections:\n  - {{budget: b.yaml, readings: {{5: 5.000}}}}\n"
        ))
    };
    for values in ["7.0, 7.0", "7 mm", "-0.002", "0.002, 0.001"] {
        let found = about_worksheet(&zero(values));
        assert_eq!((found.len(), found[0].code), (1, "zero-off"), "{values}");
    }
    assert!(about_worksheet(&zero("0.001, 0.000")).is_empty());
}

/// Returns the finding with a code, or nothing.
fn found(model: &str, rest: &str, code: &str) -> Option<Finding> {
    findings(model, rest).into_iter().find(|it| it.code == code)
}

const PLAIN: &str = "model: reading - L";

/// A budget of a rectangle ±1 µm and a normal u; rest/rectangle = u·√3, 0.3 at u = 0.1732.
fn one_rectangle(u: f64, coverage: &str) -> String {
    format!(
        "contributors:\n  - {{name: Step, step: 2 µm}}\n  - {{name: N, standard_uncertainty: {u} µm}}\n{coverage}"
    )
}

/// EA-4/02 (m): the rest at most 0.3 of the rectangle. k by hand: 0.9545·√3 = 1.653; U by t is larger.
/// Method: M88.
#[test]
fn says_that_one_rectangle_dominates_with_the_trades_factor_and_the_exact_one() {
    let code = "rectangle-dominates";
    let said = found(PLAIN, &one_rectangle(0.1, ""), code).unwrap();
    assert_eq!(said.severity, Severity::Note);
    assert_eq!(said.help, "coverage: {method: exact}");
    assert_eq!(said.about, "all 2 points");
    for part in ["`Step`, a rectangle, dominates", "k = p·√3 gives k = 1.65", "t gives k = 2.00"]
    {
        assert!(said.message.contains(part), "{}", said.message);
    }
    assert!(said.message.contains("% larger than need be"), "{}", said.message);
    let exact = found(PLAIN, &one_rectangle(0.1, "coverage: {method: exact}\n"), code).unwrap();
    assert_eq!(exact.help, "");
    assert!(!exact.message.contains("t gives"), "{}", exact.message);
    assert!(found(PLAIN, &one_rectangle(0.173, ""), code).is_some());
    assert!(found(PLAIN, &one_rectangle(0.174, ""), code).is_none());
    // At 40 % a rectangle reaches further than t: 0.4·√3 = 0.69 against 0.52.
    let narrow =
        found(PLAIN, &one_rectangle(0.1, "coverage: {probability: 40 %}\n"), code).unwrap();
    assert_eq!(narrow.severity, Severity::Caution);
    assert!(narrow.message.contains("% too small"), "{}", narrow.message);
    let fixed =
        found(PLAIN, &one_rectangle(0.1, "coverage: {method: fixed, k: 2}\n"), code).unwrap();
    assert!(fixed.message.contains("the budget gives k = 2.00"), "{}", fixed.message);
}

/// EA-4/02, S10 (m): 50 and 25 µm, β = 1/3, k = 1.83 at 95 %. At β = 0.96 the flat top holds more than 95 %.
#[test]
fn says_that_two_rectangles_dominate_and_when_the_trapezoid_formula_does_not_hold() {
    let rest = |a: &str, b: &str| {
        format!(
            "contributors:\n  - {{name: Play, limits: ±{a} µm}}\n  - {{name: Step, step: {b} µm}}\n  - {{name: N, standard_uncertainty: 0.5 µm}}\ncoverage: {{probability: 95 %}}\n"
        )
    };
    let said = found(PLAIN, &rest("50", "50"), "rectangle-dominates").unwrap().message;
    let formula =
        "the trapezoid's formula gives k = 1.83 (EA-4/02), the exact distribution k = 1.83";
    assert!(said.contains("`Play` and `Step`, two rectangles, dominate"), "{said}");
    assert!(said.contains(formula), "{said}");
    // A third rectangle of a third of the second leaves two that dominate; one of its size does not.
    let third = |a: &str| {
        format!(
            "{}  - {{name: C, limits: ±{a} µm}}\n",
            rest("50", "50").replace("coverage: {probability: 95 %}\n", "")
        )
    };
    assert!(found(PLAIN, &third("10"), "rectangle-dominates").is_some());
    assert!(found(PLAIN, &third("25"), "rectangle-dominates").is_none());
}

/// A product of two inputs about zero is peaked: over 30 % of u² it is said, below it is not. By hand:
/// f = 1 + x, variance of the product 1/9, of the normal u².
/// Method: M89.
#[test]
fn says_that_a_product_is_not_like_a_normal() {
    let model = "model: reading - L + a*b\nestimates: {a: 0 µm, b: 0}";
    let rest = |u: &str| {
        format!(
            "contributors:\n  - {{name: A, adds_to: a, limits: ±1 µm}}\n  - {{name: B, adds_to: b, limits: ±1}}\n  - {{name: N, standard_uncertainty: {u} µm}}\n"
        )
    };
    let said = found(model, &rest("0.2"), "product-shape").unwrap();
    assert!(said.message.contains("t gives k = 2.00"), "{}", said.message);
    assert!(found(model, &rest("0.6"), "product-shape").is_none());
}

/// An interval of `exact` about a product with slopes is not symmetric.
#[test]
fn says_that_an_exact_interval_is_not_symmetric() {
    let model = "model: reading - L + a*b - 6 µm\nestimates: {a: 3, b: 2 µm}";
    let rest = |a: &str| {
        format!(
            "contributors:\n  - {{name: A, adds_to: a, limits: ±{a}}}\n  - {{name: B, adds_to: b, standard_uncertainty: 0.6 µm}}\ncoverage: {{method: exact}}\n"
        )
    };
    let said = found(model, &rest("1"), "interval-asymmetric").unwrap();
    assert!(said.message.contains("µm below and"), "{}", said.message);
    assert!(found(model, &rest("0.01"), "interval-asymmetric").is_none());
}

/// An arcsine beside a small normal has two humps, beside a large one it has one.
#[test]
fn says_that_a_density_has_several_humps() {
    let rest = |u: &str, coverage: &str| {
        format!(
            "contributors:\n  - {{name: A, limits: ±1 µm, shape: arcsine}}\n  - {{name: N, standard_uncertainty: {u} µm}}\n{coverage}"
        )
    };
    let exact = "coverage: {method: exact}\n";
    assert!(found(PLAIN, &rest("0.1", exact), "several-humps").is_some());
    assert!(found(PLAIN, &rest("2", exact), "several-humps").is_none());
    assert!(found(PLAIN, &rest("0.1", ""), "several-humps").is_none());
}

/// x² about 1: the share of ½f″²u⁴ in u² is u²/2/(1 + u²/2), by hand 0.18 % at u = 0.06, 0.08 % at 0.04.
#[test]
fn says_what_an_exact_interval_leaves_out() {
    let model = "model: reading - L + x^2 * 1 µm\nestimates: {x: 1}";
    let rest = |u: &str| {
        format!(
            "contributors:\n  - {{name: X, adds_to: x, standard_uncertainty: {u}}}\ncoverage: {{method: exact}}\n"
        )
    };
    let said = found(model, &rest("0.06"), "left-out").unwrap();
    assert!(said.message.contains("0.18 % of u²"), "{}", said.message);
    assert_eq!(said.help, "coverage: {method: monte_carlo}");
    assert!(found(model, &rest("0.04"), "left-out").is_none());
}

#[test]
fn says_that_risks_are_those_of_t_where_the_exact_distribution_cannot_be_had() {
    let rest = |shape: &str, r: &str, scope: &str| {
        format!(
            "contributors:\n  - {{name: A, limits: ±1 µm{shape}}}\n  - {{name: B, limits: ±1 µm{shape}}}\nlinked:\n  - {{between: [A, B], r: {r}}}\ntolerance: ±9 µm\ndecision: {{rule: simple, uncertainty: {scope}}}\n"
        )
    };
    let code = "density-refused";
    let said = found(PLAIN, &rest("", "0.5", "all"), code).unwrap();
    assert_eq!((said.severity, said.about.as_str()), (Severity::Caution, "all 2 points"));
    assert!(said.message.contains("`A` and `B` are linked and not normal"), "{}", said.message);
    assert_eq!(said.help, "coverage: {method: monte_carlo}");
    let part = found(PLAIN, &rest("", "0.5", "laboratory"), code).unwrap();
    assert!(part.message.contains("(scope `laboratory`)"), "{}", part.message);
    assert!(found(PLAIN, &rest("", "0", "all"), code).is_none());
    assert!(found(PLAIN, &rest(", shape: normal, coverage: 95 %", "0.5", "all"), code).is_none());
    let undecided = rest("", "0.5", "all");
    let undecided = undecided.split("tolerance").next().unwrap();
    assert!(found(PLAIN, undecided, code).is_none());
}

/// Judges a worksheet's readings at 5 mm under a budget with this contributor; returns the findings.
fn judged(contributor: &str, take: Take, readings: &[&str]) -> Vec<Finding> {
    let text = format!(
        "surebound: 1\ntitle: T\nmeasurand: {{symbol: E, name: Error, unit: µm}}\npoints: {{symbol: L, unit: mm, at: [5, 10]}}\nmodel: reading - block\nestimates: {{block: L}}\ncontributors:\n  - {{name: Block, adds_to: block, standard_uncertainty: 0.1 µm}}\n  - {contributor}\ndisplay: {{step: 1 µm}}\ntolerance: ±9 µm\ndecision: {{rule: simple, uncertainty: all}}\nrepeatability: 8 µm\n"
    );
    let loaded = load_budget("b.yaml", text.as_bytes());
    let budget =
        loaded.value.unwrap_or_else(|faults| panic!("{}", loaded.source.render_all(&faults)));
    let evaluation = budget.evaluate().unwrap();
    let values = readings.iter().map(|it| (*it).into()).collect();
    let row = Row { point: "5".into(), values, is_error: false };
    let readings = Readings::from_rows(&budget, &[row]).unwrap().taking(take);
    evaluation.judge(&readings).unwrap().findings
}

/// What a contributor says of a mean of n readings is too little where fewer are averaged, and more than
/// need be where more are.
#[test]
fn says_that_the_budget_counts_the_scatter_of_another_number_of_readings() {
    const MEAN: &str =
        "{name: R, owner: instrument, readings: [0 µm, 1 µm, 2 µm], use: {mean_of: 3}}";
    const SINGLE: &str = "{name: R, owner: instrument, readings: [0 µm, 1 µm, 2 µm], use: single}";
    const SCATTER: &str = "{name: R, scatter: 0.4 µm, mean_of: 3, dof: 9}";
    const GROUPS: &str =
        "{name: R, readings: [[0 µm, 1 µm], [1 µm, 1 µm]], groups: pooled, use: {mean_of: 3}}";
    let (one, two) = (&["5.000"][..], &["5.000", "5.001"][..]);
    let (three, four) = (&["5.000", "5.001", "5.000"][..], &["5.000"; 4][..]);
    let said = |contributor: &str, take: Take, readings: &[&str]| -> Vec<&'static str> {
        let codes = judged(contributor, take, readings).into_iter().map(|it| it.code);
        codes.filter(|it| it.starts_with("scatter-of")).collect()
    };
    for mean in [MEAN, SCATTER, GROUPS] {
        for (take, readings, expected) in [
            (Take::Worst, one, Some("scatter-of-more")),
            (Take::Worst, three, Some("scatter-of-more")),
            (Take::Last, three, Some("scatter-of-more")),
            (Take::Mean, one, Some("scatter-of-more")),
            (Take::Mean, two, Some("scatter-of-more")),
            (Take::Mean, three, None),
            (Take::Mean, four, Some("scatter-of-fewer")),
        ] {
            let expected: Vec<&str> = expected.into_iter().collect();
            assert_eq!(said(mean, take, readings), expected, "{mean} {take:?} {readings:?}");
        }
    }
    for (take, readings, expected) in [
        (Take::Worst, three, None),
        (Take::Last, two, None),
        (Take::Mean, one, None),
        (Take::Mean, two, Some("scatter-of-fewer")),
    ] {
        let expected: Vec<&str> = expected.into_iter().collect();
        assert_eq!(said(SINGLE, take, readings), expected, "{take:?} {readings:?}");
    }
    let found = judged(MEAN, Take::Worst, three);
    let found = found.iter().find(|it| it.code == "scatter-of-more").unwrap();
    assert_eq!((found.severity, found.about.as_str()), (Severity::Warning, "R"));
    assert!(found.message.contains("a mean of 3 readings, and at 5 mm fewer"), "{}", found.message);
    let found = judged(SINGLE, Take::Mean, three);
    let found = found.iter().find(|it| it.code == "scatter-of-fewer").unwrap();
    assert_eq!((found.severity, found.about.as_str()), (Severity::Note, "R"));
}

/// What is not the scatter of the instrument's reading: another input's, what all points share, the
/// measurement itself; and the single reading of a `largest_of` that does not count.
#[test]
fn says_nothing_about_a_scatter_that_is_not_that_of_the_reading() {
    for (contributor, take) in [
        ("{name: R, adds_to: block, readings: [0 µm, 1 µm], use: {mean_of: 3}}", Take::Worst),
        ("{name: R, shared: true, scatter: 0.4 µm, mean_of: 3, dof: 9}", Take::Worst),
        ("{name: R, adds_to: block, readings: [0 µm, 1 µm], use: result}", Take::Worst),
        (
            "{name: R, readings: [0 µm, 1 µm], use: single, largest_of: g}\n  - {name: S, limits: ±5 µm, largest_of: g}",
            Take::Mean,
        ),
    ] {
        let found = judged(contributor, take, &["5.000", "5.001"]);
        assert!(
            found.iter().all(|it| !it.code.starts_with("scatter-of")),
            "{contributor} {found:?}"
        );
    }
}

#[test]
fn says_that_a_reading_is_worse_than_what_is_reported_and_that_one_has_no_spread() {
    const R: &str = "{name: R, readings: [0 µm, 1 µm], use: single}";
    let said = |take: Take, readings: &[&str], code: &str| {
        judged(R, take, readings).iter().any(|it| it.code == code)
    };
    let bad = &["5.010", "5.003"][..];
    assert!(said(Take::Mean, bad, "worse-reading") && said(Take::Last, bad, "worse-reading"));
    assert!(!said(Take::Worst, bad, "worse-reading"));
    assert!(!said(Take::Mean, &["5.001", "5.003"], "worse-reading"));
    assert!(said(Take::Worst, &["5.001"], "not-repeated"));
    assert!(!said(Take::Worst, bad, "not-repeated"));
}

#[test]
fn says_that_a_point_lies_between_those_of_the_budget() {
    let text = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\npoints: {symbol: L, unit: mm, at: [5, 10]}\ncontributors:\n  - {name: S, step: 1 µm}\n";
    let budget = load_budget("b.yaml", text.as_bytes()).value.unwrap();
    let (wider, index) =
        budget.with_point(Quantity::parse("7 mm", budget.units()).unwrap()).unwrap();
    let found = advise::between(&wider, index).unwrap();
    assert_eq!((found.code, found.severity), ("between-points", Severity::Caution));
    assert!(
        found
            .message
            .starts_with("7 mm is no point of the budget; evaluated between 5 mm and 10 mm")
    );
    // At the ends of the list there is nothing between.
    assert!(advise::between(&budget, 0).is_none() && advise::between(&budget, 1).is_none());
}
