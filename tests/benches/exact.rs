//! Times the exact interval of several sums: `cargo bench --bench exact`. Microseconds per interval,
//! preparation included, beside the Monte Carlo run of one thread that reaches three digits (the adaptive
//! procedure of JCGM 101:2008, 7.9, with a tenth of δ for two digits) in the same process; `-` where a sum
//! has a product or that run does not get there within 2·10⁸ trials.

use std::hint::black_box;
use std::time::Instant;
use surebound::evidence::{Distribution, Piece};
use surebound::fault::Origin;
use surebound::model::TapeBuilder;
use surebound::propagate::exact::{Arm, Sum, Term};
use surebound::propagate::simulation::{
    Experiment, Interval, Law, Settings, Source, Target, instructions, run,
};

fn main() {
    println!("vector instructions of the simulation: {}", instructions());
    println!("{:>12} {:>10} {:>10} {:>10}  mix", "µs", "error", "ratio", "trials");
    for (name, terms) in mixes() {
        let mut times = Vec::new();
        let mut error = f64::NAN;
        let began = Instant::now();
        while times.len() < 5 || (began.elapsed().as_millis() < 200 && times.len() < 2000) {
            let start = Instant::now();
            let interval = Sum::new(terms.clone()).and_then(|it| it.interval(black_box(0.9545)));
            times.push(start.elapsed().as_secs_f64() * 1e6);
            error = interval.map_or(f64::NAN, |it| it.relative_error);
        }
        times.sort_by(f64::total_cmp);
        let exact = times[times.len() / 2];
        let (ratio, trials) = match simulated(&terms) {
            Some((time, trials)) => (format!("{:.0}", time / exact), format!("{trials:.1e}")),
            None => ("-".to_owned(), "-".to_owned()),
        };
        println!("{exact:>12.1} {error:>10.1e} {ratio:>10} {trials:>10}  {name}");
    }
}

/// Returns the microseconds and trials of a simulation that reaches three digits.
fn simulated(terms: &[Term]) -> Option<(f64, f64)> {
    let mut sources = Vec::new();
    for (leaf, term) in terms.iter().enumerate() {
        let Term::Piece(piece) = term else { return None };
        sources.push(Source {
            name: format!("x{leaf}"),
            place: None,
            law: Law::Pieces(vec![*piece]),
            targets: vec![Target { leaf, factor: 1.0 }],
        });
    }
    let mut tape = TapeBuilder::new();
    let all: Vec<_> = (0..sources.len()).map(|leaf| tape.leaf(leaf, Origin::NONE)).collect();
    let total = all[1..].iter().fold(all[0], |sum, leaf| tape.add(sum, *leaf, Origin::NONE));
    let (tape, leaves) = (tape.finish(total), vec![0.0; sources.len()]);
    let experiment = Experiment { tape: &tape, leaves: &leaves, sources: &sources };
    let settings = Settings {
        probability: 0.9545,
        interval: Interval::Symmetric,
        digits: 2,
        part: 0.1,
        trials: None,
        trials_max: 200_000_000,
        seed: 1,
        threads: 1,
    };
    let start = Instant::now();
    let outcome = run(&experiment, &settings, &|_| true).ok()?;
    let time = start.elapsed().as_secs_f64() * 1e6;
    outcome.stabilised.then_some((time, outcome.trials as f64))
}

fn piece(shape: Distribution, u: f64) -> Term {
    Term::Piece(Piece::one(shape, u, f64::INFINITY))
}

fn t(u: f64, dof: f64) -> Term {
    Term::Piece(Piece::one(Distribution::T, u, dof))
}

fn product(x: Distribution, y: Distribution) -> Term {
    let arm = Arm { slope: 0.0, product: 1.0, pieces: vec![Piece::one(x, 1.0, f64::INFINITY)] };
    Term::Star { centre: Piece::one(y, 1.0, f64::INFINITY), slope: 0.0, arms: vec![arm] }
}

fn mixes() -> Vec<(&'static str, Vec<Term>)> {
    use Distribution::{Arcsine, Normal, Rectangular};
    let rectangles =
        |widths: &[f64]| widths.iter().map(|it| piece(Rectangular, *it)).collect::<Vec<_>>();
    let with = |mut some: Vec<Term>, more: Vec<Term>| {
        some.extend(more);
        some
    };
    let eight = [1.0, 0.8, 0.5, 0.4, 0.3, 0.2, 0.1];
    let decades = [1.0, 1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7];
    vec![
        ("ten normals", (0..10).map(|_| piece(Normal, 1.0)).collect()),
        (
            "a rectangle and a normal 1e-4 of it",
            with(rectangles(&[1.0]), vec![piece(Normal, 1e-4)]),
        ),
        (
            "eight rectangles alike, two normals",
            with(
                rectangles(&eight),
                vec![piece(Normal, 0.3), piece(Normal, 0.1), piece(Rectangular, 0.7)],
            ),
        ),
        (
            "five wide rectangles, normal 1e-5",
            with(rectangles(&[1.0, 0.9, 0.8, 0.7, 0.6]), vec![piece(Normal, 1e-5)]),
        ),
        (
            "eight rectangles over decades, a normal",
            with(rectangles(&decades), vec![piece(Normal, 1e-3)]),
        ),
        ("ten equal rectangles", rectangles(&[1.0; 10])),
        (
            "two t and eight others",
            with(rectangles(&eight), vec![t(0.5, 9.0), t(0.3, 4.0), piece(Normal, 0.3)]),
        ),
        (
            "two t (even, broken) and eight others",
            with(rectangles(&eight), vec![t(0.5, 12.5), t(0.3, 50.0), piece(Normal, 0.3)]),
        ),
        (
            "two small t, a step dominates",
            with(rectangles(&[1.0, 0.1]), vec![t(0.05, 9.0), t(0.03, 4.0), piece(Normal, 0.05)]),
        ),
        ("a rectangle and t 1e-4 of it", with(rectangles(&[1.0]), vec![t(1e-4, 9.0)])),
        ("Cauchy and a rectangle", vec![t(1.0, 1.0), piece(Rectangular, 1.0)]),
        ("arcsine and a normal", vec![piece(Arcsine, 1.0), piece(Normal, 0.3)]),
        ("arcsine and a normal 1e-4 of it", vec![piece(Arcsine, 1.0), piece(Normal, 1e-4)]),
        ("arcsine and a rectangle", vec![piece(Arcsine, 1.0), piece(Rectangular, 0.3)]),
        ("three arcsines", vec![piece(Arcsine, 1.0), piece(Arcsine, 0.9), piece(Arcsine, 0.3)]),
        ("product of rectangles", vec![product(Rectangular, Rectangular)]),
        (
            "product of rectangles, rectangle, normal",
            vec![product(Rectangular, Rectangular), piece(Rectangular, 1.0), piece(Normal, 0.3)],
        ),
        ("product of normals", vec![product(Normal, Normal)]),
        ("product of rectangles, t", vec![product(Rectangular, Rectangular), t(1.0, 5.0)]),
    ]
}
