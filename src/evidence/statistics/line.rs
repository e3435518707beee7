//! A straight line through calibration data by least squares.
//!
//! The line is y = intercept + slope·(x − reference). With weights w, W = Σw, weighted means x̄, ȳ
//! and sums S_xy = Σw(x − x̄)(y − ȳ): slope = S_xy/S_xx, intercept = ȳ − slope·(x̄ − reference).
//! Intercept and slope are exact: nothing is solved with rounded numbers.
//!
//! Sources: JCGM 100:2008, H.3 (equal weights); weights 1/u² are common practice (least squares).

use super::Trouble;
use super::sample::{Sample, correlation, count, root};
use crate::evidence::distribution::gamma;
use crate::quantity::Exact;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Zero};

/// Bits kept of a weight 1/u²: the fractions of many different u have no short denominator.
const WEIGHT_BITS: i64 = 192;

/// What is known of the scatter of the ordinates.
#[derive(Debug, Clone, Copy)]
pub enum Weights<'a> {
    /// All scatter alike; by how much, the residuals say.
    Equal,
    /// The reciprocals of their variances are as these plain numbers; the scale, the residuals say.
    Relative(&'a [Exact]),
    /// Their standard uncertainties; the residuals are a test of them.
    Known(&'a [Exact]),
}

/// A line y = intercept + slope·(x − reference).
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// How many points there are.
    pub n: usize,
    /// The ordinate at the reference abscissa.
    pub intercept: Exact,
    /// The slope.
    pub slope: Exact,
    /// The standard uncertainty of the intercept.
    pub u_intercept: f64,
    /// The standard uncertainty of the slope.
    pub u_slope: f64,
    /// The correlation of intercept and slope; depends on the abscissae alone.
    pub correlation: f64,
    /// The degrees of freedom: n − 2, infinite for known uncertainties.
    pub dof: f64,
    /// The standard deviation of an observation of weight 1; `None` for known uncertainties.
    pub residual_s: Option<f64>,
    /// Ordinate minus line, in the order of the points.
    pub residuals: Vec<f64>,
    /// Sum of the squares of residuals over uncertainties; only for more than two points with known
    /// uncertainties.
    pub chi_squared: Option<f64>,
    /// The probability of a larger χ² with n − 2 degrees of freedom, where there is one.
    pub chi_squared_probability: Option<f64>,
}

/// The weighted sums that everything follows from, as rational factors.
struct Sums {
    weight: BigRational,
    x: BigRational,
    y: BigRational,
    xx: BigRational,
    xy: BigRational,
    yy: BigRational,
}

/// Returns the line of least squares through points.
///
/// Exact up to one rounding; weights 1/u² are taken with 192 bits.
///
/// # Errors
///
/// [`Trouble::Lengths`], [`Trouble::TooFew`] (three points; two with known uncertainties),
/// [`Trouble::OneAbscissa`], [`Trouble::NotPositive`] for a weight or an uncertainty,
/// [`Trouble::NoCommonUnit`].
///
/// Method: M53.
pub fn line(
    x: &[Exact],
    y: &[Exact],
    reference: &Exact,
    weights: Weights,
) -> Result<Line, Trouble> {
    let known = matches!(weights, Weights::Known(_));
    check(x, y, weights)?;
    let (xs, ys) = (Sample::new(x)?, Sample::new(y)?);
    if !reference.is_zero() && reference.pi_power() != xs.pi_power() {
        return Err(Trouble::NoCommonUnit(0));
    }
    let sums = sums(&xs, &ys, &weights_of(weights, x.len(), ys.pi_power())?);
    if sums.xx.is_zero() {
        return Err(Trouble::OneAbscissa);
    }
    let n = x.len();
    let slope = &sums.xy / &sums.xx;
    let off = &sums.x - reference.ratio();
    let intercept = &sums.y - &slope * &off;
    let squares = &sums.yy - &slope * &sums.xy;
    let variance = if known { BigRational::one() } else { &squares / count(n - 2) };
    // u² of intercept and slope and their covariance, all divided by the variance of weight 1.
    let (of_intercept, of_slope) = (sums.weight.recip() + &off * &off / &sums.xx, sums.xx.recip());
    let shared = -&off * &of_slope;
    let slope_power = ys.pi_power() - xs.pi_power();
    let chi_squared = (known && n > 2).then(|| Exact::new(squares.clone()).to_f64());
    Ok(Line {
        n,
        u_intercept: root(&(&variance * &of_intercept), ys.pi_power()),
        u_slope: root(&(&variance * &of_slope), slope_power),
        correlation: correlation(&shared, &of_intercept, &of_slope),
        dof: if known { f64::INFINITY } else { n as f64 - 2.0 },
        residual_s: (!known).then(|| root(&variance, ys.pi_power())),
        residuals: residuals(&xs, &ys, &slope, &(&sums.y - &slope * &sums.x)),
        chi_squared,
        chi_squared_probability: chi_squared.and_then(|it| excess(it, n)),
        intercept: Exact::with_pi(intercept, ys.pi_power()),
        slope: Exact::with_pi(slope, slope_power),
    })
}

