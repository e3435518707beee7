//! Limit deviations of gauge block length by grade and nominal length.
//!
//! ISO 3650:1998, table 5: grades 0, 1 and 2 were read in two published tables; grade K, and all of
//! ASME B89.1.9-2002, are recalled, not read, and a finding says so to whoever uses them. Doubtful:
//! ASME grade 00, AS-2 from 8 in to 10 in, the row up to 0.05 in. The deviation holds at any point
//! of the measuring face, so variation in length is inside it.

use crate::budget::GradeTable;

/// Over a nominal length, up to and including another, the limit deviation per grade.
struct Row {
    over: f64,
    up_to: f64,
    limits: [Option<f64>; 5],
}

/// What a table says about one block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lookup {
    /// The limit deviation ±t_e, in metres.
    Limit(f64),
    /// The nominal length lies outside the table: its range in metres.
    Outside(f64, f64),
}

/// How a table is known to this program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Provenance {
    /// Read in a published table.
    Read,
    /// Recalled; to be checked against the standard.
    Recalled,
    /// Recalled, and doubtful.
    Doubtful,
}

const INCH: f64 = 0.0254;
const MILLIMETRE: f64 = 1e-3;

/// Widens the ends of a range, so that rounding of a length cannot push it over an edge.
const EDGE: f64 = 1e-9;

/// Returns the limit deviation of a grade of `table` (by its index in [`GradeTable::grades`]) at a
/// nominal `length` in metres; `inch` chooses the inch rows of ASME B89.1.9.
pub fn limit_deviation(table: GradeTable, grade: usize, length: f64, inch: bool) -> Lookup {
    let (rows, of_length, of_limit) = match (table, inch) {
        (GradeTable::Iso3650, _) => (ISO_3650, MILLIMETRE, 1e-6),
        (GradeTable::AsmeB8919, true) => (ASME_INCH, INCH, 1e-6 * INCH),
        (GradeTable::AsmeB8919, false) => (ASME_METRIC, MILLIMETRE, 1e-6),
    };
    let nominal = length / of_length;
    let first = rows.first().map_or(0.0, |it| it.over);
    let last = rows.last().map_or(0.0, |it| it.up_to);
    let inside = nominal >= first * (1.0 - EDGE) && nominal > 0.0;
    let row = rows.iter().find(|it| nominal <= it.up_to * (1.0 + EDGE)).filter(|_| inside);
    match row.and_then(|it| it.limits.get(grade).copied().flatten()) {
        Some(limit) => Lookup::Limit(limit * of_limit),
        None => Lookup::Outside(first * of_length, last * of_length),
    }
}

/// Returns how the row that [`limit_deviation`] takes is known.
pub fn provenance(table: GradeTable, grade: &str, length: f64, inch: bool) -> Provenance {
    let nominal = length / INCH;
    match (table, grade) {
        (GradeTable::Iso3650, "K") => Provenance::Recalled,
        (GradeTable::Iso3650, _) => Provenance::Read,
        (GradeTable::AsmeB8919, "00") => Provenance::Doubtful,
        (GradeTable::AsmeB8919, "AS-2") if nominal > 8.0 && nominal <= 10.0 => Provenance::Doubtful,
        (GradeTable::AsmeB8919, _) if inch && nominal <= 0.05 => Provenance::Doubtful,
        (GradeTable::AsmeB8919, _) => Provenance::Recalled,
    }
}

/// Makes a row; ISO 3650 has four grades.
const fn row<const N: usize>(over: f64, up_to: f64, given: [f64; N]) -> Row {
    let mut limits = [None; 5];
    let mut index = 0;
    while index < N {
        limits[index] = Some(given[index]);
        index += 1;
    }
    Row { over, up_to, limits }
}

