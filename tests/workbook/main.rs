//! The workbook: read back from its bytes, its formulas worked out by two others than the program.
//!
//! One is a small evaluator in these tests (`evaluator.rs`), which reads the file with `calamine` and has the
//! quantiles from statrs; the other is LibreOffice, where it is installed. Sums are held to 1e-12 relative,
//! what depends on k to 1e-9: that is what spreadsheets reach for quantiles of t.

#![allow(clippy::unwrap_used, clippy::panic)]

mod decisions;
mod evaluator;
mod hostile;
mod office;

use evaluator::{Book, Value};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use surebound::page::workbook::{self, Cell, Outcome, Workbook};
use surebound::record::Record;
use surebound::render::xlsx;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Budgets beside the shipped ones: what makes the plain formulas wrong, or takes k elsewhere.
const OWN: [(&str, &str); 12] = [
    (
        "linked",
        "model: a + b\nestimates: {a: 0, b: 0}\nlinked: [{between: [one, two], r: 0.8}]\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 1, dof: 7}\n- {name: two, adds_to: b, standard_uncertainty: 2, dof: 9}",
    ),
    (
        "cancelled",
        "model: a - b\nestimates: {a: 0, b: 0}\nlinked: [{between: [one, two], r: 1}]\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 1}\n- {name: two, adds_to: b, standard_uncertainty: 1}",
    ),
    (
        "observed",
        "model: x + y\nobservations: [{inputs: [x, y], units: [1, 1], rows: [[1, 5], [2, 5], [3, 8]]}]\n\
        contributors: [{name: other, adds_to: x, standard_uncertainty: 1, dof: 10}]",
    ),
    (
        "curved",
        "model: a * b\norder: second\nestimates: {a: 1, b: 1}\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 0.3}\n- {name: two, adds_to: b, limits: ±0.2}",
    ),
    (
        "interpolated",
        "model: a + b\nestimates: {a: 0, b: 0}\ncoverage: {probability: 99 %, method: t, dof: interpolate}\ncontributors:\n\
        - {name: one, adds_to: a, readings: [1, 2, 4], use: result}\n- {name: two, adds_to: b, standard_uncertainty: 0.9, dof: 4.5}",
    ),
    (
        "one degree",
        "model: a\nestimates: {a: 0}\ncoverage: {probability: 95 %, method: t, dof: interpolate}\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 1.5, dof: 1}",
    ),
    (
        "many degrees",
        "model: a + b\nestimates: {a: 0, b: 0}\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 1, dof: 2345678.9}\n- {name: two, adds_to: b, standard_uncertainty: 1}",
    ),
    (
        "below many",
        "model: a\nestimates: {a: 0}\ncoverage: {probability: 90 %, method: t, dof: interpolate}\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 1, dof: 8765.4321}",
    ),
    (
        "fixed",
        "model: a\nestimates: {a: 0}\ncoverage: {method: fixed, k: 3}\nrounding: {digits: 1}\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 333.3, dof: 5}",
    ),
    (
        "exact",
        "model: a + b\nestimates: {a: 100, b: 0.5}\ncoverage: {probability: 95 %, method: exact}\ncontributors:\n\
        - {name: one, adds_to: a, limits: ±1}\n- {name: two, adds_to: b, limits: ±0.4}",
    ),
    (
        "simulated",
        "model: exp(a)\nestimates: {a: 0}\ncoverage: {probability: 95 %, method: monte_carlo}\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 0.4}",
    ),
    (
        "known",
        "model: a\nestimates: {a: 12.5}\ncontributors:\n- {name: none, adds_to: a, standard_uncertainty: 0}",
    ),
];

fn run(arguments: &[&str]) -> Record {
    let out = Command::new(env!("CARGO_BIN_EXE_surebound")).args(arguments).output().unwrap();
    let told = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.code().unwrap() < 2, "{arguments:?}: {told}");
    Record::from_json(&String::from_utf8(out.stdout).unwrap()).unwrap()
}

fn ends_in_yaml(folder: &str) -> Vec<PathBuf> {
    let read = std::fs::read_dir(Path::new(ROOT).join(folder)).unwrap();
    let mut found: Vec<PathBuf> = read.map(|it| it.unwrap().path()).collect();
    found.retain(|it| it.extension().is_some_and(|it| it == "yaml"));
    found.sort();
    found
}

/// Every shipped budget and worksheet, the published references, and our own corners.
fn records() -> &'static [(String, Record)] {
    static ALL: OnceLock<Vec<(String, Record)>> = OnceLock::new();
    ALL.get_or_init(made)
}

