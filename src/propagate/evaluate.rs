//! `budget.evaluate()`: evidence, sensitivities and combined figures at every point.
//!
//! What is the same at all points is in [`Plan`]; what a point brings is in [`Site`](super::site::Site).

use super::base::{base, check_counted_once, order};
use super::combine::{Component, Setting, combine, factor};
use super::correlation::{Group, groups, of_dataset};
use super::report;
use super::results::{self, Region, ResultTapes};
use super::site::Site;
use super::system::{Layout, Tapes};
use super::{Combined, Evaluation, PointEvaluation};
use crate::budget::{Budget, CoverageMethod, Point, Scope};
use crate::evidence::{Measured, measured};
use crate::fault::{Fault, Faults};
use std::collections::{BTreeMap, BTreeSet};

/// What is the same at all points of a budget.
pub(super) struct Plan<'a> {
    pub(super) budget: &'a Budget,
    /// Names in an order in which each comes after those that it is made of.
    pub(super) order: Vec<usize>,
    pub(super) layout: Layout,
    /// What the common data say.
    pub(super) datasets: Vec<Measured>,
    pub(super) groups: Vec<Group>,
    /// The factors of the coverage regions of all results.
    pub(super) region: Option<Region>,
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
        let mut tapes = (Tapes::new(), ResultTapes::default());
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
        Ok(Plan { budget, order, layout, datasets, groups, region: results::region(budget) })
    }

    /// Returns evidence, derivatives and combined figures at one point, and U = k·u.
    ///
    /// Method: M18.
    fn point(
        &self,
        index: usize,
        point: &Point,
        (tapes, result_tapes): &mut (Tapes, ResultTapes),
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
        let mut kept = self.kept(&components, Scope::All);
        let results = results::results(&site, &setting, &components, result_tapes, &mut kept)?;
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
            results,
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
        let kept = self.kept(components, scope);
        let counted: Vec<Component> = components
            .iter()
            .filter(|it| it.u != 0.0 && kept.contains(&it.contributor))
            .copied()
            .collect();
        combine(&counted, scope, setting)
    }

    /// Returns which contributors count in a scope: its owners', and of a group only the largest |c·u|
    /// (ties: the first in the file).
    ///
    /// Method: M20.
    fn kept(&self, components: &[Component], scope: Scope) -> BTreeSet<usize> {
        let mut largest: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
        let mut kept = BTreeSet::new();
        for it in components {
            let contributor = &self.budget.contributors()[it.contributor];
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
}
