//! The exact interval against closed forms, direct integration and theory, through the public path.

#![allow(clippy::unwrap_used, clippy::panic)]

use proptest::prelude::*;
use std::f64::consts::PI;
use surebound::evidence::distribution::{normal, student};
use surebound::evidence::{Distribution, Piece};
use surebound::propagate::exact::{Arm, Interval, Refusal, Sum, Term};

const LEVELS: [f64; 8] = [0.5, 0.6827, 0.8, 0.9, 0.95, 0.9545, 0.99, 0.9999];

fn one(shape: Distribution, u: f64) -> Piece {
    Piece::one(shape, u, f64::INFINITY)
}

fn several(shape: Distribution, u: f64, count: usize) -> Vec<Term> {
    vec![Term::Piece(Piece { shape, standard_uncertainty: u, dof: f64::INFINITY, count })]
}

fn t(u: f64, dof: f64) -> Piece {
    Piece::one(Distribution::T, u, dof)
}

fn sum(pieces: &[Piece]) -> Sum {
    Sum::new(pieces.iter().copied().map(Term::Piece).collect()).unwrap()
}

fn product(x: Piece, y: Piece) -> Term {
    let arms = vec![Arm { slope: 0.0, product: 1.0, pieces: vec![x] }];
    Term::Star { centre: y, slope: 0.0, arms }
}

/// The stated bound holds and the promise of 1e-9 is kept.
fn assert_half_width(interval: Interval, expected: f64, name: &str) {
    let wrong = (interval.high / expected - 1.0).abs();
    assert!(wrong <= interval.relative_error + 4e-16, "{name}: {interval:?}, {expected}");
    assert!(interval.relative_error <= 1e-9, "{name}: {interval:?}");
    assert_eq!(interval.low, -interval.high, "{name}");
}

/// tan(πp/2), for p near 1.
fn cauchy_factor(p: f64) -> f64 {
    1.0 / libm::tan(0.5 * PI * (1.0 - p))
}

/// Reads `N:0.5`, `T:1:4` or another piece of `tests/scripts/exact_sums.py`.
fn piece(text: &str) -> Piece {
    let parts: Vec<&str> = text.split(':').collect();
    let u: f64 = parts[1].parse().unwrap();
    let parameter: f64 = parts.get(2).map_or(f64::INFINITY, |it| it.parse().unwrap());
    match parts[0] {
        "N" => one(Distribution::Normal, u),
        "T" => t(u, parameter),
        "R" => one(Distribution::Rectangular, u),
        "D" => one(Distribution::Triangular, u),
        "Z" => one(Distribution::Trapezoidal(parameter), u),
        "A" => one(Distribution::Arcsine, u),
        "C" => one(Distribution::CurvilinearTrapezoidal(parameter), u),
        other => panic!("no shape {other}"),
    }
}

fn term(text: &str) -> Term {
    let Some(star) = text.strip_prefix('*') else { return Term::Piece(piece(text)) };
    let words: Vec<&str> = star.split('/').collect();
    let number = |it: &str| it.parse::<f64>().unwrap();
    let arm = |it: &[&str]| Arm {
        slope: number(it[0]),
        product: number(it[1]),
        pieces: it[2].split('+').map(piece).collect(),
    };
    let arms = words[2..].chunks(3).map(arm).collect();
    Term::Star { centre: piece(words[0]), slope: number(words[1]), arms }
}

fn reference() -> Vec<(String, f64, f64)> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/exact_sums.csv");
    let text = std::fs::read_to_string(path).unwrap();
    let rows = text.lines().filter(|it| !it.starts_with('#')).skip(1);
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        (cells[0].to_owned(), cells[1].parse().unwrap(), cells[2].parse().unwrap())
    };
    rows.map(row).collect()
}

