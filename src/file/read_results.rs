//! From checked fields to the parts of a result beside the measurand.

use super::fields::Fields;
use super::read::missing;
use crate::budget::parts::ResultParts;

/// Returns a result; `None` where its symbol, unit or model cannot be read.
pub(super) fn result(fields: &Fields) -> Option<ResultParts> {
    Some(ResultParts {
        origin: fields.origin,
        symbol: fields.text("symbol")?,
        name: fields.text("name").unwrap_or_else(missing),
        definition: fields.text("definition"),
        unit: fields.text("unit")?,
        model: fields.text("model")?,
    })
}
