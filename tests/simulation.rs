//! The Monte Carlo kernel against published runs, distributions and its own promises.
//!
//! Published: JCGM 101:2008, clause 9; a figure agrees if it is within half a unit of the last printed
//! digit and four standard errors of both runs. Every test has fixed seeds, and its threshold says how
//! often it would fail by chance.

#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/gauge_block.rs"]
mod gauge_block;

use gauge_block::source;
use statrs::distribution::{Beta, ContinuousCDF, Normal, StudentsT, Triangular, Uniform};
use surebound::evidence::{Distribution, Piece};
use surebound::fault::Origin;
use surebound::model::expr::{Expr, Function, Node, Operator};
use surebound::model::{Tape, TapeBuilder};
use surebound::propagate::simulation::{
    Broken, Experiment, Interval, Law, Outcome, Settings, Source, Target, run, tolerance,
};

const SEEDS: [u64; 5] = [1, 2, 3, 4, 5];
const TRIALS: u64 = 10_000_000;

fn settings(probability: f64, seed: u64) -> Settings {
    Settings {
        part: 1.0,
        probability,
        interval: Interval::Shortest,
        digits: 2,
        trials: Some(TRIALS),
        trials_max: TRIALS,
        seed,
        threads: 2,
    }
}

#[track_caller]
fn simulate(tape: &Tape, leaves: &[f64], sources: &[Source], settings: &Settings) -> Outcome {
    let experiment = Experiment { tape, leaves, sources };
    run(&experiment, settings, &|_| true).expect("a model with values everywhere")
}

fn piece(shape: Distribution, u: f64) -> Piece {
    Piece::one(shape, u, f64::INFINITY)
}

/// Returns the sum of the first leaves, each squared where asked for.
fn sum(leaves: usize, squared: bool) -> Tape {
    let mut tape = TapeBuilder::new();
    let mut terms = Vec::new();
    for leaf in 0..leaves {
        let slot = tape.leaf(leaf, Origin::NONE);
        terms.push(if squared { tape.multiply(slot, slot, Origin::NONE) } else { slot });
    }
    let total = terms[1..].iter().fold(terms[0], |sum, it| tape.add(sum, *it, Origin::NONE));
    tape.finish(total)
}

/// A published figure: what it is called, ours, its standard error, the printed one, half a unit of its
/// last digit, and the standard error of the published run.
type Figure<'a> = (&'a str, f64, f64, f64, f64, f64);

#[track_caller]
fn agrees((name, ours, error, printed, half, published): Figure) {
    let bound = half + 4.0 * (error * error + published * published).sqrt();
    assert!(
        (ours - printed).abs() <= bound,
        "{name}: {ours} ± {error}, printed {printed}, {bound}"
    );
}

/// Standard errors of a published run of `trials` trials, from ours: of u and of the shortest ends,
/// which settle with the square and the cube root of the number of trials.
fn published(outcome: &Outcome, trials: f64) -> (f64, [f64; 2], [f64; 2]) {
    let errors = outcome.errors.expect("many sequences");
    let ratio = outcome.trials as f64 / trials;
    let u = errors.standard_uncertainty.expect("a fourth moment") * ratio.sqrt();
    let symmetric = errors.symmetric.map(|it| it * ratio.sqrt());
    (u, symmetric, errors.shortest.map(|it| it * libm::cbrt(ratio)))
}

/// JCGM 101:2008, 9.2.2 to 9.2.4, Tables 2 to 4: sums of four; M of the runs that are compared: 10⁶.
/// The half-widths 3.92, 3.88 and 17.0 are those of the symmetric intervals.
///
/// Method: M44.
#[test]
fn sums_of_four_agree_with_the_published_tables() {
    let [normal, flat] = [Distribution::Normal, Distribution::Rectangular];
    let cases = [
        ("9.2.2", normal, 1.0, (2.00, 0.005), (3.92, 0.005)),
        ("9.2.3", flat, 1.0, (2.00, 0.005), (3.88, 0.005)),
        ("9.2.4", flat, 10.0, (10.1, 0.05), (17.0, 0.05)),
    ];
    let tape = sum(4, false);
    for (name, shape, last, (u, half_u), (half_width, half)) in cases {
        let sources: Vec<Source> = (0..4)
            .map(|i| source(&format!("X{i}"), i, piece(shape, if i == 3 { last } else { 1.0 })))
            .collect();
        for seed in SEEDS {
            let ours = simulate(&tape, &[0.0; 4], &sources, &settings(0.95, seed));
            let errors = ours.errors.expect("many sequences");
            let (u_printed, ends_printed, _) = published(&ours, 1e6);
            let mean = ours.mean.expect("no t");
            agrees((name, mean, errors.mean.expect("no t"), 0.0, 0.005, u / 1e3));
            let own = ours.standard_uncertainty.expect("no t");
            agrees((name, own, errors.standard_uncertainty.expect("no t"), u, half_u, u_printed));
            for (end, sign) in [(0, -1.0), (1, 1.0)] {
                let (got, error) = (ours.symmetric[end], errors.symmetric[end]);
                agrees((name, got, error, sign * half_width, half, ends_printed[end]));
            }
        }
    }
}

