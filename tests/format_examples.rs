//! Each key's example in `docs/budget-format.md`, run.
//!
//! The page and the reader are made of one table of keys; each example is put into a host, a budget or
//! worksheet that it fits into, in the place where its key belongs. The file then evaluates, or is judged.

#[path = "common/show.rs"]
mod show;

use std::process::Command;
use surebound::file::keys::{BUDGET, Form, WORKSHEET, all_maps};

/// The lines of a budget at its top, which an example of the same key replaces.
const TOP: &[&str] = &[
    "surebound: 1",
    "title: Host",
    "measurand: {symbol: E, name: Error of indication, unit: µm}",
    "points: {symbol: L, unit: mm, at: [2.5, 25]}",
    "model: reading - block",
    "estimates: {block: L}",
    "contributors: [{name: Reference A, adds_to: block, standard_uncertainty: 0.1 µm}, {name: Reference B, adds_to: block, standard_uncertainty: 0.2 µm}]",
    "tolerance: ±4 µm",
    "decision: {rule: guarded, uncertainty: all}",
];

/// The key of a line.
fn key_of(line: &str) -> &str {
    line.trim_start().trim_start_matches("- ").split(':').next().unwrap_or_default()
}

/// Puts lines over those of the same key, and adds the others.
fn over(lines: &[&str], more: &[&str]) -> Vec<String> {
    let kept = lines.iter().filter(|line| more.iter().all(|it| key_of(it) != key_of(line)));
    kept.chain(more).map(|it| it.to_string()).collect()
}

/// Where a map stands: what encloses it, and the keys that it cannot do without.
struct Host {
    /// Lines above the map's keys, the first at the top of the file.
    head: &'static str,
    /// What stands before the first key and the others.
    indent: [&'static str; 2],
    /// Keys beside the example.
    beside: &'static [&'static str],
    /// Lines at the top of the file that this place needs.
    top: &'static [&'static str],
}

const PLAIN: [&str; 2] = ["  ", "  "];
const ITEM: [&str; 2] = ["  - ", "    "];

const fn host(
    head: &'static str,
    indent: [&'static str; 2],
    beside: &'static [&'static str],
) -> Host {
    Host { head, indent, beside, top: &[] }
}

/// Newtons, for the examples of limits that are a force.
const FORCE: &[&str] = &[
    "measurand: {symbol: F, name: Force, unit: N}",
    "points: {symbol: L, unit: mm, at: [2.5, 25]}",
    "model: f",
    "estimates: {f: 6 N}",
    "contributors: [{name: Gauge, adds_to: f, standard_uncertainty: 0.1 N}]",
];

/// Ohms, for the examples of simultaneous readings.
const RESISTANCE: &[&str] = &[
    "measurand: {symbol: R, name: Resistance, unit: Ω}",
    "model: V / I",
    "tolerance: [200 Ω, 300 Ω]",
];

/// What simultaneous readings cannot do without.
const TOGETHER: &[&str] =
    &["inputs: [V, I]", "units: [V, mA]", "rows: [[5.007, 19.663], [4.994, 19.639]]"];

/// Degrees Celsius, for the examples of a line.
const TEMPERATURE: &[&str] = &[
    "measurand: {symbol: t, name: Correction, unit: °C}",
    "model: b0 + b1 * 5 °C",
    "tolerance: ±4 °C",
];

/// The same with the scatter of a later observation.
const LATER: &[&str] = &[
    "measurand: {symbol: t, name: Correction, unit: °C}",
    "model: b0 + b1 * 5 °C + e",
    "tolerance: ±4 °C",
];

/// What a line cannot do without.
const LINE: &[&str] = &[
    "name: Line",
    "intercept: b0",
    "slope: b1",
    "x_values: [10, 20, 30]",
    "x_unit: °C",
    "y_values: [0.1, 0.2, 0.2]",
    "y_unit: °C",
];

/// Ohms, for the examples of a result.
const COIL: &[&str] = &[
    "measurand: {symbol: R, name: Resistance, unit: Ω}",
    "model: V / I * cos(phi)",
    "estimates: {V: 5 V, I: 20 mA, phi: 1.05 rad}",
    "contributors: [{name: Voltmeter, adds_to: V, standard_uncertainty: 3 mV}, {name: Phase meter, adds_to: phi, standard_uncertainty: 1 mrad}]",
    "tolerance: ±4 Ω",
];

