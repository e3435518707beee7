//! The instrument as a whole: a judgement with readings at all points in; the probability that the true
//! errors lie within tolerance at all tested points out, in both scopes.
//!
//! Each point's error is that of its reported reading; what lies between is the tolerance, not the
//! acceptance zone. With the laboratory's contributors alone the instrument's own noise does not enter:
//! it is a probability about the errors as they were shown.

use super::figures::percent_up;
use super::joint::{self, Joint};
use super::judge::{Judgement, PointJudgement};
use super::unknowns::{Tested, Unknowns, Why};
use crate::budget::{Budget, Scope};
use crate::fault::{Finding, Severity};
use nalgebra::{DMatrix, SymmetricEigen};
use std::collections::{BTreeMap, BTreeSet};

/// Most points that are looked at together: what each has for itself is made ready one by one.
pub const MOST_POINTS: usize = 200;

/// A contributor counts as normal in the probability for all points although it is not.
pub const AS_NORMAL: &str = "together-as-normal";

/// The instrument at all tested points.
#[derive(Debug, Clone, PartialEq)]
pub struct AllPoints {
    /// How many points have a tolerance.
    pub points: usize,
    /// With all contributors; `None` where it is not determined.
    pub all: Option<Joint>,
    /// With the laboratory's contributors alone.
    pub laboratory: Option<Joint>,
    /// Why it is not determined; empty where it is.
    pub reason: String,
    /// What was simplified.
    pub findings: Vec<Finding>,
}

impl AllPoints {
    fn none(points: usize, reason: String) -> AllPoints {
        AllPoints { points, all: None, laboratory: None, reason, findings: Vec::new() }
    }

    /// Returns the figures of a scope.
    pub fn scope(&self, scope: Scope) -> Option<&Joint> {
        match scope {
            Scope::All => self.all.as_ref(),
            Scope::Laboratory => self.laboratory.as_ref(),
        }
    }
}

impl Judgement<'_> {
    /// Returns the probability that the true errors lie within tolerance at all tested points: those
    /// that have a tolerance, each at its reported reading. Not determined where one has no reading.
    ///
    /// Method: M66.
    pub fn together(&self) -> AllPoints {
        let budget = self.evaluation.budget();
        let count = self.points.len();
        if count == 0 {
            return AllPoints::none(0, "no point has a tolerance".into());
        }
        if count > MOST_POINTS {
            let reason = format!("it is worked out for up to {MOST_POINTS} points");
            return AllPoints::none(count, reason);
        }
        let tested: Option<Vec<Tested>> = self.points.iter().map(tested).collect();
        let Some(tested) = tested else {
            let missing = self.points.iter().find(|it| it.reported().is_none());
            let missing = missing.and_then(|it| budget.points().list.get(it.index));
            let title = missing.map_or(String::new(), |it| it.title());
            return AllPoints::none(count, format!("there is no reading at {title}"));
        };
        let mut as_normal: BTreeMap<Why, BTreeSet<usize>> = BTreeMap::new();
        let mut found = AllPoints::none(count, String::new());
        let mut curved: f64 = 0.0;
        for scope in Scope::BOTH {
            let figures = Unknowns::new(self.evaluation, scope, &tested)
                .map_err(|fault| fault.message())
                .and_then(|unknowns| {
                    for (why, contributors) in &unknowns.as_normal {
                        as_normal.entry(*why).or_default().extend(contributors);
                    }
                    curved = curved.max(unknowns.curved);
                    let joint = probability(&unknowns).map_err(|refused| refused.to_string())?;
                    Ok(Joint { error: joint.error + unknowns.curved, ..joint })
                });
            match (figures, scope) {
                (Ok(joint), Scope::All) => found.all = Some(joint),
                (Ok(joint), Scope::Laboratory) => found.laboratory = Some(joint),
                (Err(reason), _) => found.reason = reason,
            }
        }
        let findings = as_normal.iter().map(|(why, list)| counted_as_normal(budget, *why, list));
        found.findings = findings.collect();
        found.findings.extend(counted_as_curved(budget, curved));
        found
    }
}

