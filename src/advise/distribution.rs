//! Findings about the distribution of the measurand: what dominates it, the trade's formulas beside the
//! exact coverage factor, and where the exact distribution is not what a reader may expect.
//!
//! Notation: p the coverage probability; β of a trapezoid the ratio of top to base. The formulas are those
//! of the examples S9 and S10 of EA-4/02 (recalled, not read).

use super::titles;
use crate::budget::{Budget, CoverageMethod, Scope};
use crate::evidence::Distribution;
use crate::fault::{Finding, Origin, Severity};
use crate::propagate::density::Density;
use crate::propagate::terms::NotASum;
use crate::propagate::{Combined, Evaluation, PointEvaluation};
use crate::quantity::decimal::{fixed, significant};
use std::collections::BTreeMap;

/// What is dominated by a few contributors: the rest, combined, is at most this part of them (EA-4/02).
const REST: f64 = 0.3;
/// A share of u² that is worth a word where it is left out.
const LEFT_OUT: f64 = 1e-3;
/// The share of u² from which products decide the shape: as for one contributor.
const PRODUCTS: f64 = 0.30;
/// Difference of the two sides of an interval, over its width, from which it is not called symmetric.
const SKEW: f64 = 0.01;
/// Relative difference of two coverage factors that is worth a word.
const DIFFERENT: f64 = 0.01;

/// Returns the findings about the distribution, in a fixed order.
pub fn of_distribution(evaluation: &Evaluation) -> Vec<Finding> {
    let mut findings = rectangles(evaluation);
    findings.extend(products(evaluation));
    findings.extend(skewed(evaluation));
    findings.extend(humps(evaluation));
    findings.extend(left_out(evaluation));
    findings.extend(refused(evaluation));
    findings
}

/// Returns k of the trade for one rectangle: p·√3.
///
/// Method: M86.
pub fn rectangle_factor(p: f64) -> f64 {
    p * 3f64.sqrt()
}

/// Returns k of the trade for a trapezoid, (1 − √((1 − p)(1 − β²)))/√((1 + β²)/6); `None` where the point
/// lies on the flat top, p < 2β/(1 + β).
///
/// Method: M87.
pub fn trapezoid_factor(p: f64, beta: f64) -> Option<f64> {
    let k = (1.0 - ((1.0 - p) * (1.0 - beta * beta)).sqrt()) / ((1.0 + beta * beta) / 6.0).sqrt();
    (p >= 2.0 * beta / (1.0 + beta)).then_some(k)
}

