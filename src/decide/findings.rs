//! Findings of decisions: things worth saying that alter no number. One finding per kind, with the
//! points that it is about.

use super::figures::{percent, percent_up};
use super::judge::Judged;
use super::point::PointZones;
use super::readings::Entry;
use crate::budget::{Budget, Contributor, GuardBand, Rule, Take};
use crate::fault::{Finding, Origin, Severity};

/// Nothing can pass at a point.
pub const ACCEPTANCE_ZONE_EMPTY: &str = "acceptance-zone-empty";
/// A requirement of the decision is not met at a point.
pub const REQUIREMENT_NOT_MET: &str = "requirement-not-met";
/// A risk is promised that the rule which applies does not keep.
pub const PROMISE_NOT_KEPT: &str = "promise-not-kept";
/// The display step is not known where it is needed.
pub const NO_DISPLAY_STEP: &str = "no-display-step";
/// A reading that the display cannot show.
pub const OFF_GRID: &str = "off-grid";
/// A reading so far away that it looks like a slip.
pub const FAR_OFF: &str = "far-off";
/// A reading that makes the measurand what it cannot be.
pub const BEYOND_BOUND: &str = "beyond-bound";
/// A point without reading.
pub const MISSING_READING: &str = "missing-reading";

/// A single reading that is judged worse than what is reported.
pub const WORSE_READING: &str = "worse-reading";
/// A single reading where the spread of several is limited.
pub const NOT_REPEATED: &str = "not-repeated";
/// The budget counts the scatter of more readings than are averaged.
pub const SCATTER_OF_MORE: &str = "scatter-of-more";
/// The budget counts the scatter of fewer readings than are averaged.
pub const SCATTER_OF_FEWER: &str = "scatter-of-fewer";

/// Whether the place of a finding with this code is that of a reading, and not in a budget.
pub fn is_about_readings(code: &str) -> bool {
    [BEYOND_BOUND, FAR_OFF, MISSING_READING, OFF_GRID, WORSE_READING, NOT_REPEATED].contains(&code)
}

/// Returns the findings of the zones at all points of a budget.
pub fn of_zones(budget: &Budget, zones: &[Option<PointZones>]) -> Vec<Finding> {
    let decided = |test: &dyn Fn(&super::Zones) -> bool| {
        let hit = |it: &Option<PointZones>| {
            let decision = it.as_ref().and_then(|it| it.decision.as_ref());
            decision.is_some_and(|it| test(&it.zones))
        };
        (0..zones.len()).filter(|index| hit(&zones[*index])).collect::<Vec<_>>()
    };
    let origin = budget.decision().map_or(budget.origin(), |it| it.origin);
    let mut findings = Vec::new();
    let empty = decided(&|it| it.is_acceptance_empty());
    if !empty.is_empty() {
        let finding = Finding::new(
            ACCEPTANCE_ZONE_EMPTY,
            Severity::Warning,
            "the guard band leaves no acceptance zone in the tolerance: no reading passes",
        );
        let help = "a smaller uncertainty, a wider tolerance or another rule is needed";
        findings.push(finding.help(help).about(titles(budget, &empty), origin));
    }
    let unmet = decided(&|it| it.unmet.is_some());
    if !unmet.is_empty() {
        let origin =
            budget.decision().and_then(|it| it.requires.as_ref()).map_or(origin, |it| it.origin);
        let message = match budget.decision().and_then(|it| it.requires.as_ref()?.otherwise) {
            Some(rule) => format!("the required TUR is not met: the rule {} applies", rule.word()),
            None => "the required TUR is not met: no reading passes".to_owned(),
        };
        let finding = Finding::new(REQUIREMENT_NOT_MET, Severity::Caution, message);
        findings.push(finding.about(titles(budget, &unmet), origin));
    }
    for rule in [Rule::Simple, Rule::Relaxed] {
        let under = decided(&|it| it.rule == Some(rule));
        findings.extend(promise_not_kept(budget, rule, zones, &under));
    }
    findings.extend(super::background::findings(budget, zones));
    findings
}

