//! The syntax tree of an expression.
//!
//! Plain data with the place of every node. `parse` makes it, `check` and `tape` read it; it knows
//! nothing of values.

use crate::fault::Origin;
use crate::quantity::{Decimal, Exact, Quantity};
use std::fmt;

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

/// How tightly the parts of a text hold together, loosest first.
const SUM: u8 = 1;
const PRODUCT: u8 = 2;
const MINUS: u8 = 3;
const POWER: u8 = 4;
const ATOM: u8 = 5;

impl Operator {
    /// Returns its symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Operator::Add => "+",
            Operator::Subtract => "-",
            Operator::Multiply => "*",
            Operator::Divide => "/",
            Operator::Power => "^",
        }
    }

    fn strength(self) -> u8 {
        match self {
            Operator::Add | Operator::Subtract => SUM,
            Operator::Multiply | Operator::Divide => PRODUCT,
            Operator::Power => POWER,
        }
    }
}

impl Function {
    /// All functions with their names.
    pub const ALL: [(&'static str, Function); 17] = [
        ("sqrt", Function::Sqrt),
        ("exp", Function::Exp),
        ("ln", Function::Ln),
        ("log10", Function::Log10),
        ("sin", Function::Sin),
        ("cos", Function::Cos),
        ("tan", Function::Tan),
        ("asin", Function::Asin),
        ("acos", Function::Acos),
        ("atan", Function::Atan),
        ("atan2", Function::Atan2),
        ("sinh", Function::Sinh),
        ("cosh", Function::Cosh),
        ("tanh", Function::Tanh),
        ("abs", Function::Abs),
        ("min", Function::Min),
        ("max", Function::Max),
    ];

    /// Returns the function called `name`.
    pub fn named(name: &str) -> Option<Function> {
        Function::ALL.iter().find(|(known, _)| *known == name).map(|(_, function)| *function)
    }

    /// Returns its name.
    pub fn name(self) -> &'static str {
        let found = Function::ALL.iter().find(|(_, function)| *function == self);
        found.map_or("", |(name, _)| *name)
    }

    /// Returns the smallest and the largest number of its arguments.
    pub fn arguments(self) -> (usize, usize) {
        match self {
            Function::Atan2 => (2, 2),
            Function::Min | Function::Max => (2, usize::MAX),
            _ => (1, 1),
        }
    }
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
        match &self.node {
            Node::Literal(_) | Node::Pi => {}
            Node::Name(name) => visit(name, self.origin),
            Node::Negate(inner) => inner.for_each_name(visit),
            Node::Binary(_, left, right) => {
                left.for_each_name(visit);
                right.for_each_name(visit);
            }
            Node::Call(_, arguments) => {
                for argument in arguments {
                    argument.for_each_name(visit);
                }
            }
        }
    }

    /// Returns the number where it is a plain literal (with an optional minus), with its sign.
    pub fn as_decimal(&self) -> Option<Decimal> {
        match &self.node {
            Node::Literal(quantity) => plain(quantity).cloned(),
            Node::Negate(inner) => match &inner.node {
                Node::Literal(quantity) => {
                    let text = plain(quantity)?.text();
                    match text.strip_prefix('-') {
                        Some(positive) => Decimal::parse(positive).ok(),
                        None => Decimal::parse(&format!("-{text}")).ok(),
                    }
                }
                _ => None,
            },
            _ => None,
        }
    }

    /// Returns the exact number where it is a dimensionless literal, the quotient of two, or
    /// either with a minus: what an exponent on a quantity with a unit may be.
    pub fn as_ratio(&self) -> Option<Exact> {
        match &self.node {
            Node::Literal(quantity) if quantity.dimension().is_none() => {
                Some(quantity.exact()).filter(|exact| exact.pi_power() == 0)
            }
            Node::Negate(inner) => inner.as_ratio().map(|exact| exact.neg()),
            Node::Binary(Operator::Divide, above, below) => {
                above.as_ratio()?.div(&below.as_ratio()?)
            }
            _ => None,
        }
    }

    fn strength(&self) -> u8 {
        match &self.node {
            Node::Literal(quantity) if quantity.number().text().starts_with('-') => MINUS,
            Node::Literal(_) | Node::Pi | Node::Name(_) | Node::Call(..) => ATOM,
            Node::Negate(_) => MINUS,
            Node::Binary(operator, ..) => operator.strength(),
        }
    }

    /// Writes it, in parentheses where it holds together less than `least`.
    fn write(&self, f: &mut fmt::Formatter<'_>, least: u8) -> fmt::Result {
        if self.strength() < least {
            f.write_str("(")?;
            self.write(f, 0)?;
            return f.write_str(")");
        }
        match &self.node {
            Node::Literal(quantity) => match plain(quantity) {
                Some(number) => f.write_str(number.text()),
                None => f.write_str(&quantity.text()),
            },
            Node::Pi => f.write_str("pi"),
            Node::Name(name) => f.write_str(name),
            Node::Negate(inner) => {
                f.write_str("-")?;
                inner.write(f, MINUS)
            }
            Node::Binary(operator, left, right) => write_binary(f, *operator, left, right),
            Node::Call(function, arguments) => {
                write!(f, "{}(", function.name())?;
                for (index, argument) in arguments.iter().enumerate() {
                    f.write_str(if index == 0 { "" } else { ", " })?;
                    argument.write(f, 0)?;
                }
                f.write_str(")")
            }
        }
    }
}

/// The text of the expression in one canonical form, with no more parentheses than it needs.
impl fmt::Display for Expr {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.write(f, 0)
    }
}

fn write_binary(
    f: &mut fmt::Formatter<'_>,
    operator: Operator,
    left: &Expr,
    right: &Expr,
) -> fmt::Result {
    let strength = operator.strength();
    if operator == Operator::Power {
        left.write(f, ATOM)?;
        f.write_str("^")?;
        return right.write(f, MINUS);
    }
    left.write(f, strength)?;
    write!(f, " {} ", operator.symbol())?;
    right.write(f, strength + 1)
}

/// Returns the number of a literal that has no unit.
fn plain(quantity: &Quantity) -> Option<&Decimal> {
    Some(quantity.number()).filter(|_| quantity.unit().text() == "1")
}
