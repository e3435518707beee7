//! A picture as data: two axes, marks in their numbers, a key, and the same in words. One file per picture
//! makes it from the record; a renderer only puts it on paper.
//!
//! | picture | file | shows |
//! | --- | --- | --- |
//! | [`points`] | `points.rs` | readings and intervals at all points, between the limits |
//! | [`shares`] | `shares.rs` | what a point's u² is made of |
//! | [`density`] | `density.rs` | where the true value may lie, and what lies beyond the limits |
//! | [`operating_curve`] | `operating.rs` | the probability of acceptance over the true error |
//! | [`uncertainties`] | `uncertainties.rs` | U at all points under a straight line |
//! | [`correlations`] | `correlations.rs` | what the points have in common |
//! | [`Hills`] | `hills.rs` | a density beside another one |
//!
//! Nothing is told by colour: line styles, hatching, shapes, letters and words tell things apart.

use super::Text;
use super::numbers;
use crate::record::{Decision, Point, Section};

mod correlations;
mod density;
mod hills;
mod leaders;
mod operating;
mod points;
mod shares;
mod uncertainties;

pub use correlations::correlations;
pub use density::density;
pub use hills::{Curve, Hills};
pub use operating::operating_curve;
pub use points::points;
pub use shares::shares;
pub use uncertainties::{Straight, uncertainties};

/// The names of the pictures that [`by_name`] knows.
pub const NAMES: [&str; 6] =
    ["points", "shares", "density", "operating-curve", "uncertainty", "correlation"];

/// Returns the picture of that name; `point` is the point of a picture that shows a single one. `None`
/// where the record has nothing to draw, or the name is not one of [`NAMES`].
pub fn by_name(name: &str, section: &Section, point: &Point) -> Option<Figure> {
    match name {
        "points" => points(section),
        "shares" => shares(section, point),
        "density" => density(section, point),
        "operating-curve" => operating_curve(section, point),
        "uncertainty" => uncertainties(section),
        "correlation" => correlations(section),
        _ => None,
    }
}

/// A picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Which picture it is, in a word: one of [`NAMES`], or `densities`.
    pub name: &'static str,
    /// What it shows.
    pub title: Text,
    /// What a reader who cannot see it has to know, with the main numbers.
    pub description: Text,
    /// The horizontal axis.
    pub across: Axis,
    /// The vertical axis.
    pub up: Axis,
    /// The height of the room between the axes, where the whole picture is 1200 wide.
    pub height: f64,
    /// What is drawn, from back to front.
    pub marks: Vec<Mark>,
    /// What the marks mean.
    pub key: Vec<Key>,
    /// The same for a terminal, where characters can show it.
    pub hills: Option<Hills>,
}

/// An axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it is, with its unit; empty where its texts say it.
    pub title: Text,
    /// Where it begins and ends.
    pub range: [f64; 2],
    /// Its texts: numbers, or names one unit apart.
    pub ticks: Vec<Tick>,
    /// Whether the texts are names, which may be folded and shortened.
    pub names: bool,
}

/// A text at a place of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Where.
    pub at: f64,
    /// The text.
    pub text: Text,
}

/// Something that is drawn, in numbers of the axes.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A line through points.
    Line {
        /// The points.
        points: Vec<[f64; 2]>,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// An area.
    Area {
        /// Its corners; the last one is joined to the first.
        outline: Vec<[f64; 2]>,
        /// How it is filled.
        hatch: Hatch,
        /// Whether its edge is drawn.
        edge: bool,
    },
    /// An upright interval with a bar at either end, or an arrow where the edge of the picture cuts it off.
    Interval {
        /// Its place on the horizontal axis.
        x: f64,
        /// Its ends, or where it is cut off.
        ends: [f64; 2],
        /// Whether it goes on below and above.
        goes_on: [bool; 2],
    },
    /// A small sign.
    Sign {
        /// Its place.
        at: [f64; 2],
        /// Its shape.
        shape: Shape,
        /// How far it is moved to the right, in its own widths.
        aside: f64,
    },
    /// A text, moved where another one stands already.
    Label {
        /// What it belongs to.
        at: [f64; 2],
        /// The text.
        text: Text,
        /// On which side of it.
        side: Side,
    },
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// Thin and unbroken: an axis, a help.
    Thin,
    /// Unbroken.
    Solid,
    /// Unbroken and thick: the one that matters.
    Thick,
    /// Broken, in one of [`Stroke::STYLES`] ways.
    Broken(usize),
}

impl Stroke {
    /// How many ways of breaking a line there are.
    pub const STYLES: usize = 8;
}

/// How an area is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hatch {
    /// Not at all.
    Open,
    /// Rising lines, far apart.
    Rising,
    /// Falling lines, close together.
    Falling,
    /// Falling lines, far apart.
    FallingWide,
    /// Both.
    Crossed,
    /// All of it.
    Full,
}

