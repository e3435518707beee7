//! Properties that the theory demands of every budget, through the path YAML → record.
//!
//! The cases are drawn with a fixed seed, so that a run repeats. Equality is asked for to the last bit
//! where the two ways do the same arithmetic, else to 1e-12 relative: the chains are some tens of
//! operations long, each good to 1.1e-16, and the second order subtracts nothing here.

#[path = "../common/judge.rs"]
mod judge;
#[path = "../common/show.rs"]
mod show;

mod contributors;
mod decision;
mod evidence;
mod results;
mod scale;
mod unit;

use proptest::test_runner::{Config, RngSeed};
use surebound::record::Point;

/// The settings of all properties: a fixed seed, nothing written to disk.
fn fixed(seed: u64) -> Config {
    Config {
        cases: 96,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(seed),
        ..Config::default()
    }
}

/// Whether two numbers agree to 1e-12 of them.
fn near(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

/// What has to agree between two points: u by both orders, shift, degrees of freedom, k and U.
#[track_caller]
fn same_uncertainty(a: &Point, b: &Point) {
    let figures = |it: &Point| {
        [
            it.standard_uncertainty,
            it.first_order_standard_uncertainty,
            it.second_order_standard_uncertainty.expect("computed"),
            it.second_order_shift.expect("computed"),
            it.effective_dof.get(),
            it.coverage_factor,
            it.expanded_uncertainty,
        ]
    };
    let (left, right) = (figures(a), figures(b));
    for (a, b) in left.iter().zip(&right) {
        assert!(near(*a, *b), "{left:?}\n{right:?}");
    }
}

/// A budget of a plain number: its model, estimates and contributors, each a line.
fn plain(model: &str, estimates: &[String], contributors: &[String], more: &str) -> String {
    let mut text = format!(
        "surebound: 1\ntitle: A number\nmeasurand: {{symbol: Y, name: Result, unit: 1}}\nmodel: {model}\n"
    );
    if !estimates.is_empty() {
        text.push_str("estimates:\n");
    }
    for line in estimates {
        text.push_str(&format!("  {line}\n"));
    }
    text.push_str("contributors:\n");
    for line in contributors {
        text.push_str(&format!("  - {{{line}}}\n"));
    }
    text.push_str(more);
    text.push('\n');
    text
}

/// An integer as a decimal with so many places: exactly, as a person would write it.
fn decimal(number: i64, places: usize) -> String {
    let digits = format!("{:0width$}", number.unsigned_abs(), width = places + 1);
    let (whole, rest) = digits.split_at(digits.len() - places);
    let sign = if number < 0 { "-" } else { "" };
    if places == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{rest}") }
}

#[test]
fn decimals_are_written_exactly() {
    assert_eq!(decimal(254, 4), "0.0254");
    assert_eq!(decimal(-12_345, 3), "-12.345");
    assert_eq!(decimal(7, 0), "7");
}
