//! Statistics and tails against values that come from elsewhere.
//!
//! NIST StRD (certified to 15 digits), JCGM 100:2008, H.2, H.3 and H.5, and numpy, scipy and mpmath
//! (`tests/scripts/statistics.py` makes `tests/data/statistics.csv`, `chi_squared.csv` and
//! `f_tails.csv`). Comparisons with tails print the worst error they met; the docs quote it.

#![allow(clippy::unwrap_used, clippy::panic)]

use num_rational::BigRational;
use surebound::evidence::distribution::{beta, gamma};
use surebound::evidence::statistics::{
    Columns, Groups, Line, Weights, columns, groups, lag1, line, moments,
};
use surebound::quantity::Exact;

/// Reads a decimal exactly.
fn exact(text: &str) -> Exact {
    let (whole, places) = text.trim().split_once('.').unwrap_or((text.trim(), ""));
    let digits: num_bigint::BigInt = format!("{whole}{places}").parse().expect("digits");
    let power = num_bigint::BigInt::from(10).pow(places.len() as u32);
    Exact::new(BigRational::new(digits, power))
}

fn list(text: &str) -> Vec<Exact> {
    text.split_whitespace().map(exact).collect()
}

/// The readings of a file: a comment line, a line of names, one reading a line.
fn readings(text: &str) -> Vec<Exact> {
    text.lines().skip(2).map(exact).collect()
}

/// Whether a figure is the certified one in all 15 digits that are printed.
fn certified(got: f64, printed: &str) {
    let expected: f64 = printed.parse().expect("a number");
    let last = 0.5 * libm::pow(10.0, libm::floor(libm::log10(expected.abs())) - 14.0);
    assert!((got - expected).abs() <= 1.000_1 * last, "got {got:.17e}, certified {printed}");
}

/// Whether a figure rounds to the printed digits.
fn printed(got: f64, text: &str) {
    let places = text.split_once('.').map_or(0, |it| it.1.len());
    assert_eq!(format!("{got:.places$}"), text, "unrounded {got}");
}

fn close(got: f64, expected: f64, bound: f64, place: &str) {
    assert!((got - expected).abs() <= bound * expected.abs(), "{place}: {got:e}, not {expected:e}");
}

/// NIST StRD, univariate summary statistics: certified mean, s and lag-1 coefficient.
///
/// Method: M1, M51.
#[test]
fn univariate_sets_of_nist_have_their_certified_figures() {
    for (text, mean, s, r) in [
        (
            include_str!("data/nist_lew.csv"),
            "-177.435000000000",
            "277.332168044316",
            "-0.307304800605679",
        ),
        (
            include_str!("data/nist_mavro.csv"),
            "2.00185600000000",
            "0.000429123454003053",
            "0.937989183438248",
        ),
        (
            include_str!("data/nist_michelso.csv"),
            "299.852400000000",
            "0.0790105478190518",
            "0.535199668621283",
        ),
    ] {
        let data = readings(text);
        let got = moments(&data).unwrap();
        certified(got.mean.to_f64(), mean);
        certified(got.s(), s);
        certified(lag1(&data).unwrap(), r);
    }
}

/// NIST StRD, NumAcc1 to NumAcc4; the rules and the exact mean and s are certified, the lag-1 coefficient
/// is −1/2 and −999/1000 by hand: of deviations 0, ∓d, ±d … in 500 pairs all 999 products but the
/// first, which is 0, are −d².
#[test]
fn numerical_accuracy_sets_of_nist_have_their_exact_figures() {
    let one = list("10000001 10000003 10000002");
    let got = moments(&one).unwrap();
    assert_eq!((got.mean.clone(), got.s(), lag1(&one)), (exact("10000002"), 1.0, Some(-0.5)));
    for centre in ["1.2", "1000000.2", "10000000.2"] {
        let middle = exact(centre);
        let (low, high) = (middle.sub(&exact("0.1")).unwrap(), middle.add(&exact("0.1")).unwrap());
        let pairs = std::iter::repeat_n([low, high], 500).flatten();
        let data: Vec<Exact> = std::iter::once(middle).chain(pairs).collect();
        let got = moments(&data).unwrap();
        assert_eq!((got.n, got.mean.clone(), got.s()), (1001, exact(centre), 0.1), "{centre}");
        assert_eq!(lag1(&data), Some(-0.999), "{centre}");
    }
}

