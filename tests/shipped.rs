//! Each file that ships in `budgets/`, and the starter, run by every verb that takes it.
//!
//! The key figures come from `tests/scripts/shipped_budgets.py` (mpmath, 30 digits), which reads no file
//! and shares no code with the program. It prints 15 digits; the program promises its t quantile to
//! 1e-12 relative, so k, U and TUR are held to 2e-12, u and degrees of freedom to 1e-12.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use surebound::record::{Record, Verdict};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(arguments)
        .output()
        .expect("the command is built with the tests")
}

/// The files of `budgets/` that begin with a key.
fn files(key: &str) -> Vec<PathBuf> {
    let folder = std::fs::read_dir(Path::new(ROOT).join("budgets")).expect("a committed folder");
    let mut files: Vec<PathBuf> = folder.map(|it| it.expect("readable").path()).collect();
    files.sort();
    let begins = |it: &PathBuf| {
        let text = std::fs::read_to_string(it).expect("a committed file");
        text.lines().any(|line| line.starts_with(key))
    };
    files.retain(begins);
    files
}

/// Holds the JSON against `docs/record.schema.json` and reads it.
fn record(json: &[u8]) -> Record {
    let path = format!("{ROOT}/docs/record.schema.json");
    let mut schemas = boon::Schemas::new();
    let index = boon::Compiler::new().compile(&path, &mut schemas).expect("a schema");
    let value: serde_json::Value = serde_json::from_slice(json).expect("JSON");
    let valid = schemas.validate(&value, index).map_err(|it| it.to_string());
    assert_eq!(valid, Ok(()));
    serde_json::from_value(value).expect("a record")
}

/// Runs a verb in both forms; returns exit code, text and record.
#[track_caller]
fn both(arguments: &[&str]) -> (i32, String, Record) {
    let text = run(arguments);
    let told = String::from_utf8_lossy(&text.stderr).into_owned();
    let json = run(&[arguments, &["--format", "json"]].concat());
    let code = text.status.code().expect("no signal");
    assert!(code < 2, "{arguments:?}: {told}");
    assert_eq!(json.status.code(), Some(code), "{arguments:?}: both forms exit alike");
    let text = String::from_utf8(text.stdout).expect("UTF-8");
    let wide = text.lines().find(|it| it.chars().count() > 100);
    assert_eq!(wide, None, "{arguments:?}: more than 100 columns");
    (code, text, record(&json.stdout))
}

fn name(path: &Path) -> &str {
    path.file_stem().and_then(|it| it.to_str()).expect("a name of letters")
}

#[test]
fn every_file_is_a_budget_or_a_worksheet() {
    let all = std::fs::read_dir(Path::new(ROOT).join("budgets")).unwrap();
    // Beside them stand tables of readings.
    let all =
        all.filter(|it| it.as_ref().is_ok_and(|it| !it.path().ends_with("readings-2026-11.csv")));
    let all = all.count();
    let (budgets, worksheets) = (files("surebound:"), files("surebound_worksheet:"));
    assert_eq!(budgets.len() + worksheets.len(), all);
    assert!(budgets.len() >= 4 && worksheets.len() >= 2);
}

#[test]
fn every_budget_is_shown_and_has_its_card() {
    for path in files("surebound:") {
        let path = path.to_str().unwrap();
        let (code, text, record) = both(&["show", path]);
        assert_eq!(code, 0, "{path}");
        let section = &record.sections[0];
        assert!(text.contains(&section.budget.title), "{path}");
        for it in &section.points[0].contributors {
            let word = it.name.split(' ').next().unwrap();
            assert!(text.contains(word), "{path}: {}", it.name);
        }
        let (code, text, record) = both(&["card", path]);
        assert_eq!(code, 0, "{path}");
        for point in &record.sections[0].points {
            let runs = point.card.as_ref().unwrap();
            assert!(runs.iter().any(|it| it.verdict == Verdict::Pass), "{path}");
            assert!(text.contains(&point.at.as_ref().unwrap().text), "{path}");
        }
    }
}

/// The reading at the point's own value has no error and passes under every shipped budget; three
/// tolerances off fails.
#[test]
fn every_budget_judges_a_reading() {
    for path in files("surebound:") {
        let path = path.to_str().unwrap();
        let (_, _, shown) = both(&["show", path]);
        for point in &shown.sections[0].points {
            let at = point.at.as_ref().unwrap();
            let value = format!("{} {}", at.text, at.unit);
            let (code, text, record) = both(&["judge", path, "--at", &value, "--reading", &value]);
            let decision = record.sections[0].points[0].decision.as_ref().unwrap();
            assert_eq!((code, decision.verdict), (0, Some(Verdict::Pass)), "{path} {value}");
            assert!(text.contains("pass"), "{text}");
            let far = format!("{} {}", at.value * 1.2, at.unit);
            let (code, _, record) = both(&["judge", path, "--at", &value, "--reading", &far]);
            let decision = record.sections[0].points[0].decision.as_ref().unwrap();
            assert_eq!((code, decision.verdict), (1, Some(Verdict::Fail)), "{path} {far}");
        }
    }
}

#[test]
fn every_worksheet_is_judged() {
    for path in files("surebound_worksheet:") {
        let (code, text, record) = both(&["judge", path.to_str().unwrap()]);
        let instrument = record.instrument.as_ref().unwrap();
        assert_eq!(code, i32::from(instrument.verdict != Verdict::Pass), "{path:?}");
        assert!(text.contains(instrument.id.as_deref().unwrap()), "{path:?}");
        assert!(text.contains(instrument.verdict.word()), "{path:?}");
    }
}

