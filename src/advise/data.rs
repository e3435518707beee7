//! Findings about readings in groups, readings that drift, and calibration lines.
//!
//! The limits are those of common practice: 5 % for a test, 2/√n for the lag-1 coefficient of n
//! independent readings.

use crate::budget::{Contributor, Data, DataKind, Dataset, Evidence, Grouping};
use crate::evidence::statistics::{Groups, Line, lag1};
use crate::evidence::{Measured, grouped};
use crate::fault::{Finding, Severity};
use crate::propagate::Evaluation;
use crate::quantity::Quantity;
use crate::quantity::decimal::significant;

/// Probability below which agreement with what was taken for granted is not believed.
const UNLIKELY: f64 = 0.05;
/// Probability above which residuals are too small to be believed.
const TOO_GOOD: f64 = 0.995;
/// Readings fewer than these say too little of a drift.
const ENOUGH: usize = 10;
/// Groups fewer than these say little of what lies between them.
const FEW_GROUPS: usize = 4;

/// Returns the findings about data, in the order of the file.
pub(super) fn of_data(evaluation: &Evaluation) -> Vec<Finding> {
    let budget = evaluation.budget();
    let mut findings = Vec::new();
    for it in budget.contributors() {
        match &it.evidence {
            Evidence::Readings { values, .. } => findings.extend(drift(it, values)),
            Evidence::Groups { grouping, .. } => {
                let found = grouped::analysis(&it.evidence);
                let found = found.map(|found| groups(it, *grouping, &found));
                findings.extend(found.into_iter().flatten());
            }
            _ => {}
        }
    }
    let lines = budget.datasets().iter().zip(evaluation.measured());
    findings.extend(lines.filter_map(|(dataset, said)| fit(dataset, said)));
    findings
}

/// Readings that depend on the one before are not independent: s/√n is then too small.
///
/// Method: M76.
fn drift(contributor: &Contributor, values: &[Quantity]) -> Option<Finding> {
    let n = values.len();
    let exact: Vec<_> = values.iter().map(Quantity::exact).collect();
    let r = lag1(&exact).filter(|_| n >= ENOUGH)?;
    if r.abs() <= 2.0 / (n as f64).sqrt() {
        return None;
    }
    let how = match r > 0.0 {
        true => "each reading is like the one before: they drift",
        false => "each reading goes the other way than the one before",
    };
    let r = significant(r, 2);
    let message = format!("{how} (lag-1 autocorrelation {r} of {n} readings)");
    let help = "find the cause, or read anew in a random order: readings that depend on each other \
                are not independent, and s/√n is not the uncertainty of their mean";
    let finding = Finding::new("readings-drift", Severity::Note, message).help(help);
    Some(finding.about(contributor.name.clone(), contributor.evidence_origin))
}

/// What the analysis of variance says against the way that the groups are used.
///
/// Method: M74.
fn groups(contributor: &Contributor, grouping: Grouping, found: &Groups) -> Vec<Finding> {
    let mut findings = Vec::new();
    let about =
        |finding: Finding| finding.about(contributor.name.clone(), contributor.evidence_origin);
    let pooled = grouping == Grouping::Pooled;
    if !pooled && found.between_is_negative {
        let unit = &contributor.unit;
        let variance = found.between_variance / unit.si() / unit.si();
        let squared = match unit.text() {
            "1" => String::new(),
            text if text.contains(['/', '·', '.', '⋅', '^']) => format!(" ({text})²"),
            text => format!(" {text}²"),
        };
        let message = format!(
            "the scatter between groups is smaller than that within explains: its variance is estimated \
             at {}{squared}; it is counted as 0",
            significant(variance, 2)
        );
        findings.push(about(Finding::new("between-negative", Severity::Note, message)));
    }
    if let (true, Some(f), Some(p)) = (pooled, found.f, found.f_probability)
        && p < UNLIKELY
    {
        let (f, p) = (significant(f, 3), significant(100.0 * p, 2));
        let message = format!(
            "groups differ by more than the scatter within them (F = {f}, probability {p} %), which \
             `groups: pooled` does not count: u is too small where the groups are days or operators"
        );
        let finding = Finding::new("groups-differ", Severity::Caution, message);
        let help = "write `groups: components` unless each group is another piece or point";
        findings.push(about(finding.help(help)));
    }
    if !pooled && found.sizes.len() < FEW_GROUPS && !found.between_is_negative {
        let message = format!(
            "{} groups say little of the scatter between groups: {} degrees of freedom",
            found.sizes.len(),
            found.between_dof
        );
        let finding = Finding::new("few-groups", Severity::Note, message);
        findings.push(about(finding.help("take readings on more days, or by more operators")));
    }
    findings
}

/// Whether the points of a line lie about it as their given uncertainties say.
///
/// Method: M75.
fn fit(dataset: &Dataset, said: &Measured) -> Option<Finding> {
    let (Data::Line(_), Some(line)) = (&dataset.data, &said.line) else { return None };
    let (chi_squared, p) = (line.chi_squared?, line.chi_squared_probability?);
    let figures = figures(line, chi_squared, p);
    let finding = if p < UNLIKELY {
        let message = format!(
            "the points lie farther from the line than their uncertainties allow: {figures}"
        );
        let help = "look at the residuals: a curve, an outlier, or a `y_uncertainty` that is too small; \
                    without `y_uncertainty` the residuals give the scatter";
        Finding::new("line-residuals", Severity::Caution, message).help(help)
    } else if p > TOO_GOOD {
        let message = format!(
            "the points lie nearer to the line than their uncertainties let expect: {figures}"
        );
        let help = "`y_uncertainty` holds what scatters from point to point; what all points share is a \
                    contributor of its own";
        Finding::new("line-too-good", Severity::Note, message).help(help)
    } else {
        return None;
    };
    let kind = DataKind::Line.word();
    Some(finding.about(format!("{kind} “{}”", dataset.name), dataset.figures))
}

fn figures(line: &Line, chi_squared: f64, p: f64) -> String {
    let shown = match p {
        p if p < 1e-6 => "below 0.0001 %".to_string(),
        p if p > TOO_GOOD => format!("{} %", significant(100.0 * p, 4)),
        p => format!("{} %", significant(100.0 * p, 2)),
    };
    format!("χ² = {}, ν = {}, probability {shown}", significant(chi_squared, 3), line.n - 2)
}
