//! The sheets about decisions: other rules beside the budget's own, what was known of such instruments, how
//! far the readings of a point lie apart. All constants: they do not follow a change.

use super::super::words;
use super::notes::{points, unit};
use super::{Cell, Column, Role, Sheet};
use crate::record::{Alternative, History, Point, Population, PopulationSource, Section, Verdict};
use crate::record::{Record, Spread, Take};

/// Adds to the sheet of readings how far those of a point lie apart, where that is limited.
pub(super) fn add_spreads(sheet: &mut Sheet, record: &Record) {
    let found: Vec<_> = points(record)
        .filter_map(|(section, point)| {
            let decision = point.decision.as_ref()?;
            Some((section, point, decision.spread.as_ref()?, decision.take))
        })
        .collect();
    if found.is_empty() {
        return;
    }
    sheet.blank();
    sheet.line(Role::Heading, "Repeatability: how far the readings of a point lie apart");
    let headings = ["budget", "point", "reported", "largest less smallest", "unit", "allowed"];
    let headings = headings.into_iter().chain(["kept"]);
    sheet.push(Role::Columns, headings.map(Cell::text).collect());
    for (section, point, spread, take) in found {
        sheet.push(Role::Plain, spread_row(section, point, spread, take));
    }
}

fn spread_row(section: &Section, point: &Point, it: &Spread, take: Option<Take>) -> Vec<Cell> {
    let mut row = place(section, point);
    row.extend([
        Cell::maybe_text(take.map(Take::word)),
        Cell::number(it.value),
        Cell::text(unit(&section.budget.measurand.unit)),
        Cell::number(it.limit),
        Cell::text(yes(it.ok)),
    ]);
    row
}

/// Returns the sheet of rules and guard bands beside the budget's own; `None` where none are compared.
pub(super) fn comparison(record: &Record) -> Option<Sheet> {
    let widths = [36, 26, 14, 28, 12, 14, 10, 14, 14, 18, 14, 14, 14, 60];
    let mut sheet = Sheet::new("Comparison", widths.map(Column::of).to_vec());
    sheet.line(Role::Title, "Under other rules");
    sheet.line(Role::Remark, CONSTANTS);
    let headings = [
        "budget",
        "point",
        "rule",
        "guard band by",
        "budget's own",
        "guard band",
        "unit",
        "accepted from",
        "accepted to",
        "verdict",
        "highest risk of a pass",
        "outside and accepted",
        "inside and rejected",
        "why not",
    ];
    sheet.push(Role::Columns, headings.map(Cell::text).to_vec());
    let before = sheet.rows.len();
    for (section, point) in points(record) {
        let list = point.decision.as_ref().and_then(|it| it.comparison.as_deref());
        for it in list.unwrap_or_default() {
            sheet.push(Role::Plain, alternative(section, point, it));
        }
    }
    (sheet.rows.len() > before).then_some(sheet)
}

const CONSTANTS: &str = "Constants: they do not follow a change on another sheet.";

fn alternative(section: &Section, point: &Point, it: &Alternative) -> Vec<Cell> {
    let measured_in = &section.budget.measurand.unit;
    let band = it.asked.as_ref().map(|it| words::band(it, measured_in));
    let accepted = match (&it.acceptance, &it.reason) {
        (Some(limits), _) => [Cell::maybe(limits.lower), Cell::maybe(limits.upper)],
        (None, None) => [Cell::text("nothing passes"), Cell::Empty],
        (None, Some(_)) => [Cell::text("cannot be applied"), Cell::Empty],
    };
    let mut row = place(section, point);
    row.extend([
        Cell::text(it.rule.word()),
        Cell::text(band.unwrap_or_else(|| "none".into())),
        Cell::text(yes(it.own)),
        Cell::maybe(it.guard_band),
        Cell::text(unit(measured_in)),
    ]);
    row.extend(accepted);
    row.extend([
        Cell::maybe_text(it.verdict.map(Verdict::word)),
        Cell::percent(it.limit_risk),
        Cell::percent(it.consumer_risk),
        Cell::percent(it.producer_risk),
        Cell::maybe_text(it.reason.as_deref()),
    ]);
    row
}

/// Returns the sheet of what was known of such instruments before the reading; `None` where the budgets do not
/// say.
pub(super) fn population(record: &Record) -> Option<Sheet> {
    let widths = [36, 26, 26, 14, 10, 14, 14, 14, 14, 12, 14, 14];
    let of_history = [36, 10, 14, 14, 14, 14, 12, 12, 12, 60];
    let columns = widths.into_iter().chain(of_history).map(Column::of).collect();
    let mut sheet = Sheet::new("Population", columns);
    sheet.line(Role::Title, "What was known of such instruments before the reading");
    sheet.line(Role::Remark, CONSTANTS);
    let headings = [
        "budget",
        "point",
        "known from",
        "distribution",
        "unit",
        "mean",
        "standard deviation",
        "limit from",
        "limit to",
        "within tolerance",
        "passes before the reading",
        "in the specific risk",
    ];
    let of_history = [
        "past errors from",
        "errors",
        "their standard deviation",
        "that of the measurement",
        "u of the mean",
        "u of the standard deviation",
        "errors within tolerance",
        "95 % of the share from",
        "95 % of the share to",
        "same in all past calibrations",
    ];
    let headings = headings.into_iter().chain(of_history);
    sheet.push(Role::Columns, headings.map(Cell::text).collect());
    let before = sheet.rows.len();
    for (section, point) in points(record) {
        let Some(decision) = &point.decision else { continue };
        let Some(it) = &decision.population else { continue };
        let mut row = place(section, point);
        row.extend(known(it, unit(&section.budget.measurand.unit)));
        row.push(Cell::percent(decision.acceptance_probability));
        row.push(Cell::text(yes(it.prior)));
        row.extend(it.history.iter().flat_map(history));
        sheet.push(Role::Plain, row);
    }
    (sheet.rows.len() > before).then_some(sheet)
}

fn known(it: &Population, unit: &str) -> Vec<Cell> {
    let limit = |side: usize| Cell::maybe(it.limits.map(|limits| limits[side]));
    vec![
        Cell::text(match it.from {
            PopulationSource::Actual => "share of true errors",
            PopulationSource::Observed => "share of measured errors",
            PopulationSource::Spread => "mean and spread",
            PopulationSource::Limits => "limits",
            PopulationSource::History => "past errors",
        }),
        Cell::text(it.distribution.as_deref().unwrap_or("not known")),
        Cell::text(unit),
        Cell::maybe(it.mean),
        Cell::maybe(it.sd),
        limit(0),
        limit(1),
        Cell::percent(it.in_tolerance),
    ]
}

fn history(it: &History) -> Vec<Cell> {
    let share = |side: usize| Cell::percent(it.in_tolerance_interval.map(|ends| ends[side]));
    vec![
        Cell::text(&it.file),
        Cell::number(it.count as f64),
        Cell::maybe(it.observed_sd),
        Cell::number(it.measurement_sd),
        Cell::maybe(it.mean_uncertainty),
        Cell::maybe(it.sd_uncertainty),
        Cell::number(it.in_tolerance as f64),
        share(0),
        share(1),
        Cell::text(it.same_in_all.join("; ")),
    ]
}

/// Budget and point.
fn place(section: &Section, point: &Point) -> Vec<Cell> {
    vec![Cell::text(words::budget_title(section)), Cell::text(words::point_name(point))]
}

fn yes(it: bool) -> &'static str {
    if it { "yes" } else { "no" }
}
