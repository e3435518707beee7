//! The page of `show`: all points in short, one point's contributors in full.
//!
//! Made to be read at the bench: what the procedure is good for stands first, what to work on
//! second. The point that is opened is the one asked for, else the one with the largest U.

use super::{
    Block, Cell, Column, Page, Table, Text, coverage, data, numbers, results, together, words,
};
use crate::record::{Contributor, GuardBandKind, Owner, Point, Record, ScopeFigures, Section};

/// Returns the page of a `show` record.
pub fn page(record: &Record) -> Page {
    let title = record.sections.first().map(words::budget_title).unwrap_or_default();
    let mut blocks = vec![Block::Title(Text::from(&title))];
    for section in &record.sections {
        blocks.push(Block::plain(head(section)));
        blocks.push(Block::Table(summary(section)));
        if let Some(point) = opened(section) {
            blocks.extend(contributors(section, point));
            blocks.extend(results::blocks(section, point));
        }
        blocks.extend(together::correlations(section));
    }
    blocks.extend(words::findings(record));
    blocks.push(words::cautions());
    Page { title: title.into(), blocks }
}

/// What is measured, the tolerance and the rule, in one paragraph.
fn head(section: &Section) -> String {
    let tolerance = match words::common_tolerance(section) {
        Some(tolerance) => format!("tolerance {tolerance}"),
        None => "no tolerance".into(),
    };
    let decision = words::decision_asked(section).unwrap_or_else(|| "no decision rule".into());
    format!("{}; {tolerance}; {decision}", words::measurand(section))
}

/// Returns the table of all points.
pub(super) fn summary(section: &Section) -> Table {
    let limits = section.points.iter().any(|point| point.decision.is_some());
    let corrected = section.points.iter().any(|point| point.estimate != 0.0);
    let unit = &section.budget.measurand.unit;
    let in_unit = |word: &str| Text::from(numbers::with_unit(word, unit));
    let mut columns = vec![Column::names("point")];
    if corrected {
        columns.push(Column::number(in_unit("estimate")));
    }
    columns.extend([Column::number(in_unit("u"))]);
    let dof = coverage::uses_dof(section);
    if dof {
        columns.push(Column::number("ν"));
    }
    columns.extend([
        Column::number("k"),
        Column::number(in_unit("U")),
        Column::number("TUR, all"),
        Column::number("TUR, lab"),
    ]);
    if limits {
        columns.push(Column::quantity(words::passes_if(section)));
    }
    let with = Columns { corrected, dof, limits };
    let rows = section.points.iter().map(|point| summary_row(point, &with)).collect();
    Table { columns, rows, caption: Text::from(caption(section)) }
}

/// Which columns of the summary there are beside those that always are.
struct Columns {
    corrected: bool,
    dof: bool,
    limits: bool,
}

fn summary_row(point: &Point, with: &Columns) -> Vec<Cell> {
    let mut row = vec![Cell::text(words::point_name(point))];
    if with.corrected {
        row.push(Cell::text(numbers::minus(&point.reported.estimate_text())));
    }
    row.push(Cell::text(numbers::uncertainty(point.standard_uncertainty)));
    if with.dof {
        row.push(Cell::text(numbers::dof(point.effective_dof)));
    }
    row.extend([
        Cell::text(point.reported.coverage_factor_text()),
        Cell::text(point.reported.expanded_uncertainty_text()),
        Cell::text(numbers::tur(point.test.all.tur)),
        Cell::text(numbers::tur(point.test.laboratory.tur)),
    ]);
    if with.limits {
        let decision = point.decision.as_ref();
        row.push(Cell::text(decision.map(words::acceptance).unwrap_or_default()));
    }
    row
}

/// What the columns of the summary mean where a reader may go wrong.
fn caption(section: &Section) -> String {
    let reported = coverage::reported(section);
    let risks = match coverage::behind_all(section) {
        Some(behind) if of_risk(section) => format!("; guard bands are {behind}"),
        _ => String::new(),
    };
    let unstated = section.points.iter().flat_map(|point| &point.reasons);
    let said = unstated.filter_map(|it| match it.field.as_str() {
        field if words::is_about_tur(field) => Some(format!("; –: {}", it.reason)),
        // Results and simulated figures have places of their own.
        field if results::is_about_results(field) => None,
        field if field.starts_with("simulation.") => None,
        _ => Some(format!("; second order is not worked out: {}", it.reason)),
    });
    let mut reasons: Vec<String> = said.collect();
    reasons.sort_unstable();
    reasons.dedup();
    let tail = reasons.concat();
    let test = if coverage::uses_dof(section) { "" } else { ", by t" };
    format!("{reported}; TUR is tolerance span over 2·U at 95.45 %{test}{risks}{tail}")
}

