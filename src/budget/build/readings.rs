//! `readings` as evidence: two or more values of one kind, and what the measurement takes from them.

use super::context::Context;
use super::evidence::Fit;
use crate::budget::parts::{Text, UseParts};
use crate::budget::{Evidence, Use};
use crate::fault::{Fault, Origin};
use crate::quantity::{Quantity, Unit};

/// Reads readings, all of one kind, that fit.
pub(super) fn readings(
    context: &mut Context,
    origin: Origin,
    texts: &[Text],
    unit: Option<&Text>,
    usage: Option<&UseParts>,
    fit: &Fit,
) -> Option<(Evidence, Unit)> {
    let shared = match unit {
        None => None,
        Some(text) => Some(context.unit(text)?),
    };
    let read: Vec<Option<Quantity>> =
        texts.iter().map(|it| reading(context, it, shared.as_ref())).collect();
    let usage = usage.and_then(|it| self::usage(context, it));
    let values: Vec<Quantity> = read.into_iter().collect::<Option<_>>()?;
    if values.len() < 2 {
        let fault = Fault::new(origin, "one reading alone has no scatter")
            .rule("`readings` are two or more");
        context.fault(
            fault.help("give more readings, or an earlier study: `scatter: 0.4 µm` with `dof: 9`"),
        );
        return None;
    }
    let unit = shared.or_else(|| values.first().map(|it| it.unit().clone()))?;
    if !of_one_kind(context, &values, texts) {
        return None;
    }
    let fits = fit.dimension.as_ref().is_none_or(|it| it == unit.dimension());
    if !fits {
        let dimension = fit.dimension.clone()?;
        let fault = Fault::new(
            origin,
            format!(
                "the readings are {}, {} is {}",
                unit.dimension().phrase(),
                fit.whose,
                dimension.phrase()
            ),
        );
        let help = format!("unit: {}", context.usual_unit(&dimension));
        context.fault(if unit.dimension().is_none() {
            Fault::new(origin, "the readings have no unit")
                .rule(format!("{} is {}", fit.whose, dimension.phrase()))
                .help(help)
        } else {
            fault.help(format!("give them in a unit such as `{}`", context.usual_unit(&dimension)))
        });
        return None;
    }
    Some((Evidence::Readings { values, usage: usage? }, unit))
}

/// Whether all readings have dimension and temperature scale of the first one; says where not.
fn of_one_kind(context: &mut Context, values: &[Quantity], texts: &[Text]) -> bool {
    let Some(first) = values.first() else { return true };
    let mut good = true;
    for (value, text) in values.iter().zip(texts) {
        if value.dimension() == first.dimension() && value.scale() == first.scale() {
            continue;
        }
        good = false;
        let (shown, unit) = (text.text.trim(), first.unit().text());
        let (here, there) = (value.dimension().phrase(), first.dimension().phrase());
        let help = match value.dimension() == first.dimension() {
            true => format!("give all of them in `{unit}`"),
            false => format!("{} {unit}", value.number().text()),
        };
        let fault = if value.dimension().is_none() {
            Fault::new(text.origin, format!("`{shown}` has no unit"))
        } else if value.dimension() == first.dimension() {
            Fault::new(
                text.origin,
                format!("`{shown}` is on another scale than `{}`", first.text()),
            )
        } else {
            Fault::new(text.origin, format!("`{shown}` is {here}, the first reading is {there}"))
        };
        context
            .fault(fault.rule("the readings have one unit each, or all share `unit`").help(help));
    }
    good
}

/// Reads one reading: a number in the shared unit, or a quantity where there is none.
fn reading(context: &mut Context, text: &Text, unit: Option<&Unit>) -> Option<Quantity> {
    if let Some(unit) = unit {
        let quantity = context.quantity(text)?;
        if quantity.unit() != &Unit::one() {
            let what = format!("`{}` has a unit, and `unit` gives one", text.text.trim());
            context.fault(Fault::new(text.origin, what).help(quantity.number().text()));
            return None;
        }
        return Some(Quantity::new(quantity.number().clone(), unit.clone()));
    }
    context.quantity(text)
}

fn usage(context: &mut Context, parts: &UseParts) -> Option<Use> {
    match parts {
        UseParts::Word(text) => {
            context.word(text, "use", &[(Use::Single, "single"), (Use::Result, "result")])
        }
        UseParts::MeanOf(text) => context.whole(text, 1).map(Use::MeanOf),
    }
}
