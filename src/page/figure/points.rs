//! All points of a section against tolerance and acceptance zone: every reading, the reported one with its
//! interval; without readings the interval about the estimate.

use super::{Axis, in_unit, short};
use super::{Figure, Hatch, Key, Mark, Sample, Shape, Side, Stroke, around, axis_of_points};
use crate::page::{numbers, words};
use crate::record::{Acceptance, Decision, Point, Section, Verdict};

/// How far a reading may lie beyond the limits, in spans between them, before it is drawn at the edge.
const FAR: f64 = 0.75;

/// Returns the picture; `None` without a point.
pub fn points(section: &Section) -> Option<Figure> {
    section.points.first()?;
    let measurand = &section.budget.measurand;
    let range = range(section);
    let mut marks = Vec::new();
    let zero = [axis_end(0.0), axis_end(section.points.len() as f64)].map(|x| [x, 0.0]).to_vec();
    if range[0] < 0.0 && 0.0 < range[1] {
        marks.push(Mark::Line { points: zero, stroke: Stroke::Thin });
    }
    for (index, point) in section.points.iter().enumerate() {
        marks.extend(zones(index as f64, point, range));
    }
    marks.extend(limits(section, Stroke::Thick, &|it: &Point| {
        it.tolerance.as_ref().map(|it| [it.lower, it.upper])
    }));
    let accepted = |it: &Point| acceptance(it).map(|it| [it.lower, it.upper]);
    marks.extend(limits(section, Stroke::Broken(0), &accepted));
    for (index, point) in section.points.iter().enumerate() {
        marks.extend(measured(index as f64, point, range, &measurand.unit));
    }
    Some(Figure {
        name: "points",
        title: format!("{} at all points", measurand.name).into(),
        description: description(section).into(),
        across: axis_of_points(section),
        up: Axis::numbers(in_unit(&measurand.symbol, &measurand.unit), range),
        height: 470.0,
        key: key(section, &marks),
        marks,
        hills: None,
    })
}

fn axis_end(index: f64) -> f64 {
    index - 0.5
}

/// The acceptance limits, where there are some.
fn acceptance(point: &Point) -> Option<&Acceptance> {
    point.decision.as_ref().and_then(|it: &Decision| it.acceptance.as_ref())
}

/// Both limits of tolerance and acceptance that there are.
fn all_limits(point: &Point) -> impl Iterator<Item = f64> {
    let tolerance = point.tolerance.as_ref().map(|it| [it.lower, it.upper]);
    let accepted = acceptance(point).map(|it| [it.lower, it.upper]);
    tolerance.into_iter().chain(accepted).flatten().flatten()
}

/// The errors of the readings, with the reported one.
fn errors(point: &Point) -> Vec<f64> {
    let readings = point.decision.as_ref().and_then(|it| it.readings.as_ref());
    let mut errors: Vec<f64> = readings.into_iter().flatten().map(|it| it.error).collect();
    if errors.is_empty() {
        errors.push(point.estimate);
    }
    errors
}

/// What the vertical axis has to show: limits, readings and intervals, but readings far beyond the limits
/// only in their direction.
fn range(section: &Section) -> [f64; 2] {
    let limits: Vec<f64> = section.points.iter().flat_map(all_limits).collect();
    let measured = section
        .points
        .iter()
        .flat_map(|it| errors(it).into_iter().chain(it.interval).collect::<Vec<f64>>());
    let ends = around(limits.iter().copied(), FAR);
    let near = |it: f64| if limits.len() < 2 { it } else { it.clamp(ends[0], ends[1]) };
    around(limits.iter().copied().chain(measured.map(near)), 0.12)
}

/// Hatching beyond the limits of a point: close beyond both, wide between tolerance and acceptance.
fn zones(x: f64, point: &Point, range: [f64; 2]) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut area = |from: f64, to: f64, hatch: Hatch| {
        let outline = vec![[x - 0.5, from], [x + 0.5, from], [x + 0.5, to], [x - 0.5, to]];
        if from < to {
            marks.push(Mark::Area { outline, hatch, edge: false });
        }
    };
    let Some(tolerance) = &point.tolerance else { return marks };
    let accepted = acceptance(point);
    let sides = [
        (tolerance.lower, accepted.and_then(|it| it.lower), 0),
        (tolerance.upper, accepted.and_then(|it| it.upper), 1),
    ];
    for (limit, own, side) in sides {
        let Some(limit) = limit else { continue };
        let own = own.unwrap_or(limit);
        let (inner, outer) = (own.min(limit), own.max(limit));
        area(inner, outer, Hatch::Rising);
        match side {
            0 => area(range[0], inner, Hatch::Falling),
            _ => area(outer, range[1], Hatch::Falling),
        }
    }
    marks
}

