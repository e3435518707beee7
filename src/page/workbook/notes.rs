//! The sheets beside the budgets: readings one by one, further results, findings, the record itself.

use super::super::{Block, words};
use super::formula::dof;
use super::{Cell, Column, Look, Role, Sheet, decisions};
use crate::record::{Point, Record, Role as FileRole, Section};

/// Returns the sheet of all readings with their verdicts; `None` where nothing was read.
pub(super) fn readings(record: &Record) -> Option<Sheet> {
    let widths = [36, 26, 16, 16, 10, 18, 14];
    let mut sheet = Sheet::new("Readings", widths.map(Column::of).to_vec());
    sheet.line(Role::Title, "Readings, one by one");
    let headings =
        ["budget", "point", "reading", "measured value", "unit", "verdict", "specific risk"];
    sheet.push(Role::Columns, headings.map(Cell::text).to_vec());
    let before = sheet.rows.len();
    for (section, point) in points(record) {
        let readings = point.decision.as_ref().and_then(|it| it.readings.as_deref());
        for reading in readings.unwrap_or_default() {
            let row = vec![
                Cell::text(words::budget_title(section)),
                Cell::text(words::point_name(point)),
                reading_cell(&reading.text),
                Cell::number(reading.error),
                Cell::text(unit(&section.budget.measurand.unit)),
                Cell::text(reading.verdict.word()),
                Cell::percent(reading.specific_risk),
            ];
            sheet.push(Role::Plain, row);
        }
    }
    let found = sheet.rows.len() > before;
    decisions::add_spreads(&mut sheet, record);
    found.then_some(sheet)
}

/// All points with their sections.
pub(super) fn points(record: &Record) -> impl Iterator<Item = (&Section, &Point)> {
    record.sections.iter().flat_map(|section| section.points.iter().map(move |it| (section, it)))
}

/// Returns a unit; nothing for a plain number.
pub(super) fn unit(unit: &str) -> &str {
    if unit == "1" { "" } else { unit }
}

/// A reading as a number with the decimals that it was written with, where it is one.
fn reading_cell(text: &str) -> Cell {
    let plain = text.chars().all(|it| it.is_ascii_digit() || matches!(it, '.' | '-' | '+'));
    let decimals = text.split_once('.').map_or(0, |(_, it)| it.len());
    match text.parse::<f64>() {
        Ok(number) if plain && number.is_finite() && decimals <= 15 => {
            Cell::Number(number + 0.0, Look::Fixed(decimals as u32))
        }
        _ => Cell::text(text),
    }
}

/// Returns the sheet of the results beside the measurand; `None` where there are none.
pub(super) fn results(record: &Record) -> Option<Sheet> {
    let widths = [36, 26, 12, 26, 10, 14, 14, 10, 10, 14, 14, 14, 14, 14];
    let mut sheet = Sheet::new("Results", widths.map(Column::of).to_vec());
    sheet.line(Role::Title, "Results beside the measurand");
    sheet.line(Role::Remark, "Constants: they do not follow a change on another sheet.");
    let headings = [
        "budget",
        "point",
        "symbol",
        "result",
        "unit",
        "estimate",
        "u",
        "ν",
        "k",
        "U",
        "from",
        "to",
        "estimate as reported",
        "U as reported",
    ];
    sheet.push(Role::Columns, headings.map(Cell::text).to_vec());
    let before = sheet.rows.len();
    for (section, point) in points(record) {
        for it in point.results.iter().flat_map(|it| &it.figures) {
            let look = Look::Fixed(it.reported.decimals);
            let row = vec![
                Cell::text(words::budget_title(section)),
                Cell::text(words::point_name(point)),
                Cell::text(&it.symbol),
                Cell::text(&it.name),
                Cell::text(unit(&it.unit)),
                Cell::number(it.estimate),
                Cell::number(it.standard_uncertainty),
                dof(it.effective_dof),
                Cell::number(it.coverage_factor),
                Cell::number(it.expanded_uncertainty),
                Cell::number(it.interval[0]),
                Cell::number(it.interval[1]),
                Cell::Number(it.reported.estimate + 0.0, look),
                Cell::Number(it.reported.expanded_uncertainty, look),
            ];
            sheet.push(Role::Plain, row);
        }
    }
    (sheet.rows.len() > before).then_some(sheet)
}