/// Whether guard bands keep a promised risk.
fn of_risk(section: &Section) -> bool {
    let band = section.budget.decision.as_ref().and_then(|it| it.guard_band.as_ref());
    band.is_some_and(|it| it.kind == GuardBandKind::SpecificRisk)
}

/// The point whose contributors are shown: the one asked for, else the first with the largest U.
fn opened(section: &Section) -> Option<&Point> {
    if let Some(asked) = asked(section) {
        return Some(asked);
    }
    section.points.iter().reduce(|largest, point| {
        if point.expanded_uncertainty > largest.expanded_uncertainty { point } else { largest }
    })
}

fn asked(section: &Section) -> Option<&Point> {
    section.focus.and_then(|index| section.points.get(usize::try_from(index).ok()?))
}

/// One point's contributors and both scopes.
fn contributors(section: &Section, point: &Point) -> Vec<Block> {
    let why = match asked(section) {
        None if section.points.len() > 1 => ", where U is largest",
        _ => "",
    };
    contributors_of(section, point, why)
}

/// Returns one point's contributors and both scopes; `why` says why this point.
pub(super) fn contributors_of(section: &Section, point: &Point, why: &str) -> Vec<Block> {
    let unit = &section.budget.measurand.unit;
    let place = match (&point.at, &point.label) {
        (None, None) => String::new(),
        _ => format!(" at {}", words::point_name(point)),
    };
    let heading = format!("What u is made of{place}{why} (c: sensitivity, |c·u|: contribution)");
    // The heading carries the measurand's unit; a cell names its own where it differs.
    let columns = vec![
        Column::names("contributor"),
        Column::words("owner"),
        Column::words("evidence"),
        Column::quantity(numbers::with_unit("u", unit)),
        Column::quantity("c"),
        Column::quantity(numbers::with_unit("|c·u|", unit)),
        Column::words("share of u²"),
    ];
    let mut kept: Vec<&Contributor> = point.contributors.iter().collect();
    kept.sort_by(|a, b| b.kept.cmp(&a.kept).then(b.contribution.total_cmp(&a.contribution)));
    let mut rows: Vec<Vec<Cell>> = kept.iter().map(|it| contributor_row(it, unit)).collect();
    rows.extend(extra_row("correlations", point.correlation_share));
    rows.extend(extra_row("second-order terms", point.second_order_share));
    let table = Table { columns, rows, caption: dropped(&kept).into() };
    let mut blocks = vec![Block::Heading(heading.into()), Block::Table(table)];
    blocks.extend(data::blocks(section, point));
    blocks.push(scopes(point, unit));
    blocks
}

fn contributor_row(contributor: &Contributor, unit: &str) -> Vec<Cell> {
    let owner = match contributor.owner {
        Owner::Laboratory => "lab",
        Owner::Instrument => "instr.",
    };
    let share = if contributor.kept { share(contributor.share) } else { Cell::text("not counted") };
    let u = numbers::uncertainty(contributor.standard_uncertainty);
    let u = match contributor.unit == unit {
        true => u,
        false => numbers::with_unit(&u, &contributor.unit),
    };
    let c = numbers::short(contributor.sensitivity);
    vec![
        Cell::text(&contributor.name),
        Cell::text(owner),
        Cell::text(evidence(contributor)),
        Cell::text(u),
        Cell::text(numbers::with_unit(&c, &contributor.sensitivity_unit)),
        Cell::text(numbers::uncertainty(contributor.contribution)),
        share,
    ]
}

fn share(share: f64) -> Cell {
    Cell::Share { text: numbers::share(share).into(), length: share.clamp(0.0, 1.0) }
}

/// A row for what is no contributor; none where it adds nothing.
fn extra_row(name: &str, of_it: f64) -> Option<Vec<Cell>> {
    let mut row = vec![Cell::text(format!("({name})"))];
    row.extend((0..5).map(|_| Cell::text("")));
    row.push(share(of_it));
    (of_it != 0.0).then_some(row)
}

/// The evidence in two words: its kind, and the distribution where the kind does not say it.
fn evidence(contributor: &Contributor) -> String {
    let kind = match contributor.kind.as_str() {
        "standard_uncertainty" => "stated".to_owned(),
        "block_grade" => "grade".to_owned(),
        "full_range" => "range".to_owned(),
        kind => kind.replace('_', " "),
    };
    let distribution = match contributor.distribution.as_str() {
        "rectangular" => "rect.",
        "triangular" => "triang.",
        "trapezoidal" => "trapez.",
        "curvilinear trapezoidal" => "curv. trap.",
        word => word,
    };
    format!("{kind} {distribution}")
}

