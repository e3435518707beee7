//! What the tests of this folder share: small budgets with given uncertainties in place of computed
//! ones, so that a decision is tested apart from the law of propagation.

use super::judge::Judged;
use super::point::PointZones;
use super::readings::{Entry, Readings, read_value};
use crate::budget::parts::{
    BudgetParts, ContributorParts, DecisionParts, EvidenceParts, GuardBandParts, MeasurandParts,
    PointParts, PointsParts, RequiresParts, StepParts, Text, ToleranceParts,
};
use crate::budget::{Base, Budget, Role};
use crate::fault::{Faults, Origin};
use crate::model::TapeBuilder;
use crate::propagate::coverage::Interval;
use crate::propagate::density::Density;
use crate::propagate::system::{PointModel, ReadingLeaf};
use crate::propagate::{Combined, Evaluation, PointEvaluation, Value};
use crate::quantity::{Exact, Quantity, Units};
use std::sync::Arc;

/// A budget to be judged by, written in few words.
#[derive(Clone)]
pub(crate) struct Case {
    pub parts: BudgetParts,
    /// U at 95.45 %, in SI of the measurand, of both scopes.
    pub expanded: f64,
    pub laboratory: f64,
    pub dof: f64,
}

fn text(it: &str) -> Option<Text> {
    Some(Text::from(it))
}

/// Returns the error of indication of a micrometer with a step of 1 µm at 2.5 mm and 10.3 mm; U is
/// given in µm.
pub(crate) fn micrometer(tolerance: &str, rule: &str, expanded: f64) -> Case {
    let at = ["2.5", "10.3"].map(|it| PointParts { at: it.into(), ..PointParts::default() });
    let parts = BudgetParts {
        title: "micrometer".into(),
        measurand: measurand("E", "µm"),
        points: Some(PointsParts { symbol: "L".into(), unit: "mm".into(), at: at.into() }),
        contributors: vec![contributor("1 µm")],
        display_step: text("1 µm"),
        tolerance: tolerance_of(tolerance),
        decision: Some(decision(rule)),
        ..BudgetParts::default()
    };
    Case { parts, expanded: expanded * 1e-6, laboratory: expanded * 0.5e-6, dof: f64::INFINITY }
}

/// Returns a single result in newtons, without display.
pub(crate) fn force(model: &str, tolerance: &str, rule: &str, expanded: f64) -> Case {
    let parts = BudgetParts {
        title: "force".into(),
        measurand: measurand("F", "N"),
        model: text(model),
        contributors: vec![contributor("1 N")],
        tolerance: tolerance_of(tolerance),
        decision: Some(decision(rule)),
        ..BudgetParts::default()
    };
    Case { parts, expanded, laboratory: 0.5 * expanded, dof: f64::INFINITY }
}

fn measurand(symbol: &str, unit: &str) -> MeasurandParts {
    let (symbol, name, unit) = (symbol.into(), symbol.into(), unit.into());
    MeasurandParts { symbol, name, unit, ..MeasurandParts::default() }
}

pub(crate) fn tolerance_of(it: &str) -> Option<ToleranceParts> {
    match it.strip_prefix('[').and_then(|it| it.strip_suffix(']')) {
        Some(inside) => {
            let sides = inside.split(", ").map(Text::from).collect();
            Some(ToleranceParts::Between(Origin::NONE, sides))
        }
        None => (!it.is_empty()).then(|| ToleranceParts::Text(it.into())),
    }
}

fn decision(rule: &str) -> DecisionParts {
    DecisionParts { rule: rule.into(), uncertainty: text("all"), ..DecisionParts::default() }
}

fn contributor(u: &str) -> ContributorParts {
    ContributorParts::new("all of it", EvidenceParts::StandardUncertainty(u.into()))
}

/// Returns an exact value from a quantity's text.
pub(crate) fn value(text: &str) -> Value {
    let exact = Quantity::parse(text, &Units::default()).unwrap().exact();
    Value { si: exact.to_f64(), exact: Some(exact) }
}

/// Returns steps of a tolerance: up to a point, limits.
pub(crate) fn steps(list: &[(&str, &str)]) -> ToleranceParts {
    let step = |it: &(&str, &str)| StepParts {
        origin: Origin::NONE,
        up_to: it.0.into(),
        limits: ToleranceParts::Text(it.1.into()),
    };
    ToleranceParts::ByPoint(Origin::NONE, list.iter().map(step).collect())
}

impl Case {
    pub(crate) fn tolerance(mut self, tolerance: ToleranceParts) -> Case {
        self.parts.tolerance = Some(tolerance);
        self
    }

    pub(crate) fn model(mut self, model: &str) -> Case {
        self.parts.model = text(model);
        self
    }

    pub(crate) fn without_display(mut self) -> Case {
        self.parts.display_step = None;
        self
    }

    pub(crate) fn display(mut self, step: &str) -> Case {
        self.parts.display_step = text(step);
        self
    }

    pub(crate) fn points(mut self, at: &[&str]) -> Case {
        if let Some(points) = &mut self.parts.points {
            let point = |it: &&str| PointParts { at: (*it).into(), ..PointParts::default() };
            points.at = at.iter().map(point).collect();
        }
        self
    }

