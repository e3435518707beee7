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
use crate::budget::parts::THERMAL_KEYS;
use crate::budget::{Evidence, Order};
use crate::evidence::{Distribution, Piece, Spread};
use std::collections::{BTreeMap, BTreeSet};

/// The share of u² that may be left out.
const LEFT_OUT: f64 = 0.01;

/// Products with less than this share of u² are not looked at.
const NEGLIGIBLE: f64 = 1e-14;

/// A share of u² below this changes k by less than a tenth of its error bound: it is rounding, not model.
const ROUNDING: f64 = 1e-10;

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
    /// Products that do not hang on one input with a single contributor: the largest of them, and the share
    /// of u² of all.
    Products {
        /// Its factors.
        between: [String; 2],
        /// The share of u².
        share: f64,
    },
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

/// Contributors that count and are linked with each other, with their rows in the group.
pub(super) type Set<'a> = Vec<(usize, &'a Component)>;

/// Returns the terms, with products on up to `most` common inputs; what more there is is left out.
///
/// Method: M70.
///
/// # Errors
///
/// See [`NotASum`].
pub(super) fn terms(ground: &Ground, most: usize) -> Result<Terms, NotASum> {
    let mut list = Vec::new();
    let mut leaves: BTreeMap<usize, Vec<Piece>> = BTreeMap::new();
    for it in ground.components.iter().filter(|it| !ground.is_grouped(it)) {
        leaves.entry(it.leaf).or_default().extend(ground.pieces(it));
    }
    for group in ground.groups {
        for set in ground.connected(group) {
            match set.as_slice() {
                [(_, alone)] => leaves.entry(alone.leaf).or_default().extend(ground.pieces(alone)),
                _ => list.extend(ground.joined(group, &set)?.map(Term::Piece)),
            }
        }
    }
    leaves.values_mut().for_each(merge_normals);
    let (stars, left_out) = ground.stars(&leaves, most)?;
    let in_star: BTreeSet<usize> =
        stars.iter().flat_map(|it| &it.edges).flat_map(|it| [it.0, it.1]).collect();
    for (leaf, pieces) in leaves.iter().filter(|it| !in_star.contains(it.0)) {
        let slope = ground.slope(*leaf);
        list.extend(pieces.iter().filter_map(|it| scaled(it, slope)).map(Term::Piece));
    }
    list.extend(stars.iter().map(|it| it.term(ground, &leaves)));
    Ok(Terms { list, left_out })
}

