//! Several results of one budget: each by the law of propagation, and the matrices between them.
//!
//! A result is one more tape over the leaves of the measurand's own, so all results see the same
//! contributors, correlations and selection. With a_p the contributions c·u of all contributors to the
//! quantity p and R their correlations, the covariance of p and q is a_pᵀ·R·a_q, to first order: the work
//! is linear in the contributors and quadratic in the quantities.
//!
//! Order of quantities: the measurand, then the results in the order of the file.
//! Source: JCGM 102:2011, 6.2 (law of propagation), 6.5 (coverage regions).

use super::combine::{Component, Setting, combine, factor, with_correlations};
use super::site::Site;
use super::system::{PointModel, nodes, replaced};
use super::{Combined, Value};
use crate::budget::{Budget, CoverageMethod, Point, Scope};
use crate::evidence::distribution::{chi_squared, normal};
use crate::fault::Fault;
use crate::model::Tape;
use crate::model::tape::Slot;
use nalgebra::{DMatrix, SymmetricEigen};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A variance below this share of its squared contributions is what rounding left of a zero.
const ROUNDING: f64 = 1e-13;

/// Eigenvalues of a correlation matrix below this are rounding of a zero.
const TIED: f64 = 1e-10;

/// The results beside the measurand at one point, and how all quantities hang together.
#[derive(Debug, Clone, PartialEq)]
pub struct Results {
    /// One per result, in the order of the budget; the measurand is not among them.
    pub figures: Vec<ResultFigures>,
    /// Covariances in SI, first order, the measurand first: symmetric, positive semidefinite.
    pub covariance: Vec<Vec<f64>>,
    /// Correlation coefficients, 1 on the diagonal; `None` where one of the two has u = 0.
    pub correlation: Vec<Vec<Option<f64>>>,
    /// How many of the quantities vary independently: the rank of the correlation matrix.
    pub rank: usize,
    /// The factors of the coverage regions; `None` where the budget fixes k and no probability.
    pub region: Option<Region>,
}

/// One result at one point; figures are in SI, scope `all`.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultFigures {
    /// The estimate, with the reading at the point's value.
    pub estimate: Value,
    /// Standard uncertainty of both orders, and degrees of freedom.
    pub combined: Combined,
    /// Coverage factor k, by the budget's coverage.
    pub coverage_factor: f64,
    /// Expanded uncertainty k·u.
    pub expanded_uncertainty: f64,
}

/// Factors of regions that hold all quantities together with a probability; normal, ν infinite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Region {
    /// The coverage probability.
    pub probability: f64,
    /// k_p of the ellipsoid (y − η)ᵀ·V⁻¹·(y − η) ≤ k_p².
    pub ellipsoid: f64,
    /// k_q of the intervals y ± k_q·u(y) that hold all together.
    pub rectangle: f64,
}

/// A tape with the pairs of its leaves that interact.
type Compiled = (Arc<Tape>, Arc<Vec<(usize, usize)>>);

/// The tapes of all results: one list per set of estimates that a point's own keys replace.
#[derive(Debug, Default)]
pub(super) struct ResultTapes {
    made: BTreeMap<Vec<usize>, Arc<[Compiled]>>,
}

impl ResultTapes {
    fn of(&mut self, site: &Site, point: &Point) -> Result<Arc<[Compiled]>, Fault> {
        let replaced = replaced(site.plan.budget, point);
        if let Some(made) = self.made.get(&replaced) {
            return Ok(made.clone());
        }
        let made: Arc<[Compiled]> = compile(site, &replaced)?.into();
        self.made.insert(replaced, made.clone());
        Ok(made)
    }
}

fn compile(site: &Site, replaced: &[usize]) -> Result<Vec<Compiled>, Fault> {
    let (budget, plan) = (site.plan.budget, site.plan);
    let nodes = nodes(budget, &plan.layout, &plan.order, replaced)?;
    let measurand = crate::model::parse::fold(&budget.measurand().symbol);
    let mut builder = nodes.builder;
    let mut symbols: BTreeMap<String, Slot> = BTreeMap::from([(measurand, nodes.measurand)]);
    let mut made = Vec::with_capacity(budget.results().len());
    for it in budget.results() {
        let slot = builder.expr(it.model(), &|word| match budget.names().find(word) {
            Some(name) => nodes.names[name],
            None => symbols.get(word).copied(),
        })?;
        symbols.insert(it.symbol.clone(), slot);
        let tape = builder.clone().finish(slot);
        let pairs = Arc::new(tape.interactions());
        made.push((Arc::new(tape), pairs));
    }
    Ok(made)
}

/// A result between its derivatives and its figures.
struct Half {
    model: PointModel,
    pairs: Arc<Vec<(usize, usize)>>,
    estimate: Value,
    components: Vec<Component>,
}

