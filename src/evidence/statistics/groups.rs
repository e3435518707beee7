//! Readings in groups (days, operators, set-ups): pooled scatter and one-way analysis of variance.
//!
//! With group means m_i, their sizes n_i and N readings in all: MS_W = ΣΣ(x − m_i)²/(N − J) within,
//! MS_B = Σn_i(m_i − x̄)²/(J − 1) between, and the variance between groups (MS_B − MS_W)/n₀ with
//! n₀ = (N − Σn_i²/N)/(J − 1). It is an estimate, may be negative, and is reported as it is.
//!
//! Sources: JCGM 100:2008, H.5 (groups of one size), 4.2.4 (pooling); n₀ for groups of different size is
//! the usual method of moments, from memory.

use super::Trouble;
use super::sample::{Sample, count, root};
use crate::evidence::distribution::beta;
use crate::quantity::Exact;
use num_rational::BigRational;
use num_traits::{Signed, Zero};

/// A standard deviation with its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// The standard deviation.
    pub s: f64,
    /// Its degrees of freedom.
    pub dof: f64,
}

/// Groups of readings, with what lies within and between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Groups {
    /// The means of the groups.
    pub means: Vec<Exact>,
    /// How many readings each has.
    pub sizes: Vec<usize>,
    /// The mean of all readings.
    pub grand_mean: Exact,
    /// The mean of the group means.
    pub mean_of_means: Exact,
    /// The pooled standard deviation within groups, √MS_W.
    pub within_s: f64,
    /// Its degrees of freedom, N − J.
    pub within_dof: f64,
    /// The mean square between groups, MS_B.
    pub between_mean_square: f64,
    /// Its degrees of freedom, J − 1.
    pub between_dof: f64,
    /// The estimated variance between groups; negative where the groups agree better than their scatter
    /// lets expect.
    pub between_variance: f64,
    /// Whether it is below zero, which is decided exactly; it then counts as zero.
    pub between_is_negative: bool,
    /// The standard deviation of the group means.
    pub s_of_means: f64,
    /// F = MS_B/MS_W; `None` where nothing varies within any group.
    pub f: Option<f64>,
    /// The probability of a larger F where there is no variance between groups.
    pub f_probability: Option<f64>,
    squares: Squares,
}

/// The exact mean squares, as rational factors.
#[derive(Debug, Clone, PartialEq)]
struct Squares {
    within: BigRational,
    between: BigRational,
    of_means: BigRational,
    /// n₀, at least 1.
    size: BigRational,
    pi_power: i32,
}

/// Returns the analysis of variance of groups of readings.
///
/// # Errors
///
/// [`Trouble::TooFew`] for fewer than two groups, [`Trouble::EmptyGroup`], [`Trouble::NoRepetition`],
/// [`Trouble::NoCommonUnit`] with the index counted through all readings.
///
/// Method: M55.
pub fn groups(groups: &[Vec<Exact>]) -> Result<Groups, Trouble> {
    let sizes: Vec<usize> = groups.iter().map(Vec::len).collect();
    let all = sample_of(groups, &sizes)?;
    let (n, j, pi_power) = (all.len(), groups.len(), all.pi_power());
    let parts: Vec<Sample> = groups.iter().map(|it| Sample::new(it)).collect::<Result<_, _>>()?;
    let means: Vec<BigRational> = parts.iter().map(|it| it.sum() / count(it.len())).collect();
    let within: BigRational = parts.iter().map(|it| it.cross(it)).sum();
    let of_means = Sample::of(means.iter());
    let squared: usize = sizes.iter().map(|it| it * it).sum();
    let squares = Squares {
        between: (all.cross(&all) - &within) / count(j - 1),
        within: within / count(n - j),
        of_means: of_means.cross(&of_means) / count(j - 1),
        size: (count(n) - count(squared) / count(n)) / count(j - 1),
        pi_power,
    };
    let variance = (&squares.between - &squares.within) / &squares.size;
    let (within_dof, between_dof) = ((n - j) as f64, j as f64 - 1.0);
    let f = squares.f();
    let exact = |it: BigRational, power| Exact::with_pi(it, power);
    Ok(Groups {
        sizes,
        grand_mean: exact(all.sum() / count(n), pi_power),
        mean_of_means: exact(of_means.sum() / count(j), pi_power),
        means: means.into_iter().map(|it| exact(it, pi_power)).collect(),
        within_s: root(&squares.within, pi_power),
        within_dof,
        between_mean_square: exact(squares.between.clone(), 2 * pi_power).to_f64(),
        between_dof,
        between_is_negative: variance.is_negative(),
        between_variance: exact(variance, 2 * pi_power).to_f64(),
        s_of_means: root(&squares.of_means, pi_power),
        f,
        f_probability: f.and_then(|it| beta::f_survival(it, between_dof, within_dof)),
        squares,
    })
}