    pub(crate) fn width(mut self, width: &str) -> Case {
        self.decision_parts().guard_band = Some(GuardBandParts::Width(width.into()));
        self
    }

    pub(crate) fn specific_risk(mut self, promise: &str) -> Case {
        self.decision_parts().guard_band = Some(GuardBandParts::SpecificRisk(promise.into()));
        self
    }

    pub(crate) fn requires(mut self, tur: &str, otherwise: Option<&str>) -> Case {
        let otherwise = otherwise.map(Text::from);
        let requires = RequiresParts { tur: tur.into(), otherwise, ..RequiresParts::default() };
        self.decision_parts().requires = Some(requires);
        self
    }

    pub(crate) fn scope(mut self, scope: &str) -> Case {
        self.decision_parts().uncertainty = text(scope);
        self
    }

    pub(crate) fn budget(&self) -> Budget {
        Budget::new(self.parts.clone()).unwrap_or_else(|it| panic!("{it}"))
    }

    /// Judges entries at the first point; errors where `are_errors`.
    pub(crate) fn judge(&self, texts: &[&str], are_errors: bool) -> Result<Vec<Judged>, Faults> {
        let budget = self.budget();
        let evaluation = self.evaluate(&budget);
        let mut readings = Readings::none();
        for text in texts {
            let quantity = read_value(&budget, &Text::from(*text), are_errors)?;
            readings.add(0, Entry { origin: Origin::NONE, quantity, is_error: are_errors });
        }
        let judgement = evaluation.judge(&readings)?;
        Ok(judgement.points[0].readings.clone())
    }

    pub(crate) fn reason(&self, reading: &str) -> String {
        self.judge(&[reading], false).unwrap()[0].reason.clone()
    }

    pub(crate) fn zones(&self) -> PointZones {
        let budget = self.budget();
        let zones = self.evaluate(&budget).zones().unwrap();
        zones[0].clone().unwrap()
    }

    pub(crate) fn fault(&self) -> crate::fault::Fault {
        let budget = self.budget();
        self.evaluate(&budget).zones().unwrap_err().0.remove(0)
    }

    /// Returns an evaluation with the given uncertainties.
    pub(crate) fn evaluate<'a>(&self, budget: &'a Budget) -> Evaluation<'a> {
        let list = 0..budget.points().list.len();
        let points = list.map(|index| self.point(budget, index)).collect();
        Evaluation { budget, points, groups: Vec::new(), measured: Vec::new() }
    }

    fn point(&self, budget: &Budget, index: usize) -> PointEvaluation {
        let base = base(budget, index);
        let model = model(budget, &base);
        let at = budget.points().list[index].at.as_ref().map_or_else(Exact::zero, |it| it.exact());
        PointEvaluation {
            index,
            estimate: model.at_exact_reading(&at).unwrap(),
            inputs: Vec::new(),
            contributors: Vec::new(),
            results: None,
            all: combined(self.expanded, self.dof),
            laboratory: combined(self.laboratory, self.dof),
            method: budget.coverage().method,
            probability: 0.9545,
            coverage_factor: 2.0,
            expanded_uncertainty: self.expanded,
            interval: Interval { low: -self.expanded, high: self.expanded, exact: None },
            simulated: None,
            base,
            model,
        }
    }

    fn decision_parts(&mut self) -> &mut DecisionParts {
        self.parts.decision.get_or_insert_with(DecisionParts::default)
    }
}

fn base(budget: &Budget, index: usize) -> Base {
    let point = &budget.points().list[index];
    let mut base = Base::empty(budget.names(), point.title());
    for (name, it) in budget.names().iter().enumerate() {
        let at = point.at.as_ref().map_or_else(Exact::zero, |it| it.exact());
        let exact = match it.role {
            Role::Reading | Role::Symbol => Some(at),
            _ => point.keys.iter().find(|key| key.0 == name).map(|key| key.1.exact()),
        };
        base.values[name] = exact.as_ref().map(Exact::to_f64);
        base.exact[name] = exact;
    }
    base
}

fn model(budget: &Budget, base: &Base) -> PointModel {
    let mut builder = TapeBuilder::new();
    let names = budget.names();
    let slots = names.leaf_slots(&mut builder);
    let output = builder.expr(&budget.model, &|name| names.find(name).map(|it| slots[it])).unwrap();
    let tape = builder.finish(output);
    let reading = names.find("reading").filter(|it| tape.used().contains(it));
    let added = Value { si: 0.0, exact: Some(Exact::zero()) };
    PointModel {
        leaves: base.values.iter().map(|it| it.unwrap_or(0.0)).collect(),
        exact: base.exact.clone(),
        reading: ReadingLeaf { leaf: reading, added },
        tape: Arc::new(tape),
    }
}

/// Returns the figures of a scope with U = 2u.
fn combined(expanded: f64, dof: f64) -> Combined {
    Combined {
        first_order: 0.5 * expanded,
        second_order: None,
        second_order_used: false,
        shift: None,
        standard_uncertainty: 0.5 * expanded,
        correlation_share: 0.0,
        second_order_share: 0.0,
        effective_dof: dof,
        quantile_dof: dof,
        test_factor: 2.0,
        test_expanded: expanded,
        density: Density::T { u: 0.5 * expanded, dof },
        density_refused: None,
    }
}
