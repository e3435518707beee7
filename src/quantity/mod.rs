//! Numbers and units as people write them: exact decimals, units, dimensions, quantity literals.
//!
//! Text in, exact values out. Nothing here knows of expressions, budgets or files; faults carry an
//! offset into the text, in characters, and the caller adds the place.
//!
//! # Examples
//!
//! An inch is 25.4 mm and a yard 36 inches, both exactly; 10.302 mm − 10.3 mm is 2 µm, exactly as well, which
//! binary numbers miss.
//!
//! ```
//! use surebound::quantity::{Decimal, Quantity, Units};
//!
//! let units = Units::default();
//! let length = Quantity::parse("0.5 in", &units)?;
//! assert_eq!(length.si(), 0.0127);
//! let (mm, inch) = (units.parse("mm")?, units.parse("in")?);
//! let in_mm = Decimal::parse("0.5")?.exact().mul(inch.factor()).div(mm.factor());
//! assert_eq!(in_mm.as_ref(), Some(Decimal::parse("12.7")?.exact()));
//!
//! let reading = Quantity::parse("10.302 mm", &units)?;
//! let block = Quantity::parse("10.3 mm", &units)?;
//! let error = reading.exact().sub(&block.exact());
//! assert_eq!(error, Some(Quantity::parse("2 µm", &units)?.exact()));
//! assert_ne!(10.302 - 10.3, 0.002);
//!
//! // What is wrong comes with what to type.
//! let fault = Decimal::parse("2,5").unwrap_err();
//! assert_eq!((fault.at, fault.help.as_str()), (1, "2.5"));
//! # Ok::<(), surebound::quantity::TextFault>(())
//! ```

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
