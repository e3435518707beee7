//! Time of `judge --readings` with output: million rows a second, ten points, from file to file.
//!
//! `cargo bench --bench readings`; rows in the environment variable `ROWS` (5 000 000). The best of three.
//! Printed, not judged.

use std::io::Write;
use std::process::Command;
use std::time::Instant;

const POINTS: [(&str, i64); 10] = [
    ("2.5", 2500),
    ("5.1", 5100),
    ("7.7", 7700),
    ("10.3", 10300),
    ("12.9", 12900),
    ("15", 15000),
    ("17.6", 17600),
    ("20.2", 20200),
    ("22.8", 22800),
    ("25", 25000),
];

fn main() -> std::io::Result<()> {
    let rows: usize =
        std::env::var("ROWS").ok().and_then(|it| it.parse().ok()).unwrap_or(5_000_000);
    let folder = tempfile::tempdir()?;
    let (table, judged) = (folder.path().join("readings.csv"), folder.path().join("judged.csv"));
    let mut file = std::io::BufWriter::new(std::fs::File::create(&table)?);
    writeln!(file, "instrument,at,reading,shelf")?;
    for row in 0..rows {
        let (at, um) = POINTS[row % 10];
        // Errors from -3 to 3 um in an order of no meaning.
        let shown = um + (row * 7919 % 7) as i64 - 3;
        let (whole, part) = (shown / 1000, shown % 1000);
        writeln!(file, "M-{},{at},{whole}.{part:03},A {}", row / 10, row % 7)?;
    }
    file.flush()?;
    let budget = concat!(env!("CARGO_MANIFEST_DIR"), "/budgets/outside-micrometer-0-25.yaml");
    let mut best = f64::INFINITY;
    for _ in 0..3 {
        let start = Instant::now();
        let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
        command.args(["judge", budget, "--force", "--readings"]).arg(&table).arg("-o").arg(&judged);
        command.output()?;
        best = best.min(start.elapsed().as_secs_f64());
    }
    println!("{rows} rows in {best:.2} s: {:.2} million rows a second", rows as f64 / best / 1e6);
    Ok(())
}
