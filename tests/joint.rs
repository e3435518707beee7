//! Joint conformity against values that come from elsewhere, and its properties.
//!
//! Reads `tests/data/joint_boxes.csv` (`tests/scripts/joint_boxes.py` says how each value was got; none as the
//! kernel gets it). Each comparison prints its error (`cargo test --test joint -- --nocapture`); the error that
//! the kernel states has to cover what is found, and is bounded itself.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::sync::Arc;

use proptest::prelude::*;
use surebound::decide::joint::{Joint, Method, Point, Refused, Rest, Shared, dense, probability};
use surebound::evidence::{Distribution, Piece};

/// Reads the table: probability and error of each case.
fn reference() -> BTreeMap<String, (f64, f64)> {
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        (cells[0].to_owned(), (cells[1].parse().unwrap(), cells[2].parse().unwrap()))
    };
    include_str!("data/joint_boxes.csv").lines().skip(2).map(row).collect()
}

/// Compares with a case: the stated error covers the difference and is at most `bound`.
fn agrees(name: &str, got: Joint, bound: f64) {
    let table = reference();
    let (expected, own) = *table.get(name).unwrap_or_else(|| panic!("no case {name}"));
    let difference = (got.probability - expected).abs();
    println!("{name}: off {difference:.1e}, stated {:.1e}, {:?}", got.error, got.method);
    assert!(difference <= got.error + own, "{name}: {got:?}, expected {expected}");
    assert!(got.error <= bound, "{name}: {got:?}");
}

/// Estimate, loading and own part of point i, as `spread` of the script.
fn spread(i: usize) -> (f64, f64, f64) {
    let i = i as f64;
    (
        0.3 * (1.0 + i).sin_(),
        0.35 + 0.1 * (2.0 * i + std::f64::consts::FRAC_PI_2).sin_(),
        0.2 + 0.05 * (3.0 * i).sin_(),
    )
}

/// `libm` under the name that the formulas use.
trait Sine {
    fn sin_(self) -> f64;
}

impl Sine for f64 {
    fn sin_(self) -> f64 {
        libm::sin(self)
    }
}

fn point(limit: f64, estimate: f64, loadings: Vec<f64>, rest: Rest) -> Point {
    Point { low: Some(-limit), high: Some(limit), estimate, loadings, products: Vec::new(), rest }
}

/// n points with one shared unknown, whose loading is multiplied.
fn points(n: usize, factor: f64, rest: impl Fn(f64) -> Rest) -> Vec<Point> {
    let one = |i| {
        let (e, b, s) = spread(i);
        point(1.0, e, vec![b * factor], rest(s))
    };
    (0..n).map(one).collect()
}

/// n points over m factors, as `loadings` of the script.
fn factors(n: usize, m: usize) -> Vec<Point> {
    let loading = |i: usize, j: usize| 0.4 / (j + 1) as f64 * libm::cos(1.0 + (i * (j + 1)) as f64);
    let one = |i| {
        let (e, _, s) = spread(i);
        point(1.0, e, (0..m).map(|j| loading(i, j)).collect(), Rest::Normal(s))
    };
    (0..n).map(one).collect()
}

fn normal() -> Shared {
    Shared::Piece(Piece::one(Distribution::Normal, 1.0, f64::INFINITY))
}

fn rectangle(half: f64) -> Shared {
    Shared::Piece(Piece::one(Distribution::Rectangular, half / 3f64.sqrt(), f64::INFINITY))
}

fn t(dof: f64) -> Shared {
    Shared::Piece(Piece::one(Distribution::T, 1.0, dof))
}

fn own_rectangle(half: f64) -> Rest {
    Rest::Pieces(vec![Piece::one(Distribution::Rectangular, half / 3f64.sqrt(), 1.0)])
}

