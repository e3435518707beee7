//! Results beside the measurand: quantities that one budget derives from the same inputs.
//!
//! Part of the domain; made by [`Budget::new`](super::Budget::new) alone. A result is an expression over
//! the inputs, the measurand and the results above it; it has no contributors of its own.

use super::parts::Text;
use crate::fault::Origin;
use crate::model::Expr;
use crate::quantity::Unit;

/// One entry of `results` as written.
#[derive(Debug, Clone, Default)]
pub struct ResultParts {
    /// The place: its first key.
    pub origin: Origin,
    /// `symbol`.
    pub symbol: Text,
    /// `name`.
    pub name: Text,
    /// `definition`.
    pub definition: Option<Text>,
    /// `unit`.
    pub unit: Text,
    /// `model`.
    pub model: Text,
}

/// A result beside the measurand.
#[derive(Debug, Clone)]
pub struct DerivedResult {
    /// Its symbol, folded: a name for the results below it.
    pub symbol: String,
    /// Its name.
    pub name: String,
    /// Its definition, where given.
    pub definition: Option<String>,
    /// The unit of its figures.
    pub unit: Unit,
    /// The place of its model.
    pub origin: Origin,
    pub(crate) model: Expr,
}

impl DerivedResult {
    /// The result as a function of inputs, measurand and the results above.
    pub fn model(&self) -> &Expr {
        &self.model
    }
}
