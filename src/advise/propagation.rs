//! Findings about evidence and the law of propagation.

use super::titles;
use crate::budget::names::READING;
use crate::budget::{BlockLength, Budget, Contributor, Evidence, Order, Role, Scope, Target};
use crate::evidence::grade::{Provenance, provenance};
use crate::fault::{Finding, Severity};
use crate::propagate::combine::changes;
use crate::propagate::{Combined, Evaluation, PointEvaluation};
use crate::quantity::Quantity;
use crate::quantity::decimal::significant;

/// A shift of the estimate beyond this share of u is worth a finding.
pub(super) const SHIFT: f64 = 0.10;

/// Returns the findings about an evaluation, in a fixed order.
pub fn of_evaluation(evaluation: &Evaluation) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(second_order(evaluation));
    findings.extend(left_out(evaluation));
    findings.extend(not_computed(evaluation));
    findings.extend(shifted(evaluation));
    findings.extend(approximate_dof(evaluation));
    findings.extend(few_dof(evaluation));
    findings.extend(super::distribution::of_distribution(evaluation));
    findings.extend(recalled_tables(evaluation));
    findings.extend(unused_inputs(evaluation));
    findings.extend(zero_values(evaluation));
    findings.extend(super::data::of_data(evaluation));
    findings.extend(super::results::of_results(evaluation));
    findings.extend(super::simulation::of_evaluation(evaluation));
    findings
}

/// Returns the points at which `test` holds.
fn points(evaluation: &Evaluation, test: impl Fn(&PointEvaluation) -> bool) -> Vec<usize> {
    evaluation.points().iter().filter(|it| test(it)).map(|it| it.index).collect()
}

fn both(point: &PointEvaluation) -> [(Scope, &Combined); 2] {
    Scope::BOTH.map(|scope| (scope, point.scope(scope)))
}

fn second_order(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let here = points(evaluation, |it| it.all.second_order_used || it.laboratory.second_order_used);
    if here.is_empty() || budget.order() == Order::Second {
        return None;
    }
    let ratio = |it: &Combined| it.standard_uncertainty / it.first_order;
    let most = evaluation
        .points()
        .iter()
        .flat_map(both)
        .filter(|it| it.1.second_order_used && it.1.first_order > 0.0)
        .map(|it| ratio(it.1) - 1.0)
        .fold(0.0, |most: f64, it| if it.abs() > most.abs() { it } else { most });
    let size = if most == 0.0 {
        "to first order it would be 0".to_string()
    } else if most > 9.0 {
        format!("it makes u up to {} times as large", significant(1.0 + most, 2))
    } else {
        format!("it changes u by up to {} %", significant(100.0 * most, 2))
    };
    let message = format!("the second order enters u (JCGM 100, 5.1.2 note): {size}");
    let finding = Finding::new("second-order", Severity::Note, message);
    Some(finding.about(titles(budget, &here), budget.origin()))
}

fn left_out(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let changed =
        |it: &Combined| it.second_order.is_some_and(|second| changes(it.first_order, second));
    let here = points(evaluation, |it| both(it).iter().any(|it| changed(it.1)));
    if here.is_empty() || budget.order() != Order::First {
        return None;
    }
    let unit = budget.measurand().unit.clone();
    let largest = evaluation
        .points()
        .iter()
        .filter_map(|it| it.all.second_order.map(|second| (it.all.first_order, second)))
        .max_by(|a, b| (a.1 - a.0).abs().total_cmp(&(b.1 - b.0).abs()));
    let size = largest.map_or(String::new(), |(first, second)| {
        let shown = |it: f64| significant(it / unit.si(), 3);
        format!(
            ": u would be {} {} instead of {} {}",
            shown(second),
            unit.text(),
            shown(first),
            unit.text()
        )
    });
    let message = format!("`order: first` leaves out second-order terms of 1 % of u or more{size}");
    let finding =
        Finding::new("second-order-left-out", Severity::Caution, message).help("order: auto");
    Some(finding.about(titles(budget, &here), budget.origin()))
}

fn not_computed(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let here = points(evaluation, |it| both(it).iter().any(|it| it.1.second_order.is_none()));
    if here.is_empty() {
        return None;
    }
    let message =
        "what `order: first` leaves out cannot be told: the second order does not exist here";
    let finding = Finding::new("second-order-unknown", Severity::Caution, message);
    Some(finding.about(titles(budget, &here), budget.origin()))
}

fn shifted(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let share = |it: &Combined| {
        let shift = it.shift.unwrap_or(0.0).abs();
        if it.standard_uncertainty > 0.0 { shift / it.standard_uncertainty } else { 0.0 }
    };
    let here = points(evaluation, |it| share(&it.all) > SHIFT);
    if here.is_empty() {
        return None;
    }
    let most = evaluation.points().iter().map(|it| share(&it.all)).fold(0.0, f64::max);
    let percent = significant(100.0 * most, 2);
    let message = format!(
        "curvature of the model shifts the estimate by up to {percent} % of u; the shift is reported, not applied"
    );
    let finding = Finding::new("estimate-shifted", Severity::Caution, message);
    let help = "look at `second_order_shift`; a correction is a contributor with `estimate`";
    Some(finding.help(help).about(titles(budget, &here), budget.origin()))
}

