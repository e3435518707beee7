//! One point at work: evidence of all contributors, leaf values, derivatives, components.

use super::Value;
use super::base::{place, sum_of_means};
use super::combine::Component;
use super::evaluate::Plan;
use super::system::{PointModel, ReadingLeaf};
use crate::budget::names::READING;
use crate::budget::parts::THERMAL_KEYS;
use crate::budget::{Base, Contributor, Evidence, Point, Role, Target};
use crate::evidence::{Spread, spread, thermal_part};
use crate::fault::Fault;
use crate::model::Tape;
use crate::quantity::Exact;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A point with its base values and what the evidence says there.
pub(super) struct Site<'a> {
    pub(super) plan: &'a Plan<'a>,
    pub(super) point: &'a Point,
    pub(super) base: &'a Base,
    /// One line per contributor.
    pub(super) lines: Vec<Line>,
}

/// What one contributor's evidence says at the point.
pub(super) struct Line {
    /// One spread; for a thermal contributor its four parts.
    pub(super) spreads: Vec<Spread>,
    /// Length of a thermal contributor, or a given sensitivity; else 1.
    pub(super) factor: Value,
}

impl Line {
    fn new(
        plan: &Plan,
        (index, contributor): (usize, &Contributor),
        point: &Point,
        base: &Base,
    ) -> Result<Line, Fault> {
        let place = place(plan, point, base);
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
        let spread = match &plan.fixed.spreads[index] {
            Some(known) => known.clone(),
            None => spread(contributor, &place)?,
        };
        Ok(Line { spreads: vec![spread], factor })
    }
}

impl<'a> Site<'a> {
    /// Evaluates the evidence of all contributors.
    ///
    /// # Errors
    ///
    /// One fault per contributor whose evidence has no value here.
    pub(super) fn new(
        plan: &'a Plan<'a>,
        point: &'a Point,
        base: &'a Base,
    ) -> Result<Site<'a>, Vec<Fault>> {
        let contributors = plan.budget.contributors();
        let (mut lines, mut faults) = (Vec::with_capacity(contributors.len()), Vec::new());
        for it in contributors.iter().enumerate() {
            match Line::new(plan, it, point, base) {
                Ok(line) => lines.push(line),
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(Site { plan, point, base, lines }) } else { Err(faults) }
    }

    /// The reading: the point's value.
    pub(super) fn reading(&self) -> Exact {
        let index = self.plan.budget.names().find(READING);
        index.and_then(|it| self.base.exact[it].clone()).unwrap_or_else(Exact::zero)
    }

    /// Puts the leaf values together.
    ///
    /// # Errors
    ///
    /// A key that the model uses and the point does not give.
    pub(super) fn model(&self, tape: Arc<Tape>) -> Result<PointModel, Fault> {
        let (budget, size) = (self.plan.budget, self.plan.layout.len());
        let used: BTreeSet<usize> = tape.used().into_iter().collect();
        let mut leaves = Leaves { si: vec![0.0; size], exact: vec![Some(Exact::zero()); size] };
        let mut added = Value { si: 0.0, exact: Some(Exact::zero()) };
        for (index, name) in budget.names().iter().enumerate() {
            if self.base.values[index].is_none() && used.contains(&index) {
                return Err(self.base.missing(index, name.origin));
            }
            let means = sum_of_means(self.plan, self.point, index, self.base)?;
            leaves.set_sum(index, self.own_value(index), &means);
            if matches!(name.role, Role::Reading) {
                added = Value { si: means.0, exact: means.1 };
            }
        }
        for (index, line) in self.lines.iter().enumerate() {
            self.add_line(index, line, &mut leaves);
        }
        let leaf = budget.names().find(READING).filter(|it| used.contains(it));
        let reading = ReadingLeaf { leaf, added };
        Ok(PointModel { tape, leaves: leaves.si, exact: leaves.exact, reading })
    }

