//! Simultaneous readings of several quantities to means, their covariances and correlations.
//!
//! Source: JCGM 100:2008, 5.2.3 and C.3.6 (equations (17) and (14)).

use super::Trouble;
use super::sample::{Sample, correlation, count, root};
use crate::quantity::Exact;

/// Means of quantities that were read at the same time, one column each.
#[derive(Debug, Clone, PartialEq)]
pub struct Columns {
    /// How many rows there are, at least two.
    pub n: usize,
    /// The means.
    pub means: Vec<Exact>,
    /// The standard uncertainties of the means, s/√n.
    pub standard_uncertainties: Vec<f64>,
    /// The covariances of the means, S_xy/(n(n − 1)); the squares of the uncertainties on the diagonal.
    pub covariance: Vec<Vec<f64>>,
    /// The correlation coefficients; 0 where a column does not vary, ±1 off the diagonal where, and
    /// only where, two columns lie on a line exactly.
    pub correlation: Vec<Vec<f64>>,
    /// The degrees of freedom, n − 1.
    pub dof: f64,
}

/// Returns the means of columns, with their uncertainties and correlations; each figure is
/// rounded once.
///
/// # Errors
///
/// [`Trouble::TooFew`] for fewer than two rows, [`Trouble::Ragged`], [`Trouble::NoCommonUnit`] with the
/// index of the row.
///
/// Method: M52.
pub fn columns(rows: &[Vec<Exact>]) -> Result<Columns, Trouble> {
    let n = rows.len();
    let width = rows.first().map_or(0, Vec::len);
    if let Some(row) = rows.iter().position(|it| it.len() != width) {
        return Err(Trouble::Ragged { row, found: rows[row].len(), expected: width });
    }
    if n < 2 {
        return Err(Trouble::TooFew { found: n, needed: 2 });
    }
    let column = |index: usize| {
        let values: Vec<Exact> = rows.iter().map(|row| row[index].clone()).collect();
        Sample::new(&values)
    };
    let samples = (0..width).map(column).collect::<Result<Vec<Sample>, Trouble>>()?;
    let mean = |it: &Sample| Exact::with_pi(it.sum() / count(n), it.pi_power());
    let scale = count(n) * count(n - 1);
    let squares: Vec<_> = samples.iter().map(|it| it.cross(it)).collect();
    let u = |(square, it): (_, &Sample)| root(&(square / &scale), it.pi_power());
    let mut covariance = vec![vec![0.0; width]; width];
    let mut correlations = vec![vec![0.0; width]; width];
    for (i, a) in samples.iter().enumerate() {
        for (j, b) in samples.iter().enumerate().take(i + 1) {
            let cross = a.cross(b);
            let r = if i == j { 1.0 } else { correlation(&cross, &squares[i], &squares[j]) };
            let shared = Exact::with_pi(cross / &scale, a.pi_power() + b.pi_power()).to_f64();
            (covariance[i][j], covariance[j][i]) = (shared, shared);
            (correlations[i][j], correlations[j][i]) = (r, r);
        }
    }
    Ok(Columns {
        n,
        means: samples.iter().map(mean).collect(),
        standard_uncertainties: squares.iter().zip(&samples).map(u).collect(),
        covariance,
        correlation: correlations,
        dof: n as f64 - 1.0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rows(values: &[&[i64]]) -> Vec<Vec<Exact>> {
        let row = |row: &&[i64]| row.iter().map(|it| Exact::from_integer(*it)).collect();
        values.iter().map(row).collect()
    }

    #[test]
    fn refuses_rows_of_different_length_and_a_single_row() {
        let ragged = columns(&rows(&[&[1, 2], &[1, 2], &[1]]));
        assert_eq!(ragged, Err(Trouble::Ragged { row: 2, found: 1, expected: 2 }));
        assert_eq!(columns(&rows(&[&[1, 2]])), Err(Trouble::TooFew { found: 1, needed: 2 }));
        assert_eq!(columns(&[]), Err(Trouble::TooFew { found: 0, needed: 2 }));
    }

    /// By hand: x = 1, 2, 3 and y = 5, 5, 8: S_xx = 2, S_yy = 6, S_xy = 3, r = 3/√12 = √3/2.
    ///
    /// Method: M52.
    #[test]
    fn covariance_and_correlation_follow_by_hand() {
        let got = columns(&rows(&[&[1, 5], &[2, 5], &[3, 8]])).unwrap();
        assert_eq!(got.means, [Exact::from_integer(2), Exact::from_integer(6)]);
        assert_eq!(got.covariance, [[2.0 / 6.0, 0.5], [0.5, 1.0]]);
        assert_eq!(got.standard_uncertainties, [(1.0 / 3.0_f64).sqrt(), 1.0]);
        let r = 0.75_f64.sqrt();
        assert_eq!(got.correlation, [[1.0, r], [r, 1.0]]);
        assert_eq!((got.n, got.dof), (3, 2.0));
    }

    #[test]
    fn a_column_that_does_not_vary_is_known_and_not_correlated() {
        let got = columns(&rows(&[&[1, 5], &[2, 5], &[3, 5]])).unwrap();
        assert_eq!(got.standard_uncertainties[1], 0.0);
        assert_eq!(got.correlation, [[1.0, 0.0], [0.0, 1.0]]);
    }

    /// 10¹⁷ + 1 beside 10¹⁷ leaves r² = 1 − 5e-35 at most: the nearest double is 1, the data are not.
    #[test]
    fn a_correlation_is_one_only_on_an_exact_line() {
        let large = 100_000_000_000_000_000;
        let near =
            columns(&rows(&[&[0, 0], &[large, -large], &[2 * large, -2 * large - 1]])).unwrap();
        assert_eq!(near.correlation[0][1], -(1.0 - f64::EPSILON / 2.0));
        let on = columns(&rows(&[&[0, 7], &[large, 7 - 3 * 7], &[2 * large, 7 - 6 * 7]])).unwrap();
        assert_eq!(on.correlation[0][1], -1.0);
    }

    /// Degrees beside metres: the powers of π differ from column to column, r has none.
    #[test]
    fn an_angle_is_correlated_with_a_length() {
        let angle =
            |n: i64| Exact::with_pi(num_rational::BigRational::new(n.into(), 180.into()), 1);
        let data = [(1, 1), (2, 3), (3, 2)];
        let got: Vec<Vec<Exact>> =
            data.iter().map(|it| vec![angle(it.0), Exact::from_integer(it.1)]).collect();
        let got = columns(&got).unwrap();
        assert_eq!(got.correlation[0][1], 0.5);
        let expected = (1.0 / 3.0_f64).sqrt() * std::f64::consts::PI / 180.0;
        assert!((got.standard_uncertainties[0] / expected - 1.0).abs() < 4e-16);
    }

    proptest! {
        /// Shift and positive scale of a column leave r, the order of rows leaves everything, as it is.
        #[test]
        fn correlation_knows_neither_origin_nor_unit_nor_order(
            data in prop::collection::vec((-50..50_i64, -50..50_i64), 2..9),
            shift in -1_000_000_000..1_000_000_000_i64,
            scale in 1..1000_i64,
        ) {
            let plain: Vec<Vec<Exact>> = data
                .iter()
                .map(|it| vec![Exact::from_integer(it.0), Exact::from_integer(it.1)])
                .collect();
            let moved: Vec<Vec<Exact>> = data
                .iter()
                .map(|it| vec![Exact::from_integer(scale * it.0 + shift), Exact::from_integer(it.1)])
                .collect();
            let backwards: Vec<Vec<Exact>> = plain.iter().rev().cloned().collect();
            let (plain, moved) = (columns(&plain).unwrap(), columns(&moved).unwrap());
            prop_assert_eq!(&plain.correlation, &moved.correlation);
            prop_assert_eq!(plain.standard_uncertainties[1], moved.standard_uncertainties[1]);
            prop_assert_eq!(&plain, &columns(&backwards).unwrap());
            prop_assert!(plain.correlation[0][1].abs() <= 1.0);
        }
    }
}