/// Returns the one or two rectangles that dominate at a point, by index, and the formula's k and its words.
fn dominant(point: &PointEvaluation) -> Option<(Vec<usize>, Option<f64>, &'static str)> {
    let u = point.all.standard_uncertainty;
    let mut found: Vec<(f64, usize)> = Vec::new();
    for (index, it) in point.contributors.iter().enumerate() {
        let counts = it.kept && it.contribution > 0.0;
        if counts && it.spread.distribution == Distribution::Rectangular {
            found.push((it.contribution / u, index));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let rest = |of: f64| (1.0 - of).max(0.0) <= REST * REST * of;
    let p = point.probability;
    match found[..] {
        [(one, index), ..] if rest(one * one) => {
            Some((vec![index], Some(rectangle_factor(p)), "k = p·√3"))
        }
        [(one, first), (two, second), ..] if rest(one * one + two * two) => {
            let k = trapezoid_factor(p, (one - two) / (one + two));
            Some((vec![first, second], k, "the trapezoid's formula"))
        }
        _ => None,
    }
}

/// One or two rectangles dominate: the exact k beside that in use and that of the trade.
///
/// Method: M88.
fn rectangles(evaluation: &Evaluation) -> Vec<Finding> {
    let mut groups: BTreeMap<Vec<usize>, Vec<&PointEvaluation>> = BTreeMap::new();
    for point in evaluation.points() {
        if let (Density::Exact(_), Some((which, ..))) = (&point.all.density, dominant(point)) {
            groups.entry(which).or_default().push(point);
        }
    }
    groups.into_iter().filter_map(|it| rectangle(evaluation.budget(), &it.0, &it.1)).collect()
}

fn rectangle(budget: &Budget, which: &[usize], points: &[&PointEvaluation]) -> Option<Finding> {
    let widest = widest(points)?;
    let exact = exact_factor(widest)?;
    let (_, formula, words) = dominant(widest)?;
    let formula = match formula {
        Some(k) => format!("{words} gives k = {} (EA-4/02)", fixed(k, 2)),
        None => format!("{words} (EA-4/02) does not hold at this probability"),
    };
    let names: Vec<String> =
        which.iter().map(|it| format!("`{}`", budget.contributors()[*it].name)).collect();
    let subject = match names.as_slice() {
        [one] => format!("{one}, a rectangle, dominates"),
        _ => format!("{}, two rectangles, dominate", names.join(" and ")),
    };
    let (severity, used, help) = used(budget, widest, exact);
    let message =
        format!("{subject}: {formula}, the exact distribution k = {}{used}", fixed(exact, 2));
    let finding = Finding::new("rectangle-dominates", severity, message).help(help);
    Some(finding.about(about(budget, points), origin(budget)))
}

/// Products decide the shape.
///
/// Method: M89.
fn products(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let curved = |it: &Combined| match it.second_order {
        Some(second) if second > 0.0 => {
            let ratio = it.first_order / second;
            matches!(it.density, Density::Exact(_)) && 1.0 - ratio * ratio > PRODUCTS
        }
        _ => false,
    };
    let here: Vec<&PointEvaluation> =
        evaluation.points().iter().filter(|it| curved(&it.all)).collect();
    let widest = widest(&here)?;
    let exact = exact_factor(widest)?;
    let (severity, used, help) = used(budget, widest, exact);
    let message = format!(
        "inputs that multiply make the distribution peaked, not normal: the exact distribution gives k = {}{used}",
        fixed(exact, 2)
    );
    let finding = Finding::new("product-shape", severity, message).help(help);
    Some(finding.about(about(budget, &here), origin(budget)))
}

/// Returns severity, words and help about the k in use beside the exact one.
fn used(budget: &Budget, point: &PointEvaluation, exact: f64) -> (Severity, String, &'static str) {
    let k = point.coverage_factor;
    let source = match budget.coverage().method {
        CoverageMethod::T => "t",
        CoverageMethod::Fixed(_) => "the budget",
        // k in use is the exact or the simulated one.
        CoverageMethod::Exact | CoverageMethod::MonteCarlo => {
            return (Severity::Note, String::new(), "");
        }
    };
    let shown = format!("; {source} gives k = {}", fixed(k, 2));
    let more = significant(100.0 * (k / exact - 1.0).abs(), 2);
    let help = match budget.coverage().method {
        CoverageMethod::T => "coverage: {method: exact}",
        _ => "",
    };
    match k / exact - 1.0 {
        off if off > DIFFERENT => {
            (Severity::Note, format!("{shown}, U is {more} % larger than need be"), help)
        }
        off if off < -DIFFERENT => {
            (Severity::Caution, format!("{shown}, U is {more} % too small"), help)
        }
        _ => (Severity::Note, shown, ""),
    }
}

/// Returns the exact coverage factor at a point.
fn exact_factor(point: &PointEvaluation) -> Option<f64> {
    let Density::Exact(sum) = &point.all.density else { return None };
    let interval = sum.interval(point.probability).ok()?;
    Some(0.5 * (interval.high - interval.low) / point.all.standard_uncertainty)
}

/// An interval that is not symmetric about the estimate.
fn skewed(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let skew = |it: &PointEvaluation| {
        let (low, high) = (it.interval.low, it.interval.high);
        if high > low { (high + low) / (high - low) } else { 0.0 }
    };
    let exact = |it: &&PointEvaluation| it.interval.exact.is_some() && skew(it).abs() > SKEW;
    let here: Vec<&PointEvaluation> = evaluation.points().iter().filter(exact).collect();
    let most = here.iter().max_by(|a, b| skew(a).abs().total_cmp(&skew(b).abs()))?;
    let unit = &budget.measurand().unit;
    let side = |it: f64| {
        let number = significant(it.abs() / unit.si(), 3);
        if unit.text() == "1" { number } else { format!("{number} {}", unit.text()) }
    };
    let message = format!(
        "the interval is not symmetric about the estimate: it reaches {} below and {} above; U is half of its width",
        side(most.interval.low),
        side(most.interval.high)
    );
    let finding = Finding::new("interval-asymmetric", Severity::Caution, message);
    let help = "report the ends of the interval (`interval` of the record), not the estimate ± U";
    Some(finding.help(help).about(about(budget, &here), origin(budget)))
}

/// A density with several humps.
fn humps(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let several = |it: &&PointEvaluation| it.interval.exact.is_some_and(|it| !it.unimodal);
    let here: Vec<&PointEvaluation> = evaluation.points().iter().filter(several).collect();
    if here.is_empty() {
        return None;
    }
    let message = "the density has several humps: values near the ends are likelier than those in the middle, and a \
                   shortest interval is not offered; this one leaves as much out below as above";
    let finding = Finding::new("several-humps", Severity::Note, message);
    Some(finding.about(about(budget, &here), origin(budget)))
}

/// What the model's curvature keeps out of an exact interval.
fn left_out(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let share = |it: &PointEvaluation| it.interval.exact.map_or(0.0, |it| it.left_out.abs());
    let here: Vec<&PointEvaluation> =
        evaluation.points().iter().filter(|it| share(it) > LEFT_OUT).collect();
    let most = here.iter().map(|it| share(it)).fold(0.0, f64::max);
    if here.is_empty() {
        return None;
    }
    let message = format!(
        "the exact interval leaves out curvature of the model: up to {} % of u² is beyond products of two inputs, and its error bound does not count that",
        significant(100.0 * most, 2)
    );
    let finding = Finding::new("left-out", Severity::Caution, message);
    let finding = finding.help("coverage: {method: monte_carlo}");
    Some(finding.about(about(budget, &here), origin(budget)))
}

/// A decision that had to be taken by t although a contributor that is not normal dominates.
fn refused(evaluation: &Evaluation) -> Option<Finding> {
    let budget = evaluation.budget();
    let scope = budget.decision()?.scope;
    let reason = |it: &PointEvaluation| it.scope(scope).density_refused.clone();
    let here: Vec<&PointEvaluation> =
        evaluation.points().iter().filter(|it| reason(it).is_some()).collect();
    let why = match reason(here.first()?)? {
        NotASum::Linked(members) => {
            let name = |it: &usize| format!("`{}`", budget.contributors()[*it].name);
            let names: Vec<String> = members.iter().map(name).collect();
            format!("{} are linked and not normal", names.join(" and "))
        }
        NotASum::Curved(share) => {
            let percent = significant(100.0 * share.abs(), 2);
            format!("{percent} % of u² is curvature beyond products of two inputs")
        }
        NotASum::Products { between: [a, b], .. } => {
            format!("the product of `{a}` and `{b}` has no factor with a single contributor")
        }
        NotASum::Refused(reason) => reason,
    };
    let words = match scope {
        Scope::All => "",
        Scope::Laboratory => " (scope `laboratory`)",
    };
    let message = format!(
        "risks are those of t, although a contributor that is not normal, or curvature, has over 30 % of u²{words}: {why}"
    );
    let finding = Finding::new("density-refused", Severity::Caution, message);
    let finding = finding.help("coverage: {method: monte_carlo}");
    let origin = budget.decision().map_or(budget.origin(), |it| it.origin);
    Some(finding.about(about(budget, &here), origin))
}

/// Returns the first point with the largest U.
fn widest<'a>(points: &[&'a PointEvaluation]) -> Option<&'a PointEvaluation> {
    let larger = |a: &'a PointEvaluation, b: &'a PointEvaluation| {
        if b.expanded_uncertainty > a.expanded_uncertainty { b } else { a }
    };
    points.iter().copied().reduce(larger)
}