    /// Returns the same leaf values under another tape.
    ///
    /// # Errors
    ///
    /// As [`Site::model`].
    pub(super) fn same_leaves(
        &self,
        model: &PointModel,
        tape: Arc<Tape>,
    ) -> Result<PointModel, Fault> {
        let names = self.plan.budget.names();
        let used: BTreeSet<usize> = tape.used().into_iter().collect();
        let missing = |it: &&usize| **it < names.len() && self.base.values[**it].is_none();
        if let Some(&index) = used.iter().find(missing) {
            return Err(self.base.missing(index, names.get(index).origin));
        }
        let leaf = names.find(READING).filter(|it| used.contains(it));
        let reading = ReadingLeaf { leaf, ..model.reading.clone() };
        Ok(PointModel { tape, reading, ..model.clone() })
    }

    /// Returns what the leaf of a name holds besides what contributors add: nothing for an estimate,
    /// which has an expression of its own, and for a bare name.
    fn own_value(&self, index: usize) -> (f64, Option<Exact>) {
        let given = self.point.keys.iter().any(|it| it.0 == index);
        match self.plan.budget.names().get(index).role {
            Role::Estimate { .. } | Role::Bare if !given => (0.0, Some(Exact::zero())),
            // A key that is not given and not used stays 0.
            _ => (self.base.values[index].unwrap_or(0.0), self.base.exact[index].clone()),
        }
    }

    /// Adds what a contributor brings to the leaves of its own, or to the measurand's.
    fn add_line(&self, index: usize, line: &Line, leaves: &mut Leaves) {
        let contributor = &self.plan.budget.contributors()[index];
        match (&contributor.evidence, &contributor.target) {
            (Evidence::Thermal(_), _) => {
                let first = self.plan.layout.thermal(index);
                leaves.set(first, line.factor.si, line.factor.exact.clone());
                for (part, spread) in line.spreads.iter().enumerate() {
                    leaves.set(first + 1 + part, spread.estimate, spread.exact.clone());
                }
            }
            (_, Target::Input(_)) => {}
            _ => {
                let spread = &line.spreads[0];
                let both = line.factor.exact.as_ref().zip(spread.exact.as_ref());
                let exact = both.map(|(a, b)| a.mul(b));
                leaves.add(self.plan.layout.measurand(), line.factor.si * spread.estimate, exact);
            }
        }
    }

    /// Returns the derivatives of the measurand by the leaves that contributors add to, by leaf.
    ///
    /// # Errors
    ///
    /// A derivative that does not exist.
    pub(super) fn gradient(&self, model: &PointModel) -> Result<BTreeMap<usize, f64>, Fault> {
        let mut wanted = BTreeSet::new();
        for (index, it) in self.plan.budget.contributors().iter().enumerate() {
            let leaf = self.plan.layout.leaf(index, it);
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
    pub(super) fn components(&self, gradient: &BTreeMap<usize, f64>) -> Vec<Component> {
        let mut components = Vec::new();
        let contributors = self.plan.budget.contributors().iter();
        for (index, (it, line)) in contributors.zip(&self.lines).enumerate() {
            let thermal = matches!(it.evidence, Evidence::Thermal(_));
            let first = self.plan.layout.leaf(index, it) + usize::from(thermal);
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
}

/// Values of all leaves, and the exact ones beside.
struct Leaves {
    si: Vec<f64>,
    exact: Vec<Option<Exact>>,
}

impl Leaves {
    fn set(&mut self, leaf: usize, si: f64, exact: Option<Exact>) {
        self.si[leaf] = si;
        self.exact[leaf] = exact;
    }

    fn set_sum(&mut self, leaf: usize, own: (f64, Option<Exact>), means: &(f64, Option<Exact>)) {
        let sum = own.1.zip(means.1.as_ref()).and_then(|(a, b)| a.add(b));
        self.si[leaf] = sum.as_ref().map_or(own.0 + means.0, Exact::to_f64);
        self.exact[leaf] = sum;
    }

    fn add(&mut self, leaf: usize, si: f64, exact: Option<Exact>) {
        self.si[leaf] += si;
        self.exact[leaf] = self.exact[leaf].take().zip(exact).and_then(|(a, b)| a.add(&b));
    }
}
