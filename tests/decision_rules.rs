//! `docs/decision-rules.md` against the program: each table of zones, and the worked numbers.

// The whole file is a test; a helper may end it as a test may.
#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value as Json;
use std::path::Path;
use std::process::Command;
use surebound::budget::Budget;
use surebound::propagate::Value;
use surebound::quantity::{Quantity, Units};

const PAGE: &str = include_str!("../docs/decision-rules.md");
const RULES: [&str; 5] = ["simple", "guarded", "relaxed", "three-way", "four-way"];

/// Returns the cells of the rows of the first table behind `heading`, without its head.
fn table(heading: &str) -> Vec<Vec<String>> {
    let start = PAGE.find(&format!("\n{heading}\n")).unwrap_or_else(|| panic!("{heading}"));
    let lines = PAGE[start + 1..].lines().skip(1).take_while(|it| !it.starts_with('#'));
    let rows = lines.skip_while(|it| !it.starts_with("| ---")).skip(1);
    rows.take_while(|it| it.starts_with('|'))
        .map(|it| it.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect())
        .collect()
}

/// Returns the verdict on an error in a budget with this tolerance, rule and guard band.
fn verdict(tolerance: &str, rule: &str, width: &str, error: &str) -> &'static str {
    let text = format!(
        "surebound: 1\ntitle: t\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n\
         points: {{symbol: L, unit: mm, at: [10]}}\ncontributors:\n  \
         - {{name: a, standard_uncertainty: 0.5 µm}}\ntolerance: {tolerance}\n\
         decision: {{rule: {rule}, guard_band: {{width: {width} µm}}, uncertainty: all}}\n"
    );
    let budget = Budget::parse(&text).unwrap_or_else(|it| panic!("{it:?}"));
    let evaluation = budget.evaluate().unwrap();
    let zones = evaluation.zones().unwrap().remove(0).unwrap().decision.unwrap().zones;
    let error = Quantity::parse(&format!("{error} µm"), &Units::default()).unwrap();
    zones.classify(&Value { si: error.si(), exact: Some(error.exact()) }).0.word()
}

/// The page is what the laboratory agrees on: T = ±4 µm with w = 1.5 µm, the upper limit alone, and
/// w = 4.5 µm, which leaves nothing. The page's own verdicts are the expected ones.
/// Method: M26.
#[test]
fn every_table_of_zones_is_what_the_program_does() {
    // One value for each row: within T − w, on it, between, on T, between, on T + w, beyond.
    let usual = ["0", "2.5", "3", "4", "5", "5.5", "6"];
    let empty = ["", "", "0", "4", "6", "8.5", "9"];
    for rule in RULES {
        let rows = table(&format!("### `{rule}`"));
        assert_eq!(rows.len(), usual.len(), "{rule}");
        for ((row, error), bare) in rows.iter().zip(usual).zip(empty) {
            let name = format!("{rule}: {}", row[0]);
            assert_eq!(verdict("±4 µm", rule, "1.5", error), row[1], "{name}");
            assert_eq!(verdict("±4 µm", rule, "1.5", &format!("-{error}")), row[1], "{name}");
            assert_eq!(verdict("at most 4 µm", rule, "1.5", error), row[2], "{name}");
            assert_eq!(verdict("at most 4 µm", rule, "1.5", "-99"), "pass", "{name}");
            match bare {
                "" => assert_eq!(row[3], "–", "{name}"),
                _ => assert_eq!(verdict("±4 µm", rule, "4.5", bare), row[3], "{name}"),
            }
        }
    }
    assert_eq!(verdict("±4 µm", "guarded", "4", "0"), "pass");
}