/// Returns the results at a point, `None` where the budget has none. `kept`, the measurand's selection,
/// is completed for groups that only results depend on.
///
/// # Errors
///
/// Per result what it cannot compute.
pub(super) fn results(
    site: &Site,
    setting: &Setting,
    measurand: &[Component],
    tapes: &mut ResultTapes,
    kept: &mut [bool],
) -> Result<Option<Results>, Vec<Fault>> {
    let budget = site.plan.budget;
    if budget.results().is_empty() {
        return Ok(None);
    }
    let tapes = tapes.of(site, site.point).map_err(|it| vec![it])?;
    let halves = each(tapes.iter().map(|(tape, pairs)| half(site, setting, tape, pairs)))?;
    select(budget, measurand, &halves, kept);
    let counted = |components: &[Component]| -> Vec<Component> {
        let counts = |it: &&Component| it.u != 0.0 && kept[it.contributor];
        components.iter().filter(counts).copied().collect()
    };
    let mut all = vec![counted(measurand)];
    all.extend(halves.iter().map(|it| counted(&it.components)));
    let finished = halves.into_iter().zip(&all[1..]).zip(budget.results());
    let finished = finished.map(|((half, components), result)| {
        let (model, pairs) = (&half.model, &half.pairs);
        let setting = Setting { model, pairs, origin: result.origin, ..*setting };
        figures(budget, half.estimate.clone(), components, &setting)
    });
    let figures = each(finished)?;
    let (covariance, correlation) = matrices(&all, setting);
    let rank = rank(&correlation);
    Ok(Some(Results { figures, covariance, correlation, rank, region: site.plan.region }))
}