/// Returns the place of a map of the budget file for one of its keys.
fn place(map: &str, key: &str) -> Host {
    match map {
        "document" => host("document:", PLAIN, &[]),
        "measurand" => host("measurand:", PLAIN, &["symbol: E", "name: Error", "unit: µm"]),
        "bounds" => {
            host("measurand:\n  symbol: E\n  name: Error\n  unit: µm\n  bounds:", ["    "; 2], &[])
        }
        "points" => host("points:", PLAIN, &["symbol: L", "unit: mm", "at: [2.5, 25]"]),
        "point" if key == "stack" => {
            host("points:\n  symbol: L\n  unit: mm\n  at:", ["    - ", "      "], &["at: 9.005"])
        }
        "point" => {
            host("points:\n  symbol: L\n  unit: mm\n  at:", ["    - ", "      "], &["at: 25"])
        }
        "estimates" => host("estimates:", PLAIN, &[]),
        "contributor" => contributor(key),
        "link" => host("linked:", ITEM, &["between: [Reference A, Reference B]", "r: 0.5"]),
        "rounding" => host("rounding:", PLAIN, &[]),
        "display" => host("display:", PLAIN, &[]),
        "decision" => host("decision:", PLAIN, &["rule: guarded", "uncertainty: all"]),
        "requires" => host(
            "decision:\n  rule: simple\n  uncertainty: all\n  requires:",
            ["    "; 2],
            &["tur: 4"],
        ),
        "guard_band" => {
            const HEAD: &str = "decision:\n  rule: guarded\n  guard_band:";
            let top: &[&str] = match key {
                "consumer_risk" => &["population: {sd: 2 µm, mean: 0 µm}"],
                _ => &[],
            };
            Host { top, ..host(HEAD, ["    "; 2], &[]) }
        }
        _ => further_place(map, key),
    }
}

fn further_place(map: &str, key: &str) -> Host {
    const THERMAL: &str = "contributors:\n  - name: Heat\n    thermal:";
    const PART: &str = "contributors:\n  - name: Heat\n    thermal:\n      length: L\n      alpha: 11.5 µm/m/K\n      \
        alpha_difference: ±1 µm/m/K\n      from_20: ±1 K\n      difference:";
    const STEPS: &str = "tolerance:\n  by_point:\n    - up_to: 300 mm\n      limits:";
    match map {
        "coverage" if key == "k" => host("coverage:", PLAIN, &["method: fixed"]),
        "coverage" => host("coverage:", PLAIN, &[]),
        "tolerance" if key == "lower" => Host { top: FORCE, ..host("tolerance:", PLAIN, &[]) },
        "tolerance" => host("tolerance:", PLAIN, &[]),
        "tolerance step" => host(
            "tolerance:\n  by_point:",
            ["    - ", "      "],
            &["up_to: 300 mm", "limits: ±20 µm"],
        ),
        "step limits" if key == "lower" => Host { top: FORCE, ..host(STEPS, ["        "; 2], &[]) },
        "step limits" => host(STEPS, ["        "; 2], &[]),
        "thermal" => {
            let beside = &[
                "length: L",
                "alpha: 11.5 µm/m/K",
                "alpha_difference: ±1 µm/m/K",
                "difference: ±0.3 K",
                "from_20: ±1 K",
            ];
            host(THERMAL, ["      "; 2], beside)
        }
        "thermal part" => host(PART, ["        "; 2], beside(key, &["limits: ±0.5 µm"])),
        "observations" => Host { top: RESISTANCE, ..host("observations:", ITEM, TOGETHER) },
        "line" => {
            let top = if key == "residual" { LATER } else { TEMPERATURE };
            Host { top, ..host("lines:", ITEM, LINE) }
        }
        "result" => {
            let beside = &["symbol: X", "name: Reactance", "unit: Ω", "model: V / I * sin(phi)"];
            Host { top: COIL, ..host("results:", ITEM, beside) }
        }
        "population" => host("population:", PLAIN, population(key)),
        other => {
            assert_eq!(other, "use", "a map without a host");
            let head =
                "contributors:\n  - name: X\n    readings: [0, 1, 0]\n    unit: µm\n    use:";
            host(head, ["      "; 2], &[])
        }
    }
}

/// What an example of a population needs beside it.
fn population(key: &str) -> &'static [&'static str] {
    match key {
        "in_tolerance" => &["as: actual"],
        "as" => &["in_tolerance: 80 %"],
        "sd" => &["mean: 0 µm"],
        "limits" | "history" => &[],
        "shape" => &["limits: ±3 µm"],
        "top" => &["limits: ±3 µm", "shape: trapezoidal"],
        "same_in_all" => &["history: as-found.csv"],
        "prior" => &["sd: 0.7 µm", "mean: 0 µm"],
        _ => &["sd: 0.7 µm"],
    }
}

