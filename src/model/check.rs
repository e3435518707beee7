//! Dimensions and temperature scales of an expression, before anything is computed.
//!
//! A temperature from a literal or a reading carries its scale (`°C`, `°F`, `K`); a plain interval
//! carries none. Sums and comparisons need equal dimensions and no two different scales; products
//! with a plain number keep the scale, all others drop it.

use super::expr::{Expr, Function, Node, Operator};
use crate::fault::{Fault, Origin};
use crate::quantity::decimal::exact_text;
use crate::quantity::{Dimension, Exact, Quantity, Scale};
use num_traits::ToPrimitive;

/// What kind of value an expression has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    /// The dimension.
    pub dimension: Dimension,
    /// The temperature scale it carries.
    pub scale: Scale,
}

/// Longer texts of operands are not repeated in messages.
const SHORT: usize = 40;
/// More decimals than this are not worth showing in a help.
const PLACES: usize = 12;

impl Kind {
    /// Returns the kind of a plain number.
    pub fn number() -> Kind {
        Kind::of(Dimension::none())
    }

    /// Returns the kind with a dimension and no scale.
    pub fn of(dimension: Dimension) -> Kind {
        Kind { dimension, scale: Scale::None }
    }
}

/// Returns the kind of `expr`, `kind_of` giving that of each name (`None`: unknown, a fault by the caller;
/// then the whole result is `Ok(None)`).
///
/// # Errors
///
/// The first mismatch, both sides shown, at the operator.
pub fn kind(expr: &Expr, kind_of: &dyn Fn(&str) -> Option<Kind>) -> Result<Option<Kind>, Fault> {
    match &expr.node {
        Node::Literal(quantity) => {
            Ok(Some(Kind { dimension: quantity.dimension().clone(), scale: quantity.scale() }))
        }
        Node::Pi => Ok(Some(Kind::number())),
        Node::Name(name) => Ok(kind_of(name)),
        Node::Negate(inner) => kind(inner, kind_of),
        Node::Binary(operator, left, right) => {
            let (left_kind, right_kind) = (kind(left, kind_of)?, kind(right, kind_of)?);
            let (Some(left_kind), Some(right_kind)) = (left_kind, right_kind) else {
                return Ok(None);
            };
            let sides = Sides { origin: expr.origin, left, right, left_kind, right_kind };
            binary(*operator, &sides).map(Some)
        }
        Node::Call(function, arguments) => {
            let kinds = arguments.iter().map(|argument| kind(argument, kind_of));
            let kinds: Vec<Option<Kind>> = kinds.collect::<Result<_, _>>()?;
            match kinds.into_iter().collect::<Option<Vec<Kind>>>() {
                Some(kinds) => call(*function, expr.origin, arguments, kinds).map(Some),
                None => Ok(None),
            }
        }
    }
}

/// The two sides of an operator.
struct Sides<'a> {
    origin: Origin,
    left: &'a Expr,
    right: &'a Expr,
    left_kind: Kind,
    right_kind: Kind,
}

/// What is done with two values of one kind, in words.
#[derive(Clone, Copy, PartialEq)]
enum Joined {
    Added,
    Subtracted,
    Compared,
}

fn binary(operator: Operator, sides: &Sides) -> Result<Kind, Fault> {
    let Sides { left_kind, right_kind, .. } = sides;
    let (left, right) = (&left_kind.dimension, &right_kind.dimension);
    match operator {
        Operator::Add => alike(Joined::Added, sides),
        Operator::Subtract => alike(Joined::Subtracted, sides),
        Operator::Multiply => {
            let scale = match (left.is_none(), right.is_none()) {
                (true, _) => right_kind.scale,
                (_, true) => left_kind.scale,
                _ => Scale::None,
            };
            Ok(Kind { dimension: left.times(right), scale })
        }
        Operator::Divide => {
            let scale = if right.is_none() { left_kind.scale } else { Scale::None };
            Ok(Kind { dimension: left.over(right), scale })
        }
        Operator::Power => power(sides),
    }
}

