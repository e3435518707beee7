//! Names that are made to do harm, and more of everything than anybody has.

use super::evaluator::{Book, Value};
use super::run;
use surebound::page::workbook;
use surebound::record::Record;
use surebound::render::xlsx;

const NAMES: [&str; 9] = [
    "=1+1",
    "+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(A1)",
    "<script>alert(1)</script> & \"quoted\" ]]>",
    "_x0041_",
    "a\u{1b}[2J\u{7}b\u{202e}c\u{fffe}",
    "'=1",
    "http://example.invalid/x",
];

fn micrometer() -> Record {
    let path = format!("{}/budgets/outside-micrometer-0-25.yaml", super::ROOT);
    run(&["show", &path, "--format", "json"])
}

/// A micrometer whose every name is the given one.
fn named(name: &str) -> Record {
    let mut record = micrometer();
    let section = &mut record.sections[0];
    section.budget.title = name.into();
    section.budget.measurand.name = name.into();
    section.budget.document.0.push((name.into(), name.into()));
    for point in &mut section.points {
        point.label = Some(name.into());
        for it in &mut point.contributors {
            it.name = name.into();
            it.basis = Some(name.into());
            it.due = Some(name.into());
            it.largest_of = Some(name.into());
        }
    }
    record.files[0].path = name.into();
    record
}

#[test]
fn names_that_look_like_formulas_stay_text() {
    let plain = xlsx::render(&workbook::of(&named("plain"))).unwrap();
    let count = Book::read(&plain).texts().iter().filter(|it| **it == "plain").count();
    assert!(count > 100);
    for name in NAMES {
        let book = Book::read(&xlsx::render(&workbook::of(&named(name))).unwrap());
        let shown = surebound::page::Text::from(name);
        // U+FFFE is no character of XML: the format has a spelling for it.
        let shown = shown.as_str().replace('\u{fffe}', "_xFFFE_");
        let found: Vec<_> = book
            .texts()
            .into_iter()
            .filter(|it| it.replace('\u{fffe}', "_xFFFE_") == shown)
            .collect();
        assert_eq!(found.len(), count, "{name}");
        let first = (1..99).map(|row| format!("A{row}"));
        let mut at = first
            .filter(|it| matches!(book.cached("Budget", it), Value::Text(text) if text == shown));
        assert!(at.all(|it| !book.is_formula("Budget", &it)));
    }
}

#[test]
fn a_name_of_five_thousand_characters_is_whole() {
    let name = "µ".repeat(5000);
    let book = Book::read(&xlsx::render(&workbook::of(&named(&name))).unwrap());
    assert!(book.texts().iter().filter(|it| **it == name).count() > 100);
}

/// 100 points with 400 contributors: one sheet, 40 000 rows and more, in a time that nobody waits for.
#[test]
fn a_hundred_points_with_four_hundred_contributors_fit() {
    let mut record = micrometer();
    let section = &mut record.sections[0];
    let mut point = section.points[0].clone();
    let one = point.contributors[0].clone();
    point.contributors = vec![one; 400];
    section.points = vec![point; 100];
    let tree = workbook::of(&record);
    assert!(tree.sheets[1].rows.len() > 40_000);
    let bytes = xlsx::render(&tree).unwrap();
    assert!(bytes.len() < 20_000_000, "{}", bytes.len());
    let book = Book::read(&bytes);
    assert!(book.is_formula("Budget", "N40000") || book.is_formula("Budget", "N40001"));
}

#[test]
fn a_number_that_is_not_finite_does_not_leave() {
    let mut record = micrometer();
    record.sections[0].points[2].contributors[0].estimate = f64::NAN;
    let told = xlsx::render(&workbook::of(&record)).unwrap_err().to_string();
    assert!(told.starts_with("cell H") && told.contains("`Budget`"), "{told}");
}
