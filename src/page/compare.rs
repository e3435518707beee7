//! What a judged point would be under other rules and guard bands, side by side.

use super::{Block, Cell, Column, Table, Text, numbers, words};
use crate::record::{Alternative, Decision, Point, Population, PopulationSource, Section};

/// Returns the rules side by side at one point, with a heading; nothing where none are compared.
pub(super) fn at_point(section: &Section, decision: &Decision) -> Vec<Block> {
    let Some(list) = &decision.comparison else { return Vec::new() };
    let known = list.iter().any(|it| it.consumer_risk.is_some());
    let mut columns = vec![Column::words("rule"), Column::words("guard band")];
    columns.push(Column::quantity(words::passes_if(section)));
    let judged = list.iter().any(|it| it.verdict.is_some());
    if judged {
        columns.push(Column::words("verdict"));
    }
    columns.push(Column::number("risk at the limit"));
    if known {
        columns.extend([Column::number("consumer's risk"), Column::number("producer's risk")]);
    }
    let rows = list.iter().map(|it| row(section, it, (judged, known))).collect();
    let mut caption = String::from(
        "risk at the limit: that of the worst reading that passes; * the rule that the budget asks for",
    );
    caption += match known {
        true => "; consumer's risk: outside and passed; producer's risk: inside and not passed",
        false => "; consumer's and producer's risk need a `population` in the budget",
    };
    let mut blocks = vec![Block::Heading("Under other rules".into())];
    blocks.push(Block::Table(Table { columns, rows, caption: caption.into() }));
    let reasons: Vec<(Text, Text)> = list.iter().filter_map(|it| reason(section, it)).collect();
    if !reasons.is_empty() {
        blocks.push(Block::Pairs(reasons));
    }
    blocks
}

fn row(section: &Section, it: &Alternative, (judged, known): (bool, bool)) -> Vec<Cell> {
    let risk = |risk: Option<f64>| Cell::text(risk.map_or("–".into(), numbers::risk));
    let mut row = vec![Cell::text(name(it)), Cell::text(band(section, it))];
    row.push(Cell::text(match (&it.printed, &it.reason) {
        (_, Some(_)) => "cannot be applied".into(),
        (Some(printed), None) => words::printed(printed),
        (None, None) => "nothing passes".into(),
    }));
    if judged {
        row.push(Cell::text(it.verdict.map_or("–", crate::record::Verdict::word)));
    }
    row.push(risk(it.limit_risk));
    if known {
        row.extend([risk(it.consumer_risk), risk(it.producer_risk)]);
    }
    row
}

fn name(it: &Alternative) -> String {
    format!("{}{}", it.rule.word(), if it.own { " *" } else { "" })
}

/// Returns how the guard band is found, and how wide it is.
fn band(section: &Section, it: &Alternative) -> String {
    let Some(asked) = &it.asked else { return "none".into() };
    words::band(asked, &section.budget.measurand.unit)
}

fn reason(section: &Section, it: &Alternative) -> Option<(Text, Text)> {
    let reason = it.reason.as_ref()?;
    let what = format!("{}, {}", name(it), band(section, it));
    Some((what.into(), words::reason(section, reason).into()))
}

/// Returns what was known of such instruments before the reading, in one phrase.
pub(super) fn population(section: &Section, population: &Population) -> String {
    let unit = &section.budget.measurand.unit;
    let figure = |number: f64| numbers::significant(number, 3);
    let mut phrase = match (population.mean, population.sd, &population.distribution) {
        (Some(mean), Some(sd), Some(word)) => {
            let (mean, sd) = (figure(mean), figure(sd));
            let sd = numbers::joined(&sd, unit);
            format!("{word}, mean {mean}, standard deviation {sd}")
        }
        _ => "not known".into(),
    };
    if let Some(share) = population.in_tolerance {
        phrase += &format!("; {} within tolerance", numbers::conformance(share));
    }
    phrase += match population.from {
        PopulationSource::Actual => " (given as a share of true errors)",
        PopulationSource::Observed => " (given as a share of measured errors)",
        PopulationSource::Spread | PopulationSource::Limits => " (as given)",
        PopulationSource::History => "",
    };
    if let Some(history) = &population.history {
        let errors = if history.count == 1 { "error" } else { "errors" };
        phrase += &format!(", from {} past {errors}", history.count);
        if let Some([low, high]) = history.in_tolerance_interval {
            let (low, high) = (numbers::conformance(low), numbers::share_above(high));
            phrase += &format!(
                ", {} of them within tolerance (95 % interval of the share: {low} to {high})",
                history.in_tolerance
            );
        }
        if let Some(u) = population.sd.and(history.sd_uncertainty) {
            let u = numbers::joined(&numbers::uncertainty(u), unit);
            phrase += &format!("; standard uncertainty of that deviation {u}");
        }
    }
    if population.prior {
        phrase += "; counted in the specific risk";
    }
    phrase
}

/// Returns the rules side by side for all points of a worksheet's section: the worst verdict and the
/// largest risks of each.
pub(super) fn over_points(section: &Section) -> Vec<Block> {
    let lists: Vec<&Vec<Alternative>> = section.points.iter().filter_map(comparison).collect();
    let Some(first) = lists.first() else { return Vec::new() };
    let known = lists.iter().any(|list| list.iter().any(|it| it.consumer_risk.is_some()));
    let mut columns = vec![Column::words("rule"), Column::words("guard band")];
    columns.extend([Column::words("worst verdict"), Column::number("points that pass")]);
    columns.push(Column::number("risk at the limit"));
    if known {
        columns.extend([Column::number("consumer's risk"), Column::number("producer's risk")]);
    }
    let mut rows = Vec::new();
    for (index, it) in first.iter().enumerate() {
        let same: Vec<&Alternative> = lists.iter().filter_map(|list| list.get(index)).collect();
        rows.push(summed(section, it, &same, known));
    }
    let caption = "the worst point counts; * the rule that the budget asks for";
    let table = Table { columns, rows, caption: caption.into() };
    vec![Block::Heading("Under other rules".into()), Block::Table(table)]
}

fn comparison(point: &Point) -> Option<&Vec<Alternative>> {
    point.decision.as_ref()?.comparison.as_ref()
}

fn summed(section: &Section, it: &Alternative, same: &[&Alternative], known: bool) -> Vec<Cell> {
    let largest = |of: fn(&Alternative) -> Option<f64>| {
        let found = same.iter().filter_map(|it| of(it)).reduce(f64::max);
        Cell::text(found.map_or("–".into(), numbers::risk))
    };
    let worst = same.iter().filter_map(|it| it.verdict).max();
    let passed = same.iter().filter(|it| it.verdict == Some(crate::record::Verdict::Pass)).count();
    let failed = same.iter().any(|it| it.reason.is_some());
    let mut row = vec![Cell::text(name(it)), Cell::text(band(section, it))];
    row.push(Cell::text(match (failed, worst) {
        (true, _) => "cannot be applied",
        (false, Some(verdict)) => verdict.word(),
        (false, None) => "–",
    }));
    row.push(Cell::text(format!("{passed} of {}", same.len())));
    row.push(largest(|it| it.limit_risk));
    if known {
        row.extend([largest(|it| it.consumer_risk), largest(|it| it.producer_risk)]);
    }
    row
}