/// NIST StRD, linear regression, Norris; certified figures and data from memory, closing in all digits.
///
/// Method: M53.
#[test]
fn the_line_of_nist_has_its_certified_figures() {
    let pairs: Vec<(Exact, Exact)> = include_str!("data/nist_norris.csv")
        .lines()
        .skip(2)
        .map(|it| it.split_once(',').expect("two cells"))
        .map(|(x, y)| (exact(x), exact(y)))
        .collect();
    let (x, y): (Vec<Exact>, Vec<Exact>) = pairs.into_iter().unzip();
    let got = line(&x, &y, &Exact::zero(), Weights::Equal).unwrap();
    assert_eq!((got.n, got.dof), (36, 34.0));
    certified(got.intercept.to_f64(), "-0.262323073774029");
    certified(got.slope.to_f64(), "1.00211681802045");
    certified(got.u_intercept, "0.232818234301152");
    certified(got.u_slope, "0.000429796848199937");
    certified(got.residual_s.unwrap(), "0.884796396144373");
}

const H2: [&str; 5] = [
    "5.007 19.663 1.0456",
    "4.994 19.639 1.0438",
    "5.005 19.640 1.0468",
    "4.990 19.685 1.0428",
    "4.999 19.678 1.0433",
];

/// JCGM 100:2008, H.2, table H.2: means, their standard deviations and correlations, all as printed.
///
/// Method: M52.
#[test]
fn simultaneous_readings_of_jcgm_100_have_their_printed_figures() {
    let rows: Vec<Vec<Exact>> = H2.iter().map(|it| list(it)).collect();
    let Columns { n, means, standard_uncertainties: u, correlation: r, dof, covariance } =
        columns(&rows).unwrap();
    assert_eq!((n, dof), (5, 4.0));
    for (mean, text) in means.iter().zip(["4.9990", "19.6610", "1.04446"]) {
        printed(mean.to_f64(), text);
    }
    for (u, text) in u.iter().zip(["0.0032", "0.0095", "0.00075"]) {
        printed(*u, text);
    }
    for (i, j, text) in [(0, 1, "-0.36"), (0, 2, "0.86"), (1, 2, "-0.65")] {
        printed(r[i][j], text);
        close(covariance[i][j], r[i][j] * u[i] * u[j], 4e-16, "covariance");
    }
}

const H3_T: &str = "21.521 22.012 22.512 23.003 23.507 23.999 24.513 25.002 25.503 26.010 26.511";
const H3_B: &str = "-0.171 -0.169 -0.166 -0.159 -0.164 -0.165 -0.156 -0.157 -0.159 -0.161 -0.160";

/// u of the line `off` its reference by the law of propagation (JCGM 100:2008, equation (H.15)).
fn propagated(line: &Line, off: f64) -> f64 {
    let (a, b) = (line.u_intercept, off * line.u_slope);
    (a * a + b * b + 2.0 * a * b * line.correlation).sqrt()
}

/// JCGM 100:2008, H.3, table H.6: line, prediction at 30 °C, predicted corrections, and the line with the
/// reference in the mean, where intercept and slope are not correlated.
///
/// Method: M53.
#[test]
fn the_thermometer_line_of_jcgm_100_has_its_printed_figures() {
    let (t, b) = (list(H3_T), list(H3_B));
    let got = line(&t, &b, &exact("20"), Weights::Equal).unwrap();
    printed(got.intercept.to_f64(), "-0.1712");
    printed(got.u_intercept, "0.0029");
    printed(got.slope.to_f64(), "0.00218");
    printed(got.u_slope, "0.00067");
    printed(got.correlation, "-0.930");
    printed(got.residual_s.unwrap(), "0.0035");
    assert_eq!(got.dof, 9.0);
    let at_30 = got.intercept.add(&got.slope.mul(&exact("10"))).unwrap();
    printed(at_30.to_f64(), "-0.1494");
    printed(propagated(&got, 10.0), "0.0041");
    printed(propagated(&got, 10.0) * propagated(&got, 10.0) * 1e6, "17.1");
    // Table H.6, observed less predicted: b less these predictions.
    let predicted = [
        "-0.1679", "-0.1668", "-0.1657", "-0.1646", "-0.1635", "-0.1625", "-0.1614", "-0.1603",
        "-0.1592", "-0.1581", "-0.1570",
    ];
    for ((residual, b), text) in got.residuals.iter().zip(&b).zip(predicted) {
        printed(b.to_f64() - residual, text);
    }
    let mean = moments(&t).unwrap().mean;
    printed(mean.to_f64(), "24.0085");
    let centred = line(&t, &b, &mean, Weights::Equal).unwrap();
    assert_eq!((centred.correlation, &centred.slope), (0.0, &got.slope));
    printed(centred.intercept.to_f64(), "-0.1625");
    printed(centred.u_intercept, "0.0011");
    close(propagated(&centred, 30.0 - mean.to_f64()), propagated(&got, 10.0), 1e-13, "u(30 °C)");
}