/// One shared unknown of several shapes, up to 60 points, own parts normal, rectangular or minute.
///
/// Method: M47, M48.
#[test]
fn one_shared_unknown_agrees_with_reference_to_eleven_digits() {
    for n in [2, 3, 5, 10, 60] {
        let got = probability(&[normal()], &points(n, 1.0, Rest::Normal)).unwrap();
        agrees(&format!("one_factor_{n}"), got, 1e-11);
    }
    let got = probability(&[rectangle(1.0)], &points(60, 1.5, Rest::Normal)).unwrap();
    agrees("rectangular_shared_60", got, 1e-11);
    for v in [1.0, 4.0] {
        let got = probability(&[t(v)], &points(10, 1.0, |_| own_rectangle(0.3))).unwrap();
        agrees(&format!("t_shared_{v}"), got, 1e-11);
    }
    let arcsine = Piece::one(Distribution::Arcsine, 1.0 / 2f64.sqrt(), 1.0);
    let got = probability(&[Shared::Piece(arcsine)], &points(10, 2.0, Rest::Normal)).unwrap();
    agrees("arcsine_shared_10", got, 1e-11);
    let mut upper = points(10, 1.0, Rest::Normal);
    upper.iter_mut().for_each(|it| (it.low, it.high) = (None, Some(0.5)));
    agrees("one_sided_10", probability(&[normal()], &upper).unwrap(), 1e-11);
    let sharp = points(5, 1.0, |s| Rest::Normal(s / 100.0));
    agrees("sharp_5", probability(&[normal()], &sharp).unwrap(), 1e-11);
}

/// Two and three shared unknowns, normal and rectangular, and a product of two (a difference of temperature
/// times a doubtful coefficient).
///
/// Method: M48.
#[test]
fn two_and_three_shared_unknowns_agree_with_reference() {
    for (m, bound) in [(2, 1e-9), (3, 1e-6)] {
        let got = probability(&vec![normal(); m], &factors(10, m)).unwrap();
        agrees(&format!("factors_10_{m}"), got, bound);
        let got = probability(&vec![rectangle(1.5); m], &factors(10, m)).unwrap();
        agrees(&format!("rectangles_10_{m}"), got, bound);
    }
    agrees("factors_60_3", probability(&[normal(); 3], &factors(60, 3)).unwrap(), 1e-6);
    let thermal = |i| {
        let (e, b, s) = spread(i);
        let mut it = point(0.6, 0.5 * e, vec![0.2, 0.0], Rest::Normal(s));
        it.products = vec![(1, 0, 0.9 * b)];
        it
    };
    let points: Vec<Point> = (0..10).map(thermal).collect();
    agrees("thermal_10", probability(&[rectangle(1.0), rectangle(1.0)], &points).unwrap(), 1e-9);
}

/// Five factors: normal ones against multivariate_normal (where five merge into fewer, the quadrature is at
/// work), rectangular ones against a tensor rule.
///
/// Method: M49.
#[test]
fn five_shared_unknowns_agree_with_reference_by_the_lattice() {
    for n in [2, 3, 5, 10] {
        let got = probability(&[normal(); 5], &factors(n, 5)).unwrap();
        // Three digits are read; the cap of the lattice is met before its tolerance of 3e-5 is.
        agrees(&format!("box_{n}_5"), got, 5e-5);
    }
    let got = probability(&[rectangle(1.5); 5], &factors(10, 5)).unwrap();
    assert_eq!(got.method, Method::Lattice(5));
    agrees("rectangles_10_5", got, 5e-5);
}

/// No point has anything for itself: polygons under a normal and a t law with two columns, boxes under t with
/// as many columns as points.
///
/// Method: M48, M49.
#[test]
fn points_without_a_rest_agree_with_reference() {
    let side = |i: usize| {
        let angle = std::f64::consts::PI * i as f64 / 7.0;
        point(1.5, 0.0, vec![libm::cos(angle), libm::sin(angle)], Rest::None)
    };
    let polygon: Vec<Point> = (0..7).map(side).collect();
    agrees("polygon_7", probability(&[normal(), normal()], &polygon).unwrap(), 1e-9);
    let joint = |columns, dof| [Shared::Joint { columns, dof }];
    agrees("student_polygon_7", probability(&joint(2, 3.0), &polygon).unwrap(), 1e-6);
    agrees("polygon_7", probability(&joint(2, f64::INFINITY), &polygon).unwrap(), 1e-9);
    for n in [2, 5] {
        let unit = |i: usize| (0..n).map(|j| f64::from(u8::from(i == j))).collect();
        let points: Vec<Point> = (0..n).map(|i| point(2.0, 0.0, unit(i), Rest::None)).collect();
        let got = probability(&joint(n, 5.0), &points).unwrap();
        agrees(&format!("student_box_{n}"), got, 2e-5);
    }
}

