//! From simulation and crosscheck to the record.

use super::from::Writer;
use super::simulation::{
    Crosscheck, Densities, DigitCheck, IntervalKind, Simulation, StandardErrors,
};
use super::{Kind, Reason, Record, Section};
use crate::fault::Faults;
use crate::propagate::simulate::Simulated;
use crate::propagate::simulation::Interval;
use crate::propagate::{PointEvaluation, crosscheck};

/// Makes the record of a crosscheck: `crosscheck`.
impl TryFrom<&crosscheck::Crosscheck<'_>> for Record {
    type Error = Faults;

    /// # Errors
    ///
    /// A tolerance or decision that has no value at a point.
    fn try_from(crosscheck: &crosscheck::Crosscheck) -> Result<Record, Faults> {
        let mut record = Record::new(Kind::Crosscheck);
        record.sections.push(crosschecked(crosscheck)?);
        Ok(record)
    }
}

/// Returns the section of a crosscheck.
///
/// # Errors
///
/// A tolerance or decision that has no value at a point.
pub fn crosschecked(crosscheck: &crosscheck::Crosscheck) -> Result<Section, Faults> {
    let mut section = super::from::shown(&crosscheck.evaluation)?;
    let writer = Writer::new(crosscheck.evaluation.budget());
    for (point, comparison) in section.points.iter_mut().zip(&crosscheck.points) {
        point.crosscheck = Some(writer.comparison(comparison, crosscheck.interval));
    }
    Ok(section)
}

impl Writer<'_> {
    /// Returns a point's simulation, moved with the estimate to what was read.
    pub(super) fn simulation(&self, simulated: &Simulated, estimate: f64) -> Simulation {
        let moved = estimate - simulated.estimate;
        let ends = |it: [f64; 2]| it.map(|it| self.number(it + moved));
        let widths = |it: [f64; 2]| it.map(|it| self.number(it));
        let adaptive = simulated.digits.is_some();
        Simulation {
            trials: simulated.trials,
            seed: simulated.seed,
            digits: simulated.digits,
            stabilised: adaptive.then_some(simulated.stabilised),
            mean: simulated.mean.map(|it| self.number(it + moved)),
            standard_uncertainty: simulated.standard_uncertainty.map(|it| self.number(it)),
            symmetric: ends(simulated.symmetric),
            shortest: ends(simulated.shortest),
            standard_errors: simulated.errors.map(|it| StandardErrors {
                mean: it.mean.map(|it| self.number(it)),
                standard_uncertainty: it.standard_uncertainty.map(|it| self.number(it)),
                symmetric: widths(it.symmetric),
                shortest: widths(it.shortest),
            }),
            tolerance: simulated.tolerance.map(|it| self.number(it)),
            bin_error: self.number(simulated.bin_error),
        }
    }

    fn comparison(&self, it: &crosscheck::Comparison, interval: Interval) -> Crosscheck {
        let number = |si: f64| self.number(si);
        let check = |it: crosscheck::Check| DigitCheck {
            digits: it.digits,
            tolerance: it.tolerance.map(number),
            validated: it.validated,
        };
        // A density is per unit of the measurand.
        let per_unit = |it: &Vec<f64>| it.iter().map(|it| it / number(1.0)).collect::<Vec<f64>>();
        Crosscheck {
            compared: match interval {
                Interval::Symmetric => IntervalKind::Symmetric,
                Interval::Shortest => IntervalKind::Shortest,
            },
            law: it.law.map(number),
            monte_carlo: it.simulated.map(number),
            d_low: number(it.differences[0]),
            d_high: number(it.differences[1]),
            checks: it.checks.map(check),
            validated: it.validated,
            densities: it.picture.as_ref().map(|it| Densities {
                low: number(it.low),
                high: number(it.high),
                law: it.law.as_ref().map(per_unit),
                monte_carlo: per_unit(&it.simulated),
            }),
        }
    }
}

/// Says why figures of a simulation are missing.
pub(super) fn reasons(point: &PointEvaluation) -> Vec<Reason> {
    let Some(simulated) = &point.simulated else { return Vec::new() };
    let reason = |field: &str, reason: &str| Reason {
        field: format!("simulation.{field}"),
        reason: reason.to_string(),
    };
    let mut reasons = Vec::new();
    if simulated.mean.is_none() {
        let why = "a contribution with 1 degree of freedom or fewer has no mean";
        reasons.push(reason("mean", why));
    }
    if let Some(why) = simulated.undetermined {
        reasons.push(reason("standard_uncertainty", why));
    }
    if simulated.errors.is_none() {
        let why = "there are fewer than ten sequences of trials to tell them from";
        reasons.push(reason("standard_errors", why));
    }
    reasons
}
