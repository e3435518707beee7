//! Coverage factor and interval by the budget's method, and which distribution stands behind a
//! decision.

use super::Combined;
use super::combine::factor;
use super::density::Density;
use super::exact::Sum;
use super::simulate::Simulated;
use super::terms::{Ground, NotASum, terms};
use crate::budget::{Budget, CoverageMethod, Order};
use crate::evidence::Distribution;
use crate::fault::{Fault, Origin};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A contributor that is not normal and has more than this share of u² decides the distribution.
const DOMINANT: f64 = 0.30;

/// The coverage interval about the estimate, in SI of the measurand.
#[derive(Debug, Clone, PartialEq)]
pub struct Interval {
    /// The lower end, less the estimate.
    pub low: f64,
    /// The upper end, less the estimate.
    pub high: f64,
    /// How good an exact interval is; `None` with other methods.
    pub exact: Option<Accuracy>,
}

/// How good an exact interval is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Bound on the relative error of the coverage factor, but for what is left out.
    pub relative_error: f64,
    /// The share of u² that the second order has beyond the products that are in.
    pub left_out: f64,
    /// Whether the density has a single hump.
    pub unimodal: bool,
}

/// k = U/u, U (half the width of the interval) and the interval.
pub(super) struct Coverage {
    pub(super) factor: f64,
    pub(super) expanded: f64,
    pub(super) interval: Interval,
}

impl Coverage {
    /// Returns the coverage of an interval about the estimate.
    pub(super) fn of(interval: Interval, u: f64) -> Coverage {
        let expanded = 0.5 * (interval.high - interval.low);
        Coverage { factor: expanded / u, expanded, interval }
    }
}

/// The distribution of a scope, and what stood in the way of the exact one where it was wanted.
#[derive(Debug, Clone)]
pub(super) struct Chosen {
    pub(super) density: Density,
    pub(super) left_out: f64,
    pub(super) refused: Option<NotASum>,
    pub(super) simulated: Option<Simulated>,
}

impl Chosen {
    /// Returns t, of which nothing more is known.
    pub(super) fn student(combined: &Combined) -> Chosen {
        let (u, dof) = (combined.standard_uncertainty, combined.quantile_dof);
        Chosen::plain(Density::T { u, dof })
    }

    fn plain(density: Density) -> Chosen {
        Chosen { density, left_out: 0.0, refused: None, simulated: None }
    }
}

/// Returns the distribution behind decisions of a scope.
///
/// Method: M71.
pub(super) fn choose(ground: &Ground, combined: &Combined, method: CoverageMethod) -> Chosen {
    let u = combined.standard_uncertainty;
    let student = Chosen::student(combined);
    let wanted = matches!(method, CoverageMethod::Exact) || largest_share(ground, u) > DOMINANT;
    if u == 0.0 || !wanted {
        return student;
    }
    let made = |most: usize| {
        terms(ground, most).and_then(|it| {
            let sum = Sum::new(it.list).and_then(|sum| sum.check().map(|()| sum));
            let sum = sum.map_err(|refusal| NotASum::Refused(refusal.to_string()))?;
            Ok((sum, it.left_out))
        })
    };
    // Where several products are too much, the largest may be enough: the rest is then left out.
    let found = made(usize::MAX).or_else(|refused| match refused {
        NotASum::Refused(_) => made(1).or_else(|_| made(0)).map_err(|_| refused),
        other => Err(other),
    });
    match found {
        Ok((sum, left_out)) => Chosen { left_out, ..Chosen::plain(Density::Exact(Arc::new(sum))) },
        Err(refused) => Chosen { refused: Some(refused), ..student },
    }
}

/// Returns the largest share of u² of one contributor that is not normal: the columns of a dataset
/// are one, and so are the products of the second order.
fn largest_share(ground: &Ground, u: f64) -> f64 {
    let mut squares: BTreeMap<usize, f64> = BTreeMap::new();
    for it in ground.components {
        if ground.distribution(it) != Distribution::Normal {
            *squares.entry(it.contributor).or_insert(0.0) += it.signed * it.signed;
        }
    }
    for group in ground.groups.iter().filter(|it| it.dof.is_some_and(f64::is_finite)) {
        for set in ground.connected(group) {
            set.iter().for_each(|it| {
                squares.remove(&it.1.contributor);
            });
            if let (Some(first), Ok(Some(piece))) = (set.first(), ground.joined(group, &set)) {
                let square = piece.standard_uncertainty * piece.standard_uncertainty;
                squares.insert(first.1.contributor, square);
            }
        }
    }
    let curved = match ground.u {
        (first, Some(second)) if ground.order != Order::First => second * second - first * first,
        _ => 0.0,
    };
    let largest = squares.into_values().fold(curved, f64::max);
    if u > 0.0 { largest / (u * u) } else { 0.0 }
}