fn tested(point: &PointJudgement) -> Option<Tested> {
    let limits = &point.zones.limits;
    let side = |it: &Option<super::Limit>| it.as_ref().map(|it| it.si);
    Some(Tested {
        at: point.index,
        error: point.reported()?.error.si,
        low: side(&limits.lower),
        high: side(&limits.upper),
    })
}

/// Returns the probability by the way that suits the unknowns: over those that are shared, or, where all
/// is normal and as many are shared as there are points, over the covariance.
fn probability(unknowns: &Unknowns) -> Result<Joint, joint::Refused> {
    if let Some(covariance) = dense(unknowns) {
        let side = |limit: Option<f64>, it: &joint::Point| limit.map(|limit| limit - it.estimate);
        let low: Vec<Option<f64>> = unknowns.points.iter().map(|it| side(it.low, it)).collect();
        let high: Vec<Option<f64>> = unknowns.points.iter().map(|it| side(it.high, it)).collect();
        return joint::dense(&covariance, &low, &high);
    }
    joint::probability(&unknowns.shared, &unknowns.points)
}

/// Returns the covariance where all is normal and what is shared has as many directions as points.
fn dense(unknowns: &Unknowns) -> Option<Vec<Vec<f64>>> {
    let points = &unknowns.points;
    let n = points.len();
    let columns = points.first().map_or(0, |it| it.loadings.len());
    if !unknowns.normal || n < 4 || columns + 1 < n {
        return None;
    }
    let common = |a: &joint::Point, b: &joint::Point| -> f64 {
        a.loadings.iter().zip(&b.loadings).map(|it| it.0 * it.1).sum()
    };
    let mut covariance: Vec<Vec<f64>> =
        points.iter().map(|a| points.iter().map(|b| common(a, b)).collect()).collect();
    let root = |k: usize| covariance[k][k].sqrt();
    let relative = |a: usize, b: usize| match root(a) * root(b) {
        size if size > 0.0 => covariance[a][b] / size,
        _ => 0.0,
    };
    let eigen = SymmetricEigen::new(DMatrix::from_fn(n, n, relative));
    let rank = eigen.eigenvalues.iter().filter(|it| **it > 1e-10 * n as f64).count();
    if rank + 1 < n {
        return None;
    }
    for (k, point) in points.iter().enumerate() {
        if let joint::Rest::Normal(sigma) = point.rest {
            covariance[k][k] += sigma * sigma;
        }
    }
    Some(covariance)
}

/// Products of contributors that are not shared count as normal: that is said where it can be seen.
fn counted_as_curved(budget: &Budget, curved: f64) -> Option<Finding> {
    if curved < 1e-4 {
        return None;
    }
    let message = format!(
        "second-order terms of contributors that are not shared count as normal in the probability that all points are within tolerance: it may be off by {}",
        percent_up(curved)
    );
    Some(Finding::new(AS_NORMAL, Severity::Caution, message).about(String::new(), budget.origin()))
}

fn counted_as_normal(budget: &Budget, why: Why, contributors: &BTreeSet<usize>) -> Finding {
    let why = match why {
        Why::Partial => "partly shared",
        Why::Linked => "linked with others",
        Why::Shape => "shared with a shape that is not the same at all points",
        Why::Many => "the smallest of more than can be followed with their shapes",
    };
    let message =
        format!("counted as normal in the probability that all points are within tolerance: {why}");
    let names: Vec<&str> =
        contributors.iter().map(|it| budget.contributors()[*it].name.as_str()).collect();
    let origin =
        contributors.first().map_or(budget.origin(), |it| budget.contributors()[*it].origin);
    Finding::new(AS_NORMAL, Severity::Note, message).about(names.join(", "), origin)
}
