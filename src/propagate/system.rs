//! The system of one point: the tape of the measurand over all uncertain inputs, and its leaf values.
//!
//! Leaves: one per name (a reading, a point's value or key with what contributors add; for an
//! estimate or a bare name what contributors add), one for what is added to the measurand, and
//! five per thermal contributor (length and four parts). Contributors are differentiated by leaf,
//! so many contributors on few inputs stay cheap.

use super::Value;
use crate::budget::{Budget, Contributor, Evidence, Point, Role, Target};
use crate::fault::{Fault, Origin};
use crate::model::tape::Slot;
use crate::model::{Tape, TapeBuilder};
use crate::quantity::{Exact, Quantity};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Leaves of one thermal contributor: the length, then the four parts.
const THERMAL_LEAVES: usize = 5;

/// Which leaf is what, for all points of a budget.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    names: usize,
    /// Indices of the thermal contributors, by name.
    thermal: Vec<usize>,
    /// The place of each contributor among them.
    before: Vec<usize>,
}

impl Layout {
    pub(super) fn new(budget: &Budget) -> Layout {
        let contributors = budget.contributors();
        let is_thermal = |it: &usize| matches!(contributors[*it].evidence, Evidence::Thermal(_));
        let mut thermal: Vec<usize> = (0..contributors.len()).filter(is_thermal).collect();
        // By name, so that the order of the file does not change the order of their sum.
        thermal.sort_by_key(|it| &contributors[*it].name);
        let mut before = vec![0; contributors.len()];
        thermal.iter().enumerate().for_each(|(place, index)| before[*index] = place);
        Layout { names: budget.names().len(), thermal, before }
    }

    /// The leaf of what is added to the measurand itself.
    pub(super) fn measurand(&self) -> usize {
        self.names
    }

    /// The leaf of the length of a thermal contributor; its parts follow.
    ///
    /// Method: M8.
    pub(super) fn thermal(&self, contributor: usize) -> usize {
        let place = self.before.get(contributor).copied().unwrap_or(0);
        self.names + 1 + THERMAL_LEAVES * place
    }

    /// The leaf that a contributor adds to; for a thermal one, its length.
    pub(super) fn leaf(&self, index: usize, contributor: &Contributor) -> usize {
        match (&contributor.evidence, &contributor.target) {
            (Evidence::Thermal(_), _) => self.thermal(index),
            (_, Target::Input(name)) => *name,
            _ => self.measurand(),
        }
    }

    /// Number of leaves.
    pub(super) fn len(&self) -> usize {
        self.names + 1 + THERMAL_LEAVES * self.thermal.len()
    }
}

/// A tape, and the pairs of its leaves that interact.
type Compiled = (Arc<Tape>, Arc<Vec<(usize, usize)>>);

/// The tapes of a budget: one per set of estimates that a point's own keys replace.
#[derive(Debug)]
pub(super) struct Tapes {
    made: BTreeMap<Vec<usize>, Compiled>,
}

impl Tapes {
    pub(super) fn new() -> Tapes {
        Tapes { made: BTreeMap::new() }
    }

    /// Returns the tape of a point and the pairs of its leaves that interact.
    ///
    /// # Errors
    ///
    /// A name that the model does not find.
    pub(super) fn of(
        &mut self,
        budget: &Budget,
        layout: &Layout,
        order: &[usize],
        point: &Point,
    ) -> Result<Compiled, Fault> {
        let replaced = replaced(budget, point);
        if let Some((tape, pairs)) = self.made.get(&replaced) {
            return Ok((tape.clone(), pairs.clone()));
        }
        let tape = compile(budget, layout, order, &replaced)?;
        let pairs = Arc::new(tape.interactions());
        let tape = Arc::new(tape);
        self.made.insert(replaced, (tape.clone(), pairs.clone()));
        Ok((tape, pairs))
    }
}

/// Returns the estimates that a point's own keys replace.
pub(super) fn replaced(budget: &Budget, point: &Point) -> Vec<usize> {
    let estimated = |name: &usize| matches!(budget.names().get(*name).role, Role::Estimate { .. });
    point.keys.iter().map(|it| it.0).filter(estimated).collect()
}

fn compile(
    budget: &Budget,
    layout: &Layout,
    order: &[usize],
    replaced: &[usize],
) -> Result<Tape, Fault> {
    let nodes = nodes(budget, layout, order, replaced)?;
    Ok(nodes.builder.finish(nodes.measurand))
}

/// The nodes of all names and of the measurand.
pub(super) struct Nodes {
    pub(super) builder: TapeBuilder,
    /// By index of the names.
    pub(super) names: Vec<Option<Slot>>,
    /// With what is added to the measurand itself.
    pub(super) measurand: Slot,
}

