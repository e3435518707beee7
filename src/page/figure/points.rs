//! All points of a section against tolerance and acceptance zone: every reading, the reported one with its
//! interval; without readings the interval about the estimate.

use super::{Axis, given, in_unit, short};
use super::{Figure, Key, Mark, Sample, Shape, Side, Stroke, Tick, axis_of_points};
use crate::page::{numbers, words};
use crate::record::{Decision, Point, Rule, Section, Verdict};
use zones::{ACCEPTANCE, BEYOND, CONDITIONAL_FAIL, GUARD, REJECTION, TOLERANCE, UNDECIDED};

mod said;
mod span;
mod zones;

/// Above so many points their verdicts stand as words; with more there is a row of spots for each verdict.
const WORDS: usize = 12;
/// The height of the room for values, and of a row of verdicts and the air below the rows.
const ROOM: f64 = 470.0;
const ROW: f64 = 36.0;
const AIR: f64 = 10.0;
/// The width of the room for values, in widths of a sign.
const SIGNS: f64 = 48.0;

/// Returns the picture; `None` without a point.
pub fn points(section: &Section) -> Option<Figure> {
    section.points.first()?;
    let measurand = &section.budget.measurand;
    let range = span::range(section);
    let mut marks = Vec::new();
    if range[0] < 0.0 && 0.0 < range[1] {
        marks.push(across(section, 0.0));
    }
    for (index, point) in section.points.iter().enumerate() {
        marks.extend(zones::zones(index as f64, point, range));
    }
    let many = section.points.len() > WORDS;
    marks.extend(zones::lines(section, REJECTION, &zones::rejection, many));
    marks.extend(zones::lines(section, TOLERANCE, &zones::tolerance, many));
    marks.extend(zones::lines(section, ACCEPTANCE, &zones::acceptance, many));
    let closer = closer(section);
    for (index, point) in section.points.iter().enumerate() {
        marks.extend(measured(index as f64, point, range, &measurand.unit, closer));
    }
    let mut up = Axis::numbers(in_unit(&measurand.symbol, &measurand.unit), range);
    let mut height = ROOM;
    let rows = rows(section);
    if !many {
        marks.extend(verdicts_in_words(section, range[1]));
    } else if !rows.is_empty() {
        let unit = (range[1] - range[0]) / ROOM;
        let level = |row: usize| range[1] + unit * (AIR + ROW * (row as f64 + 0.5));
        let text = |(row, it): (usize, &Verdict)| Tick { at: level(row), text: word(*it).into() };
        up.ticks.extend(rows.iter().enumerate().map(text));
        height += AIR + ROW * rows.len() as f64;
        up.range[1] = range[0] + unit * height;
        marks.push(across(section, range[1]));
        marks.extend(verdicts_in_rows(section, &rows, &level));
    }
    Some(Figure {
        name: "points",
        title: format!("{} at all points", measurand.name).into(),
        description: said::description(section, range).into(),
        across: axis_of_points(section),
        up,
        height,
        key: key(section, &marks),
        marks,
        hills: None,
    })
}

/// A thin line over all points.
fn across(section: &Section, at: f64) -> Mark {
    let ends = [-0.5, section.points.len() as f64 - 0.5];
    Mark::Line { points: ends.map(|x| [x, at]).to_vec(), stroke: Stroke::Thin }
}

/// The errors of the readings, or the estimate where nothing was read.
fn errors(point: &Point) -> Vec<f64> {
    let readings = point.decision.as_ref().and_then(|it| it.readings.as_ref());
    let mut errors: Vec<f64> = readings.into_iter().flatten().map(|it| it.error).collect();
    if errors.is_empty() {
        errors.push(point.estimate);
    }
    errors
}

/// By how much readings beside the reported one move closer, so that they stay nearer to their point than to the
/// next one.
fn closer(section: &Section) -> f64 {
    let most = section.points.iter().map(|it| errors(it).len()).max().unwrap_or(1);
    let room = 0.45 * SIGNS / section.points.len() as f64;
    (room / most.saturating_sub(1).max(1) as f64).min(1.0)
}