/// The evidence and its companions that an example of a key needs beside it.
fn beside(key: &str, usual: &'static [&'static str]) -> &'static [&'static str] {
    match key {
        "readings" => &["unit: µm", "use: single"],
        "groups" => &["readings: [[0, 1], [1, 0]]", "unit: µm", "use: single"],
        "unit" | "use" => &["readings: [0, 1, 0, 0]", "unit: µm", "use: single"],
        "scatter" => &["dof: 18"],
        "mean_of" => &["scatter: 0.7 µm", "dof: 18"],
        "limits" | "full_range" | "standard_uncertainty" | "step" => &[],
        "certificate" => &["k: 2"],
        "coverage" | "k" => &["certificate: 0.06 µm"],
        "top" => &["limits: ±0.5 µm", "shape: trapezoidal"],
        "dof" => &["standard_uncertainty: 0.3 µm"],
        _ => usual,
    }
}

fn contributor(key: &str) -> Host {
    const HEAD: &str = "contributors:";
    const BLOCK: &[&str] = &["name: X", "adds_to: block", "block_grade: 0", "table: ISO 3650"];
    const STACKED: &[&str] =
        &["points: {symbol: L, unit: mm, at: [{at: 9.005, stack: [1.005 mm, 8 mm]}]}"];
    match key {
        "block_grade" | "table" | "calibrated_with" => host(HEAD, ITEM, BLOCK),
        "length" => Host { top: STACKED, ..host(HEAD, ITEM, BLOCK) },
        "thermal" => host(HEAD, ITEM, &["name: X"]),
        "name" | "adds_to" => host(HEAD, ITEM, &["name: X", "limits: ±0.5 µm"]),
        "sensitivity" => host(HEAD, ITEM, &["name: X", "limits: ±0.1 K"]),
        _ => {
            let host = host(HEAD, ITEM, beside(key, &["limits: ±0.5 µm"]));
            Host { indent: ["  - name: X\n    ", "    "], ..host }
        }
    }
}

/// Puts an example into its place in a budget.
fn budget_with(map: &str, key: &str, example: &str) -> String {
    if map == "budget" {
        let top = match key {
            "observations" => RESISTANCE,
            "lines" => TEMPERATURE,
            _ => &[],
        };
        let top = over(TOP, top);
        let top: Vec<&str> = top.iter().map(String::as_str).collect();
        return over(&top, &[example]).join("\n") + "\n";
    }
    let host = place(map, key);
    let mut text = String::new();
    for line in over(TOP, host.top) {
        if key_of(&line) != key_of(host.head) {
            text.push_str(&line);
            text.push('\n');
        }
    }
    text.push_str(host.head);
    text.push('\n');
    for (index, line) in over(host.beside, &[example]).iter().enumerate() {
        text.push_str(host.indent[usize::from(index > 0)]);
        text.push_str(line);
        text.push('\n');
    }
    text
}

/// What stands beside the example is that of a contributor, in µm; this part is a temperature.
fn fitted(map: &str, text: String) -> String {
    if map != "thermal part" {
        return text;
    }
    let (top, part) = text.split_once("      difference:").expect("its place");
    format!("{top}      difference:{}", part.replace("µm", "K"))
}

#[test]
fn each_example_of_a_budget_evaluates() {
    let mut run = 0;
    for map in all_maps(&BUDGET) {
        for key in map.keys.iter().chain(map.rest.iter()) {
            let text = fitted(map.name, budget_with(map.name, key.name, key.example));
            assert!(text.contains(key.example), "{text}");
            let section = show::shown(&text);
            assert!(section.points.iter().all(|it| it.standard_uncertainty.is_finite()));
            run += 1;
        }
    }
    assert!(run > 100, "{run}");
}

/// Every word of a key in the same place evaluates.
#[test]
fn each_word_of_a_key_is_taken() {
    let mut taken = 0;
    for map in all_maps(&BUDGET) {
        for key in map.keys {
            let words = key.forms.iter().flat_map(|it| match it {
                Form::Word(words) => *words,
                _ => &[],
            });
            for word in words {
                let example = match (key.name, *word) {
                    ("shape", "trapezoidal") => "shape: trapezoidal\n    top: 0.5".to_owned(),
                    ("shape", "normal") => "shape: normal\n    coverage: 95 %".to_owned(),
                    ("method", "fixed") => "method: fixed\n  k: 2".to_owned(),
                    // The readings are then the whole value of what they add to.
                    ("use", "result") => "use: result\n    sensitivity: 1".to_owned(),
                    ("table", "ASME B89.1.9") => "table: ASME B89.1.9".to_owned(),
                    _ => format!("{}: {}", key.name, word),
                };
                let example = match map.name {
                    "thermal part" => {
                        example.replace("    ", "        ").replace("\n        sensitivity: 1", "")
                    }
                    "population" => example.replace("    ", "  "),
                    _ => example,
                };
                show::shown(&fitted(map.name, budget_with(map.name, key.name, &example)));
                taken += 1;
            }
        }
    }
    assert!(taken > 50, "{taken}");
}