/// The shape of a small sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A filled circle.
    Dot,
    /// An empty circle.
    Ring,
    /// A small filled circle: where a line that leads to a text begins.
    Spot,
    /// A short level bar.
    Bar,
    /// A triangle that points up, its tip at its place: it goes on above.
    Above,
    /// A triangle that points down, its tip at its place: it goes on below.
    Below,
}

/// On which side of its place a text stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Above it.
    Above,
    /// Below it.
    Below,
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// On it, and never moved.
    On,
}

/// What a mark means.
#[derive(Debug, Clone, PartialEq)]
pub struct Key {
    /// How the mark looks.
    pub sample: Sample,
    /// What it means.
    pub text: Text,
}

/// A mark for the key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    /// A line.
    Line(Stroke),
    /// An area.
    Area(Hatch),
    /// An upright interval.
    Interval,
    /// A sign.
    Sign(Shape),
    /// Nothing: the text says it all.
    Nothing,
}

impl Axis {
    /// Returns an axis of numbers with round ones on it.
    fn numbers(title: impl Into<Text>, range: [f64; 2]) -> Axis {
        let ticks = ticks(range, 6).into_iter();
        let ticks = ticks.map(|(at, text)| Tick { at, text: text.into() }).collect();
        Axis { title: title.into(), range, ticks, names: false }
    }

    /// Returns an axis of names at 0, 1, 2 ….
    fn names(title: impl Into<Text>, names: impl IntoIterator<Item = Text>) -> Axis {
        let all = names.into_iter().enumerate();
        let ticks: Vec<Tick> = all.map(|(at, text)| Tick { at: at as f64, text }).collect();
        let range = [-0.5, ticks.len().max(1) as f64 - 0.5];
        Axis { title: title.into(), range, ticks, names: true }
    }
}

impl Figure {
    /// Returns whether each number of it is finite and both axes have a length.
    pub fn is_sound(&self) -> bool {
        let axes = [&self.across, &self.up];
        let axes = axes.iter().all(|it| {
            let [low, high] = it.range;
            low < high && (high - low).is_finite() && it.ticks.iter().all(|it| it.at.is_finite())
        });
        let point = |it: &[f64; 2]| it[0].is_finite() && it[1].is_finite();
        let mark = |it: &Mark| match it {
            Mark::Line { points, .. } => points.iter().all(point),
            Mark::Area { outline, .. } => outline.iter().all(point),
            Mark::Interval { x, ends, .. } => x.is_finite() && point(ends),
            Mark::Sign { at, aside, .. } => point(at) && aside.is_finite(),
            Mark::Label { at, .. } => point(at),
        };
        axes && self.marks.iter().all(mark)
    }
}

/// Returns round numbers in a range, about `count` of them, with their texts.
pub fn ticks(range: [f64; 2], count: usize) -> Vec<(f64, String)> {
    let [low, high] = range;
    let (step, decimals) = round_step((high - low) / count.max(1) as f64);
    let first = (low / step).ceil();
    let text = |value: f64| match decimals {
        0..=9 => numbers::minus(&format!("{:.decimals$}", value + 0.0)),
        _ => numbers::significant(value, 4),
    };
    (0..2 * count + 2)
        .map(|at| (first + at as f64) * step)
        .take_while(|it| *it <= high)
        .map(|it| if it.abs() < 1e-9 * step { (0.0, text(0.0)) } else { (it, text(it)) })
        .collect()
}

