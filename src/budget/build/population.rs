//! `population`: a share, a spread, limits, or a history.

use super::context::{Context, nearest};
use crate::budget::parts::{HistoryParts, PopulationKind, PopulationParts, Text};
use crate::budget::{Contributor, Formula, History, Known, PastError, Population, Shape, ShareOf};
use crate::fault::{Fault, Origin};
use crate::quantity::{Decimal, Quantity};

const SHAPES: [(Shape, &str); 4] = [
    (Shape::Rectangular, "rectangular"),
    (Shape::Triangular, "triangular"),
    (Shape::Trapezoidal(0.0), "trapezoidal"),
    (Shape::Arcsine, "arcsine"),
];

/// Reads `population`.
pub(super) fn population(
    context: &mut Context,
    parts: &PopulationParts,
    contributors: &[Contributor],
) -> Option<Population> {
    let known = match &parts.kind {
        PopulationKind::InTolerance { share, of, mean } => {
            in_tolerance(context, share, of.as_ref(), mean.as_ref())
        }
        PopulationKind::Spread { sd, mean } => spread(context, sd, mean.as_ref()),
        PopulationKind::Limits { origin, limits, shape, top } => {
            bounded(context, *origin, limits, (shape.as_ref(), top.as_ref()))
        }
        PopulationKind::History(it) => history(context, it, contributors).map(Known::History),
    };
    let words = [(true, "true"), (false, "false")];
    let prior = match &parts.prior {
        None => Some(false),
        Some(text) => context.word(text, "answer", &words),
    };
    Some(Population { origin: parts.origin, known: known?, prior: prior? })
}

fn in_tolerance(
    context: &mut Context,
    share: &Text,
    of: Option<&Text>,
    mean: Option<&Text>,
) -> Option<Known> {
    let found = context.probability(share);
    let of = match of {
        Some(text) => context.word(text, "kind of share", &ShareOf::ALL),
        None => {
            let what = "the share does not say whether it is of true errors or of measured ones";
            let rule = "records of earlier calibrations give `observed`";
            let help = format!("{}, as: observed", share.text.trim());
            context.fault(Fault::new(share.origin, what).rule(rule).help(help));
            None
        }
    };
    let mean = match mean {
        Some(text) => Some(figure(context, text)?),
        None => None,
    };
    Some(Known::InTolerance { share: found?, origin: share.origin, of: of?, mean })
}

fn spread(context: &mut Context, sd: &Text, mean: Option<&Text>) -> Option<Known> {
    let found = figure(context, sd).filter(|it| context.not_negative(it, sd, "a spread", false));
    let Some(mean) = mean else {
        let zero =
            context.measurand_unit.as_ref().map_or("0".into(), |it| format!("0 {}", it.text()));
        let fault = Fault::new(sd.origin, "a spread without a mean");
        let rule = "where the errors of such instruments lie decides the risk as well";
        let help = format!("{}, mean: {zero}", sd.text.trim());
        context.fault(fault.rule(rule).help(help));
        return None;
    };
    let mean = figure(context, mean);
    Some(Known::Normal { mean: mean?, sd: found? })
}

/// Reads an expression of the measurand's dimension.
fn figure(context: &mut Context, text: &Text) -> Option<Formula> {
    let dimension = context.measurand_unit.as_ref()?.dimension().clone();
    context.formula(text, &dimension, "the measurand")
}

fn bounded(
    context: &mut Context,
    origin: Origin,
    limits: &[Text],
    (shape, top): (Option<&Text>, Option<&Text>),
) -> Option<Known> {
    let shape = self::shape(context, shape, top);
    let parts = match limits {
        [one] => crate::budget::parts::ToleranceParts::Text(one.clone()),
        several => crate::budget::parts::ToleranceParts::Between(origin, several.to_vec()),
    };
    let found = super::tolerance::tolerance(context, &parts)?;
    let crate::budget::Tolerance::Limits(found) = found else { return None };
    let (Some(low), Some(high)) = (found.lower, found.upper) else {
        let what = "the limits of a population have one side only";
        let help = super::tolerance::example(context);
        context.fault(Fault::new(origin, what).help(format!("limits: {help}")));
        return None;
    };
    Some(Known::Bounded { low, high, shape: shape? })
}

fn shape(context: &mut Context, shape: Option<&Text>, top: Option<&Text>) -> Option<Shape> {
    let found = match shape {
        None => Some(Shape::Rectangular),
        Some(text) => context.word(text, "shape", &SHAPES),
    };
    match (found?, top) {
        (Shape::Trapezoidal(_), Some(text)) => {
            let ratio = context.number(text)?;
            if (0.0..=1.0).contains(&ratio) {
                return Some(Shape::Trapezoidal(ratio));
            }
            let what = format!("`{}` is no share of the base", text.text.trim());
            context.fault(Fault::new(text.origin, what).rule("`top` lies from 0 to 1").help("0.5"));
            None
        }
        (Shape::Trapezoidal(_), None) => {
            let origin = shape.map_or(Origin::NONE, |it| it.origin);
            let fault = Fault::new(origin, "a trapezoid without the width of its top");
            context.fault(fault.help("trapezoidal, top: 0.5"));
            None
        }
        (_, Some(text)) => {
            let fault = Fault::new(text.origin, "`top` has no use here");
            context
                .fault(fault.rule("`top` goes with `shape: trapezoidal`").help("leave `top` out"));
            None
        }
        (other, None) => Some(other),
    }
}

fn history(
    context: &mut Context,
    parts: &HistoryParts,
    contributors: &[Contributor],
) -> Option<History> {
    let path = parts.path.text.trim().to_string();
    let same_in_all = match &parts.same_in_all {
        None => None,
        Some(names) => Some(named(context, names, contributors)?),
    };
    let Some(rows) = &parts.rows else {
        let fault = Fault::new(parts.path.origin, format!("`{path}` has not been read"));
        context.fault(fault.rule("a budget that is only a text has no files beside it"));
        return None;
    };
    let unit = context.measurand_unit.clone()?;
    let mut errors = Vec::with_capacity(rows.len());
    for row in rows {
        let text = row.error.trim();
        let number = Decimal::parse(text).map(|it| Quantity::new(it, unit.clone()));
        let found = number.or_else(|_| Quantity::parse(text, &context.units));
        match found {
            Ok(it) if it.dimension() == unit.dimension() => {
                errors.push(PastError { at: row.at.clone(), error: it.si(), line: row.line });
            }
            _ => {
                let (line, column) = (row.line, row.column);
                let what = format!("`{path}`, line {line}, column {column}: `{text}` is no error");
                let rule = format!("errors are numbers in {}", unit.text());
                let help =
                    format!("correct the file: a number such as `1.5`, or `1.5 {}`", unit.text());
                context.fault(Fault::new(parts.path.origin, what).rule(rule).help(help));
                return None;
            }
        }
    }
    Some(History { path, origin: parts.path.origin, errors, same_in_all })
}

fn named(
    context: &mut Context,
    names: &[Text],
    contributors: &[Contributor],
) -> Option<Vec<usize>> {
    let mut found = Vec::new();
    for name in names {
        let word = name.text.trim();
        match contributors.iter().position(|it| it.name == word) {
            Some(index) => found.push(index),
            None if context.incomplete => return None,
            None => {
                let near = nearest(word, contributors.iter().map(|it| it.name.as_str()));
                let fault = Fault::new(name.origin, format!("no contributor is called `{word}`"));
                context.fault(fault.help(near.unwrap_or("")));
                return None;
            }
        }
    }
    Some(found)
}
