//! From checked fields to the parts of data that several inputs come from together.

use super::check::Checker;
use super::fields::{Fields, Value};
use crate::budget::parts::{DataParts, LineParts, ObservationsParts, Text, UncertaintyParts};
use crate::fault::{Fault, Origin};

/// Returns a block of simultaneous readings, without rows where these cannot be read; `None` where its
/// inputs cannot.
pub(super) fn observations(fields: &Fields) -> Option<ObservationsParts> {
    let rows = fields.items("rows").iter().filter_map(|row| match row {
        Value::List(origin, items) => {
            Some((*origin, items.iter().filter_map(Value::text).collect()))
        }
        _ => None,
    });
    let inputs = list(fields, "inputs")?;
    Some(ObservationsParts {
        data: data(fields),
        units: list(fields, "units").unwrap_or((inputs.0, Vec::new())),
        inputs: inputs.1,
        rows: rows.collect(),
        rows_origin: fields.field("rows").map_or(fields.origin, |it| it.origin),
    })
}

/// Returns a calibration line, without data where these cannot be read; `None` where its inputs cannot.
pub(super) fn line(checker: &mut Checker, fields: &Fields) -> Option<LineParts> {
    if let (Some(_), Some(weights)) = (fields.field("y_uncertainty"), fields.field("y_weights")) {
        let fault = Fault::new(weights.origin, "`y_weights` beside `y_uncertainty`");
        let rule = "known uncertainties give the weights";
        checker.fault(fault.rule(rule).help("leave `y_weights` out"));
    }
    let y_uncertainty = match fields.value("y_uncertainty") {
        Some(Value::Text(text)) => Some(UncertaintyParts::Same(text.clone())),
        Some(_) => {
            list(fields, "y_uncertainty").map(|(origin, it)| UncertaintyParts::Each(origin, it))
        }
        None => None,
    };
    Some(LineParts {
        data: data(fields),
        intercept: fields.text("intercept")?,
        slope: fields.text("slope")?,
        residual: fields.text("residual"),
        x: list(fields, "x_values").unwrap_or((fields.origin, Vec::new())),
        x_unit: fields.text("x_unit").unwrap_or_default(),
        x_from: fields.text("x_from"),
        y: list(fields, "y_values").unwrap_or((fields.origin, Vec::new())),
        y_unit: fields.text("y_unit").unwrap_or_default(),
        y_uncertainty,
        y_weights: list(fields, "y_weights").filter(|_| !fields.has("y_uncertainty")),
    })
}

/// Returns the texts of a list with the place of its key.
fn list(fields: &Fields, name: &str) -> Option<(Origin, Vec<Text>)> {
    let texts = fields.texts(name);
    (!texts.is_empty()).then_some((fields.field(name)?.origin, texts))
}

fn data(fields: &Fields) -> DataParts {
    DataParts {
        origin: fields.origin,
        name: fields.text("name"),
        owner: fields.text("owner"),
        basis: fields.text("basis"),
        due: fields.text("due"),
        note: fields.text("note"),
    }
}