/// Five readings with exactly the mean m and the standard deviation s: m + s·(−1, −1, 0, 1, 1).
fn day(m: i64, s: i64) -> Vec<Exact> {
    [-1, -1, 0, 1, 1].map(|it| Exact::from_integer(m + s * it)).to_vec()
}

fn h5() -> Groups {
    // Daily means in µV above 10 V and daily standard deviations in µV, table H.9.
    let means = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41];
    let scatters = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86];
    let days: Vec<Vec<Exact>> = means.iter().zip(scatters).map(|(m, s)| day(*m, s)).collect();
    for (s, readings) in scatters.iter().zip(&days) {
        assert_eq!(moments(readings).expect("five readings").s(), *s as f64);
    }
    groups(&days).expect("ten days with five readings each")
}

/// JCGM 100:2008, H.5, table H.9. F is 2.26 from the table's figures; the printed 2.25 is
/// 5·57²/85², from rounded ones.
///
/// Method: M55, M56.
#[test]
fn the_zener_standard_of_jcgm_100_has_its_printed_figures() {
    let got = h5();
    printed(10.0 + 1e-6 * got.grand_mean.to_f64(), "10.000097");
    assert_eq!(got.mean_of_means, got.grand_mean);
    printed(got.s_of_means, "57");
    printed(got.between_mean_square.sqrt(), "128");
    printed(got.within_s, "85");
    assert_eq!((got.between_dof, got.within_dof), (9.0, 40.0));
    printed(got.f.unwrap(), "2.26");
    printed(5.0 * 57.0 * 57.0 / (85.0 * 85.0), "2.25");
    // F lies between the printed quantiles F0.95(9, 40) = 2.12 and F0.975(9, 40) = 2.45.
    let p = got.f_probability.unwrap();
    assert!(0.025 < p && p < 0.05, "got {p}");
    printed(beta::f_survival(2.12, 9.0, 40.0).unwrap(), "0.05");
    printed(beta::f_survival(2.45, 9.0, 40.0).unwrap(), "0.025");
    printed(got.between_variance.sqrt(), "43");
    assert!(!got.between_is_negative);
    printed(got.result().s, "18");
    assert_eq!(got.result().dof, 9.0);
    // A later reading on a day of its own: s² = s_B² + s_W² = (42.6386 µV)² + (84.8870 µV)².
    let both = got.between_variance + got.within_s * got.within_s;
    close(got.single().s, both.sqrt(), 1e-15, "s of a single reading");
}

/// JCGM 100:2008, H.5.2.5 (number from memory): without an effect of the day all 50 readings are one sample,
/// s of the mean 13 µV with 49 degrees of freedom.
#[test]
fn without_an_effect_of_the_day_all_readings_are_one_sample() {
    let got = h5();
    let within = got.within_s * got.within_s * 40.0;
    let all = (within + 9.0 * got.between_mean_square) / 49.0;
    let means = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41];
    let scatters = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86];
    let flat: Vec<Exact> = means.iter().zip(scatters).flat_map(|(m, s)| day(*m, s)).collect();
    let whole = moments(&flat).unwrap();
    printed(whole.s_of_mean(50), "13");
    assert_eq!(whole.dof(), 49.0);
    close(whole.s() * whole.s(), all, 1e-15, "the squares add up");
}

/// A row of `statistics.csv`.
struct Row {
    case: &'static str,
    data: [&'static str; 3],
    values: Vec<f64>,
}

fn rows() -> Vec<Row> {
    let row = |text: &'static str| {
        let cells: Vec<&str> = text.split(',').collect();
        let values = cells[4..].iter().filter(|it| !it.is_empty());
        Row {
            case: cells[0],
            data: [cells[1], cells[2], cells[3]],
            values: values.map(|it| it.parse().expect("a number")).collect(),
        }
    };
    include_str!("data/statistics.csv").lines().skip(4).map(row).collect()
}

