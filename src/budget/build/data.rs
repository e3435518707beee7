//! `observations` and `lines`: data that several inputs come from together, and their columns as
//! contributors.

use super::context::{Context, nearest};
use super::contributor::{input, owner};
use crate::budget::dataset::{Data, DataKind, Dataset, Line, LineWeights};
use crate::budget::parts::{
    BudgetParts, DataParts, LineParts, ObservationsParts, Text, UncertaintyParts,
};
use crate::budget::{Contributor, Evidence, Target};
use crate::fault::{Fault, Origin};
use crate::model::Kind;
use crate::model::parse::fold;
use crate::quantity::{Exact, Quantity, Scale, Unit};
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// The column of a line that holds a later observation's scatter.
const RESIDUAL: usize = 2;

/// One input that data define.
pub(super) struct Column<'a> {
    /// The input's name as written.
    pub(super) word: &'a Text,
    unit: Option<&'a Text>,
    /// The unit that `unit` is divided by: of a slope.
    per: Option<&'a Text>,
    /// Whether it carries a temperature scale.
    scaled: bool,
}

/// Returns all inputs that data define, in the order of the file.
pub(super) fn columns(parts: &BudgetParts) -> Vec<Column<'_>> {
    let mut found = Vec::new();
    for it in &parts.observations {
        for (index, word) in it.inputs.iter().enumerate() {
            let unit = it.units.1.get(index);
            found.push(Column { word, unit, per: None, scaled: true });
        }
    }
    for it in &parts.lines {
        let (unit, per) = (Some(&it.y_unit), Some(&it.x_unit));
        found.push(Column { word: &it.intercept, unit, per: None, scaled: true });
        found.push(Column { word: &it.slope, unit, per, scaled: false });
        let residual = it.residual.iter();
        found.extend(residual.map(|word| Column { word, unit, per: None, scaled: false }));
    }
    found
}

impl Column<'_> {
    /// Whether it defines the folded name `word`.
    pub(super) fn defines(&self, word: &str) -> bool {
        fold(self.word.text.trim()) == word
    }

    /// Returns dimension and scale, where its units are known; faults are left to the reading.
    pub(super) fn kind(&self, context: &Context) -> Option<Kind> {
        let unit = context.units.parse(self.unit?.text.trim()).ok()?;
        let scale = if self.scaled { unit.scale() } else { Scale::None };
        let dimension = match self.per {
            None => unit.dimension().clone(),
            Some(per) => {
                let per = context.units.parse(per.text.trim()).ok()?;
                unit.dimension().over(per.dimension())
            }
        };
        Some(Kind { dimension, scale })
    }
}

/// Reads all data; their columns are added to `contributors`.
pub(super) fn data(
    context: &mut Context,
    parts: &BudgetParts,
    contributors: &mut Vec<Contributor>,
) -> Vec<Dataset> {
    let mut found: Vec<Dataset> = Vec::new();
    check_defined_once(context, parts);
    let several = parts.observations.len() > 1;
    for (index, it) in parts.observations.iter().enumerate() {
        let usual =
            if several { format!("Observations {}", index + 1) } else { "Observations".into() };
        let name = it.data.name.as_ref().map_or(usual, |it| it.text.trim().to_string());
        let made = observations(context, it, &name, found.len());
        add(context, it.data.origin, made, &mut found, contributors);
    }
    for it in &parts.lines {
        let name = it.data.name.as_ref().map_or(String::new(), |it| it.text.trim().to_string());
        let made = line(context, it, &name, found.len());
        add(context, it.data.origin, made, &mut found, contributors);
    }
    found
}

type Made = Option<(Dataset, Vec<Contributor>)>;

fn add(
    context: &mut Context,
    origin: Origin,
    made: Made,
    found: &mut Vec<Dataset>,
    contributors: &mut Vec<Contributor>,
) {
    let Some((dataset, columns)) = made else {
        context.incomplete = true;
        return;
    };
    let used = |it: &&Contributor| contributors.iter().any(|known| known.name == it.name);
    if let Some(it) = columns.iter().find(used) {
        let what = format!("the name `{}` is used twice", it.name);
        let rule = "data and contributors have names of their own";
        context.fault(Fault::new(origin, what).rule(rule).help("give it another `name`"));
    }
    contributors.extend(columns);
    found.push(dataset);
}

