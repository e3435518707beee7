//! Expressions: text to syntax tree, dimensions, one tape, values and exact derivatives.
//!
//! `lex` and `parse` turn text into an [`Expr`], `check` finds its dimension before anything is
//! computed, `tape` lays any number of expressions out as one list of operations, which is
//! evaluated on numbers, on exact numbers (`exact`) and on jets (`derive`); `structure` reads off
//! the list which inputs can interact. Uses `quantity` only. A fault points into the expression.

pub mod block;
pub mod check;
mod derive;
mod exact;
pub mod expr;
mod function;
pub mod jet;
mod lex;
mod name;
pub mod parse;
#[cfg(test)]
mod sample;
mod structure;
pub mod tape;

pub use block::BlockTape;
pub use check::Kind;
pub use expr::Expr;
pub use jet::Jet;
pub use tape::{Tape, TapeBuilder};