/// JCGM 101:2008, 9.4.2, Table 8 and its text, r = 0, in 10⁻⁶: mean and u are analytic, the shortest
/// intervals those of a run of 10⁶ trials (number from memory).
#[test]
fn comparison_losses_agree_with_the_published_table() {
    let cases = [
        (0.0, 50.0, 50.0, [0.0, 150.0]),
        (0.01, 150.0, 112.0, [0.0, 367.0]),
        (0.05, 2550.0, 502.0, [1590.0, 3543.0]),
    ];
    let tape = sum(2, true);
    let normal = piece(Distribution::Normal, 0.005e3);
    let sources = [source("X1", 0, normal), source("X2", 1, normal)];
    for (x1, mean, u, shortest) in cases {
        for seed in SEEDS {
            let ours = simulate(&tape, &[x1 * 1e3, 0.0], &sources, &settings(0.95, seed));
            let errors = ours.errors.expect("many sequences");
            let (_, _, ends) = published(&ours, 1e6);
            agrees(("mean", ours.mean.expect("no t"), errors.mean.expect("no t"), mean, 0.5, 0.0));
            let own = ours.standard_uncertainty.expect("no t");
            let error = errors.standard_uncertainty.expect("no t");
            agrees(("u", own, error, u, 0.5, 0.0));
            for end in [0, 1] {
                let (got, error) = (ours.shortest[end], errors.shortest[end]);
                agrees(("end", got, error, shortest[end], 0.5, ends[end]));
            }
            // ΔY/25 is χ² with two degrees of freedom where x1 = 0: quantiles -50·ln(1 - p).
            if x1 == 0.0 {
                for (end, p) in [(0, 0.025), (1, 0.975)] {
                    let exact = -50.0 * libm::log1p(-p);
                    agrees(("χ²", ours.symmetric[end], errors.symmetric[end], exact, 1e-3, 0.0));
                }
            }
        }
    }
}

/// JCGM 101:2008, 9.5.4, Table 11: both models, 838, 36 and [745, 932] nm at 99 %. The published run was
/// adaptive with δ = 0.5 nm, twice the standard error: its figures have a standard error of 0.25 nm.
/// The symmetric ends and u are also those of numpy (`tests/scripts/numpy_simulation.py`, 10⁷ trials,
/// seed 1, whose errors are ours).
#[test]
fn gauge_block_agrees_with_the_published_table() {
    let sources = gauge_block::sources();
    for (linear, numpy_u, numpy) in NUMPY {
        let tape = gauge_block::tape(linear);
        for seed in SEEDS {
            let ours = simulate(&tape, &gauge_block::LEAVES, &sources, &settings(0.99, seed));
            let errors = ours.errors.expect("many sequences");
            let (mean, u) = (ours.mean.expect("ν > 1"), ours.standard_uncertainty.expect("ν > 2"));
            let (mean_error, u_error) =
                (errors.mean.expect("ν > 2"), errors.standard_uncertainty.expect("ν > 4"));
            agrees(("mean", mean, mean_error, 838.0, 0.5, 0.25));
            agrees(("u", u, u_error, 36.0, 0.5, 0.25));
            agrees(("u, numpy", u, u_error, numpy_u, 0.0, u_error));
            for (end, printed) in [(0, 745.0), (1, 932.0)] {
                agrees(("end", ours.shortest[end], errors.shortest[end], printed, 0.5, 0.25));
                let (got, error) = (ours.symmetric[end], errors.symmetric[end]);
                agrees(("end, numpy", got, error, numpy[end], 0.0, error));
            }
        }
    }
}

const NUMPY: [(bool, f64, [f64; 2]); 2] =
    [(true, 35.8036, [744.3568, 931.5756]), (false, 35.8037, [744.3567, 931.5768])];

