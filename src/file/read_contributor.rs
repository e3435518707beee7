//! From checked fields to the parts of a contributor: its one kind of evidence, and the rules between
//! keys that the table cannot say.
//!
//! Where a companion of the evidence is missing or faulty, and its fault noted, a stand-in without a
//! place takes its seat, so that the other texts of the contributor are still looked at by the next
//! stage; parts with faults are never evaluated.

use super::check::Checker;
use super::fields::{Field, Fields, Value};
use super::read::missing;
use super::read_readings::readings;
use crate::budget::parts::{
    ContributorParts, EvidenceParts, LimitsParts, ShapeParts, THERMAL_KEYS, Text, ThermalEvidence,
    ThermalPart, ThermalParts,
};
use crate::fault::{Fault, Origin};

/// Returns a contributor; `None` where it has no evidence that can be read.
pub(super) fn contributor(checker: &mut Checker, fields: &Fields) -> Option<ContributorParts> {
    both(
        checker,
        fields,
        "adds_to",
        "sensitivity",
        "with `adds_to` the model gives the sensitivity",
    );
    let evidence = evidence(checker, fields)?;
    let mut name = fields.text("name").unwrap_or_else(missing);
    if name.origin == Origin::NONE {
        name.text = format!("(missing {})", fields.origin.id());
    }
    Some(ContributorParts {
        origin: fields.origin,
        name,
        adds_to: fields.text("adds_to"),
        sensitivity: fields.text("sensitivity").filter(|_| !fields.has("adds_to")),
        evidence,
        estimate: fields.text("estimate"),
        times: fields.text("times"),
        owner: fields.text("owner"),
        shared: fields.text("shared"),
        dof: dof(fields),
        u_known_within: fields.text("u_known_within").filter(|_| !fields.has("dof")),
        largest_of: fields.text("largest_of"),
        basis: fields.text("basis"),
        due: fields.text("due"),
        note: fields.text("note"),
    })
}

/// Returns the first kind of evidence with the place of its key, after the rules that hold for a
/// contributor and for a part of `thermal` alike.
fn evidence(checker: &mut Checker, fields: &Fields) -> Option<(Origin, EvidenceParts)> {
    let rule = "each gives the degrees of freedom";
    both(checker, fields, "dof", "u_known_within", rule);
    let kinds = fields.kinds();
    let field = fields.field(kinds.first()?)?;
    if kinds.contains(&"certificate") {
        factor(checker, fields);
    } else {
        shape_only(checker, fields, "top", "trapezoidal");
        shape_only(checker, fields, "coverage", "normal");
        shape_only(checker, fields, "limits_known_within", "rectangular");
    }
    Some((field.origin, parts(checker, fields, field)?))
}

fn parts(checker: &mut Checker, fields: &Fields, field: &Field) -> Option<EvidenceParts> {
    let value = field.value.as_ref()?;
    match field.key.name {
        "readings" => Some(readings(checker, fields)),
        "scatter" => {
            Some(EvidenceParts::Scatter { s: value.text()?, mean_of: fields.text("mean_of") })
        }
        "limits" => Some(EvidenceParts::Limits { limits: limits(value)?, shape: shape(fields) }),
        "full_range" => {
            Some(EvidenceParts::FullRange { range: value.text()?, shape: shape(fields) })
        }
        "certificate" => Some(certificate(value.text()?, fields)),
        "standard_uncertainty" => Some(EvidenceParts::StandardUncertainty(value.text()?)),
        "step" => Some(EvidenceParts::Step(value.text()?)),
        "block_grade" => Some(EvidenceParts::BlockGrade {
            grade: value.text()?,
            table: Some(fields.text("table")?),
            length: fields.text("length"),
            calibrated_with: fields.text("calibrated_with"),
        }),
        "thermal" => thermal(checker, value.map()?),
        _ => None,
    }
}

fn limits(value: &Value) -> Option<LimitsParts> {
    match value {
        Value::Text(text) => Some(LimitsParts::PlusMinus(text.clone())),
        Value::List(origin, items) => {
            Some(LimitsParts::Between(*origin, items.iter().filter_map(Value::text).collect()))
        }
        Value::Map(_) => None,
    }
}

