//! Phrases and blocks that several pages share.

use super::{Block, Note, Text, numbers};
use crate::record::{
    At, Decision, Finding, GuardBand, GuardBandKind, Point, PrintedLimits, Record, Rule, Scope,
    Section, Severity,
};

/// Returns a point's name for a table or a heading: `10.3 mm`, `25 mm, upper end`; `result` in a
/// budget without points.
pub(super) fn point_name(point: &Point) -> String {
    let place = point.at.as_ref().map(at);
    match (place, &point.label) {
        (Some(place), Some(label)) => format!("{place}, {label}"),
        (Some(place), None) => place,
        (None, Some(label)) => label.clone(),
        (None, None) => "result".into(),
    }
}

fn at(at: &At) -> String {
    numbers::joined(&at.text, &at.unit)
}

/// Returns the title of a budget, with the number and revision of its document.
pub(super) fn budget_title(section: &Section) -> String {
    let number = document(section).map(|it| format!(" ({it})"));
    format!("{}{}", section.budget.title, number.unwrap_or_default())
}

/// Returns the number of a budget's document, with its revision.
fn document(section: &Section) -> Option<String> {
    let document = &section.budget.document;
    document.get("number").map(|number| match document.get("revision") {
        Some(revision) => format!("{number}, revision {revision}"),
        None => number.to_owned(),
    })
}

/// Returns what a page is filed as: the number of its certificate, and those of its budgets; nothing without one.
pub(super) fn filed(record: &Record) -> Option<Block> {
    let certificate = record.worksheet.as_ref().and_then(|it| it.instrument.get("certificate"));
    let mut all: Vec<String> = certificate.map(str::to_owned).into_iter().collect();
    all.extend(record.sections.iter().filter_map(document));
    all.dedup();
    (!all.is_empty()).then(|| Block::Filed(all.join("; ").into()))
}

/// Returns what is measured, in which unit.
pub(super) fn measurand(section: &Section) -> String {
    let measurand = &section.budget.measurand;
    let unit = if measurand.unit == "1" { "a plain number" } else { &measurand.unit };
    format!("{} {}, in {unit}", measurand.name, measurand.symbol)
}

/// Returns the measurand's symbol with its unit: `E in µm`.
pub(super) fn measurand_short(section: &Section) -> String {
    let measurand = &section.budget.measurand;
    match measurand.unit.as_str() {
        "1" => measurand.symbol.clone(),
        unit => format!("{} in {unit}", measurand.symbol),
    }
}

/// Returns whether the tolerance is not the same at all points.
pub(super) fn tolerance_differs(section: &Section) -> bool {
    let text = |point: &Point| point.tolerance.as_ref().map(|it| it.text.clone());
    section.points.windows(2).any(|it| text(&it[0]) != text(&it[1]))
}

/// Returns the tolerance that all points share, or says that it differs; `None` where no point has
/// one.
pub(super) fn common_tolerance(section: &Section) -> Option<String> {
    let mut texts =
        section.points.iter().map(|it| it.tolerance.as_ref().map(|it| it.text.as_str()));
    let first = texts.next()?;
    if texts.all(|text| text == first) {
        first.map(numbers::minus)
    } else {
        Some("differs by point".into())
    }
}

/// Returns how far readings of a point may lie apart: once where it is the same at all points.
pub(super) fn repeatability(section: &Section) -> Option<String> {
    let unit = &section.budget.measurand.unit;
    let limits: Vec<(String, f64)> =
        section.points.iter().filter_map(|it| Some((point_name(it), it.repeatability?))).collect();
    let text = |it: f64| numbers::joined(&numbers::value(it, 0), unit);
    let (_, first) = limits.first()?;
    if limits.iter().all(|it| it.1 == *first) {
        return Some(format!("readings of a point at most {} apart", text(*first)));
    }
    let each: Vec<String> =
        limits.iter().map(|(name, it)| format!("{} at {name}", text(*it))).collect();
    Some(format!("readings of a point at most so far apart: {}", each.join(", ")))
}

/// Returns the decision that the budget asks for: rule, guard band, scope, requirement, agreement.
pub(super) fn decision_asked(section: &Section) -> Option<String> {
    let decision = section.budget.decision.as_ref()?;
    let mut phrase = format!("rule {}", decision.rule.word());
    if let Some(band) = &decision.guard_band {
        let of = super::coverage::of_guard_band(section);
        phrase += &format!(", guard band {}{of}", self::band(band, &section.budget.measurand.unit));
    }
    phrase += &format!(", {}", scope(decision.uncertainty));
    if let Some(requires) = &decision.requires {
        phrase += &format!(", requires TUR {}", numbers::short(requires.tur));
        if let Some(rule) = requires.otherwise {
            phrase += &format!(" (otherwise {})", rule.word());
        }
    }
    phrase += &match &decision.agreed {
        Some(agreed) => format!("; agreed: {agreed}"),
        None => "; agreed: not stated".into(),
    };
    Some(phrase)
}

/// Returns how a guard band is found: `1·U`, `for a risk of 5 %`.
pub(super) fn band(band: &GuardBand, unit: &str) -> String {
    let value = band.value;
    match band.kind {
        GuardBandKind::TimesU => format!("{}·U", numbers::short(value)),
        GuardBandKind::Width => numbers::with_unit(&value.to_string(), unit),
        GuardBandKind::SpecificRisk => format!("for a risk of {}", numbers::probability(value)),
        GuardBandKind::ConsumerRisk => {
            format!("for a consumer's risk of {}", numbers::probability(value))
        }
        GuardBandKind::Quadrature => "by quadrature of T and U".into(),
        GuardBandKind::TwoPercent => "for 2 % by a fit over the TUR".into(),
    }
}

