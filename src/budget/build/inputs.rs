//! The inputs of the model: which names there are, their dimensions, and that none is circular.
//!
//! A name is the reading, the points' symbol or a key, an estimate, or *bare*: named in the model (or
//! an estimate) and defined by contributors alone. Dimensions are found by going round until nothing
//! new is learnt; what stays open then is circular.

use super::context::Context;
use super::data::columns;
use super::results::{self, Draft};
use crate::budget::names::READING;
use crate::budget::parts::{BudgetParts, ContributorParts, EvidenceParts, LimitsParts, Text};
use crate::budget::{Formula, Role};
use crate::fault::{Fault, Origin};
use crate::model::parse::fold;
use crate::model::{Expr, Kind, check};
use crate::quantity::Scale;
use std::collections::{BTreeMap, BTreeSet};

/// An estimate that waits for the dimensions of its names.
struct Pending {
    word: String,
    origin: Origin,
    expr: Expr,
}

/// Reads model and estimates and adds all remaining names. Returns the model.
pub(super) fn inputs(
    context: &mut Context,
    parts: &BudgetParts,
    results: &[Draft],
) -> Option<Expr> {
    add_reading(context, parts);
    let model = model(context, parts);
    let mut pending = estimates(context, parts);
    let bare = bare_names(context, &model, results, &pending, parts);
    let mut open: Vec<&String> = bare.keys().collect();
    loop {
        let before = pending.len() + open.len();
        pending = pending.into_iter().filter_map(|it| try_estimate(context, it)).collect();
        open.retain(|word| !try_bare(context, word, bare[*word], parts));
        if pending.len() + open.len() == before || before == 0 {
            break;
        }
    }
    report_open(context, &pending);
    // The unit of data that cannot be read has a fault of its own.
    let unread =
        |word: &str| columns(parts).iter().any(|it| it.defines(word) && it.kind(context).is_none());
    let stuck = open.iter().find(|it| !unread(it)).filter(|_| context.faults.is_empty());
    let stuck = stuck.map(|it| it.to_string());
    if let Some(word) = stuck {
        let what = format!("the evidence for `{word}` needs the value of `{word}`");
        context.fault(Fault::new(bare[&word], what).rule("inputs are not circular"));
    }
    context.unresolved.extend(pending.into_iter().map(|it| it.word));
    context.unresolved.extend(open.into_iter().cloned());
    model
}

fn add_reading(context: &mut Context, parts: &BudgetParts) {
    let unit = if parts.points.is_some() { &context.points_unit } else { &context.measurand_unit };
    if let Some(unit) = unit {
        let kind = Kind { dimension: unit.dimension().clone(), scale: unit.scale() };
        context.add_name(READING.to_string(), Origin::NONE, Role::Reading, kind);
    }
}

/// Reads the model; without one it is `reading - SYMBOL`, or `reading` for a single result.
fn model(context: &mut Context, parts: &BudgetParts) -> Option<Expr> {
    match (&parts.model, &parts.points) {
        (Some(text), _) => context.expr(text),
        (None, None) => Some(Expr::name(READING, parts.origin)),
        (None, Some(points)) => {
            // A symbol that cannot be a name has a fault of its own.
            let symbol = fold(points.symbol.text.trim());
            context.names.find(&symbol)?;
            context.expr(&Text::new(format!("{READING} - {symbol}"), parts.origin))
        }
    }
}

fn estimates(context: &mut Context, parts: &BudgetParts) -> Vec<Pending> {
    let mut pending: Vec<Pending> = Vec::new();
    for (key, text) in &parts.estimates {
        let Some(word) = context.new_name(key) else { continue };
        let taken = context.names.find(&word).is_some_and(|it| !is_key(context, it));
        if taken || pending.iter().any(|it| it.word == word) {
            context.fault(Fault::new(key.origin, format!("the name `{word}` is used twice")));
            continue;
        }
        if let Some(expr) = context.expr(text) {
            pending.push(Pending { word, origin: key.origin, expr });
        }
    }
    pending
}

