//! Populations and other rules from YAML to the record.

// The whole file is a test.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/show.rs"]
mod show;

use surebound::budget::Budget;
use surebound::decide::Readings;
use surebound::fault::Origin;
use surebound::quantity::Quantity;
use surebound::record::{Decision, Record, Rule, from};

/// A micrometer whose error has u = 0.5 µm, normal, and a tolerance of ±2 µm.
const HEAD: &str = "surebound: 1
title: Micrometer
measurand: {symbol: E, name: Error, unit: µm}
points: {symbol: L, unit: mm, at: [10]}
contributors:
  - {name: Gauge block, certificate: 0.6 µm, k: 2}
  - {name: Rest, standard_uncertainty: 0.4 µm}
tolerance: ±2 µm
";

fn budget(decision: &str) -> Budget {
    show::budget(&format!("{HEAD}{decision}"))
}

/// Judges a reading of 11 µm above the nominal value or so, with all that can be asked for.
fn judged(decision: &str, reading: &str) -> Decision {
    let budget = budget(decision);
    let evaluation = show::evaluated(&budget);
    let reading = Quantity::parse(reading, budget.units()).expect("a reading");
    let judgement = evaluation.judge(&Readings::one(0, reading, Origin::NONE)).expect("a verdict");
    let mut section = from::judged(&judgement);
    from::add_comparison(&mut section, &judgement);
    from::add_operating_curve(&mut section, &judgement, 0, true);
    assert!(!Record::from(&judgement).sections.is_empty());
    section.points.remove(0).decision.expect("a decision")
}

/// U = 1 µm (k = 2 at 95.45 %), T = 2 µm. By hand, normal: at a true error on the acceptance limit half is accepted, one u
/// inside 84.134474606854 %, with the other limit far away.
/// Method: M102.
#[test]
fn the_curve_of_acceptance_is_that_of_the_normal_distribution() {
    let decision = judged("decision: {rule: simple}", "10.001 mm");
    let curve = decision.operating_curve.expect("a curve");
    let own = curve.curves.iter().find(|it| it.own).expect("the budget's own");
    assert_eq!(own.rule, Rule::Simple);
    let at = |error: f64| {
        let near = |it: &(usize, &f64)| (it.1 - error).abs();
        let found = curve.true_errors.iter().enumerate();
        let (index, there) = found.min_by(|a, b| near(a).total_cmp(&near(b))).expect("errors");
        (own.probabilities[index], *there)
    };
    for error in [-2.0, 1.5, 2.0, 2.5] {
        let (got, there) = at(error);
        let phi = |x: f64| 0.5 * libm::erfc(-x / core::f64::consts::SQRT_2);
        let expected = phi((2.0 - there) / 0.5) - phi((-2.0 - there) / 0.5);
        assert!((got - expected).abs() < 1e-12, "{there}: {got} {expected}");
    }
    let ascending = curve.true_errors.windows(2).all(|it| it[0] < it[1]);
    assert!(ascending && curve.true_errors.len() > 200);
}

/// Errors 0, 2, −1, 3, −2, 1 µm (tests/common/show.rs): mean 0.5, s² = 3.5 µm² by hand. The gauge block had the same value
/// in all, so that 0.4 µm varies: σ² = 3.5 − 0.16 = 3.34. Four of the six lie within ±2 µm: 0, 2 (on the limit), −1, −2
/// and 1 are five.
/// Method: M103.
#[test]
fn a_history_is_read_and_the_measurement_taken_off() {
    let text = "decision: {rule: simple}\npopulation: {history: as-found.csv}\n";
    let known = judged(text, "10.001 mm").population.expect("a population");
    assert!((known.mean.unwrap() - 0.5).abs() < 1e-12, "{known:?}");
    assert!((known.sd.unwrap() - 3.34_f64.sqrt()).abs() < 1e-12, "{known:?}");
    let history = known.history.expect("a history");
    assert_eq!((history.count, history.in_tolerance), (6, 5));
    assert!((history.observed_sd.unwrap() - 3.5_f64.sqrt()).abs() < 1e-12);
    assert!((history.measurement_sd - 0.4).abs() < 1e-12);
    assert_eq!(history.same_in_all, ["Gauge block"]);
    // Named, it is what the budget says: with nothing the same, 0.5 µm varies.
    let text = text.replace("csv}", "csv, same_in_all: [Rest]}");
    let known = judged(&text, "10.001 mm").population.expect("a population");
    assert!((known.history.unwrap().measurement_sd - 0.3).abs() < 1e-12);
}

/// The rules side by side at a reading of +1.2 µm, U = 1 µm: guarded accepts to 1 µm, quadrature to √3 = 1.732 µm.
#[test]
fn the_same_reading_stands_under_every_rule() {
    let text = "decision: {rule: simple}\npopulation: {sd: 1 µm, mean: 0 µm}\n";
    let decision = judged(text, "10.0012 mm");
    let list = decision.comparison.expect("a comparison");
    let verdicts: Vec<(Rule, &str)> =
        list.iter().take(5).map(|it| (it.rule, it.verdict.unwrap().word())).collect();
    let expected = [
        (Rule::Simple, "pass"),
        (Rule::Guarded, "fail"),
        (Rule::Relaxed, "pass"),
        (Rule::ThreeWay, "undecided"),
        (Rule::FourWay, "conditional pass"),
    ];
    assert_eq!(verdicts, expected);
    assert_eq!(list.iter().filter(|it| it.own).count(), 1);
    assert!(list.iter().all(|it| it.reason.is_none() && it.consumer_risk.is_some()), "{list:?}");
    // The wider the acceptance, the more is risked by the one and the less by the other.
    let mut by_limit: Vec<_> = list.iter().collect();
    let limit =
        |it: &surebound::record::Alternative| it.acceptance.as_ref().unwrap().upper.unwrap();
    by_limit.sort_by(|a, b| limit(a).total_cmp(&limit(b)));
    for pair in by_limit.windows(2) {
        assert!(pair[0].consumer_risk <= pair[1].consumer_risk, "{pair:?}");
        assert!(pair[0].producer_risk >= pair[1].producer_risk, "{pair:?}");
    }
    let two = list.iter().find(|it| {
        it.asked
            .as_ref()
            .is_some_and(|it| it.kind == surebound::record::GuardBandKind::ConsumerRisk)
    });
    let risk = two.and_then(|it| it.consumer_risk).unwrap();
    assert!(risk <= 0.02 * (1.0 + 1e-8), "{risk}");
}

