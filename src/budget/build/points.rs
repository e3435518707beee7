//! `points`: values in order, labels, keys, stacks.

use super::context::Context;
use super::tolerance::{example, tolerance};
use crate::budget::parts::{PointParts, PointsParts, Text, ToleranceParts};
use crate::budget::{Point, Points, Role, Tolerance};
use crate::fault::{Fault, Origin};
use crate::model::Kind;
use crate::quantity::{Decimal, Exact, Quantity, Unit};
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// The key that a stack makes by itself.
const JOINTS: &str = "joints";

/// A point before the tolerance of its own is read, which needs all names.
pub(super) struct Draft {
    point: Point,
    tolerance: Option<crate::budget::parts::ToleranceParts>,
}

/// Reads symbol, unit and points; keys become names.
pub(super) fn points(context: &mut Context, parts: Option<&PointsParts>) -> (Points, Vec<Draft>) {
    let Some(parts) = parts else {
        let point = single();
        let list = Vec::new();
        return (Points { symbol: None, unit: None, list }, vec![Draft { point, tolerance: None }]);
    };
    let symbol = context.new_name(&parts.symbol);
    let unit = context.points_unit.clone();
    if let (Some(symbol), Some(unit)) = (&symbol, &unit) {
        let kind = Kind { dimension: unit.dimension().clone(), scale: unit.scale() };
        context.add_name(symbol.clone(), parts.symbol.origin, Role::Symbol, kind);
    }
    let unit = unit.unwrap_or_else(Unit::one);
    let drafts: Vec<Draft> = parts.at.iter().filter_map(|it| draft(context, it, &unit)).collect();
    check_order(context, &drafts);
    check_labels(context, &drafts, &parts.at);
    (Points { symbol, unit: Some(unit), list: Vec::new() }, drafts)
}

/// Reads the points' own tolerances, when all names are known.
pub(super) fn finish(context: &mut Context, drafts: Vec<Draft>) -> Vec<Point> {
    let mut points = Vec::new();
    for Draft { mut point, tolerance: parts } in drafts {
        if let Some(parts) = parts {
            match tolerance(context, &parts) {
                Some(Tolerance::ByPoint(_)) => {
                    let origin = match &parts {
                        ToleranceParts::ByPoint(origin, _) => *origin,
                        _ => point.origin,
                    };
                    let fault = Fault::new(origin, "`by_point` inside a point")
                        .rule("a point's own tolerance holds at that point only")
                        .help(format!("tolerance: {}", example(context)));
                    context.fault(fault);
                }
                found => point.tolerance = found,
            }
        }
        points.push(point);
    }
    points
}

fn single() -> Point {
    let (at, label, keys, stack, tolerance) = (None, None, Vec::new(), None, None);
    Point { origin: Origin::NONE, at, label, keys, stack, tolerance }
}

fn draft(context: &mut Context, parts: &PointParts, unit: &Unit) -> Option<Draft> {
    let at = context.decimal(&parts.at).map(|number| Quantity::new(number, unit.clone()));
    let mut keys = Vec::new();
    for (key, value) in &parts.keys {
        keys.extend(point_key(context, key, value));
    }
    let stack = match (&parts.stack, &at) {
        (Some((origin, blocks)), Some(at)) => stack(context, *origin, blocks, at),
        _ => None,
    };
    if let Some(blocks) = &stack {
        keys.extend(joints(context, parts.origin, blocks.len()));
    }
    let label = parts.label.as_ref().map(|it| it.text.trim().to_string());
    let point =
        Point { origin: parts.at.origin, at: Some(at?), label, keys, stack, tolerance: None };
    Some(Draft { point, tolerance: parts.tolerance.clone() })
}

/// Reads one of the point's other keys; its dimension is the same at all points.
fn point_key(context: &mut Context, key: &Text, value: &Text) -> Option<(usize, Quantity)> {
    let word = context.new_name(key)?;
    let quantity = context.quantity(value)?;
    let kind = Kind { dimension: quantity.dimension().clone(), scale: quantity.scale() };
    let index = match context.names.find(&word) {
        None => context.add_name(word, key.origin, Role::Key, kind)?,
        Some(index) => {
            let name = context.names.get(index);
            if !matches!(name.role, Role::Key) {
                let what = format!("the name `{word}` is used twice");
                context.fault(Fault::new(key.origin, what));
                return None;
            }
            let first = name.kind.dimension.clone();
            if first != kind.dimension {
                let what = format!(
                    "`{}` is {}, `{word}` is {} at an earlier point",
                    value.text.trim(),
                    kind.dimension.phrase(),
                    first.phrase()
                );
                let bare = quantity.dimension().is_none();
                let help = format!("{} {}", quantity.number().text(), context.usual_unit(&first));
                let fault = Fault::new(value.origin, what);
                context.fault(if bare { fault.help(help) } else { fault });
                return None;
            }
            index
        }
    };
    Some((index, quantity))
}