/// ISO 3650:1998, table 5: mm and µm, grades 0, 1, 2, K.
const ISO_3650: &[Row] = &[
    row(0.5, 10.0, [0.12, 0.2, 0.45, 0.2]),
    row(10.0, 25.0, [0.14, 0.3, 0.6, 0.3]),
    row(25.0, 50.0, [0.2, 0.4, 0.8, 0.4]),
    row(50.0, 75.0, [0.25, 0.5, 1.0, 0.5]),
    row(75.0, 100.0, [0.3, 0.6, 1.2, 0.6]),
    row(100.0, 150.0, [0.4, 0.8, 1.6, 0.8]),
    row(150.0, 200.0, [0.5, 1.0, 2.0, 1.0]),
    row(200.0, 250.0, [0.6, 1.2, 2.4, 1.2]),
    row(250.0, 300.0, [0.7, 1.4, 2.8, 1.4]),
    row(300.0, 400.0, [0.9, 1.8, 3.6, 1.8]),
    row(400.0, 500.0, [1.1, 2.2, 4.4, 2.2]),
    row(500.0, 600.0, [1.3, 2.6, 5.0, 2.6]),
    row(600.0, 700.0, [1.5, 3.0, 6.0, 3.0]),
    row(700.0, 800.0, [1.7, 3.4, 6.5, 3.4]),
    row(800.0, 900.0, [1.9, 3.8, 7.5, 3.8]),
    row(900.0, 1000.0, [2.0, 4.2, 8.0, 4.2]),
];

/// ASME B89.1.9-2002, inch sizes: in and µin, grades 0, 00, AS-1, AS-2, K. Recalled.
const ASME_INCH: &[Row] = &[
    row(0.0, 0.05, [6.0, 4.0, 12.0, 24.0, 12.0]),
    row(0.05, 0.4, [5.0, 3.0, 8.0, 18.0, 8.0]),
    row(0.4, 1.0, [6.0, 3.0, 12.0, 24.0, 12.0]),
    row(1.0, 2.0, [8.0, 4.0, 16.0, 32.0, 16.0]),
    row(2.0, 3.0, [10.0, 5.0, 20.0, 40.0, 20.0]),
    row(3.0, 4.0, [12.0, 6.0, 24.0, 48.0, 24.0]),
    row(4.0, 6.0, [16.0, 8.0, 32.0, 64.0, 32.0]),
    row(6.0, 8.0, [20.0, 10.0, 40.0, 80.0, 40.0]),
    row(8.0, 10.0, [24.0, 12.0, 48.0, 96.0, 48.0]),
    row(10.0, 12.0, [28.0, 14.0, 56.0, 112.0, 56.0]),
    row(12.0, 16.0, [36.0, 18.0, 72.0, 144.0, 72.0]),
    row(16.0, 20.0, [44.0, 20.0, 88.0, 176.0, 88.0]),
    row(20.0, 24.0, [52.0, 25.0, 104.0, 200.0, 104.0]),
    row(24.0, 28.0, [60.0, 30.0, 120.0, 240.0, 120.0]),
    row(28.0, 32.0, [68.0, 34.0, 136.0, 260.0, 136.0]),
    row(32.0, 36.0, [76.0, 38.0, 152.0, 300.0, 152.0]),
    row(36.0, 40.0, [80.0, 40.0, 168.0, 320.0, 168.0]),
];

/// ASME B89.1.9-2002, metric sizes: mm and µm, grades 0, 00, AS-1, AS-2, K. Recalled.
const ASME_METRIC: &[Row] = &[
    row(0.5, 10.0, [0.12, 0.07, 0.2, 0.45, 0.2]),
    row(10.0, 25.0, [0.14, 0.07, 0.3, 0.6, 0.3]),
    row(25.0, 50.0, [0.2, 0.1, 0.4, 0.8, 0.4]),
    row(50.0, 75.0, [0.25, 0.12, 0.5, 1.0, 0.5]),
    row(75.0, 100.0, [0.3, 0.15, 0.6, 1.2, 0.6]),
    row(100.0, 150.0, [0.4, 0.2, 0.8, 1.6, 0.8]),
    row(150.0, 200.0, [0.5, 0.25, 1.0, 2.0, 1.0]),
    row(200.0, 250.0, [0.6, 0.3, 1.2, 2.4, 1.2]),
    row(250.0, 300.0, [0.7, 0.35, 1.4, 2.8, 1.4]),
    row(300.0, 400.0, [0.9, 0.45, 1.8, 3.6, 1.8]),
    row(400.0, 500.0, [1.1, 0.5, 2.2, 4.4, 2.2]),
    row(500.0, 600.0, [1.3, 0.65, 2.6, 5.0, 2.6]),
    row(600.0, 700.0, [1.5, 0.75, 3.0, 6.0, 3.0]),
    row(700.0, 800.0, [1.7, 0.85, 3.4, 6.5, 3.4]),
    row(800.0, 900.0, [1.9, 0.95, 3.8, 7.5, 3.8]),
    row(900.0, 1000.0, [2.0, 1.1, 4.2, 8.0, 4.2]),
];

