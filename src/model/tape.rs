//! One tape per model: evaluated on numbers, on exact numbers and on jets.
//!
//! A list of operations, each on earlier ones, with the place that each comes from. Leaves are
//! numbered and get their values (SI) at evaluation. Only what the result depends on is kept, so
//! that a fault in an unused part cannot stop the work. Here are the building and the evaluation on
//! `f64`; `exact`, `derive` and `structure` hold the other walks over the same list.

use super::expr::{Expr, Function, Node, Operator};
use super::function;
use crate::fault::{Fault, Origin};
use crate::quantity::Exact;
use num_traits::One;
use std::collections::BTreeMap;

/// A node of the tape under construction, or of a finished one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Slot(pub usize);

/// The largest whole exponent that is taken by repeated products.
const LARGEST_POWER: i64 = 64;

/// One operation; numbers are indices of earlier ones.
#[derive(Debug, Clone)]
pub(super) enum Step {
    Leaf(usize),
    Constant(f64, Exact),
    Negate(usize),
    Add(usize, usize),
    Subtract(usize, usize),
    Multiply(usize, usize),
    Divide(usize, usize),
    IntegerPower(usize, i32),
    Power(usize, usize),
    /// A function of one number.
    Single(Function, usize),
    /// `atan2`, `min` or `max`.
    Double(Function, usize, usize),
}

/// An operation with its place.
#[derive(Debug, Clone)]
pub(super) struct Op {
    pub(super) step: Step,
    pub(super) origin: Origin,
}

/// Builds a tape node by node.
#[derive(Debug, Clone, Default)]
pub struct TapeBuilder {
    ops: Vec<Op>,
    leaves: BTreeMap<usize, Slot>,
}

/// A list of operations in order; leaves are numbered from 0 and given at evaluation.
#[derive(Debug, Clone)]
pub struct Tape {
    /// Never empty; the last is the result.
    pub(super) ops: Vec<Op>,
    /// The operation of each leaf.
    pub(super) leaves: BTreeMap<usize, usize>,
}

impl Step {
    /// Returns the operations that it uses, the same twice where it does so.
    pub(super) fn operands(&self) -> impl Iterator<Item = usize> + use<> {
        let (first, second) = match *self {
            Step::Leaf(_) | Step::Constant(..) => (None, None),
            Step::Negate(a) | Step::IntegerPower(a, _) | Step::Single(_, a) => (Some(a), None),
            Step::Add(a, b) | Step::Subtract(a, b) | Step::Multiply(a, b) => (Some(a), Some(b)),
            Step::Divide(a, b) | Step::Power(a, b) | Step::Double(_, a, b) => (Some(a), Some(b)),
        };
        first.into_iter().chain(second)
    }

    /// Returns the operator or function as it is typed.
    pub(super) fn symbol(&self) -> &'static str {
        match self {
            Step::Leaf(_) | Step::Constant(..) => "value",
            Step::Negate(_) | Step::Subtract(..) => "-",
            Step::Add(..) => "+",
            Step::Multiply(..) => "*",
            Step::Divide(..) => "/",
            Step::IntegerPower(..) | Step::Power(..) => "^",
            Step::Single(function, _) | Step::Double(function, ..) => function.name(),
        }
    }

    fn moved(&self, to: &[usize]) -> Step {
        match *self {
            Step::Leaf(_) | Step::Constant(..) => self.clone(),
            Step::Negate(a) => Step::Negate(to[a]),
            Step::IntegerPower(a, exponent) => Step::IntegerPower(to[a], exponent),
            Step::Single(function, a) => Step::Single(function, to[a]),
            Step::Add(a, b) => Step::Add(to[a], to[b]),
            Step::Subtract(a, b) => Step::Subtract(to[a], to[b]),
            Step::Multiply(a, b) => Step::Multiply(to[a], to[b]),
            Step::Divide(a, b) => Step::Divide(to[a], to[b]),
            Step::Power(a, b) => Step::Power(to[a], to[b]),
            Step::Double(function, a, b) => Step::Double(function, to[a], to[b]),
        }
    }
}

impl TapeBuilder {
    /// Returns an empty builder.
    pub fn new() -> TapeBuilder {
        TapeBuilder::default()
    }

    /// Adds (or finds) the node of leaf `index`.
    pub fn leaf(&mut self, index: usize, origin: Origin) -> Slot {
        if let Some(slot) = self.leaves.get(&index) {
            return *slot;
        }
        let slot = self.push(Step::Leaf(index), origin);
        self.leaves.insert(index, slot);
        slot
    }

