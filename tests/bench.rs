//! At the bench, from files to exit code and record: several readings at a point and their spread, points
//! between those of the budget, other limits, checks and zero settings.
//!
//! The budget has one contributor, u = 0.5 µm of the laboratory, normal, so that U = 1 µm at 95.45 % (k = 2)
//! and w = 1 µm; verdicts follow by hand. Risks: Q(x) = erfc(x/√2)/2 of the distances to both limits over u,
//! by Python's `math.erfc`, to seven digits.

// The whole file is a test; a helper may end it as a test may.
#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value as Json;
use std::process::Command;
use surebound::budget::parts::ToleranceParts;
use surebound::budget::{Budget, Take};
use surebound::decide::readings::{Readings, Row};
use surebound::decide::{Cause, Verdict};
use surebound::quantity::Quantity;

const BUDGET: &str = "surebound: 1
title: Micrometer
measurand: {symbol: E, name: Error of indication, unit: µm}
points: {symbol: L, unit: mm, at: [5, 10, 20]}
contributors:
  - {name: All of it, standard_uncertainty: 0.5 µm}
display: {step: 1 µm}
coverage: {method: fixed, k: 2}
tolerance: ±4 µm
decision: {rule: guarded, guard_band: {width: 1 µm}, uncertainty: all}
";

/// A folder with a budget, and a worksheet that names it.
struct Bench(tempfile::TempDir);

impl Bench {
    fn new(budget: &str) -> Bench {
        let bench = Bench(tempfile::tempdir().unwrap());
        std::fs::write(bench.0.path().join("b.yaml"), budget).unwrap();
        bench
    }

    /// Writes a worksheet whose one section is `section`, with `top` above it.
    fn sheet(self, top: &str, section: &str) -> Bench {
        let text = format!(
            "surebound_worksheet: 1\ninstrument: {{id: M-1}}\n{top}sections:\n  - budget: b.yaml\n{section}"
        );
        std::fs::write(self.0.path().join("w.yaml"), text).unwrap();
        self
    }

    fn run(&self, arguments: &[&str]) -> (i32, String, String) {
        let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
            .current_dir(self.0.path())
            .args(arguments)
            .output()
            .unwrap();
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
        (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
    }

    /// Returns exit code and record.
    fn record(&self, arguments: &[&str]) -> (i32, Json) {
        let (code, out, told) = self.run(&[arguments, &["--format", "json"]].concat());
        (code, serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{told}")))
    }
}

fn readings(take: &str, at_5: &str) -> Bench {
    let section = format!(
        "    take: {take}\n    readings:\n      5: {at_5}\n      10: 10.000\n      20: 20.000\n"
    );
    Bench::new(BUDGET).sheet("", &section)
}

fn codes(record: &Json) -> Vec<&str> {
    let findings = record["findings"].as_array().unwrap();
    findings.iter().map(|it| it["code"].as_str().unwrap()).collect()
}

fn finding<'a>(record: &'a Json, code: &str) -> &'a Json {
    let findings = record["findings"].as_array().unwrap();
    findings.iter().find(|it| it["code"] == code).unwrap_or_else(|| panic!("{code}: {findings:?}"))
}

fn first(record: &Json) -> &Json {
    &record["sections"][0]["points"][0]
}

fn near(value: &Json, expected: f64, relative: f64) {
    let value = value.as_f64().unwrap();
    assert!((value / expected - 1.0).abs() < relative, "{value}, not {expected}");
}

