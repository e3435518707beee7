//! One point alone: the probability that it lies within its limits, where its error is a sum of
//! independent laws.
//!
//! The unknowns that are left of a point are independent of one another and of its rest; without products and
//! divisors its error is their sum, whose distribution [`exact`](crate::propagate::exact) gives in one
//! dimension, with a bound on its error. Where that takes long (rough shapes over a narrow rest), the sum
//! is tabulated.

use super::law::Law;
use super::own::{Own, sum_of};
use super::problem::{Problem, Row};
use super::quadrature::Estimate;
use super::sum::Table;
use crate::evidence::{Distribution, Piece};
use crate::propagate::exact::{Sum, Term};

/// Largest error of the exact sum that is taken.
const EXACT: f64 = 1e-9;
/// Error of a probability from a table: measured 1e-8 and less, ten times that where corners meet.
const TABLE: f64 = 1e-7;

/// Returns the probability of the only point of a merged problem; `None` where it is no sum of laws.
///
/// Method: M47.
pub fn alone(problem: &Problem) -> Option<Estimate> {
    let [row] = &problem.rows[..] else { return None };
    if problem.dims.len() < 2 {
        return None;
    }
    let laws = laws(problem, row)?;
    exact(&laws, row).or_else(|| {
        // With two unknowns the quadrature is quick and more exact.
        let value = || Table::new(laws.clone()).between(row.low, row.high);
        (problem.dims.len() > 2).then(|| Estimate { value: value(), error: TABLE })
    })
}

/// Returns the problem of one point with all unknowns that only add to its error as a part of its rest: what
/// is left are the factors of products, and what shares a divisor.
pub fn folded(mut problem: Problem) -> Problem {
    let [row] = &problem.rows[..] else { return problem };
    let Some(mut laws) = own_laws(&row.own).filter(|_| problem.dims.len() > 2) else {
        return problem;
    };
    let divides = |d: usize| matches!(problem.dims[d].law, Law::Divisor(_));
    let adds =
        |d: &usize| !problem.multiplied(*d) && problem.dims[*d].under.is_none() && !divides(*d);
    let (free, kept): (Vec<usize>, Vec<usize>) = (0..problem.dims.len()).partition(adds);
    if free.is_empty() {
        return problem;
    }
    laws.extend(free.iter().map(|d| problem.dims[*d].law.scaled(row.linear[*d].abs())));
    problem.rows[0].own = sum_of(laws);
    problem.keep(&kept);
    problem
}

/// Returns the laws that a rest is the sum of.
fn own_laws(own: &Own) -> Option<Vec<Law>> {
    match own {
        Own::None => Some(Vec::new()),
        Own::Law(law) => Some(vec![*law]),
        Own::Sum(table) => Some(table.laws().to_vec()),
        Own::Other(_) => None,
    }
}

fn exact(laws: &[Law], row: &Row) -> Option<Estimate> {
    let terms: Option<Vec<Term>> = laws.iter().map(|it| Some(Term::Piece(piece(*it)?))).collect();
    let sum = Sum::new(terms?).ok().filter(Sum::is_quick)?;
    let below = row.low.is_finite().then(|| sum.cdf(row.low));
    let above = row.high.is_finite().then(|| sum.survival(row.high));
    let ends = || below.iter().chain(&above);
    let outside: f64 = ends().map(|it| it.value).sum();
    let error: f64 = ends().map(|it| it.error).sum();
    let value = Estimate { value: 1.0 - outside, error: error + 1e-15 };
    (error <= EXACT).then_some(value)
}

/// Returns the laws whose sum is a point's error.
fn laws(problem: &Problem, row: &Row) -> Option<Vec<Law>> {
    if !row.products.is_empty() || problem.dims.iter().any(|it| it.under.is_some()) {
        return None;
    }
    let acting = problem.dims.iter().zip(&row.linear).filter(|it| *it.1 != 0.0);
    let mut laws: Vec<Law> = acting.map(|(it, by)| it.law.scaled(by.abs())).collect();
    laws.extend(own_laws(&row.own)?);
    (!laws.iter().any(|it| matches!(it, Law::Divisor(_)))).then_some(laws)
}

fn piece(law: Law) -> Option<Piece> {
    let (shape, dof) = match law {
        Law::Normal(_) => (Distribution::Normal, f64::INFINITY),
        Law::T { dof, .. } => (Distribution::T, dof),
        Law::Trapezoid(_, 1.0) => (Distribution::Rectangular, f64::INFINITY),
        Law::Trapezoid(_, 0.0) => (Distribution::Triangular, f64::INFINITY),
        Law::Trapezoid(_, top) => (Distribution::Trapezoidal(top), f64::INFINITY),
        Law::Doubtful(value, doubt) => {
            (Distribution::CurvilinearTrapezoidal(doubt / value), f64::INFINITY)
        }
        Law::Arcsine(_) => (Distribution::Arcsine, f64::INFINITY),
        Law::Divisor(_) => return None,
    };
    Some(Piece::one(shape, law.width(), dof))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A piece has the law that it was made of, whatever the shape.
    #[test]
    fn a_law_becomes_a_piece_of_the_same_law() {
        for law in [
            Law::Normal(0.7),
            Law::T { scale: 0.4, dof: 4.5 },
            Law::Trapezoid(1.3, 0.0),
            Law::Trapezoid(1.3, 0.4),
            Law::Trapezoid(1.3, 1.0),
            Law::Doubtful(1.0, 0.3),
            Law::Arcsine(0.8),
        ] {
            let back = piece(law).and_then(|it| Law::of(&it)).expect("a law");
            for (low, high) in [(-0.3, 0.2), (0.5, 0.9), (-2.0, 0.1)] {
                assert!(
                    (law.between(low, high) - back.between(low, high)).abs() < 1e-14,
                    "{law:?}, {back:?}"
                );
            }
        }
    }
}