/// Returns the finding of a promised risk at points where a rule applies that does not keep it.
fn promise_not_kept(
    budget: &Budget,
    rule: Rule,
    zones: &[Option<PointZones>],
    points: &[usize],
) -> Option<Finding> {
    let guard_band = &budget.decision()?.guard_band;
    let (promise, origin) = guard_band.promise()?;
    let of_consumers = matches!(guard_band, GuardBand::ConsumerRisk(..));
    let risk = |index: &usize| {
        let zones = &zones[*index].as_ref()?.decision.as_ref()?.zones;
        if of_consumers { zones.chances().map(|it| it.consumer) } else { zones.limit_risk() }
    };
    let kept = |index: &usize| risk(index).is_some_and(|it| it <= promise.get());
    let broken: Vec<usize> = points.iter().copied().filter(|it| !kept(it)).collect();
    if broken.is_empty() {
        return None;
    }
    let worst = broken.iter().map(risk).try_fold(0.0, |most: f64, it| Some(most.max(it?)));
    let (whose, what) = match of_consumers {
        true => ("consumer's", "before the reading it is"),
        false => ("specific", "a pass has"),
    };
    let really = worst.map_or_else(
        || "what it is instead is not determined".to_owned(),
        |it| format!("{what} up to {}", percent_up(it)),
    );
    let message = format!(
        "the rule {} keeps no promise of a {whose} risk of {}: {really}",
        rule.word(),
        percent(promise.get())
    );
    let finding = Finding::new(PROMISE_NOT_KEPT, Severity::Warning, message);
    Some(finding.help("rule: guarded").about(titles(budget, &broken), origin))
}

/// Returns the finding that the display step is not known, for work that needs it; `None` where it
/// is.
pub fn no_display_step(budget: &Budget) -> Option<Finding> {
    if budget.display().is_some() {
        return None;
    }
    let message = "what the instrument can show is not known: neither a reading off its display nor the next \
                   reading that fails can be named";
    let finding = Finding::new(NO_DISPLAY_STEP, Severity::Note, message);
    let help = format!("display: {{step: {}}}", super::figures::join("1", budget.reading_unit()));
    Some(finding.help(help).about("", budget.origin()))
}

/// Returns the finding of points that have no reading.
pub(crate) fn missing(budget: &Budget, points: &[usize]) -> Option<Finding> {
    if points.is_empty() {
        return None;
    }
    let message = "no reading is given: the instrument is at best undecided";
    let finding = Finding::new(MISSING_READING, Severity::Warning, message);
    Some(finding.about(titles(budget, points), Origin::NONE))
}

/// Returns the finding of a reading that the display cannot show, between two that it can.
pub(crate) fn off_grid(
    budget: &Budget,
    index: usize,
    entry: &Entry,
    between: [String; 2],
) -> Finding {
    let [below, above] = between;
    let text = entry.quantity.text();
    let message = format!("the display cannot show `{text}`: next to it are {below} and {above}");
    Finding::new(OFF_GRID, Severity::Caution, message)
        .help(step_text(budget))
        .about(titles(budget, &[index]), entry.origin)
}

/// Returns the finding of a reading whose error is over a hundred times the tolerance.
pub(crate) fn far_off(budget: &Budget, index: usize, entry: &Entry, error: &str) -> Finding {
    let text = entry.quantity.text();
    let message = format!("`{text}` is {error}, over a hundred times the tolerance");
    Finding::new(FAR_OFF, Severity::Warning, message)
        .help("is it the right point, and the right unit?")
        .about(titles(budget, &[index]), entry.origin)
}