/// Errors 0, 4 and 1 µm; by hand the mean is 5/3 µm. Risks: Q(14/3) + Q(34/3) = 1.530627e-6 of the mean,
/// Q(0) + Q(16) = 0.5, Q(6) + Q(10) = 9.865876e-10.
/// Method: M99.
#[test]
fn one_of_several_readings_is_reported_and_all_are_judged() {
    let text = "[5.000, 5.004, 5.001]";
    for (take, code, estimate, verdict, risk) in [
        ("worst", 1, 4.0, "fail", 0.5),
        ("mean", 0, 5.0 / 3.0, "pass", 1.530_627e-6),
        ("last", 0, 1.0, "pass", 9.865_876e-10),
    ] {
        let (exit, record) = readings(take, text).record(&["judge", "w.yaml"]);
        assert_eq!(exit, code, "{take}");
        let point = first(&record);
        let decision = &point["decision"];
        near(&point["estimate"], estimate, 1e-15);
        assert_eq!((&decision["verdict"], &decision["take"]), (&verdict.into(), &take.into()));
        near(&decision["specific_risk"], risk, 1e-6);
        let each: Vec<&str> = decision["readings"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| it["verdict"].as_str().unwrap())
            .collect();
        assert_eq!(each, ["pass", "fail", "pass"], "{take}");
        assert_eq!(codes(&record).contains(&"worse-reading"), take != "worst", "{take}");
        assert_eq!(record["sections"][0]["points"][1]["decision"]["take"], Json::Null);
    }
    let (_, record) = readings("mean", text).record(&["judge", "w.yaml"]);
    let found = finding(&record, "worse-reading");
    assert!(found["message"].as_str().unwrap().contains("`5.004 mm`"), "{found}");
    assert!(found["where"].as_str().unwrap().starts_with("w.yaml:7:18"), "{found}");
    let (_, page, _) = readings("mean", text).run(&["judge", "w.yaml"]);
    assert!(page.contains("mean of 3"), "{page}");
}

/// Ten thirds: 3 µm is the acceptance limit; (2 + 3 + 4)/3 = 3 lies on it, which no sum of doubles shows.
#[test]
fn a_mean_on_the_acceptance_limit_passes_exactly() {
    for (text, code) in
        [("[5.002, 5.003, 5.004]", 0), ("[5.002, 5.003, 5.004, 5.0030000000000001]", 1)]
    {
        assert_eq!(readings("mean", text).run(&["judge", "w.yaml"]).0, code, "{text}");
    }
    // Of errors the mean is that of the errors.
    let section = "    take: mean\n    errors:\n      5: [2, 3, 4]\n      10: 0\n      20: 0\n";
    assert_eq!(Bench::new(BUDGET).sheet("", section).run(&["judge", "w.yaml"]).0, 0);
    let section = section.replace("4]", "4.00000000000001]");
    assert_eq!(Bench::new(BUDGET).sheet("", &section).run(&["judge", "w.yaml"]).0, 1);
}

#[test]
fn the_mean_of_one_reading_is_that_reading() {
    let (code, record) = readings("mean", "5.002").record(&["judge", "w.yaml"]);
    let decision = &first(&record)["decision"];
    assert_eq!((code, &decision["take"]), (0, &Json::Null));
    assert!(decision["reason"].as_str().unwrap().starts_with("reads +2 µm"), "{decision}");
}

fn repeated(limit: &str, take: &str, at_5: &str) -> Bench {
    let section = format!(
        "    take: {take}\n    readings:\n      5: {at_5}\n      10: [10.000, 10.000]\n      20: 20.000\n"
    );
    Bench::new(&format!("{BUDGET}repeatability: {limit}\n")).sheet("", &section)
}

/// By hand: 5.000 to 5.002 is 2 µm, on the limit; 1e-15 mm more is beyond.
/// Method: M100.
#[test]
fn readings_that_differ_by_more_than_they_may_fail_the_point() {
    for take in ["worst", "mean", "last"] {
        let (code, record) =
            repeated("2 µm", take, "[5.002, 5.000, 5.001]").record(&["judge", "w.yaml"]);
        let decision = &first(&record)["decision"];
        assert_eq!((code, decision["spread"]["ok"].as_bool()), (0, Some(true)), "{take}");
        near(&decision["spread"]["value"], 2.0, 1e-15);
        near(&decision["spread"]["limit"], 2.0, 1e-15);
        let text = "[5.002000000000001, 5.000, 5.001]";
        let (code, record) = repeated("2 µm", take, text).record(&["judge", "w.yaml"]);
        let decision = &first(&record)["decision"];
        assert_eq!((code, decision["spread"]["ok"].as_bool()), (1, Some(false)), "{take}");
        assert_eq!(decision["verdict"], "fail");
        assert_eq!(decision["cause"], "repeatability");
        let each = decision["readings"].as_array().unwrap();
        assert!(each.iter().all(|it| it["verdict"] == "pass"), "each reading passes by itself");
    }
    let (_, record) = repeated("1 µm", "worst", "[5.002, 5.000]").record(&["judge", "w.yaml"]);
    let reason = &first(&record)["decision"]["reason"];
    assert_eq!(
        reason,
        "may not be passed: the readings differ by 2 µm, from 5.000 mm to 5.002 mm, more than the \
         repeatability limit of 1 µm"
    );
    // Where the reading fails by itself, that comes first.
    let (_, record) = repeated("1 µm", "worst", "[5.009, 5.000]").record(&["judge", "w.yaml"]);
    let decision = &first(&record)["decision"];
    assert_eq!(decision["cause"], "tolerance");
    let reason = decision["reason"].as_str().unwrap();
    assert!(reason.starts_with("reads +9 µm; may not be passed"), "{reason}");
    assert!(reason.contains("; also, the readings differ by 9 µm"), "{reason}");
}

