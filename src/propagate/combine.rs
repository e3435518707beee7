//! The figures of one scope at one point: first and second order, shares, degrees of freedom.
//!
//! First order with correlations: JCGM 100:2008, equations (13) and (16). Degrees of freedom: (G.2b);
//! with given correlations ν = u⁴/Σ(a_i²·(Ra)_i²/ν_i), a the contributions and R their matrix.

use super::correlation::Group;
use super::density::Density;
use super::second_order::{self, Direction};
use super::{Combined, system::PointModel};
use crate::budget::{DofRule, Order, Scope};
use crate::evidence::distribution::student;
use crate::evidence::sum_kurtosis;
use crate::fault::{Fault, Origin};
use std::collections::{BTreeMap, BTreeSet};

/// Coverage probability of the U in TUR and guard bands.
pub const TEST_PROBABILITY: f64 = 0.9545;

/// Relative change of u by which the second order enters with `order: auto`.
const ENTERS: f64 = 0.01;

/// One uncertain quantity that enters through one leaf.
#[derive(Debug, Clone, Copy)]
pub(super) struct Component {
    /// Index of the contributor.
    pub(super) contributor: usize,
    /// The leaf.
    pub(super) leaf: usize,
    /// Standard uncertainty in SI of the leaf (times a given sensitivity, if any).
    pub(super) u: f64,
    /// c·u with its sign, in SI of the measurand.
    pub(super) signed: f64,
    pub(super) dof: f64,
    pub(super) kurtosis: f64,
}

/// What is the same for both scopes of a point.
pub(super) struct Setting<'a> {
    pub(super) model: &'a PointModel,
    pub(super) pairs: &'a [(usize, usize)],
    pub(super) groups: &'a [Group],
    pub(super) order: Order,
    pub(super) rule: DofRule,
    pub(super) origin: Origin,
    pub(super) title: &'a str,
}

/// Combines the kept components of a scope.
///
/// # Errors
///
/// A derivative that does not exist, or a negative sum of the second order, where it is needed.
pub(super) fn combine(
    components: &[Component],
    scope: Scope,
    setting: &Setting,
) -> Result<Combined, Fault> {
    if !components.iter().all(|it| it.signed.is_finite()) {
        return Err(too_large(scope, setting));
    }
    let largest = components.iter().map(|it| it.signed.abs()).fold(0.0, f64::max);
    let scale = if largest > 0.0 { largest } else { 1.0 };
    let contributions: Vec<f64> = components.iter().map(|it| it.signed / scale).collect();
    let squares: f64 = contributions.iter().map(|a| a * a).sum();
    let correlated = with_correlations(components, &contributions, setting.groups);
    let products: f64 = contributions.iter().zip(&correlated).map(|(a, ra)| a * (ra - a)).sum();
    let first_squared = (squares + products).max(0.0);
    let first = first_squared.sqrt() * scale;
    let second = second_order(components, first, scope, setting)?;
    let used = second.as_ref().is_some_and(|it| enters(first, it.u, setting.order));
    let u = match &second {
        Some(it) if used => it.u,
        _ => first,
    };
    if !u.is_finite() {
        return Err(too_large(scope, setting));
    }
    let ratio = u / scale;
    let variance = ratio * ratio;
    let share = |part: f64| if variance > 0.0 { part / variance } else { 0.0 };
    let terms = dof_terms(components, &contributions, &correlated, setting.groups);
    let effective_dof = effective_dof(&terms, variance);
    let quantile_dof = quantile_dof(effective_dof, setting.rule);
    let test_factor = factor(TEST_PROBABILITY, quantile_dof, setting.origin)?;
    Ok(Combined {
        first_order: first,
        second_order: second.as_ref().map(|it| it.u),
        second_order_used: used,
        shift: second.as_ref().map(|it| it.shift),
        standard_uncertainty: u,
        correlation_share: share(first_squared - squares),
        second_order_share: if used { share(variance - first_squared) } else { 0.0 },
        effective_dof,
        quantile_dof,
        test_factor,
        test_expanded: test_factor * u,
        density: Density::T { u, dof: quantile_dof },
        density_refused: None,
    })
}