/// Equicorrelated normals by separation of variables against the one-factor formula by mpmath, which shares
/// nothing with it; and the covariances of five factors against scipy.
///
/// Method: M50.
#[test]
fn a_dense_covariance_agrees_with_reference() {
    let equal = |n: usize, r: f64, k: f64| {
        let row = |i: usize| (0..n).map(|j| if i == j { 1.0 } else { r }).collect();
        let covariance: Vec<Vec<f64>> = (0..n).map(row).collect();
        dense(&covariance, &vec![Some(-k); n], &vec![Some(k); n]).unwrap()
    };
    for n in [3, 5, 10] {
        for r in [0.2, 0.5, 0.95] {
            agrees(&format!("equicorrelated_{n}_{r}"), equal(n, r, 1.5), 2e-5);
        }
    }
    agrees("equicorrelated_60_0.5", equal(60, 0.5, 2.5), 1e-3);
    for n in [2, 3, 5, 10] {
        let points = factors(n, 5);
        let (covariance, low, high) = as_covariance(&points);
        agrees(&format!("box_{n}_5"), dense(&covariance, &low, &high).unwrap(), 2e-5);
    }
}

/// Lower or upper limits.
type Sides = Vec<Option<f64>>;

/// Returns the covariance of points over standard normal factors, and their limits about zero.
fn as_covariance(points: &[Point]) -> (Vec<Vec<f64>>, Sides, Sides) {
    let own = |it: &Point| if let Rest::Normal(s) = it.rest { s } else { 0.0 };
    let entry = |i: usize, j: usize| {
        let dot: f64 =
            points[i].loadings.iter().zip(&points[j].loadings).map(|it| it.0 * it.1).sum();
        if i == j { dot + own(&points[i]) * own(&points[i]) } else { dot }
    };
    let row = |i| (0..points.len()).map(|j| entry(i, j)).collect();
    let low = points.iter().map(|it| it.low.map(|low| low - it.estimate)).collect();
    let high = points.iter().map(|it| it.high.map(|high| high - it.estimate)).collect();
    ((0..points.len()).map(row).collect(), low, high)
}

/// A semidefinite matrix: three differences of which the third is the sum of the others. Against the
/// quadrature over two factors, which treats points without a rest in another way.
#[test]
fn a_semidefinite_covariance_narrows_what_is_left() {
    let loadings = [[1.0, 0.0], [0.3, 0.8], [1.3, 0.8]];
    let points: Vec<Point> =
        loadings.iter().map(|it| point(1.2, 0.1, it.to_vec(), Rest::None)).collect();
    let nested = probability(&[normal(), normal()], &points).unwrap();
    let (covariance, low, high) = as_covariance(&points);
    let got = dense(&covariance, &low, &high).unwrap();
    assert_eq!(got.method, Method::Separation(1));
    assert!(
        (got.probability - nested.probability).abs() <= got.error + nested.error,
        "{got:?} {nested:?}"
    );
    assert!(got.error < 1e-5 && nested.error < 1e-9);
}

/// Nothing shared, or loadings zero: the product, in both ways of asking.
#[test]
fn a_diagonal_covariance_gives_the_product() {
    let apart = points(10, 0.0, Rest::Normal);
    let got = probability(&[normal()], &apart).unwrap();
    assert_eq!(got.method, Method::Product);
    assert!((got.probability - got.independent_product).abs() < 1e-15, "{got:?}");
    let (covariance, low, high) = as_covariance(&apart);
    let other = dense(&covariance, &low, &high).unwrap();
    assert!((other.probability - got.probability).abs() < 1e-13, "{other:?}, {got:?}");
}

/// One error that all points have, with the same limits: as probable as one point alone; P = 2Φ(1.5) − 1
/// by mpmath 0.86638559746228386799.
#[test]
fn a_perfectly_shared_error_gives_the_probability_of_one_point() {
    let same: Vec<Point> = (0..60).map(|_| point(1.5, 0.0, vec![1.0], Rest::None)).collect();
    let got = probability(&[normal()], &same).unwrap();
    assert!((got.probability - 0.866_385_597_462_283_9).abs() < 1e-14, "{got:?}");
    assert!(got.independent_product < 0.001, "{got:?}");
    let same = vec![vec![1.0; 5]; 5];
    let got = dense(&same, &[Some(-1.5); 5], &[Some(1.5); 5]).unwrap();
    assert!((got.probability - 0.866_385_597_462_283_9).abs() < 1e-14, "{got:?}");
}

