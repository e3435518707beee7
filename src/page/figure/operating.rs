//! The probability of acceptance over the true error, one curve per rule: the budget's own thick, the others
//! told apart by the way they are broken and by a letter that a thin line leads to.

use super::leaders::leaders;
use super::{Axis, Figure, Key, Mark, Sample, Side, Stroke, given, in_unit, place};
use crate::page::{numbers, words};
use crate::record::{Acceptances, Alternative, Point, Section};

/// The most curves that are drawn.
const MOST: usize = 9;
/// Letters in the curves.
const LETTERS: [&str; MOST] = ["a", "b", "c", "d", "e", "f", "g", "h", "i"];

/// Curves that are nowhere further apart than this are said to be close.
const CLOSE: f64 = 0.1;

/// Curves that are the same, with a letter.
struct Group<'a> {
    all: Vec<&'a Acceptances>,
    letter: &'static str,
    stroke: Stroke,
}

/// Returns the picture of a point; `None` where the record has no curve there.
pub fn operating_curve(section: &Section, point: &Point) -> Option<Figure> {
    let found = point.decision.as_ref()?.operating_curve.as_ref()?;
    let errors = &found.true_errors;
    let range = [*errors.first()?, *errors.last()?];
    let groups = groups(&found.curves);
    let unit = &section.budget.measurand.unit;
    let mut marks = Vec::new();
    let limits = point.tolerance.as_ref().map(|it| [it.lower, it.upper]);
    for limit in limits.into_iter().flatten().flatten() {
        let points = vec![[limit, 0.0], [limit, 1.1]];
        marks.push(Mark::Line { points, stroke: Stroke::Thin });
        let text = format!("limit {}", given(limit, unit)).into();
        marks.push(Mark::Label { at: [limit, 1.1], text, side: Side::Above });
    }
    let lettered = groups.len() > 1;
    let line = |it: &Group| -> Vec<[f64; 2]> {
        let probabilities = it.all.first().map_or(&[][..], |it| &it.probabilities);
        errors.iter().zip(probabilities).map(|(x, p)| [*x, *p]).collect()
    };
    // The budget's own last: thin lines beside it stay whole, and it is not covered.
    for group in groups.iter().rev() {
        marks.push(Mark::Line { points: line(group), stroke: group.stroke });
    }
    if lettered {
        let curves: Vec<_> = groups.iter().map(|it| (line(it), it.letter)).collect();
        let upright: Vec<f64> = limits.into_iter().flatten().flatten().collect();
        marks.extend(leaders(&curves, range, &upright));
    }
    let symbol = &section.budget.measurand.symbol;
    let mut up = Axis::numbers("probability of acceptance in %", [0.0, 1.1]);
    up.ticks = [0.0, 0.25, 0.5, 0.75, 1.0].map(per_cent).to_vec();
    Some(Figure {
        name: "operating-curve",
        title: format!("Probability of acceptance{}", place(point)).into(),
        description: description(section, point, &groups).into(),
        across: Axis::numbers(in_unit(&format!("true {symbol}"), unit), range),
        up,
        height: 440.0,
        marks,
        key: groups.iter().map(|it| key(it, unit, lettered)).collect(),
        hills: None,
    })
}

fn per_cent(at: f64) -> super::Tick {
    super::Tick { at, text: format!("{}", 100.0 * at).into() }
}

/// The curves, the budget's own first, equal ones together.
fn groups(curves: &[Acceptances]) -> Vec<Group<'_>> {
    let (own, others): (Vec<_>, Vec<_>) = curves.iter().partition(|it| it.own);
    let mut groups: Vec<Group> = Vec::new();
    for curve in own.into_iter().chain(others) {
        let same = |it: &&mut Group| {
            it.all.first().is_some_and(|first| first.probabilities == curve.probabilities)
        };
        if let Some(group) = groups.iter_mut().find(same) {
            group.all.push(curve);
            continue;
        }
        let index = groups.len();
        let Some(&letter) = LETTERS.get(index) else { break };
        let broken =
            if groups.iter().any(|it| it.stroke == Stroke::Thick) { index - 1 } else { index };
        let stroke =
            if curve.own { Stroke::Thick } else { Stroke::Broken(broken % Stroke::STYLES) };
        groups.push(Group { all: vec![curve], letter, stroke });
    }
    groups
}

fn key(group: &Group, unit: &str, lettered: bool) -> Key {
    let letter = if lettered { format!("{}  ", group.letter) } else { String::new() };
    let text = format!("{letter}{}", names(group, unit)).into();
    Key { sample: Sample::Line(group.stroke), text }
}

