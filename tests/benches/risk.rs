//! Times of risks over a population: `cargo bench --bench risk`. Microseconds of a call, the best of several, for
//! normal, t, exact and simulated densities, beside a named reference in the same process: halving for the same
//! guard band, 40 times, over the midpoint rule with 2000 cells. Processor time of the thread from /proc, as a
//! shared machine's clock says little; wall time where there is none. Printed, not judged.

use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;
use surebound::decide::global::{
    Prior, Share, guard_band_for_consumer, guard_band_for_posterior, posterior_risk, risks,
    spread_for_share,
};
use surebound::evidence::{Distribution, Piece};
use surebound::fault::Origin;
use surebound::model::TapeBuilder;
use surebound::propagate::density::Density;
use surebound::propagate::exact::{Sum, Term};
use surebound::propagate::simulation::{
    Experiment, Interval, Law, Settings, Shares, Source, Target, run,
};

const BOTH: (Option<f64>, Option<f64>) = (Some(-1.0), Some(1.0));
const PROMISE: f64 = 0.01;
const SD: f64 = 0.51;
const U: f64 = 0.2;

fn main() {
    let prior = Prior::Normal { mean: 0.1, sd: SD };
    let naive = time(|| naive_band(0.1));
    println!(
        "reference, halving over the midpoint rule: {naive:.1} µs, w = {:.8}",
        naive_band(0.1)
    );
    let mut kinds = vec![
        ("normal", Density::T { u: U, dof: f64::INFINITY }),
        ("t, ν = 3", Density::T { u: U, dof: 3.0 }),
        ("t, ν = 50", Density::T { u: U, dof: 50.0 }),
    ];
    let piece = |shape, u| Term::Piece(Piece::one(shape, u, f64::INFINITY));
    let mix = vec![piece(Distribution::Rectangular, 0.17), piece(Distribution::Normal, 0.1)];
    if let Ok(sum) = Sum::new(mix) {
        kinds.push(("exact, rectangle and normal", Density::Exact(Arc::new(sum))));
    }
    kinds.extend(simulated().map(|it| ("simulated, 10⁶ trials", it)));
    println!(
        "{:>30} {:>12} {:>12} {:>12} {:>12} {:>12} {:>10}",
        "µs per call",
        "risks",
        "consumer's w",
        "posterior",
        "posterior w",
        "observed sd",
        "reference/w"
    );
    for (name, density) in &kinds {
        let band = time(|| guard_band_for_consumer(PROMISE, black_box(&prior), BOTH, density));
        let all = [
            time(|| risks(black_box(&prior), BOTH, Some(BOTH), density)),
            band,
            time(|| posterior_risk(black_box(&prior), 0.8, BOTH, density)),
            time(|| guard_band_for_posterior(0.05, black_box(&prior), BOTH, density)),
            time(|| spread_for_share(black_box(0.95), Share::Observed, 0.0, BOTH, density)),
        ];
        let cells: Vec<String> = all.iter().map(|it| format!("{it:>12.1}")).collect();
        println!("{name:>30} {} {:>10.2}", cells.join(" "), naive / band);
        println!("{:>30} w = {:?}", "", guard_band_for_consumer(PROMISE, &prior, BOTH, density));
    }
}

/// Returns the guard band by halving over the midpoint rule.
fn naive_band(mean: f64) -> f64 {
    let tail = |x: f64| 0.5 * libm::erfc(x * core::f64::consts::FRAC_1_SQRT_2);
    let consumer = |w: f64| {
        let cell = |from: f64, sign: f64| {
            let width = 8.0 * SD / 1000.0;
            (0..1000).map(move |it| (from + sign * (f64::from(it) + 0.5) * width, width))
        };
        let weigh = |(x, width): (f64, f64)| {
            let z = (x - mean) / SD;
            let density = libm::exp(-0.5 * z * z) / (SD * libm::sqrt(2.0 * core::f64::consts::PI));
            let accepted = tail((x.abs() - (1.0 - w)) / U) - tail((x.abs() + (1.0 - w)) / U);
            density * accepted * width
        };
        cell(1.0, 1.0).chain(cell(-1.0, -1.0)).map(weigh).sum::<f64>()
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let mid = 0.5 * (low + high);
        if consumer(black_box(mid)) > PROMISE { low = mid } else { high = mid }
    }
    high
}

/// Returns a million draws of the normal.
fn simulated() -> Option<Density> {
    let sources = [Source {
        name: "x".to_owned(),
        place: None,
        law: Law::Pieces(vec![Piece::one(Distribution::Normal, U, f64::INFINITY)]),
        targets: vec![Target { leaf: 0, factor: 1.0 }],
    }];
    let mut tape = TapeBuilder::new();
    let leaf = tape.leaf(0, Origin::NONE);
    let tape = tape.finish(leaf);
    let experiment = Experiment { tape: &tape, leaves: &[0.0], sources: &sources };
    let settings = Settings {
        probability: 0.9545,
        interval: Interval::Symmetric,
        digits: 2,
        part: 1.0,
        trials: Some(1_000_000),
        trials_max: 1_000_000,
        seed: 1,
        threads: 1,
    };
    let outcome = run(&experiment, &settings, &|_| true).ok()?;
    Some(Density::Simulated(Arc::new(Shares::new(&outcome.histogram, 0.0))))
}

/// Returns the microseconds of a call: the best of up to nine rounds.
fn time<T>(call: impl Fn() -> T) -> f64 {
    let mut best = f64::INFINITY;
    let began = Instant::now();
    for _ in 0..9 {
        let (start, before) = (Instant::now(), processor());
        let mut calls = 0;
        while calls == 0 || (start.elapsed().as_millis() < 20 && calls < 10_000) {
            black_box(call());
            calls += 1;
        }
        let spent = before.zip(processor()).map(|it| it.1 - it.0);
        let spent = spent.unwrap_or_else(|| start.elapsed().as_secs_f64() * 1e6);
        best = best.min(spent / f64::from(calls));
        if began.elapsed().as_secs() > 5 {
            break;
        }
    }
    best
}

/// Microseconds that this thread has run.
fn processor() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split(' ').next()?.parse::<f64>().ok().map(|it| it / 1e3)
}