/// A rest handed over as a function, or as a sum of pieces, is the same as its closed form: a rectangle and
/// a normal against a private rectangle given as one more shared unknown of that point.
#[test]
fn a_rest_of_several_pieces_is_their_sum() {
    let rectangle_piece = Piece::one(Distribution::Rectangular, 0.3, 1.0);
    let t_piece = Piece::one(Distribution::T, 0.1, 3.0);
    for second in [
        Piece::one(Distribution::Normal, 0.15, 1.0),
        t_piece,
        Piece::one(Distribution::Rectangular, 0.25, 1.0),
    ] {
        let together = Rest::Pieces(vec![rectangle_piece, second]);
        let whole = probability(&[normal()], &[point(0.7, 0.2, vec![0.4], together)]).unwrap();
        let apart = [normal(), Shared::Piece(rectangle_piece), Shared::Piece(second)];
        let split =
            probability(&apart, &[point(0.7, 0.2, vec![0.4, 1.0, 1.0], Rest::None)]).unwrap();
        let off = (whole.probability - split.probability).abs();
        println!("{second:?}: off {off:.1e}, {split:?}");
        assert!(off < whole.error + split.error && whole.error < 1e-7, "{whole:?}, {split:?}");
    }
    let closed = probability(&[normal()], &points(5, 1.0, |_| Rest::Normal(0.2))).unwrap();
    let wrapped: surebound::decide::joint::Between = Arc::new(|low, high| {
        surebound::evidence::distribution::normal::between(low / 0.2, high / 0.2)
    });
    let other =
        probability(&[normal()], &points(5, 1.0, |_| Rest::Other(wrapped.clone()))).unwrap();
    assert!((closed.probability - other.probability).abs() < 1e-12, "{closed:?}, {other:?}");
}

/// Two and three equal rectangles in one piece.
#[test]
fn a_count_is_a_sum_of_that_many() {
    let two = Piece { count: 2, ..Piece::one(Distribution::Rectangular, 1.0 / 3f64.sqrt(), 1.0) };
    let got =
        probability(&[Shared::Piece(two)], &[point(1.0, 0.0, vec![1.0], Rest::None)]).unwrap();
    // Triangle of half-width 2: P(|x| < 1) = 3/4, by hand.
    assert!((got.probability - 0.75).abs() < 1e-14, "{got:?}");
    let three = Piece { count: 3, ..two };
    let got =
        probability(&[Shared::Piece(three)], &[point(1.0, 0.0, vec![1.0], Rest::None)]).unwrap();
    // Irwin-Hall of three, half-widths 1: P(|x| < 1) = 2/3, by hand.
    assert!((got.probability - 2.0 / 3.0).abs() < 1e-11, "{got:?}");
}

#[test]
fn refuses_what_is_out_of_range() {
    let fine = || points(3, 1.0, Rest::Normal);
    let spoilt = |spoil: fn(&mut Point)| {
        let mut all = fine();
        spoil(&mut all[1]);
        probability(&[normal()], &all).unwrap_err()
    };
    assert_eq!(spoilt(|it| it.estimate = f64::NAN), Refused::Number { point: 1 });
    assert_eq!(spoilt(|it| it.rest = Rest::Normal(-1.0)), Refused::Number { point: 1 });
    assert_eq!(
        spoilt(|it| it.rest = Rest::T { scale: 1.0, dof: 0.5 }),
        Refused::Number { point: 1 }
    );
    assert_eq!(spoilt(|it| it.low = Some(1.1)), Refused::Limits { point: 1 });
    assert_eq!(spoilt(|it| it.products = vec![(0, 1, 1.0)]), Refused::Product { point: 1 });
    let expected = Refused::Loadings { point: 1, found: 2, expected: 1 };
    assert_eq!(spoilt(|it| it.loadings.push(1.0)), expected);
    assert_eq!(spoilt(|it| it.rest = Rest::Other(Arc::new(|_, _| 1.5))), Refused::NoProbability);
    let bad = Shared::Joint { columns: 1, dof: 0.0 };
    assert_eq!(probability(&[bad], &fine()).unwrap_err(), Refused::Shared { index: 0 });
    let box_of = |matrix: [[f64; 2]; 2]| {
        let matrix: Vec<Vec<f64>> = matrix.iter().map(|it| it.to_vec()).collect();
        dense(&matrix, &[Some(-1.0); 2], &[Some(1.0); 2]).unwrap_err()
    };
    assert_eq!(box_of([[1.0, 1.1], [1.1, 1.0]]), Refused::Covariance { row: 0 });
    assert_eq!(box_of([[1.0, 0.1], [0.2, 1.0]]), Refused::Covariance { row: 0 });
    assert_eq!(dense(&[vec![1.0]], &[], &[]).unwrap_err(), Refused::Size { row: 0 });
}

