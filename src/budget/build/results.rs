//! `results`: symbols that are new, models of the right dimension over inputs, the measurand and the
//! results above.

use super::context::{Context, nearest};
use crate::budget::DerivedResult;
use crate::budget::parts::{BudgetParts, ResultParts, Text};
use crate::fault::{Fault, Origin};
use crate::model::parse::fold;
use crate::model::{Expr, Kind, check};
use crate::quantity::{Scale, Unit};
use std::collections::{BTreeMap, BTreeSet};

/// What models of results may use.
const RULE: &str = "a result uses inputs, the measurand and the results above it";

/// A result whose texts are read and whose names are not looked up yet.
pub(super) struct Draft<'a> {
    parts: &'a ResultParts,
    /// The folded symbol; `None` where it cannot be one.
    pub(super) symbol: Option<String>,
    /// The model; `None` where it cannot be read.
    pub(super) expr: Option<Expr>,
}

/// Returns the symbols of the measurand and of all results, folded: names that only results may use.
pub(super) fn symbols(parts: &BudgetParts) -> BTreeSet<String> {
    if parts.results.is_empty() {
        return BTreeSet::new();
    }
    let own = parts.results.iter().map(|it| &it.symbol);
    own.chain([&parts.measurand.symbol]).map(|it| fold(it.text.trim())).collect()
}

/// Reads symbols and models.
pub(super) fn drafts<'a>(context: &mut Context, parts: &'a BudgetParts) -> Vec<Draft<'a>> {
    // A symbol is a name in these expressions alone: elsewhere `5 N/m` stays a unit beside a result `m`.
    let elsewhere = context.words.clone();
    context.words.extend(symbols(parts));
    let mut found = Vec::with_capacity(parts.results.len());
    for it in &parts.results {
        let symbol = context.new_name(&it.symbol);
        let expr = context.expr(&it.model);
        found.push(Draft { parts: it, symbol, expr });
    }
    context.words = elsewhere;
    found
}

/// Checks drafts, the inputs being known, and puts the results together.
pub(super) fn results(
    context: &mut Context,
    parts: &BudgetParts,
    drafts: Vec<Draft>,
    measured: bool,
) -> Vec<DerivedResult> {
    let all = symbols(parts);
    let mut known =
        Known { all, kinds: BTreeMap::new(), measurand: fold(parts.measurand.symbol.text.trim()) };
    if let (true, Some(unit)) = (measured, &context.measurand_unit) {
        let kind = Kind { dimension: unit.dimension().clone(), scale: context.result_scale };
        known.kinds.insert(known.measurand.clone(), kind);
    }
    let mut found = Vec::with_capacity(drafts.len());
    let mut taken = BTreeSet::new();
    for draft in drafts {
        let fresh = fresh(context, &known, &draft, &mut taken);
        let made = result(context, &known, &draft);
        if let (Some(symbol), true) = (&draft.symbol, fresh) {
            // Where the model is faulty, its unit still tells what the results below may do with it.
            let unit = context.units.parse(draft.parts.unit.text.trim()).ok();
            let scale = made.as_ref().map_or(Scale::None, |it| it.1);
            if let Some(unit) = unit {
                let kind = Kind { dimension: unit.dimension().clone(), scale };
                known.kinds.insert(symbol.clone(), kind);
            }
        }
        found.extend(made.map(|it| it.0));
    }
    found
}

/// The symbols that a result may meet.
struct Known {
    /// All symbols, also those of the results below.
    all: BTreeSet<String>,
    /// The measurand and the results above.
    kinds: BTreeMap<String, Kind>,
    measurand: String,
}

/// Whether the symbol of a draft is that of nothing else; says so where it is not.
fn fresh(
    context: &mut Context,
    known: &Known,
    draft: &Draft,
    taken: &mut BTreeSet<String>,
) -> bool {
    let Some(symbol) = &draft.symbol else { return false };
    let what = if *symbol == known.measurand {
        format!("`{symbol}` is the measurand's symbol")
    } else if context.names.find(symbol).is_some() {
        format!("`{symbol}` is an input or a name of the points")
    } else if taken.contains(symbol) {
        format!("the symbol `{symbol}` is used twice")
    } else {
        taken.insert(symbol.clone());
        return true;
    };
    let free = free(context, known, symbol);
    let origin = draft.parts.symbol.origin;
    let fault = Fault::new(origin, what);
    context.fault(fault.rule("a result has a symbol of its own").help(free));
    false
}