/// Returns ordinate minus line, the line being at `start` for x = 0; each rounded once.
///
/// All are whole numbers over one denominator that is never reduced.
fn residuals(xs: &Sample, ys: &Sample, slope: &BigRational, start: &BigRational) -> Vec<f64> {
    let ((x, below_x), (y, below_y)) = (xs.whole(), ys.whole());
    let of_x = slope.numer() * below_y * start.denom();
    let of_y = slope.denom() * below_x * start.denom();
    let constant = start.numer() * below_y * slope.denom() * below_x;
    let below = &of_y * below_y;
    let residual = |(x, y): (&BigInt, &BigInt)| {
        let ratio = BigRational::new_raw(y * &of_y - &constant - x * &of_x, below.clone());
        Exact::with_pi(ratio, ys.pi_power()).to_f64()
    };
    x.iter().zip(y).map(residual).collect()
}

/// Returns the probability that the residuals of `n` points with right uncertainties give a larger χ².
///
/// Method: M54.
fn excess(chi_squared: f64, n: usize) -> Option<f64> {
    gamma::chi_squared_survival(chi_squared, n as f64 - 2.0)
}

/// Refuses lists of different length, too few points, weights that are none.
fn check(x: &[Exact], y: &[Exact], weights: Weights) -> Result<(), Trouble> {
    let (list, needed) = match weights {
        Weights::Equal => (None, 3),
        Weights::Relative(list) => (Some(list), 3),
        Weights::Known(list) => (Some(list), 2),
    };
    let lengths = std::iter::once(y.len()).chain(list.map(<[Exact]>::len));
    if let Some(found) = lengths.into_iter().find(|it| *it != x.len()) {
        return Err(Trouble::Lengths { found, expected: x.len() });
    }
    if x.len() < needed {
        return Err(Trouble::TooFew { found: x.len(), needed });
    }
    let bad = list.and_then(|it| it.iter().position(|it| it.is_zero() || it.is_negative()));
    bad.map_or(Ok(()), |index| Err(Trouble::NotPositive(index)))
}

/// Returns the weights; those of uncertainties belong to ordinates with the given power of π.
fn weights_of(weights: Weights, n: usize, pi_power: i32) -> Result<Sample, Trouble> {
    match weights {
        Weights::Equal => Ok(Sample::of(vec![BigRational::one(); n].iter())),
        Weights::Relative(list) => match list.iter().position(|it| it.pi_power() != 0) {
            None => Sample::new(list),
            Some(index) => Err(Trouble::NoCommonUnit(index)),
        },
        Weights::Known(list) => {
            if let Some(index) = list.iter().position(|it| it.pi_power() != pi_power) {
                return Err(Trouble::NoCommonUnit(index));
            }
            Ok(inverse_squares(list))
        }
    }
}