#[cfg(test)]
mod tests {
    use super::*;

    const DATA: &str = include_str!("../../tests/data/iso3650_limits.csv");

    /// Each row of the committed table (its origin stands in its head) at its upper end and just
    /// above its lower end; 1e-12 relative is rounding of the unit.
    #[test]
    fn agrees_with_the_committed_tables() {
        let mut rows = 0;
        for line in DATA.lines().filter(|it| !it.starts_with('#') && !it.starts_with("table,")) {
            let cells: Vec<&str> = line.split(',').collect();
            let table =
                if cells[0] == "ISO 3650" { GradeTable::Iso3650 } else { GradeTable::AsmeB8919 };
            let grade = table.grades().iter().position(|it| *it == cells[1]).unwrap();
            let number = |index: usize| cells[index].parse::<f64>().unwrap();
            let unit = if cells[4] == "in" { INCH } else { MILLIMETRE };
            let expected = number(5) * if cells[6] == "uin" { 1e-6 * INCH } else { 1e-6 };
            for length in [number(3) * unit, (number(2) + 1e-3 * (number(3) - number(2))) * unit] {
                let Lookup::Limit(got) = limit_deviation(table, grade, length, cells[4] == "in")
                else {
                    panic!("outside: {line}");
                };
                assert!((got / expected - 1.0).abs() < 1e-12, "{line}: {got}");
            }
            let recalled = provenance(table, cells[1], number(3) * unit, cells[4] == "in");
            assert_eq!(recalled == Provenance::Read, cells[7] == "read", "{line}");
            rows += 1;
        }
        assert!(rows > 200, "{rows}");
    }

    /// Which entries are doubtful stands in the head of the committed table.
    #[test]
    fn doubtful_entries_are_those_that_the_committed_table_names() {
        let asme = |grade: &str, inches: f64, inch: bool| {
            provenance(GradeTable::AsmeB8919, grade, inches * INCH, inch)
        };
        assert_eq!(asme("00", 5.0, true), Provenance::Doubtful);
        for (inches, doubtful) in [(8.0, false), (8.1, true), (10.0, true), (10.1, false)] {
            assert_eq!(asme("AS-2", inches, true) == Provenance::Doubtful, doubtful, "{inches}");
            assert_eq!(asme("AS-1", inches, true), Provenance::Recalled);
        }
        assert_eq!(asme("0", 0.05, true), Provenance::Doubtful);
        assert_eq!(asme("0", 0.06, true), Provenance::Recalled);
        assert_eq!(asme("0", 0.05, false), Provenance::Recalled);
        assert_eq!(provenance(GradeTable::Iso3650, "K", 0.01, false), Provenance::Recalled);
    }

    #[test]
    fn refuses_lengths_outside_the_table() {
        for length in [0.0, 0.4e-3, 1.001, -1.0] {
            let found = limit_deviation(GradeTable::Iso3650, 0, length, false);
            assert!(matches!(found, Lookup::Outside(..)), "{length}");
        }
        assert_eq!(
            limit_deviation(GradeTable::Iso3650, 0, 0.5e-3, false),
            Lookup::Limit(0.12 * 1e-6)
        );
    }
}
