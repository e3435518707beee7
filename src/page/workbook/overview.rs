//! The first sheet: the verdict, what was measured by which budget, and all points with their figures.
//!
//! Estimate, u, ν, k and U are looked up on the budget's sheet, so that they follow a change there.
//! Limits, verdicts and risks are the record's.

use super::super::words;
use super::budget::{CONTRIBUTION, Figures};
use super::formula::dof_formula;
use super::{Cell, Column, Look, Role, Sheet, in_unit};
use crate::record::{Cause, Point, Record, Section, Texts};

/// How wide the columns are.
const WIDTHS: [u16; 25] = [
    26, 16, 14, 14, 12, 10, 14, 14, 14, 12, 12, 14, 14, 14, 10, 10, 12, 18, 14, 12, 12, 14, 14, 14,
    60,
];

/// Returns the sheet. `places`: each budget's sheet with the rows of its points.
pub(super) fn sheet(record: &Record, places: &[(String, Vec<Figures>)]) -> Sheet {
    let mut sheet = Sheet::new("Overview", WIDTHS.map(Column::of).to_vec());
    sheet.line(Role::Title, super::title(record));
    instrument(&mut sheet, record);
    for (section, (name, figures)) in record.sections.iter().zip(places) {
        sheet.blank();
        head(&mut sheet, section, name);
        sheet.push(Role::Columns, headings(section));
        for (point, figures) in section.points.iter().zip(figures) {
            let row = row(point, name, figures);
            sheet.push(Role::Plain, row);
        }
    }
    sheet.blank();
    let remark = "Estimate, u, ν, k and U follow the sheets of the budgets. Limits, verdicts and risks are those of the \
                  record: they do not follow a change.";
    sheet.line(Role::Remark, remark);
    sheet
}

/// The instrument's verdict, what the worksheet says of it, its checks.
fn instrument(sheet: &mut Sheet, record: &Record) {
    let verdict = record.instrument.as_ref().map(|it| it.verdict.word());
    if let Some(verdict) = verdict {
        sheet.push(Role::Result, vec![Cell::text("verdict"), Cell::text(verdict)]);
    }
    let probability = record.instrument.as_ref().and_then(|it| it.conformance_probability);
    if let Some(probability) = probability {
        sheet.pair("within tolerance at all points", Cell::percent(Some(probability)));
    }
    let Some(worksheet) = &record.worksheet else { return };
    texts(sheet, "instrument", &worksheet.instrument);
    if worksheet.date.is_some() {
        sheet.pair("date", Cell::date(worksheet.date.as_deref()));
    }
    for check in &worksheet.checks {
        let row =
            vec![Cell::text("check"), Cell::text(check.result.word()), Cell::text(&check.what)];
        sheet.push(Role::Plain, row);
    }
    if !worksheet.zero.is_empty() {
        sheet.pair("zero settings", Cell::text(worksheet.zero.join(", ")));
    }
}

fn texts(sheet: &mut Sheet, of: &str, texts: &Texts) {
    for (name, text) in &texts.0 {
        sheet.push(Role::Plain, vec![Cell::text(format!("{of}: {name}")), Cell::date(Some(text))]);
    }
}

/// The budget's head.
fn head(sheet: &mut Sheet, section: &Section, name: &str) {
    let budget = &section.budget;
    sheet
        .push(Role::Heading, vec![Cell::Link(words::budget_title(section).into(), name.into(), 1)]);
    texts(sheet, "document", &budget.document);
    sheet.pair("measurand", Cell::text(words::measurand(section)));
    if budget.measurand.definition.is_some() {
        sheet.pair("definition", Cell::maybe_text(budget.measurand.definition.as_deref()));
    }
    let decision = words::decision_asked(section);
    sheet.pair("decision", Cell::text(decision.unwrap_or_else(|| "none asked for".into())));
    if let Some(all) = section.together.as_ref().and_then(|it| it.all.as_ref()) {
        let probability = Cell::percent(Some(all.probability));
        sheet.pair("all points within tolerance", probability);
    }
}

fn headings(section: &Section) -> Vec<Cell> {
    let unit = in_unit(section);
    let headings = [
        "point".to_owned(),
        "reading".into(),
        format!("estimate{unit}"),
        format!("u{unit}"),
        "ν".into(),
        "k".into(),
        format!("U{unit}"),
        "estimate as reported".into(),
        "U as reported".into(),
        "tolerance from".into(),
        "tolerance to".into(),
        "accepted from".into(),
        "accepted to".into(),
        format!("guard band{unit}"),
        "TUR, all".into(),
        "TUR, lab".into(),
        "rule".into(),
        "verdict".into(),
        "because of".into(),
        "specific risk".into(),
        "highest risk of a pass".into(),
        "outside and accepted".into(),
        "inside and rejected".into(),
        "counted".into(),
        "reason".into(),
    ];
    headings.map(Cell::text).to_vec()
}

fn row(point: &Point, sheet: &str, figures: &Figures) -> Vec<Cell> {
    let place = |row: usize| format!("'{sheet}'!{CONTRIBUTION}{row}");
    let link = |row: usize, result: f64| Cell::formula(place(row), result);
    let reported = |row: usize, result: f64| {
        Cell::formula_as(place(row), result, Look::Fixed(point.reported.decimals))
    };
    let tolerance = point.tolerance.as_ref();
    let mut cells = vec![
        Cell::Link(words::point_name(point).into(), sheet.to_owned(), figures.heading),
        Cell::text(point.readings.as_deref().unwrap_or_default().join("; ")),
        link(figures.estimate, point.estimate),
        link(figures.u, point.standard_uncertainty),
        dof_formula(place(figures.dof), point.effective_dof),
        link(figures.factor, point.coverage_factor),
        link(figures.expanded, point.expanded_uncertainty),
        reported(figures.reported_estimate, point.reported.estimate),
        reported(figures.reported, point.reported.expanded_uncertainty),
        Cell::maybe(tolerance.and_then(|it| it.lower)),
        Cell::maybe(tolerance.and_then(|it| it.upper)),
    ];
    cells.extend(decided(point));
    cells
}

/// Limits, verdict and risks; empty where there is no decision.
fn decided(point: &Point) -> Vec<Cell> {
    let tests = &point.test;
    let tur = [Cell::maybe(tests.all.tur), Cell::maybe(tests.laboratory.tur)];
    let Some(it) = &point.decision else {
        let mut cells = vec![Cell::Empty; 3];
        cells.extend(tur);
        return cells;
    };
    let limits = it.acceptance.as_ref();
    let mut cells = match limits {
        Some(limits) => vec![Cell::maybe(limits.lower), Cell::maybe(limits.upper)],
        None => vec![Cell::text("nothing passes"), Cell::Empty],
    };
    cells.push(Cell::number(it.guard_band));
    cells.extend(tur);
    cells.extend([
        Cell::text(words::rule(it)),
        Cell::maybe_text(it.verdict.map(crate::record::Verdict::word)),
        Cell::maybe_text(it.cause.map(Cause::word)),
        Cell::percent(it.specific_risk),
        Cell::percent(it.limit_risk),
        Cell::percent(it.consumer_risk),
        Cell::percent(it.producer_risk),
        Cell::text(it.scope.word()),
        Cell::maybe_text(it.reason.as_deref()),
    ]);
    cells
}