fn is_key(context: &Context, index: usize) -> bool {
    matches!(context.names.get(index).role, Role::Key)
}

/// Returns the names that nothing but contributors defines, with the place of their first use.
fn bare_names(
    context: &Context,
    model: &Option<Expr>,
    results: &[Draft],
    pending: &[Pending],
    parts: &BudgetParts,
) -> BTreeMap<String, Origin> {
    let added: Vec<String> = parts
        .contributors
        .iter()
        .filter_map(|it| it.adds_to.as_ref())
        .map(|it| fold(it.text.trim()))
        .collect();
    let data = columns(parts);
    let mut bare = BTreeMap::new();
    let none = BTreeSet::new();
    let symbols = results::symbols(parts);
    // In the model of a result a symbol is that of a result, whatever adds to its name.
    let own = model.iter().chain(pending.iter().map(|it| &it.expr)).map(|it| (it, &none));
    let further = results.iter().filter_map(|it| it.expr.as_ref()).map(|it| (it, &symbols));
    for (expr, symbols) in own.chain(further) {
        expr.for_each_name(&mut |word, origin| {
            let known =
                context.names.find(word).is_some() || pending.iter().any(|it| it.word == word);
            let defined =
                added.iter().any(|it| it == word) || data.iter().any(|it| it.defines(word));
            if !known && defined && !symbols.contains(word) {
                bare.entry(word.to_string()).or_insert(origin);
            }
        });
    }
    bare
}

/// Adds an estimate whose names are all known; returns it otherwise.
fn try_estimate(context: &mut Context, pending: Pending) -> Option<Pending> {
    let mut waits = false;
    pending.expr.for_each_name(&mut |word, _| waits |= context.names.find(word).is_none());
    if waits {
        return Some(pending);
    }
    let Pending { word, origin, expr } = pending;
    let formula = context.compile(expr)?;
    let kind = formula.kind().clone();
    match context.names.find(&word) {
        Some(index) => default_of_key(context, index, formula, origin),
        None => {
            context.add_name(word, origin, Role::Estimate { formula }, kind);
        }
    }
    None
}

/// An estimate with the name of a point's key is the key's default.
fn default_of_key(context: &mut Context, index: usize, formula: Formula, origin: Origin) {
    let name = context.names.get(index);
    let (word, there, here) = (&name.word, &name.kind.dimension, &formula.kind().dimension);
    if there != here {
        let what = format!("`{word}` is {} here, {} at a point", here.phrase(), there.phrase());
        context.fault(Fault::new(origin, what));
        return;
    }
    context.names.set_role(index, Role::Estimate { formula });
}

/// Adds a bare name once the dimension of one of its contributors is known.
fn try_bare(context: &mut Context, word: &str, origin: Origin, parts: &BudgetParts) -> bool {
    let adding = parts
        .contributors
        .iter()
        .filter(|it| it.adds_to.as_ref().is_some_and(|text| fold(text.text.trim()) == word));
    let data = columns(parts);
    let data = data.iter().filter(|it| it.defines(word)).filter_map(|it| it.kind(context));
    let mut kinds: Vec<(Kind, bool)> = data.map(|it| (it, true)).collect();
    kinds.extend(adding.filter_map(|it| evidence_kind(context, it)));
    let giving = kinds.iter().find(|it| it.1).or(kinds.first());
    let Some((kind, gives_value)) = giving.cloned() else { return false };
    let scale = if gives_value { kind.scale } else { Scale::None };
    context.add_name(word.to_string(), origin, Role::Bare, Kind { scale, ..kind }).is_some()
}

