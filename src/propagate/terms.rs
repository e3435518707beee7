//! The measurand at one point as a sum of independent terms: what its exact distribution is made of.
//!
//! Linear in all inputs, with products of two inputs on top (thermal expansion). Products that share
//! an input hang on it as a star; the shared input has to be a single piece, so that the sum can be
//! averaged over it. What the second order has beyond such products is left out where it is less than
//! 1 % of u², and refused otherwise. Linked normals and the columns of one dataset are one term each.

use super::combine::Component;
use super::correlation::Group;
use super::exact::{Arm, Term};
use super::site::Site;
use super::system::PointModel;
use crate::budget::{Evidence, Order};
use crate::evidence::{Distribution, Piece, Spread};
use std::collections::BTreeMap;

/// The share of u² that may be left out.
const LEFT_OUT: f64 = 0.01;

/// Products with less than this share of u² are not looked at.
const NEGLIGIBLE: f64 = 1e-14;

/// The measurand as a sum.
#[derive(Debug, Clone)]
pub(super) struct Terms {
    /// The terms, in SI of the measurand.
    pub(super) list: Vec<Term>,
    /// The share of u² that the second order has beyond them.
    pub(super) left_out: f64,
}

/// Why the measurand is no sum of independent terms.
#[derive(Debug, Clone, PartialEq)]
pub enum NotASum {
    /// Contributors that are linked and not normal, by index.
    Linked(Vec<usize>),
    /// The second order beyond products of two inputs is this share of u².
    Curved(f64),
    /// The sum cannot be computed, with the reason.
    Refused(String),
}

/// What the terms of one scope at one point are made from.
pub(super) struct Ground<'a> {
    pub(super) site: &'a Site<'a>,
    pub(super) model: &'a PointModel,
    pub(super) gradient: &'a BTreeMap<usize, f64>,
    /// The components that count, with u ≠ 0.
    pub(super) components: &'a [Component],
    pub(super) groups: &'a [Group],
    pub(super) pairs: &'a [(usize, usize)],
    pub(super) order: Order,
    /// u to first and, where it exists, to second order.
    pub(super) u: (f64, Option<f64>),
}

/// Returns the terms.
///
/// Method: M70.
///
/// # Errors
///
/// See [`NotASum`].
pub(super) fn terms(ground: &Ground) -> Result<Terms, NotASum> {
    let mut list = Vec::new();
    let mut leaves: BTreeMap<usize, Vec<Piece>> = BTreeMap::new();
    for it in ground.components.iter().filter(|it| !ground.is_grouped(it)) {
        leaves.entry(it.leaf).or_default().extend(ground.pieces(it));
    }
    for group in ground.groups {
        list.extend(ground.joined(group)?.map(Term::Piece));
    }
    let (stars, left_out) = ground.stars(&leaves)?;
    let in_star = |leaf: &usize| stars.iter().any(|it| it.has(*leaf));
    for (leaf, pieces) in leaves.iter().filter(|it| !in_star(it.0)) {
        let slope = ground.slope(*leaf);
        list.extend(pieces.iter().filter_map(|it| scaled(it, slope)).map(Term::Piece));
    }
    list.extend(stars.iter().map(|it| it.term(ground, &leaves)));
    Ok(Terms { list, left_out })
}

/// Products that share one input.
struct Star {
    /// Pairs of leaves, with f_ij in SI.
    edges: Vec<(usize, usize, f64)>,
    centre: usize,
}

/// A product of two inputs.
struct Product {
    between: (usize, usize),
    derivative: f64,
    variance: f64,
}

