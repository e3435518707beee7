//! Several results of one budget, for the page of `show`: a table of their figures, and the correlation
//! matrix in blocks of columns that fit a page.

use super::{Block, Cell, Column, Table, Text, numbers, words};
use crate::record::{Point, Region, Results, Section};

/// The room for columns of the correlation matrix, in cells.
const ROOM: usize = 88;

/// Returns whether a reason of a point is about its results.
pub(super) fn is_about_results(field: &str) -> bool {
    field.starts_with("results.")
}

/// Returns the blocks about the results of a point; none where there are no results.
pub(super) fn blocks(section: &Section, point: &Point) -> Vec<Block> {
    let Some(results) = &point.results else { return Vec::new() };
    let place = match (&point.at, &point.label) {
        (None, None) => String::new(),
        _ => format!(" at {}", words::point_name(point)),
    };
    let mut blocks = vec![
        Block::Heading(format!("All results{place}").into()),
        Block::Table(figures(section, point, results)),
        Block::Heading(format!("Correlation coefficients of the results{place}").into()),
    ];
    let mut tables: Vec<Table> =
        columns(&results.symbols).into_iter().map(|columns| matrix(results, columns)).collect();
    if let Some(last) = tables.last_mut() {
        last.caption = caption(point, results).into();
    }
    blocks.extend(tables.into_iter().map(Block::Table));
    blocks
}

/// The measurand and the results, each in its own unit.
fn figures(section: &Section, point: &Point, results: &Results) -> Table {
    let columns = vec![
        Column::names("symbol"),
        Column::names("name"),
        Column::quantity("estimate"),
        Column::quantity("u"),
        Column::number("ν"),
        Column::number("k"),
        Column::quantity("U"),
    ];
    let measurand = &section.budget.measurand;
    let own = (&measurand.symbol, &measurand.name, &measurand.unit);
    let own = (own, &point.reported, point.standard_uncertainty, point.effective_dof);
    let further = results.figures.iter().map(|it| {
        let head = (&it.symbol, &it.name, &it.unit);
        (head, &it.reported, it.standard_uncertainty, it.effective_dof)
    });
    let row = |((symbol, name, unit), reported, u, dof): (_, &crate::record::Reported, f64, _)| {
        let (symbol, name, unit): (&String, &String, &String) = (symbol, name, unit);
        let quantity = |text: &str| Cell::text(numbers::with_unit(text, unit));
        vec![
            Cell::text(symbol),
            Cell::text(name),
            quantity(&numbers::minus(&reported.estimate_text())),
            quantity(&numbers::uncertainty(u)),
            Cell::text(numbers::dof(dof)),
            Cell::text(reported.coverage_factor_text()),
            quantity(&reported.expanded_uncertainty_text()),
        ]
    };
    let rows = std::iter::once(own).chain(further).map(row).collect();
    let caption = results.region.as_ref().map(region).unwrap_or_default();
    Table { columns, rows, caption: caption.into() }
}

/// What holds all results together.
fn region(region: &Region) -> String {
    let all = match region.quantities {
        2 => "both".to_string(),
        more => format!("all {more}"),
    };
    format!(
        "{all} together at {}, taken as normal: ellipsoid with factor {:.2}, or each within ±{:.2}·u",
        numbers::probability(region.probability),
        region.ellipsoid_factor,
        region.rectangle_factor
    )
}

/// Returns ranges of columns, each as many as fit beside the names of the rows, but at least one.
fn columns(symbols: &[String]) -> Vec<std::ops::Range<usize>> {
    let width = |it: &String| it.chars().count().max(6) + 2;
    let first = symbols.iter().map(width).max().unwrap_or(0).min(ROOM / 2);
    let (mut ranges, mut start, mut used) = (Vec::new(), 0, first);
    for (index, symbol) in symbols.iter().enumerate() {
        if index > start && used + width(symbol) > ROOM {
            ranges.push(start..index);
            (start, used) = (index, first);
        }
        used += width(symbol);
    }
    ranges.push(start..symbols.len());
    ranges
}

/// Some columns of the lower triangle; what stands above the diagonal is the same once more.
fn matrix(results: &Results, range: std::ops::Range<usize>) -> Table {
    let mut columns = vec![Column::names("r")];
    columns.extend(range.clone().map(|it| Column::number(Text::from(&results.symbols[it]))));
    let rows = (range.start..results.symbols.len()).map(|row| {
        let mut cells = vec![Cell::text(&results.symbols[row])];
        cells.extend(range.clone().map(|column| match column <= row {
            true => Cell::text(coefficient(results.correlation[row][column])),
            false => Cell::text(""),
        }));
        cells
    });
    Table { columns, rows: rows.collect(), caption: Text::default() }
}

/// Returns a correlation coefficient to three decimals: ±1 only where it is that, `–` where there is none.
fn coefficient(r: Option<f64>) -> String {
    match r {
        None => "–".into(),
        Some(r) if r.abs() == 1.0 => numbers::minus(&format!("{r:.0}")),
        Some(r) => {
            let shown = format!("{:.3}", r.clamp(-0.999, 0.999));
            if shown == "-0.000" { "0.000".into() } else { numbers::minus(&shown) }
        }
    }
}

/// Why coefficients or regions are not stated.
fn caption(point: &Point, results: &Results) -> String {
    let mut said = Vec::new();
    for it in point.reasons.iter().filter(|it| is_about_results(&it.field)) {
        match it.field.as_str() {
            "results.correlation" => said.push(format!("–: {}", it.reason)),
            "results.region" => said.push(format!("no regions are stated: {}", it.reason)),
            _ => said.push(format!("second order is not worked out: {}", it.reason)),
        }
    }
    let all = results.symbols.len() as u64;
    if results.independent < all {
        said.push(format!("only {} of {all} vary independently", results.independent));
    }
    said.dedup();
    said.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn never_shows_a_coefficient_as_perfect_that_is_not() {
        let cases = [
            (Some(1.0), "1"),
            (Some(-1.0), "−1"),
            (Some(0.999_999), "0.999"),
            (Some(-0.588_4), "−0.588"),
            (Some(-0.000_1), "0.000"),
            (None, "–"),
        ];
        for (r, expected) in cases {
            assert_eq!(coefficient(r), expected, "{r:?}");
        }
    }

    #[test]
    fn breaks_a_wide_matrix_into_blocks_that_fit() {
        let symbols: Vec<String> = (0..25).map(|it| format!("result_{it:02}")).collect();
        let ranges = columns(&symbols);
        assert_eq!(ranges.first().map(|it| it.start), Some(0));
        assert_eq!(ranges.last().map(|it| it.end), Some(25));
        for pair in ranges.windows(2) {
            assert_eq!(pair[0].end, pair[1].start);
        }
        assert!(ranges.iter().all(|it| (1..=7).contains(&it.len())), "{ranges:?}");
        assert_eq!(columns(&["R".into(), "X".into()]).first(), Some(&(0..2)));
    }
}