/// Returns the kind of a contributor's evidence, where its names are known, and whether it gives a value.
fn evidence_kind(context: &mut Context, parts: &ContributorParts) -> Option<(Kind, bool)> {
    let (texts, gives) = deciding_texts(parts);
    let faults = context.faults.len();
    let mut found = None;
    for text in texts {
        let expr = context.plus_minus(&text).and_then(|it| it.half.or(it.centre));
        let kind = expr
            .and_then(|it| check::kind(&it, &|word| context.names.kind_of(word)).ok().flatten());
        found = found.or(kind);
    }
    // The same texts are read again for good later, with the same faults.
    context.faults.truncate(faults);
    found.map(|kind| (kind, gives))
}

/// Returns the texts that decide the dimension of a contributor, best first.
fn deciding_texts(parts: &ContributorParts) -> (Vec<Text>, bool) {
    let mut gives = parts.estimate.is_some() || parts.evidence.1.are_result();
    let of_readings = |unit: &Option<Text>, first: Option<&Text>| match unit {
        Some(unit) if unit.text.trim() == "1" => vec![Text::new("1", unit.origin)],
        Some(unit) => vec![Text::new(format!("1 {}", unit.text.trim()), unit.origin)],
        None => first.cloned().into_iter().collect(),
    };
    let mut texts = match &parts.evidence.1 {
        EvidenceParts::Readings { values, unit, .. } => of_readings(unit, values.first()),
        EvidenceParts::GroupedReadings { lists, unit, .. } => {
            of_readings(unit, lists.iter().flat_map(|it| &it.1).next())
        }
        EvidenceParts::Limits { limits: LimitsParts::Between(_, items), .. } => {
            gives = true;
            items.clone()
        }
        EvidenceParts::Limits { limits: LimitsParts::PlusMinus(text), .. } => vec![text.clone()],
        EvidenceParts::Scatter { s: text, .. }
        | EvidenceParts::FullRange { range: text, .. }
        | EvidenceParts::Certificate { uncertainty: text, .. }
        | EvidenceParts::StandardUncertainty(text)
        | EvidenceParts::Step(text) => vec![text.clone()],
        EvidenceParts::BlockGrade { length, .. } => length.clone().into_iter().collect(),
        EvidenceParts::Thermal(_) => Vec::new(),
    };
    texts.extend(parts.estimate.clone());
    (texts, gives)
}

/// Says which estimates are circular, or wait for a name that nothing defines.
fn report_open(context: &mut Context, pending: &[Pending]) {
    let mut told = BTreeSet::new();
    for it in pending {
        let mut unknown = Vec::new();
        it.expr.for_each_name(&mut |word, origin| {
            let waiting = pending.iter().any(|other| other.word == word);
            if context.names.find(word).is_none() && !waiting {
                unknown.push((word.to_string(), origin));
            }
        });
        for (word, origin) in &unknown {
            if !context.words.contains(word) {
                context.unknown_name(word, *origin);
            }
        }
        if told.contains(&it.word) {
            continue;
        }
        if let Some(path) = circle(pending, &it.word) {
            told.extend(path.iter().cloned());
            let shown: Vec<String> = path.iter().map(|word| format!("`{word}`")).collect();
            let what = format!("`{}` is computed from itself: {}", it.word, shown.join(" from "));
            context.fault(Fault::new(it.origin, what).rule("estimates are not circular"));
        }
    }
}

/// Returns the way from `start` back to itself, if there is one.
fn circle(pending: &[Pending], start: &str) -> Option<Vec<String>> {
    let mut paths = vec![vec![start.to_string()]];
    let mut seen = BTreeSet::new();
    while let Some(path) = paths.pop() {
        let last = path.last()?;
        let Some(it) = pending.iter().find(|it| it.word == *last) else { continue };
        let mut next = Vec::new();
        it.expr.for_each_name(&mut |word, _| next.push(word.to_string()));
        for word in next {
            let mut longer = path.clone();
            longer.push(word.clone());
            if word == start {
                return Some(longer);
            }
            if seen.insert(word) {
                paths.push(longer);
            }
        }
    }
    None
}