/// Returns Ra: each contribution with those that it is linked with.
///
/// Method: M13.
pub(super) fn with_correlations(
    components: &[Component],
    contributions: &[f64],
    groups: &[Group],
) -> Vec<f64> {
    let mut sums = contributions.to_vec();
    if groups.is_empty() {
        return sums;
    }
    let place: BTreeMap<usize, usize> =
        components.iter().enumerate().map(|(at, it)| (it.contributor, at)).collect();
    for group in groups {
        for (row, a) in group.members.iter().enumerate() {
            let Some(&at) = place.get(a) else { continue };
            for (column, b) in group.members.iter().enumerate() {
                if let (true, Some(&other)) = (row != column, place.get(b)) {
                    sums[at] += group.r[row][column] * contributions[other];
                }
            }
        }
    }
    sums
}

/// Returns a_i·(Ra)_i and ν_i of every component; the columns of a dataset are one, with aᵀRa.
fn dof_terms(
    components: &[Component],
    contributions: &[f64],
    correlated: &[f64],
    groups: &[Group],
) -> Vec<(f64, f64)> {
    let mut terms: Vec<(f64, f64)> = components
        .iter()
        .zip(contributions)
        .zip(correlated)
        .map(|((it, a), ra)| (a * ra, it.dof))
        .collect();
    // Components are in the order of contributors.
    for (group, dof) in groups.iter().filter_map(|it| Some((it, it.dof?))) {
        let mut sum = 0.0;
        for member in &group.members {
            if let Ok(at) = components.binary_search_by_key(member, |it| it.contributor) {
                sum += terms[at].0;
                terms[at] = (0.0, f64::INFINITY);
            }
        }
        terms.push((sum, dof));
    }
    terms
}

/// Returns ν of the combined standard uncertainty, contributions and variance on one scale.
///
/// Method: M15.
fn effective_dof(terms: &[(f64, f64)], variance: f64) -> f64 {
    let sum: f64 = terms.iter().map(|(square, dof)| square * square / dof).sum();
    if sum > 0.0 { variance * variance / sum } else { f64::INFINITY }
}

/// Returns the degrees of freedom that a quantile is taken with: truncated (what lies within 1e-9 of
/// an integer is that integer) or as they are, never below 1.
///
/// Method: M16.
pub fn quantile_dof(dof: f64, rule: DofRule) -> f64 {
    let nearest = dof.round();
    let taken = match rule {
        DofRule::Interpolate => dof,
        DofRule::Truncate if (dof - nearest).abs() <= 1e-9 * dof => nearest,
        DofRule::Truncate => dof.floor(),
    };
    if dof.is_finite() { taken.max(1.0) } else { f64::INFINITY }
}

/// Returns the two-sided coverage factor from t.
///
/// # Errors
///
/// None in the ranges of the types; kept as a fault at `origin`.
pub(super) fn factor(probability: f64, dof: f64, origin: Origin) -> Result<f64, Fault> {
    student::two_sided_factor(probability, dof)
        .ok_or_else(|| Fault::new(origin, "this coverage probability has no factor"))
}

/// u and shift with the second order.
struct Second {
    u: f64,
    shift: f64,
}

fn second_order(
    components: &[Component],
    first: f64,
    scope: Scope,
    setting: &Setting,
) -> Result<Option<Second>, Fault> {
    let directions = directions(components, setting.groups);
    let model = setting.model;
    let terms = match second_order::terms(&model.tape, &model.leaves, &directions, setting.pairs) {
        Ok(terms) => terms,
        Err(_) if setting.order == Order::First => return Ok(None),
        Err(fault) => return Err(fault),
    };
    let variance = first * first + terms.variance;
    if variance < 0.0 {
        if setting.order == Order::First {
            return Ok(None);
        }
        return Err(negative(scope, setting));
    }
    Ok(Some(Second { u: variance.sqrt(), shift: terms.shift }))
}

