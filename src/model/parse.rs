//! The grammar. (EBNF here.)
use super::expr::Expr;
use crate::fault::{Fault, Origin};
use crate::quantity::Units;

/// What an expression may refer to.
pub struct Scope<'a> {
    /// The units.
    pub units: &'a Units,
    /// Whether a (folded) word is a name of the budget.
    pub is_name: &'a dyn Fn(&str) -> bool,
}

/// A value with an uncertainty as it is written: `±a`, `x ± a`, or `x` alone.
#[derive(Debug, Clone, PartialEq)]
pub struct PlusMinus {
    /// What stands before `±`.
    pub centre: Option<Expr>,
    /// What stands after `±`.
    pub half: Option<Expr>,
}

/// Folds a name to NFC with µ (U+00B5) and μ (U+03BC) made one (U+03BC).
pub fn fold(name: &str) -> String {
    let _ = name;
    todo!()
}

/// Returns why `name` cannot be a name (reserved, not a word), or `None`.
pub fn name_problem(name: &str) -> Option<String> {
    let _ = name;
    todo!()
}

/// Reads an expression. Names need not exist: that is for the caller to check.
///
/// # Errors
///
/// A fault that points into the text.
pub fn expression(text: &str, origin: Origin, scope: &Scope) -> Result<Expr, Fault> {
    let _ = (text, origin, scope);
    todo!()
}

/// Reads `±a`, `x ± a` or `x` (`+-` and `+/-` for `±`).
///
/// # Errors
///
/// As [`expression`]; also a sum after `±` without parentheses.
pub fn plus_minus(text: &str, origin: Origin, scope: &Scope) -> Result<PlusMinus, Fault> {
    let _ = (text, origin, scope);
    todo!()
}
