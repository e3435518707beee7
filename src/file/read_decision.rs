//! From checked fields to the parts of tolerances and of the decision.

use super::check::Checker;
use super::fields::{Fields, Value};
use crate::budget::parts::{
    DecisionParts, GuardBandParts, RequiresParts, StepParts, Text, ToleranceParts,
};
use crate::fault::Fault;

/// Returns a tolerance in any of its forms; `None` where too much of it is faulty.
pub(super) fn tolerance(checker: &mut Checker, value: &Value) -> Option<ToleranceParts> {
    match value {
        Value::Text(text) => Some(ToleranceParts::Text(text.clone())),
        Value::List(origin, items) => {
            let items = items.iter().filter_map(Value::text).collect();
            Some(ToleranceParts::Between(*origin, items))
        }
        Value::Map(fields) if fields.has("by_point") => by_point(checker, fields),
        Value::Map(fields) => {
            let (lower, upper) = (fields.text("lower"), fields.text("upper"));
            let whole = ["lower", "upper"]
                .iter()
                .all(|side| fields.has(side) == fields.text(side).is_some());
            let any = lower.is_some() || upper.is_some();
            (whole && any).then_some(ToleranceParts::Sides { origin: fields.origin, lower, upper })
        }
    }
}

fn by_point(checker: &mut Checker, fields: &Fields) -> Option<ToleranceParts> {
    let beside = |name: &&str| fields.field(name).is_some_and(|field| !field.guessed);
    for side in ["lower", "upper"].iter().filter(|name| beside(name)) {
        let origin = fields.field(side).map_or(fields.origin, |field| field.origin);
        let fault = Fault::new(origin, format!("`{side}` beside `by_point`"));
        let fault = fault.rule("`by_point` stands alone");
        checker
            .fault(fault.help(format!("leave `{side}` out, or put it into the steps' `limits`")));
    }
    let Value::List(origin, steps) = fields.value("by_point")? else { return None };
    let steps: Option<Vec<StepParts>> =
        steps.iter().filter_map(Value::map).map(|one| step(checker, one)).collect();
    Some(ToleranceParts::ByPoint(*origin, steps.filter(|steps| !steps.is_empty())?))
}

fn step(checker: &mut Checker, fields: &Fields) -> Option<StepParts> {
    Some(StepParts {
        origin: fields.origin,
        up_to: fields.text("up_to")?,
        limits: tolerance(checker, fields.value("limits")?)?,
    })
}

/// Returns the decision; where its rule is missing or faulty, and its fault noted, a stand-in takes its
/// seat, so that the rest is still looked at by the next stage.
pub(super) fn decision(fields: &Fields) -> Option<DecisionParts> {
    Some(DecisionParts {
        origin: fields.origin,
        rule: fields.text("rule").unwrap_or_else(|| "simple".into()),
        guard_band: fields.map("guard_band").and_then(guard_band),
        uncertainty: uncertainty(fields),
        requires: fields.map("requires").and_then(requires),
        agreed: fields.text("agreed"),
    })
}

/// Where it is there and faulty, a stand-in keeps the next stage from missing it.
fn uncertainty(fields: &Fields) -> Option<Text> {
    let stand_in = || fields.has("uncertainty").then(|| "all".into());
    fields.text("uncertainty").or_else(stand_in)
}

fn guard_band(fields: &Fields) -> Option<GuardBandParts> {
    let times = fields.text("times_U").map(GuardBandParts::TimesU);
    let width = || fields.text("width").map(GuardBandParts::Width);
    let risk = || fields.text("specific_risk").map(GuardBandParts::SpecificRisk);
    let consumer = || fields.text("consumer_risk").map(GuardBandParts::ConsumerRisk);
    let from_tur = || fields.text("from_tur").map(GuardBandParts::FromTur);
    times.or_else(width).or_else(risk).or_else(consumer).or_else(from_tur)
}

fn requires(fields: &Fields) -> Option<RequiresParts> {
    Some(RequiresParts {
        tur: fields.text("tur")?,
        scope: fields.text("scope"),
        otherwise: fields.text("otherwise"),
    })
}
