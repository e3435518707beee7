//! Second-order terms of the law of propagation of uncertainty.
//!
//! JCGM 100:2008, note to 5.1.2: Σᵢⱼ [½·f_ij² + f_i·f_ijj]·u_i²·u_j². For a diagonal term with
//! kurtosis κ the same expansion gives ¼(κ−1)·f_ii²·u⁴ + ⅓κ·f_i·f_iii·u⁴; κ = 3 is the note itself.
//! Differentiated along *directions*: one per leaf for contributors that no link connects, with the
//! kurtosis of their sum; for linked ones the columns of a factor of their covariance, as normal.
//! The result does not depend on the choice of factor.

use crate::fault::Fault;
use crate::model::Tape;

/// One independent direction in the space of leaves, scaled by its standard uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Direction {
    /// Leaf and component, in SI of the leaf.
    pub(super) components: Vec<(usize, f64)>,
    /// Kurtosis of the direction's variable.
    pub(super) kurtosis: f64,
}

/// What the second order adds.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Terms {
    /// To the variance; may be negative.
    pub(super) variance: f64,
    /// To the estimate: ½Σ f_ii·u_i².
    pub(super) shift: f64,
}

/// Returns the second-order terms over independent `directions`; `pairs` are the pairs of leaves
/// that interact (ascending in each pair, equal for a leaf that enters nonlinearly).
///
/// Method: M14.
///
/// # Errors
///
/// A derivative that does not exist.
pub(super) fn terms(
    tape: &Tape,
    leaves: &[f64],
    directions: &[Direction],
    pairs: &[(usize, usize)],
) -> Result<Terms, Fault> {
    let active: Vec<&Direction> = directions.iter().filter(|it| touches(it, pairs)).collect();
    let mut sum = Terms::default();
    for (index, first) in active.iter().enumerate() {
        if interact(first, first, pairs) {
            let jet = tape.jet(leaves, &first.components, &first.components)?;
            let (slope, curvature, third) = (jet.a, jet.ab, 2.0 * jet.ab2);
            let kurtosis = first.kurtosis;
            sum.variance +=
                0.25 * (kurtosis - 1.0) * curvature * curvature + kurtosis / 3.0 * slope * third;
            sum.shift += 0.5 * curvature;
        }
        for second in &active[index + 1..] {
            if !interact(first, second, pairs) {
                continue;
            }
            let there = tape.jet(leaves, &first.components, &second.components)?;
            let back = tape.jet(leaves, &second.components, &first.components)?;
            sum.variance += there.ab * there.ab + 2.0 * (there.a * there.ab2 + back.a * back.ab2);
        }
    }
    Ok(sum)
}

fn touches(direction: &Direction, pairs: &[(usize, usize)]) -> bool {
    direction
        .components
        .iter()
        .any(|(leaf, _)| pairs.iter().any(|it| it.0 == *leaf || it.1 == *leaf))
}

fn interact(a: &Direction, b: &Direction, pairs: &[(usize, usize)]) -> bool {
    a.components.iter().any(|(i, _)| {
        b.components.iter().any(|(j, _)| pairs.binary_search(&(*i.min(j), *i.max(j))).is_ok())
    })
}
