//! The picture of all points in words.

use super::{Decision, Point, Rule, Section, cut, errors, given, numbers, short, verdict, words};

/// Returns what a reader who cannot see the picture has to know, `range` being that of its values.
pub(super) fn description(section: &Section, range: [f64; 2]) -> String {
    let unit = &section.budget.measurand.unit;
    let count = section.points.len();
    let mut said = format!("{count} {}", if count == 1 { "point" } else { "points" });
    said +=
        &words::common_tolerance(section).map_or(String::new(), |it| format!(", tolerance {it}"));
    said += &accepted(section).map_or(String::new(), |it| format!(", accepted: {it}"));
    let us = section.points.iter().map(|it| it.expanded_uncertainty);
    let largest = us.fold(0.0, f64::max);
    said += &format!(", U up to {}.", short(largest, unit));
    said += &rejected(section);
    for point in &section.points {
        let name = words::point_name(point);
        said += &match verdict(point) {
            Some(verdict) => {
                let error = numbers::joined(&numbers::value(point.estimate, 0), unit);
                format!(" {name}: {error}, {}.", verdict.word())
            }
            None => format!(" {name}: U = {}.", short(point.expanded_uncertainty, unit)),
        };
    }
    said + &cut_off(section, range)
}

/// The acceptance limits as the tables print them, where all points share them.
fn accepted(section: &Section) -> Option<String> {
    let decision = |it: &Point| it.decision.as_ref().map(words::acceptance);
    let mut all = section.points.iter().map(decision);
    let first = all.next()??;
    Some(if all.all(|it| it.as_ref() == Some(&first)) { first } else { "differs by point".into() })
}

/// What the zones beyond the tolerance are, of the rules that have some. Their printed limits are not in the record,
/// so that they are told by the guard band.
fn rejected(section: &Section) -> String {
    let decisions = || section.points.iter().filter_map(|it| it.decision.as_ref());
    let has = |rule: Option<Rule>| decisions().any(|it: &Decision| it.rule == rule);
    let mut said = String::new();
    if has(Some(Rule::ThreeWay)) {
        said += " Three-way: within the guard band on either side of a tolerance limit, up to the rejection limit, \
                 a reading is undecided.";
    }
    if has(Some(Rule::FourWay)) {
        said += " Four-way: within the guard band inside a tolerance limit a reading is a conditional pass, beyond \
                 it as far as the guard band, up to the rejection limit, a conditional fail.";
    }
    if has(None) {
        said += " Where no rule applies a reading within the tolerance is undecided.";
    }
    said
}

/// What lies beyond the edges of the picture.
fn cut_off(section: &Section, range: [f64; 2]) -> String {
    let unit = &section.budget.measurand.unit;
    let mut all = Vec::new();
    for point in &section.points {
        let name = words::point_name(point);
        let out = errors(point).into_iter().filter(|it| *it < range[0] || range[1] < *it);
        all.extend(out.map(|it| format!("{name}: {}", given(it, unit))));
        let [low, high] = point.interval;
        if cut(point, range).contains(&true) && low <= range[1] && range[0] <= high {
            let ends = [low, high].map(|it| numbers::value(it, 0));
            let ends = format!("{} to {}", ends[0], numbers::joined(&ends[1], unit));
            all.push(format!("{name}: the coverage interval, {ends}"));
        }
    }
    if all.is_empty() {
        return String::new();
    }
    format!(" Beyond the edges of the picture: {}.", all.join("; "))
}