fn too_large(scope: Scope, setting: &Setting) -> Fault {
    let at =
        if setting.title.is_empty() { String::new() } else { format!(" at {}", setting.title) };
    let what =
        format!("the uncertainty is too large to be computed{at} (scope `{}`)", scope.word());
    Fault::new(setting.origin, what).rule("numbers reach to about 1.8e308")
}

fn negative(scope: Scope, setting: &Setting) -> Fault {
    let at =
        if setting.title.is_empty() { String::new() } else { format!(" at {}", setting.title) };
    let what = format!("the second order gives a negative variance{at} (scope `{}`)", scope.word());
    Fault::new(setting.origin, what)
        .rule("the model is too curved over its uncertainties for an expansion (JCGM 100, 5.1.2); Monte Carlo, `coverage: {method: monte_carlo}`, is the method for it (JCGM 101)")
        .help("order: first")
}

/// Whether the second order enters u.
fn enters(first: f64, second: f64, order: Order) -> bool {
    match order {
        Order::First => false,
        Order::Second => true,
        Order::Auto => changes(first, second),
    }
}

/// Whether the second order changes u by 1 % or more.
///
/// Method: M21.
pub fn changes(first: f64, second: f64) -> bool {
    if first > 0.0 { (second / first - 1.0).abs() >= ENTERS } else { second > 0.0 }
}

/// Returns independent directions: per leaf for unlinked components, per factor column for linked ones.
fn directions(components: &[Component], groups: &[Group]) -> Vec<Direction> {
    let linked: BTreeMap<usize, &Component> =
        components.iter().map(|it| (it.contributor, it)).collect();
    let members: BTreeSet<usize> =
        groups.iter().flat_map(|it| it.members.iter().copied()).collect();
    let is_linked = |it: &Component| members.contains(&it.contributor);
    let mut leaves: BTreeMap<usize, Vec<(f64, f64)>> = BTreeMap::new();
    for it in components.iter().filter(|it| !is_linked(it)) {
        leaves.entry(it.leaf).or_default().push((it.u, it.kurtosis));
    }
    let mut directions: Vec<Direction> = leaves
        .into_iter()
        .map(|(leaf, parts)| {
            let u = parts.iter().map(|it| it.0 * it.0).sum::<f64>().sqrt();
            Direction { components: vec![(leaf, u)], kurtosis: sum_kurtosis(&parts) }
        })
        .collect();
    for group in groups {
        let group = group.restricted(|it| linked.contains_key(&it));
        for column in group.factor() {
            let mut along: BTreeMap<usize, f64> = BTreeMap::new();
            for (member, weight) in group.members.iter().zip(column) {
                let it = linked[member];
                *along.entry(it.leaf).or_insert(0.0) += it.u * weight;
            }
            directions.push(Direction { components: along.into_iter().collect(), kurtosis: 3.0 });
        }
    }
    directions
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, G.4.1: 18.9987 is truncated to 18 by the rule of G.4.1; a figure within 1e-9 of
    /// an integer is that integer (design of this project, rounding of 8 that arrives as 7.999…).
    /// Method: M16.
    #[test]
    fn truncates_degrees_of_freedom_but_not_rounding() {
        let cases =
            [(18.9987, 18.0), (7.999_999_999_9, 8.0), (8.0, 8.0), (0.126, 1.0), (7.999_99, 7.0)];
        for (dof, expected) in cases {
            assert_eq!(quantile_dof(dof, DofRule::Truncate), expected, "{dof}");
        }
        assert_eq!(quantile_dof(18.9987, DofRule::Interpolate), 18.9987);
        assert_eq!(quantile_dof(0.5, DofRule::Interpolate), 1.0);
        assert_eq!(quantile_dof(f64::INFINITY, DofRule::Truncate), f64::INFINITY);
    }

    /// By hand: the second order enters from 1 % on, in either direction, and where first order is 0.
    /// Method: M21.
    #[test]
    fn second_order_enters_from_one_per_cent() {
        assert!(changes(1.0, 1.011) && changes(1.0, 0.989) && changes(0.0, 1e-9));
        assert!(!changes(1.0, 1.009) && !changes(1.0, 0.991) && !changes(0.0, 0.0));
    }
}