/// Says which group the contributors that do not count belong to.
fn dropped(contributors: &[&Contributor]) -> String {
    let dropped = contributors.iter().filter(|it| !it.kept);
    let mut groups: Vec<&str> = dropped.filter_map(|it| it.largest_of.as_deref()).collect();
    groups.sort_unstable();
    groups.dedup();
    if groups.is_empty() {
        return String::new();
    }
    format!("not counted: only the largest of “{}” counts", groups.join("”, “"))
}

/// The figures of both scopes; where they are not those that are reported, these too, and what they are.
fn scopes(point: &Point, unit: &str) -> Block {
    let value = |number| numbers::joined(&numbers::uncertainty(number), unit);
    let line = |figures: &ScopeFigures| {
        let u = value(figures.standard_uncertainty);
        let (dof, k) = (numbers::dof(figures.effective_dof), figures.coverage_factor);
        let (expanded, tur) = (value(figures.expanded_uncertainty), numbers::tur(figures.tur));
        Text::from(format!("u {u}, ν {dof}, k {k:.2}, U {expanded}, TUR {tur}"))
    };
    let all = line(&point.test.all);
    let laboratory = line(&point.test.laboratory);
    let Some(method) = coverage::other_than_of_test(point) else {
        return Block::Pairs(vec![
            (Text::from("all contributors, at 95.45 %"), all),
            (Text::from("laboratory only, at 95.45 %"), laboratory),
        ]);
    };
    let reported = &point.reported;
    let expanded = numbers::joined(&reported.expanded_uncertainty_text(), unit);
    let k = reported.coverage_factor_text();
    let u = value(point.standard_uncertainty);
    Block::Pairs(vec![
        (Text::from(format!("reported, {method}")), format!("u {u}, k {k}, U {expanded}").into()),
        (Text::from("for the TUR, by t at 95.45 %: all contributors"), all),
        (Text::from("for the TUR, by t at 95.45 %: laboratory only"), laboratory),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn opens_the_point_with_the_largest_uncertainty() {
        let record = sample::shown();
        assert_eq!(words::point_name(opened(&record.sections[0]).unwrap()), "25\u{a0}mm");
    }

    #[test]
    fn opens_the_point_that_was_asked_for() {
        let mut record = sample::shown();
        record.sections[0].focus = Some(3);
        assert_eq!(words::point_name(opened(&record.sections[0]).unwrap()), "10.3\u{a0}mm");
        let heading = |block: &Block| matches!(block, Block::Heading(text) if text.as_str().starts_with("What u is made of at 10.3\u{a0}mm (c"));
        assert!(page(&record).blocks.iter().any(heading));
    }

    #[test]
    fn names_no_place_where_a_budget_has_a_single_result() {
        let mut record = sample::shown();
        record.sections[0].points.truncate(2);
        record.sections[0].points.remove(0);
        record.sections[0].points[0].at = None;
        let heading = |block: &Block| matches!(block, Block::Heading(text) if text.as_str().starts_with("What u is made of (c"));
        assert!(page(&record).blocks.iter().any(heading));
    }

    /// The figures of the test are by t at 95.45 %, whatever is reported: both have to say what they are.
    #[test]
    fn tells_the_reported_uncertainty_from_that_of_the_test() {
        let mut point = sample::shown().sections.remove(0).points.remove(0);
        let names = |point: &Point| match scopes(point, "µm") {
            Block::Pairs(pairs) => pairs,
            other => panic!("{other:?}"),
        };
        assert_eq!(names(&point)[0].0.as_str(), "all contributors, at 95.45 %");
        point.coverage.method = crate::record::CoverageMethod::MonteCarlo;
        point.coverage.probability = Some(0.95);
        point.reported.coverage_factor = 2.44;
        let pairs = names(&point);
        assert_eq!(pairs.len(), 3);
        assert_eq!(pairs[0].0.as_str(), "reported, at 95 %, from the simulated distribution");
        assert!(pairs[0].1.as_str().contains("k 2.44"), "{}", pairs[0].1);
        assert!(pairs[1].0.as_str().starts_with("for the TUR, by t at 95.45 %"));
    }

    #[test]
    fn says_in_words_what_does_not_count() {
        let record = sample::shown();
        let point = &record.sections[0].points[0];
        let left_out = point.contributors.iter().find(|it| !it.kept).unwrap();
        assert_eq!(contributor_row(left_out, "µm").pop(), Some(Cell::text("not counted")));
        let all: Vec<&Contributor> = point.contributors.iter().collect();
        assert!(dropped(&all).contains("reading scatter"));
        assert_eq!(dropped(&all[..1]), "");
    }
}