/// The Kolmogorov-Smirnov statistic of a million draws on a grid of 801 points stays below 1.95/√n but
/// once in a thousand times; u within four and a half of its standard errors but seven times in a
/// million.
///
/// Method: M41.
#[test]
fn shapes_have_the_distribution_of_their_name() {
    let normal = Normal::new(0.0, 1.0).expect("valid");
    let t = |dof| StudentsT::new(0.0, 1.0, dof).expect("valid");
    let (a, b, c) = (3f64.sqrt(), 6f64.sqrt(), 2f64.sqrt());
    let flat = Uniform::new(-a, a).expect("valid");
    let triangle = Triangular::new(-b, b, 0.0).expect("valid");
    let arc = Beta::new(0.5, 0.5).expect("valid");
    type Cdf<'a> = Box<dyn Fn(f64) -> f64 + 'a>;
    let mut cases: Vec<(Distribution, f64, Cdf)> = vec![
        (Distribution::Normal, f64::INFINITY, Box::new(|x| normal.cdf(x))),
        (Distribution::T, f64::INFINITY, Box::new(|x| normal.cdf(x))),
        (Distribution::T, 1e12, Box::new(|x| normal.cdf(x))),
        (Distribution::Rectangular, 0.0, Box::new(|x| flat.cdf(x))),
        (Distribution::Triangular, 0.0, Box::new(|x| triangle.cdf(x))),
        (Distribution::Arcsine, 0.0, Box::new(|x| arc.cdf(((x / c + 1.0) / 2.0).clamp(0.0, 1.0)))),
    ];
    for dof in [1.0, 1.5, 2.0, 3.0, 5.0, 18.0, 250.5] {
        let t = t(dof);
        cases.push((Distribution::T, dof, Box::new(move |x| t.cdf(x))));
    }
    for top in [0.0, 0.3, 0.9, 1.0] {
        cases.push((Distribution::Trapezoidal(top), 0.0, Box::new(move |x| trapezoid(top, x))));
    }
    for ratio in [0.1, 0.5, 1.0] {
        let shape = Distribution::CurvilinearTrapezoidal(ratio);
        cases.push((shape, 0.0, Box::new(move |x| curvilinear(ratio, x))));
    }
    for (shape, dof, cdf) in &cases {
        let sources = [source("x", 0, Piece::one(*shape, 1.0, *dof))];
        let settings = Settings { trials: Some(1_000_000), ..settings(0.95, 11) };
        let ours = simulate(&sum(1, false), &[0.0], &sources, &settings);
        assert!(distance(&ours, cdf) < 1.95e-3, "{shape:?} {dof}: {}", distance(&ours, cdf));
        if *shape != Distribution::T {
            let u = ours.standard_uncertainty.expect("not t");
            let error = ours.errors.and_then(|it| it.standard_uncertainty).expect("not t");
            assert!((u - 1.0).abs() < 4.5 * error, "{shape:?}: {u} ± {error}");
        }
    }
}

/// Returns the largest distance of a run's distribution from another one, between -10 and 10.
fn distance(outcome: &Outcome, cdf: &dyn Fn(f64) -> f64) -> f64 {
    let off = |x: f64| (outcome.histogram.share_below(x) - cdf(x)).abs();
    (-400..=400).map(|i| off(f64::from(i) / 40.0 + 1e-3)).fold(0.0, f64::max)
}

/// The integral of the density: ramp, top, ramp; by hand.
fn trapezoid(top: f64, x: f64) -> f64 {
    let half = (6.0 / (1.0 + top * top)).sqrt();
    let (x, flip) = (x.abs() / half, x < 0.0);
    let above = if x >= 1.0 {
        0.0
    } else if x > top {
        (1.0 - x) * (1.0 - x) / (2.0 * (1.0 - top) * (1.0 + top))
    } else {
        0.5 - x / (1.0 + top)
    };
    if flip { above } else { 1.0 - above }
}

/// The integral of the density of JCGM 101:2008, 6.4.3.2: flat to 1 - r, then ln((1 + r)/x)/(4r); by hand.
fn curvilinear(ratio: f64, x: f64) -> f64 {
    let half = (3.0 / (1.0 + ratio * ratio / 3.0)).sqrt();
    let (x, flip) = (x.abs() / half, x < 0.0);
    let (top, base) = (1.0 - ratio, 1.0 + ratio);
    let ramp = |x: f64| {
        let part = if x > 0.0 { x * libm::log(base / x) } else { 0.0 };
        (base - x - part) / (4.0 * ratio)
    };
    let above = if x >= base {
        0.0
    } else if x >= top {
        ramp(x)
    } else {
        0.5 - (0.5 - ramp(top)) * x / top
    };
    if flip { above } else { 1.0 - above }
}