/// The lines of limits: one line over neighbours with the same limit.
fn limits(
    section: &Section,
    stroke: Stroke,
    of: &dyn Fn(&Point) -> Option<[Option<f64>; 2]>,
) -> Vec<Mark> {
    let mut marks = Vec::new();
    for side in 0..2 {
        let mut open: Option<[f64; 3]> = None;
        for (index, point) in section.points.iter().enumerate() {
            let limit = of(point).and_then(|it| it[side]);
            let x = index as f64;
            match (&mut open, limit) {
                (Some(run), Some(limit)) if run[2] == limit => run[1] = x + 0.5,
                (_, limit) => {
                    marks.extend(open.map(|it| level(it, stroke)));
                    open = limit.map(|it| [x - 0.5, x + 0.5, it]);
                }
            }
        }
        marks.extend(open.map(|it| level(it, stroke)));
    }
    marks
}

fn level([from, to, at]: [f64; 3], stroke: Stroke) -> Mark {
    Mark::Line { points: vec![[from, at], [to, at]], stroke }
}

/// The interval, the readings and the verdict of a point.
fn measured(x: f64, point: &Point, range: [f64; 2], unit: &str) -> Vec<Mark> {
    let mut marks = Vec::new();
    let readings = point.decision.as_ref().and_then(|it| it.readings.as_ref());
    let within = |it: f64| range[0] <= it && it <= range[1];
    let shown = within(point.estimate);
    if shown {
        let ends = point.interval.map(|it| it.clamp(range[0], range[1]));
        marks.push(Mark::Interval { x, ends });
    }
    let Some(readings) = readings else {
        let only = point.readings.is_none();
        let shape = if only { Shape::Bar } else { Shape::Dot };
        marks.extend(shown.then_some(Mark::Sign { at: [x, point.estimate], shape, aside: 0.0 }));
        return marks;
    };
    let reported = readings.iter().position(|it| it.error == point.estimate);
    if reported.is_none() && shown {
        // A mean: what is judged is no reading.
        marks.push(Mark::Sign { at: [x, point.estimate], shape: Shape::Bar, aside: 0.0 });
    }
    let mut aside = 0.0;
    for (index, it) in readings.iter().enumerate() {
        let own = reported == Some(index);
        aside += if own { 0.0 } else { 1.0 };
        let aside = if own { 0.0 } else { aside };
        if within(it.error) {
            let shape = if own { Shape::Dot } else { Shape::Ring };
            marks.push(Mark::Sign { at: [x, it.error], shape, aside });
            continue;
        }
        let above = it.error > range[1];
        let (shape, side) =
            if above { (Shape::Above, Side::Below) } else { (Shape::Below, Side::Above) };
        let at = [x, it.error.clamp(range[0], range[1])];
        marks.push(Mark::Sign { at, shape, aside });
        marks.push(Mark::Label { at, text: short(it.error, unit).into(), side });
    }
    let verdict = point.decision.as_ref().and_then(|it| it.verdict);
    marks.extend(verdict.map(|it| {
        let (text, side) = (word(it).into(), Side::Above);
        Mark::Label { at: [x, range[1]], text, side }
    }));
    marks
}

/// A verdict in a word that fits above a point.
fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "pass",
        Verdict::ConditionalPass => "pass?",
        Verdict::Undecided => "open",
        Verdict::ConditionalFail => "fail?",
        Verdict::Fail => "fail",
    }
}

fn key(section: &Section, marks: &[Mark]) -> Vec<Key> {
    let has = |wanted: &dyn Fn(&Mark) -> bool| marks.iter().any(wanted);
    let line =
        |stroke| has(&move |it| matches!(it, Mark::Line { stroke: it, .. } if *it == stroke));
    let area = |hatch| has(&move |it| matches!(it, Mark::Area { hatch: it, .. } if *it == hatch));
    let sign = |shape| has(&move |it| matches!(it, Mark::Sign { shape: it, .. } if *it == shape));
    let verdicts = || section.points.iter().filter_map(|it| it.decision.as_ref()?.verdict);
    let told = |wanted| verdicts().any(|it| it == wanted);
    let nothing = Sample::Nothing;
    let all = [
        (line(Stroke::Thick), Sample::Line(Stroke::Thick), "tolerance limit"),
        (line(Stroke::Broken(0)), Sample::Line(Stroke::Broken(0)), "acceptance limit"),
        (area(Hatch::Rising), Sample::Area(Hatch::Rising), "guard band"),
        (area(Hatch::Falling), Sample::Area(Hatch::Falling), "beyond the limits"),
        (sign(Shape::Dot), Sample::Sign(Shape::Dot), "reported reading"),
        (sign(Shape::Ring), Sample::Sign(Shape::Ring), "other reading"),
        (sign(Shape::Bar), Sample::Sign(Shape::Bar), "estimate, or mean of readings"),
        (true, Sample::Interval, "coverage interval, ±U"),
        (sign(Shape::Above) || sign(Shape::Below), Sample::Sign(Shape::Above), "lies further out"),
        (told(Verdict::ConditionalPass), nothing, "pass? conditional pass"),
        (told(Verdict::ConditionalFail), nothing, "fail? conditional fail"),
        (told(Verdict::Undecided), nothing, "open: undecided"),
    ];
    let used = all.into_iter().filter(|it| it.0);
    used.map(|(_, sample, text)| Key { sample, text: text.into() }).collect()
}