/// By scipy, bivariate normal: population N(0, 1 µm), u = 0.5 µm, T = A = ±2 µm: each
/// by scipy.integrate.quad over the true error to 1e-13.
#[test]
fn risks_before_the_reading_are_those_of_the_definition() {
    let text = "decision: {rule: simple}\npopulation: {sd: 1 µm, mean: 0 µm}\n";
    let decision = judged(text, "10.001 mm");
    let (consumer, producer) = (decision.consumer_risk.unwrap(), decision.producer_risk.unwrap());
    assert!((consumer - 0.012388749307823299).abs() < 1e-9, "{consumer}");
    assert!((producer - 0.040526755531767544).abs() < 1e-9, "{producer}");
}

/// The example with a history: its 48 errors are read from the file beside the budget, which the record lists.
#[test]
fn the_command_reads_a_history_beside_its_budget() {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["show", "docs/examples/outside-micrometer-0-25-risk.yaml", "--format", "json"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let record: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(record["files"][1]["role"], "history");
    let decision = &record["sections"][0]["points"][0]["decision"];
    assert_eq!(decision["population"]["history"]["count"], 48);
    let risk = decision["consumer_risk"].as_f64().unwrap();
    assert!(risk > 0.9e-3 && risk <= 1e-3 * (1.0 + 1e-8), "the promise is used up: {risk}");
}

/// A history that is not there, has no such column, holds a word, or is too short for a promise is refused at the
/// place that names it, or that promises; the message names the file, and the line where there is one.
#[test]
fn a_history_that_tells_nothing_is_refused_where_it_is_named() {
    let promise = "decision: {rule: guarded, guard_band: {consumer_risk: 2 %}}\n";
    for (table, expected) in [
        (None, "b.yaml:10:23: history `past.csv`: there is no such file"),
        (Some("instrument,deviation\nM-1,2\n"), "`error`"),
        (Some("error\n0\ntwo\n"), "`two`"),
        (Some("error\n0\n"), "b.yaml:9:55: the guard band at 10 mm cannot be computed"),
        (
            Some("instrument,error\nM-1,1\nM-2,NaN\n"),
            "`past.csv`, line 3, column 5: `NaN` is no error: errors are numbers in µm",
        ),
        (Some("error\n1 K\n"), "line 2, column 1: `1 K` is no error"),
        (Some("error\n0\n1\n-1e300\n1e300\n"), "past errors are too large to be computed with"),
        (Some("error\n0\n0\n0\n"), "past errors spread no more than the measurement alone"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let text = format!("{HEAD}{promise}population: {{history: past.csv}}\n");
        std::fs::write(folder.path().join("b.yaml"), text).unwrap();
        if let Some(table) = table {
            std::fs::write(folder.path().join("past.csv"), table).unwrap();
        }
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_surebound"))
            .args(["show", "b.yaml"])
            .current_dir(folder.path())
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(told.contains(expected), "{expected}: {told}");
        assert!(output.stdout.is_empty());
    }
}

/// Errors at values that are no points are counted with their lines. A spread of √(0.7² − 0.4²) µm, 0.574 µm, is 3.48 times in 2 µm: 99.95 % within
/// tolerance by the normal distribution, and not 100 %.
#[test]
fn errors_elsewhere_are_named_by_line_and_shares_are_not_rounded_up() {
    let folder = tempfile::tempdir().unwrap();
    let judged = |table: &str| {
        let text = format!("{HEAD}decision: {{rule: simple}}\npopulation: {{history: past.csv}}\n");
        std::fs::write(folder.path().join("b.yaml"), text).unwrap();
        std::fs::write(folder.path().join("past.csv"), table).unwrap();
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_surebound"))
            .args(["judge", "b.yaml", "--at", "10 mm", "--reading", "10 mm", "--compare"])
            .current_dir(folder.path())
            .output()
            .unwrap();
        let told = String::from_utf8(output.stdout).unwrap();
        // Lines are folded.
        told.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let rows = "10,1\n10,-1\n10,0\n".repeat(10);
    let told = judged(&format!("at,error\n{rows}9,1\n"));
    assert!(told.contains("1 past error belongs to no point and does not count"), "{told}");
    assert!(told.contains("correct `at` in the file `past.csv`, line 32"), "{told}");
    let told = judged(&format!("at,error\n{rows}9,1\n9,1\n9,1\n9,1\n"));
    assert!(told.contains("4 past errors belong to no point and do not count"), "{told}");
    assert!(told.contains("`past.csv`, lines 32, 33, 34, …"), "{told}");
    let many = "10,0.7\n10,-0.7\n".repeat(500);
    let told = judged(&format!("at,error\n{many}"));
    assert!(told.contains("from 1000 past errors"), "{told}");
    assert!(told.contains("; 99.9") && !told.contains("; 100 % within"), "{told}");
    assert!(told.contains("to 100 %)"), "{told}");
}
