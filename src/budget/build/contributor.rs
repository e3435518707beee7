//! One contributor: target, evidence and extra keys; and `linked`.

use super::context::{Context, nearest};
use super::data::columns;
use super::evidence::{Fit, evidence, given_dof};
use crate::budget::parts::{
    BudgetParts, ContributorParts, EvidenceParts, LimitsParts, LinkParts, Text,
};
use crate::budget::{Contributor, Evidence, Formula, Link, Owner, Role, Target};
use crate::fault::Fault;
use crate::model::parse::fold;
use crate::quantity::{Dimension, Unit};
use std::collections::BTreeMap;

/// What the construction of contributors needs to know of the points.
pub(super) struct Setting<'a> {
    pub(super) symbol: Option<&'a str>,
    pub(super) stacks: bool,
}

/// Reads all contributors.
pub(super) fn contributors(
    context: &mut Context,
    parts: &BudgetParts,
    setting: &Setting,
) -> Vec<Contributor> {
    let mut found: Vec<Contributor> = Vec::new();
    let mut seen = BTreeMap::new();
    for it in &parts.contributors {
        let name = it.name.text.trim().to_string();
        if name.is_empty() {
            context.fault(Fault::new(it.name.origin, "a contributor without a name"));
        } else if seen.insert(name.clone(), ()).is_some() {
            let what = format!("the name `{name}` is used twice");
            context.fault(
                Fault::new(it.name.origin, what).rule("contributors have names of their own"),
            );
        }
        match contributor(context, it, name, setting) {
            Some(contributor) => found.push(contributor),
            None => context.incomplete = true,
        }
    }
    check_groups(context, &found, &parts.contributors);
    check_values(context, parts);
    found
}

fn contributor(
    context: &mut Context,
    parts: &ContributorParts,
    name: String,
    setting: &Setting,
) -> Option<Contributor> {
    let faults = context.faults.len();
    let target = target(context, parts);
    let (dimension, whose, input) = fit_of(context, &target);
    let fit = Fit {
        origin: parts.origin,
        known: target.is_some(),
        dimension,
        whose: &whose,
        input: input.as_deref(),
        symbol: setting.symbol,
        stacks: setting.stacks,
    };
    let evidence = evidence(context, &parts.evidence, &fit);
    if let (Some(Target::Sensitivity(formula)), Some((evidence, unit))) = (&target, &evidence) {
        check_sensitivity(context, formula, evidence, unit, parts);
    }
    let owner = owner(context, parts.owner.as_ref());
    let estimate = estimate(context, parts.estimate.as_ref(), &fit, &evidence);
    let times = times(context, parts.times.as_ref());
    let shared = shared(context, parts.shared.as_ref());
    check_dof_of_readings(context, parts);
    let dof = given_dof(context, parts.dof.as_ref(), parts.u_known_within.as_ref());
    let due = parts.due.as_ref().and_then(|it| context.date(it));
    let text = |it: &Option<Text>| it.as_ref().map(|it| it.text.trim().to_string());
    if context.faults.len() > faults {
        return None;
    }
    let (evidence, own) = evidence?;
    let unit = context
        .measurand_unit
        .clone()
        .filter(|it| it.dimension() == own.dimension())
        .unwrap_or(own);
    Some(Contributor {
        name,
        origin: parts.origin,
        target: target?,
        evidence,
        evidence_origin: parts.evidence.0,
        unit,
        estimate: estimate?,
        times: times?,
        owner: owner?,
        shared: shared?,
        dof: dof?,
        largest_of: text(&parts.largest_of),
        basis: text(&parts.basis),
        due,
        note: text(&parts.note),
    })
}

pub(super) fn owner(context: &mut Context, text: Option<&Text>) -> Option<Owner> {
    let owners = [(Owner::Laboratory, "laboratory"), (Owner::Instrument, "instrument")];
    text.map_or(Some(Owner::Laboratory), |it| context.word(it, "owner", &owners))
}

/// The degrees of freedom of readings are their number less one, and nothing else.
fn check_dof_of_readings(context: &mut Context, parts: &ContributorParts) {
    let rule = match &parts.evidence.1 {
        EvidenceParts::Readings { .. } => "the degrees of freedom of n readings are n − 1",
        EvidenceParts::GroupedReadings { .. } => "the degrees of freedom follow from the groups",
        _ => return,
    };
    if let Some(text) = &parts.u_known_within {
        let fault = Fault::new(text.origin, "`u_known_within` with `readings`");
        let fault = fault.rule(rule);
        context.fault(fault.help("leave `u_known_within` out"));
    }
}

