//! U at all points, and the lowest straight line that lies on or above all of them.

use super::{Axis, Figure, Key, Mark, Sample, Shape, Stroke, around, in_unit, short};
use crate::page::numbers;
use crate::record::Section;

/// A straight line, U = a + b·x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Straight {
    /// Its value at 0.
    pub a: f64,
    /// Its slope, 0 or more.
    pub b: f64,
}

impl Straight {
    /// Returns the line that lies on or above all points (x, U), does not fall, and exceeds them by the least
    /// on average; `None` without a point. With all x alike it is level.
    ///
    /// The average excess at slope b, max(U − b·x) + b·x̄ − Ū, is convex in b and has its corners at the
    /// slopes between two points, so that the best of them and 0 is the best of all.
    pub fn above(points: &[[f64; 2]]) -> Option<Straight> {
        let count = points.len() as f64;
        let mean = points.iter().map(|it| it[0]).sum::<f64>() / count;
        let least = |b: f64| points.iter().map(|it| it[1] - b * it[0]).reduce(f64::max);
        let mut best = Straight { a: least(0.0)?, b: 0.0 };
        for (index, p) in points.iter().enumerate() {
            for q in &points[index + 1..] {
                let b = (q[1] - p[1]) / (q[0] - p[0]);
                let Some(a) = least(b).filter(|_| b.is_finite() && b > 0.0) else { continue };
                if a + b * mean < best.at(mean) * (1.0 - 1e-12) {
                    best = Straight { a, b };
                }
            }
        }
        Some(best)
    }

    /// Returns its value at `x`.
    pub fn at(&self, x: f64) -> f64 {
        self.a + self.b * x
    }
}

/// Returns the picture of U over the points; `None` with fewer than two places on an axis.
pub fn uncertainties(section: &Section) -> Option<Figure> {
    let unit = &section.budget.measurand.unit;
    let all = section.points.iter().filter_map(|it| Some((it.at.as_ref()?, it)));
    let all: Vec<_> = all.collect();
    let along = &all.first()?.0.unit;
    if all.len() < 2 || all.iter().any(|it| it.0.unit != *along) {
        return None;
    }
    let points: Vec<[f64; 2]> =
        all.iter().map(|(at, it)| [at.value, it.expanded_uncertainty]).collect();
    let line = Straight::above(&points)?;
    let range = around(points.iter().map(|it| it[0]), 0.05);
    let us = || points.iter().map(|it| it[1]);
    let (least, largest) = (us().fold(f64::INFINITY, f64::min), us().fold(0.0, f64::max));
    let top = 1.25 * largest.max(line.at(range[1]));
    let dot = |at: &[f64; 2]| Mark::Sign { at: *at, shape: Shape::Dot, aside: 0.0 };
    let ends = range.map(|x| [x, line.at(x)]).to_vec();
    let mut marks = vec![Mark::Line { points: ends, stroke: Stroke::Broken(0) }];
    marks.extend(points.iter().map(dot));
    let formula = formula(line, unit, along);
    let key = |sample, text: String| Key { sample, text: text.into() };
    let worded = format!("lowest straight line on or above all: {formula}");
    let description = format!(
        "U at {} points, from {} to {}. The lowest straight line that lies on or above all of them is {formula}.",
        points.len(),
        short(least, unit),
        short(largest, unit),
    );
    let probability = section.points.first().and_then(|it| it.coverage.probability);
    let own = probability.map_or(String::new(), |it| format!(", {}", numbers::probability(it)));
    Some(Figure {
        name: "uncertainty",
        title: "Expanded uncertainty over the points".into(),
        description: description.into(),
        across: Axis::numbers(in_unit("point", along), range),
        up: Axis::numbers(in_unit("U", unit), [0.0, if top > 0.0 { top } else { 1.0 }]),
        height: 420.0,
        marks,
        key: vec![
            key(Sample::Sign(Shape::Dot), format!("U of a point{own}")),
            key(Sample::Line(Stroke::Broken(0)), worded),
        ],
        hills: None,
    })
}

/// The line in words, its numbers rounded up to three digits: `U = 1.32 µm + 0.00467 µm/mm · point`.
fn formula(line: Straight, unit: &str, along: &str) -> String {
    let a = short(up(line.a), unit);
    if line.b == 0.0 {
        return format!("U = {a}");
    }
    let per = match (unit, along) {
        (it, "1") => it.to_owned(),
        ("1", it) => format!("1/{it}"),
        (above, it) if it.contains(['·', '/', '.', ' ']) => format!("{above}/({it})"),
        (above, it) => format!("{above}/{it}"),
    };
    format!("U = {a} + {} · point", short(up(line.b), &per))
}

/// Just under half a unit of the third digit more, so that rounding goes up.
fn up(number: f64) -> f64 {
    let text = format!("{number:e}");
    let exponent = text.split_once('e').map_or("0", |it| it.1);
    let unit: f64 = format!("1e{exponent}").parse().unwrap_or(0.0);
    number + 0.004_999_9 * unit
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    /// By hand. Of (0, 1), (10, 2), (20, 2.5): through the outer two the middle one lies above the line
    /// (1.75 < 2); slope 0.1 through the first two gives 1 + 0.1·10 = 2 at the mean, slope 0.05 through the
    /// last two 1.5 + 0.05·10 = 2 as well, level 2.5. Both are best; the first one found stays.
    #[test]
    fn lies_on_or_above_all_points_and_no_higher_than_it_must() {
        let line = Straight::above(&[[0.0, 1.0], [10.0, 2.0], [20.0, 2.5]]).unwrap();
        assert_eq!(line, Straight { a: 1.0, b: 0.1 });
        let line = Straight::above(&[[0.0, 1.0], [5.0, 1.1], [20.0, 2.0]]).unwrap();
        assert!((line.a - 1.0).abs() < 1e-15 && (line.b - 0.05).abs() < 1e-15, "{line:?}");
    }

    #[test]
    fn is_level_where_the_points_fall_or_stand_at_one_place() {
        let level = Straight { a: 3.0, b: 0.0 };
        assert_eq!(Straight::above(&[[1.0, 3.0], [2.0, 2.0], [3.0, 1.0]]), Some(level));
        assert_eq!(Straight::above(&[[1.0, 3.0], [1.0, 2.0]]), Some(level));
        assert_eq!(Straight::above(&[]), None);
    }

    /// By hand: 1.4512 is 1.46 rounded up, 0.000194 has no fourth digit.
    #[test]
    fn the_printed_line_does_not_lie_lower() {
        let said = formula(Straight { a: 1.4512, b: 0.000194 }, "µm", "mm");
        assert_eq!(said, "U = 1.46\u{a0}µm + 0.000194\u{a0}µm/mm · point");
    }

    #[test]
    fn shows_each_point_of_the_record_below_the_line() {
        let section = &sample::shown().sections[0];
        let figure = uncertainties(section).unwrap();
        let dots = figure.marks.iter().filter_map(|it| match it {
            Mark::Sign { at, .. } => Some(*at),
            _ => None,
        });
        let dots: Vec<[f64; 2]> = dots.collect();
        let line = Straight::above(&dots).unwrap();
        assert_eq!(dots.len(), section.points.len());
        for (dot, point) in dots.iter().zip(&section.points) {
            assert_eq!(*dot, [point.at.as_ref().unwrap().value, point.expanded_uncertainty]);
            assert!(line.at(dot[0]) >= dot[1] * (1.0 - 1e-12));
        }
        assert!(figure.description.as_str().contains("µm/mm"), "{}", figure.description);
    }
}