/// The interval and the readings of a point; what lies beyond the edge stands at it with its value.
fn measured(x: f64, point: &Point, range: [f64; 2], unit: &str, closer: f64) -> Vec<Mark> {
    let mut marks = Vec::new();
    let [low, high] = point.interval;
    let drawn = low <= range[1] && range[0] <= high;
    if drawn {
        let ends = point.interval.map(|it| it.clamp(range[0], range[1]));
        marks.push(Mark::Interval { x, ends, goes_on: cut(point, range) });
    }
    let sign = |error: f64, shape: Shape, aside: f64| {
        let at = [x, error.clamp(range[0], range[1])];
        let (shape, side) = match error {
            it if it > range[1] => (Shape::Above, Side::Below),
            it if it < range[0] => (Shape::Below, Side::Above),
            _ => return vec![Mark::Sign { at, shape, aside }],
        };
        let text = given(error, unit).into();
        // The text stands beyond the triangle, or to the right of the interval where that is to be seen.
        let inwards = AIR / ROOM * (range[1] - range[0]);
        let beside = if error > range[1] { range[1] - inwards } else { range[0] + inwards };
        let side = if drawn { Side::Right } else { side };
        vec![Mark::Sign { at, shape, aside }, Mark::Label { at: [x, beside], text, side }]
    };
    let readings = point.decision.as_ref().and_then(|it| it.readings.as_ref());
    let Some(readings) = readings else {
        let shape = if point.readings.is_none() { Shape::Bar } else { Shape::Dot };
        marks.extend(sign(point.estimate, shape, 0.0));
        return marks;
    };
    let reported = readings.iter().position(|it| it.error == point.estimate);
    if reported.is_none() && range[0] <= point.estimate && point.estimate <= range[1] {
        // A mean: what is judged is no reading.
        marks.extend(sign(point.estimate, Shape::Bar, 0.0));
    }
    let mut aside = 0.0;
    for (index, it) in readings.iter().enumerate() {
        if reported == Some(index) {
            marks.extend(sign(it.error, Shape::Dot, 0.0));
        } else {
            aside += closer;
            marks.extend(sign(it.error, Shape::Ring, aside));
        }
    }
    marks
}

/// Whether the interval of a point goes on below and above the picture.
fn cut(point: &Point, range: [f64; 2]) -> [bool; 2] {
    [point.interval[0] < range[0], range[1] < point.interval[1]]
}

fn verdict(point: &Point) -> Option<Verdict> {
    point.decision.as_ref().and_then(|it| it.verdict)
}

/// The verdicts that there are, the best first.
fn rows(section: &Section) -> Vec<Verdict> {
    let mut rows: Vec<Verdict> = section.points.iter().filter_map(verdict).collect();
    rows.sort();
    rows.dedup();
    rows
}

/// A word above each point.
fn verdicts_in_words(section: &Section, top: f64) -> Vec<Mark> {
    let words = section.points.iter().enumerate().filter_map(|(index, point)| {
        let (text, side) = (word(verdict(point)?).into(), Side::Above);
        Some(Mark::Label { at: [index as f64, top], text, side })
    });
    words.collect()
}

