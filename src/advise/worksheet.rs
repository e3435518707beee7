//! Findings about a worksheet: due dates that have passed, zero settings that do not repeat.

use crate::budget::{Budget, Contributor, Worksheet};
use crate::fault::{Finding, Origin, Severity};
use crate::quantity::Exact;
use std::cmp::Ordering;

/// Returns the findings about a worksheet under one of its budgets.
pub fn of_worksheet(worksheet: &Worksheet, budget: &Budget) -> Vec<Finding> {
    let dates = overdue(worksheet, budget).or_else(|| undated(worksheet, budget));
    dates.into_iter().chain(zero(worksheet, budget)).collect()
}

/// Evidence that was due before the worksheet's date: one finding for all contributors that rest on such.
fn overdue(worksheet: &Worksheet, budget: &Budget) -> Option<Finding> {
    let date = worksheet.date?;
    let due = |it: &&Contributor| it.due.is_some_and(|due| due < date);
    let late: Vec<&Contributor> = budget.contributors().iter().filter(due).collect();
    let first = late.first()?;
    let of = |it: &Contributor| {
        let basis = it.basis.as_deref().map_or(String::new(), |basis| format!(" ({basis})"));
        let due = it.due.map_or(String::new(), |due| due.to_string());
        (basis, due)
    };
    let (about, message) = match late.as_slice() {
        [one] => {
            let (basis, due) = of(one);
            let what =
                format!("the evidence{basis} was due on {due}, before the readings of {date}");
            (one.name.clone(), what)
        }
        several => {
            let named = several.iter().map(|it| {
                let (basis, due) = of(it);
                format!("{}{basis} on {due}", it.name)
            });
            let named = named.collect::<Vec<_>>().join("; ");
            let about = format!("{} contributors", several.len());
            (about, format!("their evidence was due before the readings of {date}: {named}"))
        }
    };
    let finding = Finding::new("overdue", Severity::Warning, message);
    let help = "renew the evidence, or judge again with a current budget";
    Some(finding.help(help).about(about, first.origin))
}

/// Evidence with due dates, and no date of the readings to hold them against.
fn undated(worksheet: &Worksheet, budget: &Budget) -> Option<Finding> {
    let due = budget.contributors().iter().any(|it| it.due.is_some());
    if worksheet.date.is_some() || !due {
        return None;
    }
    let message = "the worksheet has no date: whether the evidence was in date cannot be told";
    let finding = Finding::new("undated", Severity::Caution, message);
    Some(finding.help("date: 2026-11-20, the day of the readings").about("", Origin::NONE))
}

/// Zero settings that spread by more than one display step, or that repeat elsewhere than at zero.
fn zero(worksheet: &Worksheet, budget: &Budget) -> Option<Finding> {
    let unit = budget.reading_unit();
    let given = worksheet.zero.iter().map(|it| it.in_readings(unit));
    let values: Vec<Exact> = given
        .filter(|it| it.dimension() == unit.dimension() && it.scale() == unit.scale())
        .map(|it| it.exact())
        .collect();
    let step = budget.display()?.step.exact();
    let order = |a: &Exact, b: &Exact| a.compare(b).unwrap_or(Ordering::Equal);
    let lowest = values.iter().cloned().min_by(order)?;
    let highest = values.iter().cloned().max_by(order)?;
    let range = highest.sub(&lowest)?;
    let origin = worksheet.zero.first()?.origin;
    if range.compare(&step) != Some(Ordering::Greater) {
        return off_zero(budget, [&lowest, &highest], &step).map(|it| it.about("zero", origin));
    }
    let number = range.div(unit.factor())?.to_f64();
    let shown = budget.display()?.step.text();
    let message = format!(
        "the zero setting does not repeat: {number} {} between settings, the display step is {shown}",
        unit.text()
    );
    let finding = Finding::new("zero-not-repeated", Severity::Warning, message);
    Some(
        finding
            .help("clean the faces, set zero again, and repeat the readings")
            .about("zero", origin),
    )
}

/// Zero settings that lie more than one display step from zero, and from the first point: an instrument whose
/// range does not begin at zero is set there.
fn off_zero(budget: &Budget, ends: [&Exact; 2], step: &Exact) -> Option<Finding> {
    let first = budget.points().list.first().and_then(|it| it.at.as_ref());
    let first = first.filter(|it| it.dimension() == budget.reading_unit().dimension());
    let places = [Some(Exact::zero()), first.map(crate::quantity::Quantity::exact)];
    let is_near = |place: &Exact| {
        ends.iter().all(|it| {
            let apart = it.sub(place).map(|it| it.to_f64().abs());
            apart.is_some_and(|it| it <= step.to_f64() * (1.0 + 1e-9))
        })
    };
    if places.iter().flatten().any(is_near) {
        return None;
    }
    let unit = budget.reading_unit();
    let number = ends[1].div(unit.factor())?.to_f64();
    let message = format!(
        "the zero setting is not at zero: it stands at {number} {}, the display step is {}",
        unit.text(),
        budget.display()?.step.text()
    );
    let finding = Finding::new("zero-off", Severity::Warning, message);
    Some(finding.help("set zero, and repeat the readings; where zero was set, correct `zero`"))
}