/// Returns a symbol like `symbol` that nothing has.
fn free(context: &Context, known: &Known, symbol: &str) -> String {
    let is_free = |it: &String| {
        !known.all.contains(it) && context.names.find(it).is_none() && !context.words.contains(it)
    };
    (1..).map(|number| format!("{symbol}_{number}")).find(is_free).unwrap_or_default()
}

/// Returns a result and the temperature scale that its model gives.
fn result(context: &mut Context, known: &Known, draft: &Draft) -> Option<(DerivedResult, Scale)> {
    let parts = draft.parts;
    let unit = context.unit(&parts.unit);
    if parts.name.text.trim().is_empty() {
        context.fault(Fault::new(parts.name.origin, "the result's name is empty"));
    }
    let (symbol, expr, unit) = (draft.symbol.clone()?, draft.expr.clone()?, unit?);
    if !all_known(context, known, &symbol, &expr) {
        return None;
    }
    let kind_of =
        |word: &str| known.kinds.get(word).cloned().or_else(|| context.names.kind_of(word));
    let kind = match check::kind(&expr, &kind_of) {
        Ok(kind) => kind?,
        Err(fault) => {
            context.fault(fault);
            return None;
        }
    };
    if !fits(context, &kind, &unit, &parts.model) {
        return None;
    }
    let text = |it: &Text| it.text.trim().to_string();
    let made = DerivedResult {
        symbol,
        name: text(&parts.name),
        definition: parts.definition.as_ref().map(text),
        unit,
        origin: parts.model.origin,
        model: expr,
    };
    Some((made, kind.scale))
}

/// Whether a result may use all names of its model; says which it may not.
fn all_known(context: &mut Context, known: &Known, symbol: &str, expr: &Expr) -> bool {
    let mut used: Vec<(String, Origin)> = Vec::new();
    expr.for_each_name(&mut |word, origin| {
        if used.iter().all(|it| it.0 != word) {
            used.push((word.to_string(), origin));
        }
    });
    let mut good = true;
    for (word, origin) in used {
        let is_input = context.names.find(&word).is_some();
        if is_input && word == known.measurand {
            good = false;
            let what = format!("`{word}` is the measurand's symbol and the name of an input");
            let fault = Fault::new(origin, what).rule("which of them the result uses is not clear");
            let free = free(context, known, &word);
            context
                .fault(fault.help(format!("give the measurand another symbol, such as `{free}`")));
        } else if !is_input && !known.kinds.contains_key(&word) {
            good = false;
            unusable(context, known, symbol, &word, origin);
        }
    }
    good
}

/// Says why a result cannot use a name.
fn unusable(context: &mut Context, known: &Known, symbol: &str, word: &str, origin: Origin) {
    if word == symbol {
        let fault = Fault::new(origin, format!("`{word}` is computed from itself"));
        context.fault(fault.rule(RULE));
    } else if word == known.measurand {
        // The measurand has a fault of its own.
    } else if known.all.contains(word) {
        let fault = Fault::new(origin, format!("`{word}` stands below `{symbol}`"));
        context.fault(fault.rule(RULE).help(format!("move `{word}` above `{symbol}`")));
    } else if !context.words.contains(word) {
        match nearest(word, known.kinds.keys().map(String::as_str)) {
            Some(near) if !context.units.is_unit(word) => {
                let fault = Fault::new(origin, format!("nothing defines `{word}`"));
                context.fault(fault.help(format!("did you mean `{near}`?")));
            }
            _ => context.unknown_name(word, origin),
        }
    }
}

/// Whether a model has the dimension of its result, and no other temperature scale.
fn fits(context: &mut Context, kind: &Kind, unit: &Unit, model: &Text) -> bool {
    if &kind.dimension != unit.dimension() {
        let (here, there) = (kind.dimension.phrase(), unit.dimension().phrase());
        let what = format!("`{}` is {here}, the result is {there}", model.text.trim());
        let usual = context.usual_unit(&kind.dimension);
        let help = format!("mend the model, or give the result a unit such as `{usual}`");
        context.fault(Fault::new(model.origin, what).help(help));
        return false;
    }
    if kind.scale != Scale::None && unit.scale() != Scale::None && kind.scale != unit.scale() {
        let (here, there) = (kind.scale.symbol(), unit.scale().symbol());
        let what = format!("the model gives a temperature in {here}, the result is in {there}");
        context.fault(Fault::new(model.origin, what).help(format!("unit: {here}")));
        return false;
    }
    true
}