/// A spot above each point, in the row of its verdict.
fn verdicts_in_rows(
    section: &Section,
    rows: &[Verdict],
    level: &dyn Fn(usize) -> f64,
) -> Vec<Mark> {
    let spots = section.points.iter().enumerate().filter_map(|(index, point)| {
        let own = verdict(point)?;
        let row = rows.iter().position(|it| *it == own)?;
        Some(Mark::Sign { at: [index as f64, level(row)], shape: Shape::Spot, aside: 0.0 })
    });
    spots.collect()
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
    let told = |wanted| section.points.iter().filter_map(verdict).any(|it| it == wanted);
    let four = |it: &Point| matches!(&it.decision, Some(it) if it.rule == Some(Rule::FourWay));
    let four = section.points.iter().any(four);
    let band = if four { "guard band: conditional pass" } else { "guard band" };
    let nothing = Sample::Nothing;
    let goes_on =
        has(&|it| matches!(it, Mark::Interval { goes_on, .. } if goes_on.contains(&true)));
    let interval = has(&|it| matches!(it, Mark::Interval { .. }));
    let further = match (sign(Shape::Above) || sign(Shape::Below), goes_on) {
        (true, true) => "lies or reaches further out",
        (false, true) => "reaches further out",
        _ => "lies further out",
    };
    let all = [
        (line(TOLERANCE), Sample::Line(TOLERANCE), "tolerance limit"),
        (line(ACCEPTANCE), Sample::Line(ACCEPTANCE), "acceptance limit"),
        (line(REJECTION), Sample::Line(REJECTION), "rejection limit"),
        (area(GUARD), Sample::Area(GUARD), band),
        (area(UNDECIDED), Sample::Area(UNDECIDED), "undecided"),
        (area(CONDITIONAL_FAIL), Sample::Area(CONDITIONAL_FAIL), "conditional fail"),
        (area(BEYOND), Sample::Area(BEYOND), "beyond the limits"),
        (sign(Shape::Dot), Sample::Sign(Shape::Dot), "reported reading"),
        (sign(Shape::Ring), Sample::Sign(Shape::Ring), "other reading"),
        (sign(Shape::Bar), Sample::Sign(Shape::Bar), "estimate, or mean of readings"),
        (interval, Sample::Interval, "coverage interval, ±U"),
        (sign(Shape::Above) || sign(Shape::Below) || goes_on, Sample::Sign(Shape::Above), further),
        (sign(Shape::Spot), Sample::Sign(Shape::Spot), "verdict, in its row"),
        (told(Verdict::ConditionalPass), nothing, "pass? conditional pass"),
        (told(Verdict::ConditionalFail), nothing, "fail? conditional fail"),
        (told(Verdict::Undecided), nothing, "open: undecided"),
    ];
    let used = all.into_iter().filter(|it| it.0);
    used.map(|(_, sample, text)| Key { sample, text: text.into() }).collect()
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
            Mark::Interval { x, ends, .. } => Some((*x, *ends)),
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
        let upper = zones::acceptance(&section.points[3])[1].unwrap();
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

    fn four_way(limits: [Option<f64>; 2]) -> Section {
        let mut section = sample::worksheet().sections[0].clone();
        for point in &mut section.points {
            let tolerance = point.tolerance.as_mut().unwrap();
            (tolerance.lower, tolerance.upper) = (limits[0], limits[1]);
            let decision = point.decision.as_mut().unwrap();
            (decision.rule, decision.guard_band) = (Some(Rule::FourWay), 0.1);
            let accepted = decision.acceptance.as_mut().unwrap();
            accepted.lower = limits[0].map(|it| it + 0.1);
            accepted.upper = limits[1].map(|it| it - 0.1);
        }
        section
    }

    fn key_texts(figure: &Figure) -> Vec<&str> {
        figure.key.iter().map(|it| it.text.as_str()).collect()
    }

    /// From T to T + w there had been the hatching of what fails, and no limit at its end.
    #[test]
    fn the_outermost_limits_are_drawn_and_their_zones_named() {
        let figure = points(&four_way([Some(-4.0), Some(4.0)])).unwrap();
        let line = |at: f64| Mark::Line { points: vec![[-0.5, at], [9.5, at]], stroke: REJECTION };
        assert!(figure.marks.contains(&line(-4.1)) && figure.marks.contains(&line(4.1)));
        for text in ["rejection limit", "conditional fail", "guard band: conditional pass"] {
            assert!(key_texts(&figure).contains(&text), "{text}");
        }
        let said = figure.description.as_str();
        assert!(said.contains("up to the rejection limit, a conditional fail"), "{said}");
        let mut three = four_way([Some(-4.0), Some(4.0)]);
        for point in &mut three.points {
            point.decision.as_mut().unwrap().rule = Some(Rule::ThreeWay);
        }
        let figure = points(&three).unwrap();
        assert!(figure.marks.contains(&line(4.1)));
        assert!(key_texts(&figure).contains(&"undecided"));
        assert!(!key_texts(&figure).contains(&"conditional fail"));
        assert!(figure.description.as_str().contains("on either side of a tolerance limit"));
    }

    /// A narrow guard band below a single limit: the axis had spanned little more than the band, so that a
    /// reading of 0 lay beyond it.
    #[test]
    fn a_single_limit_is_shown_with_zero_and_the_readings() {
        let section = four_way([Some(-3.0), None]);
        let figure = points(&section).unwrap();
        let [low, high] = figure.up.range;
        assert!(low < -3.1 && high > 2.0, "{low} {high}");
        assert!(signs(&figure, Shape::Above).is_empty() && signs(&figure, Shape::Below).is_empty());
        let mut far = section.clone();
        for (point, error) in far.points.iter_mut().zip([-3.05, -2.95, -2.9, -3.2, -2.99]) {
            point.estimate = error;
            point.interval = [error - 0.1, error + 0.1];
        }
        far.points.truncate(5);
        far.points.iter_mut().for_each(|it| it.decision.as_mut().unwrap().readings = None);
        let [low, high] = points(&far).unwrap().up.range;
        assert!(low < -3.3 && 0.0 < high, "{low} {high}");
    }

    /// A size of at least 5000, measured to 0.1: with zero on the axis nothing would be left to see.
    #[test]
    fn zero_is_left_out_where_the_limit_is_that_of_a_size() {
        let mut section = four_way([Some(5000.0), None]);
        for point in &mut section.points {
            let shift = 5000.0;
            point.estimate += shift;
            point.interval = point.interval.map(|it| it + shift);
            for it in point.decision.as_mut().unwrap().readings.iter_mut().flatten() {
                it.error += shift;
            }
        }
        let [low, high] = points(&section).unwrap().up.range;
        assert!(4990.0 < low && low < 4999.9 && 5002.0 < high && high < 5010.0, "{low} {high}");
    }

    /// A runout of at most 3, nothing read: the estimate of its model, 10000, is no reason to shrink the limit.
    #[test]
    fn an_estimate_far_beyond_a_single_limit_does_not_stretch_the_axis() {
        let mut section = four_way([None, Some(3.0)]);
        for point in &mut section.points {
            point.estimate = 10_000.0;
            point.interval = [9_998.5, 10_001.5];
            point.decision.as_mut().unwrap().readings = None;
        }
        let figure = points(&section).unwrap();
        let [low, high] = figure.up.range;
        assert!(low < 0.0 && 3.1 < high && high < 6.0, "{low} {high}");
        assert_eq!(signs(&figure, Shape::Above).len(), section.points.len());
        assert!(!key_texts(&figure).contains(&"coverage interval, ±U"), "none is to be seen");
    }

    /// Tolerance ±4, span 8 and the band: 15 lies within two spans, 25 does not.
    #[test]
    fn what_is_cut_off_is_marked_and_said() {
        let mut section = four_way([Some(-4.0), Some(4.0)]);
        let mut read = |index: usize, error: f64, half: f64| {
            let point: &mut Point = &mut section.points[index];
            point.estimate = error;
            point.interval = [error - half, error + half];
            point.decision.as_mut().unwrap().readings.as_mut().unwrap()[0].error = error;
        };
        read(0, 15.0, 1.5);
        read(3, 25.0, 1.5);
        read(4, 0.0, 100.0);
        let figure = points(&section).unwrap();
        let [low, high] = figure.up.range;
        assert!(16.5 < high && high < 25.0, "{high}");
        assert_eq!(signs(&figure, Shape::Above), [[3.0, high]]);
        let wide = Mark::Interval { x: 4.0, ends: [low, high], goes_on: [true; 2] };
        assert!(figure.marks.contains(&wide));
        assert!(key_texts(&figure).contains(&"lies or reaches further out"));
        let said = figure.description.as_str();
        let (_, said) = said.split_once("Beyond the edges of the picture: ").unwrap();
        assert!(said.contains("10.3\u{a0}mm: 25\u{a0}µm"), "{said}");
        assert!(said.contains("the coverage interval, −100 to 100\u{a0}µm"), "{said}");
    }

    /// Its value would be struck through by what is seen of its interval.
    #[test]
    fn a_reading_at_the_edge_has_its_value_beside_its_interval() {
        let mut section = four_way([Some(-4.0), Some(4.0)]);
        let point = &mut section.points[0];
        point.estimate = 30.0;
        point.interval = [2.0, 58.0];
        point.decision.as_mut().unwrap().readings.as_mut().unwrap()[0].error = 30.0;
        let figure = points(&section).unwrap();
        let beside = figure.marks.iter().find_map(|it| match it {
            Mark::Label { text, side, .. } if text.as_str() == "30\u{a0}µm" => Some(*side),
            _ => None,
        });
        assert_eq!(beside, Some(Side::Right));
    }

    /// Words of 40 points had run over title and axis.
    #[test]
    fn many_points_have_their_verdicts_in_rows() {
        let mut section = four_way([Some(-4.0), Some(4.0)]);
        section.points = section.points.iter().cycle().take(60).cloned().collect();
        section.points[7].decision.as_mut().unwrap().verdict = Some(Verdict::Fail);
        let figure = points(&section).unwrap();
        assert!(!figure.marks.iter().any(|it| matches!(it, Mark::Label { .. })));
        let spots = signs(&figure, Shape::Spot);
        let told = section.points.iter().filter(|it| verdict(it).is_some());
        assert_eq!(spots.len(), told.count());
        for [x, y] in spots {
            let row = figure.up.ticks.iter().find(|it| it.at == y).unwrap();
            let own = verdict(&section.points[x as usize]).unwrap();
            assert_eq!(row.text.as_str(), word(own));
        }
        let top = span::range(&section)[1];
        let beyond = |it: &Mark| match it {
            Mark::Area { outline, .. } => outline.iter().any(|it| it[1] > top),
            _ => false,
        };
        assert!(!figure.marks.iter().any(beyond), "hatching ends below the rows");
        assert!(figure.up.ticks.iter().all(|it| it.at <= figure.up.range[1]));
    }

    /// Three readings at each of 40 points: the others stay nearer to their own point.
    #[test]
    fn other_readings_do_not_stand_at_the_next_point() {
        let mut section = four_way([Some(-4.0), Some(4.0)]);
        section.points = vec![section.points[1].clone(); 40];
        let furthest = points(&section).unwrap().marks.into_iter().filter_map(|it| match it {
            Mark::Sign { aside, .. } => Some(aside),
            _ => None,
        });
        let furthest = furthest.fold(0.0, f64::max);
        assert!(0.0 < furthest && furthest < 0.5 * SIGNS / 40.0, "{furthest}");
    }
}
