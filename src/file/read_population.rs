//! From checked fields to the parts of a population.

use super::fields::{Fields, Value};
use crate::budget::parts::{HistoryParts, PopulationKind, PopulationParts};
use crate::fault::Origin;

/// Returns the population; `None` where too much of it is faulty.
pub(super) fn population(fields: &Fields) -> Option<PopulationParts> {
    let kind = share(fields).or_else(|| spread(fields)).or_else(|| limits(fields));
    let kind = kind.or_else(|| history(fields))?;
    Some(PopulationParts { origin: fields.origin, kind, prior: fields.text("prior") })
}

fn share(fields: &Fields) -> Option<PopulationKind> {
    let share = fields.text("in_tolerance")?;
    Some(PopulationKind::InTolerance { share, of: fields.text("as"), mean: fields.text("mean") })
}

fn spread(fields: &Fields) -> Option<PopulationKind> {
    Some(PopulationKind::Spread { sd: fields.text("sd")?, mean: fields.text("mean") })
}

fn limits(fields: &Fields) -> Option<PopulationKind> {
    let (origin, limits) = match fields.value("limits")? {
        Value::Text(text) => (text.origin, vec![text.clone()]),
        Value::List(origin, items) => (*origin, items.iter().filter_map(Value::text).collect()),
        Value::Map(_) => return None,
    };
    let (shape, top) = (fields.text("shape"), fields.text("top"));
    Some(PopulationKind::Limits { origin, limits, shape, top })
}

fn history(fields: &Fields) -> Option<PopulationKind> {
    let same_in_all = fields.has("same_in_all").then(|| fields.texts("same_in_all"));
    let path = fields.text("history")?;
    Some(PopulationKind::History(HistoryParts { path, rows: None, same_in_all }))
}

/// Returns the keys of a population that go with another kind than its own: name and place.
pub(super) fn strays(fields: &Fields) -> Vec<(&'static str, &'static str, Origin)> {
    let goes_with: [(&str, &[&str]); 5] = [
        ("as", &["in_tolerance"]),
        ("mean", &["in_tolerance", "sd"]),
        ("shape", &["limits"]),
        ("top", &["limits"]),
        ("same_in_all", &["history"]),
    ];
    let mut found = Vec::new();
    for (name, kinds) in goes_with {
        let Some(field) = fields.field(name) else { continue };
        if !field.guessed && !kinds.iter().any(|it| fields.has(it)) {
            found.push((name, kinds[0], field.origin));
        }
    }
    found
}
