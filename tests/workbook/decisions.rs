//! What belongs to decisions: how far readings lie apart, other rules, the population with its past errors.

use super::evaluator::{Book, Value};
use super::run;
use std::collections::BTreeMap;
use surebound::page::{rows, workbook};
use surebound::record::{Decision, Point, Record};
use surebound::render::{csv, xlsx};

const BUDGET: &str = "surebound: 1
title: Micrometer
measurand: {symbol: E, name: Error, unit: µm}
points: {symbol: L, unit: mm, at: [5, 10]}
model: reading - L
contributors:
  - {name: Gauge block, certificate: 0.6 µm, k: 2}
  - {name: Rest, standard_uncertainty: 0.4 µm}
display: {step: 1 µm}
tolerance: ±4 µm
repeatability: 1 µm
decision: {rule: guarded}
population: {history: as-found.csv, same_in_all: [Gauge block]}
";

const SHEET: &str = "surebound_worksheet: 1
instrument: {id: M-118}
sections:
  - {budget: b.yaml, take: worst, readings: {5: [5.001, 5.002], 10: [10.001, 10.003]}}
";

/// The record of a worksheet: one point whose readings keep together, one whose readings do not.
fn judged(arguments: &[&str]) -> Record {
    let folder = tempfile::tempdir().unwrap();
    let files =
        [("b.yaml", BUDGET), ("w.yaml", SHEET), ("as-found.csv", "error\n0\n2\n-1\n3\n-2\n1\n")];
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let path = folder.path().join("w.yaml");
    run(&[&["judge", path.to_str().unwrap(), "--format", "json"], arguments].concat())
}

/// The rows below the headings that begin with `first` and hold `other`, by heading; up to an empty row.
fn table(book: &Book, sheet: &str, other: &str) -> Vec<BTreeMap<String, Value>> {
    let cell = |row: usize, column: usize| {
        let name = super::cell_name(row, column);
        book.cached(sheet, &name)
    };
    let heading = |row: usize| -> Vec<Value> { (0..26).map(|it| cell(row, it)).collect() };
    let wanted = Value::Text(other.to_owned());
    let Some(top) = (0..60).find(|row| heading(*row).contains(&wanted)) else { return Vec::new() };
    let names = heading(top);
    let rows = (top + 1..200).take_while(|row| cell(*row, 0) != Value::Empty);
    let line = |row: usize| {
        let named = names.iter().enumerate().filter_map(|(column, name)| match name {
            Value::Text(name) => Some((name.clone(), cell(row, column))),
            _ => None,
        });
        named.collect()
    };
    rows.map(line).collect()
}

fn text(text: &str) -> Value {
    Value::Text(text.to_owned())
}

fn number(number: Option<f64>) -> Value {
    number.map_or(Value::Empty, Value::Number)
}

fn decisions(record: &Record) -> Vec<(&Point, &Decision)> {
    let points = record.sections.iter().flat_map(|it| &it.points);
    points.map(|it| (it, it.decision.as_ref().unwrap())).collect()
}

/// By hand: 5.002 mm − 5.001 mm is 1 µm and may be, 10.003 mm − 10.001 mm is 2 µm and may not.
#[test]
fn readings_stand_with_how_far_they_lie_apart() {
    let record = judged(&[]);
    let book = Book::read(&xlsx::render(&workbook::of(&record)).unwrap());
    let rows = table(&book, "Readings", "largest less smallest");
    let found: Vec<[&Value; 5]> = rows
        .iter()
        .map(|it| {
            ["point", "reported", "largest less smallest", "allowed", "kept"].map(|name| &it[name])
        })
        .collect();
    let (one, two) = (Value::Number(1.0), Value::Number(2.0));
    let expected = [
        [&text("5\u{a0}mm"), &text("worst"), &one, &one, &text("yes")],
        [&text("10\u{a0}mm"), &text("worst"), &two, &one, &text("no")],
    ];
    assert_eq!(found, expected);
    // The readings themselves still stand above.
    assert_eq!(table(&book, "Readings", "measured value").len(), 4);
}

