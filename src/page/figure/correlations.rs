//! What the points have in common: the correlation of their results, as squares above the diagonal and as
//! numbers below it.

use super::{Axis, Figure, Hatch, Key, Mark, Sample, Side, axis_of_points};
use crate::page::numbers;
use crate::record::Section;

/// Up to this number of points the numbers stand in their cells.
const READABLE: usize = 14;

/// Returns the picture; `None` where the correlation was not worked out or there is a single point.
pub fn correlations(section: &Section) -> Option<Figure> {
    let matrix = section.correlation.as_ref()?;
    let count = section.points.len();
    if count < 2 || matrix.len() != count || matrix.iter().any(|it| it.len() != count) {
        return None;
    }
    let axis = axis_of_points(section);
    let mut marks = Vec::new();
    for (row, line) in matrix.iter().enumerate() {
        let y = (count - 1 - row) as f64;
        let diagonal = [[row as f64 - 0.5, y + 0.5], [row as f64 + 0.5, y - 0.5]].to_vec();
        marks.push(Mark::Line { points: diagonal, stroke: super::Stroke::Thin });
        for (column, r) in line.iter().copied().enumerate() {
            let at = [column as f64, y];
            if column > row {
                marks.extend(r.filter(|it| *it != 0.0).map(|it| square(at, it)));
            } else if column < row && count <= READABLE {
                let text = r.map_or("–".to_owned(), short_correlation).into();
                marks.push(Mark::Label { at, text, side: Side::On });
            }
        }
    }
    let up = reversed(&axis);
    let key = |hatch, text: &str| Key { sample: Sample::Area(hatch), text: text.into() };
    Some(Figure {
        name: "correlation",
        title: "Correlation between the points".into(),
        description: description(section, matrix).into(),
        across: axis,
        up,
        height: (56.0 * count as f64).clamp(260.0, 820.0),
        marks,
        key: vec![
            key(Hatch::Full, "side of a box: r, above 0"),
            key(Hatch::Open, "the same, below 0"),
        ],
        hills: None,
    })
}

/// A square as wide as r; with a negative one empty.
fn square(at: [f64; 2], r: f64) -> Mark {
    let half = 0.44 * r.abs().clamp(0.03, 1.0);
    let corner = |x: f64, y: f64| [at[0] + x * half, at[1] + y * half];
    let outline = vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
    Mark::Area { outline, hatch: if r > 0.0 { Hatch::Full } else { Hatch::Open }, edge: true }
}

/// Two decimals; `1.00` and `−1.00` only where it is.
fn short_correlation(r: f64) -> String {
    let towards = if r.abs() < 1.0 { r.clamp(-0.99, 0.99) } else { r };
    let text = format!("{towards:.2}");
    let zero = text.trim_start_matches('-').chars().all(|it| it == '0' || it == '.');
    numbers::minus(if zero { text.trim_start_matches('-') } else { &text })
}

/// The same names from top to bottom.
fn reversed(axis: &Axis) -> Axis {
    let mut axis = axis.clone();
    let last = axis.ticks.len().saturating_sub(1) as f64;
    axis.ticks.iter_mut().for_each(|it| it.at = last - it.at);
    axis
}

fn description(section: &Section, matrix: &[Vec<Option<f64>>]) -> String {
    let count = matrix.len();
    let pairs = (0..count).flat_map(|p| (p + 1..count).map(move |q| (p, q)));
    let known = pairs.filter_map(|(p, q)| Some((p, q, matrix[p][q]?)));
    let known: Vec<(usize, usize, f64)> = known.collect();
    let name = |index: usize| crate::page::words::point_name(&section.points[index]);
    let least = known.iter().copied().reduce(|a, b| if b.2 < a.2 { b } else { a });
    let largest = known.iter().copied().reduce(|a, b| if b.2 > a.2 { b } else { a });
    let (Some(least), Some(largest)) = (least, largest) else {
        return format!("The results at {count} points; no correlation is known.");
    };
    let of = |(p, q, r): (usize, usize, f64)| {
        format!("{} between {} and {}", short_correlation(r), name(p), name(q))
    };
    format!(
        "Correlation of the results at {count} points: smallest {}, largest {}.",
        of(least),
        of(largest)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn squares_stand_above_the_diagonal_and_numbers_below() {
        let mut section = sample::worksheet().sections[0].clone();
        section.correlation.as_mut().unwrap()[0][3] = Some(-0.25);
        section.correlation.as_mut().unwrap()[3][0] = None;
        let figure = correlations(&section).unwrap();
        let count = section.points.len();
        let squares = figure.marks.iter().filter(|it| matches!(it, Mark::Area { .. }));
        assert_eq!(squares.count(), count * (count - 1) / 2);
        // Row 0 is at the top, at height 9; its fourth cell is as wide as 2·0.44·0.25.
        let negative = figure.marks.iter().find_map(|it| match it {
            Mark::Area { outline, hatch: Hatch::Open, .. } => Some(outline.clone()),
            _ => None,
        });
        let outline = negative.unwrap();
        assert!((outline[1][0] - outline[0][0] - 0.22).abs() < 1e-12);
        assert!((outline[0][1] + outline[2][1] - 18.0).abs() < 1e-12);
        let texts = |wanted: &str| {
            let is = |it: &&Mark| matches!(it, Mark::Label { text, .. } if text.as_str() == wanted);
            figure.marks.iter().filter(is).count()
        };
        assert_eq!((texts("–"), texts("0.50")), (1, count * (count - 1) / 2 - 1));
        assert!(figure.description.as_str().contains("smallest −0.25"), "{}", figure.description);
    }

    #[test]
    fn nothing_is_drawn_where_nothing_was_worked_out() {
        assert_eq!(correlations(&sample::shown().sections[0]), None);
    }

    #[test]
    fn a_correlation_is_one_only_where_it_is() {
        let cases = [(0.9999, "0.99"), (1.0, "1.00"), (-0.001, "0.00"), (-0.5, "−0.50")];
        for (r, text) in cases {
            assert_eq!(short_correlation(r), text);
        }
    }
}
