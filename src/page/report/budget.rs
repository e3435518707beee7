//! The budgets of a report: the decisive point's in full, the others folded away; and the evidence behind
//! them with its documents.

use crate::page::{Block, Cell, Column, Folded, Table, numbers, show};
use crate::record::{Contributor, Point, Section};

/// Returns the budget of the decisive point.
pub(super) fn of_decisive(section: &Section, point: &Point) -> Vec<Block> {
    let why = match (section.points.len(), &point.decision) {
        (1, _) => "",
        (_, Some(decision)) if decision.verdict.is_some() => ", the decisive point",
        _ => ", the point with the least margin",
    };
    show::contributors_of(section, point, why)
}

/// Returns the budgets of all other points, folded away; nothing where there is one point.
pub(super) fn of_others(section: &Section, decisive: &Point) -> Option<Block> {
    let others: Vec<&Point> =
        section.points.iter().filter(|it| !std::ptr::eq(*it, decisive)).collect();
    let blocks: Vec<Block> =
        others.iter().flat_map(|it| show::contributors_of(section, it, "")).collect();
    let title = format!("The budgets of the other points ({})", others.len()).into();
    (!blocks.is_empty()).then_some(Block::Folded(Folded { title, blocks }))
}

/// Says on paper where the budgets of the other points are, and the further pictures where there are some.
pub(super) fn left_out(section: &Section, pictures: bool) -> Option<Block> {
    let others = section.points.len().saturating_sub(1);
    let budgets = (others > 0).then(|| {
        format!(
            "The budgets of the other points ({others}) are in the same report as .html or .xlsx."
        )
    });
    let pictures = pictures
        .then(|| "More pictures are in the same report as .html, each alone as .svg.".to_owned());
    let parts: Vec<String> = budgets.into_iter().chain(pictures).collect();
    (!parts.is_empty()).then(|| Block::plain(parts.join(" ")))
}

/// Returns the evidence behind the contributors: what it is, from which document, until when.
pub(super) fn evidence(section: &Section) -> Vec<Block> {
    let Some(first) = section.points.first() else { return Vec::new() };
    let columns = vec![
        Column::names("contributor"),
        Column::words("evidence"),
        Column::names("document"),
        Column::words("due"),
    ];
    let rows: Vec<Vec<Cell>> = first.contributors.iter().map(row).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let missing = first.contributors.iter().filter(|it| it.basis.is_none()).count();
    let caption = match missing {
        0 => String::new(),
        1 => "one contributor names no document".into(),
        _ => format!("{missing} contributors name no document"),
    };
    let table = Table { columns, rows, caption: caption.into() };
    vec![Block::Heading("Evidence".into()), Block::Table(table)]
}

fn row(contributor: &Contributor) -> Vec<Cell> {
    let some = |text: &Option<String>| Cell::text(text.as_deref().unwrap_or("–"));
    let basis = match (&contributor.basis, &contributor.note) {
        (Some(basis), Some(note)) => Cell::text(format!("{basis} ({note})")),
        (None, Some(note)) => Cell::text(format!("– ({note})")),
        (basis, None) => some(basis),
    };
    let dof = match contributor.dof.is_infinite() {
        true => String::new(),
        false => format!(", ν {}", numbers::dof(contributor.dof)),
    };
    let kind = contributor.kind.replace('_', " ");
    let evidence = format!("{kind}, {}{dof}", contributor.distribution);
    vec![Cell::text(&contributor.name), Cell::text(evidence), basis, some(&contributor.due)]
}