/// The page's overview says the same as its tables, in its own order of columns.
#[test]
fn the_overview_agrees_with_the_tables() {
    for row in table("## The five rules") {
        // From narrow to wide; the errors below lie on their limits.
        let pass = ["within T − w", "within T", "within T + w"];
        let rule = row[0].trim_matches('`');
        let widest = pass.iter().position(|it| *it == row[1]).expect(rule);
        for (at, error) in ["2.5", "4", "5.5"].into_iter().enumerate() {
            let passes = verdict("±4 µm", rule, "1.5", error) == "pass";
            assert_eq!(passes, at <= widest, "{rule} at {error}");
        }
        for (column, word) in [(2, "conditional pass"), (3, "undecided"), (4, "conditional fail")] {
            let reached = ["3", "5"].iter().any(|it| verdict("±4 µm", rule, "1.5", it) == word);
            assert_eq!(reached, !row[column].is_empty(), "{rule}: {word}");
        }
    }
}

/// Runs `surebound` and returns its record.
fn record(arguments: &[&str]) -> Json {
    let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(arguments)
        .args(["--format", "json"])
        .output()
        .expect("the command is built with the tests");
    let error = String::from_utf8_lossy(&output.stderr);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|it| panic!("{it}: {error}"))
}

fn shipped(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("budgets").join(name);
    std::fs::read_to_string(path).unwrap()
}

/// The worked number: risks by `tests/scripts/decision_page.py` (direct integration, from the evidence), 12 digits
/// printed; the page gives them with two digits.
/// Method: M28.
#[test]
fn the_worked_number_is_what_the_program_gives() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("budget.yaml");
    let path_text = path.to_str().unwrap();
    let rows = table("## A worked number");
    let risks = [
        0.005_443_154_353_78,
        0.083_055_277_370_6,
        0.500_000_105_597,
        0.916_945_100_801,
        0.994_558_162_344,
    ];
    assert_eq!(rows.len(), risks.len());
    for (column, rule) in RULES.into_iter().enumerate() {
        let text = shipped("outside-micrometer-0-25.yaml");
        let text = text.replace("rule: guarded", &format!("rule: {rule}"));
        std::fs::write(&path, text).unwrap();
        for (row, expected) in rows.iter().zip(risks) {
            let error = row[0].trim_end_matches(" µm");
            let reading = format!("20.20{error} mm");
            let found = record(&["judge", path_text, "--at", "20.2 mm", "--reading", &reading]);
            let decision = &found["sections"][0]["points"][0]["decision"];
            assert_eq!(decision["verdict"], row[2 + column], "{rule}, {error}");
            let risk = decision["specific_risk"].as_f64().unwrap();
            assert!((risk - expected).abs() < 1e-11, "{error}: {risk}");
            let printed: f64 = row[1].trim_end_matches(" %").parse().unwrap();
            let place = if printed < 1.0 {
                0.005
            } else if printed < 10.0 {
                0.05
            } else {
                0.5
            };
            assert!((100.0 * risk - printed).abs() <= place, "{error}: {risk} and {printed} %");
        }
    }
}

/// The figures in the text around the worked number.
#[test]
fn the_figures_of_the_worked_number_are_on_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("budget.yaml");
    let text = shipped("outside-micrometer-0-25.yaml").replace("rule: guarded", "rule: three-way");
    std::fs::write(&path, &text).unwrap();
    let shown = record(&["show", path.to_str().unwrap(), "--at", "20.2 mm"]);
    let point = &shown["sections"][0]["points"][7];
    let number = |it: &Json, places: usize| format!("{:.*}", places, it.as_f64().unwrap());
    let limit = &point["decision"]["printed"]["upper"].as_str().unwrap()[1..];
    for figure in [
        format!("u = {} µm", number(&point["standard_uncertainty"], 3)),
        format!("U = {} µm", number(&point["expanded_uncertainty"], 3)),
        format!("k = {} ", number(&point["coverage_factor"], 3)),
        format!("= {}. With w", number(&point["test"]["all"]["tur"], 1)),
        format!("printed\nas ±{limit} µm"),
        format!("±{} µm, printed", number(&point["decision"]["acceptance"]["upper"], 3)),
    ] {
        let flat = PAGE.replace("\nas", " as");
        assert!(flat.contains(&figure.replace("\nas", " as")), "{figure}");
    }
    std::fs::write(&path, text.replace("{times_U: 1}", "{specific_risk: 5 %}")).unwrap();
    let shown = record(&["show", path.to_str().unwrap()]);
    let decision = &shown["sections"][0]["points"][7]["decision"];
    // 1.201894916217 µm by tests/scripts/decision_page.py.
    let band = decision["guard_band"].as_f64().unwrap();
    assert!((band - 1.201_894_916_217).abs() < 1e-10, "{band}");
    assert!(PAGE.contains("is 1.20 µm") && PAGE.contains("±2.79 µm"));
    assert_eq!(decision["printed"]["upper"], "+2.79");
}