fn description(section: &Section) -> String {
    let unit = &section.budget.measurand.unit;
    let count = section.points.len();
    let mut said = format!("{count} {}", if count == 1 { "point" } else { "points" });
    said +=
        &words::common_tolerance(section).map_or(String::new(), |it| format!(", tolerance {it}"));
    let us = section.points.iter().map(|it| it.expanded_uncertainty);
    let largest = us.fold(0.0, f64::max);
    said += &format!(", U up to {}.", short(largest, unit));
    for point in &section.points {
        let name = words::point_name(point);
        let verdict = point.decision.as_ref().and_then(|it| it.verdict);
        said += &match verdict {
            Some(verdict) => {
                let error = numbers::joined(&numbers::value(point.estimate, 0), unit);
                format!(" {name}: {error}, {}.", verdict.word())
            }
            None => format!(" {name}: U = {}.", short(point.expanded_uncertainty, unit)),
        };
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    fn signs(figure: &Figure, wanted: Shape) -> Vec<[f64; 2]> {
        let is = |it: &Mark| match it {
            Mark::Sign { at, shape, .. } if *shape == wanted => Some(*at),
            _ => None,
        };
        figure.marks.iter().filter_map(is).collect()
    }

    #[test]
    fn every_reading_is_there_and_the_reported_one_marked() {
        let section = &sample::worksheet().sections[0];
        let figure = points(section).unwrap();
        let readings: usize = section
            .points
            .iter()
            .filter_map(|it| it.decision.as_ref()?.readings.as_ref())
            .map(Vec::len)
            .sum();
        let dots = signs(&figure, Shape::Dot);
        assert_eq!(dots.len() + signs(&figure, Shape::Ring).len(), readings);
        for [x, error] in dots {
            assert_eq!(error, section.points[x as usize].estimate);
        }
        let intervals = figure.marks.iter().filter_map(|it| match it {
            Mark::Interval { x, ends } => Some((*x, *ends)),
            _ => None,
        });
        for (x, ends) in intervals {
            assert_eq!(ends, section.points[x as usize].interval);
        }
    }

    #[test]
    fn limits_are_those_of_the_record_and_equal_neighbours_share_a_line() {
        let section = &sample::shown().sections[0];
        let figure = points(section).unwrap();
        let lines = |wanted: Stroke| {
            let of = move |it: &Mark| match it {
                Mark::Line { points, stroke } if *stroke == wanted => Some(points.clone()),
                _ => None,
            };
            figure.marks.iter().filter_map(of).collect::<Vec<_>>()
        };
        let last = section.points.len() as f64 - 0.5;
        let whole = |at: f64| vec![[-0.5, at], [last, at]];
        assert_eq!(lines(Stroke::Thick), [whole(-4.0), whole(4.0)]);
        let upper = acceptance(&section.points[3]).unwrap().upper.unwrap();
        assert!(lines(Stroke::Broken(0)).contains(&vec![[2.5, upper], [3.5, upper]]));
        assert!(signs(&figure, Shape::Dot).is_empty(), "nothing was read");
        assert_eq!(signs(&figure, Shape::Bar).len(), section.points.len());
    }

    #[test]
    fn a_reading_far_beyond_the_limits_is_named_at_the_edge() {
        let mut section = sample::worksheet().sections[0].clone();
        let point = &mut section.points[0];
        point.estimate = 5000.0;
        point.interval = [4998.5, 5001.5];
        point.decision.as_mut().unwrap().readings.as_mut().unwrap()[0].error = 5000.0;
        let figure = points(&section).unwrap();
        assert!(figure.up.range[1] < 20.0, "{:?}", figure.up.range);
        assert_eq!(signs(&figure, Shape::Above), [[0.0, figure.up.range[1]]]);
        let named =
            |it: &Mark| matches!(it, Mark::Label { text, .. } if text.as_str() == "5000\u{a0}µm");
        assert!(figure.marks.iter().any(named));
        assert!(figure.is_sound());
    }

    /// One-sided: no line and no hatching on the other side.
    #[test]
    fn a_side_without_a_limit_stays_empty() {
        let mut section = sample::shown().sections[0].clone();
        for point in &mut section.points {
            point.tolerance.as_mut().unwrap().lower = None;
            let accepted = point.decision.as_mut().unwrap().acceptance.as_mut().unwrap();
            accepted.lower = None;
        }
        let figure = points(&section).unwrap();
        for mark in &figure.marks {
            match mark {
                Mark::Area { outline, .. } => assert!(outline.iter().all(|it| it[1] > 0.0)),
                Mark::Line { points, stroke: Stroke::Thick } => assert_eq!(points[0][1], 4.0),
                _ => {}
            }
        }
    }
}
