//! `budget.evaluate()`: evidence, sensitivities and combined figures at every point.
//!
//! What is the same at all points is in [`Plan`]; what a point brings is in [`Site`](super::site::Site).

use super::base::{base, check_counted_once, in_inches, order};
use super::combine::{Component, Setting, combine};
use super::correlation::{Group, groups, of_dataset};
use super::coverage::{Chosen, choose, coverage, place};
use super::fixed::Fixed;
use super::options::Options;
use super::report;
use super::results::{self, Region, ResultTapes};
use super::simulate::{self, Asked, simulate};
use super::simulation::Interval;
use super::site::Site;
use super::system::{Layout, Tapes};
use super::terms::Ground;
use super::{Combined, Evaluation, PointEvaluation};
use crate::budget::{Budget, CoverageMethod, Point, Scope};
use crate::evidence::{Measured, measured};
use crate::fault::{Fault, Faults};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, Ordering};

/// The part of δ that a simulation reaches by which another result is validated (JCGM 101:2008, 8.2).
pub(super) const VALIDATING: f64 = 0.2;

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
    pub(super) groups: Vec<Group>,
    /// Contributors that are in a group.
    pub(super) grouped: BTreeSet<usize>,
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
        self.evaluate_with(&Options::default())
    }

    /// Evaluates the budget at all its points as [`Budget::evaluate`] does, told how to simulate.
    ///
    /// # Errors
    ///
    /// As [`Budget::evaluate`]; with `monte_carlo`, a model without value in some trial, and a stop.
    pub fn evaluate_with(&self, options: &Options) -> Result<Evaluation<'_>, Faults> {
        let method = self.coverage().method;
        evaluated(self, &Run { options, method, beside: None, only: None })
    }
}

/// What is asked of a walk over the points.
pub(super) struct Run<'a> {
    pub(super) options: &'a Options<'a>,
    /// The method of the interval.
    pub(super) method: CoverageMethod,
    /// Whether a simulation is wanted beside it, and for which interval.
    pub(super) beside: Option<Interval>,
    /// The only point that is wanted; `None` for all.
    pub(super) only: Option<usize>,
}

/// Evaluates the points that are wanted.
///
/// # Errors
///
/// All faults that are found, each place once; after a stop, those up to there.
pub(super) fn evaluated<'a>(budget: &'a Budget, run: &Run) -> Result<Evaluation<'a>, Faults> {
    let plan = Plan::new(budget)?;
    let halted = AtomicBool::new(false);
    let watch = |progress| {
        let go_on = (run.options.watch)(progress);
        if !go_on {
            halted.store(true, Ordering::Relaxed);
        }
        go_on
    };
    let run = Run { options: &Options { watch: &watch, ..*run.options }, ..*run };
    let mut tapes = (Tapes::new(), ResultTapes::default());
    let mut faults: Vec<Fault> = Vec::new();
    let mut points = Vec::new();
    for (index, point) in budget.points().list.iter().enumerate() {
        if run.only.is_some_and(|only| only != index) {
            continue;
        }
        match plan.point(index, point, &mut tapes, &run) {
            Ok(evaluated) => points.push(evaluated),
            Err(more) => {
                for fault in more {
                    if faults.iter().all(|it| it.origin != fault.origin) {
                        faults.push(at_point(fault, &point.title()));
                    }
                }
            }
        }
        if halted.load(Ordering::Relaxed) {
            break;
        }
    }
    if faults.is_empty() {
        Ok(Evaluation { budget, points, groups: plan.groups, measured: plan.datasets })
    } else {
        Err(Faults(faults))
    }
}

/// Adds to a fault at which point it was found, where it does not say so itself.
fn at_point(mut fault: Fault, title: &str) -> Fault {
    if !title.is_empty() && !fault.what.contains(title) {
        fault.what = format!("{} at {title}", fault.what.trim_end_matches(" here"));
    }
    fault
}

