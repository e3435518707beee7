//! LibreOffice opens the workbook, works all of it out anew, and comes to the record's figures.
//!
//! The results beside the formulas are replaced by 0 before: what comes back was worked out. Where LibreOffice
//! is not installed the test says so and does nothing; the evaluator beside it always runs.

use super::evaluator::Book;
use super::{assert_agrees, formulas, largest, records};
use std::io::Write;
use std::path::Path;
use std::process::Command;
use surebound::page::workbook::{self, Cell, Outcome, Workbook};
use surebound::render::xlsx;

/// Settings that make it work out everything on opening.
const ALWAYS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>"#;

/// Its own workbook again: CSV would leave it few digits of small numbers.
const AGAIN: &str = "xlsx:Calc MS Excel 2007 XML";

fn without_results(mut book: Workbook) -> Workbook {
    for cell in book.sheets.iter_mut().flat_map(|it| &mut it.rows).flat_map(|it| &mut it.cells) {
        if let Cell::Formula { result, .. } = cell {
            *result = Outcome::Number(0.0);
        }
    }
    book
}

fn convert(folder: &Path, files: &[String]) {
    let profile = folder.join("profile");
    std::fs::create_dir_all(profile.join("user")).unwrap();
    std::fs::write(profile.join("user/registrymodifications.xcu"), ALWAYS).unwrap();
    let done = Command::new("soffice")
        .arg(format!("-env:UserInstallation=file://{}", profile.display()))
        .args(["--headless", "--convert-to", AGAIN, "--outdir"])
        .arg(folder.join("out"))
        .args(files)
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
}

/// Method: M107.
#[test]
fn libreoffice_comes_to_the_figures_of_the_record() {
    if Command::new("soffice").arg("--version").output().is_err() {
        let told = "NOT TESTED: `soffice` is not there (apt-get install --no-install-recommends libreoffice-calc)\n";
        // Past the capture of the test harness: nobody may take this for a passed test.
        std::io::stderr().write_all(told.as_bytes()).unwrap();
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let records = records();
    let mut files = Vec::new();
    for (index, (_, record)) in records.iter().enumerate() {
        let name = format!("{index}.xlsx");
        let bytes = xlsx::render(&without_results(workbook::of(record))).unwrap();
        std::fs::write(folder.path().join(&name), bytes).unwrap();
        files.push(name);
    }
    convert(folder.path(), &files);
    let mut seen = 0;
    for (index, (name, record)) in records.iter().enumerate() {
        let path = folder.path().join(format!("out/{index}.xlsx"));
        let book = Book::read(&std::fs::read(path).unwrap());
        for (sheet, cell, row, result) in formulas(&workbook::of(record)) {
            let told = format!("{name}: {sheet}!{cell}");
            assert_agrees(&told, &row, &result, &book.cached(&sheet, &cell), largest(record));
            seen += 1;
        }
    }
    assert!(seen > 2000, "{seen} formulas");
}