/// An input takes its value from one place.
fn check_defined_once(context: &mut Context, parts: &BudgetParts) {
    let mut seen = BTreeSet::new();
    for column in columns(parts) {
        let word = fold(column.word.text.trim());
        if !seen.insert(word.clone()) {
            let what = format!("`{word}` is given by data twice");
            let rule = "the means of two data sets would be added";
            context.fault(Fault::new(column.word.origin, what).rule(rule));
        }
    }
}

fn observations(
    context: &mut Context,
    parts: &ObservationsParts,
    name: &str,
    dataset: usize,
) -> Made {
    let faults = context.faults.len();
    let words: Vec<&Text> = parts.inputs.iter().collect();
    if unread(context, &[parts.units.1.len(), parts.rows.len()]) || are_twice(&words) {
        return None;
    }
    let (units_origin, texts) = &parts.units;
    let width = parts.inputs.len();
    if texts.len() != width {
        let what = format!("{} for {}", counted(texts.len(), "unit"), counted(width, "input"));
        let rule = "each input has one unit, in the same order";
        context.fault(Fault::new(*units_origin, what).rule(rule));
        return None;
    }
    let units: Option<Vec<Unit>> = texts.iter().map(|it| context.unit(it)).collect();
    let units = units?;
    let rows = rows(context, parts, &units)?;
    let common = common(context, &parts.data)?;
    let of = DataKind::Observations;
    let mut columns = Vec::with_capacity(width);
    for (column, (word, unit)) in parts.inputs.iter().zip(units).enumerate() {
        let title = format!("{name}: {}", fold(word.text.trim()));
        let evidence = Evidence::Column { dataset, column, of };
        columns.push(contributor(context, word, title, evidence, unit, &common)?);
    }
    let data = Data::Observations { rows };
    let (origin, figures) = (parts.data.origin, parts.rows_origin);
    let dataset = Dataset { name: name.to_string(), origin, figures, data };
    (context.faults.len() == faults).then_some((dataset, columns))
}

/// Whether something that has to be there was left out, with a fault of its own.
fn unread(context: &Context, sizes: &[usize]) -> bool {
    context.incomplete && sizes.contains(&0)
}

/// Whether one of the inputs of a dataset stands there twice, which is told for all data together.
fn are_twice(words: &[&Text]) -> bool {
    let folded: BTreeSet<String> = words.iter().map(|it| fold(it.text.trim())).collect();
    folded.len() < words.len()
}

fn rows(
    context: &mut Context,
    parts: &ObservationsParts,
    units: &[Unit],
) -> Option<Vec<Vec<Quantity>>> {
    let faults = context.faults.len();
    let mut rows = Vec::with_capacity(parts.rows.len());
    for (index, (origin, texts)) in parts.rows.iter().enumerate() {
        if texts.len() != units.len() {
            let (number, width) = (index + 1, counted(units.len(), "input"));
            let what = format!("row {number} has {} for {width}", counted(texts.len(), "reading"));
            let rule = "each row holds one reading of every input";
            let fault = Fault::new(*origin, what).rule(rule);
            let comma = texts.len() > units.len();
            let help = "a comma ends a reading: write decimals with a point";
            context.fault(if comma { fault.help(help) } else { fault });
            continue;
        }
        let row = texts.iter().zip(units).map(|(text, unit)| number(context, text, unit));
        rows.push(row.collect::<Vec<Option<Quantity>>>());
    }
    if parts.rows.len() < 2 {
        let fault = Fault::new(parts.rows_origin, "one row alone has no scatter");
        context.fault(fault.rule("simultaneous readings are two rows or more"));
    }
    if context.faults.len() > faults {
        return None;
    }
    rows.into_iter().map(|row| row.into_iter().collect()).collect()
}

/// Reads a plain number in a unit.
fn number(context: &mut Context, text: &Text, unit: &Unit) -> Option<Quantity> {
    Some(Quantity::new(context.decimal(text)?, unit.clone()))
}

fn counted(count: usize, what: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {what}{plural}")
}

