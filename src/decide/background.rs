//! What is known of such instruments at one point before the reading: the budget's population, made
//! definite by tolerance and uncertainty of the point.
//!
//! Source: JCGM 106:2012, 7.2 (prior), 9.5 (risks over a population).

use super::findings::titles;
use super::global::{self, Prior, Share};
use super::limits::Limits;
use super::point::PointZones;
use super::readings::find_point;
use crate::budget::{
    Budget, Evidence, History, Known, Owner, PastError, Population, Scope, ShareOf,
};
use crate::fault::{Fault, Finding, Origin, Severity};
use crate::propagate::{ContributorLine, PointEvaluation, Value};

/// Confidence of the interval of a share.
pub const CONFIDENCE: f64 = 0.95;
/// A history of fewer errors tells little of their spread: its own uncertainty is over 16 %.
pub const FEW: usize = 20;

/// A population at one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Background {
    /// The distribution of true errors, in SI; `None` where it cannot be told.
    pub prior: Option<Prior>,
    /// Why it cannot be told; empty where it can.
    pub reason: String,
    /// Whether the specific risk counts it.
    pub counts: bool,
    /// What the file of past errors says.
    pub history: Option<Past>,
}

/// What past errors say at one point; in SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// How many errors count here.
    pub count: usize,
    /// Errors of the file that belong to no point of the budget.
    pub elsewhere: usize,
    /// Their standard deviation.
    pub observed: Option<f64>,
    /// The part of u that varies from one calibration to the next.
    pub measurement: f64,
    /// Standard uncertainty of the population's standard deviation.
    pub sd_uncertainty: Option<f64>,
    /// Standard uncertainty of its mean.
    pub mean_uncertainty: Option<f64>,
    /// How many lie within the tolerance.
    pub within: usize,
    /// Exact binomial interval of the share within.
    pub interval: Option<(f64, f64)>,
    /// Contributors, by index, that had the same value in all past calibrations.
    pub same_in_all: Vec<usize>,
}

impl Background {
    /// Returns the population of a budget at a point; `None` where the budget does not say.
    ///
    /// # Errors
    ///
    /// A figure that has no value; a share that no population has; a spread that is not above zero.
    pub fn at(
        budget: &Budget,
        point: &PointEvaluation,
        scope: Scope,
        limits: &Limits,
    ) -> Result<Option<Background>, Fault> {
        let Some(population) = budget.population() else { return Ok(None) };
        let title = budget.points().list.get(point.index).map_or(String::new(), |it| it.title());
        let zero = super::figures::join("0", &budget.measurand().unit);
        let place = Place { population, point, scope, limits, title: &title, zero: &zero };
        let known = |prior| Background {
            prior: Some(prior),
            reason: String::new(),
            counts: population.prior,
            history: None,
        };
        match &population.known {
            Known::History(history) => Ok(Some(of_history(budget, history, &place))),
            _ => place.prior().map(|it| Some(known(it))),
        }
    }
}

/// A population that cannot be told.
pub const POPULATION_UNKNOWN: &str = "population-unknown";
/// A population made of few past errors.
pub const POPULATION_FEW: &str = "population-few";
/// Past errors that belong to no point.
pub const POPULATION_ELSEWHERE: &str = "population-elsewhere";
/// Contributors taken to have had the same value in all past calibrations.
pub const POPULATION_SAME: &str = "population-same";

/// Returns the findings about the population at all points of a budget.
pub(super) fn findings(budget: &Budget, zones: &[Option<PointZones>]) -> Vec<Finding> {
    let Some(population) = budget.population() else { return Vec::new() };
    let at = |it: &Option<PointZones>| -> Option<Background> {
        it.as_ref()?.decision.as_ref()?.zones.background.clone()
    };
    let all: Vec<(usize, Background)> =
        zones.iter().enumerate().filter_map(|(index, it)| Some((index, at(it)?))).collect();
    let origin = match &population.known {
        Known::History(history) => history.origin,
        _ => population.origin,
    };
    let mut findings = unknown(budget, &all, origin);
    let Some(past) = all.iter().find_map(|it| it.1.history.as_ref()) else { return findings };
    let few: Vec<usize> = all.iter().filter(|it| is_few(&it.1)).map(|it| it.0).collect();
    if !few.is_empty() {
        let message = format!(
            "fewer than {FEW} past errors: their spread, and the risks that follow, are known roughly"
        );
        let finding = Finding::new(POPULATION_FEW, Severity::Caution, message);
        findings.push(finding.about(titles(budget, &few), origin));
    }
    if past.elsewhere > 0 {
        let (errors, rest) = match past.elsewhere {
            1 => ("past error belongs", "does"),
            _ => ("past errors belong", "do"),
        };
        let message = format!("{} {errors} to no point and {rest} not count", past.elsewhere);
        let finding = Finding::new(POPULATION_ELSEWHERE, Severity::Caution, message);
        let help = format!("correct `at` in the file{}", lines_elsewhere(budget, population));
        findings.push(finding.help(help).about("", origin));
    }
    findings.extend(taken_as_same(budget, population, past, origin));
    findings
}