fn target(context: &mut Context, parts: &ContributorParts) -> Option<Target> {
    match (&parts.adds_to, &parts.sensitivity) {
        (None, None) => Some(Target::Measurand),
        (None, Some(text)) => {
            let expr = context.expr(text)?;
            context.compile(expr).map(Target::Sensitivity)
        }
        (Some(_), Some(text)) => {
            let fault = Fault::new(text.origin, "`sensitivity` beside `adds_to`");
            context.fault(
                fault.rule("with `adds_to` the sensitivity coefficient follows from the model"),
            );
            None
        }
        (Some(text), None) => input(context, text),
    }
}

/// Finds the input that a contributor adds to.
pub(super) fn input(context: &mut Context, text: &Text) -> Option<Target> {
    let word = fold(text.text.trim());
    let index = context.names.find(&word);
    match index.map(|index| (index, &context.names.get(index).role)) {
        Some((_, Role::Key)) => {
            let fault =
                Fault::new(text.origin, format!("`{word}` is a key of the points, not an input"));
            let rule =
                "`adds_to` names an estimate, a name of the model, `reading` or the points' symbol";
            let unit = index.and_then(|it| {
                let dimension = &context.names.get(it).kind.dimension;
                (!dimension.is_none()).then(|| format!(" {}", context.usual_unit(dimension)))
            });
            let default = format!("{word}: 0{}", unit.unwrap_or_default());
            let help = format!("give it a default: `estimates: {{{default}}}`");
            context.fault(fault.rule(rule).help(help));
            None
        }
        Some((index, _)) => Some(Target::Input(index)),
        None if context.symbols.contains(&word) => {
            let fault = Fault::new(text.origin, format!("`{word}` is a result of this budget"));
            let rule = "contributors add to inputs; without `adds_to` they add to the measurand";
            context.fault(fault.rule(rule).help(targets(context)));
            None
        }
        None => {
            let words = context.names.words();
            let near = nearest(&word, words.iter().map(String::as_str));
            let rule = "`adds_to` names an estimate, a name of the model, `reading` or the points' symbol; without it a contributor adds to the measurand";
            // A bare name whose contributors are all faulty has no entry yet.
            let told = context.unresolved.contains(&word);
            if !told && (near.is_some() || !context.incomplete) {
                let fault =
                    Fault::new(text.origin, format!("nothing is called `{word}`")).rule(rule);
                context.fault(match near {
                    Some(near) => fault.help(format!("adds_to: {near}")),
                    None => fault.help(targets(context)),
                });
            }
            None
        }
    }
}

/// Says what a contributor can add to.
fn targets(context: &Context) -> String {
    let inputs =
        context.names.iter().filter(|it| matches!(it.role, Role::Estimate { .. } | Role::Bare));
    let inputs: Vec<String> = inputs.map(|it| format!("`{}`", it.word)).collect();
    match inputs.is_empty() {
        true => "leave `adds_to` out".to_string(),
        false => format!("write {}, or leave `adds_to` out", inputs.join(" or ")),
    }
}

/// Returns dimension, words and input that the evidence has to fit.
fn fit_of(
    context: &Context,
    target: &Option<Target>,
) -> (Option<Dimension>, String, Option<String>) {
    match target {
        Some(Target::Input(index)) => {
            let name = context.names.get(*index);
            (Some(name.kind.dimension.clone()), format!("`{}`", name.word), Some(name.word.clone()))
        }
        Some(Target::Measurand) => {
            let dimension = context.measurand_unit.as_ref().map(|it| it.dimension().clone());
            (dimension, "the measurand".to_string(), None)
        }
        Some(Target::Sensitivity(_)) | None => (None, "the measurand".to_string(), None),
    }
}

/// Sensitivity times evidence has the measurand's dimension.
fn check_sensitivity(
    context: &mut Context,
    formula: &Formula,
    evidence: &Evidence,
    of_evidence: &Unit,
    parts: &ContributorParts,
) {
    let dimension = of_evidence.dimension();
    let Some(unit) = context.measurand_unit.clone() else { return };
    if matches!(evidence, Evidence::Thermal(_)) {
        context.fault(
            Fault::new(formula.origin(), "`sensitivity` with `thermal`")
                .rule("`thermal` adds to the measurand"),
        );
        return;
    }
    let product = formula.kind().dimension.times(dimension);
    if product == *unit.dimension() {
        return;
    }
    let shown = parts.sensitivity.as_ref().map_or("", |it| it.text.trim());
    let what = format!(
        "`{shown}` times the evidence is {}, the measurand is {}",
        product.phrase(),
        unit.dimension().phrase()
    );
    let wanted = unit.dimension().over(dimension);
    let origin = parts.sensitivity.as_ref().map_or(parts.origin, |it| it.origin);
    let quotient = format!("{}/{}", unit.text(), of_evidence.text());
    let fits = context.units.parse(&quotient).is_ok_and(|it| *it.dimension() == wanted);
    let usual = if fits { quotient } else { context.usual_unit(&wanted) };
    let help = match formula.literal() {
        Some(literal) => format!("{} {usual}", literal.number().text()),
        None => format!("give the sensitivity in a unit such as `{usual}`"),
    };
    context.fault(Fault::new(origin, what).help(help));
}