fn line(context: &mut Context, parts: &LineParts, name: &str, dataset: usize) -> Made {
    let faults = context.faults.len();
    let units = [&parts.x_unit, &parts.y_unit].map(|it| it.text.trim().len());
    let words: Vec<&Text> =
        [&parts.intercept, &parts.slope].into_iter().chain(&parts.residual).collect();
    if unread(context, &[parts.x.1.len(), parts.y.1.len(), units[0], units[1]]) || are_twice(&words)
    {
        return None;
    }
    let (x_unit, y_unit) = (context.unit(&parts.x_unit), context.unit(&parts.y_unit));
    let (x_unit, y_unit) = (x_unit?, y_unit?);
    let slope_unit = slope_unit(context, &y_unit, &x_unit)?;
    let x = numbers(context, &parts.x.1, &x_unit);
    let y = numbers(context, &parts.y.1, &y_unit);
    let from = match &parts.x_from {
        Some(text) => number(context, text, &x_unit),
        None => number(context, &Text::new("0", Origin::NONE), &x_unit),
    };
    let weights = weights(context, parts, &y_unit);
    let (x, y, from, weights) = (x?, y?, from?, weights?);
    check_line(context, parts, &x, &weights);
    let common = common(context, &parts.data)?;
    let mut columns = Vec::new();
    let inputs = [
        (Some(&parts.intercept), "intercept", y_unit.clone()),
        (Some(&parts.slope), "slope", slope_unit.clone()),
        (parts.residual.as_ref(), "residual", y_unit),
    ];
    for (column, (word, title, unit)) in inputs.into_iter().enumerate() {
        let Some(word) = word else { continue };
        let evidence = Evidence::Column { dataset, column, of: DataKind::Line };
        let title = format!("{name}: {title}");
        let mut made = contributor(context, word, title, evidence, unit, &common)?;
        // Each point has a later observation of its own.
        made.shared = if column == RESIDUAL { 0.0 } else { made.shared };
        columns.push(made);
    }
    let data = Data::Line(Box::new(Line { x, y, from, weights, slope_unit }));
    let (origin, figures) = (parts.data.origin, parts.y.0);
    let dataset = Dataset { name: name.to_string(), origin, figures, data };
    (context.faults.len() == faults).then_some((dataset, columns))
}

/// Returns the unit of a slope: that of the ordinates per that of the abscissae, 1 where they are alike.
fn slope_unit(context: &Context, y: &Unit, x: &Unit) -> Option<Unit> {
    let dimension = y.dimension().over(x.dimension());
    let simple = !x.text().contains(['/', '·', '.', '⋅', '^']);
    let quotient = format!("{}/{}", y.text(), x.text());
    let written = context.units.parse(&quotient).ok();
    let fits = |it: &Unit| *it.dimension() == dimension;
    match dimension.is_none() {
        true => Some(Unit::one()),
        false => written
            .filter(|it| simple && fits(it))
            .or_else(|| context.units.parse(&dimension.symbols()).ok()),
    }
}

fn numbers(context: &mut Context, texts: &[Text], unit: &Unit) -> Option<Vec<Quantity>> {
    let read: Vec<Option<Quantity>> = texts.iter().map(|it| number(context, it, unit)).collect();
    read.into_iter().collect()
}

fn weights(context: &mut Context, parts: &LineParts, unit: &Unit) -> Option<LineWeights> {
    let count = parts.y.1.len();
    if let Some((origin, texts)) = &parts.y_weights {
        let read = positive(context, texts, &Unit::one(), "a weight")?;
        return counts(context, *origin, texts.len(), count, "weight")
            .then_some(LineWeights::Relative(read));
    }
    match &parts.y_uncertainty {
        None => Some(LineWeights::Equal),
        Some(UncertaintyParts::Same(text)) => {
            let one = positive(context, std::slice::from_ref(text), unit, "an uncertainty")?;
            Some(LineWeights::Known(one.into_iter().cycle().take(count).collect()))
        }
        Some(UncertaintyParts::Each(origin, texts)) => {
            let read = positive(context, texts, unit, "an uncertainty")?;
            counts(context, *origin, texts.len(), count, "uncertaint")
                .then_some(LineWeights::Known(read))
        }
    }
}

/// Whether there is one of each; says where not.
fn counts(context: &mut Context, origin: Origin, got: usize, count: usize, what: &str) -> bool {
    if got == count {
        return true;
    }
    let ending = match (what, got == 1) {
        ("uncertaint", true) => "y",
        ("uncertaint", false) => "ies",
        (_, true) => "",
        (_, false) => "s",
    };
    let ordinates = if count == 1 { "1 ordinate".into() } else { format!("{count} ordinates") };
    let fault = Fault::new(origin, format!("{got} {what}{ending} for {ordinates}"));
    context.fault(fault.rule("each ordinate has one, in the same order"));
    false
}

