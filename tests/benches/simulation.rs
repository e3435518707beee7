//! Speed of the Monte Carlo kernel: `cargo bench --bench simulation`.
//!
//! The gauge block of JCGM 101:2008, 9.5 (nine inputs, four of them t) with one and two threads, draw
//! and model apart from the rest; ten normal contributors beside the generator's floor. Each figure is
//! the best of several runs, in ns per trial or word. `tests/scripts/numpy_simulation.py` is the counterpart.

#[path = "../common/gauge_block.rs"]
mod gauge_block;

use gauge_block::source;
use std::time::Instant;
use surebound::evidence::{Distribution, Piece};
use surebound::fault::Origin;
use surebound::model::{Tape, TapeBuilder};
use surebound::propagate::simulation::{
    Experiment, Interval, Outcome, Settings, draw_only, instructions, run, words_only,
};

const TRIALS: u64 = 10_000_000;

fn main() {
    println!("vector instructions: {}", instructions());
    println!(
        "random words alone: {:.2} ns each",
        best(5, || assert_ne!(words_only(TRIALS), 0)) / TRIALS as f64
    );
    for linear in [true, false] {
        let tape = gauge_block::tape(linear);
        let sources = gauge_block::sources();
        let experiment =
            Experiment { tape: &tape, leaves: &gauge_block::LEAVES, sources: &sources };
        report(if linear { "9.5 linear" } else { "9.5 non-linear" }, &experiment);
    }
    let tape = sum(10);
    let normal = |i: usize| {
        source(&format!("x{i}"), i, Piece::one(Distribution::Normal, 1.0, f64::INFINITY))
    };
    let sources: Vec<_> = (0..10).map(normal).collect();
    let experiment = Experiment { tape: &tape, leaves: &[0.0; 10], sources: &sources };
    report("ten normals", &experiment);
    for (name, shape, dof) in [
        ("normal", Distribution::Normal, f64::INFINITY),
        ("t", Distribution::T, 5.0),
        ("rectangular", Distribution::Rectangular, f64::INFINITY),
        ("triangular", Distribution::Triangular, f64::INFINITY),
        ("arcsine", Distribution::Arcsine, f64::INFINITY),
        ("curvilinear trapezoid", Distribution::CurvilinearTrapezoidal(0.5), f64::INFINITY),
    ] {
        let tape = sum(1);
        let sources = [source("x", 0, Piece::one(shape, 1.0, dof))];
        let experiment = Experiment { tape: &tape, leaves: &[0.0], sources: &sources };
        println!("{name}: draw {:.2} ns", draw(&experiment));
    }
}

fn sum(leaves: usize) -> Tape {
    let mut tape = TapeBuilder::new();
    let all: Vec<_> = (0..leaves).map(|leaf| tape.leaf(leaf, Origin::NONE)).collect();
    let total = all[1..].iter().fold(all[0], |sum, leaf| tape.add(sum, *leaf, Origin::NONE));
    tape.finish(total)
}

fn report(name: &str, experiment: &Experiment) {
    let per_trial = |threads| best(5, || drop(simulate(experiment, threads))) / TRIALS as f64;
    let draw = draw(experiment);
    let (one, two) = (per_trial(1), per_trial(2));
    let rest = one - draw;
    println!(
        "{name}: draw and model {draw:.2}, the rest {rest:.2}; whole: {one:.2} with one thread, \
         {two:.2} with two"
    );
}

fn simulate(experiment: &Experiment, threads: usize) -> Outcome {
    let settings = Settings {
        part: 1.0,
        probability: 0.99,
        interval: Interval::Shortest,
        digits: 2,
        trials: Some(TRIALS),
        trials_max: TRIALS,
        seed: 1,
        threads,
    };
    run(experiment, &settings, &|_| true).expect("a model with values everywhere")
}

/// Returns the time of drawing and evaluating a trial: the best of many short runs, which other work on
/// the machine does not reach.
fn draw(experiment: &Experiment) -> f64 {
    let short = TRIALS / 100;
    best(100, || assert!(draw_only(experiment, short).is_ok_and(f64::is_finite))) / short as f64
}

/// Returns the shortest time of some runs, in ns.
fn best(runs: usize, work: impl Fn()) -> f64 {
    let time = |_| {
        let start = Instant::now();
        work();
        start.elapsed().as_secs_f64() * 1e9
    };
    (0..runs).map(time).fold(f64::INFINITY, f64::min)
}
