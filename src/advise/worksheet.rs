//! Findings about a worksheet: due dates that have passed, zero settings that do not repeat.

use crate::budget::{Budget, Contributor, Worksheet};
use crate::fault::{Finding, Severity};
use crate::quantity::{Exact, Quantity};
use std::cmp::Ordering;

/// Returns the findings about a worksheet under one of its budgets.
pub fn of_worksheet(worksheet: &Worksheet, budget: &Budget) -> Vec<Finding> {
    overdue(worksheet, budget).into_iter().chain(zero(worksheet, budget)).collect()
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
