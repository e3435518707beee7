//! The decision rule of a report in words: what passes, who agreed to it, and what it risks.

use crate::page::{Block, Text, compare, coverage, numbers, words};
use crate::record::{Decision, Rule, Scope, Section};

/// Returns the rule, its agreement and its risks, with a heading; nothing without a decision.
pub(super) fn blocks(section: &Section) -> Vec<Block> {
    let Some(asked) = &section.budget.decision else { return Vec::new() };
    let decisions: Vec<&Decision> =
        section.points.iter().filter_map(|it| it.decision.as_ref()).collect();
    let unit = &section.budget.measurand.unit;
    let of = coverage::of_guard_band(section);
    let band = asked.guard_band.as_ref().map(|it| words::band(it, unit) + of);
    let mut text = in_words(asked.rule, band.as_deref());
    text += match asked.uncertainty {
        Scope::All => " All contributors count in the uncertainty of the decision.",
        Scope::Laboratory => {
            " The laboratory's contributors alone count; what the instrument adds is part of the error that \
             it is judged for."
        }
    };
    if let Some(requires) = &asked.requires {
        let tur = numbers::short(requires.tur);
        text += &match requires.otherwise {
            Some(rule) => format!(
                " A TUR of {tur} is required; where it is not met the rule is {}.",
                rule.word()
            ),
            None => format!(" A TUR of {tur} is required; where it is not met nothing passes."),
        };
    }
    let agreed = asked
        .agreed
        .as_deref()
        .unwrap_or("not stated: the rule has to be agreed with the customer");
    let mut pairs: Vec<(Text, Text)> = vec![("agreed".into(), agreed.into())];
    pairs.extend(risks(&decisions));
    let known = decisions.iter().find_map(|it| it.population.as_ref());
    pairs.extend(
        known.map(|it| ("such instruments".into(), compare::population(section, it).into())),
    );
    vec![
        Block::Heading(format!("Decision rule: {}", asked.rule.word()).into()),
        Block::plain(text),
        Block::Pairs(pairs),
    ]
}

/// Returns what a rule passes.
fn in_words(rule: Rule, band: Option<&str>) -> String {
    let band = band.map_or(String::new(), |it| format!(" (guard band {it})"));
    match rule {
        Rule::Simple => {
            "A result passes within the tolerance, limits included; laboratory and customer share the risk.".into()
        }
        Rule::Guarded => format!("A result passes within the tolerance less the guard band{band}; beyond that it fails."),
        Rule::Relaxed => format!("A result passes within the tolerance and the guard band outside it{band}; beyond that it fails."),
        Rule::ThreeWay => format!(
            "A result passes within the tolerance less the guard band{band}, fails beyond the tolerance and the \
             guard band, and is undecided between."
        ),
        Rule::FourWay => format!(
            "A result passes within the tolerance less the guard band{band} and fails beyond the tolerance and the \
             guard band; between, the tolerance limit parts conditional pass from conditional fail."
        ),
    }
}

/// Returns the greatest risks over the points.
fn risks(decisions: &[&Decision]) -> Vec<(Text, Text)> {
    let greatest = |of: fn(&Decision) -> Option<f64>| {
        decisions.iter().filter_map(|it| of(it)).reduce(f64::max).map(numbers::risk)
    };
    let mut pairs: Vec<(Text, Text)> = Vec::new();
    pairs.extend(greatest(|it| it.limit_risk).map(|it| {
        (
            "risk of a pass".into(),
            format!("at most {it} that the true value lies outside the tolerance").into(),
        )
    }));
    pairs.extend(greatest(|it| it.consumer_risk).map(|it| {
        (
            "consumer's risk".into(),
            format!("{it} of all such instruments are outside and pass").into(),
        )
    }));
    pairs.extend(greatest(|it| it.producer_risk).map(|it| {
        (
            "producer's risk".into(),
            format!("{it} of all such instruments are inside and do not pass").into(),
        )
    }));
    pairs
}