/// M-118, by the figures below: at 17.6 mm the reading +3 µm is inside ±4 µm and beyond ±(4 − 1.46) µm,
/// so the guarded rule fails it and the instrument; all others are within ±1 µm. M-204: +200 µin at
/// 0.9225 in lies on the tolerance, a conditional pass, and is the worst.
#[test]
fn the_marginal_readings_get_their_verdicts() {
    let judged = |name: &str| both(&["judge", &format!("{ROOT}/budgets/{name}.yaml")]).2;
    let record = judged("M-118");
    let verdicts: Vec<Verdict> = record.sections[0]
        .points
        .iter()
        .map(|it| it.decision.as_ref().unwrap().verdict.unwrap())
        .collect();
    let (pass, fail) = (Verdict::Pass, Verdict::Fail);
    assert_eq!(verdicts, [pass, pass, pass, pass, pass, pass, fail, pass, pass, pass]);
    assert_eq!(record.instrument.unwrap().verdict, fail);
    let decision = record.sections[0].points[6].decision.as_ref().unwrap();
    assert_eq!(decision.cause.unwrap(), surebound::record::Cause::GuardBand);
    let reason = decision.reason.as_ref().unwrap();
    assert!(reason.contains("+3 µm") && reason.contains("+2 µm"), "{reason}");
    // Repeatability, t with 9 degrees of freedom, has 71 % of u²: the risk is that of the exact distribution.
    // Beyond ±4 µm lies 0.08297492053642 by tests/scripts/decision_page.py (direct integration, numpy).
    let risk = decision.specific_risk.unwrap();
    assert!((risk / 0.082_974_920_536_42 - 1.0).abs() < 1e-11, "{risk}");
    let record = judged("M-204-inch");
    assert_eq!(record.instrument.unwrap().verdict, Verdict::ConditionalPass);
    let worst = record.sections[0].points[8].decision.as_ref().unwrap();
    assert_eq!(worst.verdict, Some(Verdict::ConditionalPass));
}

#[test]
fn key_figures_are_those_of_an_independent_computation() {
    let mut rows: BTreeMap<&str, Vec<Vec<&str>>> = BTreeMap::new();
    let lines = include_str!("data/shipped_budgets.csv").lines();
    for line in lines.filter(|it| !it.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        rows.entry(cells[0]).or_default().push(cells);
    }
    let budgets = files("surebound:");
    let names: Vec<&str> = budgets.iter().map(|it| name(it)).collect();
    assert_eq!(names, rows.keys().copied().collect::<Vec<_>>(), "each budget has its rows");
    for path in &budgets {
        let record = both(&["show", path.to_str().unwrap()]).2;
        let points = &record.sections[0].points;
        let rows = &rows[name(path)];
        assert_eq!(points.len(), rows.len(), "{path:?}");
        for (point, row) in points.iter().zip(rows) {
            assert_eq!(point.at.as_ref().unwrap().text, row[1]);
            let (all, laboratory) = (&point.test.all, &point.test.laboratory);
            let figures = [
                (all.standard_uncertainty, 1e-12),
                (all.effective_dof.get(), 1e-12),
                (all.coverage_factor, 2e-12),
                (all.expanded_uncertainty, 2e-12),
                (laboratory.standard_uncertainty, 1e-12),
                (laboratory.effective_dof.get(), 1e-12),
                (laboratory.coverage_factor, 2e-12),
                (laboratory.expanded_uncertainty, 2e-12),
                (all.tur.unwrap(), 2e-12),
                (laboratory.tur.unwrap(), 2e-12),
                // All of them report at 95.45 %.
                (point.standard_uncertainty, 1e-12),
                (point.expanded_uncertainty, 2e-12),
            ];
            let expected = row[2..].iter().chain([&row[2], &row[5]]);
            assert_eq!(figures.len(), row.len());
            for ((figure, bound), text) in figures.iter().zip(expected) {
                let expected: f64 = text.replace("infinite", "inf").parse().unwrap();
                let near = *figure == expected || (figure / expected - 1.0).abs() <= *bound;
                assert!(near, "{} at {}: {figure}, expected {text}", row[0], row[1]);
            }
        }
    }
}

/// The 25 mm block goes into zero setting and test alike: its sensitivity is 0. At 25 mm there is no
/// wrung block and no joint.
#[test]
fn the_common_block_cancels() {
    let path = format!("{ROOT}/budgets/outside-micrometer-25-50.yaml");
    let record = both(&["show", &path]).2;
    for (index, point) in record.sections[0].points.iter().enumerate() {
        let line = |name: &str| point.contributors.iter().find(|it| it.name == name).unwrap();
        assert_eq!(line("25 mm block").sensitivity, 0.0);
        // By hand: 25 mm · 11.5e-6/K · 0.2 K = 0.0575 µm, rectangular.
        let warmer = line("25 mm block, temperature change since zero setting").contribution;
        assert!((warmer / (0.0575 / libm::sqrt(3.0)) - 1.0).abs() < 1e-12, "{warmer}");
        assert_eq!(line("Wrung block").contribution == 0.0, index == 0);
        assert_eq!(line("Wringing film").contribution == 0.0, index == 0);
    }
}

#[test]
fn the_starter_evaluates_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.yaml");
    std::fs::write(&path, run(&["start", "micrometer"]).stdout).unwrap();
    let path = path.to_str().unwrap();
    let (code, _, record) = both(&["show", path]);
    assert_eq!(code, 0);
    let at = record.sections[0].points[0].at.as_ref().unwrap();
    let value = format!("{} {}", at.text, at.unit);
    assert_eq!(both(&["card", path]).0, 0);
    assert_eq!(both(&["judge", path, "--at", &value, "--reading", &value]).0, 0);
}
