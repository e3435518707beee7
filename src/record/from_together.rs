//! What all points of a section have in common, as the record has it.

use super::{Section, Together, WithinTolerance};
use crate::budget::Scope;
use crate::decide::AllPoints;
use crate::decide::joint::{Joint, Method};
use crate::fault::{Fault, Finding, Severity};
use crate::propagate::Evaluation;

/// Adds the covariances and correlations of all points to the section of their evaluation.
///
/// # Errors
///
/// As [`Evaluation::together`].
pub fn add_correlations(section: &mut Section, evaluation: &Evaluation) -> Result<(), Fault> {
    let si = evaluation.budget().measurand().unit.si();
    let of = |scope: Scope| {
        let mut together = evaluation.together(scope)?;
        together.covariance.iter_mut().flatten().for_each(|it| *it = *it / si / si);
        Ok((Some(together.covariance), Some(together.correlation)))
    };
    (section.covariance, section.correlation) = of(Scope::All)?;
    (section.laboratory_covariance, section.laboratory_correlation) = of(Scope::Laboratory)?;
    Ok(())
}

/// Returns the instrument at all tested points as the record has it.
pub fn together(all_points: &AllPoints) -> Together {
    let some = |text: &String| (!text.is_empty()).then(|| text.clone());
    Together {
        points: all_points.points as u64,
        all: all_points.all.as_ref().map(within_tolerance),
        laboratory: all_points.laboratory.as_ref().map(within_tolerance),
        reason: some(&all_points.reason),
    }
}

fn within_tolerance(joint: &Joint) -> WithinTolerance {
    let dimensions = match joint.method {
        Method::Product => 0,
        Method::Quadrature(count) | Method::Lattice(count) | Method::Separation(count) => count,
    };
    WithinTolerance {
        probability: joint.probability,
        error: joint.error,
        independent_product: joint.independent_product,
        method: joint.method.word().to_string(),
        dimensions: dimensions as u64,
    }
}

/// Returns the probability that the instrument is within tolerance at all tested points of all sections,
/// by the scope of their decisions: the product of the sections', which are taken as independent. `None`
/// where one is not determined, or where the decisions differ in scope.
pub fn conformance(sections: &[Section]) -> Option<f64> {
    let scope = |it: &Section| it.budget.decision.as_ref().map(|it| it.uncertainty);
    let first = sections.first().and_then(scope)?;
    let mut product = 1.0;
    for section in sections {
        let together = section.together.as_ref().filter(|_| scope(section) == Some(first))?;
        let figures = match first {
            super::Scope::All => together.all.as_ref(),
            super::Scope::Laboratory => together.laboratory.as_ref(),
        };
        product *= figures?.probability;
    }
    Some(product)
}

/// Returns the finding that sections were taken as independent; nothing with one section.
pub fn taken_as_independent(sections: &[Section]) -> Option<super::Finding> {
    conformance(sections).filter(|_| sections.len() > 1)?;
    let message = "the probability for the whole instrument is the product of the sections': what \
                   several budgets share is taken as independent";
    let finding = Finding::new("sections-independent", Severity::Note, message);
    Some(super::from::finding(&finding, None))
}