    /// Adds a constant in SI.
    pub fn constant(&mut self, exact: Exact, origin: Origin) -> Slot {
        self.push(Step::Constant(exact.to_f64(), exact), origin)
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
        let origin = expr.origin;
        match &expr.node {
            Node::Literal(quantity) => Ok(self.constant(quantity.exact(), origin)),
            Node::Pi => {
                let exact = Exact::with_pi(One::one(), 1);
                Ok(self.push(Step::Constant(std::f64::consts::PI, exact), origin))
            }
            Node::Name(name) => resolve(name)
                .ok_or_else(|| Fault::new(origin, format!("`{name}` is not known here"))),
            Node::Negate(inner) => {
                let inner = self.expr(inner, resolve)?;
                Ok(self.push(Step::Negate(inner.0), origin))
            }
            Node::Binary(Operator::Power, base, exponent) => {
                self.power(base, exponent, origin, resolve)
            }
            Node::Binary(operator, left, right) => {
                let (left, right) = (self.expr(left, resolve)?, self.expr(right, resolve)?);
                Ok(self.binary(*operator, left, right, origin))
            }
            Node::Call(function, arguments) => self.call(*function, arguments, origin, resolve),
        }
    }

    /// Adds the sum of two nodes.
    pub fn add(&mut self, left: Slot, right: Slot, origin: Origin) -> Slot {
        self.push(Step::Add(left.0, right.0), origin)
    }

    /// Adds the product of two nodes.
    pub fn multiply(&mut self, left: Slot, right: Slot, origin: Origin) -> Slot {
        self.push(Step::Multiply(left.0, right.0), origin)
    }

    /// Adds the result of an operator on two nodes.
    pub fn binary(&mut self, operator: Operator, left: Slot, right: Slot, origin: Origin) -> Slot {
        let (left, right) = (left.0, right.0);
        let step = match operator {
            Operator::Add => Step::Add(left, right),
            Operator::Subtract => Step::Subtract(left, right),
            Operator::Multiply => Step::Multiply(left, right),
            Operator::Divide => Step::Divide(left, right),
            Operator::Power => Step::Power(left, right),
        };
        self.push(step, origin)
    }

    /// Closes the tape with its result.
    pub fn finish(self, output: Slot) -> Tape {
        let mut used = vec![false; output.0 + 1];
        used[output.0] = true;
        for index in (0..=output.0).rev().filter(|index| self.ops.len() > *index) {
            if used[index] {
                self.ops[index].step.operands().for_each(|operand| used[operand] = true);
            }
        }
        let mut ops = Vec::new();
        let mut leaves = BTreeMap::new();
        let mut to = vec![0; output.0 + 1];
        for (index, op) in self.ops.into_iter().enumerate().take(output.0 + 1) {
            if used[index] {
                to[index] = ops.len();
                if let Step::Leaf(leaf) = op.step {
                    leaves.insert(leaf, ops.len());
                }
                ops.push(Op { step: op.step.moved(&to), origin: op.origin });
            }
        }
        Tape { ops, leaves }
    }

    fn push(&mut self, step: Step, origin: Origin) -> Slot {
        self.ops.push(Op { step, origin });
        Slot(self.ops.len() - 1)
    }

    fn power(
        &mut self,
        base: &Expr,
        exponent: &Expr,
        origin: Origin,
        resolve: &dyn Fn(&str) -> Option<Slot>,
    ) -> Result<Slot, Fault> {
        let base = self.expr(base, resolve)?;
        let whole = exponent.as_ratio().and_then(|ratio| ratio.to_integer());
        let whole = whole.filter(|whole| whole.abs() <= LARGEST_POWER);
        if let Some(whole) = whole.and_then(|whole| i32::try_from(whole).ok()) {
            return Ok(self.push(Step::IntegerPower(base.0, whole), origin));
        }
        let exponent = self.expr(exponent, resolve)?;
        Ok(self.push(Step::Power(base.0, exponent.0), origin))
    }

