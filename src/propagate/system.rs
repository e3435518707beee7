//! The system of one point: the tape of the measurand over all uncertain inputs, and its leaf values.

use super::Value;
use crate::fault::{Fault, Origin};
use crate::model::Tape;
use crate::quantity::{Exact, Quantity};
use std::sync::Arc;

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
        let mut leaves = self.leaves.clone();
        let mut exact = self.exact.clone();
        if let Some(leaf) = self.reading.leaf {
            let shown = self.reading.added.exact.as_ref().and_then(|added| reading.add(added));
            leaves[leaf] = match &shown {
                Some(sum) => sum.to_f64(),
                None => reading.to_f64() + self.reading.added.si,
            };
            exact[leaf] = shown;
        }
        let exact = self.tape.exact(&exact);
        let si = match &exact {
            Some(value) => value.to_f64(),
            None => self.tape.value(&leaves)?,
        };
        if si.is_finite() {
            Ok(Value { si, exact })
        } else {
            Err(Fault::new(Origin::NONE, "the model has no finite value at this reading"))
        }
    }
}
