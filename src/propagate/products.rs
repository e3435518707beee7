//! What products of shared inputs bring to the covariance of two points.
//!
//! Where the second order enters u at points p and q, the terms `½·f_lm·x_l·x_m` of both have
//! `½·Σ f_lm(p)·f_l'm'(q)·C_ll'(p,q)·C_mm'(p,q)` in common, C being the covariances of the model's inputs
//! between the points; a square of one input has its fourth cumulants besides. Exact for a model that is
//! bilinear in what it shares (a thermal expansion); for others it leaves out third derivatives, as
//! JCGM 100:2008, 5.1.2, leaves out fourth ones. In units of u and of each input's standard uncertainty.

use super::covariance::{grouped, members};
use super::rows::{Row, Rows};
use super::{Evaluation, PointEvaluation};
use crate::budget::Scope;
use crate::fault::Fault;
use crate::model::Tape;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Pairs of leaves that interact.
type Pairs = Vec<(usize, usize)>;

/// The second derivatives at each point and what the inputs are made of.
pub(crate) struct Products {
    /// Per point: second derivatives by pair of leaves (ascending), times both standard uncertainties,
    /// relative to u; none where the second order does not enter.
    curvatures: Vec<BTreeMap<(usize, usize), f64>>,
    leaves: Leaves,
}

/// What the leaves with second derivatives are made of.
struct Leaves {
    /// Per leaf: its components that no group holds.
    alone: BTreeMap<usize, Vec<Part>>,
    /// Per pair of leaves (both orders, and each with itself): correlated components.
    grouped: BTreeMap<(usize, usize), Vec<Pair>>,
}

/// One component of a leaf; u relative to the leaf's standard uncertainty at each point.
struct Part {
    /// Its place among the rows.
    row: usize,
    shared: f64,
    u: Vec<f64>,
    /// κ − 3 at each point.
    excess: Vec<f64>,
}

/// Two correlated components of two leaves.
struct Pair {
    /// Their correlation at one point.
    r: f64,
    /// That between points, relative to `r`.
    shared: f64,
    first: Vec<f64>,
    second: Vec<f64>,
}

impl Products {
    /// Differentiates the model where the second order enters u; `scale` is u at each point.
    ///
    /// # Errors
    ///
    /// A second derivative that does not exist.
    pub(crate) fn new(
        evaluation: &Evaluation,
        rows: &Rows,
        scope: Scope,
        scale: &[f64],
    ) -> Result<Products, Fault> {
        let points = &evaluation.points;
        let mut curvatures = vec![BTreeMap::new(); points.len()];
        let mut leaves = Leaves { alone: BTreeMap::new(), grouped: BTreeMap::new() };
        if points.iter().all(|it| !it.scope(scope).second_order_used) {
            return Ok(Products { curvatures, leaves });
        }
        let widths = widths(evaluation, rows);
        let mut known: Option<(&Arc<Tape>, Pairs)> = None;
        for (p, point) in points.iter().enumerate() {
            if !point.scope(scope).second_order_used {
                continue;
            }
            let tape = &point.model.tape;
            if known.as_ref().is_none_or(|it| !Arc::ptr_eq(it.0, tape)) {
                known = Some((tape, tape.interactions()));
            }
            let pairs = known.as_ref().map_or(&[][..], |it| &it.1);
            curvatures[p] = curvature(point, pairs, &|leaf| width(&widths, leaf, p), scale[p])?;
        }
        let mut used: Vec<usize> =
            curvatures.iter().flat_map(BTreeMap::keys).flat_map(|it| [it.0, it.1]).collect();
        used.sort_unstable();
        used.dedup();
        leaves.fill(evaluation, rows, &widths, &used);
        Ok(Products { curvatures, leaves })
    }

    /// Returns the products at a point: two rows (by place, ascending) and the coefficient of the product
    /// of their standardised errors, relative to u. Inputs with linked contributors are left out.
    pub(crate) fn draws(&self, p: usize) -> Vec<(usize, usize, f64)> {
        let mut found = Vec::new();
        let is_alone = |leaf: &usize| {
            self.leaves.grouped.range((*leaf, 0)..=(*leaf, usize::MAX)).next().is_none()
        };
        for (&(l, m), h) in
            self.curvatures[p].iter().filter(|it| is_alone(&it.0.0) && is_alone(&it.0.1))
        {
            let (Some(left), Some(right)) = (self.leaves.alone.get(&l), self.leaves.alone.get(&m))
            else {
                continue;
            };
            for a in left {
                for b in right.iter().filter(|b| l != m || a.row <= b.row) {
                    let half = if a.row == b.row { 0.5 } else { 1.0 };
                    let c = half * h * a.u[p] * b.u[p];
                    if c != 0.0 {
                        found.push((a.row.min(b.row), a.row.max(b.row), c));
                    }
                }
            }
        }
        found
    }

    /// Returns what two points have in common, relative to both u.
    ///
    /// Method: M64.
    pub(super) fn between(&self, p: usize, q: usize) -> f64 {
        if self.curvatures[p].is_empty() || self.curvatures[q].is_empty() {
            return 0.0;
        }
        self.sum(p, q, &|shared| shared)
    }

    /// Returns the variance of a point's own products by the same formula, relative to u².
    pub(super) fn own(&self, p: usize) -> f64 {
        self.sum(p, p, &|_| 1.0)
    }

