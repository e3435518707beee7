//! The table of `--regrade`: which limits the instrument would pass.

use super::{Block, Cell, Column, Table, numbers, words};
use crate::record::{Record, Regrade, Tally};

/// Returns heading and table; nothing where no other limits were asked for.
pub(super) fn blocks(record: &Record) -> Vec<Block> {
    let Some(rows) = &record.regrade else { return Vec::new() };
    let one = record.sections.iter().map(|it| it.points.len()).sum::<usize>() == 1;
    let mut columns = vec![Column::quantity("tolerance"), Column::words("verdict")];
    if !one {
        columns.extend([Column::number("passed"), Column::names("worst at")]);
    }
    columns.push(Column::words("because"));
    let rows = rows.iter().map(|it| row(record, it, one)).collect();
    let caption = "readings, U and repeatability limit stay, guard bands are made anew; the verdict at \
                   the top is that of the budget's own tolerance";
    let table = Table { columns, rows, caption: caption.into() };
    vec![Block::Heading("Which limits it would pass".into()), Block::Table(table)]
}

fn row(record: &Record, regrade: &Regrade, one: bool) -> Vec<Cell> {
    let verdict = regrade.verdict.map_or("none", |it| it.word());
    let tolerance = numbers::minus(&regrade.tolerance);
    let unit = record.sections.first().map_or("", |it| it.budget.measurand.unit.as_str());
    let tolerance = numbers::kept_together(&tolerance, unit);
    let mut row = vec![Cell::text(tolerance), Cell::text(verdict)];
    if !one {
        let decisive = regrade.decisive.as_ref();
        row.push(Cell::text(regrade.points.as_ref().map(passed).unwrap_or_default()));
        row.push(Cell::text(decisive.map(|it| it.point.clone()).unwrap_or_default()));
    }
    row.push(Cell::text(because(record, regrade)));
    row
}

/// Returns how many points have which verdict, the worst first.
pub(super) fn tally(points: &Tally) -> String {
    let Tally { pass, conditional_pass, undecided, conditional_fail, fail, missing } = *points;
    let worst_first = [
        (fail, "fail"),
        (conditional_fail, "conditional fail"),
        (undecided, "undecided"),
        (conditional_pass, "conditional pass"),
        (missing, "without a reading"),
        (pass, "pass"),
    ];
    let present = worst_first.into_iter().filter(|(number, _)| *number > 0);
    present.map(|(number, word)| format!("{number} {word}")).collect::<Vec<_>>().join(", ")
}

fn passed(points: &Tally) -> String {
    format!("{} of {}", points.pass, points.total())
}

fn because(record: &Record, regrade: &Regrade) -> String {
    let decisive = regrade.decisive.as_ref();
    let section = decisive.and_then(|it| record.sections.get(it.section as usize));
    let reason = decisive.and_then(|it| it.reason.as_deref()).zip(section);
    let reason = reason.map(|(reason, section)| words::reason(section, reason));
    let missing = decisive.filter(|it| it.reason.is_none()).map(|_| "no reading".to_string());
    let check = regrade.cause == Some(crate::record::Cause::Check);
    let check = check.then(|| "a check is not in order".to_string());
    let note = regrade.note.clone();
    let parts = [check, note, reason.or(missing)];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}