/// Reads a correction; it has the dimension of the evidence.
fn estimate(
    context: &mut Context,
    text: Option<&Text>,
    fit: &Fit,
    evidence: &Option<(Evidence, crate::quantity::Unit)>,
) -> Option<Option<Formula>> {
    let Some(text) = text else { return Some(None) };
    let of_evidence = evidence.as_ref().map(|it| it.1.dimension().clone());
    let dimension = fit.dimension.clone().or(of_evidence)?;
    context.formula(text, &dimension, fit.whose).map(Some)
}

fn times(context: &mut Context, text: Option<&Text>) -> Option<Option<Formula>> {
    let Some(text) = text else { return Some(None) };
    let formula = context.formula(text, &Dimension::none(), "a number of draws")?;
    if formula.constant().is_some_and(|it| it < 0.0 || it != it.floor()) {
        let what = format!("`{}` is not a number of draws", text.text.trim());
        context.fault(Fault::new(text.origin, what).rule("`times` is a whole number, 0 or more"));
        return None;
    }
    Some(Some(formula))
}

fn shared(context: &mut Context, text: Option<&Text>) -> Option<f64> {
    let Some(text) = text else { return Some(0.0) };
    match text.text.trim() {
        "true" => Some(1.0),
        "false" => Some(0.0),
        word => {
            if !word.starts_with(|it: char| it.is_ascii_digit() || it == '-' || it == '−') {
                let fault =
                    Fault::new(text.origin, format!("`{word}` does not say how it is shared"));
                context.fault(
                    fault
                        .rule("`shared` is `true`, `false` or a correlation from 0 to 1")
                        .help("true"),
                );
                return None;
            }
            let value = context.ratio(text)?;
            if (0.0..=1.0).contains(&value) {
                return Some(value);
            }
            let fault =
                Fault::new(text.origin, format!("`{word}` is no correlation between points"));
            context.fault(fault.rule("`shared` is `true`, `false` or a correlation from 0 to 1"));
            None
        }
    }
}

/// Members of a group agree in `shared`.
fn check_groups(context: &mut Context, found: &[Contributor], parts: &[ContributorParts]) {
    let mut first: BTreeMap<&str, &Contributor> = BTreeMap::new();
    for it in found {
        let Some(group) = it.largest_of.as_deref() else { continue };
        let leader = *first.entry(group).or_insert(it);
        if leader.shared != it.shared {
            let given = parts.iter().find(|part| part.origin == it.origin);
            let given = given.and_then(|part| part.shared.as_ref());
            let origin = given.map_or(it.origin, |text| text.origin);
            let key = if given.is_some() { "" } else { "shared: " };
            let what = format!(
                "`{}` and `{}` of the group `{group}` differ in `shared`",
                leader.name, it.name
            );
            let fault = Fault::new(origin, what).rule("members of `largest_of` agree in `shared`");
            context.fault(fault.help(format!("{key}{}", shared_text(leader.shared))));
        }
    }
}

fn shared_text(value: f64) -> String {
    match value {
        0.0 => "false".to_string(),
        1.0 => "true".to_string(),
        other => other.to_string(),
    }
}

/// A bare name has a value: from a mean, a midpoint or a correction, or 0 where ±limits say so.
fn check_values(context: &mut Context, parts: &BudgetParts) {
    let bare: Vec<(String, crate::fault::Origin, Dimension)> = context
        .names
        .iter()
        .filter(|it| matches!(it.role, Role::Bare))
        .map(|it| (it.word.clone(), it.origin, it.kind.dimension.clone()))
        .collect();
    let has_estimates = context.has_estimates;
    for (word, origin, dimension) in bare {
        let mut adding = parts
            .contributors
            .iter()
            .filter(|it| it.adds_to.as_ref().is_some_and(|to| fold(to.text.trim()) == word));
        let by_data = columns(parts).iter().any(|it| it.defines(&word));
        if by_data || adding.any(gives_value) || context.incomplete {
            continue;
        }
        let unit = context.usual_unit(&dimension);
        let zero = if dimension.is_none() { "0".to_string() } else { format!("0 {unit}") };
        let help = if has_estimates {
            format!("write `{word}: {zero}`, or its value, under `estimates`")
        } else {
            format!("estimates: {{{word}: {zero}}}")
        };
        let fault = Fault::new(origin, format!("nothing gives the value of `{word}`"))
            .rule("its contributors say how far off it may be, not what it is")
            .help(help);
        context.fault(fault);
    }
}

