//! The unknowns behind the errors of all points: an evaluation in, shared draws and rests out, as the
//! kernel of the joint probability ([`joint`](super::joint)) takes them.
//!
//! A contributor with `shared: true` is one unknown with its own shape, which acts at each point with its
//! signed contribution; normal ones are pooled. `shared: ρ` is a shared normal of √ρ and an own one of
//! √(1 − ρ). Linked contributors are the columns of a factor of their correlation (normal), common data
//! the same over one √(χ²/ν). Products of two shared unknowns enter where the second order enters u; what
//! else the second order adds to u² is an own normal. All other contributors are a point's rest. What is
//! below 1e-6 of u² everywhere joins the rests as normal. Values are relative to the largest u.

use super::joint::{self, Rest, Shared};
use crate::budget::{Evidence, Scope};
use crate::evidence::{Distribution, Piece};
use crate::fault::Fault;
use crate::propagate::correlation::Group;
use crate::propagate::covariance::{grouped, members};
use crate::propagate::products::Products;
use crate::propagate::rows::{Row, Rows};
use crate::propagate::{Evaluation, PointEvaluation};
use std::collections::{BTreeMap, BTreeSet};

/// Share of u² below which a shared unknown is not followed over the points.
const NEGLIGIBLE: f64 = 1e-6;
/// Most shared dimensions that are not normal.
const DIMENSIONS: usize = 12;
/// Most parts of a rest that are not normal.
const PARTS: usize = 8;
/// Excess of kurtosis times squared share below which a bounded part of a rest counts as normal: in the
/// Edgeworth series that is below 1e-6 of probability.
const EXCESS: f64 = 1e-5;

/// How far a probability may be off per share of u² that is a product and counts as normal: a rule of
/// this project, not a bound. Three points with a thermal contributor that is not shared were off by 0.016
/// of that share (against a simulation).
const CURVED: f64 = 0.1;

/// Why a contributor counts as normal although it is not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Why {
    /// Its `shared` is between 0 and 1.
    Partial,
    /// It is linked.
    Linked,
    /// Its shape is not the same at all points.
    Shape,
    /// There are too many of them.
    Many,
}

/// A tested point: its place in the evaluation, its error and tolerance in SI.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tested {
    pub(super) at: usize,
    pub(super) error: f64,
    pub(super) low: Option<f64>,
    pub(super) high: Option<f64>,
}

/// The unknowns of a scope at the tested points.
#[derive(Debug)]
pub(super) struct Unknowns {
    pub(super) shared: Vec<Shared>,
    pub(super) points: Vec<joint::Point>,
    /// Contributors that count as normal although they are not.
    pub(super) as_normal: BTreeMap<Why, BTreeSet<usize>>,
    /// Whether all unknowns and rests are normal and enter linearly.
    pub(super) normal: bool,
    /// How far the probability may be off because second-order terms count as normal.
    pub(super) curved: f64,
}

/// One shared unknown that is followed with its shape.
struct Draw {
    row: usize,
    contributor: usize,
    /// Of standard uncertainty 1, or less where it is a part of a sum.
    piece: Piece,
    /// Per tested point.
    loadings: Vec<f64>,
    /// Its largest share of u² at any point.
    size: f64,
}

/// A rest's part: the contributor, if any, and the piece.
type Part = (Option<usize>, Piece);

/// What is gathered while the contributors are gone through; values per tested point.
struct Builder<'a> {
    evaluation: &'a Evaluation<'a>,
    places: Vec<usize>,
    /// The largest u.
    unit: f64,
    /// u relative to it.
    scale: Vec<f64>,
    /// First-order variance relative to `unit`².
    first: Vec<f64>,
    normals: Vec<Vec<f64>>,
    draws: Vec<Draw>,
    joints: Vec<(f64, Vec<Vec<f64>>)>,
    /// Two rows and a coefficient.
    products: Vec<Vec<(usize, usize, f64)>>,
    own: Vec<Vec<Part>>,
    as_normal: BTreeMap<Why, BTreeSet<usize>>,
    /// Shares of u² that second-order terms have as own normals, added up over the points.
    curved: f64,
}