/// The instrument's verdict is the worst of its points; a failed check fails it (design of this
/// project; common practice, no source).
/// Method: M31.
#[test]
fn the_instrument_is_as_good_as_its_worst_point_and_its_checks() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("outside-micrometer-0-25.yaml"),
        shipped("outside-micrometer-0-25.yaml"),
    )
    .unwrap();
    let path = folder.path().join("sheet.yaml");
    let sheet = shipped("M-118.yaml");
    let good = sheet.replace("17.603", "17.602");
    for (text, expected, cause) in [
        (sheet.clone(), "fail", "guard band"),
        (good.clone(), "pass", ""),
        (good.replace("legible, ok: true", "legible, ok: false"), "fail", ""),
        (good.replace("      25: 25.000\n", ""), "undecided", ""),
    ] {
        std::fs::write(&path, text).unwrap();
        let found = record(&["judge", path.to_str().unwrap()]);
        assert_eq!(found["instrument"]["verdict"], expected);
        let point = &found["sections"][0]["points"][6]["decision"];
        assert_eq!(point["cause"].as_str().unwrap_or(""), cause);
    }
}

/// The table "What a width risks": by scipy, tests/scripts/guard_bands.py; the page's last digit counts.
#[test]
fn a_width_risks_what_the_page_says() {
    let rows = table("### What a width risks");
    assert_eq!(rows.len(), 6);
    for row in rows {
        let (rule, band) = match row[0].split_once('`').map(|it| it.1.trim_end_matches(['`', ')']))
        {
            Some("simple") => ("simple", String::new()),
            Some(band) => ("guarded", format!(", guard_band: {band}")),
            None => panic!("{row:?}"),
        };
        let text = format!(
            "surebound: 1\ntitle: t\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n\
             points: {{symbol: L, unit: mm, at: [10]}}\ncontributors:\n  \
             - {{name: a, standard_uncertainty: 0.5 µm}}\ntolerance: ±2 µm\n\
             decision: {{rule: {rule}{band}, uncertainty: all}}\npopulation: {{mean: 0 µm, sd: 1 µm}}\n"
        );
        let budget = Budget::parse(&text).unwrap_or_else(|it| panic!("{it:?}"));
        let evaluation = budget.evaluate().unwrap();
        let zones = evaluation.zones().unwrap().remove(0).unwrap().decision.unwrap().zones;
        let chances = zones.chances().unwrap();
        let said = |cell: &str| -> f64 { cell.split(' ').next().unwrap().parse().unwrap() };
        // U at 95.45 % is 2.000002·u, which moves a width of r·U in its sixth digit.
        for (cell, got, digit) in [
            (1, 1e6 * zones.guard_band.si, 0.5e-4),
            (2, 1e6 * zones.acceptance().unwrap().upper.as_ref().unwrap().si, 0.5e-4),
            (
                3,
                100.0 * zones.limit_risk().unwrap(),
                if said(&row[3]) < 10.0 { 0.5e-2 } else { 0.5e-1 },
            ),
            (4, 100.0 * chances.consumer, 0.5e-4),
            (5, 100.0 * chances.producer, 1e-4),
        ] {
            assert!((got - said(&row[cell])).abs() <= digit + 2e-6, "{row:?}: {got}");
        }
    }
}