    fn call(
        &mut self,
        function: Function,
        arguments: &[Expr],
        origin: Origin,
        resolve: &dyn Fn(&str) -> Option<Slot>,
    ) -> Result<Slot, Fault> {
        let slots = arguments.iter().map(|argument| self.expr(argument, resolve));
        let slots: Vec<Slot> = slots.collect::<Result<_, _>>()?;
        let (least, most) = function.arguments();
        let Some((first, rest)) = slots.split_first().filter(|_| {
            // The parser has counted them; a tree built by a program may not have been.
            (least..=most).contains(&slots.len())
        }) else {
            let what = format!("`{}` has the wrong number of arguments", function.name());
            return Err(Fault::new(origin, what));
        };
        if least == 1 {
            return Ok(self.push(Step::Single(function, first.0), origin));
        }
        let join =
            |left: Slot, right: &Slot| self.push(Step::Double(function, left.0, right.0), origin);
        Ok(rest.iter().fold(*first, join))
    }
}

impl Tape {
    /// Returns the number of its operations, leaves and constants included.
    pub fn len(&self) -> usize {
        self.ops.len()
    }

    /// Returns whether it has no operations: never for a tape with a result.
    pub fn is_empty(&self) -> bool {
        self.ops.is_empty()
    }

    /// Returns the value with leaf values in SI.
    ///
    /// # Errors
    ///
    /// Division by zero, logarithm or root of a negative number …, NaN or infinite: at the operator.
    pub fn value(&self, leaves: &[f64]) -> Result<f64, Fault> {
        let values = self.values(leaves)?;
        values.last().copied().ok_or_else(|| Fault::new(Origin::NONE, "the model is empty"))
    }

    /// Returns the values of all operations, all finite.
    pub(super) fn values(&self, leaves: &[f64]) -> Result<Vec<f64>, Fault> {
        let mut values: Vec<f64> = Vec::with_capacity(self.ops.len());
        for op in &self.ops {
            let value = compute(&op.step, &values, leaves)
                .map_err(|broken| broken.fault(&op.step, op.origin))?;
            values.push(value);
        }
        Ok(values)
    }
}

/// Why an operation has no value.
struct Broken {
    operand: f64,
    rule: &'static str,
}

impl Broken {
    fn fault(self, step: &Step, origin: Origin) -> Fault {
        let symbol = step.symbol();
        let what = match step {
            Step::Leaf(_) | Step::Constant(..) => "a value of the model".to_string(),
            Step::Single(..) if !self.operand.is_finite() => {
                format!("`{symbol}` has no value here")
            }
            Step::Single(..) => format!("`{symbol}` of {}", shown(self.operand)),
            _ => format!("`{symbol}` has no value here"),
        };
        Fault::new(origin, what).rule(self.rule)
    }
}

/// Returns a value in SI as a reader wants it: six digits, no zeros at the end.
fn shown(value: f64) -> String {
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    let plain = rounded == 0.0 || (1e-4..1e6).contains(&rounded.abs());
    if plain { rounded.to_string() } else { format!("{rounded:e}") }
}

const TOO_LARGE: &str = "the result is too large to be computed";
const NOT_FINITE: &str = "it is missing or not a finite number";

fn compute(step: &Step, values: &[f64], leaves: &[f64]) -> Result<f64, Broken> {
    let broken = |operand: f64| move |rule: &'static str| Broken { operand, rule };
    let result = match *step {
        Step::Leaf(index) => {
            let value = leaves.get(index).copied().unwrap_or(f64::NAN);
            return if value.is_finite() { Ok(value) } else { Err(broken(value)(NOT_FINITE)) };
        }
        Step::Constant(value, _) => value,
        Step::Negate(a) => -values[a],
        Step::Add(a, b) => values[a] + values[b],
        Step::Subtract(a, b) => values[a] - values[b],
        Step::Multiply(a, b) => values[a] * values[b],
        Step::Divide(_, b) if values[b] == 0.0 => return Err(broken(0.0)("division by zero")),
        Step::Divide(a, b) => values[a] / values[b],
        Step::IntegerPower(a, exponent) if exponent < 0 && values[a] == 0.0 => {
            return Err(broken(0.0)("0 has no negative power"));
        }
        Step::IntegerPower(a, exponent) => function::integer_power(values[a], exponent),
        Step::Power(a, b) => function::power(values[a], values[b]).map_err(broken(values[a]))?,
        Step::Single(function, a) => {
            function::value(function, values[a]).map_err(broken(values[a]))?
        }
        Step::Double(function, a, b) => double(function, values[a], values[b]),
    };
    if result.is_finite() { Ok(result) } else { Err(broken(result)(TOO_LARGE)) }
}

pub(super) fn double(function: Function, left: f64, right: f64) -> f64 {
    match function {
        Function::Min if right < left => right,
        Function::Max if right > left => right,
        Function::Atan2 => libm::atan2(left, right),
        _ => left,
    }
}

#[cfg(test)]
mod tests;