/// Says in which lines of the file the first errors stand that belong to no point.
fn lines_elsewhere(budget: &Budget, population: &Population) -> String {
    let Known::History(history) = &population.known else { return String::new() };
    let is_elsewhere = |it: &&PastError| {
        it.at.as_deref().is_some_and(|at| find_point(budget, at, history.origin).is_err())
    };
    let lines = history.errors.iter().filter(is_elsewhere).map(|it| it.line.to_string());
    let lines: Vec<String> = lines.take(LINES + 1).collect();
    let more = if lines.len() > LINES { ", …" } else { "" };
    let word = if lines.len() == 1 { "line" } else { "lines" };
    let shown = lines[..lines.len().min(LINES)].join(", ");
    format!(" `{}`, {word} {shown}{more}", history.path)
}

/// Lines of a history that are named.
const LINES: usize = 3;

fn is_few(background: &Background) -> bool {
    let count = background.history.as_ref().map_or(FEW, |it| it.count);
    background.prior.is_some() && count < FEW
}

/// Returns one finding per reason why the population is not known.
fn unknown(budget: &Budget, all: &[(usize, Background)], origin: Origin) -> Vec<Finding> {
    let mut reasons: Vec<&str> = all.iter().map(|it| it.1.reason.as_str()).collect();
    reasons.retain(|it| !it.is_empty());
    reasons.sort_unstable();
    reasons.dedup();
    let finding = |reason: &str| {
        let points: Vec<usize> =
            all.iter().filter(|it| it.1.reason == reason).map(|it| it.0).collect();
        let message = format!("{reason}: consumer's and producer's risk are not determined");
        Finding::new(POPULATION_UNKNOWN, Severity::Warning, message)
            .help("more past errors, or `population: {in_tolerance: 95 %, as: observed}`")
            .about(titles(budget, &points), origin)
    };
    reasons.into_iter().map(finding).collect()
}

/// Returns the finding that says what the default took for the same in all past calibrations.
fn taken_as_same(
    budget: &Budget,
    population: &Population,
    past: &Past,
    origin: Origin,
) -> Option<Finding> {
    let Known::History(History { same_in_all: None, .. }) = &population.known else { return None };
    let name = |index: &usize| budget.contributors().get(*index).map(|it| it.name.as_str());
    let names: Vec<&str> = past.same_in_all.iter().filter_map(name).collect();
    let message = match names.as_slice() {
        [] => "no contributor is taken to have had the same value in all past calibrations".into(),
        names => format!(
            "taken to have had the same value in all past calibrations: {}",
            names.join(", ")
        ),
    };
    let finding = Finding::new(POPULATION_SAME, Severity::Note, message);
    Some(finding.help("same_in_all: [names of contributors]").about("", origin))
}

/// Where a population is made definite.
struct Place<'a> {
    population: &'a Population,
    point: &'a PointEvaluation,
    scope: Scope,
    limits: &'a Limits,
    title: &'a str,
    /// Zero in the measurand's unit.
    zero: &'a str,
}

impl Place<'_> {
    fn prior(&self) -> Result<Prior, Fault> {
        let base = &self.point.base;
        match &self.population.known {
            Known::Normal { mean, sd } => {
                let (mean, spread) = (mean.value(base)?, sd.value(base)?);
                if spread > 0.0 && spread.is_finite() && mean.is_finite() {
                    return Ok(Prior::Normal { mean, sd: spread });
                }
                let what = self.here("the spread of the population", "is not above zero");
                Err(Fault::new(sd.origin(), what))
            }
            Known::Bounded { low, high, shape } => {
                let (bottom, top) = (low.value(base)?, high.value(base)?);
                if bottom < top && (top - bottom).is_finite() {
                    return Ok(Prior::Bounded { low: bottom, high: top, shape: *shape });
                }
                let what = self.here("the upper limit of the population", "is not above the lower");
                Err(Fault::new(high.origin(), what))
            }
            Known::InTolerance { share, origin, of, mean } => {
                let mean = match mean {
                    Some(mean) => mean.value(base)?,
                    None => self.middle()?,
                };
                let of = match of {
                    ShareOf::Actual => Share::Actual,
                    ShareOf::Observed => Share::Observed,
                };
                let density = &self.point.scope(self.scope).law();
                let found = global::spread_for_share(share.get(), of, mean, self.sides(), density);
                found
                    .map(|sd| Prior::Normal { mean, sd })
                    .map_err(|why| self.no_share(why, *origin))
            }
            Known::History(history) => Err(Fault::new(history.origin, "a history has no figures")),
        }
    }

    fn sides(&self) -> (Option<f64>, Option<f64>) {
        sides(self.limits)
    }

    fn middle(&self) -> Result<f64, Fault> {
        match self.sides() {
            (Some(low), Some(high)) => Ok(low + 0.5 * (high - low)),
            _ => {
                let what = self.here("the population", "has no mean");
                let rule = "a tolerance with one limit has no middle to take for it";
                let origin = self.population.origin;
                Err(Fault::new(origin, what).rule(rule).help(format!("mean: {}", self.zero)))
            }
        }
    }

    fn no_share(&self, why: global::NoSpread, origin: Origin) -> Fault {
        let predicate = match why {
            global::NoSpread::MeanOutside | global::NoSpread::Unknown => "cannot be told",
            _ => "does not exist",
        };
        let what = self.here("a population with this share within tolerance", predicate);
        Fault::new(origin, what).rule(why.to_string())
    }

    fn here(&self, subject: &str, predicate: &str) -> String {
        match self.title {
            "" => format!("{subject} {predicate}"),
            title => format!("{subject} at {title} {predicate}"),
        }
    }
}

