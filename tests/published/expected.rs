//! The table of printed and recomputed values, and the comparison with it.

use std::collections::BTreeSet;
use std::path::PathBuf;

/// The folder of the published examples.
fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference"))
}

/// Returns the text of a published example, by its name without ending.
pub fn example(name: &str) -> String {
    std::fs::read_to_string(folder().join(format!("{name}.yaml"))).expect("a committed file")
}

/// One row of `expected.md`.
#[derive(Debug)]
struct Row {
    quantity: String,
    printed: String,
    recomputed: f64,
    agrees: bool,
}

fn rows(name: &str) -> Vec<Row> {
    let page = std::fs::read_to_string(folder().join("expected.md")).expect("a committed file");
    let heading = format!("## {name}.yaml\n");
    let section = page.split_once(&heading).expect("a section per file").1;
    let section = section.split("\n## ").next().unwrap_or_default();
    let cells =
        |line: &str| line.split(" | ").map(|it| it.trim_matches(['|', ' ']).to_owned()).collect();
    let lines = section.lines().filter(|it| it.starts_with("| ")).skip(2);
    let row = |cells: Vec<String>| Row {
        quantity: cells[1].clone(),
        printed: cells[3].clone(),
        recomputed: cells[4].parse().expect("a number"),
        agrees: cells[5] != "**no**",
    };
    lines.map(|it| row(cells(it))).collect()
}

/// Returns whether `value` rounds to `printed` at its digits; a value within 1e-12 of the middle
/// between two is taken either way.
pub fn rounds_to(value: f64, printed: &str) -> bool {
    let places = printed.split_once('.').map_or(0, |it| it.1.len());
    let half = 0.5 * libm::pow(10.0, -(places as f64));
    let number: f64 = printed.parse().expect("a printed number");
    (value - number).abs() <= half + 1e-12 * number.abs()
}

/// Compares all figures of a published example with their rows: quantity, printed digits (`–` where
/// the publication has none) and the program's value in the row's unit.
#[track_caller]
pub fn check(name: &str, figures: &[(&str, &str, f64)]) {
    let rows = rows(name);
    let asked: BTreeSet<&str> = figures.iter().map(|it| it.0).collect();
    let known: BTreeSet<&str> = rows.iter().map(|it| it.quantity.as_str()).collect();
    assert_eq!(asked, known, "{name}: every row has its figure");
    for (quantity, printed, value) in figures {
        let row = rows.iter().find(|it| it.quantity == *quantity).expect("asked for above");
        assert_eq!(row.printed, *printed, "{name}, {quantity}: printed digits");
        let scale = if row.recomputed == 0.0 { 1.0 } else { row.recomputed };
        let error = ((value - row.recomputed) / scale).abs();
        assert!(error <= 1e-12, "{name}, {quantity}: {value}, recomputed {}", row.recomputed);
        if *printed != "–" {
            let told = format!("{name}, {quantity}: {value}, printed {printed}");
            assert_eq!(rounds_to(*value, printed), row.agrees, "{told}");
        }
    }
}

/// Every file is run by one of the tests of this folder, and every section of the table has a file.
#[test]
fn each_published_example_is_run() {
    let files = std::fs::read_dir(folder()).unwrap().map(|it| it.unwrap().file_name());
    let files: BTreeSet<String> = files
        .filter_map(|it| it.to_str().unwrap().strip_suffix(".yaml").map(str::to_owned))
        .collect();
    let tests = [
        include_str!("blocks.rs"),
        include_str!("connected.rs"),
        include_str!("jcgm100.rs"),
        include_str!("jcgm100_h1.rs"),
        include_str!("jcgm102.rs"),
        include_str!("jcgm101.rs"),
        include_str!("jcgm106.rs"),
        include_str!("other.rs"),
    ];
    for file in &files {
        let named = tests.iter().any(|it| it.contains(&format!("\"{file}\"")));
        assert!(named, "no test runs {file}.yaml");
    }
    let page = std::fs::read_to_string(folder().join("expected.md")).unwrap();
    let sections: BTreeSet<String> = page
        .lines()
        .filter_map(|it| it.strip_prefix("## ")?.strip_suffix(".yaml").map(str::to_owned))
        .collect();
    assert_eq!(files, sections);
}

#[test]
fn rounding_to_printed_digits_tells_the_last_digit() {
    assert!(rounds_to(16.74114889695, "16.7") && !rounds_to(16.7500001, "16.7"));
    assert!(rounds_to(1002.239, "1002") && !rounds_to(1002.51, "1002"));
    assert!(!rounds_to(92.4665724729, "93"));
}