/// The rules of a group in words.
fn names(group: &Group, unit: &str) -> String {
    let one = |it: &&Acceptances| {
        let band =
            it.asked.as_ref().map_or(String::new(), |it| format!(", {}", words::band(it, unit)));
        let own = if it.own { " (this budget)" } else { "" };
        format!("{}{band}{own}", it.rule.word())
    };
    group.all.iter().map(one).collect::<Vec<_>>().join("; ")
}

fn description(section: &Section, point: &Point, groups: &[Group]) -> String {
    let unit = &section.budget.measurand.unit;
    let each = groups.iter().map(|group| {
        let accepts = group.all.first().is_some_and(|it| it.acceptance.is_some());
        let limits = match (accepts, printed(group, point)) {
            (false, _) => "accepts nothing".to_owned(),
            (true, Some(limits)) => {
                format!("accepts {limits}, so that an error there passes half the time")
            }
            (true, None) => "an error at its acceptance limits passes half the time".to_owned(),
        };
        let same = if group.all.len() > 1 { " (the same curve)" } else { "" };
        let names = names(group, unit);
        format!("{names}{same}: {limits}")
    });
    let tolerance =
        point.tolerance.as_ref().map(|it| format!(" Tolerance {}.", numbers::minus(&it.text)));
    let mut each = each.collect::<Vec<_>>().join(". ");
    for (index, group) in groups.iter().enumerate() {
        for other in &groups[index + 1..] {
            let apart = apart(group, other);
            if apart < CLOSE {
                let (one, other) = (names(group, unit), names(other, unit));
                let points = (100.0 * apart).ceil();
                each += &format!(
                    ". {one} and {other} nearly coincide: never more than {points} percentage points apart"
                );
            }
        }
    }
    format!(
        "How probable it is that a reading passes, over the true error.{} {each}.",
        tolerance.unwrap_or_default(),
    )
}

/// The acceptance limits of a group as the tables print them: those of the decision or of a compared rule, never
/// rounded anew; `None` where the record does not print them.
fn printed(group: &Group, point: &Point) -> Option<String> {
    let decision = point.decision.as_ref()?;
    let own = group.all.iter().any(|it| it.own).then_some(decision.printed.as_ref()).flatten();
    let rows = || decision.comparison.iter().flatten();
    let same = |row: &Alternative, it: &Acceptances| row.rule == it.rule && row.asked == it.asked;
    let compared = || rows().find(|row| group.all.iter().any(|it| same(row, it)));
    own.or_else(|| compared()?.printed.as_ref()).map(words::printed)
}

