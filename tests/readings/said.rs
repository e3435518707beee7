//! What the summary of a file of readings says: findings of the budget, numbers in good grammar.

use super::*;

/// A single result, which is no error.
pub(super) const SINGLE: &str = "surebound: 1
title: Invented
measurand: {symbol: p, name: Pressure, unit: kPa}
model: reading
contributors:
  - {name: All, standard_uncertainty: 1 kPa}
display: {step: 1 kPa}
tolerance: at least 490 kPa
decision: {rule: simple, uncertainty: all}
";

/// The micrometer with one more contributor, which is the scatter of a mean of three.
fn of_means(folder: &Path) -> PathBuf {
    let text = std::fs::read_to_string(micrometer()).unwrap();
    let more = "contributors:\n  - {name: Repeat, scatter: 1 µm, dof: 9, mean_of: 3}\n";
    let path = folder.join("means.yaml");
    std::fs::write(&path, text.replacen("contributors:\n", more, 1)).unwrap();
    path
}

/// `judge` and worksheets say that U is too small; so does the file, once.
#[test]
fn findings_of_the_budget_are_said_once() {
    let folder = tempfile::tempdir().unwrap();
    let budget = of_means(folder.path());
    let header = "instrument,at,reading\n";
    let (one, other) = (instrument("M-1", &[]), instrument("M-2", &[]));
    let three = |it: &str| it.lines().map(|it| format!("{it}\n").repeat(3)).collect::<String>();
    let small =
        "Warning      Repeat: it is the scatter of a mean of 3 readings, and at 2.5 mm, 5.1 mm,";
    for (rows, take, expected) in [
        (format!("{one}{other}"), "worst", 1),
        (format!("{one}{other}"), "mean", 1),
        (three(&one), "worst", 1),
        (three(&one), "mean", 0),
        // One instrument of two is enough.
        (format!("{}{other}", three(&one)), "mean", 1),
    ] {
        let text = format!("{header}{rows}");
        let (_, _, said) = run(&budget, text.as_bytes(), &["--take", take]);
        assert_eq!(said.matches(small).count(), expected, "{take} {said}");
    }
    let text = format!("{header}{one}");
    let (_, _, said) = run(&budget, text.as_bytes(), &["--format", "json"]);
    let summary: serde_json::Value = serde_json::from_str(said.trim()).unwrap();
    let findings = summary["findings"].as_array().unwrap();
    assert_eq!((findings.len(), findings[0]["code"].as_str()), (1, Some("scatter-of-more")));
    assert!(findings[0]["where"].as_str().unwrap().contains("means.yaml:"), "{said}");
    // Without such a contributor nothing is said.
    assert!(!micrometer_run(&text, &[]).2.contains("Warning"));
}

#[test]
fn a_requirement_that_is_not_met_is_said() {
    let torque = Path::new(ROOT).join("budgets/torque-wrench.yaml");
    let (_, _, said) = run(&torque, b"instrument,at,reading\nT-1,20,20.1\n", &[]);
    let unmet = "Caution      20 N·m: the required TUR is not met: the rule guarded applies";
    assert!(said.contains(unmet), "{said}");
}

#[test]
fn one_instrument_is_one_and_a_single_result_has_a_name() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("single.yaml");
    std::fs::write(&path, SINGLE).unwrap();
    let (_, _, said) = run(&path, b"instrument,reading\nF-1,480\n", &[]);
    assert!(said.contains("Worst points result: 1 of 1 instrument not passed"), "{said}");
}