fn approximate_dof(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let contributors = budget.contributors();
    let finite = |index: usize| {
        evaluation.points().iter().any(|it| it.contributors[index].spread.dof.is_finite())
    };
    let link = budget
        .links()
        .iter()
        .find(|it| it.r != 0.0 && (finite(it.between.0) || finite(it.between.1)))?;
    let (a, b) = (&contributors[link.between.0].name, &contributors[link.between.1].name);
    let message = format!(
        "effective degrees of freedom are approximate: `{a}` and `{b}` are correlated, and the Welch–Satterthwaite formula is for independent contributors"
    );
    Some(Finding::new("dof-approximate", Severity::Note, message).about(a.clone(), link.origin))
}

fn few_dof(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let here = points(evaluation, |it| it.all.effective_dof < 1.0);
    if here.is_empty() {
        return None;
    }
    let message = "fewer than one effective degree of freedom: the coverage factor is that of one";
    let finding = Finding::new("dof-below-one", Severity::Warning, message);
    Some(finding.about(titles(budget, &here), budget.origin()))
}

/// A recalled (not read) table of grades is in use.
fn recalled_tables(evaluation: &Evaluation) -> Vec<Finding> {
    let budget = evaluation.budget();
    let mut findings = Vec::new();
    for it in budget.contributors() {
        let Evidence::BlockGrade { grade, .. } = &it.evidence else { continue };
        let worst =
            evaluation.points().iter().flat_map(|point| lengths(budget, it, point)).map(|length| {
                provenance(
                    grade.table,
                    &grade.grade,
                    length,
                    crate::propagate::in_inches(budget.reading_unit()),
                )
            });
        let known = worst
            .fold(Provenance::Read, |worst, it| if it as u8 > worst as u8 { it } else { worst });
        let how = match known {
            Provenance::Read => continue,
            Provenance::Recalled => "recalled, not read",
            Provenance::Doubtful => "recalled and doubtful",
        };
        let table = grade.table.word();
        let message = format!("the limit deviations of {table}, grade {}, are {how}", grade.grade);
        let finding = Finding::new("recalled-table", Severity::Caution, message);
        let help = format!(
            "check them against {table}, or give `limits` from the standard or the certificate"
        );
        findings.push(finding.help(help).about(it.name.clone(), it.evidence_origin));
    }
    findings
}

/// Returns the block lengths of a contributor at a point, in metres.
fn lengths(budget: &Budget, contributor: &Contributor, point: &PointEvaluation) -> Vec<f64> {
    let Evidence::BlockGrade { length, .. } = &contributor.evidence else { return Vec::new() };
    let lengths: Vec<f64> = match (length, &budget.points().list[point.index].stack) {
        (BlockLength::Length(formula), _) => formula.value(&point.base).into_iter().collect(),
        (BlockLength::Stack, Some(stack)) => stack.iter().map(Quantity::si).collect(),
        (BlockLength::Stack, None) => {
            budget.points().list[point.index].at.iter().map(Quantity::si).collect()
        }
    };
    lengths.into_iter().filter(|it| *it > 0.0).collect()
}

/// An input that nothing uses is worth a finding, not a fault.
fn unused_inputs(evaluation: &Evaluation) -> Vec<Finding> {
    let budget = evaluation.budget();
    let used = crate::propagate::used_names(budget);
    let mut findings = Vec::new();
    for (index, name) in budget.names().iter().enumerate() {
        let own = matches!(name.role, Role::Estimate { .. } | Role::Bare | Role::Key);
        let made_by_stack = name.word == "joints" && matches!(name.role, Role::Key);
        if !own || made_by_stack || used.contains(&index) {
            continue;
        }
        let message = format!("nothing uses `{}`", name.word);
        let finding = Finding::new("unused-input", Severity::Caution, message);
        let help = "use it in the model or in evidence, or leave it out";
        findings.push(finding.help(help).about(name.word.clone(), name.origin));
    }
    for it in budget.contributors() {
        let Target::Input(index) = it.target else { continue };
        if crate::propagate::reached_names(budget).contains(&index) {
            continue;
        }
        let word = &budget.names().get(index).word;
        let message =
            format!("`{}` adds to `{word}`, on which the result does not depend", it.name);
        let severity = if word == READING { Severity::Warning } else { Severity::Caution };
        findings.push(
            Finding::new("without-effect", severity, message).about(it.name.clone(), it.origin),
        );
    }
    findings
}

/// A name that only ±limits define has the value 0.
fn zero_values(evaluation: &Evaluation) -> Vec<Finding> {
    let budget = evaluation.budget();
    let mut findings = Vec::new();
    for (index, name) in budget.names().iter().enumerate() {
        if !matches!(name.role, Role::Bare) {
            continue;
        }
        let adding = budget
            .contributors()
            .iter()
            .filter(|it| matches!(it.target, Target::Input(to) if to == index));
        let gives = |it: &Contributor| {
            let by_evidence = match &it.evidence {
                Evidence::Between { .. } | Evidence::Column { .. } => true,
                evidence => evidence.are_result(),
            };
            by_evidence || it.estimate.is_some()
        };
        if adding.clone().any(gives) {
            continue;
        }
        let message = format!(
            "`{}` has no estimate and is taken as 0: its contributors are centred on zero",
            name.word
        );
        let finding = Finding::new("zero-estimate", Severity::Note, message);
        let unit = budget.name_unit(index);
        let zero = if unit.text() == "1" { "0".to_string() } else { format!("0 {}", unit.text()) };
        findings.push(
            finding
                .help(format!("estimates: {{{}: {zero}}}", name.word))
                .about(name.word.clone(), name.origin),
        );
    }
    findings
}
