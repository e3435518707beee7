//! From checked fields to the parts of a worksheet.

use super::check::Checker;
use super::fields::{Fields, Value};
use crate::budget::parts::{CheckParts, SectionParts, Text, WorksheetParts};

/// Returns the worksheet, without what is faulty.
pub(super) fn worksheet_parts(checker: &mut Checker, fields: &Fields) -> Option<WorksheetParts> {
    let maps = |name: &str| fields.items(name).iter().filter_map(Value::map);
    let sections: Vec<SectionParts> = maps("sections").filter_map(section).collect();
    if checker.incomplete && sections.is_empty() {
        return None;
    }
    Some(WorksheetParts {
        origin: fields.origin,
        instrument: fields.map("instrument").map(instrument).unwrap_or_default(),
        date: fields.text("date"),
        checks: maps("checks").filter_map(check).collect(),
        zero: fields.value("zero").map(several).unwrap_or_default(),
        sections,
    })
}

/// `id` first, then the other keys as they stand.
fn instrument(fields: &Fields) -> Vec<(Text, Text)> {
    let id = fields
        .field("id")
        .and_then(|field| Some((Text::new("id", field.origin), field.value.as_ref()?.text()?)));
    id.into_iter().chain(fields.rest_texts()).collect()
}

fn check(fields: &Fields) -> Option<CheckParts> {
    Some(CheckParts { what: fields.text("what")?, ok: fields.text("ok")? })
}

fn section(fields: &Fields) -> Option<SectionParts> {
    let field = fields.field("readings").or_else(|| fields.field("errors"))?;
    let values = field.value.as_ref()?.map()?;
    Some(SectionParts {
        origin: fields.origin,
        budget: fields.text("budget")?,
        are_errors: field.key.name == "errors",
        values_origin: field.origin,
        values: values.rest.iter().map(|(point, value)| (point.clone(), several(value))).collect(),
        take: fields.text("take"),
    })
}

/// A single value or the items of a list.
fn several(value: &Value) -> Vec<Text> {
    match value {
        Value::Text(text) => vec![text.clone()],
        Value::List(_, items) => items.iter().filter_map(Value::text).collect(),
        Value::Map(_) => Vec::new(),
    }
}
