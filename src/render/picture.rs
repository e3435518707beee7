//! A figure in block characters: each curve as a hill over the common axis, its interval below it.

use super::fold;
use crate::page::figure::{Hills, ticks};

/// Rows of a hill.
const ROWS: usize = 4;
/// Eighths of a cell, from below.
const EIGHTHS: [char; 9] = [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
/// The widest picture, in cells.
const WIDEST: usize = 96;

/// Returns the lines of a figure, `width` cells wide at most. All hills have the same scale.
pub(super) fn lines(figure: &Hills, width: usize) -> Vec<String> {
    let cells = width.clamp(10, WIDEST);
    let top = figure.top();
    let mut lines = Vec::new();
    for curve in &figure.curves {
        lines.push(curve.name.as_str().to_owned());
        if curve.heights.is_empty() || top <= 0.0 {
            lines.push("(no density: u is 0)".to_owned());
        } else {
            lines.extend(hill(&curve.heights, top, cells));
        }
        lines.push(interval(figure, curve.interval, curve.interval_name.as_str(), cells));
    }
    lines.extend(axis(figure, cells));
    lines
}

/// A hill in rows, from the top.
fn hill(heights: &[f64], top: f64, cells: usize) -> Vec<String> {
    let eighths: Vec<usize> = (0..cells)
        .map(|cell| {
            let height = mean(heights, cell, cells) / top;
            (height.clamp(0.0, 1.0) * (8 * ROWS) as f64).round() as usize
        })
        .collect();
    let row = |row: usize| {
        let base = 8 * (ROWS - 1 - row);
        eighths.iter().map(|it| EIGHTHS[it.saturating_sub(base).min(8)]).collect::<String>()
    };
    (0..ROWS).map(row).filter(|it| !it.trim().is_empty()).collect()
}

/// The mean of the heights that fall into a cell; with more cells than heights the nearest one.
fn mean(heights: &[f64], cell: usize, cells: usize) -> f64 {
    let from = cell * heights.len() / cells;
    let to = ((cell + 1) * heights.len() / cells).max(from + 1).min(heights.len());
    let some = &heights[from.min(heights.len() - 1)..to];
    some.iter().sum::<f64>() / some.len() as f64
}

/// The cell that a value falls into.
fn cell_of(figure: &Hills, value: f64, cells: usize) -> usize {
    let [low, high] = figure.range;
    let place = (value - low) / (high - low) * cells as f64;
    (place.max(0.0) as usize).min(cells - 1)
}

/// `├── name ──┤` between the ends; where it is too narrow the name stands beside it.
fn interval(figure: &Hills, ends: [f64; 2], name: &str, cells: usize) -> String {
    let [from, to] = ends.map(|it| cell_of(figure, it, cells));
    let mut line = vec![' '; cells];
    line[from..=to].fill('─');
    line[from] = '├';
    line[to] = '┤';
    let label: Vec<char> = format!(" {name} ").chars().collect();
    let room = (to - from).saturating_sub(1);
    if fold::width(name) + 2 <= room && label.len() <= room {
        let start = from + 1 + (room - label.len()) / 2;
        line[start..start + label.len()].copy_from_slice(&label);
        return line.into_iter().collect();
    }
    let line: String = line.into_iter().collect();
    format!("{} {name}", line.trim_end())
}

/// The axis with its round numbers, and what it is.
fn axis(figure: &Hills, cells: usize) -> Vec<String> {
    let mut rule = vec!['─'; cells];
    let mut labels = String::new();
    for (value, text) in ticks(figure.range, 6) {
        let at = cell_of(figure, value, cells);
        let start = at.saturating_sub(fold::width(&text) / 2);
        let used = fold::width(&labels);
        if used > 0 && start < used + 1 || start + fold::width(&text) > cells {
            continue;
        }
        rule[at] = '┴';
        labels += &" ".repeat(start.saturating_sub(used));
        labels += &text;
    }
    let name = figure.axis.as_str();
    let mut lines = vec![rule.into_iter().collect(), labels];
    if fold::width(&lines[1]) + 2 + fold::width(name) <= cells {
        lines[1] += &format!("  {name}");
    } else {
        lines.push(name.to_owned());
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::Text;
    use crate::page::figure::Curve;

    fn figure() -> Hills {
        let curve = |name: &str, heights: &[f64]| Curve {
            name: name.into(),
            heights: heights.to_vec(),
            interval: [1.0, 9.0],
            interval_name: "95 %".into(),
        };
        Hills {
            title: Text::default(),
            description: Text::default(),
            axis: "E in µm".into(),
            height: Text::default(),
            range: [0.0, 10.0],
            curves: vec![curve("a", &[0.0, 1.0, 2.0, 1.0, 0.0]), curve("b", &[])],
        }
    }

    #[test]
    fn draws_hills_intervals_and_axis() {
        let expected = [
            "a",
            "        ████",
            "        ████",
            "    ████████████",
            "    ████████████",
            "  ├──── 95 % ─────┤",
            "b",
            "(no density: u is 0)",
            "  ├──── 95 % ─────┤",
            "┴───┴───┴───┴───┴──┴",
            "0   2   4   6   8 10",
            "E in µm",
        ];
        let lines = lines(&figure(), 20);
        let lines: Vec<&str> = lines.iter().map(|it| it.trim_end()).collect();
        assert_eq!(lines, expected);
    }

    #[test]
    fn is_as_wide_as_it_may_be_and_no_wider() {
        for width in [40, 60, 100, 300] {
            let widest = lines(&figure(), width).iter().map(|it| fold::width(it)).max();
            assert_eq!(widest, Some(width.min(WIDEST)));
        }
    }
}
