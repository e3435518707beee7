//! What a point's evaluation says of each contributor and input.

use super::base::sum_of_means;
use super::combine::Component;
use super::site::{Line, Site};
use super::system::PointModel;
use super::{Combined, ContributorLine, PartLine, Value};
use crate::budget::parts::THERMAL_KEYS;
use crate::budget::{Evidence, Role};
use crate::evidence::{Distribution, Spread};
use crate::fault::Fault;
use crate::quantity::Exact;
use std::collections::BTreeMap;

/// Returns one line per contributor; shares are those of scope `all`.
pub(super) fn lines(
    site: &Site,
    gradient: &BTreeMap<usize, f64>,
    components: &[Component],
    kept: &[bool],
    all: &Combined,
) -> Vec<ContributorLine> {
    let derivative = |leaf: usize| gradient.get(&leaf).copied().unwrap_or(0.0);
    let share = |contribution: f64| {
        let ratio = contribution / all.standard_uncertainty;
        if all.standard_uncertainty > 0.0 { ratio * ratio } else { 0.0 }
    };
    let mut found = Vec::with_capacity(site.lines.len());
    let mut own = components.chunk_by(|a, b| a.contributor == b.contributor);
    let contributors = site.plan.budget.contributors().iter();
    for (index, (it, line)) in contributors.zip(&site.lines).enumerate() {
        let own = own.next().unwrap_or(&[]);
        let squares: f64 = own.iter().map(|it| it.signed * it.signed).sum();
        let kept = kept[index];
        let leaf = site.plan.layout.leaf(index, it);
        let (spread, sensitivity, contribution, parts) = match &it.evidence {
            Evidence::Thermal(_) => {
                let contribution = squares.sqrt();
                let parts = part_lines(line, leaf, own, &derivative);
                (thermal_spread(line, contribution, own), 1.0, contribution, parts)
            }
            _ => {
                let contribution = own.first().map_or(0.0, |it| it.signed.abs());
                (
                    line.spreads[0].clone(),
                    line.factor.si * derivative(leaf),
                    contribution,
                    Vec::new(),
                )
            }
        };
        let share = if kept { share(contribution) } else { 0.0 };
        found.push(ContributorLine { spread, sensitivity, contribution, kept, share, parts });
    }
    found
}

fn part_lines(
    line: &Line,
    first: usize,
    own: &[Component],
    derivative: &dyn Fn(usize) -> f64,
) -> Vec<PartLine> {
    let parts = THERMAL_KEYS.iter().zip(&line.spreads).zip(own).enumerate();
    parts
        .map(|(part, ((name, spread), component))| PartLine {
            name,
            spread: spread.clone(),
            sensitivity: derivative(first + 1 + part),
            contribution: component.signed.abs(),
        })
        .collect()
}

/// Returns a thermal contributor as one spread in the measurand: first-order u, degrees of freedom
/// by Welch–Satterthwaite, the value of the whole product.
fn thermal_spread(line: &Line, contribution: f64, own: &[Component]) -> Spread {
    let values: Vec<f64> = line.spreads.iter().map(|it| it.estimate).collect();
    let estimate = line.factor.si * (values[0] * values[2] + values[1] * values[3]);
    let exact = thermal_exact(line);
    let sum: f64 = own
        .iter()
        .map(|it| {
            let ratio = if contribution > 0.0 { it.signed / contribution } else { 0.0 };
            let square = ratio * ratio;
            square * square / it.dof
        })
        .sum();
    let dof = if sum > 0.0 { 1.0 / sum } else { f64::INFINITY };
    let parts: Vec<(f64, f64)> = own.iter().map(|it| (it.signed, it.kurtosis)).collect();
    let distribution = match contribution > 0.0 {
        true => Distribution::Sum { kurtosis: crate::evidence::sum_kurtosis(&parts) },
        false => Distribution::Exact,
    };
    let estimate = exact.as_ref().map_or(estimate, Exact::to_f64);
    // The parts of `thermal` are products: its lines hold them, no list of independent pieces does.
    let parts = Vec::new();
    Spread { estimate, exact, standard_uncertainty: contribution, distribution, dof, parts }
}

fn thermal_exact(line: &Line) -> Option<Exact> {
    let part = |index: usize| line.spreads[index].exact.as_ref();
    let one = part(0)?.mul(part(2)?);
    let two = part(1)?.mul(part(3)?);
    Some(line.factor.exact.as_ref()?.mul(&one.add(&two)?))
}

/// Returns the best estimates of the inputs with all means added, in the order of the names.
///
/// # Errors
///
/// What an estimate cannot compute with the means added.
pub(super) fn inputs(site: &Site, model: &PointModel) -> Result<Vec<(usize, Value)>, Fault> {
    let (budget, point, base) = (site.plan.budget, site.point, site.base);
    let mut full = base.clone();
    for &index in &site.plan.order {
        let own = match &budget.names().get(index).role {
            Role::Estimate { formula } if point.keys.iter().all(|it| it.0 != index) => {
                (Some(formula.value(&full)?), formula.exact(&full))
            }
            // A bare name is the sum of its means already.
            Role::Bare => continue,
            _ => (base.values[index], base.exact[index].clone()),
        };
        let means = sum_of_means(site.plan, point, index, base)?;
        let exact = own.1.zip(means.1).and_then(|(a, b)| a.add(&b));
        full.values[index] = exact.as_ref().map(Exact::to_f64).or(own.0.map(|it| it + means.0));
        full.exact[index] = exact;
    }
    // A model that does not use the reading has no such input.
    let shown = |role: &Role| match role {
        Role::Reading => model.uses_reading(),
        role => matches!(role, Role::Estimate { .. } | Role::Bare),
    };
    let names = budget.names().iter().enumerate().filter(|it| shown(&it.1.role));
    Ok(names
        .filter_map(|(index, _)| {
            let value = Value { si: full.values[index]?, exact: full.exact[index].clone() };
            Some((index, value))
        })
        .collect())
}
