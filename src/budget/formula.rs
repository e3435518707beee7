//! Expressions that see the base values of a point: estimates, evidence, tolerances.
//!
//! A [`Formula`] is an expression whose names and dimensions have been checked; it is evaluated on a
//! [`Base`], the values of all names at one point, and is a constant in differentiation.

use super::names::Names;
use crate::fault::{Fault, Origin};
use crate::model::expr::Node;
use crate::model::tape::Slot;
use crate::model::{Expr, Kind, Tape, TapeBuilder};
use crate::quantity::{Dimension, Exact, Quantity, Unit};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A checked expression over the names of a budget; cheap to clone.
#[derive(Debug, Clone)]
pub struct Formula(Arc<Compiled>);

/// What a formula holds.
#[derive(Debug)]
struct Compiled {
    expr: Expr,
    kind: Kind,
    tape: Tape,
    mentions: Vec<(usize, Origin)>,
    constant: Option<(f64, Option<Exact>)>,
}

/// The base values of all names at one point, in SI, by index of [`Names`]; the exact ones beside.
#[derive(Debug, Clone, Default)]
pub struct Base {
    /// Values; `None` where the point does not give the name.
    pub values: Vec<Option<f64>>,
    /// Exact values where there are any.
    pub exact: Vec<Option<Exact>>,
    /// What the names are called, and the point, for faults.
    pub names: Arc<[String]>,
    /// The point's title.
    pub title: String,
}

impl Formula {
    /// Compiles an expression of known `kind`; all its names are in `names`.
    ///
    /// # Errors
    ///
    /// A name that is not there; a constant expression that has no value (division by zero …).
    pub fn new(expr: Expr, kind: Kind, names: &Names) -> Result<Formula, Fault> {
        let mut mentions = Vec::new();
        expr.for_each_name(&mut |name, origin| {
            mentions.extend(names.find(name).map(|index| (index, origin)));
        });
        let mut builder = TapeBuilder::new();
        let leaf =
            |(index, _): &(usize, Origin)| (*index, builder.leaf(*index, names.get(*index).origin));
        let slots: BTreeMap<usize, Slot> = mentions.iter().map(leaf).collect();
        let output = builder.expr(&expr, &|name| slots.get(&names.find(name)?).copied())?;
        let tape = builder.finish(output);
        let constant = match mentions.is_empty() {
            true => Some((tape.value(&[])?, tape.exact(&[]))),
            false => None,
        };
        Ok(Formula(Arc::new(Compiled { expr, kind, tape, mentions, constant })))
    }

    /// The place of the expression.
    pub fn origin(&self) -> Origin {
        self.0.expr.origin
    }

    /// The expression.
    pub fn expr(&self) -> &Expr {
        &self.0.expr
    }

    /// Dimension and temperature scale.
    pub fn kind(&self) -> &Kind {
        &self.0.kind
    }

    /// Indices of the names that it refers to, with their places, in order of appearance.
    pub fn mentions(&self) -> &[(usize, Origin)] {
        &self.0.mentions
    }

    /// Returns the value where the expression refers to no name.
    pub fn constant(&self) -> Option<f64> {
        self.0.constant.as_ref().map(|it| it.0)
    }

    /// Returns the literal that the expression is, where it is one.
    pub fn literal(&self) -> Option<&Quantity> {
        match &self.0.expr.node {
            Node::Literal(quantity) => Some(quantity),
            _ => None,
        }
    }

    /// Returns the unit of the first literal with the formula's own dimension.
    pub fn literal_unit(&self) -> Option<Unit> {
        first_unit(&self.0.expr, &self.0.kind.dimension)
    }

    /// Returns the value in SI.
    ///
    /// # Errors
    ///
    /// A name that the point does not give; division by zero and the like, at the operator.
    pub fn value(&self, base: &Base) -> Result<f64, Fault> {
        if let Some((value, _)) = self.0.constant {
            return Ok(value);
        }
        if let Some((name, origin)) = self.0.mentions.iter().find(|it| base.values[it.0].is_none())
        {
            return Err(base.missing(*name, *origin));
        }
        let leaves: Vec<f64> = base.values.iter().map(|it| it.unwrap_or(0.0)).collect();
        self.0.tape.value(&leaves)
    }

    /// Returns the exact value, where it is made of + − × / on exact values.
    pub fn exact(&self, base: &Base) -> Option<Exact> {
        match &self.0.constant {
            Some((_, exact)) => exact.clone(),
            None => self.0.tape.exact(&base.exact),
        }
    }
}

fn first_unit(expr: &Expr, dimension: &Dimension) -> Option<Unit> {
    match &expr.node {
        Node::Literal(it) => Some(it.unit().clone()).filter(|it| it.dimension() == dimension),
        Node::Pi | Node::Name(_) => None,
        Node::Negate(inner) => first_unit(inner, dimension),
        Node::Binary(_, left, right) => {
            first_unit(left, dimension).or_else(|| first_unit(right, dimension))
        }
        Node::Call(_, arguments) => arguments.iter().find_map(|it| first_unit(it, dimension)),
    }
}

impl Base {
    /// Returns a base in which no name has a value yet.
    pub fn empty(names: &Names, title: String) -> Base {
        let len = names.len();
        Base { values: vec![None; len], exact: vec![None; len], names: names.words(), title }
    }

    /// Returns the fault of a name without a value here.
    pub fn missing(&self, name: usize, origin: Origin) -> Fault {
        let word = self.names.get(name).map_or("", String::as_str);
        let at = if self.title.is_empty() { String::new() } else { format!(" at {}", self.title) };
        Fault::new(origin, format!("`{word}` has no value{at}"))
            .rule("a key that expressions use is given at every point, or has a default in `estimates`")
            .help(format!("give `{word}` at every point, or a default for it in `estimates`"))
    }
}
