//! Derivatives of a tape: jets forwards, gradients backwards.
//!
//! Exact rules throughout, never finite differences. At a kink or a pole of a derivative the value
//! is fine and the derivative is a fault, but only where the derivative is asked for: the argument
//! must move with an input that does (not be held at 0 by a constant factor), and the result must
//! depend on it (not through a constant factor 0).
//! Source of the derivatives that are needed: JCGM 100:2008, 5.1.2 with its note, 5.1.3.

use super::expr::Function;
use super::function::{self, Slopes};
use super::jet::Jet;
use super::tape::{Step, Tape};
use crate::fault::{Fault, Origin};

/// Why an operation has no derivative.
struct Kink(&'static str);

/// What a walk needs to know besides the tape.
struct Walk<'a> {
    /// The values of all operations.
    values: &'a [f64],
    /// Whether each operation moves with a leaf that moves.
    moves: &'a [bool],
}

impl Tape {
    /// Returns the jet along `first` (ε₁) and `second` (ε₂): sparse directions (leaf, component).
    ///
    /// Method: M12.
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
        let values = self.values(leaves)?;
        let mut seeds = vec![(0.0, 0.0); self.ops.len()];
        for &(leaf, part) in first {
            if let Some(&index) = self.leaves.get(&leaf) {
                seeds[index].0 += part;
            }
        }
        for &(leaf, part) in second {
            if let Some(&index) = self.leaves.get(&leaf) {
                seeds[index].1 += part;
            }
        }
        let moves = self.moving(&values, &|index| seeds[index] != (0.0, 0.0));
        let counts = self.counting(&values, &moves);
        let walk = Walk { values: &values, moves: &moves };
        let mut jets: Vec<Jet> = Vec::with_capacity(self.ops.len());
        for (index, op) in self.ops.iter().enumerate() {
            let value = values[index];
            let jet = match op.step {
                Step::Leaf(_) => Jet::seeded(value, seeds[index].0, seeds[index].1),
                _ if !(moves[index] && counts[index]) => Jet::constant(value),
                _ => {
                    let jet = walk.jet(&op.step, &jets, value);
                    let jet = jet.map_err(|kink| kink.fault(&op.step, op.origin))?;
                    // Value and jet must agree to the bit.
                    Jet { value, ..jet }
                }
            };
            if !jet.is_finite() {
                return Err(too_large(&op.step, op.origin));
            }
            jets.push(jet);
        }
        jets.pop().ok_or_else(|| Fault::new(Origin::NONE, "the model is empty"))
    }

    /// Returns all first derivatives with respect to `wanted` leaves, in their order, by one
    /// reverse pass.
    ///
    /// Method: M12.
    ///
    /// # Errors
    ///
    /// As [`Tape::jet`].
    pub fn gradient(&self, leaves: &[f64], wanted: &[usize]) -> Result<Vec<f64>, Fault> {
        let values = self.values(leaves)?;
        let mut starts = vec![false; self.ops.len()];
        for leaf in wanted {
            if let Some(&index) = self.leaves.get(leaf) {
                starts[index] = true;
            }
        }
        let moves = self.moving(&values, &|index| starts[index]);
        let counts = self.counting(&values, &moves);
        let walk = Walk { values: &values, moves: &moves };
        let mut slopes = vec![0.0; self.ops.len()];
        if let Some(result) = slopes.last_mut() {
            *result = 1.0;
        }
        for (index, op) in self.ops.iter().enumerate().rev() {
            if !(moves[index] && counts[index]) {
                continue;
            }
            let partials = walk.partials(&op.step, values[index]);
            let partials = partials.map_err(|kink| kink.fault(&op.step, op.origin))?;
            for (operand, partial) in op.step.operands().zip(partials) {
                if moves[operand] && counts[operand] {
                    slopes[operand] += slopes[index] * partial;
                    if !slopes[operand].is_finite() {
                        return Err(too_large(&op.step, op.origin));
                    }
                }
            }
        }
        let slope_of = |leaf: &usize| self.leaves.get(leaf).map_or(0.0, |index| slopes[*index]);
        Ok(wanted.iter().map(slope_of).collect())
    }

    /// Returns which operations move when the leaves do of which `starts` says so.
    /// A product with a constant 0 does not.
    fn moving(&self, values: &[f64], starts: &dyn Fn(usize) -> bool) -> Vec<bool> {
        let mut moves: Vec<bool> = Vec::with_capacity(self.ops.len());
        for (index, op) in self.ops.iter().enumerate() {
            let is_zero = |operand: usize| !moves[operand] && values[operand] == 0.0;
            let it_moves = match op.step {
                Step::Leaf(_) => starts(index),
                Step::Multiply(a, b) => (moves[a] && !is_zero(b)) || (moves[b] && !is_zero(a)),
                Step::Divide(a, _) if is_zero(a) => false,
                Step::IntegerPower(_, 0) => false,
                Step::Double(function, a, b) => match picked(function, a, b, values) {
                    Some(one) => moves[one],
                    None => moves[a] || moves[b],
                },
                _ => op.step.operands().any(|operand| moves[operand]),
            };
            moves.push(it_moves);
        }
        moves
    }

    /// Returns which operations the result depends on, seen from the result.
    /// A factor beside a constant 0 does not count.
    fn counting(&self, values: &[f64], moves: &[bool]) -> Vec<bool> {
        let mut counts = vec![false; self.ops.len()];
        if let Some(result) = counts.last_mut() {
            *result = true;
        }
        for index in (0..self.ops.len()).rev() {
            if !counts[index] {
                continue;
            }
            let is_zero = |operand: usize| !moves[operand] && values[operand] == 0.0;
            match self.ops[index].step {
                Step::Multiply(a, b) => {
                    counts[a] |= !is_zero(b);
                    counts[b] |= !is_zero(a);
                }
                Step::Divide(a, b) => {
                    counts[a] = true;
                    counts[b] |= !is_zero(a);
                }
                Step::IntegerPower(_, 0) => {}
                Step::Double(function, a, b) => {
                    let one = picked(function, a, b, values);
                    counts[a] |= one != Some(b);
                    counts[b] |= one != Some(a);
                }
                ref step => step.operands().for_each(|operand| counts[operand] = true),
            }
        }
        counts
    }
}