/// Returns what a scope counts.
pub(super) fn scope(scope: Scope) -> &'static str {
    match scope {
        Scope::All => "all contributors",
        Scope::Laboratory => "the laboratory's contributors only",
    }
}

/// Returns the rule that applies at a point.
pub(super) fn rule(decision: &Decision) -> &'static str {
    match decision.rule {
        Some(rule) => rule.word(),
        None => "none: the requirement is not met",
    }
}

/// Returns the heading of the acceptance limits: `passes if E is`.
pub(super) fn passes_if(section: &Section) -> String {
    format!("passes if {} is", section.budget.measurand.symbol)
}

/// Returns the acceptance limits of a decision as one phrase.
pub(super) fn acceptance(decision: &Decision) -> String {
    let Some(printed) = &decision.printed else {
        return "nothing can be passed".into();
    };
    self::printed(printed)
}

/// Returns printed acceptance limits as one phrase.
pub(super) fn printed(printed: &PrintedLimits) -> String {
    let value = |text: &String| numbers::joined(text, &printed.unit);
    match (&printed.lower, &printed.upper) {
        (Some(lower), Some(upper)) => format!("{lower} to {}", value(upper)),
        (Some(lower), None) => format!("at least {}", value(lower)),
        (None, Some(upper)) => format!("at most {}", value(upper)),
        (None, None) => "no limit".into(),
    }
}

/// Returns the guard band of a decision with its unit; `none` under a rule without one.
pub(super) fn guard_band(decision: &Decision) -> String {
    match &decision.printed {
        _ if decision.rule == Some(Rule::Simple) => "none".into(),
        // The requirement is not met and nothing stands in for the rule: no zone has a guard band.
        _ if decision.rule.is_none() => "none".into(),
        Some(printed) => numbers::joined(&printed.guard_band, &printed.unit),
        None => "wider than the tolerance".into(),
    }
}

/// Returns what is not stated at a point and why, equal reasons joined: what, reason.
pub(super) fn not_stated(point: &Point) -> Vec<(String, String)> {
    let mut joined: Vec<(String, String)> = Vec::new();
    for it in &point.reasons {
        match joined.iter_mut().find(|(_, reason)| *reason == it.reason) {
            Some((what, _)) => *what = format!("{what}; {}", field(&it.field)),
            None => joined.push((field(&it.field), it.reason.clone())),
        }
    }
    joined
}

/// Returns whether a reason is about the tolerance-to-uncertainty ratio.
pub(super) fn is_about_tur(field: &str) -> bool {
    field.starts_with("test.") && field.ends_with(".tur")
}

/// Returns the name of a field of the record in words.
fn field(path: &str) -> String {
    match path {
        "test.all.tur" => "TUR, all contributors".into(),
        "test.laboratory.tur" => "TUR, laboratory only".into(),
        "second_order_standard_uncertainty" => "u to second order".into(),
        other => other.replace(['.', '_'], " "),
    }
}

/// Returns the reason of a verdict as running text.
pub(super) fn reason(section: &Section, reason: &str) -> String {
    numbers::kept_together(reason, &section.budget.measurand.unit)
}

/// Returns the findings as a block, most important first; nothing where there are none.
pub(super) fn findings(record: &Record) -> Option<Block> {
    let mut sorted: Vec<&Finding> = record.findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let notes: Vec<Note> = sorted.into_iter().map(note).collect();
    (!notes.is_empty()).then_some(Block::Findings(notes))
}

fn note(finding: &Finding) -> Note {
    let message = match &finding.about {
        Some(about) => format!("{about}: {}", finding.message),
        None => finding.message.clone(),
    };
    Note {
        severity: Text::from(Severity::word(finding.severity)),
        message: message.into(),
        help: finding.help.as_deref().unwrap_or_default().into(),
        place: finding.place.as_deref().unwrap_or_default().into(),
    }
}

/// Returns what every page has to say at its foot.
pub(super) fn cautions() -> Block {
    let text = "Surebound works out figures; it does not decide what applies. The laboratory's approved \
                procedure, the rule agreed with the customer, competent review and local codes come first.";
    Block::Cautions(vec![text.into()])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Reason, sample};

    fn reason(field: &str, reason: &str) -> Reason {
        Reason { field: field.into(), reason: reason.into() }
    }

    #[test]
    fn says_in_words_what_is_not_stated_and_joins_equal_reasons() {
        let mut point = sample::judged().sections[0].points[0].clone();
        point.reasons = vec![
            reason("test.all.tur", "one-sided"),
            reason("test.laboratory.tur", "one-sided"),
            reason("second_order_standard_uncertainty", "no derivative"),
        ];
        let expected = [
            ("TUR, all contributors; TUR, laboratory only", "one-sided"),
            ("u to second order", "no derivative"),
        ];
        let expected = expected.map(|(what, why)| (what.to_owned(), why.to_owned()));
        assert_eq!(not_stated(&point), expected);
    }

    /// Without a rule no zone has a guard band: it would be false to call it wider than the tolerance.
    #[test]
    fn names_no_guard_band_where_a_requirement_is_not_met() {
        let mut decision = sample::judged().sections[0].points[0].decision.clone().unwrap();
        decision.printed = None;
        assert_eq!(guard_band(&decision), "wider than the tolerance");
        decision.rule = None;
        assert_eq!(guard_band(&decision), "none");
    }
}
