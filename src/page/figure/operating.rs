//! The probability of acceptance over the true error, one curve per rule: the budget's own thick, the others
//! told apart by the way they are broken and by a letter in each.

use super::{Axis, Figure, Key, Mark, Sample, Side, Stroke, in_unit, place, short};
use crate::page::{numbers, words};
use crate::record::{Acceptances, Point, Section};

/// The most curves that are drawn.
const MOST: usize = 9;
/// Letters in the curves.
const LETTERS: [&str; MOST] = ["a", "b", "c", "d", "e", "f", "g", "h", "i"];

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
        let text = format!("limit {}", short(limit, unit)).into();
        marks.push(Mark::Label { at: [limit, 1.1], text, side: Side::Above });
    }
    let lettered = groups.len() > 1;
    let line = |it: &Group| -> Vec<[f64; 2]> {
        let probabilities = it.all.first().map_or(&[][..], |it| &it.probabilities);
        errors.iter().zip(probabilities).map(|(x, p)| [*x, *p]).collect()
    };
    let spot = |(index, group): (usize, &Group)| {
        let level = 0.88 - 0.76 * index as f64 / groups.len().max(2) as f64;
        if lettered { falls_through(&line(group), level) } else { None }
    };
    let spots: Vec<Option<[f64; 2]>> = groups.iter().enumerate().map(spot).collect();
    let open: Vec<[f64; 2]> = spots.iter().flatten().copied().collect();
    let gap = 0.022 * (range[1] - range[0]);
    for (group, spot) in groups.iter().zip(&spots) {
        marks.extend(with_gaps(&line(group), &open, gap, group.stroke));
        marks.extend(spot.map(|at| {
            let text = group.letter.into();
            Mark::Label { at, text, side: Side::On }
        }));
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

/// Where a curve last falls through a level; otherwise where it first rises through it.
fn falls_through(points: &[[f64; 2]], level: f64) -> Option<[f64; 2]> {
    let crossing = |pair: &[[f64; 2]]| {
        let ([x, p], [y, q]) = (pair[0], pair[1]);
        let part = (p - level) / (p - q);
        [x + part * (y - x), level]
    };
    let falls = |it: &&[[f64; 2]]| it[0][1] > level && it[1][1] <= level;
    let rises = |it: &&[[f64; 2]]| it[0][1] <= level && it[1][1] > level;
    let fall = points.windows(2).rev().find(falls);
    fall.or_else(|| points.windows(2).find(rises)).map(crossing)
}

/// A curve, left open about the places of letters.
fn with_gaps(points: &[[f64; 2]], open: &[[f64; 2]], gap: f64, stroke: Stroke) -> Vec<Mark> {
    let close = |it: &[f64; 2]| {
        open.iter().any(|spot| {
            let (x, p) = ((it[0] - spot[0]) / gap, (it[1] - spot[1]) / 0.05);
            x * x + p * p < 1.0
        })
    };
    let pieces = points.split(close).filter(|it| it.len() > 1);
    pieces.map(|it| Mark::Line { points: it.to_vec(), stroke }).collect()
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
        let accepted = group.all.first().and_then(|it| it.acceptance.as_ref());
        let limits = match accepted.map(|it| (it.lower, it.upper)) {
            Some((Some(low), Some(high))) => {
                format!("accepts {} to {}", numbers::short(low), short(high, unit))
            }
            Some((Some(low), None)) => format!("accepts from {}", short(low, unit)),
            Some((None, Some(high))) => format!("accepts up to {}", short(high, unit)),
            Some((None, None)) => "accepts everything".to_owned(),
            None => "accepts nothing".to_owned(),
        };
        format!("{}: {limits}, so that an error there passes half the time", names(group, unit))
    });
    let tolerance =
        point.tolerance.as_ref().map(|it| format!(" Tolerance {}.", numbers::minus(&it.text)));
    let each = each.collect::<Vec<_>>().join(". ");
    format!(
        "How probable it is that a reading passes, over the true error.{} {each}.",
        tolerance.unwrap_or_default(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
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
        assert!(figure.description.as_str().contains("accepts −2.5 to 2.5\u{a0}µm"));
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
            figure.marks.iter().filter(|it| matches!(it, Mark::Label { side: Side::On, .. }));
        assert_eq!(letters.count(), 9);
        assert_eq!(figure.key[0].sample, Sample::Line(Stroke::Thick));
    }

    #[test]
    fn equal_curves_share_a_line_and_both_are_named() {
        let section = section(&[2.5, 2.5, 4.0]);
        let figure = operating_curve(&section, &section.points[0]).unwrap();
        assert_eq!(figure.key.len(), 2);
        assert_eq!(figure.key[0].text.as_str(), "a  guarded (this budget); simple");
    }

    /// By hand: from 0.8 to 0.4 between 1 and 2 the level 0.5 is three quarters of the way.
    #[test]
    fn a_letter_stands_where_its_curve_falls() {
        let points = [[0.0, 0.0], [0.5, 1.0], [1.0, 0.8], [2.0, 0.4], [3.0, 0.0]];
        let [x, level] = falls_through(&points, 0.5).unwrap();
        assert!((x - 1.75).abs() < 1e-12 && level == 0.5);
        assert_eq!(falls_through(&points[..2], 0.5), Some([0.25, 0.5]));
        assert_eq!(falls_through(&points, 1.5), None);
    }
}