/// Returns k, U and the interval of a point (scope `all`) by a method.
///
/// # Errors
///
/// With `exact`: what stands in its way. With `monte_carlo`: u = 0 beside a spread that is not.
pub(super) fn coverage(
    budget: &Budget,
    combined: &Combined,
    chosen: &Chosen,
    (method, title): (CoverageMethod, &str),
) -> Result<Coverage, Fault> {
    let u = combined.standard_uncertainty;
    let probability = budget.coverage().probability.get();
    let symmetric = |factor: f64| {
        let expanded = factor * u;
        let interval = Interval { low: 0.0 - expanded, high: expanded, exact: None };
        Coverage { factor, expanded, interval }
    };
    let student = || factor(probability, combined.quantile_dof, budget.origin()).map(symmetric);
    match (method, &chosen.density, &chosen.refused) {
        (CoverageMethod::Fixed(k), ..) => Ok(symmetric(k)),
        (CoverageMethod::MonteCarlo, ..) => match &chosen.simulated {
            Some(_) if u == 0.0 => Err(no_factor(budget, title)),
            Some(simulated) => Ok(simulated.coverage(u)),
            // Nothing to draw: everything is exactly known.
            None => student(),
        },
        (CoverageMethod::Exact, _, Some(refused)) => Err(refusal(budget, refused, title)),
        (CoverageMethod::Exact, Density::Exact(sum), None) => {
            exact(sum, u, probability, chosen.left_out)
                .map_err(|reason| refusal(budget, &NotASum::Refused(reason), title))
        }
        _ => student(),
    }
}

fn exact(sum: &Sum, u: f64, probability: f64, left_out: f64) -> Result<Coverage, String> {
    let interval = sum.interval(probability).map_err(|it| it.to_string())?;
    let accuracy =
        Accuracy { relative_error: interval.relative_error, left_out, unimodal: sum.is_unimodal() };
    let interval = Interval { low: interval.low, high: interval.high, exact: Some(accuracy) };
    Ok(Coverage::of(interval, u))
}

/// Returns the fault of a coverage factor k = U/u of a u that is zero.
fn no_factor(budget: &Budget, title: &str) -> Fault {
    let at = if title.is_empty() { String::new() } else { format!(" at {title}") };
    let what = format!("k = U/u has no value{at}: u is 0 to first order, and U is not");
    let rule = "with `monte_carlo` the model's curvature has to be in u where it is all there is";
    Fault::new(place(budget), what).rule(rule).help("order: auto")
}

/// Returns the place of the coverage, or that of the budget where none is written.
pub(super) fn place(budget: &Budget) -> Origin {
    match budget.coverage().origin {
        Origin::NONE => budget.origin(),
        origin => origin,
    }
}

/// Returns the fault of an interval that was asked to be exact and cannot be.
fn refusal(budget: &Budget, refused: &NotASum, title: &str) -> Fault {
    let at = if title.is_empty() { String::new() } else { format!(" at {title}") };
    let (what, rule) = match refused {
        NotASum::Linked(members) => {
            let names: Vec<String> =
                members.iter().map(|it| format!("`{}`", budget.contributors()[*it].name)).collect();
            let what = format!("{} are linked and not normal{at}", names.join(" and "));
            (
                what,
                "an exact interval is for independent contributors; linked ones have to be normal",
            )
        }
        NotASum::Curved(share) => {
            let percent = crate::quantity::decimal::significant(100.0 * share.abs(), 2);
            let what = format!("the model is curved{at}: {percent} % of u² is beyond products");
            (
                what,
                "an exact interval is for models that are linear but for products of two inputs, up to 1 % of u²",
            )
        }
        NotASum::Products { between: [a, b], share } => {
            let percent = crate::quantity::decimal::significant(100.0 * share, 2);
            (
                format!("`{a}` and `{b}` multiply{at}, and such products make {percent} % of u²"),
                "for an exact interval one of two inputs that multiply has a single contributor; products that hang together share that one",
            )
        }
        NotASum::Refused(reason) => (format!("no exact interval{at}"), reason.as_str()),
    };
    Fault::new(place(budget), what).rule(rule).help("method: monte_carlo")
}