/// Returns the kind of a sum, a difference or the larger of two.
fn alike(joined: Joined, sides: &Sides) -> Result<Kind, Fault> {
    let Sides { left_kind, right_kind, .. } = sides;
    if left_kind.dimension != right_kind.dimension {
        return Err(mismatch(joined, sides));
    }
    let scale = match (left_kind.scale, right_kind.scale) {
        (Scale::None, scale) | (scale, Scale::None) => scale,
        (left, right) if left != right => return Err(two_scales(joined, sides)),
        (scale, _) if joined != Joined::Subtracted => scale,
        _ => Scale::None,
    };
    Ok(Kind { dimension: left_kind.dimension.clone(), scale })
}

fn power(sides: &Sides) -> Result<Kind, Fault> {
    let (base, exponent) = (&sides.left_kind.dimension, &sides.right_kind.dimension);
    if !exponent.is_none() {
        let what = format!("{} is {}", text_or(sides.right, "the exponent"), a(exponent));
        return Err(Fault::new(sides.origin, what).rule("an exponent is a plain number"));
    }
    if base.is_none() {
        return Ok(Kind::number());
    }
    let fault = |what: String| Fault::new(sides.origin, what);
    let Some(ratio) = sides.right.as_ratio() else {
        let what = format!("{} is {}", text_or(sides.left, "the base"), a(base));
        return Err(fault(what)
            .rule("a value with a unit is raised to a written number only")
            .help("write the exponent as a number, such as `2`, `-1` or `(1/2)`"));
    };
    let parts = ratio.ratio().numer().to_i32().zip(ratio.ratio().denom().to_i32());
    match parts.and_then(|(above, below)| base.power(above, below)) {
        Some(dimension) => Ok(Kind::of(dimension)),
        None => Err(fault(format!("the exponent `{}` is out of range", sides.right))
            .rule("a value with a unit is raised to small fractions only")),
    }
}

fn call(
    function: Function,
    origin: Origin,
    arguments: &[Expr],
    kinds: Vec<Kind>,
) -> Result<Kind, Fault> {
    match function {
        Function::Abs => Ok(kinds.into_iter().next().unwrap_or_else(Kind::number)),
        Function::Min | Function::Max | Function::Atan2 => {
            let joined = all_alike(origin, arguments, kinds)?;
            Ok(if function == Function::Atan2 { Kind::number() } else { joined })
        }
        Function::Sqrt => {
            let dimension = kinds.first().map_or_else(Dimension::none, |it| it.dimension.clone());
            dimension.power(1, 2).map(Kind::of).ok_or_else(|| {
                Fault::new(origin, format!("cannot take the root of {}", a(&dimension)))
                    .rule("its exponents would be out of range")
            })
        }
        _ => match arguments.iter().zip(&kinds).find(|(_, kind)| !kind.dimension.is_none()) {
            Some((argument, kind)) => Err(not_plain(function, origin, argument, &kind.dimension)),
            None => Ok(Kind::number()),
        },
    }
}

fn all_alike(origin: Origin, arguments: &[Expr], kinds: Vec<Kind>) -> Result<Kind, Fault> {
    let mut pairs = arguments.iter().zip(kinds);
    let Some((left, mut joined)) = pairs.next() else {
        return Ok(Kind::number());
    };
    for (right, right_kind) in pairs {
        let sides = Sides { origin, left, right, left_kind: joined, right_kind };
        joined = alike(Joined::Compared, &sides)?;
    }
    Ok(joined)
}

fn not_plain(function: Function, origin: Origin, argument: &Expr, found: &Dimension) -> Fault {
    let name = function.name();
    let what = format!("{} is {}", text_or(argument, &format!("what `{name}` is given")), a(found));
    let fault = Fault::new(origin, what).rule(format!("`{name}` takes a plain number"));
    let unit = if *found == Dimension::length() {
        "1 mm"
    } else if *found == Dimension::temperature() {
        "1 K"
    } else {
        return fault.help("divide by a reference value of the same kind");
    };
    let argument = short(argument).unwrap_or_else(|| "x".into());
    let simple = !argument.contains([' ', '-']);
    let argument = if simple { argument } else { format!("({argument})") };
    fault.help(format!("divide by a reference: `{name}({argument} / ({unit}))`"))
}