impl Unknowns {
    /// Returns the unknowns of a scope at the tested points.
    ///
    /// Method: M65.
    ///
    /// # Errors
    ///
    /// A second derivative that does not exist, where the second order enters u.
    pub(super) fn new(
        evaluation: &Evaluation,
        scope: Scope,
        tested: &[Tested],
    ) -> Result<Unknowns, Fault> {
        let rows = Rows::new(evaluation, scope);
        let mut builder = Builder::new(evaluation, scope, tested);
        builder.multiply(&rows, scope)?;
        let grouped = grouped(evaluation);
        for (index, row) in rows.list.iter().enumerate().filter(|it| !grouped[it.1.contributor]) {
            builder.alone(index, row);
        }
        for group in &evaluation.groups {
            builder.group(group, &members(group, &rows.list));
        }
        builder.limit();
        builder.leftover();
        Ok(builder.finish(tested))
    }
}

impl<'a> Builder<'a> {
    fn new(evaluation: &'a Evaluation, scope: Scope, tested: &[Tested]) -> Builder<'a> {
        let figures = |it: &Tested| evaluation.points[it.at].scope(scope);
        let u: Vec<f64> = tested.iter().map(|it| figures(it).standard_uncertainty).collect();
        let largest = u.iter().copied().fold(0.0, f64::max);
        let unit = if largest > 0.0 { largest } else { 1.0 };
        let first = tested.iter().map(|it| figures(it).first_order / unit).map(|it| it * it);
        Builder {
            evaluation,
            places: tested.iter().map(|it| it.at).collect(),
            unit,
            scale: u.iter().map(|it| it / unit).collect(),
            first: first.collect(),
            normals: Vec::new(),
            draws: Vec::new(),
            joints: Vec::new(),
            products: vec![Vec::new(); tested.len()],
            own: vec![Vec::new(); tested.len()],
            as_normal: BTreeMap::new(),
            curved: 0.0,
        }
    }

    fn point(&self, k: usize) -> &'a PointEvaluation {
        &self.evaluation.points[self.places[k]]
    }

    fn count(&self) -> usize {
        self.places.len()
    }

    fn loadings(&self, row: &Row) -> Vec<f64> {
        self.places.iter().map(|p| row.signed[*p] / self.unit).collect()
    }

    /// Returns the largest share of u² that loadings have at any point.
    fn size(&self, loadings: &[f64]) -> f64 {
        let share = |(a, u): (&f64, &f64)| if *u > 0.0 { a * a / (u * u) } else { 0.0 };
        loadings.iter().zip(&self.scale).map(share).fold(0.0, f64::max)
    }

    /// Finds the products of two shared unknowns that matter.
    fn multiply(&mut self, rows: &Rows, scope: Scope) -> Result<(), Fault> {
        let all: Vec<f64> =
            self.evaluation.points.iter().map(|it| it.scope(scope).standard_uncertainty).collect();
        let products = Products::new(self.evaluation, rows, scope, &all)?;
        let fits = |row: usize| {
            let row = &rows.list[row];
            row.shared == 1.0
                && self.places.iter().all(|p| {
                    let spread = row.spread(&self.evaluation.points[*p]);
                    spread.pieces().len() <= 1
                })
                && self.same_shape(row)
        };
        let mut found = Vec::new();
        for (k, p) in self.places.iter().enumerate() {
            let list = products.draws(*p).into_iter();
            let list = list.filter(|it| it.2 * it.2 >= NEGLIGIBLE && fits(it.0) && fits(it.1));
            found.push(list.map(|(a, b, c)| (a, b, c * self.scale[k])).collect());
        }
        self.products = found;
        Ok(())
    }

    fn is_multiplied(&self, row: usize) -> bool {
        self.products.iter().flatten().any(|it| it.0 == row || it.1 == row)
    }

