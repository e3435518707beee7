//! What the tests of this folder share: expressions and tapes from a text.

use super::expr::{Expr, Node};
use super::parse::{Scope, expression};
use super::tape::{Slot, Tape, TapeBuilder};
use crate::fault::{Fault, Origin};
use crate::quantity::Units;

/// The names that a budget of the tests knows.
pub(super) const NAMES: [&str; 12] =
    ["x", "y", "z", "w", "L", "block", "dT", "t", "tF", "a", "b", "α₁"];

pub(super) fn read(text: &str) -> Result<Expr, Fault> {
    let scope = Scope { units: &Units::default(), is_name: &|word| NAMES.contains(&word) };
    expression(text, Origin::node(1), &scope)
}

/// Returns the offset, the whole message and the help of a fault.
pub(super) fn shown(fault: &Fault) -> (u32, String, String) {
    (fault.origin.offset(), fault.message(), fault.help.clone())
}

/// Returns the tape of a text in which `x`, `y`, `z`, `w` are leaves 0 to 3.
pub(super) fn tape(text: &str) -> Tape {
    tape_of(&read(text).unwrap())
}

pub(super) fn tape_of(expr: &Expr) -> Tape {
    let mut builder = TapeBuilder::new();
    let slots: Vec<Slot> = (0..4).map(|leaf| builder.leaf(leaf, Origin::NONE)).collect();
    let resolve = |name: &str| Some(slots[NAMES.iter().position(|it| *it == name)?]);
    let output = builder.expr(expr, &resolve).unwrap();
    builder.finish(output)
}

/// Returns the tree with all its parentheses.
pub(super) fn tree(expr: &Expr) -> String {
    match &expr.node {
        Node::Literal(quantity) if quantity.unit().text() == "1" => quantity.number().text().into(),
        Node::Literal(quantity) => {
            format!("{}[{}]", quantity.number().text(), quantity.unit().text())
        }
        Node::Pi => "π".into(),
        Node::Name(name) => name.clone(),
        Node::Negate(inner) => format!("(-{})", tree(inner)),
        Node::Binary(operator, left, right) => {
            format!("({}{}{})", tree(left), operator.symbol(), tree(right))
        }
        Node::Call(function, arguments) => {
            let arguments: Vec<String> = arguments.iter().map(tree).collect();
            format!("{}({})", function.name(), arguments.join(","))
        }
    }
}