/// Returns all readings in one list, where the groups can be analysed.
fn sample_of(groups: &[Vec<Exact>], sizes: &[usize]) -> Result<Sample, Trouble> {
    if groups.len() < 2 {
        return Err(Trouble::TooFew { found: groups.len(), needed: 2 });
    }
    if let Some(index) = sizes.iter().position(|it| *it == 0) {
        return Err(Trouble::EmptyGroup(index));
    }
    if sizes.iter().all(|it| *it == 1) {
        return Err(Trouble::NoRepetition);
    }
    let all: Vec<Exact> = groups.iter().flatten().cloned().collect();
    Sample::new(&all)
}

impl Squares {
    fn f(&self) -> Option<f64> {
        let some = !self.within.is_zero();
        some.then(|| Exact::new(&self.between / &self.within).to_f64())
    }
}

impl Groups {
    /// Returns the pooled scatter within groups: that of a reading beside others of its group.
    pub fn pooled(&self) -> Scatter {
        Scatter { s: self.within_s, dof: self.within_dof }
    }

    /// Returns the scatter of a single later reading in a group of its own.
    pub fn single(&self) -> Scatter {
        self.mean_of(1)
    }

    /// Returns the scatter of a later mean of `n` readings in one group: s² = s_B² + s_W²/n, infinite for
    /// n = 0.
    ///
    /// The degrees of freedom are Satterthwaite's for the two independent mean squares that it is made
    /// of, MS_B/n₀ + (1/n − 1/n₀)·MS_W, and at least 1. A variance between groups that is not
    /// above zero counts as zero: s_W/√n with N − J.
    ///
    /// Method: M56.
    pub fn mean_of(&self, n: u32) -> Scatter {
        let Squares { within, between, size, pi_power, .. } = &self.squares;
        if n == 0 {
            return Scatter { s: f64::INFINITY, dof: self.within_dof };
        }
        let readings = count(n as usize);
        if between <= within {
            return Scatter { s: root(&(within / readings), *pi_power), dof: self.within_dof };
        }
        let from_between = between / size;
        let from_within = within * (readings.recip() - size.recip());
        let variance = &from_between + &from_within;
        let share = |part: BigRational| Exact::new(part / &variance).to_f64();
        let (b, w) = (share(from_between), share(from_within));
        let dof = 1.0 / (b * b / self.between_dof + w * w / self.within_dof);
        Scatter { s: root(&variance, *pi_power), dof: dof.max(1.0) }
    }

