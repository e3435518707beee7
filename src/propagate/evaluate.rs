//! `budget.evaluate()`: evidence, sensitivities and combined figures at every point.

use super::base::{adding_to, base, check_counted_once, order, place, sum_of_means};
use super::combine::{Component, Setting, combine, factor};
use super::correlation::{Group, groups};
use super::system::{Layout, PointModel, ReadingLeaf, Tapes};
use super::{Combined, ContributorLine, Evaluation, PartLine, PointEvaluation, Value};
use crate::budget::names::READING;
use crate::budget::parts::THERMAL_KEYS;
use crate::budget::{
    Base, Budget, Contributor, CoverageMethod, Evidence, Point, Role, Scope, Target, Thermal,
};
use crate::evidence::{Distribution, Spread, spread, thermal_part};
use crate::fault::{Fault, Faults};
use crate::quantity::Exact;
use std::collections::{BTreeMap, BTreeSet};

impl Budget {
    /// Evaluates the budget at all its points, the reading being the point's value.
    ///
    /// # Errors
    ///
    /// Impossible correlations, circular inputs, evidence without value, derivatives that do not
    /// exist: all that are found, each place once.
    pub fn evaluate(&self) -> Result<Evaluation<'_>, Faults> {
        let groups = groups(self).map_err(Faults)?;
        let order = order(self)?;
        let layout = Layout::new(self);
        let mut tapes = Tapes::new();
        let mut faults: Vec<Fault> = Vec::new();
        let mut points = Vec::new();
        for (index, point) in self.points().list.iter().enumerate() {
            match evaluate_point(self, index, point, &order, &layout, &mut tapes, &groups) {
                Ok(evaluated) => points.push(evaluated),
                Err(fault) if faults.iter().all(|it| it.origin != fault.origin) => {
                    faults.push(at_point(fault, &point.title()));
                }
                Err(_) => {}
            }
        }
        if faults.is_empty() {
            Ok(Evaluation { budget: self, points })
        } else {
            Err(Faults(faults))
        }
    }
}

/// Adds to a fault at which point it was found, where it does not say so itself.
fn at_point(mut fault: Fault, title: &str) -> Fault {
    if !title.is_empty() && !fault.what.contains(title) {
        fault.what = format!("{} at {title}", fault.what.trim_end_matches(" here"));
    }
    fault
}

#[allow(clippy::too_many_arguments)]
fn evaluate_point(
    budget: &Budget,
    index: usize,
    point: &Point,
    order: &[usize],
    layout: &Layout,
    tapes: &mut Tapes,
    groups: &[Group],
) -> Result<PointEvaluation, Fault> {
    let base = base(budget, point, order)?;
    check_counted_once(budget, point, &base)?;
    let (tape, pairs) = tapes.of(budget, layout, order, point)?;
    let mut lines = Vec::with_capacity(budget.contributors().len());
    for it in budget.contributors() {
        lines.push(Line::new(budget, it, point, &base)?);
    }
    let model = point_model(budget, layout, point, &base, &lines, tape)?;
    let estimate = model.at_exact_reading(&reading_value(budget, &base))?;
    let gradient = gradient(budget, layout, &model)?;
    let components = components(budget, layout, &lines, &gradient);
    let origin = budget.origin();
    let setting = Setting {
        model: &model,
        pairs: &pairs,
        groups,
        order: budget.order(),
        rule: budget.coverage().dof,
        origin,
        title: &base.title,
    };
    let kept = kept(budget, &components, Scope::All);
    let all = combined(budget, &components, Scope::All, &setting)?;
    let laboratory = combined(budget, &components, Scope::Laboratory, &setting)?;
    let probability = budget.coverage().probability.get();
    let coverage_factor = match budget.coverage().method {
        CoverageMethod::Fixed(k) => k,
        CoverageMethod::T => factor(probability, all.quantile_dof, origin)?,
    };
    let contributors =
        contributor_lines(budget, layout, &lines, &gradient, &components, &kept, &all);
    Ok(PointEvaluation {
        index,
        estimate,
        inputs: inputs(budget, point, &base, order)?,
        contributors,
        probability,
        coverage_factor,
        expanded_uncertainty: coverage_factor * all.standard_uncertainty,
        all,
        laboratory,
        base,
        model,
    })
}

/// What one contributor's evidence says at the point.
struct Line {
    /// One spread; for a thermal contributor its four parts.
    spreads: Vec<Spread>,
    /// Length of a thermal contributor, or a given sensitivity; else 1.
    factor: Value,
}

