//! What all points of a section have in common, as the record has it.

use super::Section;
use crate::budget::Scope;
use crate::fault::Fault;
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