fn joints(context: &mut Context, origin: Origin, blocks: usize) -> Option<(usize, Quantity)> {
    let kind = Kind { dimension: Unit::one().dimension().clone(), scale: Default::default() };
    let index = match context.names.find(JOINTS) {
        Some(index) => index,
        None => context.add_name(JOINTS.to_string(), origin, Role::Key, kind)?,
    };
    let number = Decimal::parse(&(blocks - 1).to_string()).ok()?;
    Some((index, Quantity::new(number, Unit::one())))
}

/// Reads the blocks of a stack, which add up to the point's value exactly.
fn stack(
    context: &mut Context,
    origin: Origin,
    texts: &[Text],
    at: &Quantity,
) -> Option<Vec<Quantity>> {
    let mut blocks = Vec::new();
    let mut sum = Exact::zero();
    for text in texts {
        let block = context.quantity(text)?;
        if block.dimension() != at.dimension() {
            let (unit, shown) = (at.unit().text(), text.text.trim());
            let fault =
                Fault::new(text.origin, format!("`{shown}` is {}", block.dimension().phrase()))
                    .rule(format!("a block of this stack is {}", at.dimension().phrase()));
            let bare = block.dimension().is_none();
            context.fault(if bare { fault.help(format!("{shown} {unit}")) } else { fault });
            return None;
        }
        if block.exact().is_negative() || block.exact().is_zero() {
            let what = format!("`{}` is not a block", text.text.trim());
            context.fault(Fault::new(text.origin, what).rule("a block is longer than 0"));
            return None;
        }
        sum = sum.add(&block.exact())?;
        blocks.push(block);
    }
    if blocks.is_empty() {
        context.fault(
            Fault::new(origin, "the stack is empty").help(format!("stack: [{}]", at.text())),
        );
        return None;
    }
    if sum != at.exact() {
        let sum = sum.div(at.unit().factor()).map_or(f64::NAN, |it| it.to_f64());
        let what =
            format!("the stack adds up to {sum} {}, the point is {}", at.unit().text(), at.text());
        context.fault(Fault::new(origin, what).rule("blocks add up to the point exactly"));
        return None;
    }
    Some(blocks)
}

fn check_order(context: &mut Context, drafts: &[Draft]) {
    for pair in drafts.windows(2) {
        let [Some(before), Some(here)] = [&pair[0].point.at, &pair[1].point.at] else { continue };
        if here.exact().compare(&before.exact()) == Some(Ordering::Less) {
            let what =
                format!("`{}` comes after `{}`", here.number().text(), before.number().text());
            context.fault(Fault::new(pair[1].point.origin, what).rule("`at` ascends"));
        }
    }
}

/// A value that occurs twice needs labels, and no label stands at two points. As `at` ascends, equal
/// values are neighbours.
fn check_labels(context: &mut Context, drafts: &[Draft], parts: &[PointParts]) {
    let value =
        |index: usize| drafts.get(index).and_then(|it| it.point.at.as_ref()).map(Quantity::exact);
    let (mut seen, mut nth) = (BTreeSet::new(), 0);
    for (index, draft) in drafts.iter().enumerate() {
        let point = &draft.point;
        let here = value(index);
        let again = index > 0 && value(index - 1) == here;
        let twice = again || value(index + 1) == here;
        nth = if again { nth + 1 } else { 1 };
        let part = parts.iter().find(|it| it.at.origin == point.origin);
        match &point.label {
            None if twice => {
                let value = point.at.as_ref().map_or("", |it| it.number().text());
                let what = format!("the value `{value}` occurs twice and has no label here");
                let label = format!("label: {value} number {nth}");
                // A value alone becomes a map, a map gets one more key.
                let help = match part.filter(|it| it.origin != it.at.origin) {
                    None => format!("{{at: {value}, {label}}}"),
                    Some(_) => label,
                };
                let origin = part.map_or(point.origin, |it| it.origin);
                context.fault(Fault::new(origin, what).help(help));
            }
            Some(label) if !seen.insert(label.clone()) => {
                let origin =
                    part.and_then(|it| it.label.as_ref()).map_or(point.origin, |it| it.origin);
                context.fault(Fault::new(origin, format!("the label `{label}` is used twice")));
            }
            _ => {}
        }
    }
}