/// Returns all values, or all faults.
fn each<T>(made: impl Iterator<Item = Result<T, Fault>>) -> Result<Vec<T>, Vec<Fault>> {
    let (mut values, mut faults) = (Vec::new(), Vec::new());
    for it in made {
        match it {
            Ok(value) => values.push(value),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok(values) } else { Err(faults) }
}

fn half(
    site: &Site,
    setting: &Setting,
    tape: &Arc<Tape>,
    pairs: &Arc<Vec<(usize, usize)>>,
) -> Result<Half, Fault> {
    let model = site.same_leaves(setting.model, tape.clone())?;
    let estimate = model.at_exact_reading(&site.reading())?;
    let components = site.components(&site.gradient(&model)?);
    Ok(Half { model, pairs: pairs.clone(), estimate, components })
}

/// Of a group that the measurand does not depend on, the member counts that is largest for the first
/// result that does (ties: the first in the file).
///
/// Method: M62.
fn select(budget: &Budget, measurand: &[Component], halves: &[Half], kept: &mut [bool]) {
    let group = |it: &Component| budget.contributors()[it.contributor].largest_of.as_deref();
    let matters = |it: &&Component| it.signed != 0.0 && group(it).is_some();
    let mut settled: BTreeSet<&str> = measurand.iter().filter(matters).filter_map(group).collect();
    for half in halves {
        let mut largest: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
        for it in half.components.iter().filter(matters) {
            let Some(group) = group(it).filter(|it| !settled.contains(it)) else { continue };
            let best = largest.entry(group).or_insert((it.contributor, it.signed.abs()));
            if it.signed.abs() > best.1 {
                *best = (it.contributor, it.signed.abs());
            }
        }
        for (it, kept) in budget.contributors().iter().zip(kept.iter_mut()) {
            *kept &= it.largest_of.as_deref().is_none_or(|it| !largest.contains_key(it));
        }
        largest.values().for_each(|it| kept[it.0] = true);
        settled.extend(largest.into_keys());
    }
}

fn figures(
    budget: &Budget,
    estimate: Value,
    components: &[Component],
    setting: &Setting,
) -> Result<ResultFigures, Fault> {
    let combined = combine(components, Scope::All, setting)?;
    let coverage_factor = match budget.coverage().method {
        CoverageMethod::Fixed(k) => k,
        // What the measurand's distribution gives is the measurand's alone.
        CoverageMethod::T | CoverageMethod::Exact | CoverageMethod::MonteCarlo => {
            let probability = budget.coverage().probability.get();
            factor(probability, combined.quantile_dof, setting.origin)?
        }
    };
    let expanded_uncertainty = coverage_factor * combined.standard_uncertainty;
    Ok(ResultFigures { estimate, combined, coverage_factor, expanded_uncertainty })
}

/// The contributions to one quantity, divided by the largest, so that no square is out of range.
struct Row {
    scale: f64,
    own: Vec<f64>,
    /// With correlations: R times `own`.
    linked: Vec<f64>,
}

impl Row {
    fn new(components: &[Component], setting: &Setting) -> Row {
        let largest = components.iter().map(|it| it.signed.abs()).fold(0.0, f64::max);
        let scale = if largest > 0.0 { largest } else { 1.0 };
        let own: Vec<f64> = components.iter().map(|it| it.signed / scale).collect();
        let linked = with_correlations(components, &own, setting.groups);
        Row { scale, own, linked }
    }

    /// Returns the sum of products, those of correlated contributors apart: they are exactly 0 without.
    fn times(&self, other: &Row) -> f64 {
        let pairs = || self.own.iter().zip(&other.own);
        let plain: f64 = pairs().map(|(a, b)| a * b).sum();
        let linked = pairs().zip(&other.linked).map(|((a, b), rb)| a * (rb - b));
        plain + linked.sum::<f64>()
    }
}

type Matrices = (Vec<Vec<f64>>, Vec<Vec<Option<f64>>>);

/// Returns covariances aᵀRb and correlations of all quantities, symmetric to the bit.
///
/// Method: M58, M59.
fn matrices(all: &[Vec<Component>], setting: &Setting) -> Matrices {
    let rows: Vec<Row> = all.iter().map(|it| Row::new(it, setting)).collect();
    let m = rows.len();
    let mut scaled = vec![vec![0.0; m]; m];
    for a in 0..m {
        for b in a..m {
            scaled[a][b] = rows[a].times(&rows[b]);
            scaled[b][a] = scaled[a][b];
        }
        scaled[a][a] = scaled[a][a].max(0.0);
    }
    let moves: Vec<bool> = rows
        .iter()
        .enumerate()
        .map(|(a, row)| scaled[a][a] > ROUNDING * row.own.iter().map(|it| it * it).sum::<f64>())
        .collect();
    let covariance = |a: usize, b: usize| scaled[a][b] * rows[a].scale * rows[b].scale;
    let correlation = |a: usize, b: usize| match (moves[a] && moves[b], a == b) {
        (false, _) => None,
        (true, true) => Some(1.0),
        (true, false) => {
            let r = scaled[a][b] / (scaled[a][a] * scaled[b][b]).sqrt();
            Some(r.clamp(-1.0, 1.0))
        }
    };
    (square(m, covariance), square(m, correlation))
}

fn square<T>(m: usize, entry: impl Fn(usize, usize) -> T) -> Vec<Vec<T>> {
    // Upper entries stand for lower ones, so that rounding cannot part them.
    (0..m).map(|a| (0..m).map(|b| entry(a.min(b), a.max(b))).collect()).collect()
}

/// Returns how many eigenvalues of a correlation matrix are above zero; quantities without u have none.
fn rank(correlation: &[Vec<Option<f64>>]) -> usize {
    let moving: Vec<usize> =
        (0..correlation.len()).filter(|&it| correlation[it][it].is_some()).collect();
    if moving.is_empty() {
        // No eigenvalues of nothing.
        return 0;
    }
    let entry = |a: usize, b: usize| correlation[moving[a]][moving[b]].unwrap_or(0.0);
    let eigen = SymmetricEigen::new(DMatrix::from_fn(moving.len(), moving.len(), entry));
    eigen.eigenvalues.iter().filter(|it| **it > TIED).count()
}

/// Returns the factors of the regions of all quantities at the budget's coverage probability.
pub(super) fn region(budget: &Budget) -> Option<Region> {
    if budget.results().is_empty() || matches!(budget.coverage().method, CoverageMethod::Fixed(_)) {
        return None;
    }
    let probability = budget.coverage().probability.get();
    let quantities = 1 + budget.results().len();
    Some(Region {
        probability,
        ellipsoid: ellipsoid(probability, quantities)?,
        rectangle: rectangle(probability, quantities)?,
    })
}

/// Returns k_p: the root of the quantile of chi-squared with as many degrees of freedom as quantities.
///
/// Method: M60.
pub fn ellipsoid(probability: f64, quantities: usize) -> Option<f64> {
    Some(chi_squared::chi_squared_quantile(1.0 - probability, quantities as f64)?.sqrt())
}

/// Returns k_q: the two-sided normal factor at 1 − (1 − p)/m, so that m intervals hold together with p
/// at least, whatever their correlation (Bonferroni).
///
/// Method: M61.
pub fn rectangle(probability: f64, quantities: usize) -> Option<f64> {
    normal::two_sided_factor(1.0 - (1.0 - probability) / quantities as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 102:2011, tables 3 to 5: 2,45 and 2,24 for two quantities and 95 %; unrounded by scipy,
    /// `sqrt(chi2.ppf(0.95, 2))` and `norm.ppf(1 - 0.05 / 4)`. One quantity: the normal factor either way.
    /// Method: M60, M61.
    #[test]
    fn factors_of_two_quantities_are_those_of_the_guide() {
        let near = |got: Option<f64>, expected: f64| (got.unwrap() / expected - 1.0).abs() < 1e-14;
        assert!(near(ellipsoid(0.95, 2), 2.447_746_830_680_816));
        assert!(near(rectangle(0.95, 2), 2.241_402_727_604_945));
        let one = normal::two_sided_factor(0.9545).unwrap();
        assert!(near(ellipsoid(0.9545, 1), one) && near(rectangle(0.9545, 1), one));
    }

    /// By hand: rank of matrices with eigenvalues (2, 0), (1.5, 0.5), (1), and of a quantity without u.
    #[test]
    fn counts_what_varies_independently() {
        let two = |r: f64| vec![vec![Some(1.0), Some(r)], vec![Some(r), Some(1.0)]];
        assert_eq!((rank(&two(1.0)), rank(&two(-1.0)), rank(&two(0.5))), (1, 1, 2));
        assert_eq!(rank(&[vec![Some(1.0), None], vec![None, None]]), 1);
        assert_eq!(rank(&[vec![None]]), 0);
    }
}