/// Builds all names and the measurand.
pub(super) fn nodes(
    budget: &Budget,
    layout: &Layout,
    order: &[usize],
    replaced: &[usize],
) -> Result<Nodes, Fault> {
    let mut builder = TapeBuilder::new();
    let mut added = vec![false; budget.names().len()];
    for it in budget.contributors() {
        if let Target::Input(name) = it.target {
            added[name] = true;
        }
    }
    let mut slots: Vec<Option<Slot>> = vec![None; budget.names().len()];
    for &index in order {
        let name = budget.names().get(index);
        let slot = match &name.role {
            Role::Estimate { formula } if !replaced.contains(&index) => {
                let own =
                    builder.expr(formula.expr(), &|word| slots[budget.names().find(word)?])?;
                match added[index] {
                    true => {
                        let leaf = builder.leaf(index, name.origin);
                        builder.add(own, leaf, name.origin)
                    }
                    false => own,
                }
            }
            _ => builder.leaf(index, name.origin),
        };
        slots[index] = Some(slot);
    }
    let mut output = builder.expr(&budget.model, &|word| slots[budget.names().find(word)?])?;
    let origin = budget.model.origin;
    let direct = builder.leaf(layout.measurand(), origin);
    output = builder.add(output, direct, origin);
    for &index in &layout.thermal {
        let product =
            thermal(&mut builder, layout.thermal(index), budget.contributors()[index].origin);
        output = builder.add(output, product, origin);
    }
    Ok(Nodes { builder, names: slots, measurand: output })
}

/// Adds length·(alpha·difference + alpha_difference·from_20) (JCGM 100:2008, H.1.2, linearised).
fn thermal(builder: &mut TapeBuilder, first: usize, origin: Origin) -> Slot {
    let leaves: Vec<Slot> =
        (0..THERMAL_LEAVES).map(|it| builder.leaf(first + it, origin)).collect();
    let [length, alpha, alpha_difference, difference, from_20] =
        <[Slot; THERMAL_LEAVES]>::try_from(leaves).unwrap_or([Slot(0); THERMAL_LEAVES]);
    let one = builder.multiply(alpha, difference, origin);
    let two = builder.multiply(alpha_difference, from_20, origin);
    let strain = builder.add(one, two, origin);
    builder.multiply(length, strain, origin)
}

/// What evaluates the measurand at one point, for any reading.
#[derive(Debug, Clone)]
pub struct PointModel {
    pub(crate) tape: Arc<Tape>,
    pub(crate) leaves: Vec<f64>,
    pub(crate) exact: Vec<Option<Exact>>,
    pub(crate) reading: ReadingLeaf,
}

/// Where the reading enters.
#[derive(Debug, Clone)]
pub struct ReadingLeaf {
    /// The leaf; `None` where the model does not use the reading.
    pub(crate) leaf: Option<usize>,
    /// What contributors add to the reading.
    pub(crate) added: Value,
}

impl PointModel {
    /// Whether the measurand depends on the reading.
    pub fn uses_reading(&self) -> bool {
        self.reading.leaf.is_some()
    }

    /// Returns the measurand's estimate for a reading, in SI.
    ///
    /// # Errors
    ///
    /// A model that has no value there.
    pub fn at_reading(&self, reading: &Quantity) -> Result<Value, Fault> {
        self.at_exact_reading(&reading.exact())
    }

    /// Returns the measurand's estimate for an exact reading in SI.
    ///
    /// # Errors
    ///
    /// As [`PointModel::at_reading`].
    pub fn at_exact_reading(&self, reading: &Exact) -> Result<Value, Fault> {
        let Some(leaf) = self.reading.leaf else { return self.value(&self.leaves, &self.exact) };
        let (mut leaves, mut exact) = (self.leaves.clone(), self.exact.clone());
        let shown = self.reading.added.exact.as_ref().and_then(|added| reading.add(added));
        leaves[leaf] = match &shown {
            Some(sum) => sum.to_f64(),
            None => reading.to_f64() + self.reading.added.si,
        };
        exact[leaf] = shown;
        self.value(&leaves, &exact)
    }

    fn value(&self, leaves: &[f64], exact: &[Option<Exact>]) -> Result<Value, Fault> {
        let exact = self.tape.exact(exact);
        let si = match &exact {
            Some(value) => value.to_f64(),
            None => self.tape.value(leaves)?,
        };
        if si.is_finite() {
            Ok(Value { si, exact })
        } else {
            Err(Fault::new(Origin::NONE, "the model has no finite value at this reading"))
        }
    }
}