/// numpy's least squares, in double precision: 1e-12 is what it holds here.
///
/// Method: M53, M54.
#[test]
fn lines_agree_with_numpy() {
    let mut count = 0;
    for Row { case, data, values } in rows().iter().filter(|it| it.case.starts_with("line")) {
        let [x, y, u] = data.map(list);
        let weights: Vec<Exact> =
            u.iter().map(|it| Exact::from_integer(1).div(&it.mul(it)).unwrap()).collect();
        let weights = match *case {
            "line known" => Weights::Known(&u),
            "line relative" => Weights::Relative(&weights),
            _ => Weights::Equal,
        };
        let got = line(&x, &y, &Exact::zero(), weights).unwrap();
        let rest = match got.chi_squared {
            Some(it) => vec![it, got.chi_squared_probability.unwrap()],
            None => vec![got.residual_s.unwrap()],
        };
        let (a, b) = (got.intercept.to_f64(), got.slope.to_f64());
        let found = [vec![a, b, got.u_intercept, got.u_slope, got.correlation], rest].concat();
        assert_eq!(found.len(), values.len(), "{case}");
        for (index, (found, expected)) in found.iter().zip(values).enumerate() {
            close(*found, *expected, 1e-12, &format!("{case}, n {}, figure {index}", x.len()));
        }
        count += 1;
    }
    assert_eq!(count, 18);
}

/// numpy.cov and numpy.corrcoef.
#[test]
fn covariances_agree_with_numpy() {
    let mut count = 0;
    for Row { data, values, .. } in rows().iter().filter(|it| it.case == "columns") {
        let [x, y, u] = data.map(list);
        let rows: Vec<Vec<Exact>> =
            (0..x.len()).map(|it| vec![x[it].clone(), y[it].clone(), u[it].clone()]).collect();
        let got = columns(&rows).unwrap();
        let means = got.means.iter().map(Exact::to_f64);
        let pairs = [&got.covariance, &got.correlation].map(|it| [it[0][1], it[1][2]]).concat();
        for (found, expected) in means.chain(pairs).zip(values) {
            close(found, *expected, 2e-12, "columns");
        }
        count += 1;
    }
    assert_eq!(count, 6);
}

/// scipy.stats.f_oneway and the moments by numpy; n₀ by the same formula.
///
/// Method: M55.
#[test]
fn groups_agree_with_scipy() {
    let mut count = 0;
    for Row { data, values, .. } in rows().iter().filter(|it| it.case == "groups") {
        let lists: Vec<Vec<Exact>> = data[0].split('/').map(list).collect();
        let got = groups(&lists).unwrap();
        let square = got.within_s * got.within_s;
        let found = [
            got.f.unwrap(),
            got.f_probability.unwrap(),
            got.within_s,
            got.between_variance,
            got.s_of_means,
            got.mean_of_means.to_f64(),
            (got.between_mean_square - square) / got.between_variance,
        ];
        for (index, (found, expected)) in found.iter().zip(values).enumerate() {
            close(*found, *expected, 1e-11, &format!("{} groups, figure {index}", lists.len()));
        }
        count += 1;
    }
    assert_eq!(count, 5);
}

/// The largest error of a tail: relative where the tail is small, which is all below one half.
fn worst<const N: usize>(name: &str, text: &str, least: usize, got: fn(&[f64]) -> f64) -> f64 {
    let mut worst = (0.0, String::new());
    let mut count = 0;
    for line in text.lines().skip(2) {
        let cells: Vec<f64> = line.split(',').map(|it| it.parse().expect("a number")).collect();
        assert_eq!(cells.len(), N, "{line}");
        let error = (got(&cells[..N - 1]) / cells[N - 1] - 1.0).abs();
        assert!(error.is_finite(), "{line}");
        count += 1;
        if error > worst.0 {
            worst = (error, line.to_owned());
        }
    }
    println!("{name}: worst {:.2e} at {} ({count} values)", worst.0, worst.1);
    assert!(count >= least, "only {count} values");
    worst.0
}

/// Method: M54.
#[test]
fn chi_squared_tails_agree_with_reference() {
    let text = include_str!("data/chi_squared.csv");
    let got = |it: &[f64]| gamma::chi_squared_survival(it[1], it[0]).expect("in range");
    assert!(worst::<3>("chi-squared", text, 150, got) <= 1e-12);
}

/// Method: M55.
#[test]
fn f_tails_agree_with_reference() {
    let text = include_str!("data/f_tails.csv");
    let got = |it: &[f64]| beta::f_survival(it[2], it[0], it[1]).expect("in range");
    assert!(worst::<4>("F", text, 700, got) <= 1e-12);
}
