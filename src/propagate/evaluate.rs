//! `budget.evaluate()`: evidence, sensitivities and combined figures at every point.
//!
//! What is the same at all points is in [`Plan`]; what a point brings is in [`Site`](super::site::Site).

use super::base::{base, check_counted_once, in_inches, order};
use super::combine::{Component, Setting, combine, factor};
use super::correlation::{Group, groups, of_dataset};
use super::fixed::Fixed;
use super::report;
use super::site::Site;
use super::system::{Layout, Tapes};
use super::{Combined, Evaluation, PointEvaluation};
use crate::budget::{Budget, CoverageMethod, Point, Scope};
use crate::evidence::{Measured, measured};
use crate::fault::{Fault, Faults};
use std::collections::BTreeMap;

/// What is the same at all points of a budget.
pub(super) struct Plan<'a> {
    pub(super) budget: &'a Budget,
    /// Names in an order in which each comes after those that it is made of.
    pub(super) order: Vec<usize>,
    pub(super) layout: Layout,
    /// What the common data say.
    pub(super) datasets: Vec<Measured>,
    /// What is the same at all points, by contributor.
    pub(super) fixed: Fixed,
    /// The index of the points' symbol.
    pub(super) symbol: Option<usize>,
    /// Whether readings are in inches.
    pub(super) inch: bool,
    groups: Vec<Group>,
}

impl Budget {
    /// Evaluates the budget at all its points, the reading being the point's value.
    ///
    /// # Errors
    ///
    /// Impossible correlations, circular inputs, evidence without value, derivatives that do not
    /// exist: all that are found, each place once.
    pub fn evaluate(&self) -> Result<Evaluation<'_>, Faults> {
        let plan = Plan::new(self)?;
        let mut tapes = Tapes::new();
        let mut faults: Vec<Fault> = Vec::new();
        let mut points = Vec::new();
        for (index, point) in self.points().list.iter().enumerate() {
            match plan.point(index, point, &mut tapes) {
                Ok(evaluated) => points.push(evaluated),
                Err(more) => {
                    for fault in more {
                        if faults.iter().all(|it| it.origin != fault.origin) {
                            faults.push(at_point(fault, &point.title()));
                        }
                    }
                }
            }
        }
        if faults.is_empty() {
            Ok(Evaluation { budget: self, points, groups: plan.groups })
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

impl Plan<'_> {
    /// Returns what is the same at all points of a budget.
    ///
    /// # Errors
    ///
    /// Impossible correlations, circular inputs, data that no statistics can be made of.
    fn new(budget: &Budget) -> Result<Plan<'_>, Faults> {
        let mut groups = groups(budget).map_err(Faults)?;
        let made: Vec<_> = budget.datasets().iter().map(measured).collect();
        let faults: Vec<Fault> = made.iter().filter_map(|it| it.as_ref().err().cloned()).collect();
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        let datasets: Vec<Measured> = made.into_iter().flatten().collect();
        groups.extend(datasets.iter().enumerate().map(|(index, it)| of_dataset(budget, index, it)));
        let (order, layout) = (order(budget)?, Layout::new(budget));
        let fixed = Fixed::new(budget, &datasets);
        let symbol = budget.points().symbol.as_deref().and_then(|it| budget.names().find(it));
        let inch = in_inches(budget.reading_unit());
        Ok(Plan { budget, order, layout, datasets, fixed, symbol, inch, groups })
    }

    /// Returns evidence, derivatives and combined figures at one point, and U = k·u.
    ///
    /// Method: M18.
    fn point(
        &self,
        index: usize,
        point: &Point,
        tapes: &mut Tapes,
    ) -> Result<PointEvaluation, Vec<Fault>> {
        let budget = self.budget;
        let one = |fault: Fault| vec![fault];
        let base = base(self, point).map_err(one)?;
        check_counted_once(self, point, &base).map_err(one)?;
        let (tape, pairs) = tapes.of(budget, &self.layout, &self.order, point).map_err(one)?;
        let site = Site::new(self, point, &base)?;
        let model = site.model(tape).map_err(one)?;
        let estimate = model.at_exact_reading(&site.reading()).map_err(one)?;
        let gradient = site.gradient(&model).map_err(one)?;
        let components = site.components(&gradient);
        let setting = Setting {
            model: &model,
            pairs: &pairs,
            groups: &self.groups,
            order: budget.order(),
            rule: budget.coverage().dof,
            origin: budget.origin(),
            title: &base.title,
        };
        let all = self.combined(&components, Scope::All, &setting).map_err(one)?;
        let laboratory = self.combined(&components, Scope::Laboratory, &setting).map_err(one)?;
        let probability = budget.coverage().probability.get();
        let coverage_factor = match budget.coverage().method {
            CoverageMethod::Fixed(k) => k,
            CoverageMethod::T => {
                factor(probability, all.quantile_dof, budget.origin()).map_err(one)?
            }
        };
        let kept = self.counted(&components, Scope::All);
        Ok(PointEvaluation {
            index,
            estimate,
            inputs: report::inputs(&site, &model).map_err(one)?,
            contributors: report::lines(&site, &gradient, &components, &kept, &all),
            probability,
            coverage_factor,
            expanded_uncertainty: coverage_factor * all.standard_uncertainty,
            all,
            laboratory,
            base: base.clone(),
            model,
        })
    }

    fn combined(
        &self,
        components: &[Component],
        scope: Scope,
        setting: &Setting,
    ) -> Result<Combined, Fault> {
        let kept = self.counted(components, scope);
        let counted: Vec<Component> =
            components.iter().filter(|it| it.u != 0.0 && kept[it.contributor]).copied().collect();
        combine(&counted, scope, setting)
    }

    /// Returns which contributors count in a scope.
    fn counted(&self, components: &[Component], scope: Scope) -> Vec<bool> {
        let mut sizes = vec![0.0; self.budget.contributors().len()];
        for it in components {
            sizes[it.contributor] = it.signed.abs();
        }
        kept(self.budget, &sizes, scope)
    }
}

/// Returns which contributors count in a scope: its owners', and of a group only the largest |c·u|
/// (ties: the first in the file); `sizes` holds |c·u| of each (of thermal ones, which are in no group,
/// anything).
///
/// Method: M20.
pub(super) fn kept(budget: &Budget, sizes: &[f64], scope: Scope) -> Vec<bool> {
    let mut largest: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
    let mut kept = vec![false; sizes.len()];
    for (index, (it, size)) in budget.contributors().iter().zip(sizes).enumerate() {
        if !scope.contains(it.owner) {
            continue;
        }
        match &it.largest_of {
            None => kept[index] = true,
            Some(group) => {
                let best = largest.entry(group).or_insert((index, *size));
                if *size > best.1 {
                    *best = (index, *size);
                }
            }
        }
    }
    largest.values().for_each(|it| kept[it.0] = true);
    kept
}