/// A worksheet with an example in its place, beside the shipped micrometer budget.
fn worksheet_with(map: &str, example: &str) -> String {
    const TOP: &[&str] = &[
        "surebound_worksheet: 1",
        "instrument: {id: M-1}",
        "date: 2026-11-20",
        "sections: [{budget: outside-micrometer.yaml, readings: {2.5: 2.500}}]",
    ];
    let without = |key: &str| {
        let lines = TOP.iter().filter(|it| key_of(it) != key);
        lines.map(|it| format!("{it}\n")).collect::<String>()
    };
    match map {
        "worksheet" => over(TOP, &[example]).join("\n") + "\n",
        "instrument" => {
            let lines = over(&["id: M-1"], &[example]).join("\n  ");
            format!("{}instrument:\n  {lines}\n", without("instrument"))
        }
        "check" => {
            let lines = over(&["what: Faces", "ok: true"], &[example]).join("\n    ");
            format!("{}checks:\n  - {lines}\n", without("checks"))
        }
        "section" => {
            let usual = if key_of(example) == "errors" {
                "budget: outside-micrometer.yaml"
            } else {
                "readings: {2.5: 2.500}"
            };
            let lines = over(&["budget: outside-micrometer.yaml", usual], &[example]);
            let mut lines: Vec<String> = lines.into_iter().collect();
            lines.dedup();
            format!("{}sections:\n  - {}\n", without("sections"), lines.join("\n    "))
        }
        other => {
            assert_eq!(other, "values", "no host for the map `{other}`");
            let head = "sections:\n  - budget: outside-micrometer.yaml\n    readings:\n      ";
            format!("{}{head}{example}\n", without("sections"))
        }
    }
}

/// Judges a worksheet; returns the exit code and standard error.
fn judged(text: &str) -> (i32, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let budget = concat!(env!("CARGO_MANIFEST_DIR"), "/budgets/outside-micrometer-0-25.yaml");
    std::fs::copy(budget, folder.path().join("outside-micrometer.yaml")).expect("a committed file");
    let path = folder.path().join("sheet.yaml");
    std::fs::write(&path, text).expect("a new file");
    let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["judge", path.to_str().expect("letters")])
        .output()
        .expect("the command is built with the tests");
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().expect("no signal"), told)
}

#[test]
fn each_example_of_a_worksheet_is_judged() {
    let mut run = 0;
    for map in all_maps(&WORKSHEET) {
        for key in map.keys.iter().chain(map.rest.iter()) {
            let text = worksheet_with(map.name, key.example);
            assert!(text.contains(key.example), "{text}");
            // Most points have no reading: undecided, exit code 1, and never 2.
            let (code, told) = judged(&text);
            assert_eq!(code, 1, "{told}\n{text}");
            let words = key.forms.iter().flat_map(|it| match it {
                Form::Word(words) => *words,
                _ => &[],
            });
            for word in words {
                let text = worksheet_with(map.name, &format!("{}: {}", key.name, word));
                let (code, told) = judged(&text);
                assert_eq!(code, 1, "{told}\n{text}");
            }
            run += 1;
        }
    }
    assert!(run > 12, "{run}");
}

/// The page holds no example but the table's: what is run here is what is printed there.
#[test]
fn the_page_prints_the_examples_that_are_run() {
    let page = include_str!("../docs/budget-format.md");
    let mut printed: Vec<String> = Vec::new();
    let mut inside = false;
    for line in page.lines() {
        inside = if line.starts_with("```") { line == "```yaml" } else { inside };
        if inside && !line.starts_with("```") {
            printed.push(line.to_owned());
        }
    }
    let maps = [&BUDGET, &WORKSHEET].map(all_maps);
    let keys = maps.iter().flatten().flat_map(|it| it.keys.iter().chain(it.rest.iter()));
    let examples: Vec<String> = keys.map(|it| it.example.to_owned()).collect();
    assert_eq!(printed, examples);
}
