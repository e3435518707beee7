//! `readings` as evidence: two or more values of one kind, alone or in groups, and what the
//! measurement takes from them.

use super::context::Context;
use super::evidence::Fit;
use crate::budget::parts::{EvidenceParts, Text, UseParts};
use crate::budget::{Evidence, Grouping, Use};
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
    let faults = context.faults.len();
    let read = values(context, origin, texts, unit, fit);
    let usage = usage.and_then(|it| self::usage(context, it));
    if texts.len() < 2 && context.faults.len() == faults {
        let fault = Fault::new(origin, "one reading alone has no scatter")
            .rule("`readings` are two or more");
        context.fault(
            fault.help("give more readings, or an earlier study: `scatter: 0.4 µm` with `dof: 9`"),
        );
    }
    let ((values, unit), usage) = (read?, usage?);
    (context.faults.len() == faults).then_some((Evidence::Readings { values, usage }, unit))
}

/// Reads readings in groups, all of one kind, that fit.
pub(super) fn grouped(
    context: &mut Context,
    origin: Origin,
    parts: &EvidenceParts,
    fit: &Fit,
) -> Option<(Evidence, Unit)> {
    let EvidenceParts::GroupedReadings { lists, unit, usage, groups } = parts else { return None };
    let faults = context.faults.len();
    let texts: Vec<Text> = lists.iter().flat_map(|it| &it.1).cloned().collect();
    let read = values(context, origin, &texts, unit.as_ref(), fit);
    let used = usage.as_ref().and_then(|it| self::usage(context, it));
    let words = [(Grouping::Pooled, "pooled"), (Grouping::Components, "components")];
    let grouping = match groups {
        Some(text) => context.word(text, "groups", &words),
        None => {
            let fault = Fault::new(origin, "`groups` is missing beside readings in groups");
            context.fault(fault.help("groups: components"));
            None
        }
    };
    if context.faults.len() == faults {
        check_sizes(context, origin, lists);
    }
    if let (Some(Grouping::Pooled), Some(Use::Result), Some(UseParts::Word(word))) =
        (grouping, used, usage)
    {
        let fault = Fault::new(word.origin, "`use: result` with `groups: pooled`");
        let rule = "pooled groups are readings of different things, which have no mean in common";
        let help = "write `single`, or `groups: components` where all are readings of the same";
        context.fault(fault.rule(rule).help(help));
    }
    let ((values, unit), usage, grouping) = (read?, used?, grouping?);
    let mut left = values.into_iter();
    let groups = lists.iter().map(|it| left.by_ref().take(it.1.len()).collect()).collect();
    let evidence = Evidence::Groups { groups, usage, grouping };
    (context.faults.len() == faults).then_some((evidence, unit))
}

/// Groups are two or more, none is empty, and some has two readings.
fn check_sizes(context: &mut Context, origin: Origin, lists: &[(Origin, Vec<Text>)]) {
    if let Some(index) = lists.iter().position(|it| it.1.is_empty()) {
        let fault = Fault::new(lists[index].0, format!("group {} has no reading", index + 1));
        context.fault(fault.rule("each group has at least one"));
    } else if lists.len() < 2 {
        let fault = Fault::new(origin, "there is one group only");
        let rule = "readings in groups are two lists or more";
        context.fault(fault.rule(rule).help("write one plain list, and leave `groups` out"));
    } else if lists.iter().all(|it| it.1.len() == 1) {
        let fault = Fault::new(origin, "no group has two readings");
        let rule = "the scatter within groups comes from readings of one and the same group";
        context.fault(fault.rule(rule).help("write one plain list, and leave `groups` out"));
    }
}

/// Reads the values of readings, all of one kind, that fit; with their unit.
fn values(
    context: &mut Context,
    origin: Origin,
    texts: &[Text],
    unit: Option<&Text>,
    fit: &Fit,
) -> Option<(Vec<Quantity>, Unit)> {
    let shared = match unit {
        None => None,
        Some(text) => Some(context.unit(text)?),
    };
    let read: Vec<Option<Quantity>> =
        texts.iter().map(|it| reading(context, it, shared.as_ref())).collect();
    let values: Vec<Quantity> = read.into_iter().collect::<Option<_>>()?;
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
    Some((values, unit))
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