fn shape(fields: &Fields) -> ShapeParts {
    let shape = fields.text("shape");
    let is = |word: &str| shape.as_ref().is_some_and(|shape| shape.text == word);
    let top = fields.text("top").filter(|_| is("trapezoidal"));
    let coverage = fields.text("coverage").filter(|_| is("normal"));
    let rectangular = shape.is_none() || is("rectangular");
    let known_within = fields.text("limits_known_within").filter(|_| rectangular);
    ShapeParts { shape, top, coverage, known_within }
}

fn certificate(uncertainty: Text, fields: &Fields) -> EvidenceParts {
    let coverage = fields.text("coverage").filter(|_| !fields.has("k"));
    let k = fields.text("k").or_else(|| coverage.is_none().then(|| "2".into()));
    EvidenceParts::Certificate { uncertainty, k, coverage, length: fields.text("length") }
}

fn dof(fields: &Fields) -> Option<Text> {
    let stand_in =
        || fields.kinds().first().filter(|kind| **kind == "scatter").map(|_| "10".into());
    fields.text("dof").or_else(stand_in)
}

fn thermal(checker: &mut Checker, fields: &Fields) -> Option<EvidenceParts> {
    let mut parts = [None, None, None, None];
    for (part, key) in parts.iter_mut().zip(THERMAL_KEYS) {
        *part = fields.value(key).and_then(|value| thermal_part(checker, value));
    }
    let whole = parts.iter().all(Option::is_some);
    let length = fields.text("length");
    whole.then(|| EvidenceParts::Thermal(Box::new(ThermalParts { length, parts })))
}

fn thermal_part(checker: &mut Checker, value: &Value) -> Option<ThermalPart> {
    match value {
        Value::Text(text) => Some(ThermalPart::Text(text.clone())),
        Value::List(..) => None,
        Value::Map(fields) => Some(ThermalPart::Evidence(Box::new(ThermalEvidence {
            origin: fields.origin,
            evidence: evidence(checker, fields)?,
            estimate: fields.text("estimate"),
            dof: dof(fields),
            u_known_within: fields.text("u_known_within").filter(|_| !fields.has("dof")),
        }))),
    }
}

/// Two keys that exclude each other; the fault is at the second one.
fn both(checker: &mut Checker, fields: &Fields, one: &str, two: &str, rule: &str) {
    let there = |field: &&Field| [one, two].contains(&field.key.name) && !field.guessed;
    let mut found = fields.entries.iter().filter(there);
    if let (Some(first), Some(second)) = (found.next(), found.next()) {
        let what = format!("`{}` beside `{}`", second.key.name, first.key.name);
        checker.fault(Fault::new(second.origin, what).rule(rule).help("leave one out"));
    }
}

/// A certificate's U needs either `k` or `coverage`.
fn factor(checker: &mut Checker, fields: &Fields) {
    both(checker, fields, "k", "coverage", "each gives the coverage factor");
    if !fields.has("k") && !fields.has("coverage") {
        let fault = Fault::new(fields.origin, "`k` or `coverage` is missing beside `certificate`");
        let fault = fault.rule("an expanded uncertainty means nothing without its coverage factor");
        checker.fault(fault.help("write `k: 2` or `coverage: 95 %`, as the certificate says"));
    }
}

/// A key that only one shape takes.
fn shape_only(checker: &mut Checker, fields: &Fields, name: &str, word: &str) {
    let Some(field) = fields.field(name).filter(|field| !field.guessed) else { return };
    let shape = fields.text("shape");
    let faulty = fields.has("shape") && shape.is_none();
    let shape = shape.map_or("rectangular".to_string(), |shape| shape.text);
    if faulty || shape == word {
        return;
    }
    let what = format!("`{name}` does not go with `shape: {shape}`");
    let fault = Fault::new(field.origin, what).rule(format!("it belongs to `shape: {word}`"));
    checker.fault(fault.help(format!("write `shape: {word}`, or leave `{name}` out")));
}
