//! Numbers and units as people write them: exact decimals, units, dimensions, quantity literals.
//!
//! Text in, exact values out. Nothing here knows of expressions, budgets or files; faults carry an
//! offset into the text, in characters, and the caller adds the place.

pub mod decimal;
pub mod dimension;
pub mod exact;
mod lexeme;
pub mod literal;
mod rounding;
pub mod unit;
mod unit_hint;
mod unit_table;

pub use decimal::Decimal;
pub use dimension::{Dimension, Scale};
pub use exact::Exact;
pub use literal::Quantity;
pub use unit::{Unit, Units};

/// What is wrong with a number, a unit or a literal, and where in the text that was given.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct TextFault {
    /// Offset into the text that was given, in characters.
    pub at: usize,
    /// What is wrong, with the value as it was written.
    pub what: String,
    /// What to type instead; may be empty.
    pub help: String,
}

impl TextFault {
    /// Returns a fault `at` characters into the text.
    pub fn new(at: usize, what: impl Into<String>, help: impl Into<String>) -> TextFault {
        TextFault { at, what: what.into(), help: help.into() }
    }

    /// Returns the same fault in a text that begins `chars` characters earlier.
    pub fn further(mut self, chars: usize) -> TextFault {
        self.at += chars;
        self
    }
}
