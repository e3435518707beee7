//! The components of a budget over all its points: what each adds to the measurand, with its sign.
//!
//! Read off an evaluation when several points are looked at together. A thermal contributor has four
//! components, any other one. Where a contributor does not count (another scope, not the largest of
//! its group) it adds 0, so that points which count different ones have nothing in common.

use super::evaluate::kept;
use super::system::Layout;
use super::{Evaluation, PointEvaluation};
use crate::budget::{Evidence, Scope};
use crate::evidence::Spread;

/// One component over all points.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// Index of the contributor.
    pub(crate) contributor: usize,
    /// The part, of a thermal contributor.
    pub(crate) part: Option<usize>,
    /// The leaf of the model that it adds to.
    pub(crate) leaf: usize,
    /// Correlation between any two points.
    pub(crate) shared: f64,
    /// c·u with its sign at each point, in SI of the measurand; 0 where it does not count.
    pub(crate) signed: Vec<f64>,
}

impl Row {
    /// Returns what its evidence says at a point.
    pub(crate) fn spread<'a>(&self, point: &'a PointEvaluation) -> &'a Spread {
        let line = &point.contributors[self.contributor];
        match self.part {
            Some(part) => &line.parts[part].spread,
            None => &line.spread,
        }
    }

    /// Whether it counts, with an uncertainty, at any point.
    pub(crate) fn counts(&self) -> bool {
        self.signed.iter().any(|it| *it != 0.0)
    }
}

/// Which contributors count at each point, and their components.
#[derive(Debug, Clone)]
pub(crate) struct Rows {
    /// By contributor and part, in order.
    pub(crate) list: Vec<Row>,
    /// By point and contributor: whether it counts.
    pub(crate) kept: Vec<Vec<bool>>,
}

impl Rows {
    /// Returns the components of a scope.
    pub(crate) fn new(evaluation: &Evaluation, scope: Scope) -> Rows {
        let (budget, points) = (evaluation.budget, &evaluation.points);
        let of_point = |point: &PointEvaluation| {
            let sizes: Vec<f64> = point.contributors.iter().map(|it| it.contribution).collect();
            kept(budget, &sizes, scope)
        };
        let kept: Vec<Vec<bool>> = points.iter().map(of_point).collect();
        let layout = Layout::new(budget);
        let mut list = Vec::new();
        for (contributor, it) in budget.contributors().iter().enumerate() {
            let first = layout.leaf(contributor, it);
            let parts: Vec<(Option<usize>, usize)> = match &it.evidence {
                Evidence::Thermal(thermal) => {
                    (0..thermal.parts.len()).map(|part| (Some(part), first + 1 + part)).collect()
                }
                _ => vec![(None, first)],
            };
            for (part, leaf) in parts {
                let signed = |(point, kept): (&PointEvaluation, &Vec<bool>)| {
                    signed(point, contributor, part).filter(|_| kept[contributor]).unwrap_or(0.0)
                };
                let signed = points.iter().zip(&kept).map(signed).collect();
                list.push(Row { contributor, part, leaf, shared: it.shared, signed });
            }
        }
        Rows { list, kept }
    }
}

/// Returns c·u of a contributor, or of its part, at a point.
fn signed(point: &PointEvaluation, contributor: usize, part: Option<usize>) -> Option<f64> {
    let line = point.contributors.get(contributor)?;
    Some(match part {
        Some(part) => {
            let part = line.parts.get(part)?;
            part.sensitivity * part.spread.standard_uncertainty
        }
        None => line.sensitivity * line.spread.standard_uncertainty,
    })
}
