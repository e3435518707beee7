//! Advice: findings about a budget and its evaluation, each said once with the points it is about.
//!
//! Findings never alter a number. Those about zones and readings are made by `decide`, where they
//! are seen; here are the ones about evidence, propagation and worksheets.

pub mod between;
mod data;
pub mod distribution;
pub mod propagation;
pub mod results;
mod simulation;
pub mod worksheet;

use crate::budget::Budget;

pub use between::between;
pub use propagation::of_evaluation;
pub use worksheet::of_worksheet;

/// Returns the titles of points in one text: all, some or one.
pub(crate) fn titles(budget: &Budget, points: &[usize]) -> String {
    let list = &budget.points().list;
    let title = |index: &usize| list.get(*index).map_or(String::new(), |it| it.title());
    match points {
        _ if budget.points().symbol.is_none() => String::new(),
        all if all.len() == list.len() && all.len() > 1 => format!("all {} points", all.len()),
        [first, .., last] if points.len() > 4 => {
            format!("{} points from {} to {}", points.len(), title(first), title(last))
        }
        some => some.iter().map(title).collect::<Vec<_>>().join(", "),
    }
}
