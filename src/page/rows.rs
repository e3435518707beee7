//! The record as one table for spreadsheets and statistics: a row per point and contributor.
//!
//! The combined figures of a point stand in each of its rows, so that each row can be filtered and
//! grouped alone; a point without contributors has one row. Numbers keep all digits, and what is not
//! determined is empty.

use super::{Text, words};
use crate::record::{
    Cause, Contributor, CoverageMethod, Decision, Dof, Point, Population, PopulationSource, Record,
    Section, Take, Verdict,
};

/// A table of values.
#[derive(Debug, Clone, PartialEq)]
pub struct Rows {
    /// The names of the columns.
    pub columns: Vec<&'static str>,
    /// The rows, one value per column.
    pub rows: Vec<Vec<Value>>,
}

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Not determined, or not there.
    Empty,
    /// A text.
    Text(Text),
    /// A number, finite.
    Number(f64),
}

/// What a row says of its budget and point.
const PLACE: [&str; 7] = ["budget", "document", "measurand", "unit", "point", "at", "at_unit"];

/// What a row says of its contributor.
const CONTRIBUTOR: [&str; 19] = [
    "contributor",
    "adds_to",
    "kind",
    "distribution",
    "owner",
    "shared",
    "largest_of",
    "kept",
    "contributor_estimate",
    "standard_uncertainty",
    "standard_uncertainty_unit",
    "dof",
    "sensitivity",
    "sensitivity_unit",
    "contribution",
    "share",
    "basis",
    "due",
    "note",
];

/// What a row says of its point, in the measurand's unit.
const COMBINED: [&str; 41] = [
    "readings",
    "estimate",
    "correlation_share",
    "second_order_share",
    "u",
    "effective_dof",
    "coverage_method",
    "coverage_probability",
    "k",
    "U",
    "interval_low",
    "interval_high",
    "reported_estimate",
    "reported_U",
    "reported_k",
    "tolerance_lower",
    "tolerance_upper",
    "tur_all",
    "tur_laboratory",
    "rule",
    "scope",
    "guard_band",
    "acceptance_lower",
    "acceptance_upper",
    "verdict",
    "cause",
    "specific_risk",
    "limit_risk",
    "consumer_risk",
    "producer_risk",
    "acceptance_probability",
    "population",
    "population_distribution",
    "population_mean",
    "population_sd",
    "population_in_tolerance",
    "take",
    "spread",
    "spread_limit",
    "spread_kept",
    "reason",
];

/// Returns the rows of a record.
pub fn of(record: &Record) -> Rows {
    let columns = [&PLACE[..], &CONTRIBUTOR, &COMBINED].concat();
    let mut rows = Vec::new();
    for section in &record.sections {
        for point in &section.points {
            let (place, combined) = (place(section, point), combined(point));
            let mut push = |own: Vec<Value>| {
                rows.push([place.clone(), own, combined.clone()].concat());
            };
            point.contributors.iter().for_each(|it| push(contributor(it)));
            if point.contributors.is_empty() {
                push(vec![Value::Empty; CONTRIBUTOR.len()]);
            }
        }
    }
    Rows { columns, rows }
}

fn text(text: &str) -> Value {
    if text.is_empty() { Value::Empty } else { Value::Text(Text::from(text)) }
}

fn maybe_text(it: Option<&str>) -> Value {
    it.map_or(Value::Empty, text)
}

fn number(number: f64) -> Value {
    Value::Number(number + 0.0)
}

fn maybe(it: Option<f64>) -> Value {
    it.map_or(Value::Empty, number)
}

fn dof(dof: Dof) -> Value {
    if dof.is_infinite() { text("infinite") } else { number(dof.get()) }
}

fn place(section: &Section, point: &Point) -> Vec<Value> {
    let (budget, at) = (&section.budget, point.at.as_ref());
    vec![
        text(&budget.title),
        maybe_text(budget.document.get("number")),
        text(&budget.measurand.symbol),
        text(&budget.measurand.unit),
        maybe_text(point.label.as_deref()),
        maybe(at.map(|it| it.value)),
        maybe_text(at.map(|it| it.unit.as_str())),
    ]
}