fn made() -> Vec<(String, Record)> {
    let mut all = Vec::new();
    for path in [ends_in_yaml("budgets"), ends_in_yaml("tests/reference")].concat() {
        let text = std::fs::read_to_string(&path).unwrap();
        let verb = if text.contains("surebound_worksheet:") { "judge" } else { "show" };
        let path = path.to_str().unwrap();
        let name = Path::new(path).file_stem().unwrap().to_str().unwrap().to_owned();
        all.push((name, run(&[verb, path, "--format", "json"])));
    }
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in OWN {
        let path = folder.path().join(format!("{name}.yaml"));
        let head = "surebound: 1\ntitle: a corner\nmeasurand: {symbol: y, name: result, unit: 1}\n";
        std::fs::write(&path, format!("{head}{text}\n")).unwrap();
        all.push((name.to_owned(), run(&["show", path.to_str().unwrap(), "--format", "json"])));
    }
    assert!(all.len() > 20);
    all
}

/// `$A$1` style is not needed: a column's letters, a row's number.
fn cell_name(row: usize, column: usize) -> String {
    let letters = match column {
        0..26 => String::new(),
        _ => char::from(b'A' + (column / 26 - 1) as u8).to_string(),
    };
    format!("{letters}{}{}", char::from(b'A' + (column % 26) as u8), row + 1)
}

/// A formula's place and result: sheet, cell, the name of its row or column, result.
fn formulas(book: &Workbook) -> Vec<(String, String, String, Outcome)> {
    let mut all = Vec::new();
    for sheet in &book.sheets {
        let mut headings: Vec<String> = Vec::new();
        for (row, it) in sheet.rows.iter().enumerate() {
            let text = |cell: &Cell| match cell {
                Cell::Text(text) | Cell::Link(text, ..) => text.as_str().to_owned(),
                _ => String::new(),
            };
            if it.role == workbook::Role::Columns {
                headings = it.cells.iter().map(text).collect();
            }
            for (column, cell) in it.cells.iter().enumerate() {
                let Cell::Formula { result, .. } = cell else { continue };
                let heading = headings.get(column).cloned().unwrap_or_default();
                let name = format!("{} / {heading}", text(&it.cells[0]));
                all.push((sheet.name.clone(), cell_name(row, column), name, result.clone()));
            }
        }
    }
    all
}

/// What depends on a quantile is as good as the spreadsheet's quantile.
fn bound(name: &str) -> f64 {
    let of_k = ["coverage factor", "expanded", "interval", "/ k", "/ U"];
    if of_k.iter().any(|it| name.contains(it)) { 1e-9 } else { 1e-12 }
}

/// Compares what somebody else worked out with the result in the workbook. `scale`: the largest U, beside
/// which an end of an interval may be zero.
#[track_caller]
fn assert_agrees(place: &str, name: &str, result: &Outcome, other: &Value, scale: f64) {
    match (result, other) {
        (Outcome::Word(word), Value::Text(text)) => assert_eq!(word, text, "{place}"),
        (Outcome::Number(number), Value::Number(other)) => {
            let absolute = if name.contains("interval") { scale } else { 0.0 };
            let size = number.abs().max(absolute);
            // What cancels is zero but for rounding.
            let floor = if name.contains("uncertainty u") { 1e-14 } else { 0.0 };
            let bound = (bound(name) * size).max(floor);
            assert!((number - other).abs() <= bound, "{place} {name}: {number} or {other}");
        }
        other => panic!("{place} {name}: {other:?}"),
    }
}

fn largest(record: &Record) -> f64 {
    let points = record.sections.iter().flat_map(|it| &it.points);
    points.map(|it| it.expanded_uncertainty).fold(0.0, f64::max)
}

/// Writes the workbooks where a person can open them, under `target/tmp`.
#[test]
fn workbooks_can_be_opened_by_hand() {
    for (name, record) in records() {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.xlsx"));
        let bytes = xlsx::render(&workbook::of(record)).unwrap();
        assert!(bytes.starts_with(b"PK"));
        std::fs::write(path, bytes).unwrap();
    }
}