/// Puts the normal pieces of a leaf together: their sum is normal, and one piece can be a common factor.
fn merge_normals(pieces: &mut Vec<Piece>) {
    let normal = |it: &Piece| it.shape == Distribution::Normal;
    if pieces.iter().filter(|it| normal(it)).map(|it| it.count).sum::<usize>() < 2 {
        return;
    }
    let largest =
        pieces.iter().filter(|it| normal(it)).map(|it| it.standard_uncertainty).fold(0.0, f64::max);
    let mut squares: Vec<f64> = Vec::new();
    for it in pieces.iter().filter(|it| normal(it)) {
        let ratio = it.standard_uncertainty / largest;
        squares.push(ratio * ratio * it.count as f64);
    }
    // In the order of their sizes, so that the order of the file changes nothing.
    squares.sort_by(f64::total_cmp);
    let u = largest * squares.iter().sum::<f64>().sqrt();
    pieces.retain(|it| !normal(it));
    pieces.push(Piece::one(Distribution::Normal, u, f64::INFINITY));
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
        self.site.plan.grouped.contains(&it.contributor)
    }

    /// Returns the members of a group that count, in sets that correlations connect; the columns of a
    /// dataset are one set, as they share their degrees of freedom.
    pub(super) fn connected(&self, group: &Group) -> Vec<Set<'_>> {
        // Components have the order of the contributors, and a linked one has a single component.
        let find = |index: &usize| {
            let at = self.components.binary_search_by_key(index, |it| it.contributor).ok()?;
            self.components.get(at)
        };
        let found = |it: (usize, &usize)| Some((it.0, find(it.1)?));
        let mut open: Set = group.members.iter().enumerate().filter_map(found).collect();
        if group.dof.is_some() {
            return if open.is_empty() { Vec::new() } else { vec![open] };
        }
        let mut sets = Vec::new();
        while let Some(first) = open.pop() {
            let (mut set, mut next) = (vec![first], 0);
            while let Some((row, _)) = set.get(next) {
                let linked = |it: &(usize, &Component)| group.r[*row][it.0] != 0.0;
                let (near, far): (Set, Set) = open.into_iter().partition(linked);
                open = far;
                set.extend(near);
                next += 1;
            }
            set.sort_by_key(|it| it.0);
            sets.push(set);
        }
        sets
    }

    /// Returns the distribution of a component.
    pub(super) fn distribution(&self, it: &Component) -> Distribution {
        let spread = self.spread(it);
        match spread.distribution {
            Distribution::T if spread.dof.is_infinite() => Distribution::Normal,
            other => other,
        }
    }

    /// Returns the pieces of a component, in SI of its leaf; t with infinite ν is normal.
    fn pieces(&self, it: &Component) -> Vec<Piece> {
        let spread = self.spread(it);
        let factor = it.u / spread.standard_uncertainty;
        let plain = |it: &Piece| match it.shape {
            Distribution::T if it.dof.is_infinite() => Piece { shape: Distribution::Normal, ..*it },
            _ => *it,
        };
        spread.pieces().iter().filter_map(|it| scaled(&plain(it), factor)).collect()
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
    ///
    /// # Errors
    ///
    /// [`NotASum::Linked`] where one of them is not normal, unless they are columns of one dataset.
    pub(super) fn joined(&self, group: &Group, set: &Set) -> Result<Option<Piece>, NotASum> {
        let normal =
            |it: &Component| self.pieces(it).iter().all(|it| it.shape == Distribution::Normal);
        let (shape, dof) = match group.dof {
            Some(dof) if dof.is_finite() => (Distribution::T, dof),
            None if !set.iter().all(|it| normal(it.1)) => {
                return Err(NotASum::Linked(set.iter().map(|it| it.1.contributor).collect()));
            }
            _ => (Distribution::Normal, f64::INFINITY),
        };
        let largest = set.iter().map(|it| it.1.signed.abs()).fold(0.0, f64::max);
        if largest == 0.0 {
            return Ok(None);
        }
        let (mut variance, mut size) = (0.0, 0.0);
        for (row, a) in set {
            for (column, b) in set {
                let part = a.signed / largest * group.r[*row][*column] * (b.signed / largest);
                variance += part;
                size += f64::abs(part);
            }
        }
        // What is left of r = ±1 that cancel is rounding.
        let u = largest * f64::max(variance, 0.0).sqrt();
        Ok((variance > 1e-14 * size).then(|| Piece::one(shape, u, dof)))
    }

    /// Returns the stars of products, and the share of u² that they leave out.
    fn stars(
        &self,
        leaves: &BTreeMap<usize, Vec<Piece>>,
        most: usize,
    ) -> Result<(Vec<Star>, f64), NotASum> {
        let (first, Some(second)) = self.u else { return Ok((Vec::new(), 0.0)) };
        let whole = first.max(second);
        if self.order == Order::First || whole == 0.0 {
            return Ok((Vec::new(), 0.0));
        }
        let square = whole * whole;
        let mut products = self.products(leaves, square * NEGLIGIBLE);
        products.sort_by(|a, b| b.variance.total_cmp(&a.variance).then(a.between.cmp(&b.between)));
        let mut stars: Vec<Star> = Vec::new();
        let (mut taken, mut missed, mut first_missed) = (0.0, 0.0, None);
        for it in &products {
            let (i, j) = it.between;
            let more = stars.len() < most || stars.iter().any(|star| star.has(i) || star.has(j));
            if more && take(&mut stars, it, leaves) {
                taken += it.variance;
            } else {
                missed += it.variance / square;
                first_missed = first_missed.or(Some(it.between));
            }
        }
        let rest = (second * second - first * first - taken) / square;
        match first_missed {
            _ if rest.abs() < ROUNDING => Ok((stars, 0.0)),
            _ if rest.abs() <= LEFT_OUT => Ok((stars, rest)),
            Some((i, j)) if (rest - missed).abs() <= LEFT_OUT => {
                let between = [self.leaf_name(i), self.leaf_name(j)];
                Err(NotASum::Products { between, share: missed })
            }
            _ => Err(NotASum::Curved(rest)),
        }
    }

    /// Returns the name of an input, or of a part of a thermal contributor.
    fn leaf_name(&self, leaf: usize) -> String {
        let budget = self.site.plan.budget;
        let thermal = self.components.iter().find(|it| it.leaf == leaf);
        match thermal {
            Some(it) if leaf > self.site.plan.layout.measurand() => {
                let part = leaf - self.site.plan.layout.thermal(it.contributor) - 1;
                format!("{} / {}", budget.contributors()[it.contributor].name, THERMAL_KEYS[part])
            }
            _ => budget.names().get(leaf).word.clone(),
        }
    }

    /// Returns the products of two inputs with at least `least` of the variance.
    fn products(&self, leaves: &BTreeMap<usize, Vec<Piece>>, least: f64) -> Vec<Product> {
        let square = |it: &Piece| it.standard_uncertainty * it.standard_uncertainty;
        let variance = |pieces: &[Piece]| -> f64 {
            pieces.iter().map(|it| square(it) * it.count as f64).sum()
        };
        let variances: BTreeMap<usize, f64> =
            leaves.iter().map(|it| (*it.0, variance(it.1))).collect();
        let mut found = Vec::new();
        for &(i, j) in self.pairs.iter().filter(|it| it.0 != it.1) {
            let (Some(a), Some(b)) = (variances.get(&i), variances.get(&j)) else { continue };
            let jet = self.model.tape.jet(&self.model.leaves, &[(i, 1.0)], &[(j, 1.0)]);
            let derivative = jet.map_or(0.0, |it| it.ab);
            let variance = (derivative * a.sqrt()) * (derivative * a.sqrt()) * b;
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
