//! The order of verdicts, and the verdict on an instrument: the worst of its points and checks.

use super::shipped;
use std::path::Path;
use std::process::Command;
use surebound::record::{Cause, Record, Verdict};

/// From best to worst, as the design's table of words has them.
#[test]
fn verdicts_are_ordered_from_best_to_worst() {
    let order = [
        Verdict::Pass,
        Verdict::ConditionalPass,
        Verdict::Undecided,
        Verdict::ConditionalFail,
        Verdict::Fail,
    ];
    assert!(order.is_sorted_by(|a, b| a < b));
    let words = ["pass", "conditional pass", "undecided", "conditional fail", "fail"];
    assert_eq!(order.map(Verdict::word), words);
    let engine = surebound::decide::Verdict::ALL;
    assert!(engine.is_sorted_by(|a, b| a < b));
    assert_eq!(engine.map(|it| it.word()), words);
}

/// Judges a worksheet against the four-way inch budget; returns exit code and record.
fn judged(readings: &str, checks: &str) -> (i32, Record) {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("a file in a new folder");
    };
    write("inch.yaml", &shipped("inch-micrometer-0-1"));
    write(
        "sheet.yaml",
        &format!(
            "surebound_worksheet: 1\ninstrument: {{id: M-1}}\ndate: 2026-11-20\n{checks}\
             sections:\n  - budget: inch.yaml\n    errors: {{{readings}}}\n"
        ),
    );
    run(&folder.path().join("sheet.yaml"))
}

fn run(path: &Path) -> (i32, Record) {
    let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["judge", path.to_str().expect("a path of letters"), "--format", "json"])
        .output()
        .expect("the command is built with the tests");
    let told = String::from_utf8_lossy(&output.stderr);
    let record = serde_json::from_slice(&output.stdout);
    assert!(record.is_ok(), "{told}");
    (output.status.code().expect("no signal"), record.expect("checked"))
}

const POINTS: [&str; 10] = [
    "0.1025", "0.2050", "0.3075", "0.4100", "0.5125", "0.6150", "0.7175", "0.8200", "0.9225",
    "1.0000",
];

/// All points at 0 µin, but for some.
fn errors(but: &[(usize, &str)]) -> String {
    let line = |(index, at): (usize, &&str)| {
        let error = but.iter().find(|it| it.0 == index).map_or("0", |it| it.1);
        format!("{at}: {error}")
    };
    POINTS.iter().enumerate().map(line).collect::<Vec<_>>().join(", ")
}

/// ±200 µin less a guard band of about 90 µin: 100 passes, 200 is conditional, 250 conditionally
/// fails, 300 fails (T + w is 290).
#[test]
fn an_instrument_is_as_good_as_its_worst_point() {
    let cases = [
        (vec![], Verdict::Pass, 0),
        (vec![(2, "100")], Verdict::Pass, 0),
        (vec![(2, "200"), (3, "100")], Verdict::ConditionalPass, 1),
        (vec![(7, "-200"), (1, "250")], Verdict::ConditionalFail, 1),
        (vec![(0, "200"), (4, "300"), (9, "250")], Verdict::Fail, 1),
    ];
    for (but, expected, code) in cases {
        let (exit, record) = judged(&errors(&but), "");
        assert_eq!(record.instrument.as_ref().unwrap().verdict, expected, "{but:?}");
        assert_eq!(exit, code, "{but:?}");
        let points = &record.sections[0].points;
        let verdicts = points.iter().map(|it| it.decision.as_ref().unwrap().verdict.unwrap());
        assert_eq!(verdicts.max(), Some(expected));
    }
}

#[test]
fn of_several_readings_at_a_point_the_worst_is_reported() {
    let (_, record) = judged(&errors(&[(3, "[0, -200, 100]")]), "");
    let decision = record.sections[0].points[3].decision.as_ref().unwrap();
    assert_eq!(decision.verdict, Some(Verdict::ConditionalPass));
    let each: Vec<Verdict> =
        decision.readings.as_ref().unwrap().iter().map(|it| it.verdict).collect();
    assert_eq!(each, [Verdict::Pass, Verdict::ConditionalPass, Verdict::Pass]);
    assert_eq!(record.sections[0].points[3].estimate, -200.0);
    assert_eq!(record.instrument.unwrap().verdict, Verdict::ConditionalPass);
}

#[test]
fn a_failed_check_fails_the_instrument() {
    let (code, record) = judged(&errors(&[]), "checks: [{what: Faces, ok: true}]\n");
    assert_eq!((code, record.instrument.unwrap().verdict), (0, Verdict::Pass));
    let (code, record) =
        judged(&errors(&[]), "checks: [{what: Faces, ok: true}, {what: Ratchet, ok: false}]\n");
    assert_eq!((code, record.instrument.unwrap().verdict), (1, Verdict::Fail));
    let decision = |it: &surebound::record::Point| it.decision.as_ref().unwrap().verdict;
    assert!(record.sections[0].points.iter().all(|it| decision(it) == Some(Verdict::Pass)));
    let cause = record.sections[0].points[0].decision.as_ref().unwrap().cause;
    assert_ne!(cause, Some(Cause::Check), "a point is not what failed");
    let skipped = "checks: [{what: Zero key, ok: not applicable}]\n";
    assert_eq!(judged(&errors(&[]), skipped).1.instrument.unwrap().verdict, Verdict::Pass);
}

/// A point without a reading: at best undecided, with a finding; a worse point stays worse.
#[test]
fn a_missing_point_leaves_the_instrument_undecided() {
    let without = |but: &[(usize, &str)]| errors(but).replace("0.4100: 0, ", "");
    for (but, expected) in [
        (vec![], Verdict::Undecided),
        (vec![(1, "200")], Verdict::Undecided),
        (vec![(1, "250")], Verdict::ConditionalFail),
        (vec![(1, "300")], Verdict::Fail),
    ] {
        let (code, record) = judged(&without(&but), "");
        assert_eq!((code, record.instrument.unwrap().verdict), (1, expected), "{but:?}");
        assert!(record.findings.iter().any(|it| it.code == "missing-reading"));
    }
}

/// Several sections: the worst of all.
#[test]
fn an_instrument_is_judged_over_all_its_sections() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("inch.yaml"), shipped("inch-micrometer-0-1")).unwrap();
    std::fs::write(folder.path().join("torque.yaml"), shipped("torque-wrench")).unwrap();
    let path = folder.path().join("sheet.yaml");
    let sheet = |torque: &str| {
        format!(
            "surebound_worksheet: 1\ninstrument: {{id: M-1}}\ndate: 2026-11-20\nsections:\n  \
             - {{budget: torque.yaml, readings: {{20: 20.1, 60: 60.0, 100: {torque}}}}}\n  \
             - budget: inch.yaml\n    errors: {{{}}}\n",
            errors(&[(5, "200")])
        )
    };
    for (torque, expected) in [("100.0", Verdict::ConditionalPass), ("110", Verdict::Fail)] {
        std::fs::write(&path, sheet(torque)).unwrap();
        let (code, record) = run(&path);
        assert_eq!((code, record.instrument.unwrap().verdict), (1, expected), "{torque}");
        assert_eq!(record.sections.len(), 2);
    }
}
