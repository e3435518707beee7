//! Gauge blocks: ISO 3650:1998, table 5, and ASME B89.1.9-2002, each row through a budget.

use super::expected::{check, example};
use super::show::shown;
use std::collections::BTreeMap;
use surebound::record::Point;

/// The limit deviation that u = t_e/√3 stands for.
fn limit(point: &Point) -> f64 {
    point.standard_uncertainty * libm::sqrt(3.0)
}

/// Table 5, grade 1, printed limits in µm at the ends of its ranges.
#[test]
fn grade_1_at_the_ends_of_its_ranges() {
    let points = shown(&example("iso3650-grade-1")).points;
    let printed = [
        ("0.5", "0.20"),
        ("10", "0.20"),
        ("10.3", "0.30"),
        ("25", "0.30"),
        ("25.1", "0.40"),
        ("50", "0.40"),
        ("100", "0.60"),
        ("1000", "4.2"),
    ];
    let mut names = Vec::new();
    for ((at, printed), point) in printed.iter().zip(&points) {
        assert_eq!(point.at.as_ref().unwrap().text, *at);
        names.push((format!("limit at {at} mm"), *printed, limit(point)));
        names.push((format!("u at {at} mm"), "–", point.standard_uncertainty));
    }
    let figures: Vec<_> = names.iter().map(|it| (it.0.as_str(), it.1, it.2)).collect();
    check("iso3650-grade-1", &figures);
}

/// Table 5, grade 0: 0,14 µm at 25 mm and 0,30 µm at 100 mm; found within them by a calibration with
/// U = 0.05 µm: u² = t_e²/3 + (U/2)².
#[test]
fn grade_0_found_within_its_limits() {
    let points = shown(&example("iso3650-grade-0-calibrated")).points;
    let limit = |u: f64| libm::sqrt(3.0 * (u * u - 0.025 * 0.025));
    let u: Vec<f64> = points.iter().map(|it| it.standard_uncertainty).collect();
    let figures = [
        ("limit at 25 mm", "0.14", limit(u[0])),
        ("u at 25 mm", "–", u[0]),
        ("limit at 100 mm", "0.30", limit(u[1])),
        ("u at 100 mm", "–", u[1]),
    ];
    check("iso3650-grade-0-calibrated", &figures);
}

/// All rows of `tests/data/iso3650_limits.csv` (its head says what was read and what is recalled):
/// the printed limit holds just above the lower end of a range and at its upper end. The program
/// multiplies and divides a few times: 1e-14.
#[test]
fn each_row_of_the_grade_tables_holds_over_its_range() {
    let rows = include_str!("../data/iso3650_limits.csv");
    let rows = rows.lines().filter(|it| !it.starts_with('#')).skip(1);
    let mut tables: BTreeMap<[&str; 4], Vec<[&str; 3]>> = BTreeMap::new();
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let table = [cells[0], cells[1], cells[4], cells[6]];
        tables.entry(table).or_default().push([cells[2], cells[3], cells[5]]);
    }
    let mut compared = 0;
    for ([table, grade, unit, limit_unit], rows) in &tables {
        let limits: Vec<&str> = rows.iter().flat_map(|it| [it[2], it[2]]).collect();
        let points = rows.iter().flat_map(|it| [above(it[0]), it[1].to_owned()]);
        let points: Vec<String> = points.collect();
        let text = format!(
            "surebound: 1\ntitle: Blocks\n\
             measurand: {{symbol: l, name: Length, unit: {limit_unit}}}\n\
             points: {{symbol: L, unit: {unit}, at: [{}]}}\nmodel: block\nestimates: {{block: L}}\n\
             contributors: [{{name: Block, adds_to: block, block_grade: \"{grade}\", table: {table}}}]\n",
            points.join(", ")
        );
        for ((point, at), printed) in shown(&text).points.iter().zip(&points).zip(limits) {
            let printed: f64 = printed.parse().unwrap();
            let error = (limit(point) / printed - 1.0).abs();
            assert!(error < 1e-14, "{table} {grade} at {at} {unit}: {}", limit(point));
            compared += 1;
        }
    }
    assert_eq!(compared, 2 * 229, "two lengths a row");
}

/// A length a ten-thousandth above the lower end of a range.
fn above(over: &str) -> String {
    let point = if over.contains('.') { "" } else { "." };
    format!("{over}{point}0001")
}