impl Line {
    fn new(
        budget: &Budget,
        contributor: &Contributor,
        point: &Point,
        base: &Base,
    ) -> Result<Line, Fault> {
        let place = place(budget, point, base);
        if let Evidence::Thermal(thermal) = &contributor.evidence {
            let spreads = thermal
                .parts
                .iter()
                .map(|it| thermal_part(it, &place))
                .collect::<Result<_, _>>()?;
            let factor =
                Value { si: thermal.length.value(base)?, exact: thermal.length.exact(base) };
            return Ok(Line { spreads, factor });
        }
        let factor = match &contributor.target {
            Target::Sensitivity(formula) => {
                Value { si: formula.value(base)?, exact: formula.exact(base) }
            }
            _ => Value { si: 1.0, exact: Some(Exact::from_integer(1)) },
        };
        Ok(Line { spreads: vec![spread(contributor, &place)?], factor })
    }
}

fn reading_value(budget: &Budget, base: &Base) -> Exact {
    let index = budget.names().find(READING);
    index.and_then(|it| base.exact[it].clone()).unwrap_or_else(Exact::zero)
}

/// Puts the leaf values together.
fn point_model(
    budget: &Budget,
    layout: &Layout,
    point: &Point,
    base: &Base,
    lines: &[Line],
    tape: std::sync::Arc<crate::model::Tape>,
) -> Result<PointModel, Fault> {
    let mut leaves = vec![0.0; layout.len()];
    let mut exact: Vec<Option<Exact>> = vec![Some(Exact::zero()); layout.len()];
    let mut added = Value { si: 0.0, exact: Some(Exact::zero()) };
    for (index, name) in budget.names().iter().enumerate() {
        let means = sum_of_means(budget, point, index, base)?;
        let own_key = point.keys.iter().any(|it| it.0 == index);
        let (own, own_exact) = match name.role {
            Role::Estimate { .. } | Role::Bare if !own_key => (0.0, Some(Exact::zero())),
            // A key that the point does not give: whatever uses it is a fault on its own.
            _ => (base.values[index].unwrap_or(0.0), base.exact[index].clone()),
        };
        if base.values[index].is_none() && uses(&tape, index) {
            return Err(base.missing(index, name.origin));
        }
        if matches!(name.role, Role::Reading) {
            added = Value { si: means.0, exact: means.1.clone() };
        }
        let sum = own_exact.zip(means.1).and_then(|(a, b)| a.add(&b));
        leaves[index] = sum.as_ref().map_or(own + means.0, Exact::to_f64);
        exact[index] = sum;
    }
    for (index, (it, line)) in budget.contributors().iter().zip(lines).enumerate() {
        match (&it.evidence, &it.target) {
            (Evidence::Thermal(_), _) => {
                let first = layout.thermal(index);
                leaves[first] = line.factor.si;
                exact[first] = line.factor.exact.clone();
                for (part, spread) in line.spreads.iter().enumerate() {
                    leaves[first + 1 + part] = spread.estimate;
                    exact[first + 1 + part] = spread.exact.clone();
                }
            }
            (_, Target::Input(_)) => {}
            _ => {
                let at = layout.measurand();
                let spread = &line.spreads[0];
                leaves[at] += line.factor.si * spread.estimate;
                let product =
                    line.factor.exact.as_ref().zip(spread.exact.as_ref()).map(|(a, b)| a.mul(b));
                exact[at] = exact[at].take().zip(product).and_then(|(a, b)| a.add(&b));
            }
        }
    }
    let reading = budget.names().find(READING).filter(|it| uses(&tape, *it));
    Ok(PointModel { tape, leaves, exact, reading: ReadingLeaf { leaf: reading, added } })
}

fn uses(tape: &crate::model::Tape, leaf: usize) -> bool {
    tape.used().binary_search(&leaf).is_ok()
}

/// Returns the derivatives of the measurand by the leaves that contributors add to, by leaf.
fn gradient(
    budget: &Budget,
    layout: &Layout,
    model: &PointModel,
) -> Result<BTreeMap<usize, f64>, Fault> {
    let mut wanted = BTreeSet::new();
    for (index, it) in budget.contributors().iter().enumerate() {
        let leaf = layout.leaf(index, it);
        match it.evidence {
            Evidence::Thermal(_) => wanted.extend(leaf + 1..leaf + 1 + THERMAL_KEYS.len()),
            _ => {
                wanted.insert(leaf);
            }
        }
    }
    let wanted: Vec<usize> = wanted.into_iter().collect();
    let derivatives = model.tape.gradient(&model.leaves, &wanted)?;
    Ok(wanted.into_iter().zip(derivatives).collect())
}

/// Returns all components, those with u = 0 included.
fn components(
    budget: &Budget,
    layout: &Layout,
    lines: &[Line],
    gradient: &BTreeMap<usize, f64>,
) -> Vec<Component> {
    let mut components = Vec::new();
    for (index, (it, line)) in budget.contributors().iter().zip(lines).enumerate() {
        let thermal = matches!(it.evidence, Evidence::Thermal(_));
        let first = layout.leaf(index, it) + usize::from(thermal);
        for (part, spread) in line.spreads.iter().enumerate() {
            let leaf = first + part;
            let factor = if thermal { 1.0 } else { line.factor.si };
            let u = factor * spread.standard_uncertainty;
            let signed = gradient.get(&leaf).copied().unwrap_or(0.0) * u;
            let kurtosis = spread.distribution.kurtosis();
            components.push(Component {
                contributor: index,
                leaf,
                u,
                signed,
                dof: spread.dof,
                kurtosis,
            });
        }
    }
    components
}

