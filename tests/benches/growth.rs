//! How time grows with contributors and with points: prints the time per element of each stage.
//!
//! `cargo bench --bench growth`; `docs/performance.md` has the figures of one run. Linear growth shows
//! as a constant time per element. Last the case of a thousand contributors at a hundred points, a
//! hundred of them shared, with covariances.

use std::fmt::Write as _;
use std::time::Instant;
use surebound::budget::Scope;
use surebound::file::load_budget;
use surebound::record::{Record, from};

/// Inputs of the model.
const INPUTS: usize = 10;

fn main() {
    println!("contributors on {INPUTS} inputs at one point; µs per contributor");
    head();
    for contributors in [10, 100, 1_000, 10_000] {
        row(contributors, &budget(contributors, 1, contributors / 10), contributors, false);
    }
    println!("\npoints with 10 contributors, 3 of them shared; µs per point");
    head();
    for points in [10, 100, 1_000, 10_000] {
        row(points, &budget(10, points, 3), points, false);
    }
    println!("\ncovariances of points, 10 contributors, 3 of them shared; µs per pair of points");
    head();
    for points in [10, 100, 1_000] {
        row(points, &budget(10, points, 3), points * points, true);
    }
    println!("\n1000 contributors at 100 points, 100 of them shared, with covariances; ms in all");
    head();
    row(1_000, &budget(1_000, 100, 100), 1_000, true);
}

fn head() {
    println!(
        "{:>8} {:>10} {:>10} {:>12} {:>10}",
        "number", "read", "evaluate", "covariance", "record"
    );
}

/// Returns a budget of so many contributors, the first of them shared, and points.
fn budget(contributors: usize, points: usize, shared: usize) -> String {
    let mut text = String::from(
        "surebound: 1\ntitle: Growth\nmeasurand: {symbol: E, name: Error, unit: µm}\n\
         points: {symbol: L, unit: mm, at: [",
    );
    let join = |values: Vec<String>, with: &str| values.join(with);
    text += &join((1..=points).map(|it| it.to_string()).collect(), ", ");
    text += "]}\nmodel: reading - block + ";
    text += &join((0..INPUTS).map(|it| format!("x{it}")).collect(), " + ");
    text += "\nestimates:\n  block: L\n";
    (0..INPUTS).for_each(|it| line(&mut text, format_args!("  x{it}: 0 µm")));
    text += "contributors:\n";
    for index in 0..contributors {
        let evidence = match index % 4 {
            0 => "limits: ±3.5 nm",
            1 => "standard_uncertainty: 2 nm",
            2 => "scatter: 3 nm, dof: 9",
            _ => "certificate: 4 nm, k: 2",
        };
        let shared = if index < shared { ", shared: true" } else { "" };
        let input = index % INPUTS;
        let what = format_args!("  - {{name: C{index}, adds_to: x{input}, {evidence}{shared}}}");
        line(&mut text, what);
    }
    text
}

fn line(text: &mut String, what: std::fmt::Arguments) {
    writeln!(text, "{what}").expect("writing to memory");
}

/// Runs one budget from text to JSON and prints the time of each stage per element, in µs.
fn row(number: usize, text: &str, elements: usize, together: bool) {
    let mut times = Vec::new();
    let mut clock = Instant::now();
    let mut lap = || {
        times.push(clock.elapsed().as_secs_f64() * 1e6 / elements as f64);
        clock = Instant::now();
    };
    let loaded = load_budget("growth.yaml", text.as_bytes());
    let budget = loaded.value.expect("the budget has no fault");
    lap();
    let evaluation = budget.evaluate().expect("it has a value at every point");
    lap();
    if together {
        for scope in Scope::BOTH {
            evaluation.together(scope).expect("it is linear");
        }
    }
    lap();
    let mut record = Record::try_from(&evaluation).expect("it has no tolerance");
    if together {
        from::add_correlations(&mut record.sections[0], &evaluation).expect("it is linear");
    }
    let json = record.to_json().expect("all numbers are finite");
    assert!(!json.is_empty());
    lap();
    println!(
        "{number:>8} {:>10.2} {:>10.2} {:>12.3} {:>10.2}",
        times[0], times[1], times[2], times[3]
    );
}