fn about(budget: &Budget, points: &[&PointEvaluation]) -> String {
    titles(budget, &points.iter().map(|it| it.index).collect::<Vec<_>>())
}

fn origin(budget: &Budget) -> Origin {
    match budget.coverage().origin {
        Origin::NONE => budget.origin(),
        origin => origin,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// EA-4/02, examples S9 and S10 (m): k = 1.65 for a rectangle and 1.83 for β = 1/3, at 95 %; unrounded
    /// by the formulas in mpmath 1.645448267190 and 1.833892059170. A triangle at 95 %: √6·(1 − √0.05).
    /// Method: M86, M87.
    #[test]
    fn the_trades_factors_are_the_printed_ones() {
        assert!((rectangle_factor(0.95) - 1.645_448_267_19).abs() < 1e-11);
        for (beta, expected) in [(1.0 / 3.0, 1.833_892_059_17), (0.0, 1.901_767_185_28)] {
            let got = trapezoid_factor(0.95, beta).unwrap();
            assert!((got - expected).abs() < 1e-11, "{beta}: {got}");
        }
        // By hand: 2β/(1 + β) = 0.95 at β = 0.95/1.05 = 0.904761…
        assert!(trapezoid_factor(0.95, 0.9047).is_some());
        assert_eq!(trapezoid_factor(0.95, 0.9048), None);
    }
}
