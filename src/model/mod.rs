//! Expressions: text to syntax tree, dimensions, one tape, values and exact derivatives.
//!
//! `lex` and `parse` turn text into an [`Expr`], `check` finds its dimension before anything is
//! computed, `tape` lays any number of expressions out as one list of operations, which is
//! evaluated on numbers, on exact numbers (`exact`) and on jets (`derive`); `structure` reads off
//! the list which inputs can interact. Uses `quantity` only. A fault points into the expression.
//!
//! # Examples
//!
//! V = π·d²/4·h at d = 2 and h = 3 is 3π; by hand its derivatives are ∂V/∂d = π·d·h/2 = 3π and
//! ∂V/∂h = π·d²/4 = π.
//!
//! ```
//! use std::f64::consts::PI;
//! use surebound::fault::Origin;
//! use surebound::model::TapeBuilder;
//! use surebound::model::parse::{Scope, expression};
//! use surebound::quantity::Units;
//!
//! let (units, is_name) = (Units::default(), |word: &str| word == "d" || word == "h");
//! let scope = Scope { units: &units, is_name: &is_name };
//! let volume = expression("pi*d^2/4*h", Origin::NONE, &scope)?;
//!
//! // Leaf 0 is d, leaf 1 is h.
//! let mut builder = TapeBuilder::new();
//! let (d, h) = (builder.leaf(0, Origin::NONE), builder.leaf(1, Origin::NONE));
//! let output = builder.expr(&volume, &|name| Some(if name == "d" { d } else { h }))?;
//! let tape = builder.finish(output);
//! assert!((tape.value(&[2.0, 3.0])? - 3.0 * PI).abs() < 1e-14);
//! let slopes = tape.gradient(&[2.0, 3.0], &[0, 1])?;
//! assert!((slopes[0] - 3.0 * PI).abs() < 1e-14);
//! assert!((slopes[1] - PI).abs() < 1e-14);
//!
//! let fault = expression("pi*d^2/4*", Origin::NONE, &scope).unwrap_err();
//! assert_eq!(fault.origin.offset(), 9); // where something is missing, in characters
//! # Ok::<(), surebound::fault::Faults>(())
//! ```

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