#[test]
fn what_was_known_before_is_the_records() {
    let record = judged(&[]);
    let book = Book::read(&xlsx::render(&workbook::of(&record)).unwrap());
    let rows = table(&book, "Population", "known from");
    assert_eq!(rows.len(), 2);
    for (row, (_, decision)) in rows.iter().zip(decisions(&record)) {
        let known = decision.population.as_ref().unwrap();
        let history = known.history.as_ref().unwrap();
        let share = history.in_tolerance_interval.unwrap();
        let figures = [
            ("mean", known.mean),
            ("standard deviation", known.sd),
            ("within tolerance", known.in_tolerance),
            ("passes before the reading", decision.acceptance_probability),
            ("errors", Some(6.0)),
            ("their standard deviation", history.observed_sd),
            ("that of the measurement", Some(history.measurement_sd)),
            ("u of the mean", history.mean_uncertainty),
            ("u of the standard deviation", history.sd_uncertainty),
            ("errors within tolerance", Some(6.0)),
            ("95 % of the share from", Some(share[0])),
            ("95 % of the share to", Some(share[1])),
        ];
        for (name, expected) in figures {
            assert!(expected.is_some(), "{name}");
            assert_eq!(row[name], number(expected), "{name}");
        }
        assert_eq!(row["known from"], text("past errors"));
        assert_eq!(row["distribution"], text("normal"));
        assert_eq!(row["in the specific risk"], text("no"));
        assert_eq!(row["past errors from"], text("as-found.csv"));
        assert_eq!(row["same in all past calibrations"], text("Gauge block"));
    }
}

#[test]
fn other_rules_stand_beside_where_they_are_compared() {
    let record = judged(&["--compare"]);
    let book = Book::read(&xlsx::render(&workbook::of(&record)).unwrap());
    let rows = table(&book, "Comparison", "guard band by");
    let alternatives: Vec<_> = decisions(&record)
        .into_iter()
        .flat_map(|(_, it)| it.comparison.as_ref().unwrap())
        .collect();
    assert!(rows.len() > 8 && rows.len() == alternatives.len(), "{}", rows.len());
    for (row, it) in rows.iter().zip(alternatives) {
        let limits = it.acceptance.as_ref();
        let figures = [
            ("guard band", it.guard_band),
            ("accepted to", limits.and_then(|it| it.upper)),
            ("highest risk of a pass", it.limit_risk),
            ("outside and accepted", it.consumer_risk),
            ("inside and rejected", it.producer_risk),
        ];
        for (name, expected) in figures {
            assert_eq!(row[name], number(expected), "{name}");
        }
        assert_eq!(row["rule"], text(it.rule.word()));
        assert_eq!(row["verdict"], it.verdict.map_or(Value::Empty, |it| text(it.word())));
        assert_eq!(row["budget's own"], text(if it.own { "yes" } else { "no" }));
        assert_eq!(row["why not"], it.reason.as_deref().map_or(Value::Empty, text));
    }
    assert_eq!(rows.iter().filter(|it| it["budget's own"] == text("yes")).count(), 2);
    let plain = workbook::of(&judged(&[]));
    assert!(plain.sheets.iter().all(|it| it.name != "Comparison"));
}

#[test]
fn the_flat_table_has_population_and_spread_in_every_row_of_a_point() {
    let record = judged(&["--compare"]);
    let table = csv::render(&rows::of(&record)).unwrap();
    let mut reader = ::csv::Reader::from_reader(table.as_bytes());
    let names = reader.headers().unwrap().clone();
    let lines: Vec<BTreeMap<&str, String>> = reader
        .records()
        .map(|it| names.iter().zip(&it.unwrap()).map(|it| (it.0, it.1.to_owned())).collect())
        .collect();
    let points = decisions(&record);
    assert_eq!(lines.len(), 2 * points.len(), "two contributors at each point");
    for (line, index) in lines.iter().zip([0, 0, 1, 1]) {
        let (_, decision) = points[index];
        let known = decision.population.as_ref().unwrap();
        let figures = [
            ("acceptance_probability", decision.acceptance_probability),
            ("population_mean", known.mean),
            ("population_sd", known.sd),
            ("population_in_tolerance", known.in_tolerance),
            ("spread", Some([1.0, 2.0][index])),
            ("spread_limit", Some(1.0)),
        ];
        for (name, expected) in figures {
            assert_eq!(Some(line[name].parse().unwrap()), expected, "{name}");
        }
        let words = ["population", "population_distribution", "take", "spread_kept"];
        let expected = ["history", "normal", "worst", ["yes", "no"][index]];
        assert_eq!(words.map(|name| line[name].as_str()), expected);
    }
}