    fn sum(&self, p: usize, q: usize, common: &dyn Fn(f64) -> f64) -> f64 {
        let (mut alone, mut sum) = (BTreeMap::new(), 0.0);
        for (&(l, m), left) in &self.curvatures[p] {
            for leaf in [l, m] {
                alone.entry(leaf).or_insert_with(|| self.leaves.neighbours(leaf, p, q, common));
            }
            let orders = if l == m { &[(l, m)][..] } else { &[(l, m), (m, l)] };
            for &(a, b) in orders {
                for &(c, along) in &alone[&a] {
                    for &(d, across) in &alone[&b] {
                        let right = self.curvatures[q].get(&(c.min(d), c.max(d)));
                        sum += 0.5 * left * right.copied().unwrap_or(0.0) * along * across;
                    }
                }
            }
            if let (true, Some(right)) = (l == m, self.curvatures[q].get(&(l, m))) {
                sum += 0.25 * left * right * self.leaves.cumulant(l, p, q, common);
            }
        }
        sum
    }
}

impl Leaves {
    fn fill(
        &mut self,
        evaluation: &Evaluation,
        rows: &Rows,
        widths: &BTreeMap<usize, Vec<f64>>,
        used: &[usize],
    ) {
        let grouped = grouped(evaluation);
        let is_used = |row: &&Row| used.binary_search(&row.leaf).is_ok();
        let relative = |row: &Row| -> Vec<f64> {
            let one = |(p, point)| match width(widths, row.leaf, p) {
                width if width > 0.0 => uncertainty(rows, row, p, point) / width,
                _ => 0.0,
            };
            evaluation.points.iter().enumerate().map(one).collect()
        };
        let alone = |it: &(usize, &Row)| is_used(&it.1) && !grouped[it.1.contributor];
        for (at, row) in rows.list.iter().enumerate().filter(alone) {
            let excess = |it| row.spread(it).distribution.kurtosis() - 3.0;
            let excess = evaluation.points.iter().map(excess).collect();
            let part = Part { row: at, shared: row.shared, u: relative(row), excess };
            self.alone.entry(row.leaf).or_default().push(part);
        }
        for group in &evaluation.groups {
            let members = members(group, &rows.list);
            for (a, r) in members.iter().zip(&group.r).filter(|it| is_used(it.0)) {
                for (b, r) in members.iter().zip(r).filter(|it| is_used(it.0) && *it.1 != 0.0) {
                    let shared = (a.shared * b.shared).sqrt();
                    let pair = Pair { r: *r, shared, first: relative(a), second: relative(b) };
                    self.grouped.entry((a.leaf, b.leaf)).or_default().push(pair);
                }
            }
        }
    }

    /// Returns the leaves at q that a leaf at p is correlated with, and how.
    fn neighbours(
        &self,
        leaf: usize,
        p: usize,
        q: usize,
        common: &dyn Fn(f64) -> f64,
    ) -> Vec<(usize, f64)> {
        let parts = self.alone.get(&leaf).into_iter().flatten();
        let own: f64 = parts.map(|it| common(it.shared) * it.u[p] * it.u[q]).sum();
        let mut found = vec![(leaf, own)];
        for (&(_, other), pairs) in self.grouped.range((leaf, 0)..=(leaf, usize::MAX)) {
            let sum: f64 =
                pairs.iter().map(|it| it.r * common(it.shared) * it.first[p] * it.second[q]).sum();
            if other == leaf {
                found[0].1 += sum;
            } else {
                found.push((other, sum));
            }
        }
        found
    }

    /// Returns the fourth cumulants that a leaf has in common at two points.
    fn cumulant(&self, leaf: usize, p: usize, q: usize, common: &dyn Fn(f64) -> f64) -> f64 {
        let parts = self.alone.get(&leaf).into_iter().flatten();
        parts
            .map(|it| {
                let both = common(it.shared) * it.u[p] * it.u[q];
                0.5 * (it.excess[p] + it.excess[q]) * both * both
            })
            .sum()
    }
}

/// Returns the second derivatives of a point that differ from zero.
fn curvature(
    point: &PointEvaluation,
    pairs: &[(usize, usize)],
    width: &dyn Fn(usize) -> f64,
    scale: f64,
) -> Result<BTreeMap<(usize, usize), f64>, Fault> {
    let mut found = BTreeMap::new();
    for &(l, m) in pairs {
        let (first, second) = (width(l), width(m));
        if first == 0.0 || second == 0.0 {
            continue;
        }
        let model = &point.model;
        let jet = model.tape.jet(&model.leaves, &[(l, first)], &[(m, second)])?;
        if jet.ab != 0.0 {
            found.insert((l, m), jet.ab / scale);
        }
    }
    Ok(found)
}

fn width(widths: &BTreeMap<usize, Vec<f64>>, leaf: usize, p: usize) -> f64 {
    widths.get(&leaf).map_or(0.0, |it| it[p])
}

/// Returns the root of the sum of squares of all components of each leaf at each point.
fn widths(evaluation: &Evaluation, rows: &Rows) -> BTreeMap<usize, Vec<f64>> {
    let mut found: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for row in &rows.list {
        let sums = found.entry(row.leaf).or_insert_with(|| vec![0.0; evaluation.points.len()]);
        for (p, (sum, point)) in sums.iter_mut().zip(&evaluation.points).enumerate() {
            *sum = libm::hypot(*sum, uncertainty(rows, row, p, point));
        }
    }
    found
}

/// Returns the standard uncertainty of a component in SI of its input; 0 where it does not count.
fn uncertainty(rows: &Rows, row: &Row, p: usize, point: &PointEvaluation) -> f64 {
    match rows.kept[p][row.contributor] {
        true => row.spread(point).standard_uncertainty,
        false => 0.0,
    }
}