/// Returns the sheet of findings, of what is not stated and why, and of cautions.
pub(super) fn findings(record: &Record) -> Sheet {
    let columns =
        vec![Column::of(12), Column::wrapped(90), Column::wrapped(70), Column::wrapped(40)];
    let mut sheet = Sheet::new("Findings", columns);
    sheet.line(Role::Title, "Findings and cautions");
    match words::findings(record) {
        Some(Block::Findings(notes)) => {
            let headings = ["severity", "finding", "what to do", "where"];
            sheet.push(Role::Columns, headings.map(Cell::text).to_vec());
            for note in notes {
                let cells = [note.severity, note.message, note.help, note.place];
                sheet.push(Role::Plain, cells.map(Cell::text).to_vec());
            }
        }
        _ => sheet.line(Role::Plain, "no findings"),
    }
    not_stated(&mut sheet, record);
    sheet.blank();
    if let Block::Cautions(cautions) = words::cautions() {
        for caution in cautions {
            sheet.push(Role::Plain, vec![Cell::text("caution"), Cell::text(caution)]);
        }
    }
    sheet
}

fn not_stated(sheet: &mut Sheet, record: &Record) {
    let mut rows = Vec::new();
    for (_, point) in points(record) {
        for (what, why) in words::not_stated(point) {
            let point = Cell::text(words::point_name(point));
            rows.push(vec![Cell::text("not stated"), Cell::text(what), Cell::text(why), point]);
        }
    }
    if !rows.is_empty() {
        sheet.blank();
        sheet.push(Role::Columns, ["", "figure", "why", "point"].map(Cell::text).to_vec());
        rows.into_iter().for_each(|row| sheet.push(Role::Plain, row));
    }
}

/// Returns the sheet that says what the workbook was made of and by what.
pub(super) fn record(record: &Record) -> Sheet {
    let widths = [26, 50, 70];
    let mut sheet = Sheet::new("Record", widths.map(Column::of).to_vec());
    sheet.line(Role::Title, "Record");
    sheet
        .pair("program", Cell::text(format!("{} {}", record.program.name, record.program.version)));
    sheet.pair("record version", Cell::number(f64::from(record.record)));
    let kind = serde_json::to_string(&record.kind).unwrap_or_default();
    sheet.pair("made by", Cell::text(kind.trim_matches('"')));
    options(&mut sheet, record);
    sheet.blank();
    sheet.push(Role::Columns, ["read as", "file", "SHA-256"].map(Cell::text).to_vec());
    for file in &record.files {
        let role = match file.role {
            FileRole::Budget => "budget",
            FileRole::Worksheet => "worksheet",
            FileRole::History => "history",
        };
        let row = vec![Cell::text(role), Cell::text(&file.path), Cell::text(&file.sha256)];
        sheet.push(Role::Plain, row);
    }
    sheet
}

/// What was asked for beside the files, and the seeds of what was simulated.
fn options(sheet: &mut Sheet, record: &Record) {
    let it = &record.options;
    let number = |it: Option<u64>| it.map(|it| it.to_string());
    let options = [
        ("option --at", it.at.clone()),
        ("option --reading", it.reading.clone()),
        ("option --regrade", it.regrade.clone()),
        ("option --trials", number(it.trials)),
        ("option --trials-max", number(it.trials_max)),
        ("option --seed", number(it.seed)),
        ("option --digits", it.digits.map(|it| it.to_string())),
        ("option --interval", it.interval.map(|it| it.word().to_owned())),
    ];
    for (name, value) in options {
        if let Some(value) = value {
            sheet.pair(name, Cell::text(value));
        }
    }
    let mut simulated: Vec<(u64, u64)> = Vec::new();
    for (_, point) in points(record) {
        let new = point.simulation.as_ref().map(|it| (it.seed, it.trials));
        simulated.extend(new.filter(|it| !simulated.contains(it)));
    }
    for (seed, trials) in simulated {
        sheet.pair("simulated", Cell::text(format!("seed {seed}, {trials} trials")));
    }
}
