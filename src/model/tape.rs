//! One tape per model: evaluated on numbers, on exact numbers and on jets.
use super::expr::Expr;
use super::jet::Jet;
use crate::fault::{Fault, Origin};
use crate::quantity::Exact;

/// A node of the tape under construction, or of a finished one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Slot(pub usize);

/// Builds a tape node by node.
#[derive(Debug, Clone, Default)]
pub struct TapeBuilder {
    _todo: (),
}

/// A list of operations in order; leaves are numbered from 0 and given at evaluation.
#[derive(Debug, Clone)]
pub struct Tape {
    _todo: (),
}

impl TapeBuilder {
    /// Returns an empty builder.
    pub fn new() -> TapeBuilder {
        todo!()
    }
    /// Adds (or finds) the node of leaf `index`.
    pub fn leaf(&mut self, index: usize, origin: Origin) -> Slot {
        let _ = (index, origin);
        todo!()
    }
    /// Adds an expression, names resolved to nodes by `resolve`.
    ///
    /// # Errors
    ///
    /// A name that `resolve` does not know.
    pub fn expr(
        &mut self,
        expr: &Expr,
        resolve: &dyn Fn(&str) -> Option<Slot>,
    ) -> Result<Slot, Fault> {
        let _ = (expr, resolve);
        todo!()
    }
    /// Adds the sum of two nodes.
    pub fn add(&mut self, left: Slot, right: Slot, origin: Origin) -> Slot {
        let _ = (left, right, origin);
        todo!()
    }
    /// Adds the product of two nodes.
    pub fn multiply(&mut self, left: Slot, right: Slot, origin: Origin) -> Slot {
        let _ = (left, right, origin);
        todo!()
    }
    /// Closes the tape with its result.
    pub fn finish(self, output: Slot) -> Tape {
        let _ = output;
        todo!()
    }
}

impl Tape {
    /// Returns the value with leaf values in SI.
    ///
    /// # Errors
    ///
    /// Division by zero, logarithm or root of a negative number …, NaN or infinite: at the operator.
    pub fn value(&self, leaves: &[f64]) -> Result<f64, Fault> {
        let _ = leaves;
        todo!()
    }
    /// Returns the exact value where every operation on the way is + − × / or an integer power of exact leaves, else `None`.
    pub fn exact(&self, leaves: &[Option<Exact>]) -> Option<Exact> {
        let _ = leaves;
        todo!()
    }
    /// Returns the jet along `first` (ε₁) and `second` (ε₂): sparse directions (leaf, component).
    ///
    /// # Errors
    ///
    /// As [`Tape::value`]; also a derivative that does not exist, naming the operator.
    pub fn jet(
        &self,
        leaves: &[f64],
        first: &[(usize, f64)],
        second: &[(usize, f64)],
    ) -> Result<Jet, Fault> {
        let _ = (leaves, first, second);
        todo!()
    }
    /// Returns all first derivatives with respect to `wanted` leaves, by one reverse or several forward passes.
    ///
    /// # Errors
    ///
    /// As [`Tape::jet`].
    pub fn gradient(&self, leaves: &[f64], wanted: &[usize]) -> Result<Vec<f64>, Fault> {
        let _ = (leaves, wanted);
        todo!()
    }
    /// Returns the pairs of leaves (smaller first; equal for a leaf that enters nonlinearly) whose second-order
    /// derivatives can differ from zero, found from the structure alone.
    pub fn interactions(&self) -> Vec<(usize, usize)> {
        todo!()
    }
    /// Returns the leaves that the result depends on, ascending.
    pub fn used(&self) -> Vec<usize> {
        todo!()
    }
}
