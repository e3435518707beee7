//! Where the true value may lie at a judged point: the density about the reading, with tolerance and
//! acceptance limits; what lies beyond the tolerance is the risk.

use super::hills::{height_at, steps, under};
use super::{
    Axis, Figure, Hatch, Key, Mark, Sample, Side, Stroke, around, density_in, given, in_unit,
    place, printed,
};
use crate::page::{numbers, words};
use crate::record::{Point, Section};

/// Returns the picture of a point; `None` where the record has no curve there.
pub fn density(section: &Section, point: &Point) -> Option<Figure> {
    let decision = point.decision.as_ref()?;
    let curve = decision.density_curve.as_ref()?;
    let measurand = &section.budget.measurand;
    let unit = &measurand.unit;
    let span = [curve.low, curve.high];
    let points = steps(span, &curve.heights);
    let largest = curve.heights.iter().copied().fold(0.0, f64::max);
    if largest <= 0.0 {
        return None;
    }
    let limits = point.tolerance.as_ref().map_or([None, None], |it| [it.lower, it.upper]);
    let accepted = decision.acceptance.as_ref().map_or([None, None], |it| [it.lower, it.upper]);
    // A limit that is many times further away than the density reaches would leave nothing of it to see.
    let width = curve.high - curve.low;
    let near = |it: &f64| *it > curve.low - 3.0 * width && *it < curve.high + 3.0 * width;
    let ends = span.into_iter().chain(limits.into_iter().chain(accepted).flatten().filter(near));
    let range = around(ends, 0.06);
    let level = |x: f64| height_at(span, &curve.heights, x);
    let mut marks = Vec::new();
    let risky = [
        limits[0].map(|it| [curve.low, it.min(curve.high)]),
        limits[1].map(|it| [it.max(curve.low), curve.high]),
    ];
    for [from, to] in risky.into_iter().flatten().filter(|it| it[0] < it[1]) {
        let outline = under(&points, from, to, &level);
        marks.push(Mark::Area { outline, hatch: Hatch::Falling, edge: false });
    }
    let top = 1.15 * largest;
    let mut upright = |x: f64, stroke: Stroke, text: String| {
        marks.push(Mark::Line { points: vec![[x, 0.0], [x, top]], stroke });
        marks.push(Mark::Label { at: [x, top], text: text.into(), side: Side::Above });
    };
    let inside = |it: &f64| range[0] <= *it && *it <= range[1];
    upright(point.estimate, Stroke::Thin, format!("reading {}", value(point.estimate, unit)));
    for limit in limits.into_iter().flatten().filter(inside) {
        upright(limit, Stroke::Thick, given(limit, unit));
    }
    // The letters are those of paper, rounded inwards; the line stands at the limit itself.
    for (limit, text) in accepted.into_iter().zip(printed(decision)) {
        let Some(limit) = limit.filter(inside).filter(|it| !limits.contains(&Some(*it))) else {
            continue;
        };
        upright(limit, Stroke::Broken(0), text.unwrap_or_else(|| "acceptance limit".to_owned()));
    }
    marks.push(Mark::Line { points, stroke: Stroke::Solid });
    let risk = decision.specific_risk.map(numbers::risk);
    Some(Figure {
        name: "density",
        title: format!("Where the true {} may lie{}", measurand.symbol, place(point)).into(),
        description: description(section, point).into(),
        across: Axis::numbers(in_unit(&format!("true {}", measurand.symbol), unit), range),
        up: Axis::numbers(density_in(unit), [0.0, top]),
        height: 400.0,
        key: key(&marks, risk),
        marks,
        hills: None,
    })
}

fn value(number: f64, unit: &str) -> String {
    numbers::joined(&numbers::value(number, 0), unit)
}

fn key(marks: &[Mark], risk: Option<String>) -> Vec<Key> {
    let line = |wanted| {
        marks.iter().any(|it| matches!(it, Mark::Line { stroke, .. } if *stroke == wanted))
    };
    let risk =
        risk.map_or("beyond the tolerance".to_owned(), |it| format!("beyond the tolerance: {it}"));
    let key = |sample, text: String| Key { sample, text: text.into() };
    let mut all = vec![key(Sample::Area(Hatch::Falling), risk)];
    if line(Stroke::Thick) {
        all.push(key(Sample::Line(Stroke::Thick), "tolerance limit".into()));
    }
    if line(Stroke::Broken(0)) {
        all.push(key(Sample::Line(Stroke::Broken(0)), "acceptance limit".into()));
    }
    all
}