    /// Takes in a component that no group holds.
    fn alone(&mut self, index: usize, row: &Row) {
        let loadings = self.loadings(row);
        let multiplied = self.is_multiplied(index);
        let size = self.size(&loadings);
        if size == 0.0 && !multiplied {
            return;
        }
        let acts = loadings.iter().filter(|it| **it != 0.0).count();
        if row.shared == 0.0 || (acts == 1 && !multiplied) {
            self.rest(row, &loadings);
        } else if size < NEGLIGIBLE && !multiplied {
            self.own_normals(&loadings, 1.0);
        } else if row.shared < 1.0 {
            self.partial(row, &loadings);
        } else {
            self.shared(index, row, &loadings, multiplied);
        }
    }

    /// Adds a component to the rests, with its shape.
    fn rest(&mut self, row: &Row, loadings: &[f64]) {
        for (k, a) in loadings.iter().enumerate().filter(|it| *it.1 != 0.0) {
            let spread = row.spread(self.point(k));
            let by = a.abs() / spread.standard_uncertainty;
            let pieces = spread.pieces().into_iter().map(|it| {
                (
                    Some(row.contributor),
                    Piece { standard_uncertainty: by * it.standard_uncertainty, ..it },
                )
            });
            self.own[k].extend(pieces);
        }
    }

    fn own_normals(&mut self, loadings: &[f64], times: f64) {
        for (own, a) in self.own.iter_mut().zip(loadings) {
            if *a != 0.0 && times > 0.0 {
                own.push((None, Piece::one(Distribution::Normal, times * a.abs(), f64::INFINITY)));
            }
        }
    }

    fn note(&mut self, why: Why, contributor: usize) {
        self.as_normal.entry(why).or_default().insert(contributor);
    }

    /// √ρ shared, √(1 − ρ) own, both normal.
    fn partial(&mut self, row: &Row, loadings: &[f64]) {
        if (0..self.count()).any(|k| !is_normal(row, self.point(k))) {
            self.note(Why::Partial, row.contributor);
        }
        let root = row.shared.sqrt();
        self.normals.push(loadings.iter().map(|it| root * it).collect());
        self.own_normals(loadings, (1.0 - row.shared).sqrt());
    }

    fn shared(&mut self, index: usize, row: &Row, loadings: &[f64], multiplied: bool) {
        if !self.same_shape(row) {
            self.note(Why::Shape, row.contributor);
            self.normals.push(loadings.to_vec());
            return;
        }
        let Some(spread) = self.reference(row).map(|it| row.spread(it)) else { return };
        for it in spread.pieces() {
            let part = it.standard_uncertainty / spread.standard_uncertainty;
            if it.shape == Distribution::Normal && !multiplied {
                let by = part * (it.count as f64).sqrt();
                self.normals.push(loadings.iter().map(|it| by * it).collect());
                continue;
            }
            let squares = self.products.iter().zip(&self.scale).flat_map(|(list, u)| {
                let here = list.iter().filter(|it| it.0 == index || it.1 == index);
                here.map(move |it| it.2 * it.2 / (u * u))
            });
            let size = squares.fold(self.size(loadings), f64::max) * part * part;
            let piece = Piece { standard_uncertainty: part, ..it };
            let (contributor, loadings) = (row.contributor, loadings.to_vec());
            self.draws.push(Draw { row: index, contributor, piece, loadings, size });
        }
    }