fn bits(outcome: &Outcome) -> Vec<u64> {
    let errors = outcome.errors.expect("many sequences");
    let all = [
        &[outcome.mean.expect("ν > 1"), outcome.standard_uncertainty.expect("ν > 2")][..],
        &[outcome.median],
        &outcome.symmetric,
        &outcome.shortest,
        &errors.symmetric,
        &errors.shortest,
        &outcome.histogram.density(700.0, 1000.0, 50),
    ];
    all.concat().iter().map(|it| it.to_bits()).collect()
}

#[test]
fn neither_threads_nor_the_order_of_sources_change_a_bit() {
    let tape = gauge_block::tape(false);
    let mut sources = gauge_block::sources();
    for trials in [Some(765_432), None] {
        let of = |sources: &[Source], threads| {
            let settings = Settings { trials, threads, ..settings(0.95, 9) };
            let outcome = simulate(&tape, &gauge_block::LEAVES, sources, &settings);
            (bits(&outcome), outcome.trials, outcome.stabilised)
        };
        let expected = of(&sources, 1);
        assert_eq!(expected.2, trials.is_none());
        assert_eq!(of(&sources, 2), expected);
        assert_eq!(of(&sources, 8), expected);
        sources.reverse();
        assert_eq!(of(&sources, 3), expected);
        sources.swap(1, 4);
        assert_eq!(of(&sources, 1), expected);
        let other = simulate(&tape, &gauge_block::LEAVES, &sources, &settings(0.95, 10));
        assert_ne!(bits(&other), expected.0);
    }
}

/// JCGM 101:2008, 7.9: δ of one digit of u; with ν ≤ 4 the ends alone decide, with ν ≤ 2 there is no u.
/// The interval must then be within δ of the exact one (twice the standard error is): three times δ
/// for six standard errors.
///
/// Method: M45.
#[test]
fn adaptive_procedure_stops_for_any_degrees_of_freedom() {
    for dof in [1.0, 1.5, 2.0, 3.0, 4.0, 5.0] {
        let sources = [source("x", 0, Piece::one(Distribution::T, 1.0, dof))];
        let adaptive = Settings {
            trials: None,
            digits: 1,
            interval: Interval::Symmetric,
            trials_max: 100_000_000,
            ..settings(0.95, 3)
        };
        let ours = simulate(&sum(1, false), &[0.0], &sources, &adaptive);
        assert!(ours.stabilised && !ours.stopped && ours.trials < 100_000_000, "{dof}");
        assert_eq!(ours.standard_uncertainty.is_some(), dof > 2.0, "{dof}");
        assert_eq!(ours.undetermined.is_some(), dof <= 2.0, "{dof}");
        assert_eq!(ours.mean.is_some(), dof > 1.0, "{dof}");
        let errors = ours.errors.expect("many sequences");
        assert_eq!(errors.standard_uncertainty.is_some(), dof > 4.0, "{dof}");
        let exact = StudentsT::new(0.0, 1.0, dof).expect("valid").inverse_cdf(0.975);
        let delta = ours.tolerance.expect("a spread");
        for (end, sign) in [(0, -1.0), (1, 1.0)] {
            let off = (ours.symmetric[end] - sign * exact).abs();
            assert!(off < 3.0 * delta + ours.bin_error, "{dof}: {off}, δ {delta}");
        }
    }
}

#[test]
fn gives_up_at_the_largest_number_of_trials() {
    let sources = [source("x", 0, Piece::one(Distribution::T, 1.0, 3.0))];
    for (most, expected) in [(300_000, 300_000), (255_000, 250_000), (5_000, 5_000)] {
        let adaptive = Settings { trials: None, trials_max: most, ..settings(0.95, 3) };
        let ours = simulate(&sum(1, false), &[0.0], &sources, &adaptive);
        assert_eq!((ours.stabilised, ours.trials), (false, expected));
    }
}

