//! From bytes to validated domain values: reading and construction together, all faults at once.

use super::read::{self, Reading};
use super::source::Source;
use crate::budget::parts::{HistoryRow, PopulationKind, Text};
use crate::budget::{Budget, Worksheet};
use crate::fault::{Fault, Faults};

/// A file that was read: its text for places, and what it holds or all of its faults.
#[derive(Debug)]
pub struct Loaded<T> {
    /// The text, which turns origins into places.
    pub source: Source,
    /// The value, or all faults.
    pub value: Result<T, Vec<Fault>>,
}

/// Reads a budget from the bytes of a file called `name`.
pub fn load_budget(name: &str, bytes: &[u8]) -> Loaded<Budget> {
    finish(read::budget(name, bytes), Budget::new)
}

/// Reads a budget that may name another file: `beside` returns the rows of the history at a path, or the
/// fault of that place.
pub fn load_budget_with(
    name: &str,
    bytes: &[u8],
    beside: &dyn Fn(&Text) -> Result<Vec<HistoryRow>, Fault>,
) -> Loaded<Budget> {
    let mut reading = read::budget(name, bytes);
    let history = reading.parts.as_mut().and_then(|it| match &mut it.population.as_mut()?.kind {
        PopulationKind::History(history) => Some(history),
        _ => None,
    });
    if let Some(history) = history {
        match beside(&history.path) {
            Ok(rows) => history.rows = Some(rows),
            Err(fault) => {
                // The fault says it all: the next stage is to find a history without rows.
                history.rows = Some(Vec::new());
                reading.faults.push(fault);
            }
        }
    }
    finish(reading, Budget::new)
}

/// Reads a worksheet from the bytes of a file called `name`.
pub fn load_worksheet(name: &str, bytes: &[u8]) -> Loaded<Worksheet> {
    finish(read::worksheet(name, bytes), Worksheet::new)
}

fn finish<P, T>(
    mut reading: Reading<P>,
    construct: impl FnOnce(P) -> Result<T, Faults>,
) -> Loaded<T> {
    let mut faults = std::mem::take(&mut reading.faults);
    let built = match reading.parts.take().map(construct) {
        Some(Ok(value)) => Some(value),
        Some(Err(more)) => {
            faults.extend(more.0);
            None
        }
        None => None,
    };
    reading.with_comment_help(&mut faults);
    let value = match built {
        Some(value) if faults.is_empty() => Ok(value),
        _ => Err(faults),
    };
    Loaded { source: reading.source, value }
}

impl Budget {
    /// Reads a budget from the text of a budget file.
    ///
    /// # Errors
    ///
    /// All faults of the text, in the order of their places; `file::load_budget` shows them with
    /// line and column.
    ///
    /// ```
    /// let text = "
    /// surebound: 1
    /// title: A length by one certificate
    /// measurand: {symbol: L, name: Length, unit: mm}
    /// contributors:
    ///   - {name: Certificate, certificate: 0.4 µm, k: 2}
    /// ";
    /// let budget = surebound::budget::Budget::parse(text)?;
    /// let evaluation = budget.evaluate()?;
    /// let u = evaluation.points()[0].all.standard_uncertainty; // in SI: metres
    /// assert!((u - 0.2e-6).abs() < 1e-18);
    /// # Ok::<(), surebound::fault::Faults>(())
    /// ```
    pub fn parse(text: &str) -> Result<Budget, Faults> {
        load_budget("budget", text.as_bytes()).value.map_err(Faults)
    }
}