impl Walk<'_> {
    fn jet(&self, step: &Step, jets: &[Jet], value: f64) -> Result<Jet, Kink> {
        Ok(match *step {
            Step::Leaf(_) | Step::Constant(..) => Jet::constant(value),
            Step::Negate(a) => jets[a].negated(),
            Step::Add(a, b) => jets[a].plus(&jets[b]),
            Step::Subtract(a, b) => jets[a].minus(&jets[b]),
            Step::Multiply(a, b) => jets[a].times(&jets[b]),
            Step::Divide(a, b) => jets[a].over(&jets[b]),
            Step::IntegerPower(a, exponent) => {
                let slopes = function::integer_power_slopes(self.values[a], exponent);
                composed(&jets[a], value, slopes)
            }
            Step::Power(a, b) if self.moves[b] => {
                let logarithm = self.logarithm(a)?;
                let base =
                    composed(&jets[a], logarithm, function::logarithm_slopes(self.values[a]));
                composed(&base.times(&jets[b]), value, [value; 3])
            }
            Step::Power(a, b) => {
                let slopes = function::power_slopes(self.values[a], self.values[b]);
                composed(&jets[a], value, slopes.map_err(Kink)?)
            }
            Step::Single(function, a) => {
                let slopes = function::slopes(function, self.values[a], value);
                composed(&jets[a], value, slopes.map_err(Kink)?)
            }
            Step::Double(Function::Atan2, a, b) => self.angle(&jets[a], &jets[b])?,
            Step::Double(function, a, b) => jets[self.chosen(function, a, b)?],
        })
    }

    /// Returns the derivatives with respect to the operands, in their order.
    fn partials(&self, step: &Step, value: f64) -> Result<[f64; 2], Kink> {
        let of = |operand: usize| self.values[operand];
        Ok(match *step {
            Step::Leaf(_) | Step::Constant(..) => [0.0; 2],
            Step::Negate(_) => [-1.0, 0.0],
            Step::Add(..) => [1.0, 1.0],
            Step::Subtract(..) => [1.0, -1.0],
            Step::Multiply(a, b) => [of(b), of(a)],
            Step::Divide(_, b) => [1.0 / of(b), -value / of(b)],
            Step::IntegerPower(a, exponent) => {
                [function::integer_power_slopes(of(a), exponent)[0], 0.0]
            }
            Step::Power(a, b) if self.moves[b] => {
                let logarithm = self.logarithm(a)?;
                [value * of(b) / of(a), value * logarithm]
            }
            Step::Power(a, b) => [function::power_slopes(of(a), of(b)).map_err(Kink)?[0], 0.0],
            Step::Single(function, a) => {
                [function::slopes(function, of(a), value).map_err(Kink)?[0], 0.0]
            }
            Step::Double(Function::Atan2, a, b) => {
                let y = self.angle(&Jet::seeded(of(a), 1.0, 0.0), &Jet::seeded(of(b), 0.0, 1.0))?;
                [y.a, y.b]
            }
            Step::Double(function, a, b) => {
                if self.chosen(function, a, b)? == a {
                    [1.0, 0.0]
                } else {
                    [0.0, 1.0]
                }
            }
        })
    }

    /// Returns the logarithm of the base of a power whose exponent moves.
    fn logarithm(&self, base: usize) -> Result<f64, Kink> {
        let base = self.values[base];
        if base > 0.0 { Ok(libm::log(base)) } else { Err(Kink("for a base that is not above 0")) }
    }

    fn chosen(&self, function: Function, a: usize, b: usize) -> Result<usize, Kink> {
        picked(function, a, b, self.values).ok_or(Kink("where both are equal"))
    }

    /// Returns the jet of `atan2` but for its value, by the arc tangent of the smaller quotient.
    fn angle(&self, y: &Jet, x: &Jet) -> Result<Jet, Kink> {
        if y.value == 0.0 && x.value == 0.0 {
            return Err(Kink("at (0, 0)"));
        }
        let steep = y.value.abs() > x.value.abs();
        let quotient = if steep { x.over(y) } else { y.over(x) };
        let slopes = function::arctangent_slopes(quotient.value);
        let angle = composed(&quotient, 0.0, slopes);
        Ok(if steep { angle.negated() } else { angle })
    }
}

impl Kink {
    fn fault(self, step: &Step, origin: Origin) -> Fault {
        let what = format!("the derivative of `{}` does not exist {}", step.symbol(), self.0);
        Fault::new(origin, what).help("rewrite the model so that it is smooth at this point")
    }
}

/// Returns the operand that is the smaller or the larger; `None` at a tie, and for `atan2`.
fn picked(function: Function, a: usize, b: usize, values: &[f64]) -> Option<usize> {
    let (left, right) = (values[a], values[b]);
    match function {
        Function::Min | Function::Max if a == b => Some(a),
        Function::Min if left != right => Some(if right < left { b } else { a }),
        Function::Max if left != right => Some(if right > left { b } else { a }),
        _ => None,
    }
}

fn composed(jet: &Jet, value: f64, [first, second, third]: Slopes) -> Jet {
    jet.compose(value, first, second, third)
}

fn too_large(step: &Step, origin: Origin) -> Fault {
    let what = format!("the derivative of `{}` is too large to be computed", step.symbol());
    Fault::new(origin, what).help("rewrite the model so that it is smooth at this point")
}

#[cfg(test)]
mod tests;
