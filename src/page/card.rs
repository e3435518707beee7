//! The page of `card`: for each point the readings that pass, fail or lie between, to pin up at
//! the bench.
//!
//! Consecutive points whose verdicts follow one another in the same order share a table, so that a
//! column is one verdict from top to bottom.

use super::{Block, Cell, Column, Page, Table, Text, numbers, words};
use crate::record::{Point, Record, Section, Verdict, Zone};

/// Returns the page of a `card` record.
pub fn page(record: &Record) -> Page {
    let title = record.sections.first().map(words::budget_title).unwrap_or_default();
    let mut blocks = vec![Block::Title(Text::from(&title))];
    for section in &record.sections {
        blocks.push(Block::plain(head(section)));
        blocks.extend(groups(&section.points).map(|points| Block::Table(table(section, points))));
    }
    blocks.extend(words::findings(record));
    blocks.push(words::cautions());
    Page { title: title.into(), blocks }
}

fn head(section: &Section) -> String {
    let mut parts = Vec::new();
    if let Some(display) = &section.display {
        parts.push(format!("readings in {}, display step {}", display.unit, display.text));
    }
    parts.extend(words::common_tolerance(section).map(|it| format!("tolerance {it}")));
    parts.extend(words::decision_asked(section));
    parts.join("; ")
}

/// Runs of points with the same order of verdicts.
fn groups(points: &[Point]) -> impl Iterator<Item = &[Point]> {
    points.chunk_by(|a, b| verdicts(a).eq(verdicts(b))).filter(|points| points[0].card.is_some())
}

fn verdicts(point: &Point) -> impl Iterator<Item = Verdict> {
    zones(point).iter().map(|zone| zone.verdict)
}

fn zones(point: &Point) -> &[Zone] {
    point.card.as_deref().unwrap_or_default()
}

fn table(section: &Section, points: &[Point]) -> Table {
    let mut columns = vec![Column::names("point")];
    columns.extend(verdicts(&points[0]).map(|verdict| Column::quantity(verdict.word())));
    let row = |point: &Point| {
        let mut row = vec![Cell::text(words::point_name(point))];
        row.extend(zones(point).iter().map(|zone| Cell::text(numbers::minus(&readings(zone)))));
        row
    };
    let rows = points.iter().map(row).collect();
    let none = !points.iter().flat_map(verdicts).any(|verdict| verdict == Verdict::Pass);
    let unmet = points.iter().all(|it| it.decision.as_ref().is_some_and(|it| it.rule.is_none()));
    let caption = match none {
        true if unmet => "no reading passes here: the requirement is not met",
        true => "no reading passes here: the guard band fills the tolerance",
        false if section.display.is_none() => "the display step is not known",
        false => "",
    };
    Table { columns, rows, caption: caption.into() }
}

/// The readings of a zone: `up to 10.296`, `10.297 to 10.303`, `10.304`, `from 10.305`.
fn readings(zone: &Zone) -> String {
    match (&zone.from, &zone.to) {
        (None, None) => "every reading".into(),
        (None, Some(to)) => format!("up to {to}"),
        (Some(from), None) => format!("from {from}"),
        (Some(from), Some(to)) if from == to => from.clone(),
        (Some(from), Some(to)) => format!("{from} to {to}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn keeps_points_with_the_same_order_of_verdicts_in_one_table() {
        let mut record = sample::card();
        let tables = |page: Page| {
            let tables = page.blocks.into_iter().filter(|it| matches!(it, Block::Table(_)));
            tables.count()
        };
        assert_eq!(tables(page(&record)), 1);
        record.sections[0].points[4].card.as_mut().unwrap().remove(1);
        assert_eq!(tables(page(&record)), 3);
    }

    #[test]
    fn says_why_nothing_passes() {
        let mut record = sample::card();
        record.sections[0].points.truncate(1);
        let point = &mut record.sections[0].points[0];
        point.card = Some(vec![Zone { from: None, to: None, verdict: Verdict::Undecided }]);
        let caption = |record: &Record| {
            let section = &record.sections[0];
            table(section, &section.points).caption.as_str().to_owned()
        };
        assert!(caption(&record).ends_with("the guard band fills the tolerance"));
        let point = &mut record.sections[0].points[0];
        let judged = sample::judged().sections[0].points[0].decision.clone();
        point.decision = judged.map(|it| crate::record::Decision { rule: None, ..it });
        assert!(caption(&record).ends_with("the requirement is not met"));
    }

    #[test]
    fn names_each_zone_by_its_ends() {
        let zone = |from: Option<&str>, to: Option<&str>| Zone {
            from: from.map(Into::into),
            to: to.map(Into::into),
            verdict: Verdict::Pass,
        };
        assert_eq!(readings(&zone(None, Some("10.296"))), "up to 10.296");
        assert_eq!(readings(&zone(Some("10.297"), Some("10.303"))), "10.297 to 10.303");
        assert_eq!(readings(&zone(Some("10.304"), Some("10.304"))), "10.304");
        assert_eq!(readings(&zone(Some("10.305"), None)), "from 10.305");
    }
}