fn description(section: &Section, point: &Point) -> String {
    let unit = &section.budget.measurand.unit;
    let mut said = format!("Reading {}", value(point.estimate, unit));
    said += &point
        .tolerance
        .as_ref()
        .map_or(String::new(), |it| format!(", tolerance {}", numbers::minus(&it.text)));
    let Some(decision) = &point.decision else { return said + "." };
    said += &format!("; accepted: {}", words::acceptance(decision));
    let risk = decision.specific_risk.map(|it| {
        format!(
            "; the true value lies outside the tolerance with a probability of {}",
            numbers::risk(it)
        )
    });
    said + &risk.unwrap_or_default() + "."
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{DensityCurve, sample};

    fn section(error: f64) -> Section {
        let mut section = sample::judged().sections[0].clone();
        let point = &mut section.points[0];
        point.estimate = error;
        let heights = (0..200).map(|it| 100.0 - (f64::from(it) - 99.5).abs()).collect();
        let curve = DensityCurve { low: error - 3.0, high: error + 3.0, heights };
        point.decision.as_mut().unwrap().density_curve = Some(curve);
        section
    }

    fn areas(figure: &Figure) -> Vec<Vec<[f64; 2]>> {
        let of = |it: &Mark| match it {
            Mark::Area { outline, .. } => Some(outline.clone()),
            _ => None,
        };
        figure.marks.iter().filter_map(of).collect()
    }

    /// The sample's tolerance is ±4: about 2 the density reaches to 5, so that only the upper limit cuts it.
    #[test]
    fn what_lies_beyond_a_limit_is_hatched() {
        let section = section(2.0);
        let figure = density(&section, &section.points[0]).unwrap();
        let areas = areas(&figure);
        assert_eq!(areas.len(), 1);
        assert!(areas[0].iter().all(|it| 4.0 <= it[0] && it[0] <= 5.0), "{areas:?}");
        assert!(figure.description.as_str().contains("1.3\u{20}%"), "{}", figure.description);
        assert!(figure.is_sound());
    }

    /// The label had been rounded to three digits on its own, outwards: 2.536 to 2.54, where tables say 2.53.
    #[test]
    fn acceptance_limits_have_the_letters_of_the_tables() {
        let mut section = section(2.0);
        let decision = section.points[0].decision.as_mut().unwrap();
        decision.acceptance = Some(crate::record::Acceptance { lower: None, upper: Some(2.536) });
        let paper = decision.printed.as_mut().unwrap();
        (paper.lower, paper.upper) = (None, Some("2.53".into()));
        let figure = density(&section, &section.points[0]).unwrap();
        let label = figure.marks.iter().find_map(|it| match it {
            Mark::Label { at, text, .. } if at[0] == 2.536 => Some(text.as_str().to_owned()),
            _ => None,
        });
        assert_eq!(label.as_deref(), Some("2.53\u{a0}µm"));
        assert!(figure.description.as_str().contains("at most 2.53\u{a0}µm"));
    }

    /// The sample's heights reach 100 per µm.
    #[test]
    fn both_axes_have_numbers_and_say_their_unit() {
        let section = section(2.0);
        let figure = density(&section, &section.points[0]).unwrap();
        assert_eq!(figure.across.title.as_str(), "true E in µm");
        assert_eq!(figure.up.title.as_str(), "density in 1/µm");
        let ticks =
            |axis: &Axis| axis.ticks.iter().map(|it| it.text.to_string()).collect::<Vec<_>>();
        assert_eq!(ticks(&figure.up), ["0", "20", "40", "60", "80", "100"]);
        assert_eq!(ticks(&figure.across), ["−4", "−2", "0", "2", "4"]);
    }

    #[test]
    fn a_reading_far_within_has_no_hatching_and_one_far_outside_is_all_hatched() {
        let inside = section(0.0);
        assert!(areas(&density(&inside, &inside.points[0]).unwrap()).is_empty());
        let outside = section(50.0);
        let figure = density(&outside, &outside.points[0]).unwrap();
        let [area] = areas(&figure).try_into().unwrap();
        assert_eq!((area[0][0], area[area.len() - 1][0]), (47.0, 53.0));
        assert!(figure.across.range[0] > 0.0, "the limits are too far away to be shown");
    }

    #[test]
    fn nothing_is_drawn_without_a_curve() {
        let section = &sample::shown().sections[0];
        assert_eq!(density(section, &section.points[0]), None);
    }
}
