//! Findings about a worksheet: due dates that have passed, zero settings that do not repeat.

use crate::budget::{Budget, Worksheet};
use crate::fault::{Finding, Severity};
use crate::quantity::{Exact, Quantity};
use std::cmp::Ordering;

/// Returns the findings about a worksheet under one of its budgets.
pub fn of_worksheet(worksheet: &Worksheet, budget: &Budget) -> Vec<Finding> {
    overdue(worksheet, budget).into_iter().chain(zero(worksheet, budget)).collect()
}

/// Evidence that was due before the worksheet's date.
fn overdue(worksheet: &Worksheet, budget: &Budget) -> Vec<Finding> {
    let Some(date) = worksheet.date else { return Vec::new() };
    let mut findings = Vec::new();
    for it in budget.contributors() {
        let Some(due) = it.due.filter(|due| *due < date) else { continue };
        let basis = it.basis.as_deref().map_or(String::new(), |basis| format!(" ({basis})"));
        let message =
            format!("the evidence{basis} was due on {due}, before the readings of {date}");
        let finding = Finding::new("overdue", Severity::Warning, message);
        findings.push(
            finding
                .help("renew the evidence, or judge again with a current budget")
                .about(it.name.clone(), it.origin),
        );
    }
    findings
}

/// Zero settings that spread by more than one display step.
fn zero(worksheet: &Worksheet, budget: &Budget) -> Option<Finding> {
    let unit = budget.reading_unit();
    let values: Vec<Exact> =
        worksheet.zero.iter().map(|it| Quantity::new(it.0.clone(), unit.clone()).exact()).collect();
    let step = budget.display()?.step.exact();
    let order = |a: &Exact, b: &Exact| a.compare(b).unwrap_or(Ordering::Equal);
    let lowest = values.iter().cloned().min_by(order)?;
    let highest = values.iter().cloned().max_by(order)?;
    let range = highest.sub(&lowest)?;
    if range.compare(&step) != Some(Ordering::Greater) {
        return None;
    }
    let number = range.div(unit.factor())?.to_f64();
    let shown = budget.display()?.step.text();
    let message = format!(
        "the zero setting does not repeat: {number} {} between settings, the display step is {shown}",
        unit.text()
    );
    let origin = worksheet.zero.first()?.1;
    let finding = Finding::new("zero-not-repeated", Severity::Warning, message);
    Some(
        finding
            .help("clean the faces, set zero again, and repeat the readings")
            .about("zero", origin),
    )
}
