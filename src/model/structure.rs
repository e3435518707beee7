//! What can be known of a tape from its structure alone: which leaves it uses, and which pairs of
//! leaves can have second-order derivatives.

use super::tape::{Step, Tape};
use std::collections::BTreeSet;

/// How a result depends on one leaf.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Degree {
    Free,
    Linear,
    Nonlinear,
}

impl Tape {
    /// Returns the pairs of leaves (smaller first; equal for a leaf that enters nonlinearly) whose second-order
    /// derivatives can differ from zero, found from the structure alone. For all others f_ij, f_iij
    /// and f_ijj are zero.
    pub fn interactions(&self) -> Vec<(usize, usize)> {
        let mut pairs = BTreeSet::new();
        let mut join = |left: &[usize], right: &[usize]| {
            for &i in left {
                pairs.extend(right.iter().map(|&j| (i.min(j), i.max(j))));
            }
        };
        for op in &self.ops {
            match op.step {
                Step::Multiply(a, b) => join(&self.leaves_below(a), &self.leaves_below(b)),
                Step::Divide(a, b) => {
                    let below = self.leaves_below(b);
                    join(&self.leaves_below(a), &below);
                    join(&below, &below);
                }
                Step::IntegerPower(_, 0 | 1) => {}
                Step::IntegerPower(a, _) | Step::Single(_, a) => {
                    let leaves = self.leaves_below(a);
                    join(&leaves, &leaves);
                }
                Step::Power(a, b) | Step::Double(_, a, b) => {
                    let mut leaves = self.leaves_below(a);
                    leaves.extend(self.leaves_below(b));
                    join(&leaves, &leaves);
                }
                Step::Leaf(_) | Step::Constant(..) | Step::Negate(_) => {}
                Step::Add(..) | Step::Subtract(..) => {}
            }
        }
        pairs.into_iter().collect()
    }

    /// Returns the leaves that the result depends on, ascending.
    pub fn used(&self) -> Vec<usize> {
        self.leaves.keys().copied().collect()
    }

    /// Returns whether the result is linear in `leaf` whatever the others are (also where it does
    /// not depend on it), as far as the structure shows.
    pub fn is_linear_in(&self, leaf: usize) -> bool {
        let mut degrees: Vec<Degree> = Vec::with_capacity(self.ops.len());
        for op in &self.ops {
            let highest = op.step.operands().map(|operand| degrees[operand]).max();
            let highest = highest.unwrap_or(Degree::Free);
            degrees.push(match op.step {
                Step::Leaf(index) if index == leaf => Degree::Linear,
                Step::Add(..) | Step::Subtract(..) | Step::Negate(_) => highest,
                Step::IntegerPower(_, 0) => Degree::Free,
                Step::IntegerPower(_, 1) => highest,
                Step::Multiply(a, b) if degrees[a].min(degrees[b]) == Degree::Free => highest,
                Step::Divide(_, b) if degrees[b] == Degree::Free => highest,
                _ if highest == Degree::Free => Degree::Free,
                _ => Degree::Nonlinear,
            });
        }
        degrees.last() != Some(&Degree::Nonlinear)
    }

    /// Returns the leaves that the operation `top` depends on, ascending.
    fn leaves_below(&self, top: usize) -> Vec<usize> {
        let mut seen = vec![false; top + 1];
        seen[top] = true;
        let mut leaves = BTreeSet::new();
        for index in (0..=top).rev() {
            if !seen[index] {
                continue;
            }
            self.ops[index].step.operands().for_each(|operand| seen[operand] = true);
            if let Step::Leaf(leaf) = self.ops[index].step {
                leaves.insert(leaf);
            }
        }
        leaves.into_iter().collect()
    }
}