/// A corner of the integrand just inside the end of a panel, where no node lies: once off by 1e-7 at a
/// stated error of 1e-10. Expected: mpmath, over the closed distribution function of t with ν = 4 and both
/// rectangles, 20 digits.
#[test]
fn a_corner_at_the_end_of_a_panel_is_not_missed() {
    let rest =
        Rest::Pieces(vec![Piece::one(Distribution::Rectangular, 0.028_867_513_459_481_29, 1.0)]);
    let inside = point(1.0, 0.0, vec![0.0, -0.275_651_753_058_930_25], Rest::None);
    let edge = point(1.0, 0.0, vec![0.539_804_539_532_121_8, 0.345_855_256_815_259_6], rest);
    let got = probability(&[t(4.0), rectangle(1.0)], &[inside, edge]).unwrap();
    assert!((got.probability - 0.848_232_059_926_326_3).abs() < 1e-10, "{got:?}");
}

fn any_points() -> impl Strategy<Value = Vec<Point>> {
    let rest = prop_oneof![
        Just(0.0).prop_map(|_| Rest::None),
        (0.05..0.5_f64).prop_map(Rest::Normal),
        (0.05..0.5_f64).prop_map(own_rectangle),
        (0.05..0.5_f64).prop_map(|scale| Rest::T { scale, dof: 3.0 }),
    ];
    let one = (-0.5..0.5_f64, -0.6..0.6_f64, -0.4..0.4_f64, rest)
        .prop_map(|(e, a, b, rest)| point(1.0, e, vec![a, b], rest));
    proptest::collection::vec(one, 1..6)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// P is at most that of any point alone, and a further point cannot raise it.
    #[test]
    fn a_further_point_cannot_raise_the_probability(points in any_points()) {
        let shared = [t(4.0), rectangle(1.0)];
        let whole = probability(&shared, &points).unwrap();
        let fewer = probability(&shared, &points[1..]).unwrap();
        let slack = whole.error + fewer.error + 1e-12;
        prop_assert!(whole.probability <= fewer.probability + slack, "{whole:?} {fewer:?}");
        for one in &points {
            let alone = probability(&shared, std::slice::from_ref(one)).unwrap();
            prop_assert!(whole.probability <= alone.probability + whole.error + alone.error);
        }
        prop_assert!(whole.error < 2e-5, "{whole:?}");
    }

    /// The order of the points and of the shared unknowns, and the unit (here a power of ten), do not matter.
    #[test]
    fn order_and_unit_do_not_matter(points in any_points(), unit in prop_oneof![Just(1e-6), Just(1e3)]) {
        let shared = [t(4.0), rectangle(1.0)];
        let whole = probability(&shared, &points).unwrap();
        let turned: Vec<Point> = points.iter().rev().map(|it| {
            let rest = match &it.rest {
                Rest::Normal(s) => Rest::Normal(s * unit),
                Rest::T { scale, dof } => Rest::T { scale: scale * unit, dof: *dof },
                Rest::Pieces(all) => {
                    let scaled = |it: &Piece| Piece { standard_uncertainty: it.standard_uncertainty * unit, ..*it };
                    Rest::Pieces(all.iter().map(scaled).collect())
                }
                other => other.clone(),
            };
            let loadings = it.loadings.iter().rev().map(|it| it * unit).collect();
            let limits = (it.low.map(|it| it * unit), it.high.map(|it| it * unit));
            Point { low: limits.0, high: limits.1, estimate: it.estimate * unit, loadings, products: vec![], rest }
        }).collect();
        let other = probability(&[rectangle(1.0), t(4.0)], &turned).unwrap();
        let slack = whole.error + other.error + 1e-12;
        prop_assert!((whole.probability - other.probability).abs() <= slack, "{whole:?} {other:?}");
    }
}
