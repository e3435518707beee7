//! What stands under the contributors: readings in groups, simultaneous readings, calibration lines.

use super::{Block, numbers};
use crate::record::{Analysis, CommonData, Contributor, DataKind, Fit, Grouping, Point, Section};

/// Returns a paragraph for each contributor with readings in groups and for all common data.
pub(super) fn blocks(section: &Section, point: &Point) -> Vec<Block> {
    let grouped = point.contributors.iter().filter_map(|it| {
        let analysis = it.analysis.as_ref()?;
        Some(Block::plain(groups(it, analysis)))
    });
    let data = section.data.iter().flatten().map(|it| Block::plain(data(it)));
    grouped.chain(data).collect()
}

/// `Repeatability: 15 readings in 3 groups: s within groups 0.40 µm, ν 12; between groups 0.30 µm; …`.
fn groups(contributor: &Contributor, analysis: &Analysis) -> String {
    let unit = &contributor.unit;
    let value = |number| numbers::joined(&numbers::uncertainty(number), unit);
    let between = match (analysis.between_s, analysis.grouping) {
        (Some(s), Grouping::Components) => format!("s between groups {}", value(s)),
        (Some(s), Grouping::Pooled) => format!("s between groups {}, not counted", value(s)),
        (None, _) => "none between groups".to_owned(),
    };
    let test = match (analysis.f, analysis.f_probability) {
        (Some(f), Some(p)) => {
            format!("; F {}, probability {}", numbers::significant(f, 3), likely(p))
        }
        _ => String::new(),
    };
    format!(
        "{}: {} readings in {} groups, s within groups {}, ν {}; {between}{test}",
        contributor.name,
        analysis.readings,
        analysis.groups,
        value(analysis.within_s),
        numbers::dof(analysis.within_dof)
    )
}

fn data(data: &CommonData) -> String {
    let columns: Vec<String> = data
        .columns
        .iter()
        .map(|it| {
            let estimate = numbers::minus(&numbers::significant(it.estimate, 5));
            let u = numbers::uncertainty(it.standard_uncertainty);
            let unit = if it.unit == "1" { "" } else { it.unit.as_str() };
            let estimate = numbers::joined(&estimate, unit);
            format!("{} {} (u {u})", it.input, estimate.trim_end())
        })
        .collect();
    let (n, dof) = (data.n, numbers::dof(data.dof));
    let what = match data.kind {
        DataKind::Observations => format!("means of {n} simultaneous readings"),
        DataKind::Line => format!("line through {n} points"),
    };
    let fit = data.line.as_ref().map(fit).unwrap_or_default();
    format!("{}: {what}, ν {dof}: {}{}{fit}", data.name, columns.join(", "), correlations(data))
}

/// `; r(b0, b1) −0.93`.
fn correlations(data: &CommonData) -> String {
    let mut pairs = Vec::new();
    for (a, row) in data.correlation.iter().enumerate() {
        for (b, r) in row.iter().enumerate().skip(a + 1).filter(|it| *it.1 != 0.0) {
            let (one, two) = (&data.columns[a].input, &data.columns[b].input);
            let r = numbers::minus(&format!("{r:.3}"));
            pairs.push(format!("r({one}, {two}) {r}"));
        }
    }
    if pairs.is_empty() { String::new() } else { format!("; {}", pairs.join(", ")) }
}

fn fit(fit: &Fit) -> String {
    let scatter = fit.residual_s.map(|s| {
        format!("; s about the line {}", numbers::joined(&numbers::uncertainty(s), &fit.y_unit))
    });
    let test = match (fit.chi_squared, fit.chi_squared_probability) {
        (Some(chi), Some(p)) => {
            let dof = fit.chi_squared_dof.unwrap_or_default();
            let (chi, p) = (numbers::significant(chi, 3), likely(p));
            Some(format!("; χ² {chi} with ν {dof}, probability {p}"))
        }
        _ => None,
    };
    [scatter, test].into_iter().flatten().collect()
}

/// A probability of a test in words.
fn likely(p: f64) -> String {
    match p {
        p if p < 1e-6 => "below 0.0001 %".to_owned(),
        p => numbers::joined(&numbers::significant(100.0 * p, 2), "%"),
    }
}
