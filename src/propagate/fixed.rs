//! Evidence that is the same at all points, evaluated once: most of a budget's contributors.
//!
//! What cannot be evaluated here is left to the points, which say where it fails.

use crate::budget::{Base, Budget, Contributor, Evidence, Formula, Target};
use crate::evidence::{Measured, Place, Spread, mean, spread};

/// What does not depend on the point.
#[derive(Debug)]
pub(super) struct Fixed {
    /// By contributor: what its evidence says; `None` where it depends on the point.
    pub(super) spreads: Vec<Option<Spread>>,
    /// By contributor: whether it adds nothing to the estimate at any point.
    pub(super) adds_nothing: Vec<bool>,
    /// By name: the contributors that may add something to its estimate.
    pub(super) adding: Vec<Vec<usize>>,
}

impl Fixed {
    pub(super) fn new(budget: &Budget, datasets: &[Measured]) -> Fixed {
        let base = Base::empty(budget.names(), String::new());
        let place = Place { base: &base, symbol: None, stack: None, inch: false, datasets };
        let mut fixed = Fixed {
            spreads: Vec::new(),
            adds_nothing: Vec::new(),
            adding: vec![Vec::new(); budget.names().len()],
        };
        for (index, it) in budget.contributors().iter().enumerate() {
            let constant = is_constant(it);
            let once = if constant { spread(it, &place).ok() } else { None };
            let zero = |it: Spread| it.exact.is_some_and(|it| it.is_zero());
            let nothing = once.is_some() && mean(it, &place).is_ok_and(zero);
            fixed.spreads.push(once);
            fixed.adds_nothing.push(nothing);
            if let (Target::Input(name), false) = (&it.target, nothing) {
                fixed.adding[*name].push(index);
            }
        }
        fixed
    }
}

/// Whether evidence, correction and number of draws are the same whatever the point is.
fn is_constant(contributor: &Contributor) -> bool {
    // A thermal length and a grade's blocks are looked at where the point is known.
    let by_point =
        matches!(contributor.evidence, Evidence::Thermal(_) | Evidence::BlockGrade { .. });
    let formulas = contributor.evidence.formulas().into_iter();
    let mut formulas = formulas.chain(&contributor.estimate).chain(&contributor.times);
    !by_point && formulas.all(|it: &Formula| it.constant().is_some())
}