/// Method: M107.
#[test]
fn every_formula_in_the_file_comes_to_the_result_beside_it() {
    let mut seen = 0;
    for (name, record) in records() {
        let tree = workbook::of(record);
        let book = Book::read(&xlsx::render(&tree).unwrap());
        for (sheet, cell, row, result) in formulas(&tree) {
            let place = format!("{name}: {sheet}!{cell}");
            assert_agrees(&place, &row, &result, &book.cached(&sheet, &cell), 0.0);
            let other = book.evaluate(&sheet, &cell).unwrap_or_else(|it| panic!("{place}: {it}"));
            assert_agrees(&place, &row, &result, &other, largest(record));
            seen += 1;
        }
    }
    assert!(seen > 2000, "{seen} formulas");
}

/// The result beside a formula is the record's figure, and the figure is a formula wherever one holds.
#[test]
fn figures_are_those_of_the_record() {
    for (name, record) in records() {
        let tree = workbook::of(record);
        let found = formulas(&tree);
        let results = |label: &str| -> Vec<Outcome> {
            let in_budget = found.iter().filter(|it| it.0.starts_with("Budget"));
            in_budget.filter(|it| it.2.starts_with(label)).map(|it| it.3.clone()).collect()
        };
        let points: Vec<_> = record.sections.iter().flat_map(|it| &it.points).collect();
        let of = |figure: &dyn Fn(&surebound::record::Point) -> f64| -> Vec<Outcome> {
            points.iter().map(|it| Outcome::Number(figure(it) + 0.0)).collect()
        };
        assert_eq!(
            results("standard uncertainty u /"),
            of(&|it| it.standard_uncertainty),
            "{name}"
        );
        assert_eq!(results("expanded uncertainty U"), of(&|it| it.expanded_uncertainty), "{name}");
        assert_eq!(results("k as reported"), of(&|it| it.reported.coverage_factor), "{name}");
        if points.iter().all(|it| it.expanded_uncertainty > 0.0) {
            let rounded = of(&|it| it.reported.expanded_uncertainty);
            assert_eq!(results("U as reported"), rounded, "{name}");
            assert_eq!(results("estimate as reported"), of(&|it| it.reported.estimate), "{name}");
        }
        let live = |label: &str| !results(label).is_empty();
        // Those with links between contributors of finite ν, and with common data.
        let common = record.sections.iter().any(|it| it.data.is_some());
        let constant_dof = common || name == "linked";
        assert_eq!(live("effective degrees of freedom"), !constant_dof, "{name}");
        let own_factor = points[0].coverage.method != surebound::record::CoverageMethod::T;
        assert_eq!(live("coverage factor k"), !own_factor, "{name}");
    }
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    let (_, record) = &records()[0];
    let bytes = || xlsx::render(&workbook::of(record)).unwrap();
    let first = bytes();
    std::thread::sleep(std::time::Duration::from_millis(2100));
    assert_eq!(first, bytes());
}

/// A changed figure moves u, k and U as it would on paper: with the first u of an independent budget
/// doubled, by hand √(4 + 1) against √(1 + 1).
#[test]
fn a_change_in_a_cell_moves_the_figures_below() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("b.yaml");
    let text = "surebound: 1\ntitle: t\nmeasurand: {symbol: y, name: result, unit: 1}\nmodel: a + b\nestimates: {a: 0, b: 0}\ncontributors:\n\
        - {name: one, adds_to: a, standard_uncertainty: 1}\n- {name: two, adds_to: b, standard_uncertainty: 1}\n";
    std::fs::write(&path, text).unwrap();
    let record = run(&["show", path.to_str().unwrap(), "--format", "json"]);
    let tree = workbook::of(&record);
    let mut book = Book::read(&xlsx::render(&tree).unwrap());
    let find =
        |label: &str| formulas(&tree).into_iter().find(|it| it.2.starts_with(label)).unwrap().1;
    let (u, expanded) = (find("standard uncertainty u"), find("expanded uncertainty U"));
    let first = tree.sheets[1].rows.iter().position(
        |it| matches!(it.cells.first(), Some(Cell::Text(text)) if text.as_str() == "one"),
    );
    book.set("Budget", &format!("I{}", first.unwrap() + 1), Value::Number(2.0));
    assert_eq!(book.evaluate("Budget", &u).unwrap(), Value::Number(5f64.sqrt()));
    let Value::Number(expanded) = book.evaluate("Budget", &expanded).unwrap() else { panic!() };
    assert!(
        (expanded / 5f64.sqrt() - 2.000_002_443_899_6).abs() < 1e-9,
        "two-sided 95.45 % of the normal"
    );
    // Not counted any more: the other one is left.
    book.set("Budget", &format!("G{}", first.unwrap() + 1), Value::Text("no".into()));
    assert_eq!(book.evaluate("Budget", &u).unwrap(), Value::Number(1.0));
}
