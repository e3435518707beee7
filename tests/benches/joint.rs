//! Times of the joint probability: milliseconds per call for 10 and 60 points with 1, 2, 3, 5 and 6 shared unknowns.
//!
//! `cargo bench --bench joint`; a plain loop, the best of three. Processor time of the thread from /proc, as a
//! shared machine's clock says little; wall time where there is none. Printed, not judged.

use std::time::Instant;

use surebound::decide::joint::{Point, Rest, Shared, dense, probability};
use surebound::evidence::{Distribution, Piece};

fn main() {
    for shape in [Distribution::Normal, Distribution::Rectangular] {
        for points in [10, 60] {
            for shared in [1, 2, 3, 5, 6] {
                let unknown = Shared::Piece(Piece::one(shape, 1.0, f64::INFINITY));
                let all = rows(points, shared);
                let unknowns = vec![unknown; shared];
                let label = format!("{} shared {} × {points} points", shape.word(), shared);
                time(&label, || {
                    probability(&unknowns, &all).map(|it| (it.error, it.method.word())).ok()
                });
            }
        }
    }
    for points in [10, 60] {
        let row = |i: usize| (0..points).map(|j| if i == j { 1.0 } else { 0.5 }).collect();
        let covariance: Vec<Vec<f64>> = (0..points).map(row).collect();
        let (low, high) = (vec![Some(-2.5); points], vec![Some(2.5); points]);
        time(&format!("dense {points}"), || {
            dense(&covariance, &low, &high).map(|it| (it.error, it.method.word())).ok()
        });
    }
}

fn rows(points: usize, shared: usize) -> Vec<Point> {
    let loading = |i: usize, j: usize| 0.4 / (j + 1) as f64 * libm::cos(1.0 + (i * (j + 1)) as f64);
    let one = |i: usize| Point {
        low: Some(-1.0),
        high: Some(1.0),
        estimate: 0.3 * libm::sin(1.0 + i as f64),
        loadings: (0..shared).map(|j| loading(i, j)).collect(),
        products: Vec::new(),
        rest: Rest::Normal(0.2),
    };
    (0..points).map(one).collect()
}

fn time<T: std::fmt::Debug>(label: &str, call: impl Fn() -> T) {
    let mut best = f64::INFINITY;
    let mut last = None;
    for _ in 0..3 {
        let (start, before) = (Instant::now(), processor());
        last = Some(call());
        let spent = before.zip(processor()).map(|it| it.1 - it.0);
        best = best.min(spent.unwrap_or_else(|| start.elapsed().as_secs_f64() * 1e3));
    }
    println!("{label}: {best:.2} ms, {last:?}");
}

/// Milliseconds that this thread has run.
fn processor() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split(' ').next()?.parse::<f64>().ok().map(|it| it / 1e6)
}