/// The limit may follow the point: 0.2 µm/mm·L is 1 µm at 5 mm.
#[test]
fn the_repeatability_limit_sees_its_point_and_one_reading_is_not_judged() {
    let limit = "0.2 µm/mm * L";
    assert_eq!(repeated(limit, "worst", "[5.001, 5.000]").run(&["judge", "w.yaml"]).0, 0);
    assert_eq!(repeated(limit, "worst", "[5.002, 5.000]").run(&["judge", "w.yaml"]).0, 1);
    let (code, record) = repeated(limit, "worst", "5.002").record(&["judge", "w.yaml"]);
    assert_eq!(code, 0, "one reading leaves the verdict as it is");
    let found = finding(&record, "not-repeated");
    assert_eq!((&found["severity"], &found["about"]), (&"warning".into(), &"5 mm, 20 mm".into()));
    assert_eq!(first(&record)["decision"]["spread"], Json::Null);
    let (_, record) = readings("worst", "5.002").record(&["judge", "w.yaml"]);
    assert!(!codes(&record).contains(&"not-repeated"), "without a limit nothing is said");
    let bench = Bench::new(&format!("{BUDGET}repeatability: 2 µm\n"));
    let one = ["judge", "b.yaml", "--at", "5 mm", "--reading", "5.001 mm"];
    let (code, record) = bench.record(&one);
    assert_eq!(code, 0);
    assert_eq!(finding(&record, "not-repeated")["about"], "5 mm");
}

/// w(L) = 0.1 µm/mm·L: at 7 mm the acceptance limit is 4 − 0.7 = 3.3 µm, between those of 5 and 10 mm.
#[test]
fn a_point_between_two_points_is_evaluated_there() {
    let bench = Bench::new(&BUDGET.replace("width: 1 µm", "width: 0.1 µm/mm * L"));
    for at in ["7 mm", "7", "0.7 cm", "7000 µm"] {
        let (code, record) =
            bench.record(&["judge", "b.yaml", "--at", at, "--reading", "7.003 mm"]);
        assert_eq!(code, 0, "{at}");
        assert_eq!(record["sections"][0]["points"].as_array().unwrap().len(), 1);
        near(&first(&record)["decision"]["acceptance"]["upper"], 3.3, 1e-12);
        let found = finding(&record, "between-points");
        let message = found["message"].as_str().unwrap();
        assert!(message.contains("is no point of the budget"), "{message}");
        assert!(message.contains("between 5 mm and 10 mm"), "{message}");
    }
    let (code, _, _) = bench.run(&["judge", "b.yaml", "--at", "7 mm", "--reading", "7.004 mm"]);
    assert_eq!(code, 1);
    let (_, record) = bench.record(&["judge", "b.yaml", "--at", "10 mm", "--reading", "10.003 mm"]);
    assert!(!codes(&record).contains(&"between-points"));
    let (code, record) = bench.record(&["show", "b.yaml", "--at", "7 mm"]);
    assert_eq!((code, &record["sections"][0]["focus"]), (0, &1.into()));
    assert_eq!(record["sections"][0]["points"].as_array().unwrap().len(), 4);
    assert!(codes(&record).contains(&"between-points"));
    // Without a reading the help names one in the unit of readings.
    let (code, _, told) = bench.run(&["judge", "b.yaml", "--at", "0.7 cm"]);
    assert!(code == 2 && told.contains("--at \"0.7 cm\" --reading \"7 mm\""), "{told}");
}