fn contributor(it: &Contributor) -> Vec<Value> {
    vec![
        text(&it.name),
        maybe_text(it.adds_to.as_deref()),
        text(&it.kind),
        text(&it.distribution),
        text(it.owner.word()),
        number(it.shared),
        maybe_text(it.largest_of.as_deref()),
        text(if it.kept { "yes" } else { "no" }),
        number(it.estimate),
        number(it.standard_uncertainty),
        text(&it.unit),
        dof(it.dof),
        number(it.sensitivity),
        text(&it.sensitivity_unit),
        number(it.contribution),
        number(it.share),
        maybe_text(it.basis.as_deref()),
        maybe_text(it.due.as_deref()),
        maybe_text(it.note.as_deref()),
    ]
}

fn combined(point: &Point) -> Vec<Value> {
    let tolerance = point.tolerance.as_ref();
    let mut values = vec![
        readings(point),
        number(point.estimate),
        number(point.correlation_share),
        number(point.second_order_share),
        number(point.standard_uncertainty),
        dof(point.effective_dof),
        text(match point.coverage.method {
            CoverageMethod::T => "t",
            CoverageMethod::Fixed => "fixed",
            CoverageMethod::Exact => "exact",
            CoverageMethod::MonteCarlo => "monte_carlo",
        }),
        maybe(point.coverage.probability),
        number(point.coverage_factor),
        number(point.expanded_uncertainty),
        number(point.interval[0]),
        number(point.interval[1]),
        number(point.reported.estimate),
        number(point.reported.expanded_uncertainty),
        number(point.reported.coverage_factor),
        maybe(tolerance.and_then(|it| it.lower)),
        maybe(tolerance.and_then(|it| it.upper)),
        maybe(point.test.all.tur),
        maybe(point.test.laboratory.tur),
    ];
    match &point.decision {
        Some(decision) => values.extend(decided(decision)),
        None => values.resize(COMBINED.len(), Value::Empty),
    }
    values
}

fn decided(it: &Decision) -> Vec<Value> {
    let limits = it.acceptance.as_ref();
    let mut values = vec![
        text(words::rule(it)),
        text(it.scope.word()),
        number(it.guard_band),
        maybe(limits.and_then(|it| it.lower)),
        maybe(limits.and_then(|it| it.upper)),
        maybe_text(it.verdict.map(Verdict::word)),
        maybe_text(it.cause.map(Cause::word)),
        maybe(it.specific_risk),
        maybe(it.limit_risk),
        maybe(it.consumer_risk),
        maybe(it.producer_risk),
        maybe(it.acceptance_probability),
    ];
    values.extend(known(it.population.as_ref()));
    let spread = it.spread.as_ref();
    values.extend([
        maybe_text(it.take.map(Take::word)),
        maybe(spread.map(|it| it.value)),
        maybe(spread.map(|it| it.limit)),
        maybe_text(spread.map(|it| if it.ok { "yes" } else { "no" })),
        maybe_text(it.reason.as_deref()),
    ]);
    values
}

/// What was known before the reading; the source by its word in the record.
fn known(population: Option<&Population>) -> Vec<Value> {
    let Some(it) = population else { return vec![Value::Empty; 5] };
    vec![
        text(match it.from {
            PopulationSource::Actual => "actual",
            PopulationSource::Observed => "observed",
            PopulationSource::Spread => "spread",
            PopulationSource::Limits => "limits",
            PopulationSource::History => "history",
        }),
        maybe_text(it.distribution.as_deref()),
        maybe(it.mean),
        maybe(it.sd),
        maybe(it.in_tolerance),
    ]
}

/// A single reading as its number where it is one; several as one text.
fn readings(point: &Point) -> Value {
    match point.readings.as_deref() {
        Some([one]) => match one.parse::<f64>() {
            Ok(reading) if reading.is_finite() => number(reading),
            _ => text(one),
        },
        several => text(&several.unwrap_or_default().join("; ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn there_is_a_row_per_point_and_contributor_and_one_for_a_point_without() {
        let mut record = sample::worksheet();
        assert_eq!(of(&record).rows.len(), 10 * 12);
        record.sections[0].points[0].contributors.clear();
        record.sections[0].points[1].decision = None;
        let table = of(&record);
        assert_eq!(table.rows.len(), 1 + 9 * 12);
        assert!(table.rows.iter().all(|it| it.len() == table.columns.len()));
    }
}
