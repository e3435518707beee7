//! The syntax tree of an expression.
use crate::fault::Origin;
use crate::quantity::{Decimal, Quantity};

/// One node of an expression with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Expr {
    /// The place of the operator, name or literal.
    pub origin: Origin,
    /// What it is.
    pub node: Node,
}

/// The kinds of nodes.
#[derive(Debug, Clone, PartialEq)]
pub enum Node {
    /// A literal with or without unit.
    Literal(Quantity),
    /// The constant π.
    Pi,
    /// A name, folded to NFC and one µ.
    Name(String),
    /// Unary minus.
    Negate(Box<Expr>),
    /// A binary operator.
    Binary(Operator, Box<Expr>, Box<Expr>),
    /// A function with its arguments.
    Call(Function, Vec<Expr>),
}

/// Binary operators.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Operator {
    Add,
    Subtract,
    Multiply,
    Divide,
    Power,
}

/// Functions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Function {
    Sqrt,
    Exp,
    Ln,
    Log10,
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
    Atan2,
    Sinh,
    Cosh,
    Tanh,
    Abs,
    Min,
    Max,
}

impl Expr {
    /// Returns an expression that is one literal.
    pub fn literal(quantity: Quantity, origin: Origin) -> Expr {
        Expr { origin, node: Node::Literal(quantity) }
    }
    /// Returns an expression that is one name.
    pub fn name(name: impl Into<String>, origin: Origin) -> Expr {
        Expr { origin, node: Node::Name(name.into()) }
    }
    /// Calls `visit` for each name in it, in order, with its place.
    pub fn for_each_name(&self, visit: &mut dyn FnMut(&str, Origin)) {
        let _ = visit;
        todo!()
    }
    /// Returns the number where it is a plain literal (with an optional minus), with its sign.
    pub fn as_decimal(&self) -> Option<Decimal> {
        todo!()
    }
}