/// What the combined figures of a point are made from, for both scopes.
struct Desk<'a> {
    site: &'a Site<'a>,
    gradient: &'a BTreeMap<usize, f64>,
    setting: &'a Setting<'a>,
    asked: &'a Asked<'a>,
    run: &'a Run<'a>,
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
        let region = results::region(budget);
        let grouped = groups.iter().flat_map(|it| &it.members).copied().collect();
        Ok(Plan { budget, order, layout, datasets, fixed, symbol, inch, groups, grouped, region })
    }

    /// Returns evidence, derivatives and combined figures at one point, and U = k·u.
    ///
    /// Method: M18.
    fn point(
        &self,
        index: usize,
        point: &Point,
        (tapes, result_tapes): &mut (Tapes, ResultTapes),
        run: &Run,
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
        let asked = Asked {
            options: run.options,
            point: index,
            probability: budget.coverage().probability.get(),
            interval: run.beside.unwrap_or(Interval::Symmetric),
            part: if run.beside.is_some() { VALIDATING } else { 1.0 },
            origin: place(budget),
            estimate: estimate.si,
        };
        let desk = Desk { site: &site, gradient: &gradient, setting: &setting, asked: &asked, run };
        let (all, chosen) = self.combined(&components, Scope::All, &desk).map_err(one)?;
        let (laboratory, _) = self.combined(&components, Scope::Laboratory, &desk).map_err(one)?;
        let coverage = coverage(budget, &all, &chosen, (run.method, &base.title)).map_err(one)?;
        let mut kept = self.counted(&components, Scope::All);
        let results = results::results(&site, &setting, &components, result_tapes, &mut kept)?;
        Ok(PointEvaluation {
            index,
            estimate,
            inputs: report::inputs(&site, &model).map_err(one)?,
            contributors: report::lines(&site, &gradient, &components, &kept, &all),
            method: run.method,
            probability: budget.coverage().probability.get(),
            coverage_factor: coverage.factor,
            expanded_uncertainty: coverage.expanded,
            interval: coverage.interval,
            simulated: chosen.simulated,
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
        desk: &Desk,
    ) -> Result<(Combined, Chosen), Fault> {
        let kept = self.counted(components, scope);
        let counted: Vec<Component> =
            components.iter().filter(|it| it.u != 0.0 && kept[it.contributor]).copied().collect();
        let mut combined = combine(&counted, scope, desk.setting)?;
        let ground = Ground {
            site: desk.site,
            model: desk.setting.model,
            gradient: desk.gradient,
            components: &counted,
            groups: &self.groups,
            pairs: desk.setting.pairs,
            order: desk.setting.order,
            u: (combined.first_order, combined.second_order),
        };
        let chosen = self.chosen(&ground, &combined, scope, desk)?;
        combined.density = chosen.density.clone();
        combined.density_refused.clone_from(&chosen.refused);
        Ok((combined, chosen))
    }

    /// Returns the distribution of a scope that is reported or decided on: simulated where that is the
    /// method, else chosen, a simulation beside it where a crosscheck asks for one; t for a scope of which
    /// nothing is asked.
    fn chosen(
        &self,
        ground: &Ground,
        combined: &Combined,
        scope: Scope,
        desk: &Desk,
    ) -> Result<Chosen, Fault> {
        let (method, asked) = (desk.run.method, desk.asked);
        let decides = self.budget.decision().is_some_and(|it| it.scope == scope);
        if scope == Scope::Laboratory && !decides {
            // Nothing is asked of it.
            return Ok(Chosen::student(combined));
        }
        let wanted = asked.options.only.is_none_or(|it| it == asked.point);
        if method == CoverageMethod::MonteCarlo
            && wanted
            && let Some(simulated) = simulate(ground, asked)?
        {
            return Ok(simulate::chosen(simulated));
        }
        let mut chosen = choose(ground, combined, method);
        if desk.run.beside.is_some() && scope == Scope::All {
            chosen.simulated = simulate(ground, asked)?;
        }
        Ok(chosen)
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
