//! Expressions: text to syntax tree, dimensions, one tape, values and exact derivatives.
//!
//! Uses `quantity` only. A fault points into the expression.

pub mod check;
pub mod expr;
pub mod jet;
pub mod parse;
pub mod tape;

pub use check::Kind;
pub use expr::Expr;
pub use jet::Jet;
pub use tape::{Tape, TapeBuilder};