fn gives_value(parts: &ContributorParts) -> bool {
    let by_evidence = matches!(
        &parts.evidence.1,
        EvidenceParts::Limits { limits: LimitsParts::Between(..) | LimitsParts::PlusMinus(_), .. }
            | EvidenceParts::FullRange { .. }
            | EvidenceParts::Step(_)
            | EvidenceParts::BlockGrade { .. }
    );
    by_evidence || parts.evidence.1.are_result() || parts.estimate.is_some()
}

/// Reads `linked`.
pub(super) fn links(
    context: &mut Context,
    parts: &[LinkParts],
    contributors: &[Contributor],
) -> Vec<Link> {
    let mut links: Vec<Link> = Vec::new();
    for it in parts {
        let found = link(context, it, contributors);
        let same =
            |known: &&Link| found.is_some_and(|it| sorted(it.between) == sorted(known.between));
        if links.iter().find(same).is_some() {
            let names: Vec<String> =
                it.between.iter().map(|it| format!("`{}`", it.text.trim())).collect();
            let what = format!("{} are linked twice", names.join(" and "));
            context.fault(Fault::new(it.origin, what).help("leave one of the links out"));
        } else {
            links.extend(found);
        }
    }
    links
}

fn sorted((a, b): (usize, usize)) -> (usize, usize) {
    (a.min(b), a.max(b))
}

fn link(context: &mut Context, parts: &LinkParts, contributors: &[Contributor]) -> Option<Link> {
    let r = context.number(&parts.r);
    if let Some(r) = r.filter(|it| !(-1.0..=1.0).contains(it)) {
        let what = format!("`{}` is no correlation coefficient", parts.r.text.trim());
        let fault = Fault::new(parts.r.origin, what).rule("r lies from -1 to 1");
        // 80 is most likely meant as 80 %.
        let percent = (2.0..=100.0).contains(&r.abs()).then(|| (r / 100.0).to_string());
        context.fault(fault.help(percent.unwrap_or_default()));
    }
    let [left, right] = parts.between.as_slice() else {
        let what = format!("`between` names {} contributors", parts.between.len());
        context.fault(Fault::new(parts.origin, what).rule("a link has two partners"));
        return None;
    };
    let (a, b) = (partner(context, left, contributors), partner(context, right, contributors));
    let (a, b) = (a?, b?);
    let r = r.filter(|it| (-1.0..=1.0).contains(it))?;
    if a == b {
        let what = format!("`{}` is linked with itself", contributors[a].name);
        context.fault(Fault::new(right.origin, what).rule("a link has two partners"));
        return None;
    }
    if contributors[a].shared != contributors[b].shared {
        let what =
            format!("`{}` and `{}` differ in `shared`", contributors[a].name, contributors[b].name);
        let fault = Fault::new(parts.origin, what).rule("linked contributors agree in `shared`");
        context.fault(fault.help("give both the same `shared`, or leave the link out"));
        return None;
    }
    Some(Link { origin: parts.origin, between: (a, b), r })
}

fn partner(context: &mut Context, text: &Text, contributors: &[Contributor]) -> Option<usize> {
    let name = text.text.trim();
    let Some(index) = contributors.iter().position(|it| it.name == name) else {
        if !context.incomplete {
            let fault = Fault::new(text.origin, format!("no contributor is called `{name}`"));
            let near = nearest(name, contributors.iter().map(|it| it.name.as_str()));
            context.fault(match near {
                Some(near) => fault.help(near),
                None => fault.rule("`between` gives two names of contributors"),
            });
        }
        return None;
    };
    let it = &contributors[index];
    let problem = match (&it.evidence, &it.largest_of) {
        (Evidence::Thermal(_), _) => "is a `thermal` contributor: its parts cannot be linked",
        (Evidence::Column { .. }, _) => {
            "is read with others: its correlations follow from the data"
        }
        (_, Some(_)) => "is in a group of `largest_of` and cannot be linked",
        _ => return Some(index),
    };
    context.fault(Fault::new(text.origin, format!("`{name}` {problem}")));
    None
}
