//! Corners of the risks over a population: figures that make no distribution, poles, exact and simulated
//! densities, counts of ten million.

// The whole file is a test; 1.0472 is a limit like any other.
#![allow(clippy::unwrap_used, clippy::panic, clippy::approx_constant)]

use std::sync::Arc;
use surebound::budget::Shape;
use surebound::decide::global::{
    NoBand, NoSpread, Prior, Share, acceptance_probability, clopper_pearson, from_tur_two_percent,
    guard_band_for_consumer, guard_band_for_posterior, posterior_risk, risks, spread_for_share,
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
const NORMAL: f64 = f64::INFINITY;

fn normal(u: f64) -> Density {
    Density::T { u, dof: NORMAL }
}

fn close(got: f64, expected: f64, bound: f64, place: &str) {
    assert!((got / expected - 1.0).abs() <= bound, "{place}: got {got:e}, expected {expected:e}");
}

/// The exact density of a rectangle of half-width 0.4, or of a normal.
fn exact(shape: Distribution, u: f64) -> Density {
    let term = Term::Piece(Piece::one(shape, u, NORMAL));
    Density::Exact(Arc::new(Sum::new(vec![term]).unwrap()))
}

/// A million draws of a normal.
fn simulated(u: f64) -> Density {
    let sources = [Source {
        name: "x".to_owned(),
        place: None,
        law: Law::Pieces(vec![Piece::one(Distribution::Normal, u, NORMAL)]),
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
    let outcome = run(&experiment, &settings, &|_| true).unwrap();
    Density::Simulated(Arc::new(Shares::new(&outcome.histogram, 0.0)))
}

#[test]
fn figures_that_make_no_distribution_have_no_risk() {
    let good = Prior::Normal { mean: 0.0, sd: 0.5 };
    let bounded = |low, high, shape| Prior::Bounded { low, high, shape };
    for prior in [
        Prior::Normal { mean: 0.0, sd: 0.0 },
        Prior::Normal { mean: 0.0, sd: -1.0 },
        Prior::Normal { mean: f64::NAN, sd: 1.0 },
        Prior::Normal { mean: 0.0, sd: f64::INFINITY },
        bounded(1.0, 1.0, Shape::Rectangular),
        bounded(1.0, -1.0, Shape::Arcsine),
        bounded(-1.0, 1.0, Shape::Trapezoidal(1.5)),
        bounded(-1.0, 1.0, Shape::Curvilinear(0.5)),
    ] {
        assert_eq!(risks(&prior, BOTH, Some(BOTH), &normal(0.1)), None, "{prior:?}");
        assert_eq!(posterior_risk(&prior, 0.9, BOTH, &normal(0.1)), None, "{prior:?}");
        let band = guard_band_for_consumer(0.02, &prior, BOTH, &normal(0.1));
        assert_eq!(band, Err(NoBand::Unknown), "{prior:?}");
    }
    for (u, dof) in [(0.0, 5.0), (-1.0, 5.0), (f64::NAN, 5.0), (0.1, 0.5), (0.1, f64::NAN)] {
        let density = Density::T { u, dof };
        assert_eq!(risks(&good, BOTH, Some(BOTH), &density), None, "{u} {dof}");
        assert_eq!(acceptance_probability(0.0, Some(BOTH), &density), None, "{u} {dof}");
        assert_eq!(posterior_risk(&good, 0.9, BOTH, &density), None, "{u} {dof}");
    }
    assert_eq!(acceptance_probability(f64::NAN, Some(BOTH), &normal(0.1)), None);
    assert_eq!(acceptance_probability(0.0, None, &normal(0.1)), Some(0.0));
    for tur in [f64::NAN, 0.0, -4.0] {
        assert!(from_tur_two_percent(tur, 1.0).is_nan(), "{tur}: unknown is no width");
    }
    for share in [0.0, 1.0, 1.5, -0.1, f64::NAN] {
        for of in [Share::Actual, Share::Observed] {
            let got = spread_for_share(share, of, 0.0, BOTH, &normal(0.1));
            assert_eq!(got, Err(NoSpread::NoShare), "{share}");
        }
    }
}

/// An arcsine from −1.25 to 1.125, tolerance and acceptance ±1, u = 0.05: mpmath, 40 digits, over the angle. The
/// poles at the ends hold 1e-8 of the whole within the last bit of their places.
/// Method: M90.
#[test]
fn poles_at_the_ends_keep_their_digits() {
    let prior = Prior::Bounded { low: -1.25, high: 1.125, shape: Shape::Arcsine };
    let got = risks(&prior, BOTH, Some(BOTH), &normal(0.05)).unwrap();
    close(got.consumer, 0.023_716_528_333_576_84, 1e-10, "consumer");
    close(got.producer, 0.019_174_202_968_011_355, 1e-10, "producer");
    // All of a population is accepted or not: what is measured by nearly nothing has the mass of the prior.
    for (low, high) in [(0.85, 2.15), (-0.2546, -0.13037), (-2.7696, 1.0372)] {
        let prior = Prior::Bounded { low, high, shape: Shape::Arcsine };
        for dof in [1.0, 10.0, NORMAL] {
            let density = Density::T { u: 0.2, dof };
            let got = risks(&prior, (None, None), Some(BOTH), &density).unwrap();
            close(got.accepted + got.producer, 1.0, 1e-12, "arcsine");
        }
    }
}

/// A rectangle of half-width 0.4 as density, population N(0.1, 0.51²), tolerance and acceptance at most 1; the
/// posterior at a reading of 0.8 is the population between 0.4 and 1.2: mpmath, 40 digits.
#[test]
fn an_exact_density_counts_as_it_is() {
    let density = exact(Distribution::Rectangular, 0.4 / 3.0_f64.sqrt());
    let prior = Prior::Normal { mean: 0.1, sd: 0.51 };
    let most = (None, Some(1.0));
    let got = risks(&prior, most, Some(most), &density).unwrap();
    close(got.consumer, 0.010_558_642_817_422_396, 1e-7, "consumer");
    close(got.producer, 0.025_782_211_982_186_873, 1e-7, "producer");
    let got = posterior_risk(&prior, 0.8, most, &density).unwrap();
    close(got, 0.088_695_419_328_447_13, 1e-6, "posterior");
}

/// A normal told as an exact density has the figures of the normal, down to a risk of 1e-8; a simulated one has them
/// as far as a million trials go: consumer's risk is a mean of 1e6·R trials at least.
#[test]
fn a_normal_told_in_another_way_has_the_same_risks() {
    for (sd, u) in [(0.51, 0.2), (0.3, 0.125), (0.2, 0.05)] {
        let prior = Prior::Normal { mean: 0.1, sd };
        let all = |density: &Density| {
            let got = risks(&prior, BOTH, Some(BOTH), density).unwrap();
            let band = guard_band_for_consumer(0.25 * got.consumer, &prior, BOTH, density).unwrap();
            [got.consumer, got.producer, got.accepted, band]
        };
        let posterior = |density: &Density| {
            let risk = posterior_risk(&prior, 0.9, BOTH, density).unwrap();
            let band = guard_band_for_posterior(0.5 * risk, &prior, BOTH, density).unwrap();
            [risk, band]
        };
        let (closed, closed_posterior) = (all(&normal(u)), posterior(&normal(u)));
        let told = exact(Distribution::Normal, u);
        for (got, expected) in all(&told).iter().zip(closed) {
            close(*got, expected, 1e-6, "exact");
        }
        for (got, expected) in posterior(&told).iter().zip(closed_posterior) {
            close(*got, expected, 1e-5, "exact, posterior");
        }
        let drawn = simulated(u);
        for (got, expected) in all(&drawn).iter().zip(closed) {
            close(*got, expected, 0.01, "simulated");
        }
        for (got, expected) in posterior(&drawn).iter().zip(closed_posterior) {
            close(*got, expected, 0.05, "simulated, posterior");
        }
    }
}

/// Bounds of few among ten million: scipy.stats.beta.ppf and isf, 16 digits; relative, as 8.8e-7 asks for.
#[test]
fn few_of_ten_million_keep_nine_digits() {
    let (low, high) = clopper_pearson(3, 10_000_000, 0.95).unwrap();
    close(low, 6.186_721_656_250_593e-8, 1e-9, "low");
    close(high, 8.767_270_541_303_176e-7, 1e-9, "high");
    let (_, high) = clopper_pearson(0, 10_000_000, 0.95).unwrap();
    close(high, 3.688_878_773_722_438e-7, 1e-9, "high of none");
}
