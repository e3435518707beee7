//! Pages in a real browser: what a person types there, against what the program says.

#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/browser.rs"]
mod browser;

use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use surebound::budget::Budget;
use surebound::decide::Readings;
use surebound::decide::readings::Row;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn surebound(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_surebound")).args(arguments).output().expect("built")
}

/// The page of a budget beside it, and its file.
fn sheet(budget: &Path) -> PathBuf {
    let page = budget.with_extension("html");
    let output = surebound(&["sheet", budget.to_str().unwrap(), "-o", page.to_str().unwrap()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let size = std::fs::metadata(&page).unwrap().len();
    assert!(size < 150_000, "{}: {size} bytes", page.display());
    page
}

/// For each point its texts, verdicts and sentences: every display step within three tolerances.
fn judged(path: &Path) -> Vec<Value> {
    let text = std::fs::read_to_string(path).unwrap();
    let budget = Budget::parse(&text).unwrap();
    let evaluation = budget.evaluate().unwrap();
    let step = budget.display().unwrap().step.exact().to_f64();
    let unit = budget.reading_unit().si();
    let written = surebound::decide::sheet::step_text(&budget).unwrap();
    let places = written.split_once('.').map_or(0, |it| it.1.len());
    let row = |(index, zones): (usize, &Option<surebound::decide::PointZones>)| {
        let limits = &zones.as_ref().unwrap().limits;
        let reach =
            [&limits.lower, &limits.upper].map(|it| it.as_ref().map_or(0.0, |it| it.si.abs()));
        let reach = (3.0 * reach[0].max(reach[1]) / step).ceil() as i64;
        let point = &budget.points().list[index];
        let at = point.at.as_ref();
        let start = at.map_or(0, |it| (it.exact().to_f64() / step).round() as i64);
        let text = |n: i64| format!("{:.places$}", n as f64 * step / unit).as_str().into();
        let at = at.map_or(budget.measurand().symbol.clone(), |it| it.number().text().to_owned());
        let name = point.label.clone().unwrap_or(at);
        let values = (start - reach..=start + reach).map(text).collect();
        Row { point: name.as_str().into(), values, is_error: false }
    };
    let zones = evaluation.zones().unwrap();
    let rows: Vec<Row> = zones.iter().enumerate().map(row).collect();
    let judgement = evaluation.judge(&Readings::from_rows(&budget, &rows).unwrap()).unwrap();
    let off_grid = judgement.findings.iter().filter(|it| it.code == "off-grid");
    assert_eq!(off_grid.count(), 0, "the readings of this test are steps of the display");
    let of_point = |(row, point): (&Row, &surebound::decide::PointJudgement)| {
        let all = row.values.iter().zip(&point.readings);
        let all = all.map(|(text, it)| json!([text.text, it.verdict.word(), it.reason]));
        json!({"readings": all.collect::<Vec<_>>()})
    };
    rows.iter().zip(&judgement.points).map(of_point).collect()
}

/// Readings to be typed for a worksheet: one a point from inside to outside, two at the second.
fn to_type(points: &[Value]) -> Vec<Vec<String>> {
    let text = |point: &Value, share: usize| {
        let all = point["readings"].as_array().unwrap();
        all[all.len() * (40 + share % 25) / 100][0].as_str().unwrap().to_owned()
    };
    let texts = |(index, point): (usize, &Value)| match index {
        1 => vec![text(point, 8), text(point, 11)],
        _ => vec![text(point, 7 + 2 * index)],
    };
    points.iter().enumerate().map(texts).collect()
}

/// Holds the page of a budget against the program; returns how many readings were compared.
fn check(budget: &Path) -> Option<u64> {
    let (page, points) = (sheet(budget), judged(budget));
    let saved = budget.with_file_name("saved.yaml");
    let name = budget.file_stem().unwrap().to_str().unwrap();
    let save = json!({
        "path": saved, "id": "M 118/\u{b5}", "description": "Outside: \"0 mm to 25 mm\" # {x}", "zero": "0.000 0.001",
        "readings": to_type(&points),
    });
    // One budget and the hostile one at all sizes, in light and dark.
    let everywhere = name.starts_with("outside-micrometer-0") || name.starts_with("odd");
    let job = json!({"file": page, "name": name, "points": points, "save": save, "everywhere": everywhere});
    let found = browser::run("sheet.mjs", &job)?;
    assert_eq!(found["name"], "M-118-\u{b5}.yaml");
    assert!(found["typed"].as_u64().unwrap() >= 36, "{}", found["typed"]);
    same_as_command(&saved, &found);
    found["compared"].as_u64()
}

/// The saved worksheet, judged by the command, has the verdicts and sentences of the page.
fn same_as_command(saved: &Path, found: &Value) {
    let output = surebound(&["judge", saved.to_str().unwrap(), "--format", "json"]);
    let said = String::from_utf8_lossy(&output.stderr);
    let record: Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{said}"));
    assert_eq!(record["instrument"]["verdict"], found["whole"]);
    assert_eq!(
        record["worksheet"]["instrument"]["description"],
        "Outside: \"0 mm to 25 mm\" # {x}"
    );
    assert_eq!(
        record["worksheet"]["checks"][0]["what"],
        "Measuring faces: clean, #1 \"undamaged\""
    );
    assert_eq!(record["worksheet"]["checks"][0]["result"], "ok");
    assert_eq!(record["worksheet"]["zero"], json!(["0.000", "0.001"]));
    let points = record["sections"][0]["points"].as_array().unwrap();
    assert_eq!(points.len(), found["points"].as_array().unwrap().len());
    for (index, point) in points.iter().enumerate() {
        let page = found["points"][index].as_array().unwrap();
        let verdicts: Vec<&Value> = page.iter().map(|it| &it[0]).collect();
        let command = point["decision"]["readings"].as_array().unwrap();
        assert_eq!(verdicts, command.iter().map(|it| &it["verdict"]).collect::<Vec<_>>());
        let (reason, apart) = (&point["decision"]["reason"], &found["apart"][index]);
        let told = page.iter().any(|it| it[1] == *reason);
        let apart = apart.as_str().unwrap();
        let spread = &point["decision"]["spread"]["ok"];
        assert_eq!(apart.is_empty(), *spread != json!(false), "{apart}: {spread}");
        let both = apart.trim_start_matches("may not be passed: ");
        assert!(told || reason.as_str().unwrap().ends_with(both), "{page:?} {apart}");
    }
}

fn in_folder(name: &str, text: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    (folder, path)
}

#[test]
fn the_sheet_of_each_shipped_budget_says_what_judge_says() {
    let mut compared = 0;
    for name in std::fs::read_dir(Path::new(ROOT).join("budgets")).unwrap() {
        let path = name.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap_or_default();
        if !text.lines().any(|line| line.starts_with("surebound:")) || !text.contains("display:") {
            continue;
        }
        let name = path.file_name().unwrap().to_str().unwrap();
        let (_folder, path) = in_folder(name, &text);
        match check(&path) {
            Some(count) => compared += count,
            None => return,
        }
    }
    assert!(compared > 800, "{compared} readings");
}

/// A model with a curve, one-sided limits, and names that try to leave their place.
#[test]
fn hostile_names_and_a_curved_model_break_nothing() {
    let long = "ten ".repeat(1250);
    let text = format!(
        r#"surebound: 1
title: "</script><script>document.title=1</script> & <b>bold</b> \u202E'\" {{{{data}}}}"
measurand: {{symbol: E, name: "Error <!--", unit: µm}}
points:
  symbol: L
  unit: mm
  at: [{{at: 5, label: "a: \"b\" # c, [d] <i> \\"}}, {{at: 5, label: "{long}"}}, 7.5, 10]
model: reading + (reading - block) * (reading - block) / (2 * block) - block
estimates: {{block: L}}
contributors:
  - {{name: Block, adds_to: block, limits: ±1 µm}}
display: {{step: 0.005 mm}}
tolerance: at most 40 µm
decision: {{rule: four-way, guard_band: {{width: 7 µm}}, uncertainty: all}}
"#
    );
    let (_folder, path) = in_folder("odd name's.yaml", &text);
    check(&path);
}

/// Two readings of the second point lie further apart than they may, and just as far: the page fails the point where the
/// command does, along a line and along a curve.
#[test]
fn readings_that_do_not_repeat_fail_on_the_page_as_by_the_command() {
    let text = "surebound: 1\ntitle: Repeatability\nmeasurand: {symbol: E, name: Error, unit: µm}\n\
                points: {symbol: L, unit: mm, at: [5, 10]}\nmodel: MODEL\n\
                contributors: [{name: All, standard_uncertainty: 1 µm}]\ndisplay: {step: 1 µm}\n\
                tolerance: ±20 µm\ndecision: {rule: simple}\nrepeatability: LIMIT\n";
    let curve = "reading + (reading - L) * (reading - L) / (4 * L) - L";
    for model in ["reading - L", curve] {
        for limit in ["0 µm", "2 µm", "1 mm"] {
            let text = text.replace("MODEL", model).replace("LIMIT", limit);
            let (_folder, path) = in_folder("repeats.yaml", &text);
            check(&path);
        }
    }
}

/// A single result has one field; its worksheet names the measurand.
#[test]
fn the_worksheet_of_a_single_result_is_judged_as_the_page_judges() {
    let text = "surebound: 1\ntitle: Spring tester\nmeasurand: {symbol: F, name: Force, unit: N}\n\
                contributors: [{name: All, standard_uncertainty: 0.1 N}]\ndisplay: {step: 0.05 N}\n\
                tolerance: [4 N, 6 N]\ndecision: {rule: guarded}\n";
    let (_folder, path) = in_folder("spring-tester.yaml", text);
    check(&path);
    let Ok(saved) = std::fs::read_to_string(path.with_file_name("saved.yaml")) else { return };
    assert!(saved.contains("\n      \"F\": "), "{saved}");
}

/// Beyond the values that the page holds: the verdict is that of `judge`, the value is said to lie beyond one
/// that it holds, and does.
#[test]
fn far_readings_of_a_curved_model_say_on_which_side_their_value_lies() {
    let text = "surebound: 1\ntitle: A curve\nmeasurand: {symbol: E, name: Error, unit: µm}\n\
                points: {symbol: L, unit: mm, at: [5]}\n\
                model: MODEL\n\
                contributors: [{name: All, standard_uncertainty: 1 µm}]\ndisplay: {step: 1 µm}\n\
                tolerance: ±4 µm\ndecision: {rule: guarded}\n";
    for model in ["reading + (reading - L) * (reading - L) / (4 * L) - L", "L * L / reading - L"] {
        let (_folder, path) = in_folder("curve.yaml", &text.replace("MODEL", model));
        let budget = Budget::parse(&std::fs::read_to_string(&path).unwrap()).unwrap();
        let evaluation = budget.evaluate().unwrap();
        let texts = ["4.000", "4.900", "5.100", "6.000"];
        let values = texts.map(Into::into).to_vec();
        let row = Row { point: "5".into(), values, is_error: false };
        let judgement = evaluation.judge(&Readings::from_rows(&budget, &[row]).unwrap()).unwrap();
        let of = |(text, it): (&str, &surebound::decide::Judged)| {
            json!([text, it.verdict.word(), it.reason, it.error.si * 1e6])
        };
        let far: Vec<Value> =
            texts.into_iter().zip(&judgement.points[0].readings).map(of).collect();
        let near = judged(&path);
        let job = json!({"file": sheet(&path), "name": "curve", "points": near, "far": far, "everywhere": false});
        let Some(found) = browser::run("sheet.mjs", &job) else { return };
        assert_eq!(found["far"], 4);
    }
}

#[test]
fn the_page_is_kept_unless_forced_and_goes_to_standard_output() {
    let budget = format!("{ROOT}/budgets/outside-micrometer-0-25.yaml");
    let (_folder, page) = in_folder("sheet.html", "mine");
    let path = page.to_str().unwrap();
    let refused = surebound(&["sheet", &budget, "-o", path]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--force"));
    assert_eq!(std::fs::read_to_string(&page).unwrap(), "mine");
    assert!(surebound(&["sheet", &budget, "-o", path, "--force"]).status.success());
    let output = surebound(&["sheet", &budget, "-o", "-"]);
    assert_eq!(output.stdout, std::fs::read(&page).unwrap());
    let ending = surebound(&["sheet", &budget, "-o", "sheet.pdf"]);
    assert_eq!(ending.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ending.stderr).contains("-o sheet.html"));
}