/// Returns the limits in SI.
pub fn sides(limits: &Limits) -> (Option<f64>, Option<f64>) {
    (limits.lower.as_ref().map(|it| it.si), limits.upper.as_ref().map(|it| it.si))
}

/// Returns what a history says at a point.
///
/// Method: M103.
fn of_history(budget: &Budget, history: &History, place: &Place) -> Background {
    let (errors, elsewhere) = errors_at(budget, history, place.point.index);
    let same_in_all = same_in_all(budget, history);
    let (measurement, dof) = varying(budget, place, &same_in_all);
    let within = errors.iter().filter(|it| contains(place.limits, **it)).count();
    let interval = (!errors.is_empty())
        .then(|| global::clopper_pearson(within as u64, errors.len() as u64, CONFIDENCE))
        .flatten();
    let mut past = Past {
        count: errors.len(),
        elsewhere,
        observed: None,
        measurement,
        sd_uncertainty: None,
        mean_uncertainty: None,
        within,
        interval,
        same_in_all,
    };
    let (prior, reason) = match global::population_from_history(&errors, measurement, dof) {
        Ok(found) => {
            past.observed = Some(found.observed_sd);
            past.sd_uncertainty = Some(found.sd_uncertainty);
            past.mean_uncertainty = Some(found.mean_uncertainty);
            (Some(Prior::Normal { mean: found.mean, sd: found.sd }), String::new())
        }
        Err(global::NoPopulation::TooLittle { count }) => {
            let errors = if count == 1 { "past error tells" } else { "past errors tell" };
            (None, format!("{count} {errors} nothing of a spread"))
        }
        Err(global::NoPopulation::TooLarge) => {
            (None, "past errors are too large to be computed with".to_owned())
        }
        Err(global::NoPopulation::NoMoreThanMeasurement { observed, .. }) => {
            past.observed = Some(observed);
            let reason = "past errors spread no more than the measurement alone";
            (None, reason.to_owned())
        }
    };
    let counts = place.population.prior;
    Background { prior, reason, counts, history: Some(past) }
}

/// Returns the errors that count at a point, and how many of the file count at none.
fn errors_at(budget: &Budget, history: &History, index: usize) -> (Vec<f64>, usize) {
    let (mut errors, mut elsewhere) = (Vec::new(), 0);
    for PastError { at, error, .. } in &history.errors {
        match at.as_deref().map(|it| find_point(budget, it, history.origin)) {
            None => errors.push(*error),
            Some(Ok(found)) if found == index => errors.push(*error),
            Some(Ok(_)) => {}
            Some(Err(_)) => elsewhere += 1,
        }
    }
    (errors, elsewhere)
}

/// Returns the contributors that had the same value in all past calibrations: those that the budget
/// names, else the laboratory's own with a certificate or a block grade.
fn same_in_all(budget: &Budget, history: &History) -> Vec<usize> {
    if let Some(named) = &history.same_in_all {
        return named.clone();
    }
    let all = budget.contributors().iter().enumerate();
    let of_standard = all.filter(|(_, it)| {
        let document =
            matches!(it.evidence, Evidence::Certificate { .. } | Evidence::BlockGrade { .. });
        document && it.owner == Owner::Laboratory
    });
    of_standard.map(|it| it.0).collect()
}

/// Returns the part of u that varies from one calibration to the next, with its degrees of freedom.
fn varying(budget: &Budget, place: &Place, same: &[usize]) -> (f64, f64) {
    let lines = place.point.contributors.iter().enumerate();
    let counts = |(index, line): &(usize, &ContributorLine)| {
        let owner = budget.contributors().get(*index).map(|it| it.owner);
        line.kept && owner.is_some_and(|it| place.scope.contains(it)) && !same.contains(index)
    };
    let (mut squares, mut fourths) = (0.0, 0.0);
    for (_, line) in lines.filter(counts) {
        let square = line.contribution * line.contribution;
        squares += square;
        fourths += square * square / line.spread.dof;
    }
    let dof = if fourths > 0.0 { squares * squares / fourths } else { f64::INFINITY };
    (libm::sqrt(squares), dof)
}

fn contains(limits: &Limits, error: f64) -> bool {
    let tie = limits.span().map_or(0.0, |it| 1e-9 * it.si);
    limits.contains(&Value { si: error, exact: None }, tie)
}
