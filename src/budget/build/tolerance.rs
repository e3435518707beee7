//! `tolerance` in all its forms.

use super::context::Context;
use super::evidence::outer;
use crate::budget::parts::{StepParts, Text, ToleranceParts};
use crate::budget::{Formula, Tolerance, ToleranceLimits};
use crate::fault::{Fault, Origin};
use crate::model::expr::{Node, Operator};
use crate::model::{Expr, Kind};
use crate::quantity::{Dimension, Quantity, Scale, Unit};
use std::cmp::Ordering;

/// Reads a tolerance. All limits have the measurand's dimension.
pub(super) fn tolerance(context: &mut Context, parts: &ToleranceParts) -> Option<Tolerance> {
    match parts {
        ToleranceParts::ByPoint(origin, steps) => by_point(context, *origin, steps),
        _ => limits(context, parts).map(Tolerance::Limits),
    }
}

/// Reads `repeatability`: a width above or at zero, in the measurand's dimension.
pub(super) fn repeatability(context: &mut Context, text: &Text) -> Option<Formula> {
    let dimension = dimension(context)?;
    let stripped = text.text.trim_start().strip_prefix(['±']).map(str::to_owned);
    if let Some(width) = stripped {
        let what = format!("`{}` is no width", text.text.trim());
        let rule = "`repeatability` is the greatest difference between two readings";
        context.fault(Fault::new(text.origin, what).rule(rule).help(width.trim()));
        return None;
    }
    let found = context.formula(text, &dimension, "the measurand")?;
    context.not_negative(&found, text, "a difference", true).then_some(found)
}

fn limits(context: &mut Context, parts: &ToleranceParts) -> Option<ToleranceLimits> {
    let found = match parts {
        ToleranceParts::Text(text) => from_text(context, text)?,
        ToleranceParts::Between(origin, items) => between(context, *origin, items)?,
        ToleranceParts::Sides { origin, lower, upper } => {
            let lower = side(context, lower.as_ref())?;
            let upper = side(context, upper.as_ref())?;
            ToleranceLimits { origin: *origin, lower, upper }
        }
        ToleranceParts::ByPoint(origin, _) => {
            let fault = Fault::new(*origin, "`by_point` inside `by_point`");
            context.fault(fault.help(format!("limits: {}", example(context))));
            return None;
        }
    };
    ordered(context, &found).then_some(found)
}

/// Reads one optional side; `None` where it is faulty.
fn side(context: &mut Context, text: Option<&Text>) -> Option<Option<Formula>> {
    match text {
        None => Some(None),
        Some(text) => limit(context, text).map(Some),
    }
}

fn dimension(context: &Context) -> Option<Dimension> {
    context.measurand_unit.as_ref().map(|it| it.dimension().clone())
}

fn limit(context: &mut Context, text: &Text) -> Option<Formula> {
    let expr = context.expr(text)?;
    let dimension = dimension(context)?;
    context.checked(expr, text, &dimension, "the measurand", "")
}

/// Reads `±a`, `at most x` or `at least x`.
fn from_text(context: &mut Context, text: &Text) -> Option<ToleranceLimits> {
    let trimmed = text.text.trim_start();
    let skipped = text.text.chars().count() - trimmed.chars().count();
    for (words, upper) in [("at most", true), ("at least", false)] {
        if let Some(rest) = trimmed.strip_prefix(words) {
            let rest_text = rest.trim_start();
            let offset = skipped + words.len() + rest.chars().count() - rest_text.chars().count();
            let found = limit(context, &Text::new(rest_text, text.origin.further(offset)))?;
            let (lower, upper) = if upper { (None, Some(found)) } else { (Some(found), None) };
            return Some(ToleranceLimits { origin: text.origin, lower, upper });
        }
    }
    if let Some(help) = comparison_help(trimmed) {
        let what = format!("`{trimmed}` is no form of a tolerance");
        context.fault(Fault::new(text.origin, what).help(help));
        return None;
    }
    symmetric(context, text)
}

/// Returns what to type instead of `<= x` and the like.
fn comparison_help(text: &str) -> Option<String> {
    let signs = [
        ("<=", "at most"),
        ("≤", "at most"),
        ("<", "at most"),
        (">=", "at least"),
        ("≥", "at least"),
        (">", "at least"),
    ];
    signs.iter().find_map(|(sign, words)| {
        text.strip_prefix(sign)
            .map(|rest| format!("{words} {}", rest.trim_start_matches('=').trim()))
    })
}

fn symmetric(context: &mut Context, text: &Text) -> Option<ToleranceLimits> {
    let found = context.plus_minus(text)?;
    let dimension = dimension(context)?;
    let (centre, half) = (found.centre, found.half);
    let Some(half) = half else {
        let shown = text.text.trim();
        let fault = Fault::new(text.origin, format!("`{shown}` does not say which side it limits"))
            .rule("a tolerance is `±a`, `[lo, hi]`, `at most x`, `at least x`, or a map")
            .help(format!("±{shown}"));
        context.fault(fault);
        return None;
    };
    let whose = "the measurand";
    let half = context.checked(half, text, &dimension, whose, "±")?;
    if !context.not_negative(&half, text, "a tolerance", false) {
        return None;
    }
    let (low, high) = match centre {
        None => (negated(half.expr()), half.expr().clone()),
        Some(centre) => around(&centre, half.expr()),
    };
    let lower = context.checked(low, text, &dimension, whose, "")?;
    let upper = context.checked(high, text, &dimension, whose, "")?;
    Some(ToleranceLimits { origin: text.origin, lower: Some(lower), upper: Some(upper) })
}