/// The watch sees the trials go by and stops the run; what was done by then is the result.
#[test]
fn a_watch_stops_the_run() {
    let tape = gauge_block::tape(true);
    let sources = gauge_block::sources();
    let experiment = Experiment { tape: &tape, leaves: &gauge_block::LEAVES, sources: &sources };
    let stopped = run(&experiment, &settings(0.95, 1), &|done| done < 200_000);
    let stopped = stopped.expect("something was done");
    assert!(stopped.stopped && !stopped.stabilised);
    assert!((200_000..=220_000).contains(&stopped.trials), "{}", stopped.trials);
}

/// Leaves 0, 1, …, linked by one correlation between all; the factor is that of Cholesky, by hand.
fn linked(count: usize, r: f64, margin: Piece, joint_t: Option<f64>) -> Source {
    let mut factor = vec![vec![0.0; count]; count];
    for row in 0..count {
        for column in 0..=row {
            let sum: f64 = (0..column).map(|k| factor[k][row] * factor[k][column]).sum();
            factor[column][row] =
                if row == column { (1.0 - sum).sqrt() } else { (r - sum) / factor[column][column] };
        }
    }
    let targets = (0..count).map(|leaf| Target { leaf, factor: 1.0 }).collect();
    let law = Law::Linked { factor, margins: vec![margin; count], joint_t };
    Source { name: "linked".into(), place: Some("25 mm".into()), law, targets }
}

/// A sum of a multivariate t is a t whose scale is the root of 1ᵀR1, whatever the number of margins;
/// likewise for normals. A margin of a copula is what it was. Kolmogorov-Smirnov as above.
///
/// Method: M42.
#[test]
fn linked_draws_have_their_joint_distribution() {
    let of = |tape: &Tape, leaves: usize, source: Source| {
        let settings = Settings { trials: Some(1_000_000), ..settings(0.95, 21) };
        simulate(tape, &vec![0.0; leaves], &[source], &settings)
    };
    for count in [1, 2, 3, 4, 5] {
        let n = count as f64;
        let scale = (n + n * (n - 1.0) * 0.6).sqrt();
        let normal = Normal::new(0.0, scale).expect("valid");
        let margin = piece(Distribution::Normal, 1.0);
        let ours = of(&sum(count, false), count, linked(count, 0.6, margin, None));
        assert!(distance(&ours, &|x| normal.cdf(x)) < 1.95e-3, "{count}");
        for dof in [1.0, 3.5] {
            let t = StudentsT::new(0.0, scale, dof).expect("valid");
            let margin = Piece::one(Distribution::T, 1.0, dof);
            let ours = of(&sum(count, false), count, linked(count, 0.6, margin, Some(dof)));
            assert!(distance(&ours, &|x| t.cdf(x)) < 1.95e-3, "{count} {dof}");
        }
    }
    let t = StudentsT::new(0.0, 1.0, 4.0).expect("valid");
    let flat = Uniform::new(-(3f64.sqrt()), 3f64.sqrt()).expect("valid");
    type Cdf<'a> = &'a dyn Fn(f64) -> f64;
    let cases: [(Distribution, Cdf); 5] = [
        (Distribution::T, &|x| t.cdf(x)),
        (Distribution::Rectangular, &|x| flat.cdf(x)),
        (Distribution::Trapezoidal(0.3), &|x| trapezoid(0.3, x)),
        (Distribution::CurvilinearTrapezoidal(0.5), &|x| curvilinear(0.5, x)),
        (Distribution::CurvilinearTrapezoidal(1.0), &|x| curvilinear(1.0, x)),
    ];
    for (shape, cdf) in cases {
        // The tape reads the second leaf alone.
        let mut tape = TapeBuilder::new();
        let second = tape.leaf(1, Origin::NONE);
        let margin = Piece::one(shape, 1.0, 4.0);
        let ours = of(&tape.finish(second), 2, linked(2, 0.8, margin, None));
        assert!(distance(&ours, cdf) < 1.95e-3, "{shape:?}");
    }
    // Two equal rectangles: the sum is twice as wide; opposite ones cancel.
    let margin = piece(Distribution::Rectangular, 1.0);
    let ours = of(&sum(2, false), 2, linked(2, 1.0 - 1e-12, margin, None));
    let wide = Uniform::new(-2.0 * 3f64.sqrt(), 2.0 * 3f64.sqrt()).expect("valid");
    assert!(distance(&ours, &|x| wide.cdf(x)) < 1.95e-3);
}