fn mismatch(joined: Joined, sides: &Sides) -> Fault {
    let left = a(&sides.left_kind.dimension);
    let right = a(&sides.right_kind.dimension);
    let verb = match joined {
        Joined::Added => format!("cannot add {left} and {right}"),
        Joined::Subtracted => format!("cannot subtract {right} from {left}"),
        Joined::Compared => format!("cannot compare {left} and {right}"),
    };
    let rule = format!(
        "{} is {left}, {} is {right}",
        text_or(sides.left, "the left side"),
        text_or(sides.right, "the right side")
    );
    let bare = |expr: &Expr, kind: &Kind| kind.dimension.is_none() && expr.as_decimal().is_some();
    let fault = Fault::new(sides.origin, verb).rule(rule);
    match [(sides.left, &sides.left_kind), (sides.right, &sides.right_kind)]
        .into_iter()
        .find(|(expr, kind)| bare(expr, kind))
    {
        Some((expr, _)) => fault.help(format!("give the number {expr} its unit")),
        None => fault,
    }
}

fn two_scales(joined: Joined, sides: &Sides) -> Fault {
    let (left, right) = (sides.left_kind.scale, sides.right_kind.scale);
    let (verb, preposition) = match joined {
        Joined::Added => ("added to", "added"),
        Joined::Subtracted => ("subtracted from", "subtracted"),
        Joined::Compared => ("compared with", "compared"),
    };
    let (from, to) = (right.symbol(), left.symbol());
    let fault = Fault::new(sides.origin, format!("a value in `{from}` is {verb} one in `{to}`"))
        .rule(format!(
            "{} is in `{to}`, {} is in `{from}`, and values of two scales cannot be {preposition}",
            text_or(sides.left, "the left side"),
            text_or(sides.right, "the right side")
        ));
    let typed = rescaled(sides.right, left).or_else(|| rescaled(sides.left, right));
    match (typed, joined) {
        (Some(typed), Joined::Added) => fault.help(format!("write `{typed}`")),
        (Some(typed), _) => fault.help(format!(
            "write `{typed}` if it is a difference; a temperature has to be converted first"
        )),
        (None, _) => fault.help("give both in one unit"),
    }
}

/// Returns the text of a literal interval in another temperature unit.
fn rescaled(expr: &Expr, to: Scale) -> Option<String> {
    let (sign, quantity) = match &expr.node {
        Node::Literal(quantity) => ("", quantity),
        Node::Negate(inner) => match &inner.node {
            Node::Literal(quantity) => ("-", quantity),
            _ => return None,
        },
        _ => return None,
    };
    Some(format!("{sign}{} {}", rescaled_number(quantity, to)?, to.symbol()))
}

fn rescaled_number(quantity: &Quantity, to: Scale) -> Option<String> {
    let is_fahrenheit = |scale: Scale| scale == Scale::Fahrenheit;
    if is_fahrenheit(to) == is_fahrenheit(quantity.scale()) {
        return Some(quantity.number().text().to_string());
    }
    // 1 °F is 5/9 K, the only other size of degree.
    let kelvin = quantity.exact();
    let value = match to {
        Scale::Fahrenheit => kelvin.mul(&Exact::from_integer(9)).div(&Exact::from_integer(5))?,
        _ => kelvin,
    };
    (0..=PLACES).find_map(|places| exact_text(&value, places))
}

fn short(expr: &Expr) -> Option<String> {
    let text = expr.to_string();
    (text.chars().count() <= SHORT).then_some(text)
}

fn text_or(expr: &Expr, words: &str) -> String {
    short(expr).map_or_else(|| words.to_string(), |text| format!("`{text}`"))
}

/// Returns a dimension in words with its article.
fn a(dimension: &Dimension) -> String {
    let words = dimension.words();
    let is_word = |word: &str| word.len() > 2 && word.chars().all(|it| it.is_ascii_lowercase());
    if words.starts_with("a ") || words.starts_with("an ") {
        words
    } else if words.split(' ').all(is_word) {
        let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        format!("{article} {words}")
    } else {
        format!("a quantity in `{words}`")
    }
}

#[cfg(test)]
mod tests;