/// Returns 1/u² of numbers above 0, each cut to [`WEIGHT_BITS`] bits.
fn inverse_squares(list: &[Exact]) -> Sample {
    let bits = |it: &BigInt| i64::try_from(it.bits()).unwrap_or(i64::MAX / 4);
    let cut = |u: &Exact| {
        let (above, below) = (u.ratio().denom().pow(2), u.ratio().numer().pow(2));
        let shift = WEIGHT_BITS - (bits(&above) - bits(&below));
        let whole = match u64::try_from(shift) {
            Ok(shift) => (above << shift) / below,
            Err(_) => above / (below << shift.unsigned_abs()),
        };
        (whole, shift)
    };
    // Each is whole/2^shift: the largest shift gives the common denominator.
    let parts: Vec<(BigInt, i64)> = list.iter().map(cut).collect();
    let most = parts.iter().map(|it| it.1).max().unwrap_or(0).max(0);
    let whole = parts.into_iter().map(|(whole, shift)| whole << (most - shift).unsigned_abs());
    Sample::over(whole.collect(), BigInt::one() << most.unsigned_abs(), 0)
}

/// Returns W, x̄, ȳ, S_xx, S_xy and S_yy.
fn sums(x: &Sample, y: &Sample, w: &Sample) -> Sums {
    let (wx, wy) = (w.times(x), w.times(y));
    let weight = w.sum();
    let (mean_x, mean_y) = (wx.sum() / &weight, wy.sum() / &weight);
    Sums {
        xx: wx.dot(x) - &mean_x * &mean_x * &weight,
        xy: wx.dot(y) - &mean_x * &mean_y * &weight,
        yy: wy.dot(y) - &mean_y * &mean_y * &weight,
        weight,
        x: mean_x,
        y: mean_y,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn whole(values: &[i64]) -> Vec<Exact> {
        values.iter().map(|it| Exact::from_integer(*it)).collect()
    }

    fn ratio(above: i64, below: i64) -> Exact {
        Exact::new(BigRational::new(above.into(), below.into()))
    }

    fn through(x: &[i64], y: &[i64], weights: Weights) -> Result<Line, Trouble> {
        line(&whole(x), &whole(y), &Exact::zero(), weights)
    }

    /// By hand: x = 0, 1, 2, 3 and y = 1, 2, 2, 5: x̄ = 3/2, ȳ = 5/2, S_xx = 5, S_xy = 6, S_yy = 9: slope
    /// 6/5, intercept 7/10, residual squares 9 − 36/5 = 9/5, s² = 9/10.
    ///
    /// Method: M53.
    #[test]
    fn a_line_with_equal_weights_follows_by_hand() {
        let got = through(&[0, 1, 2, 3], &[1, 2, 2, 5], Weights::Equal).unwrap();
        assert_eq!((&got.intercept, &got.slope), (&ratio(7, 10), &ratio(6, 5)));
        assert_eq!(got.residual_s, Some(0.9_f64.sqrt()));
        assert_eq!(got.u_slope, 0.18_f64.sqrt());
        assert_eq!(got.u_intercept, (0.9 * 0.7_f64).sqrt());
        // −x̄/√(S_xx/n + x̄²) = −1.5/√3.5
        assert!((got.correlation + 1.5 / 3.5_f64.sqrt()).abs() < 2e-16);
        assert_eq!(got.residuals, [0.3, 0.1, -1.1, 0.7]);
        assert_eq!((got.n, got.dof, got.chi_squared), (4, 2.0, None));
        assert_eq!(got.chi_squared_probability, None);
    }

    /// The same points with u = 1/2 each: χ² = (9/5)·4 = 36/5; with two degrees of freedom its
    /// probability is exp(−χ²/2).
    ///
    /// Method: M54.
    #[test]
    fn known_uncertainties_are_tested_by_the_residuals() {
        let u = vec![ratio(1, 2); 4];
        let got = through(&[0, 1, 2, 3], &[1, 2, 2, 5], Weights::Known(&u)).unwrap();
        assert_eq!((&got.intercept, &got.slope), (&ratio(7, 10), &ratio(6, 5)));
        assert_eq!((got.u_slope, got.u_intercept), (0.05_f64.sqrt(), (0.7_f64 / 4.0).sqrt()));
        assert_eq!((got.dof, got.residual_s), (f64::INFINITY, None));
        assert_eq!(got.chi_squared, Some(7.2));
        let probability = got.chi_squared_probability.unwrap();
        assert!((probability / libm::exp(-3.6) - 1.0).abs() < 1e-14, "got {probability}");
    }

    /// By hand: a point of weight 2 is two points, with the residuals' degrees of freedom of one.
    #[test]
    fn a_weight_of_two_is_two_points() {
        let weights = whole(&[1, 2, 1]);
        let got = through(&[0, 1, 2], &[0, 3, 3], Weights::Relative(&weights)).unwrap();
        let twice = through(&[0, 1, 1, 2], &[0, 3, 3, 3], Weights::Equal).unwrap();
        assert_eq!((&got.intercept, &got.slope), (&twice.intercept, &twice.slope));
        assert_eq!(got.correlation, twice.correlation);
        assert_eq!((got.dof, twice.dof), (1.0, 2.0));
        let factor = 2.0_f64.sqrt();
        assert!((got.u_slope / twice.u_slope / factor - 1.0).abs() < 4e-16);
        assert!((got.residual_s.unwrap() / twice.residual_s.unwrap() / factor - 1.0).abs() < 4e-16);
    }

    #[test]
    fn a_perfect_fit_leaves_nothing_uncertain() {
        let got = through(&[0, 1, 3], &[1, 3, 7], Weights::Equal).unwrap();
        assert_eq!((got.u_intercept, got.u_slope, got.residual_s), (0.0, 0.0, Some(0.0)));
        assert_eq!(got.residuals, [0.0; 3]);
        // −x̄/√(S_xx/n + x̄²) with x̄ = 4/3, Σx²/n = 10/3: −4/√30
        assert!((got.correlation + 4.0 / 30.0_f64.sqrt()).abs() < 2e-16);
        let two = through(&[0, 1], &[1, 3], Weights::Known(&whole(&[1, 2]))).unwrap();
        assert_eq!((two.chi_squared, two.chi_squared_probability), (None, None));
        assert_eq!((two.u_intercept, two.u_slope), (1.0, 5.0_f64.sqrt()));
    }

    #[test]
    fn refuses_what_gives_no_line() {
        let refused = |x: &[i64], y: &[i64], weights| through(x, y, weights).unwrap_err();
        assert_eq!(
            refused(&[1, 2, 3], &[1, 2], Weights::Equal),
            Trouble::Lengths { found: 2, expected: 3 }
        );
        let short = whole(&[1, 1]);
        assert_eq!(
            refused(&[1, 2, 3], &[1, 2, 3], Weights::Known(&short)),
            Trouble::Lengths { found: 2, expected: 3 }
        );
        assert_eq!(
            refused(&[1, 2], &[1, 2], Weights::Equal),
            Trouble::TooFew { found: 2, needed: 3 }
        );
        assert_eq!(
            refused(&[1], &[1], Weights::Known(&short[1..])),
            Trouble::TooFew { found: 1, needed: 2 }
        );
        assert_eq!(refused(&[4, 4, 4], &[1, 2, 3], Weights::Equal), Trouble::OneAbscissa);
        let bad = [whole(&[1, 0, 1]), whole(&[1, -1, 1])];
        for list in &bad {
            let both = [Weights::Known(list), Weights::Relative(list)];
            for weights in both {
                assert_eq!(refused(&[1, 2, 3], &[1, 2, 3], weights), Trouble::NotPositive(1));
            }
        }
        let turn = Exact::with_pi(BigRational::one(), 1);
        let (x, u) = (whole(&[1, 2, 3]), [turn.clone(), turn.clone(), turn.clone()]);
        let other = Err(Trouble::NoCommonUnit(0));
        assert_eq!(line(&x, &x, &turn, Weights::Equal), other);
        assert_eq!(line(&x, &x, &Exact::zero(), Weights::Known(&u)), other);
        assert_eq!(line(&x, &x, &Exact::zero(), Weights::Relative(&u)), other);
    }

    /// By hand: y = π, 2π, 4π at x = 0, 1, 2: slope 3π/2 and intercept 5π/6; residuals π/6, −π/3, π/6.
    #[test]
    fn angles_keep_their_power_of_pi() {
        let y = [1, 2, 4].map(|it| Exact::with_pi(BigRational::from_integer(it.into()), 1));
        let got = line(&whole(&[0, 1, 2]), &y, &Exact::zero(), Weights::Equal).unwrap();
        assert_eq!(got.slope, Exact::with_pi(BigRational::new(3.into(), 2.into()), 1));
        assert_eq!(got.intercept, Exact::with_pi(BigRational::new(5.into(), 6.into()), 1));
        let pi = std::f64::consts::PI;
        assert!((got.residual_s.unwrap() / (pi / 6.0_f64.sqrt()) - 1.0).abs() < 4e-16);
        assert!((got.residuals[1] / (-pi / 3.0) - 1.0).abs() < 4e-16);
        let u = vec![Exact::with_pi(BigRational::one(), 1); 3];
        let got = line(&whole(&[0, 1, 2]), &y, &Exact::zero(), Weights::Known(&u)).unwrap();
        assert!((got.chi_squared.unwrap() - 1.0 / 6.0).abs() < 1e-16);
        assert!((got.u_slope / (pi / 2.0_f64.sqrt()) - 1.0).abs() < 4e-16);
    }

    /// u of the line at x by the law of propagation.
    fn at(line: &Line, off: f64) -> f64 {
        let (a, b) = (line.u_intercept, line.u_slope * off);
        libm::sqrt(a * a + b * b + 2.0 * line.correlation * a * b)
    }

    proptest! {
        /// The reference abscissa is a choice: the line and its uncertainty at any x are the same.
        #[test]
        fn predictions_do_not_depend_on_the_reference(
            points in prop::collection::vec((-30..30_i64, -30..30_i64, 1..20_i64), 3..9),
            reference in -40..40_i64,
            wanted in -40..40_i64,
        ) {
            let list = |f: fn(&(i64, i64, i64)) -> i64| whole(&points.iter().map(f).collect::<Vec<_>>());
            let (x, y, w) = (list(|it| it.0), list(|it| it.1), list(|it| it.2));
            prop_assume!(points.iter().any(|it| it.0 != points[0].0));
            for weights in [Weights::Equal, Weights::Relative(&w), Weights::Known(&w)] {
                let zero = line(&x, &y, &Exact::zero(), weights).unwrap();
                let other = line(&x, &y, &Exact::from_integer(reference), weights).unwrap();
                let value = |line: &Line, off: i64| {
                    line.intercept.add(&line.slope.mul(&Exact::from_integer(off))).unwrap()
                };
                let off = wanted - reference;
                prop_assert_eq!(value(&zero, wanted), value(&other, off));
                // The three terms may cancel: what is lost is bounded by their size.
                let size = |line: &Line, off: f64| line.u_intercept + (line.u_slope * off).abs();
                let (a, b) = (at(&zero, wanted as f64), at(&other, off as f64));
                let lost = 4e-15 * (size(&zero, wanted as f64) + size(&other, off as f64));
                let lost = lost * (size(&zero, wanted as f64) + size(&other, off as f64));
                prop_assert!((a * a - b * b).abs() <= lost, "{a} and {b}");
                prop_assert_eq!(&zero.residuals, &other.residuals);
                prop_assert_eq!(zero.u_slope, other.u_slope);
            }
        }

        /// The order of points changes nothing but that of the residuals; equal known uncertainties
        /// give the line of equal weights.
        #[test]
        fn the_order_of_points_does_not_matter(
            points in prop::collection::vec((-30..30_i64, -30..30_i64, 1..20_i64), 3..9),
        ) {
            let backwards: Vec<_> = points.iter().rev().copied().collect();
            let of = |points: &[(i64, i64, i64)]| {
                let x: Vec<i64> = points.iter().map(|it| it.0).collect();
                let y: Vec<i64> = points.iter().map(|it| it.1).collect();
                let u: Vec<i64> = points.iter().map(|it| it.2).collect();
                through(&x, &y, Weights::Known(&whole(&u)))
            };
            prop_assume!(points.iter().any(|it| it.0 != points[0].0));
            let (plain, mut turned) = (of(&points).unwrap(), of(&backwards).unwrap());
            turned.residuals.reverse();
            prop_assert_eq!(&plain, &turned);
            let (x, y): (Vec<i64>, Vec<i64>) = points.iter().map(|it| (it.0, it.1)).unzip();
            let third = vec![ratio(1, 3); points.len()];
            let known = through(&x, &y, Weights::Known(&third)).unwrap();
            let equal = through(&x, &y, Weights::Equal).unwrap();
            prop_assert_eq!((known.intercept, known.slope), (equal.intercept, equal.slope));
        }
    }
}