/// x ~ N(1, 0.5) is negative with probability Φ(-2) = 0.0228: ln(x) has no value there. The share is
/// within five standard errors of that, and the fault is at the function.
#[test]
fn a_model_without_a_value_is_refused_with_the_share() {
    let name = Expr::name("x", Origin::node(7));
    let node = Node::Call(Function::Ln, vec![name]);
    let mut tape = TapeBuilder::new();
    let leaf = tape.leaf(0, Origin::NONE);
    let expr = Expr { node, origin: Origin::node(5) };
    let output = tape.expr(&expr, &|_| Some(leaf)).expect("a known name");
    let tape = tape.finish(output);
    let sources = [source("x", 0, piece(Distribution::Normal, 0.5))];
    let experiment = Experiment { tape: &tape, leaves: &[1.0], sources: &sources };
    let broken = run(&experiment, &settings(0.95, 1), &|_| true).expect_err("ln of below 0");
    let text = broken.to_string();
    let Broken::Undefined { trials, undefined, fault } = broken else { panic!("{text}") };
    let share = undefined as f64 / trials as f64;
    assert!((share - 0.02275).abs() < 5.0 * (0.02275 / trials as f64).sqrt(), "{share}");
    assert_eq!(fault.origin, Origin::node(5));
    assert!(fault.message().starts_with("`ln` of -"), "{}", fault.message());
    assert!(text.contains("the model has no value in"), "{text}");
}

#[test]
fn refuses_what_cannot_be_drawn() {
    let tape = sum(2, false);
    let good = source("x", 0, piece(Distribution::Normal, 1.0));
    let refuse = |sources: &[Source], settings: Settings| {
        let experiment = Experiment { tape: &tape, leaves: &[0.0; 2], sources };
        run(&experiment, &settings, &|_| true).expect_err("refused").to_string()
    };
    let piece_of = |shape, u, dof| source("x", 0, Piece::one(shape, u, dof));
    let ok = settings(0.95, 1);
    for (sources, what) in [
        (vec![good.clone(), good.clone()], "another source has its name"),
        (vec![piece_of(Distribution::Normal, 0.0, 1.0)], "not a finite number above 0"),
        (vec![piece_of(Distribution::T, 1.0, 0.5)], "below 1"),
        (vec![piece_of(Distribution::Exact, 1.0, 1.0)], "not a single piece"),
        (vec![piece_of(Distribution::Trapezoidal(1.5), 1.0, 1.0)], "between 0 and 1"),
        (vec![source("x", 9, piece(Distribution::Normal, 1.0))], "a target is unknown"),
        (vec![linked(2, 0.5, piece(Distribution::Normal, 1.0), Some(3.0))], "same dof"),
    ] {
        let text = refuse(&sources, ok);
        assert!(text.starts_with('`') && text.contains(what), "{text}");
    }
    let one = std::slice::from_ref(&good);
    for settings in [
        Settings { probability: 1.0, ..ok },
        Settings { trials: Some(1), ..ok },
        Settings { trials: None, digits: 3, ..ok },
        Settings { trials: None, probability: 0.999_99, ..ok },
    ] {
        refuse(one, settings);
    }
}

/// The same name at another place, or shared, has draws of its own: their difference has √2 the u.
#[test]
fn places_have_draws_of_their_own() {
    let mut tape = TapeBuilder::new();
    let (a, b) = (tape.leaf(0, Origin::NONE), tape.leaf(1, Origin::NONE));
    let difference = tape.binary(Operator::Subtract, a, b, Origin::NONE);
    let tape = tape.finish(difference);
    let first = source("x", 0, piece(Distribution::Normal, 1.0));
    let mut second = source("x", 1, piece(Distribution::Normal, 1.0));
    second.place = Some(String::new());
    let settings = Settings { trials: Some(1_000_000), ..settings(0.95, 1) };
    let ours = simulate(&tape, &[0.0; 2], &[first, second], &settings);
    let u = ours.standard_uncertainty.expect("no t");
    assert!((u - 2f64.sqrt()).abs() < 5e-3, "{u}");
}

/// JCGM 101:2008, 7.9.2, examples 1 to 3; then rounding that carries, by hand.
///
/// Method: M46.
#[test]
fn tolerance_is_half_of_the_last_digit_of_u() {
    for (u, digits, expected) in [
        (0.00035, 2, 0.000_005),
        (0.00035, 1, 0.000_05),
        (2.0, 1, 0.5),
        (0.0999, 2, 0.005),
        (0.0994, 2, 0.000_5),
        (35.8, 2, 0.5),
    ] {
        assert_eq!(tolerance(u, digits), Some(expected), "{u} {digits}");
    }
    for u in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(tolerance(u, 2), None);
    }
}
