//! The finding about a point between those of the budget.

use crate::budget::{Budget, Role};
use crate::fault::{Finding, Severity};

/// A point that the budget does not have was evaluated.
pub const BETWEEN_POINTS: &str = "between-points";

/// Returns the finding about the point `index` that was put between two points of the budget
/// ([`Budget::with_point`]); `None` where it has no neighbours.
pub fn between(budget: &Budget, index: usize) -> Option<Finding> {
    let list = &budget.points().list;
    let title = |index: usize| list.get(index).map(|it| it.title());
    let (below, above) = (title(index.checked_sub(1)?)?, title(index + 1)?);
    let (here, origin) = (title(index)?, budget.origin());
    let mut message =
        format!("{here} is no point of the budget; evaluated between {below} and {above}");
    let given = |name: usize| list.iter().any(|it| it.keys.iter().any(|key| key.0 == name));
    let defaults = budget
        .names()
        .iter()
        .enumerate()
        .filter(|(name, it)| matches!(it.role, Role::Estimate { .. }) && given(*name));
    let defaults: Vec<String> = defaults.map(|it| format!("`{}`", it.1.word)).collect();
    if !defaults.is_empty() {
        message += &format!(", with the default of {}", defaults.join(", "));
    }
    message += ", as if all contributors held there too";
    let finding = Finding::new(BETWEEN_POINTS, Severity::Caution, message);
    Some(
        finding
            .help("where it is measured again and again, add it to `points: at`")
            .about("", origin),
    )
}