/// mpmath, direct integration with 30 digits: tests/scripts/exact_sums.py. The bound is
/// the one that is stated with each value, plus the rounding of the reference to binary64.
/// Method: M34, M35, M36, M38.
#[test]
fn probabilities_of_mixed_sums_agree_with_direct_integration() {
    let mut wrong = Vec::new();
    let mut last: Option<(String, Sum)> = None;
    let rows = reference();
    assert!(rows.len() > 150, "{} rows", rows.len());
    let (mut worst, mut largest) = (0.0, 0.0);
    for (mix, x, expected) in rows {
        let made = match last.take().filter(|it| it.0 == mix) {
            Some((_, sum)) => sum,
            None => Sum::new(mix.split(' ').map(term).collect()).unwrap(),
        };
        let upper = made.survival(x);
        let lower = made.cdf(x);
        let off = (upper.value - expected).abs();
        let relative = upper.error / (made.density(x) * x.abs());
        worst = f64::max(worst, off);
        largest = f64::max(largest, upper.error);
        if off > upper.error + f64::EPSILON * expected
            || (lower.value - (1.0 - expected)).abs() > lower.error + 2.3e-16
            || (relative > 1e-9 && (4e-5..0.999_96).contains(&expected))
        {
            wrong.push(format!(
                "{mix} at {x}: {upper:?} {lower:?}, {expected}, off {off:.1e}, k {relative:.1e}"
            ));
        }
        last = Some((mix, made));
    }
    println!("worst {worst:.1e}, largest bound {largest:.1e}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Irwin-Hall: JCGM 101:2008, 9.2.3: 2√3(2 − (3/5)^¼) for four of u = 1 at 95 %; 9.2.4: 17.0158140999 with
/// u = 10 for one of them (closed form, evaluated with mpmath). Method: M33.
#[test]
fn intervals_of_four_rectangles_are_those_of_jcgm_101() {
    let equal = Sum::new(several(Distribution::Rectangular, 1.0, 4)).unwrap();
    let expected = 2.0 * 3f64.sqrt() * (2.0 - 0.6f64.sqrt().sqrt());
    assert_half_width(equal.interval(0.95).unwrap(), expected, "9.2.3");
    let mut terms = several(Distribution::Rectangular, 1.0, 3);
    terms.extend(several(Distribution::Rectangular, 10.0, 1));
    let dominated = Sum::new(terms).unwrap().interval(0.95).unwrap();
    assert!((dominated.high - 17.015_814_099_9).abs() < 6e-11, "{dominated:?}");
    assert!(dominated.relative_error < 1e-12);
}

/// Closed forms by hand: rectangle √3·p; triangle √6(1 − √(1 − p)); trapezoid a(1 − √((1 − p)(1 − β²)))
/// beyond its top; arcsine √2·sin(πp/2); Cauchy tan(πp/2); normal and t by their own quantiles.
/// Method: M39.
#[test]
fn one_contributor_has_its_closed_form() {
    let top: f64 = 0.4;
    for p in LEVELS {
        let trapezoid = (6.0 / (1.0 + top * top)).sqrt();
        let inner = 0.5 * p * (1.0 + top);
        let at = if inner < top { inner } else { 1.0 - ((1.0 - p) * (1.0 - top * top)).sqrt() };
        let cases = [
            (one(Distribution::Rectangular, 1.0), 3f64.sqrt() * p),
            (one(Distribution::Triangular, 1.0), 6f64.sqrt() * (1.0 - (1.0 - p).sqrt())),
            (one(Distribution::Trapezoidal(top), 1.0), trapezoid * at),
            (one(Distribution::Arcsine, 1.0), 2f64.sqrt() * libm::sin(0.5 * PI * p)),
            (one(Distribution::Normal, 1.0), normal::two_sided_factor(p).unwrap()),
            (t(1.0, 1.0), cauchy_factor(p)),
            (t(1.0, 7.5), student::two_sided_factor(p, 7.5).unwrap()),
        ];
        for (piece, expected) in cases {
            let found = sum(&[piece]).interval(p).unwrap();
            assert_half_width(found, expected, &format!("{piece:?} at {p}"));
        }
    }
}

/// Sums of Cauchy variables are Cauchy, of normals normal, two equal rectangles are a triangle.
#[test]
fn stable_sums_have_closed_forms() {
    for p in LEVELS {
        let cauchy = sum(&[t(1.0, 1.0), t(0.5, 1.0), t(0.25, 1.0)]).interval(p).unwrap();
        assert_half_width(cauchy, 1.75 * cauchy_factor(p), "Cauchy");
        let normals = sum(&[one(Distribution::Normal, 3.0), one(Distribution::Normal, 4.0)]);
        let expected = 5.0 * normal::two_sided_factor(p).unwrap();
        assert_half_width(normals.interval(p).unwrap(), expected, "normals");
        let two = Sum::new(several(Distribution::Rectangular, 1.0, 2)).unwrap().interval(p);
        assert_half_width(two.unwrap(), 12f64.sqrt() * (1.0 - (1.0 - p).sqrt()), "triangle");
    }
}

/// The half-width w of a product of two rectangles ±√3: (1 − w/3 + w/3·ln(w/3)) = 1 − p, by hand; checked by
/// putting the interval found into it.
#[test]
fn the_product_of_two_rectangles_has_its_closed_form() {
    let rectangle = one(Distribution::Rectangular, 1.0);
    let made = Sum::new(vec![product(rectangle, rectangle)]).unwrap();
    for p in LEVELS {
        let interval = made.interval(p).unwrap();
        let z = interval.high / 3.0;
        let outside = 1.0 - z + z * libm::log(z);
        let slope = libm::log(z).abs() * z;
        let wrong = (outside - (1.0 - p)).abs() / slope;
        assert!(wrong < interval.relative_error + 1e-15 / slope, "{p}: {wrong:e}, {interval:?}");
    }
}

/// A hundred rectangles against two series of fewer: the same variance, and the sum itself in another order.
#[test]
fn many_pieces_are_counted() {
    let hundred = Sum::new(several(Distribution::Rectangular, 0.1, 100)).unwrap();
    let interval = hundred.interval(0.9545).unwrap();
    // Edgeworth: k is lower than the normal's by (k³ − 3k)·(6/5)/100/24 to first order; the next is 1e-5.
    let k = normal::two_sided_factor(0.9545).unwrap();
    let expected = k - (k * k * k - 3.0 * k) * 1.2 / 100.0 / 24.0;
    assert!((interval.high - expected).abs() < 2e-5, "{interval:?} {expected}");
    let twelve = Piece { count: 12, ..t(1.0, 5.0) };
    let together = sum(&[twelve]).interval(0.95).unwrap();
    let apart = sum(&[t(1.0, 5.0); 12]).interval(0.95).unwrap();
    assert_eq!(together, apart);
}

/// At 1e-10 of the other's, a scale changes k by less than 1e-10 of it: P(S > x + d) − P(|N| > d) etc.
#[test]
fn scales_ten_decades_apart_do_not_disturb_each_other() {
    let small = [
        one(Distribution::Normal, 1e-10),
        one(Distribution::Rectangular, 1e-10),
        one(Distribution::Arcsine, 1e-10),
        t(1e-10, 30.0),
        one(Distribution::CurvilinearTrapezoidal(0.2), 1e-10),
    ];
    for large in [one(Distribution::Rectangular, 1.0), t(1.0, 3.0), one(Distribution::Arcsine, 1.0)]
    {
        let alone = sum(&[large]).interval(0.95).unwrap();
        for little in small {
            let both = sum(&[large, little]).interval(0.95).unwrap();
            let change = (both.high / alone.high - 1.0).abs();
            assert!(change < 2e-9, "{large:?} {little:?}: {change:e}");
        }
    }
}

#[test]
fn what_cannot_be_is_refused_with_a_reason() {
    assert_eq!(Sum::new(Vec::new()).unwrap_err(), Refusal::Empty);
    let normal = one(Distribution::Normal, 1.0);
    assert_eq!(
        sum(&[normal]).interval(1.0).unwrap_err().to_string(),
        "`1` is not a probability between 0 and 1"
    );
    for bad in [
        t(1.0, 0.5),
        t(1.0, f64::NAN),
        one(Distribution::Normal, f64::INFINITY),
        one(Distribution::Normal, -1.0),
        one(Distribution::Trapezoidal(2.0), 1.0),
        one(Distribution::Sum { kurtosis: 3.0 }, 1.0),
    ] {
        let terms = vec![Term::Piece(normal), Term::Piece(bad)];
        assert_eq!(Sum::new(terms).unwrap_err(), Refusal::Piece { index: 1 }, "{bad:?}");
    }
    let several = Piece { count: 2, ..normal };
    assert_eq!(Sum::new(vec![product(normal, several)]).unwrap_err(), Refusal::Centre { index: 0 });
}

/// Arcsine has two humps, with a wide normal one; sums of unimodal symmetric shapes have one (Wintner).
/// Method: M40.
#[test]
fn humps_are_counted() {
    let arcsine = one(Distribution::Arcsine, 1.0);
    assert_eq!(sum(&[arcsine]).humps(), 2);
    assert_eq!(sum(&[arcsine, one(Distribution::Normal, 0.1)]).humps(), 2);
    assert!(sum(&[arcsine, one(Distribution::Normal, 1.5)]).is_unimodal());
    assert!(sum(&[one(Distribution::Rectangular, 1.0), t(0.1, 2.0)]).is_unimodal());
}

/// The lower tail of an asymmetric sum is that of its mirror image; both ends hold half of what is outside.
#[test]
fn an_asymmetric_interval_leaves_equal_probabilities_outside() {
    let star = |product: f64| {
        let arms =
            vec![Arm { slope: 1.0, product, pieces: vec![one(Distribution::Rectangular, 1.0)] }];
        Sum::new(vec![
            Term::Star { centre: one(Distribution::Normal, 1.0), slope: 0.5, arms },
            Term::Piece(one(Distribution::Normal, 0.2)),
        ])
        .unwrap()
    };
    let (sum, mirrored) = (star(0.25), star(-0.25));
    assert!(!sum.is_symmetric());
    let (found, other) = (sum.interval(0.95).unwrap(), mirrored.interval(0.95).unwrap());
    assert!((found.low + other.high).abs() < 1e-9 && (found.high + other.low).abs() < 1e-9);
    assert!((found.high + found.low).abs() > 0.01, "{found:?}");
    assert!((sum.survival(found.high).value - 0.025).abs() < 1e-11);
    assert!((sum.cdf(found.low).value - 0.025).abs() < 1e-11);
}

fn any_piece() -> impl Strategy<Value = Piece> {
    let shape = prop_oneof![
        Just(Distribution::Normal),
        Just(Distribution::T),
        Just(Distribution::Rectangular),
        Just(Distribution::Triangular),
        (0.0..1.0).prop_map(Distribution::Trapezoidal),
        (0.01..1.0).prop_map(Distribution::CurvilinearTrapezoidal),
        Just(Distribution::Arcsine),
    ];
    (shape, -1.0..0.0, 1.0..40.0).prop_map(|(shape, size, dof): (Distribution, f64, f64)| {
        Piece::one(shape, libm::pow(10.0, size), dof)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Symmetric, monotone, and the same whatever the order and, by powers of two, the unit.
    #[test]
    fn sums_are_symmetric_monotone_and_free_of_order_and_unit(
        pieces in prop::collection::vec(any_piece(), 2..5),
        x in 0.0..3.0_f64,
    ) {
        let made = sum(&pieces);
        let mut turned = pieces.clone();
        turned.reverse();
        prop_assert_eq!(sum(&turned).survival(x), made.survival(x));
        for it in &mut turned {
            it.standard_uncertainty *= 0.125;
        }
        prop_assert_eq!(sum(&turned).survival(0.125 * x), made.survival(x));
        let (here, there) = (made.survival(x), made.cdf(-x));
        prop_assert_eq!(here, there);
        let opposite = made.survival(-x);
        prop_assert!((here.value + opposite.value - 1.0).abs() <= here.error + opposite.error);
        let next = made.survival(x + 0.1);
        prop_assert!(next.value <= here.value + here.error + next.error);
        // 1e-9 of k, where the density times x is 0.01 or more; three rough shapes may take too much work
        // (docs/exact-interval.md).
        let is_rough = |it: &&Piece| {
            matches!(it.shape, Distribution::Arcsine | Distribution::CurvilinearTrapezoidal(_))
        };
        let rough = pieces.iter().filter(is_rough).count();
        prop_assert!(rough > 2 || here.error < 1e-11, "{here:?} {pieces:?}");
    }

    /// An interval holds what it says, by the probability beyond its end.
    #[test]
    fn intervals_hold_their_probability(
        pieces in prop::collection::vec(any_piece(), 1..5),
        p in 0.5..0.999_f64,
    ) {
        let made = sum(&pieces);
        let interval = made.interval(p).unwrap();
        let beyond = made.survival(interval.high);
        let slack = interval.relative_error * interval.high * made.density(interval.high);
        prop_assert!((beyond.value - 0.5 * (1.0 - p)).abs() <= beyond.error + 2.0 * slack + 1e-15);
    }
}