/// Returns both ends of `centre ± half`.
pub(super) fn around(centre: &Expr, half: &Expr) -> (Expr, Expr) {
    let joined = |operator| {
        let node = Node::Binary(operator, Box::new(centre.clone()), Box::new(half.clone()));
        Expr { origin: centre.origin, node }
    };
    (joined(Operator::Subtract), joined(Operator::Add))
}

/// Returns a tolerance in the measurand's unit, as an example.
pub(super) fn example(context: &Context) -> String {
    match context.measurand_unit.as_ref().map(Unit::text) {
        None | Some("1") => "±2".to_string(),
        Some(unit) => format!("±2 {unit}"),
    }
}

fn negated(expr: &Expr) -> Expr {
    Expr { origin: expr.origin, node: Node::Negate(Box::new(expr.clone())) }
}

fn between(context: &mut Context, origin: Origin, items: &[Text]) -> Option<ToleranceLimits> {
    let [low, high] = items else {
        let what = format!("the tolerance has {} values", items.len());
        context.fault(Fault::new(origin, what).rule("`[lo, hi]` has two").help(outer(items)));
        return None;
    };
    let (lower, upper) = (limit(context, low), limit(context, high));
    Some(ToleranceLimits { origin, lower: Some(lower?), upper: Some(upper?) })
}

/// Says where constant limits are reversed, equal, or on no common scale with the measurand.
fn ordered(context: &mut Context, limits: &ToleranceLimits) -> bool {
    let sides = [&limits.lower, &limits.upper];
    let mut good = true;
    for side in sides.into_iter().flatten() {
        good &= same_scale(context, side.kind(), side.origin());
    }
    let [Some(lower), Some(upper)] = sides else { return good };
    if let (Some(low), Some(high)) = (lower.constant(), upper.constant())
        && low >= high
    {
        let unit = context.measurand_unit.clone();
        let factor = unit.as_ref().map_or(1.0, |it| it.si());
        let unit = unit.map_or(String::new(), |it| it.text().to_string());
        let (low, high) = (low / factor, high / factor);
        let what =
            format!("the lower limit {low} {unit} is not below the upper limit {high} {unit}");
        let fault = Fault::new(limits.origin, what);
        context.fault(if low > high {
            fault.help(format!("[{high} {unit}, {low} {unit}]"))
        } else {
            fault
        });
        good = false;
    }
    good
}

/// A limit on one temperature scale and a measurand on another cannot be compared.
fn same_scale(context: &mut Context, kind: &Kind, origin: Origin) -> bool {
    let scale = context.result_scale;
    if kind.scale == Scale::None || scale == Scale::None || kind.scale == scale {
        return true;
    }
    let (there, here) = (scale.symbol(), kind.scale.symbol());
    let what = format!("a limit in {here} is compared with a measurand in {there}");
    context.fault(
        Fault::new(origin, what)
            .rule("temperatures are compared on one scale")
            .help(format!("give the limit in {there}")),
    );
    false
}

fn by_point(context: &mut Context, origin: Origin, steps: &[StepParts]) -> Option<Tolerance> {
    let Some(unit) = context.points_unit.clone() else {
        let what = "`by_point` needs `points`";
        let help = format!("tolerance: {}", example(context));
        context.fault(Fault::new(origin, what).help(help));
        return None;
    };
    let mut list: Vec<(Quantity, ToleranceLimits)> = Vec::new();
    let mut good = true;
    for step in steps {
        let up_to =
            context.quantity(&step.up_to).filter(|it| fits(context, it, &step.up_to, &unit));
        let found = limits(context, &step.limits);
        let (Some(up_to), Some(found)) = (up_to, found) else {
            good = false;
            continue;
        };
        let last = list.last().map(|it| it.0.exact());
        if last.is_some_and(|it| it.compare(&up_to.exact()) != Some(Ordering::Less)) {
            let what =
                format!("`{}` does not come after the step before it", step.up_to.text.trim());
            context.fault(Fault::new(step.up_to.origin, what).rule("`up_to` ascends"));
            good = false;
        }
        list.push((up_to, found));
    }
    good.then_some(Tolerance::ByPoint(list))
}

/// Whether a quantity has a dimension; says so where not.
fn fits(context: &mut Context, quantity: &Quantity, text: &Text, wanted: &Unit) -> bool {
    let dimension = wanted.dimension();
    if quantity.dimension() == dimension {
        return true;
    }
    let shown = text.text.trim();
    let unit = wanted.text();
    let fault = if quantity.dimension().is_none() {
        Fault::new(text.origin, format!("`{shown}` has no unit")).help(format!("{shown} {unit}"))
    } else {
        let (here, there) = (quantity.dimension().phrase(), dimension.phrase());
        Fault::new(text.origin, format!("`{shown}` is {here}, the value of a point is {there}"))
            .help(format!("give it in a unit such as `{unit}`"))
    };
    context.fault(fault);
    false
}
