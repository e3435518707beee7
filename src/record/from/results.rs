//! The results beside the measurand, from evaluation to record: each in its own unit.

use super::{Writer, dof, in_unit, reported};
use crate::propagate::{self, PointEvaluation};
use crate::quantity::Unit;
use crate::record::{Reason, Region, ResultFigures, Results};

impl Writer<'_> {
    /// Returns the results of a point; `None` where the budget has none.
    pub(super) fn results(&self, point: &PointEvaluation) -> Option<Results> {
        let found = point.results.as_ref()?;
        let list = self.budget.results();
        let mut symbols = vec![self.budget.measurand().symbol.clone()];
        symbols.extend(list.iter().map(|it| it.symbol.clone()));
        let mut units = vec![&self.unit];
        units.extend(list.iter().map(|it| &it.unit));
        let row = |(row, a): (&Vec<f64>, &&Unit)| -> Vec<f64> {
            row.iter().zip(&units).map(|(it, b)| it / (a.si() * b.si())).collect()
        };
        let region = found.region.map(|it| Region {
            probability: it.probability,
            quantities: symbols.len() as u64,
            ellipsoid_factor: it.ellipsoid,
            rectangle_factor: it.rectangle,
        });
        Some(Results {
            figures: found.figures.iter().enumerate().map(|it| self.result(it)).collect(),
            symbols,
            units: units.iter().map(|it| it.text().to_string()).collect(),
            covariance: found.covariance.iter().zip(&units).map(row).collect(),
            correlation: found.correlation.clone(),
            independent: found.rank as u64,
            region,
        })
    }

    fn result(&self, (index, it): (usize, &propagate::ResultFigures)) -> ResultFigures {
        let result = &self.budget.results()[index];
        let (si, combined) = (result.unit.si(), &it.combined);
        let (estimate, expanded) = (in_unit(&it.estimate, &result.unit), it.expanded_uncertainty);
        let ends = [it.estimate.si - expanded, it.estimate.si + expanded];
        let digits = self.budget.digits();
        ResultFigures {
            symbol: result.symbol.clone(),
            name: result.name.clone(),
            definition: result.definition.clone(),
            unit: result.unit.text().to_string(),
            estimate,
            first_order_standard_uncertainty: combined.first_order / si,
            second_order_standard_uncertainty: combined.second_order.map(|it| it / si),
            second_order_shift: combined.shift.map(|it| it / si),
            standard_uncertainty: combined.standard_uncertainty / si,
            effective_dof: dof(combined.effective_dof),
            coverage_factor: it.coverage_factor,
            expanded_uncertainty: expanded / si,
            interval: ends.map(|it| it / si),
            reported: reported(estimate, expanded / si, it.coverage_factor, digits),
        }
    }

    /// Why something about the results is null.
    pub(super) fn reasons_of_results(&self, results: &Results) -> Vec<Reason> {
        let mut reasons = Vec::new();
        let mut say = |field: String, reason: String| reasons.push(Reason { field, reason });
        let still: Vec<String> = results
            .symbols
            .iter()
            .enumerate()
            .filter(|it| results.correlation[it.0][it.0].is_none())
            .map(|it| format!("`{}`", it.1))
            .collect();
        if !still.is_empty() {
            say("results.correlation".into(), format!("u of {} is zero", still.join(", ")));
        }
        for (index, it) in results.figures.iter().enumerate() {
            if it.second_order_standard_uncertainty.is_none() {
                let field = format!("results.figures[{index}].second_order_standard_uncertainty");
                say(field, "a derivative does not exist here".into());
            }
        }
        if results.region.is_none() {
            let reason = "a fixed factor has no coverage probability";
            say("results.region".into(), reason.into());
        }
        reasons
    }
}