impl Ground<'_> {
    fn slope(&self, leaf: usize) -> f64 {
        self.gradient.get(&leaf).copied().unwrap_or(0.0)
    }

    /// Whether a component is linked, or a column of a dataset.
    pub(super) fn is_grouped(&self, it: &Component) -> bool {
        self.groups.iter().any(|group| group.members.binary_search(&it.contributor).is_ok())
    }

    /// Returns the distribution of a component.
    pub(super) fn distribution(&self, it: &Component) -> Distribution {
        let spread = self.spread(it);
        match spread.distribution {
            Distribution::T if spread.dof.is_infinite() => Distribution::Normal,
            other => other,
        }
    }

    /// Returns the pieces of a component, in SI of its leaf.
    fn pieces(&self, it: &Component) -> Vec<Piece> {
        let spread = self.spread(it);
        let factor = it.u / spread.standard_uncertainty;
        spread.pieces().iter().filter_map(|it| scaled(it, factor)).collect()
    }

    /// Returns what the evidence of a component says.
    pub(super) fn spread(&self, it: &Component) -> &Spread {
        let contributor = &self.site.plan.budget.contributors()[it.contributor];
        let line = &self.site.lines[it.contributor];
        let part = match contributor.evidence {
            Evidence::Thermal(_) => it.leaf - self.site.plan.layout.thermal(it.contributor) - 1,
            _ => 0,
        };
        &line.spreads[part]
    }

    /// Returns linked components as one piece; `None` where they cancel.
    pub(super) fn joined(&self, group: &Group) -> Result<Option<Piece>, NotASum> {
        let mut members: Vec<(usize, &Component)> = Vec::new();
        for it in self.components {
            if let Ok(row) = group.members.binary_search(&it.contributor) {
                members.push((row, it));
            }
        }
        let mut variance = 0.0;
        for (row, a) in &members {
            for (column, b) in &members {
                variance += a.signed * group.r[*row][*column] * b.signed;
            }
        }
        let normal = |it: &(usize, &Component)| {
            self.pieces(it.1).iter().all(|piece| piece.shape == Distribution::Normal)
        };
        let (shape, dof) = match group.dof {
            Some(dof) if dof.is_finite() => (Distribution::T, dof),
            None if !members.iter().all(normal) => {
                return Err(NotASum::Linked(members.iter().map(|it| it.1.contributor).collect()));
            }
            _ => (Distribution::Normal, f64::INFINITY),
        };
        Ok((variance > 0.0).then(|| Piece::one(shape, variance.sqrt(), dof)))
    }

    /// Returns the stars of products, and the share of u² that they leave out.
    fn stars(&self, leaves: &BTreeMap<usize, Vec<Piece>>) -> Result<(Vec<Star>, f64), NotASum> {
        let (first, Some(second)) = self.u else { return Ok((Vec::new(), 0.0)) };
        let whole = first.max(second);
        if self.order == Order::First || whole == 0.0 {
            return Ok((Vec::new(), 0.0));
        }
        let mut products = self.products(leaves, whole * whole * NEGLIGIBLE);
        products.sort_by(|a, b| b.variance.total_cmp(&a.variance).then(a.between.cmp(&b.between)));
        let mut stars: Vec<Star> = Vec::new();
        let mut taken = 0.0;
        for it in &products {
            if take(&mut stars, it, leaves) {
                taken += it.variance;
            }
        }
        let rest = (second * second - first * first - taken) / (whole * whole);
        if rest.abs() > LEFT_OUT { Err(NotASum::Curved(rest)) } else { Ok((stars, rest)) }
    }

    /// Returns the products of two inputs with at least `least` of the variance.
    fn products(&self, leaves: &BTreeMap<usize, Vec<Piece>>, least: f64) -> Vec<Product> {
        let variance = |leaf: usize| -> f64 {
            let of =
                |it: &Piece| it.standard_uncertainty * it.standard_uncertainty * it.count as f64;
            leaves.get(&leaf).map_or(0.0, |pieces| pieces.iter().map(of).sum())
        };
        let mut found = Vec::new();
        for &(i, j) in self.pairs.iter().filter(|it| it.0 != it.1) {
            let both = variance(i) * variance(j);
            if both == 0.0 {
                continue;
            }
            let jet = self.model.tape.jet(&self.model.leaves, &[(i, 1.0)], &[(j, 1.0)]);
            let derivative = jet.map_or(0.0, |it| it.ab);
            let variance = derivative * derivative * both;
            if variance > least {
                found.push(Product { between: (i, j), derivative, variance });
            }
        }
        found
    }
}

/// Adds a product to a star, or begins one; whether that can be.
fn take(stars: &mut Vec<Star>, it: &Product, leaves: &BTreeMap<usize, Vec<Piece>>) -> bool {
    let (i, j) = it.between;
    let single =
        |leaf: usize| leaves.get(&leaf).is_some_and(|it| it.len() == 1 && it[0].count == 1);
    let bounded = |leaf: usize| leaves.get(&leaf).is_some_and(|it| it[0].half_width().is_some());
    let touching: Vec<usize> =
        (0..stars.len()).filter(|at| stars[*at].has(i) || stars[*at].has(j)).collect();
    let edge = (i, j, it.derivative);
    match touching.as_slice() {
        [] => {
            let best = [i, j].into_iter().filter(|leaf| single(*leaf));
            let Some(centre) = best.max_by_key(|leaf| (bounded(*leaf), *leaf == i)) else {
                return false;
            };
            stars.push(Star { edges: vec![edge], centre });
            true
        }
        [at] => {
            let star = &mut stars[*at];
            let common = |leaf: &usize| {
                single(*leaf) && star.edges.iter().all(|it| it.0 == *leaf || it.1 == *leaf)
            };
            let Some(centre) = [i, j].into_iter().find(common) else { return false };
            star.edges.push(edge);
            star.centre = centre;
            true
        }
        _ => false,
    }
}

impl Star {
    fn has(&self, leaf: usize) -> bool {
        self.edges.iter().any(|it| it.0 == leaf || it.1 == leaf)
    }

    fn term(&self, ground: &Ground, leaves: &BTreeMap<usize, Vec<Piece>>) -> Term {
        let arm = |&(i, j, product): &(usize, usize, f64)| {
            let leaf = if i == self.centre { j } else { i };
            Arm { slope: ground.slope(leaf), product, pieces: leaves[&leaf].clone() }
        };
        Term::Star {
            centre: leaves[&self.centre][0],
            slope: ground.slope(self.centre),
            arms: self.edges.iter().map(arm).collect(),
        }
    }
}

/// Returns a piece times a factor; the shapes are symmetric, so that its sign does not matter.
fn scaled(piece: &Piece, factor: f64) -> Option<Piece> {
    let standard_uncertainty = piece.standard_uncertainty * factor.abs();
    (standard_uncertainty > 0.0).then_some(Piece { standard_uncertainty, ..*piece })
}
