//! The CSV form of `show` and `judge`: read back with a CSV reader and held against the JSON record of the
//! same run, figure by figure. Numbers must be the same doubles; nothing else is allowed.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::process::{Command, Output};
use surebound::page::{Text, rows};
use surebound::record::{Dof, Point, Record};
use surebound::render::csv;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn run(arguments: &[&str]) -> Output {
    let command = env!("CARGO_BIN_EXE_surebound");
    Command::new(command).args(arguments).current_dir(ROOT).output().unwrap()
}

type Line = BTreeMap<String, String>;

fn read(text: &[u8]) -> Vec<Line> {
    let mut reader = ::csv::Reader::from_reader(text);
    let names = reader.headers().unwrap().clone();
    let line = |row: ::csv::StringRecord| {
        assert_eq!(row.len(), names.len());
        names.iter().zip(&row).map(|it| (it.0.to_owned(), it.1.to_owned())).collect()
    };
    reader.records().map(|it| line(it.unwrap())).collect()
}

/// The text as it was before a spreadsheet was kept from running it.
fn armed(text: &str) -> &str {
    text.strip_prefix('\'').unwrap_or(text)
}

#[track_caller]
fn assert_number(line: &Line, column: &str, expected: Option<f64>) {
    let text = &line[column];
    let found = if text.is_empty() { None } else { Some(text.parse::<f64>().unwrap()) };
    assert_eq!(found, expected, "{column}");
}

#[track_caller]
fn assert_dof(line: &Line, column: &str, expected: Dof) {
    match expected.is_infinite() {
        true => assert_eq!(line[column], "infinite", "{column}"),
        false => assert_number(line, column, Some(expected.get())),
    }
}

fn assert_point(line: &Line, point: &Point) {
    assert_number(line, "at", point.at.as_ref().map(|it| it.value));
    assert_number(line, "estimate", Some(point.estimate));
    assert_number(line, "u", Some(point.standard_uncertainty));
    assert_dof(line, "effective_dof", point.effective_dof);
    assert_number(line, "k", Some(point.coverage_factor));
    assert_number(line, "U", Some(point.expanded_uncertainty));
    assert_number(line, "interval_low", Some(point.interval[0]));
    assert_number(line, "interval_high", Some(point.interval[1]));
    assert_number(line, "reported_U", Some(point.reported.expanded_uncertainty));
    assert_number(line, "tolerance_lower", point.tolerance.as_ref().and_then(|it| it.lower));
    assert_number(line, "tur_all", point.test.all.tur);
    let decision = point.decision.as_ref();
    let limits = decision.and_then(|it| it.acceptance.as_ref());
    assert_number(line, "acceptance_lower", limits.and_then(|it| it.lower));
    assert_number(line, "acceptance_upper", limits.and_then(|it| it.upper));
    assert_number(line, "guard_band", decision.map(|it| it.guard_band));
    assert_number(line, "specific_risk", decision.and_then(|it| it.specific_risk));
    let verdict = decision.and_then(|it| it.verdict).map_or("", |it| it.word());
    assert_eq!(line["verdict"], verdict);
    let reason = decision.and_then(|it| it.reason.as_deref()).unwrap_or_default();
    assert_eq!(armed(&line["reason"]), Text::from(reason).as_str());
}

fn assert_same(lines: &[Line], record: &Record) {
    let mut lines = lines.iter();
    for section in &record.sections {
        for point in &section.points {
            for it in &point.contributors {
                let line = lines.next().unwrap();
                assert_eq!(armed(&line["budget"]), section.budget.title);
                assert_eq!(line["unit"], section.budget.measurand.unit);
                assert_eq!(armed(&line["contributor"]), it.name);
                assert_eq!(line["kind"], it.kind);
                assert_eq!(line["owner"], it.owner.word());
                assert_eq!(line["kept"] == "yes", it.kept);
                assert_number(line, "standard_uncertainty", Some(it.standard_uncertainty));
                assert_dof(line, "dof", it.dof);
                assert_number(line, "sensitivity", Some(it.sensitivity));
                assert_number(line, "contribution", Some(it.contribution));
                assert_number(line, "share", Some(it.share));
                assert_eq!(line["due"], it.due.clone().unwrap_or_default());
                assert_point(line, point);
            }
        }
    }
    assert_eq!(lines.next(), None);
}

#[test]
fn reads_back_as_the_record_for_every_shipped_budget_and_worksheet() {
    let mut seen = 0;
    for file in std::fs::read_dir(format!("{ROOT}/budgets")).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_none_or(|it| it != "yaml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let verb = if text.contains("surebound_worksheet:") { "judge" } else { "show" };
        let path = path.to_str().unwrap();
        let (table, json) =
            (run(&[verb, path, "--format", "csv"]), run(&[verb, path, "--format", "json"]));
        assert_eq!(table.status.code(), json.status.code(), "{path}");
        let record = Record::from_json(&String::from_utf8(json.stdout).unwrap()).unwrap();
        let lines = read(&table.stdout);
        assert_same(&lines, &record);
        seen += lines.len();
    }
    assert!(seen > 100, "{seen} rows");
}

#[test]
fn one_reading_is_a_row_per_contributor_with_its_verdict() {
    let path = "budgets/outside-micrometer-0-25.yaml";
    let arguments = ["judge", path, "--at", "10.3 mm", "--reading", "10.301 mm", "--format", "csv"];
    let out = run(&arguments);
    assert_eq!(out.status.code(), Some(0));
    let lines = read(&out.stdout);
    assert!(!lines.is_empty() && lines.iter().all(|it| it["verdict"] == "pass"));
    assert_number(&lines[0], "at", Some(10.3));
}

#[test]
fn hostile_names_survive_and_run_nowhere() {
    let out = run(&["show", "budgets/outside-micrometer-0-25.yaml", "--format", "json"]);
    let mut record = Record::from_json(&String::from_utf8(out.stdout).unwrap()).unwrap();
    let long = "x".repeat(5000);
    let names = ["=1+1", "+1", "-1", "@A1", "a,\"b\"", "'quoted'", &long];
    let contributors = &mut record.sections[0].points[0].contributors;
    let one = contributors[0].clone();
    let named =
        |it: &&str| surebound::record::Contributor { name: (*it).to_owned(), ..one.clone() };
    *contributors = names.iter().map(named).collect();
    record.sections[0].points.truncate(1);
    let text = csv::render(&rows::of(&record)).unwrap();
    let lines = read(text.as_bytes());
    for (line, name) in lines.iter().zip(names) {
        assert_eq!(armed(&line["contributor"]), name);
        assert!(!line["contributor"].starts_with(['=', '+', '-', '@']), "{name}");
    }
    assert_eq!(lines.len(), names.len());
}

#[test]
fn verbs_without_contributors_refuse_the_form() {
    let out = run(&["card", "budgets/outside-micrometer-0-25.yaml", "--format", "csv"]);
    assert_eq!((out.status.code(), out.stdout.len()), (Some(2), 0));
    let told = String::from_utf8(out.stderr).unwrap();
    assert!(told.contains("only `show` and `judge`") && told.contains("help: --format json"));
}
