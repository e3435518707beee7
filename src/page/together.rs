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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    fn sentence(section: &Section) -> String {
        match within_tolerance(section) {
            Some(Block::Paragraph(spans)) => spans.iter().map(|it| it.text.as_str()).collect(),
            _ => String::new(),
        }
    }

    #[test]
    fn says_in_one_sentence_how_probable_it_is_that_all_points_are_within_tolerance() {
        let mut section = sample::worksheet().sections.remove(0);
        assert_eq!(
            sentence(&section),
            "Probability that the true errors lie within tolerance at all 10 tested points: 98.7 % \
             (laboratory's part: 99.90 %); taking the points as independent would give 96.1 %."
        );
        if let Some(together) = &mut section.together {
            together.all = None;
            together.reason = Some("there is no reading at 5 mm".into());
        }
        assert!(sentence(&section).ends_with("not stated, there is no reading at 5 mm."));
        section.together = None;
        assert_eq!(sentence(&section), "");
    }

    #[test]
    fn shows_the_matrix_of_few_points_and_the_extremes_of_many() {
        let mut section = sample::worksheet().sections.remove(0);
        let table = |blocks: &[Block]| blocks.iter().any(|it| matches!(it, Block::Table(_)));
        assert!(table(&correlations(&section)));
        let point = section.points[0].clone();
        section.points = vec![point; SHOWN + 1];
        let n = section.points.len();
        let r = |p: usize, q: usize| if p == q { 1.0 } else { 0.01 * (p + q) as f64 };
        let matrix: Vec<Vec<Option<f64>>> =
            (0..n).map(|p| (0..n).map(|q| Some(r(p, q))).collect()).collect();
        section.correlation = Some(matrix.clone());
        section.laboratory_correlation = Some(matrix);
        let blocks = correlations(&section);
        assert!(!table(&blocks));
        let Block::Pairs(pairs) = &blocks[1] else { panic!("no extremes") };
        let text = pairs[0].1.as_str();
        assert!(text.starts_with("from 0.01 (") && text.contains(" to 0.23 ("), "{text}");
    }

    /// Two decimals, one minus sign, no zero with a sign; a dash is no number.
    #[test]
    fn writes_coefficients_in_two_decimals() {
        let cases =
            [(Some(0.126), "0.13"), (Some(-0.5), "−0.50"), (Some(-0.001), "0.00"), (None, "–")];
        for (r, text) in cases {
            assert_eq!(coefficient(r), text);
        }
    }
}
