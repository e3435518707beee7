//! What the points have in common: the correlations of `show --together`, and in one sentence whether
//! the instrument is within tolerance at all of them.

use super::{Block, Cell, Column, Table, Text, numbers, words};
use crate::record::{Section, Together, WithinTolerance};

/// Most points whose matrix fits the page; of more the extremes are named.
const SHOWN: usize = 12;

type Matrix = [Vec<Option<f64>>];

/// Returns the correlations of all points; nothing where they were not worked out, or with one point.
pub(super) fn correlations(section: &Section) -> Vec<Block> {
    let n = section.points.len();
    let matrices = (section.correlation.as_deref(), section.laboratory_correlation.as_deref());
    let (Some(all), Some(laboratory)) = matrices else { return Vec::new() };
    if n < 2 || all.len() != n || laboratory.len() != n {
        return Vec::new();
    }
    let heading =
        Block::Heading("How the points hang together (correlation of their results)".into());
    if n <= SHOWN {
        return vec![heading, Block::Table(matrix(section, all, laboratory))];
    }
    let extremes = Block::Pairs(vec![
        ("all contributors".into(), extremes(section, all)),
        ("laboratory only".into(), extremes(section, laboratory)),
    ]);
    let whole = Block::plain(format!("{n} points; the whole matrices: --format json"));
    vec![heading, extremes, whole]
}

/// One table for both scopes: a correlation matrix is symmetric, so each takes one half.
fn matrix(section: &Section, all: &Matrix, laboratory: &Matrix) -> Table {
    let n = all.len();
    let mut columns = vec![Column::number("no."), Column::names("point")];
    columns.extend((1..=n).map(|it| Column::number(it.to_string())));
    let row = |row: usize| {
        let mut cells = vec![
            Cell::text((row + 1).to_string()),
            Cell::text(words::point_name(&section.points[row])),
        ];
        let of = |column: usize| if column < row { all } else { laboratory };
        cells.extend((0..n).map(|column| match column == row {
            true => Cell::text("·"),
            false => Cell::text(coefficient(of(column)[row][column])),
        }));
        cells
    };
    let caption = "below the dots: all contributors; above them: the laboratory's alone";
    Table { columns, rows: (0..n).map(row).collect(), caption: caption.into() }
}

fn coefficient(r: Option<f64>) -> String {
    let text = r.map_or("–".into(), |it| numbers::minus(&format!("{it:.2}")));
    if text == "−0.00" { "0.00".into() } else { text }
}

/// Names the pair of points with the largest and that with the smallest correlation.
fn extremes(section: &Section, matrix: &Matrix) -> Text {
    let pairs = (0..matrix.len()).flat_map(|p| (p + 1..matrix.len()).map(move |q| (p, q)));
    let known = pairs.filter_map(|(p, q)| Some((p, q, matrix[p][q]?)));
    let mut found: Option<[(usize, usize, f64); 2]> = None;
    for it in known {
        let [least, most] = found.get_or_insert([it, it]);
        if it.2 < least.2 {
            *least = it;
        }
        if it.2 > most.2 {
            *most = it;
        }
    }
    let Some([least, most]) = found else { return "none: u is 0".into() };
    if least.2 == most.2 {
        return format!("{} between any two points", coefficient(Some(most.2))).into();
    }
    let name = |index: usize| words::point_name(&section.points[index]);
    let text = |it: (usize, usize, f64)| {
        format!("{} ({} and {})", coefficient(Some(it.2)), name(it.0), name(it.1))
    };
    format!("from {} to {}", text(least), text(most)).into()
}

/// Says how probable it is that the true errors lie within tolerance at all tested points.
pub(super) fn within_tolerance(section: &Section) -> Option<Block> {
    let together = section.together.as_ref()?;
    let points = match together.points {
        1 => "the tested point".to_owned(),
        points => format!("all {points} tested points"),
    };
    let Some(all) = &together.all else {
        let reason = together.reason.as_deref().unwrap_or("not worked out");
        let text = format!(
            "Probability that the true errors lie within tolerance at {points}: not stated, {reason}."
        );
        return Some(Block::plain(text));
    };
    let mut text = format!(
        "Probability that the true errors lie within tolerance at {points}: {}",
        numbers::conformance(all.probability)
    );
    if let Some(laboratory) = &together.laboratory {
        text += &format!(" (laboratory's part: {})", numbers::conformance(laboratory.probability));
    }
    text += &apart(together, all);
    Some(Block::plain(text + "."))
}

/// Says what would come out without what the points share; nothing where it is the same.
fn apart(together: &Together, all: &WithinTolerance) -> String {
    let product = numbers::conformance(all.independent_product);
    if together.points < 2 || product == numbers::conformance(all.probability) {
        return String::new();
    }
    format!("; taking the points as independent would give {product}")
}