/// Returns which contributors count in a scope: its owners', and of a group only the largest |c·u|
/// (ties: the first in the file).
fn kept(budget: &Budget, components: &[Component], scope: Scope) -> BTreeSet<usize> {
    let mut largest: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
    let mut kept = BTreeSet::new();
    for it in components {
        let contributor = &budget.contributors()[it.contributor];
        if !scope.contains(contributor.owner) {
            continue;
        }
        match &contributor.largest_of {
            None => {
                kept.insert(it.contributor);
            }
            Some(group) => {
                let best = largest.entry(group).or_insert((it.contributor, it.signed.abs()));
                if it.signed.abs() > best.1 {
                    *best = (it.contributor, it.signed.abs());
                }
            }
        }
    }
    kept.extend(largest.values().map(|it| it.0));
    kept
}

fn combined(
    budget: &Budget,
    components: &[Component],
    scope: Scope,
    setting: &Setting,
) -> Result<Combined, Fault> {
    let kept = kept(budget, components, scope);
    let counted: Vec<Component> = components
        .iter()
        .filter(|it| it.u != 0.0 && kept.contains(&it.contributor))
        .copied()
        .collect();
    combine(&counted, scope, setting)
}

fn contributor_lines(
    budget: &Budget,
    layout: &Layout,
    lines: &[Line],
    gradient: &BTreeMap<usize, f64>,
    components: &[Component],
    kept: &BTreeSet<usize>,
    all: &Combined,
) -> Vec<ContributorLine> {
    let derivative = |leaf: usize| gradient.get(&leaf).copied().unwrap_or(0.0);
    let share = |contribution: f64| {
        let ratio = contribution / all.standard_uncertainty;
        if all.standard_uncertainty > 0.0 { ratio * ratio } else { 0.0 }
    };
    let mut found = Vec::with_capacity(lines.len());
    let mut own = components.chunk_by(|a, b| a.contributor == b.contributor);
    for (index, (it, line)) in budget.contributors().iter().zip(lines).enumerate() {
        let own = own.next().unwrap_or(&[]);
        let squares: f64 = own.iter().map(|it| it.signed * it.signed).sum();
        let kept = kept.contains(&index);
        let leaf = layout.leaf(index, it);
        let (spread, sensitivity, contribution, parts) = match &it.evidence {
            Evidence::Thermal(thermal) => {
                let contribution = squares.sqrt();
                let parts = part_lines(thermal, line, leaf, own, &derivative);
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
    thermal: &Thermal,
    line: &Line,
    first: usize,
    own: &[Component],
    derivative: &dyn Fn(usize) -> f64,
) -> Vec<PartLine> {
    let _ = thermal;
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
    Spread { estimate, exact, standard_uncertainty: contribution, distribution, dof }
}

fn thermal_exact(line: &Line) -> Option<Exact> {
    let part = |index: usize| line.spreads[index].exact.as_ref();
    let one = part(0)?.mul(part(2)?);
    let two = part(1)?.mul(part(3)?);
    Some(line.factor.exact.as_ref()?.mul(&one.add(&two)?))
}

/// Returns the best estimates of the inputs with all means added, in the order of the names.
fn inputs(
    budget: &Budget,
    point: &Point,
    base: &Base,
    order: &[usize],
) -> Result<Vec<(usize, Value)>, Fault> {
    let mut full = base.clone();
    for &index in order {
        let own = match &budget.names().get(index).role {
            Role::Estimate { formula } if point.keys.iter().all(|it| it.0 != index) => {
                (Some(formula.value(&full)?), formula.exact(&full))
            }
            // A bare name is the sum of its means already.
            Role::Bare => continue,
            _ => (base.values[index], base.exact[index].clone()),
        };
        let means = sum_of_means(budget, point, index, base)?;
        let exact = own.1.zip(means.1).and_then(|(a, b)| a.add(&b));
        full.values[index] = exact.as_ref().map(Exact::to_f64).or(own.0.map(|it| it + means.0));
        full.exact[index] = exact;
    }
    let shown = |role: &Role| matches!(role, Role::Reading | Role::Estimate { .. } | Role::Bare);
    let names = budget.names().iter().enumerate().filter(|it| shown(&it.1.role));
    let adding = |index: usize| adding_to(budget, index).next().is_some();
    let _ = adding;
    Ok(names
        .filter_map(|(index, _)| {
            let value = Value { si: full.values[index]?, exact: full.exact[index].clone() };
            Some((index, value))
        })
        .collect())
}