#[test]
fn a_key_with_a_default_takes_it_between_points_and_says_so() {
    let keyed = BUDGET
        .replace("at: [5, 10, 20]", "at: [5, {at: 10, c: 1 µm}, 20]")
        .replace("contributors:", "model: reading - L - c\nestimates: {c: 0.5 µm}\ncontributors:");
    let (code, record) =
        Bench::new(&keyed).record(&["judge", "b.yaml", "--at", "7 mm", "--reading", "7.003 mm"]);
    assert_eq!(code, 0);
    near(&first(&record)["estimate"], 2.5, 1e-12);
    let message = finding(&record, "between-points")["message"].as_str().unwrap();
    assert!(message.contains("with the default of `c`"), "{message}");
}

#[test]
fn a_worksheet_has_no_points_between() {
    let section = "    readings:\n      5: 5.000\n      7: 7.000\n";
    let (code, out, told) = Bench::new(BUDGET).sheet("", section).run(&["judge", "w.yaml"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(told.contains("`7` is no point of this budget"), "{told}");
}

/// The library has all of it: a point between, and what cannot be.
#[test]
fn the_library_puts_a_point_between_two() {
    let budget = Budget::parse(BUDGET).unwrap();
    let quantity = |text: &str| Quantity::parse(text, budget.units()).unwrap();
    let (wider, index) = budget.with_point(quantity("15 mm")).unwrap();
    assert_eq!((index, wider.points().list.len()), (2, 4));
    assert_eq!(wider.evaluate().unwrap().points().len(), 4);
    let (same, index) = budget.with_point(quantity("1 cm")).unwrap();
    assert_eq!((index, same.points().list.len()), (1, 3));
    for (text, what) in [
        ("21 mm", "they run from 5 mm to 20 mm"),
        ("4.9 mm", "they run from 5 mm to 20 mm"),
        ("5 N", "points are given in `mm`"),
    ] {
        let fault = budget.with_point(quantity(text)).unwrap_err();
        assert!(fault.message().contains(what), "{}", fault.message());
    }
}

fn regraded(record: &Json) -> Vec<(&str, &Json, &Json)> {
    let rows = record["regrade"].as_array().unwrap();
    rows.iter().map(|it| (it["tolerance"].as_str().unwrap(), &it["verdict"], &it["note"])).collect()
}

/// Errors 1, −2 and 0 µm; w = 1 µm. By hand: ±1 leaves [0, 0] and 1 fails, ±2 leaves ±1 and −2 fails,
/// ±3 leaves ±2: −2 is on it; [−3, 9] leaves [−2, 8]; at most 1 leaves at most 0: 1 fails; at least −3
/// leaves at least −2; ±0.5 leaves nothing.
/// Method: M101.
#[test]
fn other_limits_say_what_the_instrument_would_pass() {
    let section = "    readings:\n      5: 5.001\n      10: 9.998\n      20: 20.000\n";
    let bench = Bench::new(BUDGET).sheet("", section);
    let limits = "±1 µm, ±2 µm, ±3 µm, [-3 µm, 9 µm], at most 1 µm, at least -3 µm, ±0.5 µm";
    let (code, record) = bench.record(&["judge", "w.yaml", "--regrade", limits]);
    assert_eq!(code, 0, "the exit code is that of ±4 µm");
    let verdicts: Vec<&str> = regraded(&record).iter().map(|it| it.1.as_str().unwrap()).collect();
    assert_eq!(verdicts, ["fail", "fail", "pass", "pass", "fail", "pass", "fail"]);
    let tally = |row: usize| {
        let points = &record["regrade"][row]["points"];
        (points["pass"].as_u64().unwrap(), points["fail"].as_u64().unwrap())
    };
    assert_eq!((tally(0), tally(1), tally(2), tally(6)), ((1, 2), (2, 1), (3, 0), (0, 3)));
    let decisive = |row: usize| record["regrade"][row]["decisive"]["point"].as_str().unwrap();
    assert_eq!((decisive(1), decisive(2), decisive(4)), ("10 mm", "10 mm", "5 mm"));
    let note = record["regrade"][6]["note"].as_str().unwrap();
    assert!(note.contains("no acceptance zone"), "{note}");
    assert_eq!(record["regrade"][2]["note"], Json::Null);
    assert_eq!(record["options"]["regrade"], limits);
    let (_, page, _) = bench.run(&["judge", "w.yaml", "--regrade", limits]);
    assert!(page.contains("Which limits it would pass") && page.contains("3 of 3"), "{page}");
    let (_, record) = bench.record(&["judge", "w.yaml"]);
    assert_eq!(record["regrade"], Json::Null);
}

/// Steps and tolerances of points go; u = 0.5 µm cannot keep 1 % within ±0.5 µm (2·Q(1) = 31.7 %).
#[test]
fn other_limits_replace_every_tolerance_and_a_promise_that_breaks_is_said_in_its_row() {
    let steps =
        "tolerance: {by_point: [{up_to: 10 mm, limits: ±4 µm}, {up_to: 20 mm, limits: ±5 µm}]}";
    let budget = BUDGET
        .replace("at: [5, 10, 20]", "at: [5, 10, {at: 20, tolerance: ±6 µm}]")
        .replace("tolerance: ±4 µm", steps)
        .replace("width: 1 µm", "specific_risk: 1 %");
    let section = "    readings:\n      5: 5.001\n      10: 9.998\n      20: 20.003\n";
    let bench = Bench::new(&budget).sheet("", section);
    let (code, record) = bench.record(&[
        "judge",
        "w.yaml",
        "--regrade",
        "±8 µm, ±0.5 µm, ±3 µm, ±(3 µm + L * 0.1 µm/mm)",
    ]);
    assert_eq!(code, 0);
    let rows = regraded(&record);
    assert_eq!((rows[0].1, rows[0].2), (&"pass".into(), &Json::Null));
    assert_eq!(rows[1].1, &Json::Null);
    assert!(rows[1].2.as_str().unwrap().contains("specific risk of `1 %`"), "{:?}", rows[1]);
    assert_eq!(
        (&record["regrade"][1]["points"], &record["regrade"][1]["decisive"]),
        (&Json::Null, &Json::Null)
    );
    assert_eq!(
        (rows[2].1, record["regrade"][2]["decisive"]["point"].as_str()),
        (&"fail".into(), Some("20 mm"))
    );
    assert_eq!(rows[3].1, "pass");
}

#[test]
fn a_failed_check_and_a_missing_reading_hold_under_any_limits() {
    let section = "    readings:\n      5: 5.000\n      10: 10.000\n      20: 20.000\n";
    let top = "checks:\n  - {what: Faces, ok: false}\n";
    let bench = Bench::new(BUDGET).sheet(top, section);
    let (_, record) = bench.record(&["judge", "w.yaml", "--regrade", "±9 µm"]);
    assert_eq!(
        (&record["regrade"][0]["verdict"], &record["regrade"][0]["cause"]),
        (&"fail".into(), &"check".into())
    );
    let bench = Bench::new(BUDGET).sheet("", "    readings:\n      5: 5.000\n");
    let (_, record) = bench.record(&["judge", "w.yaml", "--regrade", "±9 µm"]);
    let row = &record["regrade"][0];
    assert_eq!((&row["verdict"], &row["points"]["missing"]), (&"undecided".into(), &2.into()));
    assert_eq!(row["decisive"]["reason"], Json::Null);
}

/// Of two budgets only that of a length has limits of a length; limits of neither kind are refused.
#[test]
fn limits_are_applied_to_the_budgets_of_their_kind() {
    let section = "    readings:\n      5: 5.003\n      10: 10.000\n      20: 20.000\n  - budget: f.yaml\n    readings: {5: 5.1}\n";
    let bench = Bench::new(BUDGET).sheet("", section);
    let force = "surebound: 1\ntitle: Force\nmeasurand: {symbol: F, name: Measuring force, unit: N}\n\
                 points: {symbol: D, unit: N, at: [5]}\nmodel: reading\n\
                 contributors:\n  - {name: Gauge, standard_uncertainty: 0.2 N}\n\
                 tolerance: [3 N, 10 N]\ndecision: {rule: simple, uncertainty: all}\n";
    std::fs::write(bench.0.path().join("f.yaml"), force).unwrap();
    let (code, record) =
        bench.record(&["judge", "w.yaml", "--regrade", "±3 µm, [4 N, 6 N], at most 5 N"]);
    assert_eq!(code, 0);
    let rows = record["regrade"].as_array().unwrap();
    let of = |row: usize| (rows[row]["verdict"].as_str().unwrap(), rows[row]["sections"].clone());
    assert_eq!(of(0), ("fail", serde_json::json!([0])));
    assert_eq!(of(1), ("pass", serde_json::json!([1])));
    assert_eq!(of(2), ("fail", serde_json::json!([1])));
    assert_eq!(rows[2]["decisive"]["section"], 1);
    let (code, out, told) = bench.run(&["judge", "w.yaml", "--regrade", "±3 µm, ±1 K"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(told.contains("--regrade: ") && told.contains("`±1 K`"), "{told}");
}

/// One reading: e = +3 µm, on the acceptance limit of ±4 µm and beyond that of ±3.5 µm.
#[test]
fn one_reading_is_judged_under_other_limits_too() {
    let bench = Bench::new(BUDGET);
    let arguments =
        ["judge", "b.yaml", "--at", "5 mm", "--reading", "5.003 mm", "--regrade", "±4 µm,±3.5 µm"];
    let (code, record) = bench.record(&arguments);
    assert_eq!(code, 0);
    let verdicts: Vec<&Json> = regraded(&record).iter().map(|it| it.1).collect();
    assert_eq!(verdicts, ["pass", "fail"]);
    assert_eq!(record["regrade"][1]["points"]["fail"], 1);
    let between =
        ["judge", "b.yaml", "--at", "7 mm", "--reading", "7.003 mm", "--regrade", "±9 µm"];
    assert_eq!(bench.record(&between).1["regrade"][0]["verdict"], "pass");
}

/// The row of the budget's own tolerance says what the judgement itself says.
#[test]
fn the_budgets_own_tolerance_regrades_to_itself() {
    let budget = Budget::parse(BUDGET).unwrap();
    let evaluation = budget.evaluate().unwrap();
    let own = budget.with_tolerance(&ToleranceParts::Text("±4 µm".into())).unwrap();
    for error in ["0", "2.999", "3", "3.0001", "4", "4.1", "-3", "-3.1"] {
        let rows = [Row { point: "5".into(), values: vec![error.into()], is_error: true }];
        let readings = Readings::from_rows(&budget, &rows).unwrap();
        let judgement = evaluation.judge(&readings).unwrap();
        assert_eq!(judgement.under(&own, &readings, 0).unwrap(), judgement.outcome(0), "{error}");
    }
    let fault = budget.with_tolerance(&ToleranceParts::Text("±4".into())).unwrap_err();
    assert!(fault.to_string().contains("has no unit"), "{fault}");
}

/// What a mean says is the model at the exact mean of the readings, also where the model is curved: readings
/// 1 and 3, model reading², by hand 4 and not the mean 5 of 1 and 9.
#[test]
fn the_mean_is_taken_of_the_readings_and_not_of_what_follows_from_them() {
    let text = "surebound: 1\ntitle: T\nmeasurand: {symbol: y, name: Square, unit: 1}\n\
                points: {symbol: x, unit: 1, at: [2]}\nmodel: reading * reading\n\
                contributors:\n  - {name: A, standard_uncertainty: 0.1}\ntolerance: [3, 5]\n\
                decision: {rule: simple, uncertainty: all}\nrepeatability: 8\n";
    let budget = Budget::parse(text).unwrap();
    let evaluation = budget.evaluate().unwrap();
    let rows = [Row { point: "2".into(), values: vec!["1".into(), "3".into()], is_error: false }];
    let readings = Readings::from_rows(&budget, &rows).unwrap().taking(Take::Mean);
    let judgement = evaluation.judge(&readings).unwrap();
    let point = &judgement.points[0];
    assert_eq!(point.reported().unwrap().error.si, 4.0);
    // The spread is one of the measurand: 9 − 1 = 8, on the limit.
    assert_eq!(
        (point.spread.as_ref().unwrap().value.si, point.verdict()),
        (8.0, (Verdict::Pass, None))
    );
    let tight = Budget::parse(&text.replace("repeatability: 8", "repeatability: 7.9")).unwrap();
    let judgement = tight.evaluate().unwrap();
    let judgement = judgement.judge(&readings).unwrap();
    assert_eq!(judgement.points[0].verdict(), (Verdict::Fail, Some(Cause::Repeatability)));
}

#[test]
fn the_page_shows_checks_and_zero_settings_and_says_where_zero_does_not_repeat() {
    let section = "    readings:\n      5: 5.000\n      10: 10.000\n      20: 20.000\n";
    for (zero, repeats) in [("[0.000, 0.001]", true), ("[0.000, 0.002, 0.001]", false)] {
        let top = format!("checks:\n  - {{what: Faces clean, ok: true}}\nzero: {zero}\n");
        let bench = Bench::new(BUDGET).sheet(&top, section);
        let (_, page, _) = bench.run(&["judge", "w.yaml"]);
        assert!(page.contains("Checks and zero setting") && page.contains("Faces clean"), "{page}");
        assert!(page.contains(zero.trim_matches(['[', ']'])), "{page}");
        assert_eq!(!page.contains("the zero setting does not repeat"), repeats, "{page}");
        let (code, record) = bench.record(&["judge", "w.yaml"]);
        assert_eq!((code, codes(&record).contains(&"zero-not-repeated")), (0, !repeats));
        assert_eq!(record["worksheet"]["checks"][0]["result"], "ok");
    }
}

/// `docs/at-the-bench.md`: its files, its commands, and each line that it shows of their output, in order.
/// `(A instead of B)` behind a command is typed into the worksheet.
#[test]
fn the_page_shows_what_the_program_prints() {
    const PAGE: &str = include_str!("../docs/at-the-bench.md");
    let bench = Bench(tempfile::tempdir().unwrap());
    let blocks = |kind: &str| -> Vec<&str> {
        let fence = format!("\n```{kind}\n");
        let starts = PAGE.split(fence.as_str()).skip(1);
        starts.map(|it| it.split_once("\n```").unwrap().0).collect()
    };
    for file in blocks("yaml") {
        let name = file.lines().next().unwrap().trim_start_matches("# ");
        std::fs::write(bench.0.path().join(name), format!("{file}\n")).unwrap();
    }
    let sheet = std::fs::read_to_string(bench.0.path().join("m-301.yaml")).unwrap();
    let shown = blocks("text");
    assert!(shown.len() > 7, "{}", shown.len());
    for block in shown {
        let (command, lines) = block.split_once('\n').unwrap();
        let (command, change) = match command.split_once(" (") {
            Some((command, change)) => (command, change.trim_end_matches(')')),
            None => (command, "M-301 instead of M-301"),
        };
        let (new, old) = change.split_once(" instead of ").unwrap();
        assert!(sheet.contains(old), "{old}");
        std::fs::write(bench.0.path().join("m-301.yaml"), sheet.replace(old, new)).unwrap();
        let words = command.strip_prefix("$ surebound ").unwrap().split('"').enumerate();
        let arguments: Vec<&str> = words
            .flat_map(|(index, it)| match index % 2 {
                0 => it.split_whitespace().collect(),
                _ => vec![it],
            })
            .collect();
        let (_, out, told) = bench.run(&arguments);
        let mut rest = format!("\n{out}{told}");
        for line in lines.lines().map(|it| format!("\n{it}\n")) {
            let at = rest.find(&line).unwrap_or_else(|| panic!("{command}: no{line}{out}{told}"));
            rest = rest.split_off(at + line.len() - 1);
        }
    }
}

/// A budget without points: its only result has the measurand's name. By hand, at least 5 N less U = 1 N at k = 2
/// of either side: 6 N is on the acceptance limit, 5.9 N is not accepted.
#[test]
fn the_only_result_of_a_budget_is_named_by_its_symbol() {
    let budget = "surebound: 1\ntitle: Spring\nmeasurand: {symbol: F, name: Force, unit: N}\n\
                  contributors:\n  - {name: All of it, standard_uncertainty: 0.5 N}\ndisplay: {step: 0.1 N}\n\
                  tolerance: at least 5 N\n\
                  decision: {rule: guarded, guard_band: {width: 1 N}, uncertainty: all}\n";
    for (read, code, verdict) in [("6.0", 0, "pass"), ("[6.0, 5.9]", 1, "fail")] {
        let bench = Bench::new(budget).sheet("", &format!("    readings: {{F: {read}}}\n"));
        let (found, record) = bench.record(&["judge", "w.yaml"]);
        assert_eq!(
            (found, &record["instrument"]["verdict"]),
            (code, &Json::from(verdict)),
            "{read}"
        );
        assert_eq!(record["sections"][0]["points"].as_array().map(Vec::len), Some(1));
    }
    let (code, _, told) =
        Bench::new(budget).sheet("", "    readings: {G: 6.0}\n").run(&["judge", "w.yaml"]);
    assert_eq!(code, 2);
    assert!(told.contains("`G` names no point") && told.contains("help: F"), "{told}");
}

/// The steps that a bench sheet lets readings lie apart are those that `judge` does: on either side of the limit, along
/// a line, a falling line and a curve, with limits on a step, between steps and of nothing.
#[test]
fn the_sheet_counts_the_spread_that_judge_allows() {
    use surebound::decide::sheet::SheetSteps;
    let models = [
        "reading - L",
        "L - reading",
        "reading - L + 0.3 µm",
        "reading + (reading - L) * (reading - L) / (1 mm) - L",
    ];
    for model in models {
        for limit in ["0 µm", "2 µm", "2.5 µm", "0.3 µm * L / (1 mm)"] {
            let text = format!("{BUDGET}model: {model}\nrepeatability: {limit}\n");
            let budget = Budget::parse(&text).unwrap();
            let evaluation = budget.evaluate().unwrap();
            let sheet = evaluation.sheet().unwrap()[1].clone().unwrap();
            let most = |n: i64| match &sheet.spread.as_ref().unwrap().steps {
                SheetSteps::Alike(steps) => *steps,
                SheetSteps::Each(each) => {
                    let surebound::decide::sheet::SheetValues::Listed { first, .. } = &sheet.values
                    else {
                        panic!("{model}: counted one by one along a line")
                    };
                    each[usize::try_from(n - first).unwrap()]
                }
            };
            for n in [9_996, 9_999, 10_000, 10_003] {
                for apart in [most(n), most(n) + 1] {
                    let values =
                        [n, n + apart].map(|it| format!("{:.3}", it as f64 / 1e3).as_str().into());
                    let row = Row { point: "10".into(), values: values.to_vec(), is_error: false };
                    let readings = Readings::from_rows(&budget, &[row]).unwrap();
                    let judged = evaluation.judge(&readings).unwrap();
                    let spread = judged.points[1].spread.as_ref().unwrap();
                    assert_eq!(
                        spread.within,
                        apart == most(n),
                        "{model}, {limit}: {n} and {apart}"
                    );
                }
            }
        }
    }
}

/// A reading beyond a bound of the measurand, and one far off on the open side of a tolerance, are said.
#[test]
fn what_cannot_be_measured_is_said() {
    let text = "surebound: 1\ntitle: Runout\nmeasurand: {symbol: R, name: Runout, unit: µm, bounds: {lower: 0 µm}}\n\
                contributors: [{name: All, standard_uncertainty: 0.5 µm}]\ndisplay: {step: 1 µm}\n\
                tolerance: at most 10 µm\ndecision: {rule: guarded}\n";
    let codes = |reading: &str| -> Vec<String> {
        let bench = Bench::new(text);
        let (_, out, _) = bench.run(&["judge", "b.yaml", "--reading", reading, "--format", "json"]);
        let record: Json = serde_json::from_str(&out).unwrap();
        let of = |it: &Json| it["code"].as_str().unwrap().to_owned();
        record["findings"].as_array().unwrap().iter().map(of).collect()
    };
    assert!(codes("0 µm").is_empty() && codes("8 µm").is_empty());
    assert_eq!(codes("-1 µm"), ["beyond-bound"]);
    assert_eq!(codes("-2 mm"), ["far-off", "beyond-bound"]);
}