/// Returns the smallest of 1, 2, 5 times a power of ten that is no smaller than `least`, and the decimals
/// that show it.
fn round_step(least: f64) -> (f64, usize) {
    let text = format!("{least:e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or(("1", "0"));
    let mantissa: f64 = mantissa.parse().unwrap_or(1.0);
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let (digit, exponent) = match mantissa {
        it if it <= 1.0 => (1, exponent),
        it if it <= 2.0 => (2, exponent),
        it if it <= 5.0 => (5, exponent),
        _ => (1, exponent + 1),
    };
    let step = format!("{digit}e{exponent}").parse().unwrap_or(1.0);
    (step, usize::try_from(-exponent).unwrap_or(0))
}

/// Returns the range of some numbers with a part of its length added at either end; about 0 or the only
/// number where they have no length.
fn around(numbers: impl IntoIterator<Item = f64>, part: f64) -> [f64; 2] {
    let mut ends = [f64::INFINITY, f64::NEG_INFINITY];
    for it in numbers {
        ends = [ends[0].min(it), ends[1].max(it)];
    }
    let [low, high] = ends;
    if low < high {
        let more = part * (high - low);
        return [low - more, high + more];
    }
    let middle = if low.is_finite() { low } else { 0.0 };
    let half = if middle == 0.0 { 1.0 } else { middle.abs() };
    [middle - half, middle + half]
}

/// Returns a name with its unit, for an axis: `E in µm`; a plain number has none.
fn in_unit(name: &str, unit: &str) -> String {
    if unit == "1" || unit.is_empty() { name.to_owned() } else { format!("{name} in {unit}") }
}

/// Returns the name of a density with its unit, one over that of what it is a density of.
pub(super) fn density_in(unit: &str) -> String {
    match unit {
        "1" => "density".to_owned(),
        it if it.contains(['·', '/', '.', ' ']) => format!("density in 1/({it})"),
        it => format!("density in 1/{it}"),
    }
}

/// Returns a number with its unit, as short as three digits allow.
fn short(number: f64, unit: &str) -> String {
    numbers::joined(&numbers::short(number), unit)
}

/// Returns a limit that was given with its unit.
fn given(number: f64, unit: &str) -> String {
    numbers::joined(&numbers::given(number), unit)
}

/// Returns the acceptance limits of a decision with their unit as all tables print them: rounded inwards once,
/// in the record.
fn printed(decision: &Decision) -> [Option<String>; 2] {
    let Some(paper) = &decision.printed else { return [None, None] };
    [&paper.lower, &paper.upper].map(|it| Some(numbers::joined(it.as_ref()?, &paper.unit)))
}

/// Returns ` at` and the name of a point; nothing in a budget with a single result.
fn place(point: &Point) -> String {
    match (&point.at, &point.label) {
        (None, None) => String::new(),
        _ => format!(" at {}", super::words::point_name(point)),
    }
}

/// Returns the axis of a section's points: their texts, the unit in the title.
fn axis_of_points(section: &Section) -> Axis {
    let unit = section.points.iter().find_map(|it| it.at.as_ref()).map_or("", |it| &it.unit);
    let same = section.points.iter().all(|it| it.at.as_ref().is_some_and(|at| at.unit == unit));
    let name = |point: &Point| match (&point.at, &point.label) {
        (Some(at), None) if same => Text::from(numbers::minus(&at.text)),
        (Some(at), Some(label)) if same => format!("{} {label}", numbers::minus(&at.text)).into(),
        _ => super::words::point_name(point).into(),
    };
    let title = if same { in_unit("point", unit) } else { "point".to_owned() };
    Axis::names(title, section.points.iter().map(name))
}

/// Pictures for tests of renderers: all that the sample records have figures for, `name` in place of the
/// names that people write.
#[cfg(test)]
pub(crate) fn samples(name: Option<&str>) -> Vec<Figure> {
    let mut section = crate::record::sample::worksheet().sections.remove(0);
    if let Some(name) = name {
        section.budget.measurand.name = name.into();
        section.budget.measurand.symbol = name.into();
        section.points[1].label = Some(name.into());
        section.points[1].contributors.iter_mut().for_each(|it| it.name = name.into());
    }
    let all = NAMES.iter().filter_map(|it| by_name(it, &section, &section.points[1]));
    let all: Vec<Figure> = all.collect();
    assert_eq!(all.len(), NAMES.len());
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn ticks_are_round_and_within_the_range() {
        let texts = |low, high| -> Vec<String> {
            ticks([low, high], 5).into_iter().map(|it| it.1).collect()
        };
        assert_eq!(texts(-4.1, 4.1), ["−4", "−2", "0", "2", "4"]);
        assert_eq!(texts(0.03, 0.11), ["0.04", "0.06", "0.08", "0.10"]);
        assert_eq!(texts(745.0, 932.0), ["750", "800", "850", "900"]);
    }

    #[test]
    fn a_range_has_a_length_whatever_the_numbers() {
        assert_eq!(around([1.0, 3.0], 0.5), [0.0, 4.0]);
        assert_eq!(around([5.0], 0.1), [0.0, 10.0]);
        assert_eq!(around([0.0, 0.0], 0.1), [-1.0, 1.0]);
        assert_eq!(around([], 0.1), [-1.0, 1.0]);
    }

    #[test]
    fn a_number_that_is_none_makes_a_picture_unsound() {
        let section = &sample::worksheet().sections[0];
        let mut figure = points(section).unwrap();
        assert!(figure.is_sound());
        figure.marks.push(Mark::Interval { x: 0.0, ends: [0.0, f64::NAN], goes_on: [false; 2] });
        assert!(!figure.is_sound());
    }

    /// What the sample has figures for is drawn, by the name that is asked for.
    #[test]
    fn each_name_is_the_name_of_its_picture() {
        let section = &sample::worksheet().sections[0];
        for name in ["points", "shares", "uncertainty", "correlation"] {
            let figure = by_name(name, section, &section.points[1]).unwrap();
            assert_eq!(figure.name, name);
            assert!(figure.is_sound() && !figure.description.is_empty());
        }
        assert_eq!(by_name("portrait", section, &section.points[1]), None);
    }
}