fn positive(
    context: &mut Context,
    texts: &[Text],
    unit: &Unit,
    what: &str,
) -> Option<Vec<Quantity>> {
    let mut good = true;
    let mut found = Vec::with_capacity(texts.len());
    for text in texts {
        let Some(quantity) = number(context, text, unit) else {
            good = false;
            continue;
        };
        if quantity.exact().compare(&Exact::zero()) == Some(Ordering::Greater) {
            found.push(quantity);
        } else {
            good = false;
            let fault = Fault::new(text.origin, format!("`{}` is not above 0", text.text.trim()));
            context.fault(fault.rule(format!("{what} is above 0")));
        }
    }
    good.then_some(found)
}

/// A line goes through points enough, at two abscissae or more.
fn check_line(context: &mut Context, parts: &LineParts, x: &[Quantity], weights: &LineWeights) {
    let (count, ordinates) = (x.len(), parts.y.1.len());
    if count != ordinates {
        let plural = if ordinates == 1 { "ordinate" } else { "ordinates" };
        let abscissae = if count == 1 { "1 abscissa".into() } else { format!("{count} abscissae") };
        let fault = Fault::new(parts.y.0, format!("{ordinates} {plural} for {abscissae}"));
        context.fault(fault.rule("each abscissa has one ordinate, in the same order"));
        return;
    }
    let known = matches!(weights, LineWeights::Known(_));
    if count < 2 || (count < 3 && !known) {
        let what = match count {
            1 => "one point is no line",
            _ => "two points alone say nothing of their scatter",
        };
        let rule = "a line takes three points or more, or two with `y_uncertainty`";
        context.fault(Fault::new(parts.y.0, what).rule(rule));
    }
    if count > 1 && x.iter().all(|it| it.exact() == x[0].exact()) {
        let fault = Fault::new(parts.x.0, "all abscissae are the same");
        context.fault(fault.rule("a line goes through two abscissae or more"));
    }
    if let (Some(word), Some(UncertaintyParts::Each(..))) = (&parts.residual, &parts.y_uncertainty)
    {
        let fault = Fault::new(word.origin, "`residual` beside a list of `y_uncertainty`");
        let rule = "which of them a later observation has is not said";
        context.fault(fault.rule(rule).help("leave `residual` out, and add a contributor for it"));
    }
}

/// What all columns of a dataset have in common.
struct Common {
    owner: crate::budget::Owner,
    basis: Option<String>,
    due: Option<crate::budget::Date>,
    note: Option<String>,
}

fn common(context: &mut Context, parts: &DataParts) -> Option<Common> {
    let text = |it: &Option<Text>| it.as_ref().map(|it| it.text.trim().to_string());
    let due = match &parts.due {
        Some(text) => Some(context.date(text)?),
        None => None,
    };
    let owner = owner(context, parts.owner.as_ref())?;
    Some(Common { owner, basis: text(&parts.basis), due, note: text(&parts.note) })
}

/// An input of data that nothing uses; its name may be misspelt.
fn unknown(context: &mut Context, word: &Text) {
    let name = fold(word.text.trim());
    // A name of the model whose kind is not known has a fault of its own.
    if context.unresolved.contains(&name) {
        return;
    }
    let fault = Fault::new(word.origin, format!("nothing uses `{name}`"));
    let rule = "data give an estimate, a name of the model, `reading` or the points' symbol";
    let names = context.names.words();
    let near = nearest(&name, names.iter().map(String::as_str)).unwrap_or_default();
    context.fault(fault.rule(rule).help(near));
}

/// Returns a column as a contributor; the same error stands behind all points.
fn contributor(
    context: &mut Context,
    word: &Text,
    name: String,
    evidence: Evidence,
    unit: Unit,
    common: &Common,
) -> Option<Contributor> {
    if context.names.find(&fold(word.text.trim())).is_none() {
        unknown(context, word);
        return None;
    }
    let Target::Input(index) = input(context, word)? else { return None };
    let there = context.names.get(index).kind.dimension.clone();
    if there != *unit.dimension() {
        let folded = fold(word.text.trim());
        let (here, there) = (unit.dimension().phrase(), there.phrase());
        let what = format!("`{folded}` is {here} here, and {there} elsewhere");
        context.fault(Fault::new(word.origin, what));
        return None;
    }
    let shown = context.measurand_unit.clone().filter(|it| it.dimension() == unit.dimension());
    Some(Contributor {
        name,
        origin: word.origin,
        target: Target::Input(index),
        evidence,
        evidence_origin: word.origin,
        unit: shown.unwrap_or(unit),
        estimate: None,
        times: None,
        owner: common.owner,
        shared: 1.0,
        dof: None,
        largest_of: None,
        basis: common.basis.clone(),
        due: common.due,
        note: common.note.clone(),
    })
}
