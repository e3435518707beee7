//! Covariance and correlation of the results at all points, through what the points share.
//!
//! First order (JCGM 102:2011, equation (3), one output per point): `cov(p, q) = Σ s_i·a_i(p)·a_i(q) +
//! ΣΣ R_ij·s·a_i(p)·a_j(q)` with contributions `a = c·u` (signed), `s` the correlation of a contributor
//! between points, R that of linked contributors and common data. A contributor that does not count at a
//! point has no part there. Where the second order enters u at both points, products of shared inputs are
//! added ([`products`](super::products)). The diagonal is u² of the point: correlations are made of terms
//! of one formula, so that their matrix has no negative eigenvalue, and scaled with u. Made only when
//! asked for: time and memory are quadratic in points.

use super::correlation::Group;
use super::products::Products;
use super::rows::{Row, Rows};
use super::{Evaluation, PointEvaluation};
use crate::budget::Scope;
use crate::fault::Fault;

/// How the results of all points hang together in one scope.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// Covariance matrix, row by row in the points' order, in the square of the measurand's SI unit.
    pub covariance: Vec<Vec<f64>>,
    /// Correlation matrix; `None` where u is 0 at either point.
    pub correlation: Vec<Vec<Option<f64>>>,
}

impl Evaluation<'_> {
    /// Returns the covariance matrix of the results at all points, in the points' order and in SI.
    ///
    /// # Errors
    ///
    /// As [`Evaluation::together`].
    pub fn covariance(&self, scope: Scope) -> Result<Vec<Vec<f64>>, Fault> {
        Ok(self.together(scope)?.covariance)
    }

    /// Returns covariance and correlation of the results at all points. Both are exactly symmetric.
    ///
    /// Method: M63.
    ///
    /// # Errors
    ///
    /// A second derivative that does not exist, where the second order enters u.
    pub fn together(&self, scope: Scope) -> Result<Together, Fault> {
        let rows = Rows::new(self, scope);
        let scale: Vec<f64> =
            self.points.iter().map(|it| it.scope(scope).standard_uncertainty).collect();
        let sides = Sides::new(self, &rows, &scale);
        let products = Products::new(self, &rows, scope, &scale)?;
        let own: Vec<f64> =
            (0..scale.len()).map(|p| own(&self.points[p], scope, products.own(p))).collect();
        let n = scale.len();
        let (mut covariance, mut correlation) = (vec![vec![0.0; n]; n], vec![vec![None; n]; n]);
        for p in 0..n {
            covariance[p][p] = scale[p] * scale[p];
            correlation[p][p] = (scale[p] > 0.0).then_some(1.0);
            for q in p + 1..n {
                if scale[p] == 0.0 || scale[q] == 0.0 {
                    continue;
                }
                let size = (own[p] * own[q]).sqrt();
                let sum = sides.first_order(p, q) + products.between(p, q);
                let r = if size > 0.0 { (sum / size).clamp(-1.0, 1.0) } else { 0.0 };
                covariance[p][q] = r * scale[p] * scale[q];
                covariance[q][p] = covariance[p][q];
                correlation[p][q] = Some(r);
                correlation[q][p] = Some(r);
            }
        }
        Ok(Together { covariance, correlation })
    }
}

/// Returns the variance of a point by the formula of the covariances, relative to u².
fn own(point: &PointEvaluation, scope: Scope, products: f64) -> f64 {
    let figures = point.scope(scope);
    if figures.standard_uncertainty == 0.0 {
        return 0.0;
    }
    let ratio = figures.first_order / figures.standard_uncertainty;
    ratio * ratio + products
}

/// The first order at each point, as two lists whose sum of products over two points is what they have
/// in common, relative to u.
struct Sides {
    left: Vec<Vec<f64>>,
    right: Vec<Vec<f64>>,
}

impl Sides {
    fn new(evaluation: &Evaluation, rows: &Rows, scale: &[f64]) -> Sides {
        let grouped = grouped(evaluation);
        let alone: Vec<&Row> = rows
            .list
            .iter()
            .filter(|it| it.shared > 0.0 && !grouped[it.contributor] && it.counts())
            .collect();
        let relative = |row: &Row, p: usize| match scale[p] > 0.0 {
            true => row.signed[p] / scale[p],
            false => 0.0,
        };
        let (mut left, mut right) = (Vec::new(), Vec::new());
        for p in 0..scale.len() {
            let mut one: Vec<f64> = alone.iter().map(|it| it.shared * relative(it, p)).collect();
            let mut two: Vec<f64> = alone.iter().map(|it| relative(it, p)).collect();
            for group in &evaluation.groups {
                let members = members(group, &rows.list);
                let own: Vec<f64> = members.iter().map(|it| relative(it, p)).collect();
                one.extend(spread_out(group, &members, &own));
                two.extend(own);
            }
            left.push(one);
            right.push(two);
        }
        Sides { left, right }
    }

    fn first_order(&self, p: usize, q: usize) -> f64 {
        self.left[p].iter().zip(&self.right[q]).map(|it| it.0 * it.1).sum()
    }
}

/// Returns which contributors are in a group.
pub(crate) fn grouped(evaluation: &Evaluation) -> Vec<bool> {
    let mut grouped = vec![false; evaluation.budget.contributors().len()];
    for member in evaluation.groups.iter().flat_map(|it| &it.members) {
        grouped[*member] = true;
    }
    grouped
}

/// Returns the rows of a group's members; `rows` are in the order of contributors.
pub(crate) fn members<'a>(group: &Group, rows: &'a [Row]) -> Vec<&'a Row> {
    let find = |member: &usize| {
        let at = rows.partition_point(|it| it.contributor < *member);
        rows.get(at).filter(|it| it.contributor == *member)
    };
    group.members.iter().filter_map(find).collect()
}

/// Returns √S·R·√S·a: what other points have in common with each member.
fn spread_out(group: &Group, members: &[&Row], own: &[f64]) -> Vec<f64> {
    let roots: Vec<f64> = members.iter().map(|it| it.shared.sqrt()).collect();
    let weighted: Vec<f64> = own.iter().zip(&roots).map(|it| it.0 * it.1).collect();
    let sum = |r: &Vec<f64>| r.iter().zip(&weighted).map(|it| it.0 * it.1).sum::<f64>();
    group.r.iter().zip(&roots).map(|(r, root)| root * sum(r)).collect()
}
