//! Files of readings of any length: `judge --readings` beside `judge`, bad input, and a simulated population.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "readings/refused.rs"]
mod refused;
#[path = "readings/rows.rs"]
mod rows;
#[path = "readings/said.rs"]
mod said;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use surebound::budget::Budget;
use surebound::decide::readings::Entry;
use surebound::decide::{Cause, Judgement, Readings};
use surebound::fault::Origin;
use surebound::quantity::decimal::exact_text;
use surebound::quantity::{Exact, Quantity};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Exit code, standard output and standard error of `judge BUDGET --readings …`, `input` on standard input.
fn run(budget: &Path, input: &[u8], more: &[&str]) -> (i32, String, String) {
    let mut arguments = vec!["judge", budget.to_str().unwrap()];
    if !more.contains(&"--readings") {
        arguments.extend(["--readings", "-"]);
    }
    arguments.extend(more);
    let mut child = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(&arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let bytes = input.to_vec();
    // A command that refuses its arguments does not read.
    let writer = std::thread::spawn(move || drop(stdin.write_all(&bytes)));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    let text = |it: Vec<u8>| String::from_utf8(it).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn micrometer() -> PathBuf {
    Path::new(ROOT).join("budgets/outside-micrometer-0-25.yaml")
}

fn micrometer_run(input: &str, more: &[&str]) -> (i32, String, String) {
    run(&micrometer(), input.as_bytes(), more)
}

/// A whole instrument without errors but those given, by point.
fn instrument(name: &str, errors: &[(&str, i64)]) -> String {
    let points = [2500, 5100, 7700, 10300, 12900, 15000, 17600, 20200, 22800, 25000];
    let row = |um: &i64| {
        let at = exact_text(&Exact::from_integer(*um).div(&Exact::from_integer(1000)).unwrap(), 3)
            .unwrap();
        let at = at.trim_end_matches('0').trim_end_matches('.').to_owned();
        let error = errors.iter().find(|it| it.0 == at).map_or(0, |it| it.1);
        let shown = um + error;
        format!("{name},{at},{}.{:03}\n", shown / 1000, shown % 1000)
    };
    points.iter().map(row).collect()
}

fn cells(out: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    reader.records().map(|it| it.unwrap().iter().map(str::to_owned).collect()).collect()
}

/// The text of n steps in the unit of readings.
fn written(n: i64, step: &Exact, unit: &Exact) -> Option<String> {
    let number = Exact::from_integer(n).mul(step).div(unit)?;
    (0..12).find_map(|places| exact_text(&number, places))
}

/// The reading of n steps.
fn entry_of(budget: &Budget, n: i64, step: &Exact) -> Option<Entry> {
    let unit = budget.reading_unit();
    let text = format!("{} {}", written(n, step, unit.factor())?, unit.text());
    let quantity = Quantity::parse(&text, budget.units()).ok()?;
    Some(Entry { origin: Origin::NONE, quantity, is_error: false })
}

/// Every display step within three tolerances of each point of each shipped budget: verdict, cause and result
/// of the file are those of `judge` reading by reading.
/// Method: M96.
/// Method: M97.
#[test]
fn every_step_of_every_shipped_budget_has_the_verdict_of_judge() {
    let mut walked = 0;
    for entry in std::fs::read_dir(Path::new(ROOT).join("budgets")).unwrap() {
        let path = entry.unwrap().path();
        let is_yaml = path.extension().is_some_and(|it| it == "yaml");
        let text = std::fs::read_to_string(&path).unwrap();
        if !is_yaml || text.contains("surebound_worksheet") {
            continue;
        }
        let budget = Budget::parse(&text).unwrap();
        let evaluation = budget.evaluate().unwrap();
        let step = budget.display().unwrap().step.exact();
        let unit = budget.reading_unit();
        let (mut readings, mut table) = (Readings::none(), String::from("instrument,at,reading\n"));
        for (point, zones) in evaluation.points().iter().zip(evaluation.zones().unwrap()) {
            let Some(zones) = zones else { continue };
            let spec = &budget.points().list[point.index];
            let start = spec.at.as_ref().unwrap().exact().floor_div(&step).unwrap();
            let widest = [&zones.limits.lower, &zones.limits.upper].into_iter().flatten();
            let widest = widest.map(|it| it.si.abs()).fold(0.0, f64::max);
            let slope = {
                let mut two = Readings::none();
                for n in [start, start + 1] {
                    two.add(point.index, entry_of(&budget, n, &step).unwrap());
                }
                let judged = evaluation.judge(&two).unwrap();
                let readings =
                    judged.points.into_iter().find(|it| it.index == point.index).unwrap().readings;
                (readings[1].error.si - readings[0].error.si).abs()
            };
            let around = libm::ceil(3.0 * widest / slope) as i64;
            let at = spec
                .label
                .clone()
                .unwrap_or_else(|| spec.at.as_ref().unwrap().number().text().to_owned());
            for n in start - around..=start + around {
                let Some(reading) = written(n, &step, unit.factor()) else { continue };
                readings.add(point.index, entry_of(&budget, n, &step).unwrap());
                table += &format!("M-1,\"{at}\",{reading}\n");
            }
        }
        let judgement = evaluation.judge(&readings).unwrap();
        let (code, out, _) = run(&path, table.as_bytes(), &[]);
        assert_eq!(code, 1, "{}", path.display());
        let rows = cells(&out);
        let with_figures = |it: &surebound::decide::PointJudgement| {
            let figures = it.zones.decision.clone().unwrap().figures;
            it.readings
                .iter()
                .map(move |it| (figures.error(&it.error), it.clone()))
                .collect::<Vec<_>>()
        };
        let judged: Vec<_> = judgement.points.iter().flat_map(with_figures).collect();
        assert_eq!(rows.len(), judged.len(), "{}", path.display());
        for (row, (result, judged)) in rows.iter().zip(judged) {
            let cause = match judged.cause {
                None => "",
                Some(Cause::Tolerance) => "tolerance",
                Some(Cause::GuardBand) => "guard band",
                Some(Cause::Requirement) => "requirement",
                Some(Cause::Check) => "check",
                Some(Cause::Repeatability) => "repeatability",
            };
            assert_eq!(
                (row[5].as_str(), row[6].as_str()),
                (judged.verdict.word(), cause),
                "{row:?}"
            );
            let unit = if row[4] == "1" { String::new() } else { format!(" {}", row[4]) };
            let result = result.replace('−', "-");
            assert_eq!(format!("{}{unit}", row[3]), result.trim_start_matches('+'), "{row:?}");
            walked += 1;
        }
        let (verdict, _) = Judgement::instrument(&judgement, false);
        assert!(rows.iter().all(|it| it[8] == verdict.word()));
    }
    assert!(walked > 1000, "{walked}");
}

/// Errors in the measurand's unit are the same readings.
#[test]
fn errors_are_judged_as_their_readings() {
    let readings = "instrument,at,reading\nM-1,10.3,10.301\nM-1,10.3,10.303\nM-1,10.3,10.297\n";
    let errors = "at,error,instrument\n10.3,1,M-1\n10.3 mm,3,M-1\n10300 µm,-0.003 mm,M-1\n";
    let (of_readings, of_errors) = (micrometer_run(readings, &[]).1, micrometer_run(errors, &[]).1);
    let last = |out: &str| cells(out).iter().map(|it| it[3..].to_vec()).collect::<Vec<_>>();
    assert_eq!(last(&of_readings), last(&of_errors));
    assert_eq!(last(&of_readings)[0][2], "pass");
    assert_eq!(last(&of_readings)[1][..4], ["3", "µm", "fail", "guard band"]);
}

#[test]
fn instruments_pass_fail_and_stay_undecided() {
    let good = instrument("M-1", &[]);
    let bad = instrument("M-2", &[("17.6", 3)]);
    let missing: String =
        instrument("M-3", &[]).lines().skip(1).map(|it| format!("{it}\n")).collect();
    let header = "instrument,at,reading\n";
    let (code, out, said) = micrometer_run(&format!("{header}{good}{bad}{missing}"), &[]);
    assert_eq!(code, 1);
    let verdicts: Vec<String> = cells(&out).iter().map(|it| it[8].clone()).collect();
    assert!(verdicts[..10].iter().all(|it| it == "pass"));
    assert!(verdicts[10..20].iter().all(|it| it == "fail"));
    assert!(verdicts[20..].iter().all(|it| it == "undecided"));
    assert!(said.contains("3: 1 pass, 1 undecided, 1 fail"), "{said}");
    assert!(said.contains("17.6 mm: 1 of 3 instruments not passed"), "{said}");
    // 2 of 2: the lower end of the exact interval is 0.025^(1/2), by hand.
    assert!(said.contains("100.000 % (2 of 2; 95 % interval 15.811 % to 100.000 %)"), "{said}");
    assert_eq!(micrometer_run(&format!("{header}{good}"), &[]).0, 0);
}

/// Readings 0 µm and +3 µm, +3 µm first or last; the mean +1.5 µm passes, U being 1.9 µm at 10.3 mm or less.
#[test]
fn which_reading_is_reported_decides() {
    let twice = |first: i64, second: i64| {
        let rows = instrument("M-1", &[("10.3", first)]);
        format!("instrument,at,reading\n{rows}M-1,10.3,10.30{second}\n")
    };
    for (take, first, second, expected) in [
        ("worst", 3, 0, 1),
        ("worst", 0, 3, 1),
        ("last", 3, 0, 0),
        ("last", 0, 3, 1),
        ("mean", 3, 0, 0),
        ("mean", 3, 3, 1),
    ] {
        let (code, out, _) = micrometer_run(&twice(first, second), &["--take", take]);
        assert_eq!(code, expected, "{take} {first} {second}");
        // Every reading is judged by itself, whichever is reported.
        let failed = cells(&out).iter().filter(|it| it[5] == "fail").count();
        assert_eq!(failed as i64, i64::from(first == 3) + i64::from(second == 3));
    }
}

#[test]
fn bad_rows_are_said_at_their_place_and_the_rest_goes_on() {
    let text = "\u{feff}note,instrument,at,reading\r\n\
                \"a, b\",M-1,2.5,2.500\r\n\
                \"two\r\nlines\",M-1,2.5,\"2,5\"\r\n\
                x,M-1,7,7.0\r\n\
                x,M-1,2.5,NaN\r\n\
                x,M-1,2.5,.inf\r\n\
                x,M-1,2.5\r\n\
                x,M-1,2.5,2.5,9\r\n\
                x,,2.5,2.5\r\n\
                x,M-1,,2.5\r\n\
                x,M-1,2.5,\r\n\
                x,M-1,2.5,2.5 kg\r\n\
                x,M-1,2.5,\"2.5\r\n\
                \r\n\
                x,M-1,2.5 mm,0.2501 cm";
    let (code, out, said) = micrometer_run(text, &[]);
    assert_eq!(code, 1);
    for expected in [
        "standard input:4:17: `2,5` has a decimal comma\nhelp: write `2.5`",
        "standard input:5:7: `7` is no point of this budget",
        "standard input:6:11: ",
        "standard input:7:11: ",
        "standard input:8:10: the row has 3 cells, the header 4",
        "standard input:9:16: the row has 5 cells, the header 4",
        "standard input:10:3: the instrument is missing",
        "standard input:11:7: the point is missing",
        "standard input:12:11: the value is missing",
        "standard input:13:11: `2.5 kg` does not fit",
        "standard input:14:11: the quote that opens here is not closed",
        "11 not read",
    ] {
        assert!(said.contains(expected), "{expected}\n{said}");
    }
    let rows = cells(&out);
    assert_eq!(rows.len(), 2, "{out}");
    assert_eq!(rows[0][..7], ["a, b", "M-1", "2.5", "2.500", "0", "µm", "pass"]);
    assert_eq!((rows[1][4].as_str(), rows[1][9].as_str()), ("1", "undecided"));
}

#[test]
fn bad_rows_can_be_kept_or_stop_the_work() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let text = format!("instrument,at,reading\n{}M-2,x,1\n", instrument("M-1", &[]));
    let (out, bad) = (at("out.csv"), at("bad.csv"));
    let (code, said, _) = micrometer_run(&text, &["-o", &out, "--bad-rows", &bad]);
    assert_eq!(code, 1);
    assert!(said.starts_with("Instruments  2: 1 pass, 1 undecided, 0 fail"), "{said}");
    assert_eq!(std::fs::read_to_string(&bad).unwrap(), "instrument,at,reading\nM-2,x,1\n");
    assert_eq!(cells(&std::fs::read_to_string(&out).unwrap()).len(), 10);
    // What is there is kept unless it is said.
    assert_eq!(micrometer_run(&text, &["-o", &out]).0, 2);
    let (code, said, why) = micrometer_run(&text, &["-o", &out, "--strict", "--force"]);
    assert_eq!((code, said.as_str()), (2, ""));
    assert!(why.contains("standard input:12:5: "), "{why}");
    assert_eq!(cells(&std::fs::read_to_string(&out).unwrap()).len(), 10);
    let mut left: Vec<_> =
        std::fs::read_dir(folder.path()).unwrap().map(|it| it.unwrap().file_name()).collect();
    left.sort();
    assert_eq!(left, ["bad.csv", "out.csv"]);
    // Not onto what is read.
    let (code, _, why) = micrometer_run("", &["--readings", &out, "-o", &out, "--force"]);
    assert_eq!(code, 2);
    assert!(why.contains("is what is read"), "{why}");
}

#[test]
fn very_many_bad_rows_are_counted() {
    let text = format!("instrument,at,reading\n{}", "M-1,x,1\n".repeat(50));
    let said = micrometer_run(&text, &[]).2;
    assert_eq!(said.matches("standard input:").count(), 20);
    assert!(
        said.contains("and 30 more rows that cannot be read; `--bad-rows FILE.csv` keeps them all"),
        "{said}"
    );
}

#[test]
fn what_is_no_table_of_readings_is_refused() {
    let budget = std::fs::read_to_string(micrometer()).unwrap();
    for (text, expected) in [
        ("", "standard input:1:1: the file is empty"),
        (" \n", "the file is empty"),
        ("\u{feff}", "the file is empty"),
        ("instrument,at,reading\n", "there are no rows below the header"),
        (
            "instrument,at,raeding\nM-1,1,1\n",
            "no column `reading`\nhelp: call the column `raeding` `reading`",
        ),
        ("instrument,at,reading,error\n", "both `reading` and `error`"),
        (
            "instrument;at;reading\nM-1;2,5;2,5\n",
            "standard input:1:11: the cells are separated by semicolons",
        ),
        ("instrument,at,reading,verdict\n", "`verdict` is there already"),
        (budget.as_str(), "this is a budget or worksheet"),
    ] {
        let (code, out, said) = micrometer_run(text, &[]);
        assert_eq!((code, out.as_str()), (2, ""), "{text}");
        assert!(said.contains(expected), "{text}: {said}");
    }
    let (code, _, said) =
        run(&micrometer(), b"instrument,at,reading\nM-1,2.5,2.5\nM-\xff,2.5,2.5\n", &[]);
    assert_eq!(code, 1);
    assert!(said.contains("standard input:3:3: the row is not UTF-8"), "{said}");
    let (code, _, said) = run(&micrometer(), b"\xff\xfei\0n\0", &[]);
    assert_eq!(code, 2);
    assert!(said.contains("UTF-16"), "{said}");
}

#[test]
fn a_very_long_line_is_a_bad_row_and_the_rest_goes_on() {
    let text = format!("instrument,at,reading\nM-1,2.5,{}\nM-1,2.5,2.500\n", "2".repeat(3_000_000));
    let (code, out, said) = micrometer_run(&text, &[]);
    assert_eq!((code, cells(&out).len()), (1, 1));
    assert!(said.contains("standard input:2:1: the line is longer than 1 MiB"), "{said}");
}

#[test]
fn an_instrument_that_returns_is_named_and_may_be_allowed() {
    let halves = instrument("M-1", &[("17.6", 3)]);
    let at = halves.match_indices('\n').nth(4).unwrap().0 + 1;
    let text = format!(
        "instrument,at,reading\n{}{}{}",
        &halves[..at],
        instrument("M-2", &[]),
        &halves[at..]
    );
    let (code, _, said) = micrometer_run(&text, &[]);
    assert_eq!(code, 2);
    assert!(
        said.contains(
            "standard input:17:1: the instrument `M-1` returns: its rows ended at line 6"
        ),
        "{said}"
    );
    let (code, out, _) = micrometer_run(&text, &["--any-order"]);
    assert_eq!(code, 1);
    for row in cells(&out) {
        assert_eq!(row[8], if row[0] == "M-1" { "fail" } else { "pass" });
    }
    // The order of the rows stays.
    assert_eq!(
        cells(&out).iter().map(|it| it[0].clone()).collect::<Vec<_>>()[4..6],
        ["M-1", "M-2"]
    );
}

#[test]
fn a_reading_off_the_grid_is_judged_exactly_and_said() {
    let text = "instrument,at,reading\nM-1,10.3,10.3005\nM-1,10.3,10.30\nM-1,10.3,9000\n";
    let (_, out, said) = micrometer_run(text, &[]);
    assert!(
        said.contains("1 reading that the display cannot show (10.3005 at standard input:2)"),
        "{said}"
    );
    assert!(said.contains("1 reading over a hundred times the tolerance"), "{said}");
    assert_eq!(cells(&out)[0][3..6], ["0.5", "µm", "pass"]);
}

#[test]
fn a_cell_that_a_spreadsheet_would_run_is_written_as_text() {
    let text = "instrument,at,reading,note\nM-1,2.5,2.5,=1+1\nM-1,2.5,2.5,-5\nM-1,2.5,2.5,\"@a, \"\"b\"\"\"\n-M,2.5,2.5,+x\n";
    let out = micrometer_run(text, &[]).1;
    let rows = cells(&out);
    assert_eq!([&rows[0][3], &rows[1][3], &rows[2][3]], ["'=1+1", "-5", "'@a, \"b\""]);
    assert_eq!([&rows[3][0], &rows[3][3]], ["'-M", "'+x"]);
}

#[test]
fn rows_as_json_hold_the_cells_and_what_was_added() {
    let text = "instrument,at,reading,note\nM-1,10.3,10.301,\"a \"\"b\"\"\"\n";
    let (_, out, _) = micrometer_run(text, &["--rows", "jsonl"]);
    let row: serde_json::Value = serde_json::from_str(out.trim()).unwrap();
    assert_eq!((row["note"].as_str(), row["result"].as_f64()), (Some("a \"b\""), Some(1.0)));
    assert_eq!((row["verdict"].as_str(), row["cause"].is_null()), (Some("pass"), true));
    let said = micrometer_run(text, &["--format", "json"]).2;
    let summary: serde_json::Value = serde_json::from_str(said.trim()).unwrap();
    assert_eq!(summary["instruments"]["undecided"], 1);
}

#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let text = format!("instrument,at,reading\n{}", "M-1,2.5,2.500\n".repeat(300_000));
    let mut child = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["judge", micrometer().to_str().unwrap(), "--readings", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut stdin = child.stdin.take().unwrap();
    let writer = std::thread::spawn(move || drop(stdin.write_all(text.as_bytes())));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(!said.contains("panicked") && !said.contains("cannot be written"), "{said}");
    assert!(matches!(output.status.code(), Some(0 | 1)));
}

#[test]
fn the_shipped_file_of_readings_is_judged() {
    let path = Path::new(ROOT).join("budgets/readings-2026-11.csv");
    let (code, out, said) = run(&micrometer(), b"", &["--readings", path.to_str().unwrap()]);
    assert_eq!((code, cells(&out).len()), (1, 49), "{said}");
    // As the page shows it.
    let page = std::fs::read_to_string(Path::new(ROOT).join("docs/readings.md")).unwrap();
    assert!(page.contains(&said), "{said}");
    assert!(out.lines().take(3).all(|it| page.contains(it)), "{out}");
}

/// Numbers that look random, the same in each run: splitmix64, and pairs of normal ones.
struct Random(u64);

impl Random {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn pair(&mut self) -> (f64, f64) {
        let radius = libm::sqrt(-2.0 * libm::log(self.uniform()));
        let angle = 2.0 * std::f64::consts::PI * self.uniform();
        (radius * libm::cos(angle), radius * libm::sin(angle))
    }
}

/// A million invented instruments, true errors normal with s = 2 µm, measured with u = 0.6 µm against ±4 µm:
/// observed rates of (outside and accepted), (inside and rejected) and accepted lie within the binomial 99.9 %
/// interval of the theory, ±3.29 standard errors at such counts. Unrounded, the
/// theory is the bivariate normal; with a display of 1 µm it is that of the rounded reading.
/// Of the rule four-way, `pass` is guarded acceptance, with `conditional pass` it is simple acceptance.
/// Theory: tests/data/readings_theory.csv from tests/scripts/readings_theory.py (mpmath).
#[test]
fn a_million_instruments_meet_the_theory() {
    const COUNT: usize = 1_000_000;
    let theory =
        std::fs::read_to_string(Path::new(ROOT).join("tests/data/readings_theory.csv")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for display in ["plain", "step"] {
        let expected = ["guarded", "simple"].map(|rule| {
            let row =
                theory.lines().find(|it| it.starts_with(&format!("{rule},{display},"))).unwrap();
            row.split(',').skip(2).map(|it| it.parse().unwrap()).collect::<Vec<f64>>()
        });
        let step = if display == "step" { "display: {step: 1 µm}\n" } else { "" };
        let budget = format!(
            "surebound: 1\ntitle: Invented\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n\
             points: {{symbol: L, unit: mm, at: [10]}}\nmodel: reading - L\ncontributors:\n\
             \x20 - {{name: All, standard_uncertainty: 0.6 µm}}\n{step}tolerance: ±4 µm\n\
             decision:\n  rule: four-way\n  guard_band: {{width: 1.2 µm}}\n  uncertainty: all\n"
        );
        let path = folder.path().join("budget.yaml");
        std::fs::write(&path, budget).unwrap();
        let (mut table, mut inside) = (String::from("instrument,at,error\n"), Vec::new());
        let mut random = Random(118);
        for instrument in 0..COUNT {
            let (a, b) = random.pair();
            let shown = 2.0 * a + 0.6 * b;
            inside.push((2.0 * a).abs() <= 4.0);
            let shown = if display == "step" {
                format!("{:.0}", libm::round(shown) + 0.0)
            } else {
                format!("{shown:.9}")
            };
            let shown = if shown == "-0" { "0" } else { &shown };
            table += &format!("{instrument},10,{shown}\n");
        }
        let out = folder.path().join("out.csv");
        let more = ["-o", out.to_str().unwrap(), "--force"];
        let (code, _, said) = run(&path, table.as_bytes(), &more);
        assert_eq!((code, said.as_str()), (1, ""));
        let mut counts = [[0_u32; 3]; 2];
        let text = std::fs::read_to_string(&out).unwrap();
        for (line, inside) in text.lines().skip(1).zip(&inside) {
            let guarded = line.ends_with(",pass");
            let simple = guarded || line.ends_with(",conditional pass");
            for (counts, accepted) in counts.iter_mut().zip([guarded, simple]) {
                counts[0] += u32::from(accepted && !inside);
                counts[1] += u32::from(!accepted && *inside);
                counts[2] += u32::from(accepted);
            }
        }
        assert_eq!(text.lines().count(), COUNT + 1);
        for (count, p) in counts.iter().flatten().zip(expected.iter().flatten()) {
            let error = libm::sqrt(p * (1.0 - p) / COUNT as f64);
            let rate = f64::from(*count) / COUNT as f64;
            println!("{display}: {rate:.6} {p:.6}");
            assert!((rate - p).abs() < 3.29 * error, "{display}: {rate} {p}");
        }
    }
}