    /// Returns the scatter of the mean of the group means: s(means)/√J with J − 1 degrees of
    /// freedom; where the variance between groups is negative, s_W·√(Σ1/n_i)/J with N − J.
    pub fn result(&self) -> Scatter {
        let Squares { within, of_means, pi_power, .. } = &self.squares;
        let j = count(self.means.len());
        if !self.between_is_negative {
            return Scatter { s: root(&(of_means / j), *pi_power), dof: self.between_dof };
        }
        let reciprocals: BigRational = self.sizes.iter().map(|it| count(*it).recip()).sum();
        let variance = within * reciprocals / (&j * &j);
        Scatter { s: root(&variance, *pi_power), dof: self.within_dof }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn whole(lists: &[&[i64]]) -> Vec<Vec<Exact>> {
        let list = |list: &&[i64]| list.iter().map(|it| Exact::from_integer(*it)).collect();
        lists.iter().map(list).collect()
    }

    #[test]
    fn refuses_what_is_no_set_of_groups() {
        let refused = |lists: &[&[i64]]| groups(&whole(lists)).unwrap_err();
        assert_eq!(refused(&[]), Trouble::TooFew { found: 0, needed: 2 });
        assert_eq!(refused(&[&[1, 2, 3]]), Trouble::TooFew { found: 1, needed: 2 });
        assert_eq!(refused(&[&[1, 2], &[]]), Trouble::EmptyGroup(1));
        assert_eq!(refused(&[&[1], &[2], &[3]]), Trouble::NoRepetition);
    }

    /// By hand: groups 1, 3 | 6, 8, 10: means 2 and 8, x̄ = 28/5; within 2 + 8 over 3; between
    /// 2·(18/5)² + 3·(12/5)² = 216/5 over 1; n₀ = 5 − 13/5 = 12/5; F = 324/25.
    ///
    /// Method: M55.
    #[test]
    fn groups_of_different_size_follow_by_hand() {
        let got = groups(&whole(&[&[1, 3], &[6, 8, 10]])).unwrap();
        let exact = |a: i64, b: i64| Exact::new(BigRational::new(a.into(), b.into()));
        assert_eq!(got.means, [exact(2, 1), exact(8, 1)]);
        assert_eq!(
            (got.grand_mean.clone(), got.mean_of_means.clone()),
            (exact(28, 5), exact(5, 1))
        );
        assert_eq!((got.within_dof, got.between_dof), (3.0, 1.0));
        assert_eq!(got.within_s, (10.0 / 3.0_f64).sqrt());
        assert_eq!((got.between_mean_square, got.f), (43.2, Some(12.96)));
        assert_eq!(got.between_variance, 598.0 / 36.0);
        assert_eq!(got.s_of_means, 18.0_f64.sqrt());
        assert!(!got.between_is_negative);
        assert_eq!(got.pooled(), Scatter { s: got.within_s, dof: 3.0 });
        assert_eq!(got.result(), Scatter { s: 3.0, dof: 1.0 });
        // F with 1 and ν is the square of t: P = 2·S(√12.96) = 2·S(3.6), t with 3.
        let t = crate::evidence::distribution::student::survival(3.6, 3.0).unwrap();
        assert!((got.f_probability.unwrap() / (2.0 * t) - 1.0).abs() < 1e-14);
    }

    /// By hand, the same groups: a = MS_B/n₀ = 18, b = (1/n − 5/12)·10/3: for n = 1 35/18, for n = 4
    /// −5/9; s² = a + b, ν = s⁴/(a²/1 + b²/3).
    ///
    /// Method: M56.
    #[test]
    fn later_readings_scatter_by_both_components() {
        let got = groups(&whole(&[&[1, 3], &[6, 8, 10]])).unwrap();
        for (n, b) in [(1, 35.0 / 18.0), (4, -5.0 / 9.0)] {
            let (square, dof) = (18.0 + b, (18.0 + b) * (18.0 + b) / (324.0 + b * b / 3.0));
            let Scatter { s, dof: found } = got.mean_of(n);
            assert!((s * s / square - 1.0).abs() < 1e-15, "n = {n}");
            assert!((found / f64::max(dof, 1.0) - 1.0).abs() < 1e-15, "n = {n}: {found}");
        }
        assert_eq!(got.single(), got.mean_of(1));
        assert_eq!(got.mean_of(4).dof, 1.0);
        assert_eq!(got.mean_of(0).s, f64::INFINITY);
    }

    /// By hand: groups 0, 4 | 1, 3: the means agree, MS_B = 0, MS_W = 10/2, variance −5/2.
    #[test]
    fn a_negative_variance_between_groups_is_said_and_counts_as_zero() {
        let got = groups(&whole(&[&[0, 4], &[1, 3]])).unwrap();
        assert!(got.between_is_negative);
        assert_eq!((got.between_variance, got.f), (-2.5, Some(0.0)));
        assert_eq!(got.f_probability, Some(1.0));
        assert_eq!(got.single(), Scatter { s: 5.0_f64.sqrt(), dof: 2.0 });
        assert_eq!(got.mean_of(5), Scatter { s: 1.0, dof: 2.0 });
        // √5/2·√(1/2 + 1/2)
        assert_eq!(got.result(), Scatter { s: 1.25_f64.sqrt(), dof: 2.0 });
    }

    #[test]
    fn groups_without_scatter_have_no_f() {
        let apart = groups(&whole(&[&[2, 2], &[4, 4]])).unwrap();
        assert_eq!((apart.f, apart.f_probability, apart.within_s), (None, None, 0.0));
        assert_eq!(apart.single(), Scatter { s: 2.0_f64.sqrt(), dof: 1.0 });
        let same = groups(&whole(&[&[2, 2], &[2, 2]])).unwrap();
        assert_eq!((same.single().s, same.result().s), (0.0, 0.0));
        assert!(!same.between_is_negative);
    }

    proptest! {
        /// Groups of one size K: a single mean of K scatters as the group means do, MS_B = K·s(means)².
        #[test]
        fn the_mean_of_a_whole_group_scatters_as_the_group_means(
            data in prop::collection::vec(prop::collection::vec(-40..40_i64, 3), 2..7),
            shift in -1_000_000_000_000..1_000_000_000_000_i64,
        ) {
            let lists: Vec<&[i64]> = data.iter().map(Vec::as_slice).collect();
            let got = groups(&whole(&lists)).unwrap();
            if got.between_variance > 0.0 {
                prop_assert_eq!(got.mean_of(3), Scatter { s: got.s_of_means, dof: got.between_dof });
                prop_assert!(got.single().s >= got.within_s);
            }
            // Neither origin nor order matters.
            let moved: Vec<Vec<i64>> =
                data.iter().rev().map(|it| it.iter().rev().map(|it| it + shift).collect()).collect();
            let lists: Vec<&[i64]> = moved.iter().map(Vec::as_slice).collect();
            let moved = groups(&whole(&lists)).unwrap();
            prop_assert_eq!(moved.within_s, got.within_s);
            prop_assert_eq!(moved.between_variance, got.between_variance);
            prop_assert_eq!(moved.f_probability, got.f_probability);
            prop_assert_eq!(moved.mean_of(2), got.mean_of(2));
            prop_assert_eq!(moved.result(), got.result());
        }

        /// The squares add up: within and between make the whole (the identity of the analysis).
        #[test]
        fn the_sum_of_squares_is_divided_without_rest(
            data in prop::collection::vec(prop::collection::vec(-40..40_i64, 1..5), 2..7),
        ) {
            prop_assume!(data.iter().any(|it| it.len() > 1));
            let lists: Vec<&[i64]> = data.iter().map(Vec::as_slice).collect();
            let got = groups(&whole(&lists)).unwrap();
            let squares = &got.squares;
            let between: BigRational = got
                .means
                .iter()
                .zip(&got.sizes)
                .map(|(mean, size)| {
                    let off = mean.ratio() - got.grand_mean.ratio();
                    &off * &off * count(*size)
                })
                .sum();
            prop_assert_eq!(between / count(got.means.len() - 1), squares.between.clone());
            prop_assert!(squares.size >= count(1));
        }
    }
}
