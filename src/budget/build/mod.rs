//! Construction of a [`Budget`]: the only way from what was written to what may be computed.
//!
//! Order: units and measurand, points and names, model and estimates, contributors, links, then
//! tolerance and decision. All faults are collected; a part that is faulty is left out, and checks
//! that would only echo the gap are skipped.

mod changed;
mod context;
mod contributor;
mod data;
mod decision;
mod evidence;
mod inputs;
mod points;
mod population;
mod readings;
mod results;
mod tolerance;

use super::parts::{BudgetParts, MeasurandParts};
use super::{Budget, Measurand, Names, Owner, Tolerance};
use crate::fault::{Fault, Faults};
use crate::model::parse::fold;
use crate::model::{Expr, check};
use crate::quantity::{Quantity, Scale, Unit, Units};
use context::Context;
use contributor::Setting;
use std::cmp::Ordering;
use std::collections::BTreeSet;

impl Budget {
    /// Checks the parts of a budget and puts them together.
    ///
    /// # Errors
    ///
    /// All faults that can be found without computing, each at its place.
    pub fn new(parts: BudgetParts) -> Result<Budget, Faults> {
        let mut context = context(&parts);
        let budget = build(&mut context, &parts);
        match budget {
            Some(budget) if context.faults.is_empty() => Ok(budget),
            _ => Err(Faults(context.faults)),
        }
    }
}

fn context(parts: &BudgetParts) -> Context {
    let own: Vec<String> = parts.units.iter().map(|it| it.text.trim().to_string()).collect();
    let mut faults = Vec::new();
    let units = Units::with_own(&own).unwrap_or_else(|(index, fault)| {
        let origin = parts.units.get(index).map_or(parts.origin, |it| it.origin);
        faults.push(Fault::new(origin.further(fault.at), fault.what).help(fault.help));
        Units::default()
    });
    let mut context = Context {
        units,
        words: words(parts),
        symbols: results::symbols(parts),
        names: Names::new(),
        measurand_unit: None,
        points_unit: None,
        seen_units: Vec::new(),
        unresolved: BTreeSet::new(),
        result_scale: Scale::None,
        has_estimates: !parts.estimates.is_empty(),
        incomplete: parts.incomplete,
        faults,
    };
    context.measurand_unit = context.unit(&parts.measurand.unit);
    context.points_unit = parts.points.as_ref().and_then(|it| context.unit(&it.unit));
    context
}

/// Returns all words that are names of the budget, folded.
fn words(parts: &BudgetParts) -> BTreeSet<String> {
    let mut words = BTreeSet::from([super::names::READING.to_string()]);
    if let Some(points) = &parts.points {
        words.insert(fold(points.symbol.text.trim()));
        words.extend(points.at.iter().flat_map(|it| &it.keys).map(|it| fold(it.0.text.trim())));
        if points.at.iter().any(|it| it.stack.is_some()) {
            words.insert("joints".to_string());
        }
    }
    words.extend(parts.estimates.iter().map(|it| fold(it.0.text.trim())));
    words.extend(
        parts
            .contributors
            .iter()
            .filter_map(|it| it.adds_to.as_ref())
            .map(|it| fold(it.text.trim())),
    );
    words.extend(data::columns(parts).iter().map(|it| fold(it.word.text.trim())));
    words
}

fn build(context: &mut Context, parts: &BudgetParts) -> Option<Budget> {
    let measurand = measurand(context, &parts.measurand);
    let (mut points, drafts) = points::points(context, parts.points.as_ref());
    let drafts_of_results = results::drafts(context, parts);
    let model = inputs::inputs(context, parts, &drafts_of_results);
    if let (Some(model), Some(_)) = (&model, &measurand) {
        check_model(context, model, parts);
    }
    let measured = model.is_some() && measurand.is_some();
    let results = results::results(context, parts, drafts_of_results, measured);
    points.list = points::finish(context, drafts);
    let stacks = points.list.iter().any(|it| it.stack.is_some());
    let setting = Setting { symbol: points.symbol.as_deref(), stacks };
    let mut contributors = contributor::contributors(context, parts, &setting);
    let datasets = data::data(context, parts, &mut contributors);
    let links = contributor::links(context, &parts.linked, &contributors);
    let order = decision::order(context, parts.order.as_ref());
    let coverage = decision::coverage(context, &parts.coverage);
    let digits = decision::digits(context, parts.rounding_digits.as_ref());
    let display = decision::display(context, parts, &contributors);
    let tolerance: Option<Tolerance> =
        parts.tolerance.as_ref().and_then(|it| tolerance::tolerance(context, it));
    let instrument = contributors.iter().any(|it| it.owner == Owner::Instrument);
    let decision = parts
        .decision
        .as_ref()
        .and_then(|it| decision::decision(context, it, instrument, parts.population.is_some()));
    let repeatability =
        parts.repeatability.as_ref().and_then(|it| tolerance::repeatability(context, it));
    let population =
        parts.population.as_ref().and_then(|it| population::population(context, it, &contributors));
    let (order, coverage, digits) = (order?, coverage?, digits?);
    Some(Budget {
        title: parts.title.text.trim().to_string(),
        document: parts
            .document
            .iter()
            .map(|it| (it.0.text.clone(), it.1.text.trim().to_string()))
            .collect(),
        measurand: measurand?,
        points,
        units: context.units.clone(),
        names: context.names.clone(),
        model: model?,
        results,
        contributors,
        datasets,
        links,
        order,
        coverage,
        digits,
        display,
        tolerance,
        decision,
        repeatability,
        population,
        origin: parts.origin,
    })
}