/// Returns the finding of a reading whose value lies beyond a natural bound of the measurand: the value, the
/// side, the bound.
pub(crate) fn beyond_bound(
    budget: &Budget,
    index: usize,
    entry: &Entry,
    [value, side, bound]: [&str; 3],
) -> Finding {
    let (text, symbol) = (entry.quantity.text(), &budget.measurand().symbol);
    let message = format!(
        "`{text}` is {symbol} = {value}, {side} its bound {bound}: what is measured cannot be so"
    );
    Finding::new(BEYOND_BOUND, Severity::Warning, message)
        .help("is it the right point, the right unit, the right sign?")
        .about(titles(budget, &[index]), entry.origin)
}

/// Returns the finding of a reading at a point, with its place, that is judged worse than what is
/// reported there.
pub(crate) fn worse_reading(
    budget: &Budget,
    (index, origin): (usize, Origin),
    worst: &Judged,
    (reported, take): (&Judged, Take),
) -> Finding {
    let what = match take {
        Take::Mean => "the mean",
        Take::Last | Take::Worst => "the reported reading",
    };
    let (text, worse, better) = (&worst.text, worst.verdict.word(), reported.verdict.word());
    let message = format!(
        "by itself the reading `{text}` is judged worse than {what}: {worse} instead of {better}"
    );
    Finding::new(WORSE_READING, Severity::Caution, message)
        .help("`take: worst` reports it, and `repeatability` limits how far readings may differ")
        .about(titles(budget, &[index]), origin)
}

/// Returns the finding of points with one reading, where the spread of several is limited.
pub(crate) fn not_repeated(budget: &Budget, points: &[usize]) -> Option<Finding> {
    if points.is_empty() {
        return None;
    }
    let message = "one reading alone has no spread: the repeatability limit is not judged";
    let finding = Finding::new(NOT_REPEATED, Severity::Warning, message);
    let finding = finding.help("read these points twice or more");
    Some(finding.about(titles(budget, points), Origin::NONE))
}

/// A contributor that stands for the scatter of another number of readings than are averaged.
#[derive(Clone, Copy)]
pub(crate) struct Apart<'a> {
    /// The contributor.
    pub contributor: &'a Contributor,
    /// The number of readings whose mean scatters as it says.
    pub counted: u32,
    /// Whether fewer readings are averaged, so that U is too small.
    pub too_small: bool,
}

/// Returns the finding of such a contributor at points.
pub(crate) fn scatter_apart(budget: &Budget, apart: &Apart, points: &[usize]) -> Option<Finding> {
    if points.is_empty() {
        return None;
    }
    let Apart { contributor, counted, too_small } = *apart;
    let titles = titles(budget, points);
    let at = if titles.is_empty() { titles } else { format!(" at {titles}") };
    let of = match counted {
        1 => "a single reading".to_owned(),
        more => format!("a mean of {more} readings"),
    };
    let (code, severity, rest, help) = if too_small {
        let help = format!(
            "report means of {counted} readings (`take: mean` in a worksheet), or count the scatter of a single reading in the budget"
        );
        let rest = "fewer are averaged: U is too small";
        (SCATTER_OF_MORE, Severity::Warning, rest, help)
    } else {
        let help = "count the scatter of the mean in the budget, `mean_of` the readings, or report \
                    single readings";
        let rest = "more are averaged: U is larger than need be";
        (SCATTER_OF_FEWER, Severity::Note, rest, help.to_owned())
    };
    let message = format!("it is the scatter of {of}, and{at} {rest}");
    let finding = Finding::new(code, severity, message).help(help);
    Some(finding.about(contributor.name.clone(), contributor.origin))
}

fn step_text(budget: &Budget) -> String {
    let step = budget.display().map_or(String::new(), |it| it.step.text());
    format!("the display step is `{step}`: look at the reading, or correct `display: {{step}}`")
}

pub(super) fn titles(budget: &Budget, points: &[usize]) -> String {
    let list = &budget.points().list;
    let titles: Vec<String> =
        points.iter().filter_map(|it| list.get(*it)).map(|it| it.title()).collect();
    titles.join(", ")
}
