//! From checked fields to the parts of `readings`, alone or in groups.

use super::check::Checker;
use super::fields::{Fields, Value};
use crate::budget::parts::{EvidenceParts, Text, UseParts};
use crate::fault::{Fault, Origin};

/// Returns `readings` with their companions: a list of values, or a list of lists, one a group.
pub(super) fn readings(checker: &mut Checker, fields: &Fields) -> EvidenceParts {
    let items = fields.items("readings");
    let unit = fields.text("unit");
    let usage = Some(usage(fields).unwrap_or_else(|| UseParts::Word("single".into())));
    if !items.iter().any(|it| matches!(it, Value::List(..))) {
        without_groups(checker, fields);
        return EvidenceParts::Readings { values: fields.texts("readings"), unit, usage };
    }
    if !fields.has("groups") {
        let place = fields.field("readings").map_or(fields.origin, |it| it.origin);
        checker.fault(unsaid(place));
    }
    let groups = fields.text("groups").or_else(|| Some("components".into()));
    let lists = items.iter().map(|it| group(checker, it)).collect();
    EvidenceParts::GroupedReadings { lists, unit, usage, groups }
}

/// Returns the fault of readings in groups that say nothing of what the groups are.
fn unsaid(place: Origin) -> Fault {
    let rule =
        "`components` where they are days or operators, `pooled` where each is another piece";
    Fault::new(place, "`groups` is missing beside readings in groups")
        .rule(rule)
        .help("groups: components")
}

/// Plain readings are in no groups.
fn without_groups(checker: &mut Checker, fields: &Fields) {
    let whole = fields.value("readings").is_some();
    if let Some(field) = fields.field("groups").filter(|it| whole && !it.guessed) {
        let fault = Fault::new(field.origin, "`groups` with readings in one list");
        let fault = fault.rule("each group is a list of its own: `readings: [[0, 1], [1, 2]]`");
        checker.fault(fault.help("leave `groups` out, or write a list for each group"));
    }
}

/// Returns the readings of a group; a value that stands alone is taken as one.
fn group(checker: &mut Checker, item: &Value) -> (Origin, Vec<Text>) {
    match item {
        Value::List(origin, items) => (*origin, items.iter().filter_map(Value::text).collect()),
        other => {
            let text = other.text().unwrap_or_default();
            let shown = text.text.trim();
            let fault = Fault::new(text.origin, format!("`{shown}` stands beside groups"));
            let rule = "either every reading is in the list of its group, or none is";
            checker.fault(fault.rule(rule).help(format!("[{shown}]")));
            (text.origin, vec![text])
        }
    }
}

fn usage(fields: &Fields) -> Option<UseParts> {
    match fields.value("use")? {
        Value::Text(word) => Some(UseParts::Word(word.clone())),
        Value::Map(map) => map.text("mean_of").map(UseParts::MeanOf),
        Value::List(..) => None,
    }
}