fn measurand(context: &mut Context, parts: &MeasurandParts) -> Option<Measurand> {
    for (text, what) in [(&parts.symbol, "symbol"), (&parts.name, "name")] {
        if text.text.trim().is_empty() && !context.incomplete {
            context.fault(Fault::new(text.origin, format!("the measurand's {what} is empty")));
        }
    }
    let unit: Unit = context.measurand_unit.clone()?;
    let mut bound = |text: &Option<super::parts::Text>| -> Option<Option<Quantity>> {
        let Some(text) = text else { return Some(None) };
        let quantity = context.quantity(text)?;
        if quantity.dimension() == unit.dimension() {
            return Some(Some(quantity));
        }
        let shown = text.text.trim();
        let (here, there) = (quantity.dimension().phrase(), unit.dimension().phrase());
        let fault = if quantity.dimension().is_none() {
            Fault::new(text.origin, format!("`{shown}` has no unit"))
                .help(format!("{shown} {}", unit.text()))
        } else {
            Fault::new(text.origin, format!("`{shown}` is {here}, the measurand is {there}"))
                .help(format!("give it in a unit such as `{}`", unit.text()))
        };
        context.fault(fault);
        None
    };
    let (lower_bound, upper_bound) = (bound(&parts.lower_bound), bound(&parts.upper_bound));
    if let (Some(Some(low)), Some(Some(high))) = (&lower_bound, &upper_bound)
        && low.exact().compare(&high.exact()) != Some(Ordering::Less)
    {
        let what = format!("`{}` is not below `{}`", low.text(), high.text());
        let origin = parts.lower_bound.as_ref().map_or(parts.unit.origin, |it| it.origin);
        context.fault(Fault::new(origin, what).rule("the lower bound lies below the upper one"));
    }
    Some(Measurand {
        symbol: parts.symbol.text.trim().to_string(),
        name: parts.name.text.trim().to_string(),
        definition: parts.definition.as_ref().map(|it| it.text.trim().to_string()),
        unit,
        lower_bound: lower_bound?,
        upper_bound: upper_bound?,
    })
}

/// The model has the measurand's dimension, and no other temperature scale.
fn check_model(context: &mut Context, model: &Expr, parts: &BudgetParts) {
    if !context.all_names_known(model) {
        return;
    }
    let origin = parts.model.as_ref().map_or(parts.measurand.unit.origin, |it| it.origin);
    let kind = match check::kind(model, &|word| context.names.kind_of(word)) {
        Ok(Some(kind)) => kind,
        Ok(None) => return,
        Err(mut fault) => {
            if parts.model.is_none() {
                fault.origin = origin;
            }
            context.fault(fault);
            return;
        }
    };
    let Some(unit) = context.measurand_unit.clone() else { return };
    if &kind.dimension != unit.dimension() {
        let (here, there) = (kind.dimension.phrase(), unit.dimension().phrase());
        let what = match &parts.model {
            Some(text) => format!("`{}` is {here}, the measurand is {there}", text.text.trim()),
            None => format!("without `model` the result is {here}, the measurand is {there}"),
        };
        let usual = context.usual_unit(&kind.dimension);
        let help = format!("mend the model, or give the measurand a unit such as `{usual}`");
        context.fault(Fault::new(origin, what).help(help));
    }
    if kind.scale != Scale::None && unit.scale() != Scale::None && kind.scale != unit.scale() {
        let (here, there) = (kind.scale.symbol(), unit.scale().symbol());
        let what = format!("the model gives a temperature in {here}, the measurand is in {there}");
        context.fault(Fault::new(origin, what).help(format!("unit: {here}")));
    }
    context.result_scale = kind.scale;
}