    /// Returns the tested point at which a component has an uncertainty and counts most.
    fn reference(&self, row: &Row) -> Option<&'a PointEvaluation> {
        let there =
            (0..self.count()).filter(|k| row.spread(self.point(*k)).standard_uncertainty > 0.0);
        let size = |k: &usize| row.signed[self.places[*k]].abs();
        there.max_by(|a, b| size(a).total_cmp(&size(b))).map(|k| self.point(k))
    }

    /// Whether a component is the same but for its size at all tested points where it counts.
    fn same_shape(&self, row: &Row) -> bool {
        let Some(reference) = self.reference(row) else { return true };
        let model = row.spread(reference);
        let (pieces, whole) = (model.pieces(), model.standard_uncertainty);
        (0..self.count()).filter(|k| row.signed[self.places[*k]] != 0.0).all(|k| {
            let here = row.spread(self.point(k));
            let list = here.pieces();
            list.len() == pieces.len()
                && list.iter().zip(&pieces).all(|(a, b)| {
                    let (x, y) = (
                        a.standard_uncertainty / here.standard_uncertainty,
                        b.standard_uncertainty / whole,
                    );
                    a.shape == b.shape
                        && a.count == b.count
                        && a.dof == b.dof
                        && (x - y).abs() <= 1e-9 * y
                })
        })
    }

    /// Takes in linked contributors, or the columns of common data.
    fn group(&mut self, group: &Group, members: &[&Row]) {
        let all: Vec<Vec<f64>> = members.iter().map(|it| self.loadings(it)).collect();
        let roots: Vec<f64> = members.iter().map(|it| it.shared.sqrt()).collect();
        let mut columns: Vec<Vec<f64>> = Vec::new();
        for factor in group.factor() {
            let at = |k: usize| (0..all.len()).map(|i| all[i][k] * roots[i] * factor[i]).sum();
            columns.push((0..self.count()).map(at).collect());
        }
        columns.retain(|it| it.iter().any(|a| *a != 0.0));
        for k in 0..self.count() {
            let a: Vec<f64> = all.iter().map(|it| it[k]).collect();
            let variance: f64 = (0..a.len())
                .flat_map(|i| (0..a.len()).map(move |j| (i, j)))
                .map(|(i, j)| group.r[i][j] * (1.0 - roots[i] * roots[j]) * a[i] * a[j])
                .sum();
            if variance > 0.0 {
                let shape = group.dof.filter(|it| it.is_finite());
                let shape = shape
                    .map_or((Distribution::Normal, f64::INFINITY), |dof| (Distribution::T, dof));
                self.own[k].push((None, Piece::one(shape.0, variance.sqrt(), shape.1)));
            }
        }
        let dof = group.dof.unwrap_or(f64::INFINITY);
        for (row, loadings) in members.iter().zip(&all) {
            let evidence = &self.evaluation.budget().contributors()[row.contributor].evidence;
            let given = !matches!(evidence, Evidence::Column { .. }) && self.size(loadings) > 0.0;
            if given && (0..self.count()).any(|k| !is_normal(row, self.point(k))) {
                self.note(Why::Linked, row.contributor);
            }
        }
        if dof.is_finite() && !columns.is_empty() {
            self.joints.push((dof, columns));
        } else {
            self.normals.extend(columns);
        }
    }

    /// Follows the largest unknowns with their shape and takes the others as normal.
    fn limit(&mut self) {
        let mut used: usize = self.joints.iter().map(|it| 1 + it.1.len()).sum();
        let mut draws = std::mem::take(&mut self.draws);
        draws.sort_by(|a, b| b.size.total_cmp(&a.size).then(a.row.cmp(&b.row)));
        for it in draws {
            used += dimensions(&it.piece);
            if used <= DIMENSIONS || it.piece.shape == Distribution::Normal {
                self.draws.push(it);
                continue;
            }
            self.note(Why::Many, it.contributor);
            let by = it.piece.standard_uncertainty * (it.piece.count as f64).sqrt();
            self.normals.push(it.loadings.iter().map(|a| by * a).collect());
            self.products
                .iter_mut()
                .for_each(|list| list.retain(|p| p.0 != it.row && p.1 != it.row));
        }
    }

    /// Adds to the rests what the second order adds to u² and no product stands for.
    fn leftover(&mut self) {
        for k in 0..self.count() {
            let u = self.scale[k] * self.scale[k];
            let squares =
                self.products[k].iter().map(|(a, b, c)| c * c * if a == b { 2.0 } else { 1.0 });
            let left = u - self.first[k] - squares.sum::<f64>();
            if left > NEGLIGIBLE * u {
                self.curved += left / u;
                self.own[k]
                    .push((None, Piece::one(Distribution::Normal, left.sqrt(), f64::INFINITY)));
            }
        }
    }

    fn finish(mut self, tested: &[Tested]) -> Unknowns {
        let rests: Vec<Rest> = (0..self.count()).map(|k| self.rest_of(k)).collect();
        let mut shared: Vec<Shared> = self.draws.iter().map(|it| Shared::Piece(it.piece)).collect();
        let pooled = Shared::Joint { columns: self.normals.len(), dof: f64::INFINITY };
        shared.extend((!self.normals.is_empty()).then_some(pooled));
        shared.extend(
            self.joints.iter().map(|(dof, it)| Shared::Joint { columns: it.len(), dof: *dof }),
        );
        let columns = self.draws.iter().map(|it| &it.loadings);
        let columns = columns.chain(&self.normals).chain(self.joints.iter().flat_map(|it| &it.1));
        let columns: Vec<&Vec<f64>> = columns.collect();
        let place = |row: usize| self.draws.iter().position(|it| it.row == row);
        let point = |(k, (it, rest)): (usize, (&Tested, Rest))| {
            let product = |(a, b, c): &(usize, usize, f64)| Some((place(*a)?, place(*b)?, *c));
            let products: Vec<_> = self.products[k].iter().filter_map(product).collect();
            // The shift by curvature is reported and not applied: a square enters without its mean.
            let shift: f64 = products.iter().filter(|it| it.0 == it.1).map(|it| it.2).sum();
            joint::Point {
                low: it.low.map(|low| low / self.unit),
                high: it.high.map(|high| high / self.unit),
                estimate: it.error / self.unit - shift,
                loadings: columns.iter().map(|column| column[k]).collect(),
                products,
                rest,
            }
        };
        let points: Vec<joint::Point> = tested.iter().zip(rests).enumerate().map(point).collect();
        let normal = self.draws.is_empty()
            && self.joints.is_empty()
            && points.iter().all(|it| matches!(it.rest, Rest::None | Rest::Normal(_)));
        let curved = (CURVED * self.curved).min(1.0);
        Unknowns { shared, points, as_normal: self.as_normal, normal, curved }
    }

    /// Puts a point's rest together: what is small or too much joins one normal.
    fn rest_of(&mut self, k: usize) -> Rest {
        let u = self.scale[k] * self.scale[k];
        let variance =
            |it: &Piece| it.standard_uncertainty * it.standard_uncertainty * it.count as f64;
        let (mut normal, mut shaped) = (0.0, Vec::new());
        for (contributor, piece) in std::mem::take(&mut self.own[k]) {
            let share = variance(&piece) / u;
            let counts = match piece.shape {
                Distribution::Normal => false,
                Distribution::T => piece.dof.is_finite() && share >= NEGLIGIBLE,
                shape => {
                    (shape.kurtosis() - 3.0).abs() * share * share / piece.count as f64 >= EXCESS
                }
            };
            if counts {
                shaped.push((contributor, piece));
            } else {
                normal += variance(&piece);
            }
        }
        shaped.sort_by(|a, b| variance(&b.1).total_cmp(&variance(&a.1)));
        for (contributor, piece) in shaped.split_off(shaped.len().min(PARTS)) {
            normal += variance(&piece);
            contributor.into_iter().for_each(|it| self.note(Why::Many, it));
        }
        let mut pieces: Vec<Piece> = shaped.into_iter().map(|it| it.1).collect();
        let rest = Piece::one(Distribution::Normal, normal.sqrt(), f64::INFINITY);
        match (pieces.as_slice(), normal > 0.0) {
            ([], false) => Rest::None,
            ([], true) => Rest::Normal(rest.standard_uncertainty),
            ([one], false) if one.shape == Distribution::T && one.count == 1 => {
                Rest::T { scale: one.standard_uncertainty, dof: one.dof }
            }
            (_, more) => {
                pieces.extend(more.then_some(rest));
                Rest::Pieces(pieces)
            }
        }
    }
}

fn is_normal(row: &Row, point: &PointEvaluation) -> bool {
    row.spread(point).pieces().iter().all(|it| it.shape == Distribution::Normal)
}

/// Returns how many dimensions the kernel needs for a piece: two rectangles are one triangle.
fn dimensions(piece: &Piece) -> usize {
    match piece.shape {
        Distribution::Normal => 1,
        Distribution::Rectangular => piece.count.div_ceil(2),
        _ => piece.count,
    }
}
