//! Readings in groups to a [`Spread`]: the scatter within groups alone, or that between them too.
//!
//! Sources: JCGM 100:2008, 4.2.4 (pooling), H.5 (analysis of variance), G.4.1 (degrees of freedom of
//! a sum of mean squares).

use super::spread::{Distribution, Spread};
use super::statistics::{self, Groups, Scatter};
use crate::budget::{Evidence, Grouping, Use};
use crate::fault::{Fault, Origin};
use crate::quantity::{Exact, Quantity};

/// Returns the analysis of variance of readings in groups; `None` for other evidence.
pub fn analysis(evidence: &Evidence) -> Option<Groups> {
    let Evidence::Groups { groups, .. } = evidence else { return None };
    let exact = |group: &Vec<Quantity>| group.iter().map(Quantity::exact).collect();
    let exact: Vec<Vec<Exact>> = groups.iter().map(exact).collect();
    statistics::groups(&exact).ok()
}

/// Returns what readings in groups say: s of a later reading, s of a later mean of n readings of one
/// group, or the mean of the group means with its s. Pooled, only the scatter within groups counts.
///
/// Method: M73.
pub(super) fn spread(evidence: &Evidence, origin: Origin) -> Result<Spread, Fault> {
    let (Evidence::Groups { usage, grouping, .. }, Some(found)) = (evidence, analysis(evidence))
    else {
        return Err(Fault::new(origin, "these groups have no scatter"));
    };
    let none = Exact::zero();
    let (estimate, Scatter { s, dof }) = match (grouping, usage) {
        (Grouping::Pooled, Use::MeanOf(n)) => {
            let Scatter { s, dof } = found.pooled();
            (none, Scatter { s: s / f64::from(*n).sqrt(), dof })
        }
        (Grouping::Pooled, _) => (none, found.pooled()),
        (Grouping::Components, Use::Single) => (none, found.single()),
        (Grouping::Components, Use::MeanOf(n)) => (none, found.mean_of(*n)),
        (Grouping::Components, Use::Result) => (found.mean_of_means.clone(), found.result()),
    };
    Ok(Spread {
        estimate: estimate.to_f64(),
        exact: Some(estimate),
        standard_uncertainty: s,
        distribution: Distribution::T,
        dof,
        parts: Vec::new(),
    })
}
