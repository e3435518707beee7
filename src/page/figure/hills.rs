//! Densities over one axis, the first the most important, each with its interval.

use super::{Axis, Figure, Hatch, Key, Mark, Sample, Stroke};
use crate::page::Text;

/// Densities over a common axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Hills {
    /// What they show.
    pub title: Text,
    /// The same in words.
    pub description: Text,
    /// The axis in words, with its unit.
    pub axis: Text,
    /// What the height is, with its unit.
    pub height: Text,
    /// Where the axis begins and ends.
    pub range: [f64; 2],
    /// The curves, the most important first.
    pub curves: Vec<Curve>,
}

/// A curve over equal cells of the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Its name.
    pub name: Text,
    /// The mean height in each cell, none below zero; empty where there is no curve.
    pub heights: Vec<f64>,
    /// The ends of its interval.
    pub interval: [f64; 2],
    /// The interval in a word.
    pub interval_name: Text,
}

impl Hills {
    /// Returns the largest height; 0 where there is no curve.
    pub fn top(&self) -> f64 {
        self.curves.iter().flat_map(|it| &it.heights).copied().fold(0.0, f64::max)
    }
}

impl From<Hills> for Figure {
    fn from(hills: Hills) -> Figure {
        let top = if hills.top() > 0.0 { 1.1 * hills.top() } else { 1.0 };
        let mut marks = Vec::new();
        let mut key = Vec::new();
        for (index, it) in hills.curves.iter().enumerate() {
            let stroke = if index == 0 { Stroke::Thick } else { Stroke::Broken(index - 1) };
            let points = steps(hills.range, &it.heights);
            let level = |x: f64| height_at(hills.range, &it.heights, x);
            if index == 0 && !points.is_empty() {
                let outline = under(&points, it.interval[0], it.interval[1], &level);
                marks.push(Mark::Area { outline, hatch: Hatch::Rising, edge: false });
            }
            for end in it.interval {
                let height = level(end).max(0.12 * top);
                marks.push(Mark::Line { points: vec![[end, 0.0], [end, height]], stroke });
            }
            marks.push(Mark::Line { points, stroke });
            let text = format!("{} ({})", it.name, it.interval_name).into();
            key.push(Key { sample: Sample::Line(stroke), text });
        }
        let across = Axis::numbers(hills.axis.clone(), hills.range);
        let up = Axis::numbers(hills.height.clone(), [0.0, top]);
        let (title, description) = (hills.title.clone(), hills.description.clone());
        let name = "densities";
        let hills = Some(hills);
        Figure { name, title, description, across, up, height: 460.0, marks, key, hills }
    }
}

/// Returns the line through the middles of the cells.
pub(super) fn steps(range: [f64; 2], heights: &[f64]) -> Vec<[f64; 2]> {
    let width = (range[1] - range[0]) / heights.len().max(1) as f64;
    let at = |(cell, height): (usize, &f64)| [range[0] + (cell as f64 + 0.5) * width, *height];
    heights.iter().enumerate().map(at).collect()
}

/// Returns the height at a place: between the middles of the cells on a straight line, 0 beyond the range.
pub(super) fn height_at(range: [f64; 2], heights: &[f64], x: f64) -> f64 {
    let cells = heights.len() as f64;
    let place = (x - range[0]) / (range[1] - range[0]) * cells - 0.5;
    if !(place >= -0.5 && place <= cells - 0.5) {
        return 0.0;
    }
    let cell = place.max(0.0).floor();
    let here = heights.get(cell as usize).copied().unwrap_or(0.0);
    let next = heights.get(cell as usize + 1).copied().unwrap_or(here);
    here + (place.max(0.0) - cell) * (next - here)
}

/// Returns the outline of what lies under a line between two places.
pub(super) fn under(
    points: &[[f64; 2]],
    from: f64,
    to: f64,
    level: &dyn Fn(f64) -> f64,
) -> Vec<[f64; 2]> {
    let mut outline = vec![[from, 0.0], [from, level(from)]];
    outline.extend(points.iter().filter(|it| from < it[0] && it[0] < to));
    outline.extend([[to, level(to)], [to, 0.0]]);
    outline
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: three cells of width 1 with their middles at 0.5, 1.5, 2.5.
    #[test]
    fn heights_lie_on_straight_lines_between_the_middles() {
        let of = |x| height_at([0.0, 3.0], &[1.0, 3.0, 1.0], x);
        for (x, expected) in
            [(0.5, 1.0), (1.0, 2.0), (1.5, 3.0), (2.25, 1.5), (0.2, 1.0), (3.5, 0.0)]
        {
            assert_eq!(of(x), expected, "{x}");
        }
        assert_eq!(steps([0.0, 3.0], &[1.0, 3.0, 1.0]), [[0.5, 1.0], [1.5, 3.0], [2.5, 1.0]]);
    }
}