/// The largest difference between two curves.
fn apart(one: &Group, other: &Group) -> f64 {
    let probabilities = |it: &Group| it.all.first().map(|it| it.probabilities.clone());
    let (one, other) = (probabilities(one), probabilities(other));
    let pairs = one.iter().flatten().zip(other.iter().flatten());
    pairs.map(|(p, q)| (p - q).abs()).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::figure::Shape;
    use crate::record::{Acceptance, OperatingCurve, Rule, sample};

    fn section(limits: &[f64]) -> Section {
        let mut section = sample::judged().sections[0].clone();
        let true_errors: Vec<f64> = (-60..=60).map(|it| 0.1 * f64::from(it)).collect();
        let curve = |(index, limit): (usize, &f64)| Acceptances {
            rule: if index == 0 { Rule::Guarded } else { Rule::Simple },
            asked: None,
            own: index == 0,
            acceptance: Some(Acceptance { lower: Some(-limit), upper: Some(*limit) }),
            // Invented: a hump that falls from 1 to 0 within 1 of the limit.
            probabilities: true_errors
                .iter()
                .map(|it| (0.5 * (limit + 1.0 - it.abs())).clamp(0.0, 1.0))
                .collect(),
        };
        let curves = limits.iter().enumerate().map(curve).collect();
        let decision = section.points[0].decision.as_mut().unwrap();
        decision.operating_curve = Some(OperatingCurve { true_errors, curves });
        section
    }

    fn found_printed(section: &Section) -> String {
        words::printed(section.points[0].decision.as_ref().unwrap().printed.as_ref().unwrap())
    }

    /// The limits in full precision had been rounded to three digits here, outwards for some.
    #[test]
    fn limits_have_the_letters_of_the_tables_or_none() {
        let mut section = section(&[2.5364, 3.0364]);
        let decision = section.points[0].decision.as_mut().unwrap();
        let paper = |lower: &str, upper: &str| crate::record::PrintedLimits {
            lower: Some(lower.into()),
            upper: Some(upper.into()),
            guard_band: "1".into(),
            unit: "µm".into(),
        };
        decision.printed = Some(paper("−2.53", "2.53"));
        let other = decision.comparison.as_mut().unwrap();
        (other[1].rule, other[1].asked) = (Rule::Simple, None);
        other[1].printed = Some(paper("−3.03", "3.03"));
        let said = |section: &Section| {
            operating_curve(section, &section.points[0]).unwrap().description.as_str().to_owned()
        };
        let all = said(&section);
        assert!(all.contains("guarded (this budget): accepts −2.53 to 2.53\u{a0}µm"), "{all}");
        assert!(all.contains("simple: accepts −3.03 to 3.03\u{a0}µm"), "{all}");
        section.points[0].decision.as_mut().unwrap().comparison = None;
        let all = said(&section);
        assert!(all.contains("simple: an error at its acceptance limits passes"), "{all}");
    }

    #[test]
    fn a_single_curve_needs_no_letter_and_is_drawn_whole() {
        let section = section(&[2.5]);
        let figure = operating_curve(&section, &section.points[0]).unwrap();
        let thick = figure.marks.iter().find_map(|it| match it {
            Mark::Line { points, stroke: Stroke::Thick } => Some(points.clone()),
            _ => None,
        });
        let found = section.points[0].decision.as_ref().unwrap().operating_curve.clone().unwrap();
        let pairs = found.true_errors.iter().zip(&found.curves[0].probabilities);
        assert_eq!(thick.unwrap(), pairs.map(|(x, p)| [*x, *p]).collect::<Vec<_>>());
        let paper = found_printed(&section);
        assert!(figure.description.as_str().contains(&format!("accepts {paper}, so")));
    }

    #[test]
    fn nine_curves_have_letters_and_styles_of_their_own() {
        let limits = [2.5, 4.0, 3.0, 3.5, 2.0, 1.5, 1.0, 4.5, 2.2];
        let section = section(&limits);
        let figure = operating_curve(&section, &section.points[0]).unwrap();
        assert_eq!(figure.key.len(), 9);
        for (index, key) in figure.key.iter().enumerate() {
            assert!(key.text.as_str().starts_with(LETTERS[index]), "{key:?}");
            let same = figure.key.iter().filter(|it| it.sample == key.sample);
            assert_eq!(same.count(), 1, "{key:?}");
        }
        let letters =
            figure.marks.iter().filter(|it| matches!(it, Mark::Label { side: Side::Right, .. }));
        assert_eq!(letters.count(), 9);
        let spots =
            figure.marks.iter().filter(|it| matches!(it, Mark::Sign { shape: Shape::Spot, .. }));
        assert_eq!(spots.count(), 9);
        let broken = figure.marks.iter().filter_map(|it| match it {
            Mark::Line { points, stroke: Stroke::Broken(_) | Stroke::Thick } => Some(points.len()),
            _ => None,
        });
        assert!(broken.eq([121; 9]), "each curve is whole");
        assert_eq!(figure.key[0].sample, Sample::Line(Stroke::Thick));
    }

    #[test]
    fn equal_curves_share_a_line_and_both_are_named() {
        let section = section(&[2.5, 2.5, 4.0]);
        let figure = operating_curve(&section, &section.points[0]).unwrap();
        assert_eq!(figure.key.len(), 2);
        assert_eq!(figure.key[0].text.as_str(), "a  guarded (this budget); simple");
        let said = figure.description.as_str();
        assert!(said.contains("guarded (this budget); simple (the same curve): accepts"), "{said}");
        assert!(!said.contains("nearly coincide"), "{said}");
    }

    /// The sample's curves are straight with a slope of ½: limits 0.1 apart are 5 points apart.
    #[test]
    fn curves_that_are_hard_to_tell_apart_are_named() {
        let section = section(&[2.5, 2.6, 4.0]);
        let figure = operating_curve(&section, &section.points[0]).unwrap();
        let said = figure.description.as_str();
        let expected = "guarded (this budget) and simple nearly coincide: never more than ";
        assert_eq!(said.matches("nearly coincide").count(), 1, "{said}");
        assert!(said.contains(expected), "{said}");
        let points = said.split(expected).nth(1).unwrap().split(' ').next().unwrap();
        assert!(points == "5" || points == "6", "5 but for rounding: {points}");
    }
}
