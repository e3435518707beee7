//! Exact values of a tape: rational arithmetic, with whole powers of π.
//!
//! What a reading on a limit is decided by. Only + − × / and whole powers of exact leaves have an
//! exact value; everything else is left to the numbers.

use super::tape::{Step, Tape};
use crate::quantity::Exact;

/// Longer fractions than this are given up, so that towers of powers cannot fill the memory.
const LARGEST_BITS: u64 = 1 << 16;

impl Tape {
    /// Returns the exact value where every operation on the way is + − × / or an integer power of exact leaves, else `None`.
    pub fn exact(&self, leaves: &[Option<Exact>]) -> Option<Exact> {
        let mut values: Vec<Exact> = Vec::with_capacity(self.ops.len());
        for op in &self.ops {
            let value = match &op.step {
                Step::Leaf(index) => leaves.get(*index)?.clone()?,
                Step::Constant(_, exact) => exact.clone(),
                Step::Negate(a) => values[*a].neg(),
                Step::Add(a, b) => values[*a].add(&values[*b])?,
                Step::Subtract(a, b) => values[*a].sub(&values[*b])?,
                Step::Multiply(a, b) => values[*a].mul(&values[*b]),
                Step::Divide(a, b) => values[*a].div(&values[*b])?,
                Step::IntegerPower(a, exponent) => values[*a].powi(*exponent)?,
                Step::Power(..) | Step::Single(..) | Step::Double(..) => return None,
            };
            let ratio = value.ratio();
            if ratio.numer().bits().max(ratio.denom().bits()) > LARGEST_BITS {
                return None;
            }
            values.push(value);
        }
        values.pop()
    }
}
