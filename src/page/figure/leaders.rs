//! Letters of curves in a column of their own: a thin line leads from each to a spot on its curve, so that no
//! curve is broken where several run close together. The spots are at different heights.

use super::{Mark, Shape, Side, Stroke};

/// The heights of the highest and the lowest letter, for curves from 0 to 1.
const LEVELS: [f64; 2] = [0.93, 0.09];

/// Where a letter may not stand, and how much room it takes, as parts of the horizontal axis.
const AIR: f64 = 0.02;
const ROOM: f64 = 0.04;

/// Returns spots, lines and letters of curves from 0 to 1 over `range`: `None` for a curve that has no slope.
/// The column stands beyond the slopes, at the right where curves fall and at the left where none does, and keeps
/// clear of the upright lines at `upright`.
pub(super) fn leaders(
    curves: &[(Vec<[f64; 2]>, &'static str)],
    range: [f64; 2],
    upright: &[f64],
) -> Vec<Mark> {
    let falls =
        curves.iter().any(|(points, _)| crossing(points, 0.5 * top(points), true).is_some());
    // From the outermost curve to the innermost, so that near curves have neighbouring letters.
    let mut order: Vec<(f64, usize)> = curves
        .iter()
        .enumerate()
        .filter_map(|(index, (points, _))| {
            Some((crossing(points, 0.5 * top(points), falls)?[0], index))
        })
        .collect();
    order.sort_by(|a, b| if falls { b.0.total_cmp(&a.0) } else { a.0.total_cmp(&b.0) });
    let column = column(curves, range, falls, upright);
    let [high, low] = LEVELS;
    let step = (high - low) / order.len().max(2).saturating_sub(1) as f64;
    let mut marks = Vec::new();
    for (row, (_, index)) in order.into_iter().enumerate() {
        let (points, letter) = &curves[index];
        let level = high - step * row as f64;
        let Some(spot) = crossing(points, level * top(points), falls) else { continue };
        let end = [column, level];
        marks.push(Mark::Line { points: vec![spot, end], stroke: Stroke::Thin });
        marks.push(Mark::Sign { at: spot, shape: Shape::Spot, aside: 0.0 });
        let side = if falls { Side::Right } else { Side::Left };
        marks.push(Mark::Label { at: end, text: (*letter).into(), side });
    }
    marks
}

/// Where the column of letters stands.
fn column(
    curves: &[(Vec<[f64; 2]>, &'static str)],
    [low, high]: [f64; 2],
    falls: bool,
    upright: &[f64],
) -> f64 {
    let part = |it: f64| it * (high - low);
    let feet = curves.iter().filter_map(|(points, _)| crossing(points, 0.02 * top(points), falls));
    let feet = feet.map(|it| it[0]);
    if falls {
        let mut at = feet.fold(low, f64::max) + part(AIR);
        let taken =
            |at: f64| upright.iter().find(|it| at - part(AIR) < **it && **it < at + part(ROOM));
        for _ in upright {
            at = taken(at).map_or(at, |it| it + part(AIR));
        }
        at.min(high - part(ROOM))
    } else {
        let mut at = feet.fold(high, f64::min) - part(AIR);
        let taken =
            |at: f64| upright.iter().find(|it| at - part(ROOM) < **it && **it < at + part(AIR));
        for _ in upright {
            at = taken(at).map_or(at, |it| it - part(AIR));
        }
        at.max(low + part(ROOM))
    }
}

fn top(points: &[[f64; 2]]) -> f64 {
    points.iter().map(|it| it[1]).fold(0.0, f64::max)
}

/// Where a curve last falls through a level, or first rises through it.
fn crossing(points: &[[f64; 2]], level: f64, falls: bool) -> Option<[f64; 2]> {
    let at = |pair: &[[f64; 2]]| {
        let ([x, p], [y, q]) = (pair[0], pair[1]);
        let part = (p - level) / (p - q);
        [x + part * (y - x), level]
    };
    if falls {
        points.windows(2).rev().find(|it| it[0][1] > level && it[1][1] <= level).map(at)
    } else {
        points.windows(2).find(|it| it[0][1] <= level && it[1][1] > level).map(at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: from 0.8 to 0.4 between 1 and 2 the level 0.5 is three quarters of the way.
    #[test]
    fn a_spot_is_where_its_curve_falls_or_else_rises() {
        let points = [[0.0, 0.0], [0.5, 1.0], [1.0, 0.8], [2.0, 0.4], [3.0, 0.0]];
        let [x, level] = crossing(&points, 0.5, true).unwrap();
        assert!((x - 1.75).abs() < 1e-12 && level == 0.5);
        assert_eq!(crossing(&points, 0.5, false), Some([0.25, 0.5]));
        assert_eq!(crossing(&points, 1.5, true), None);
        assert_eq!(crossing(&points, 0.0, true), Some([3.0, 0.0]));
    }

    /// Ramps that fall from 1 to 0 over a length of 2, their middles at 2, 3 and 4.
    fn ramps(sign: f64) -> Vec<(Vec<[f64; 2]>, &'static str)> {
        let at = |middle: f64| {
            let points = [[-9.0, 1.0], [middle - 1.0, 1.0], [middle + 1.0, 0.0], [9.0, 0.0]];
            let mut points: Vec<[f64; 2]> = points.map(|it| [sign * it[0], it[1]]).to_vec();
            points.sort_by(|a, b| a[0].total_cmp(&b[0]));
            points
        };
        vec![(at(2.0), "a"), (at(4.0), "b"), (at(3.0), "c")]
    }

    fn letters(marks: &[Mark]) -> Vec<(String, [f64; 2])> {
        let label = |it: &Mark| match it {
            Mark::Label { at, text, .. } => Some((text.as_str().to_owned(), *at)),
            _ => None,
        };
        marks.iter().filter_map(label).collect()
    }

    #[test]
    fn letters_stand_in_a_column_beyond_all_curves_in_their_order() {
        for (sign, range) in [(1.0, [-9.0, 9.0]), (-1.0, [-9.0, 9.0])] {
            let found = letters(&leaders(&ramps(sign), range, &[]));
            let names: Vec<&str> = found.iter().map(|it| it.0.as_str()).collect();
            assert_eq!(names, ["b", "c", "a"], "from the outermost curve to the innermost");
            assert!(found.iter().all(|it| sign * it.1[0] > 4.9 && it.1[0] == found[0].1[0]));
            assert!(found.windows(2).all(|it| it[0].1[1] > it[1].1[1] + 0.2));
        }
    }

    #[test]
    fn each_leader_begins_on_its_own_curve() {
        let curves = ramps(1.0);
        let marks = leaders(&curves, [-9.0, 9.0], &[]);
        for (line, (letter, end)) in marks.iter().step_by(3).zip(letters(&marks)) {
            let Mark::Line { points, .. } = line else { panic!("{line:?}") };
            let middle = match letter.as_str() {
                "a" => 2.0,
                "b" => 4.0,
                _ => 3.0,
            };
            let [x, p] = points[0];
            assert!((p - (0.5 - 0.5 * (x - middle))).abs() < 1e-12, "{letter}: {x}, {p}");
            assert_eq!(points[1], end);
        }
    }

    #[test]
    fn the_column_keeps_clear_of_a_limit() {
        let free = letters(&leaders(&ramps(1.0), [-9.0, 9.0], &[]))[0].1[0];
        let moved = letters(&leaders(&ramps(1.0), [-9.0, 9.0], &[free + 0.1]))[0].1[0];
        assert!(moved > free + 0.1 && moved < 9.0);
    }

    #[test]
    fn a_curve_without_a_slope_has_no_letter() {
        let flat = vec![(vec![[0.0, 0.0], [1.0, 0.0]], "a"), (vec![[0.0, 1.0], [1.0, 0.0]], "b")];
        assert_eq!(letters(&leaders(&flat, [0.0, 1.0], &[])).len(), 1);
    }
}
