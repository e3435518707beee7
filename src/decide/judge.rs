//! Judging: an evaluation and readings in, one verdict per reading, point and instrument out.
//!
//! Zones are those of the evaluation, whose u and U hold for the reading at the point's value; a
//! reading moves the estimate and the risk alone.

use super::figures::Relation;
use super::findings;
use super::grid::{Grid, index_on, neighbours};
use super::limits::{Limit, Limits};
use super::point::{PointDecision, PointZones, is_error, relation, start_of};
use super::readings::{Entry, Readings, check_kind, unit_of_entries};
use super::reason::{Account, reason};
use super::several::{self, Spread};
use super::verdict::{Cause, Verdict};
use crate::budget::{Budget, Take};
use crate::fault::{Fault, Faults, Finding, Origin};
use crate::propagate::{Evaluation, PointEvaluation, Value};
use crate::quantity::{Exact, Quantity};
use std::cmp::Ordering;

/// The judgement of an instrument against one budget.
#[derive(Debug, Clone)]
pub struct Judgement<'a> {
    /// The evaluation that was judged on.
    pub evaluation: &'a Evaluation<'a>,
    /// One judgement per point that is asked for and has a tolerance, in order.
    pub points: Vec<PointJudgement>,
    /// Findings of the decision.
    pub findings: Vec<Finding>,
}

/// The judgement at one point.
#[derive(Debug, Clone)]
pub struct PointJudgement {
    /// Index of the point in the budget.
    pub index: usize,
    /// Its zones, the decision being there.
    pub zones: PointZones,
    /// The judged readings, in order; empty where none is given.
    pub readings: Vec<Judged>,
    /// Which of several readings is reported.
    pub take: Take,
    /// The index of the reported one; `None` without readings, and where their mean is reported.
    pub reported: Option<usize>,
    /// The mean of several readings, where it is reported.
    pub mean: Option<Judged>,
    /// How far the readings lie apart; `None` without a limit for it, or with fewer than two.
    pub spread: Option<Spread>,
    /// Expanded uncertainty of the estimate, as the budget reports it, in SI.
    pub expanded_uncertainty: f64,
}

/// One judged reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The place of the reading.
    pub origin: Origin,
    /// The reading as written; empty where the estimate is judged; `mean of` several.
    pub text: String,
    /// The measurand.
    pub error: Value,
    /// The verdict.
    pub verdict: Verdict,
    /// What it is due to; `None` for a plain pass.
    pub cause: Option<Cause>,
    /// The probability that the true value lies outside the tolerance; `None`: not determined.
    pub specific_risk: Option<f64>,
    /// The reason in one sentence.
    pub reason: String,
}

impl Judgement<'_> {
    /// Returns the instrument's verdict, the worst of all points and checks, and what it is due to.
    ///
    /// Method: M31.
    pub fn instrument(&self, a_check_failed: bool) -> (Verdict, Option<Cause>) {
        if a_check_failed {
            return (Verdict::Fail, Some(Cause::Check));
        }
        let verdicts = self.points.iter().map(PointJudgement::verdict);
        verdicts.fold((Verdict::Pass, None), |worst, it| if it.0 > worst.0 { it } else { worst })
    }
}

impl PointJudgement {
    /// Returns the reported reading, or the reported mean.
    pub fn reported(&self) -> Option<&Judged> {
        self.mean.as_ref().or_else(|| self.reported.and_then(|index| self.readings.get(index)))
    }

    /// Returns the point's verdict: that of the reported reading, undecided without one; fail where
    /// the readings differ by more than they may.
    pub fn verdict(&self) -> (Verdict, Option<Cause>) {
        let Some(reported) = self.reported() else { return (Verdict::Undecided, None) };
        match self.unkept() {
            Some(_) if reported.verdict != Verdict::Fail => {
                (Verdict::Fail, Some(Cause::Repeatability))
            }
            _ => (reported.verdict, reported.cause),
        }
    }

    /// Returns the reason of the point's verdict in one sentence; `None` without a reading.
    pub fn reason(&self) -> Option<String> {
        let reported = self.reported()?;
        Some(match self.unkept() {
            None => reported.reason.clone(),
            Some(spread) if reported.verdict == Verdict::Fail => {
                format!("{}; also, {}", reported.reason, spread.reason)
            }
            Some(spread) => format!("may not be passed: {}", spread.reason),
        })
    }

    /// Returns the spread where it is larger than it may be.
    fn unkept(&self) -> Option<&Spread> {
        self.spread.as_ref().filter(|it| !it.within)
    }
}

impl Evaluation<'_> {
    /// Whether errors can be judged: the model is `reading` minus something at every point, and not the reading
    /// alone.
    pub fn takes_errors(&self) -> bool {
        let (unit, reading_unit) = (&self.budget().measurand().unit, self.budget().reading_unit());
        self.points().iter().all(|it| {
            let start = start_of(self.budget(), it);
            is_error(self.budget(), relation(&it.model, &start, unit, reading_unit))
        })
    }

    /// Judges readings.
    ///
    /// # Errors
    ///
    /// No tolerance or no decision (the help is what to add); the faults of [`Evaluation::zones`]; a
    /// reading of the wrong kind, or one where the model has no value; errors where the model is not
    /// `reading` minus something; a reading where the model does not use it.
    pub fn judge(&self, readings: &Readings) -> Result<Judgement<'_>, Faults> {
        let budget = self.budget();
        if budget.decision().is_none() {
            return Err(nothing_to_judge_by(budget).into());
        }
        let zones = self.zones()?;
        if zones.iter().all(Option::is_none) {
            return Err(nothing_to_judge_by(budget).into());
        }
        let mut findings = findings::of_zones(budget, &zones);
        if self.points().iter().any(PointEvaluation::uses_reading) {
            findings.extend(findings::no_display_step(budget));
        }
        let (mut points, mut faults) = (Vec::new(), Vec::new());
        for (point, zones) in self.points().iter().zip(zones) {
            if !readings.asks_for(point.index) {
                continue;
            }
            match judge_point(budget, point, zones, readings, &mut findings) {
                Ok(judgement) => points.extend(judgement),
                Err(mut more) => faults.append(&mut more),
            }
        }
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        let without = points.iter().filter(|it: &&PointJudgement| it.readings.is_empty());
        let missing: Vec<usize> = without.map(|it| it.index).collect();
        findings.extend(findings::missing(budget, &missing));
        findings.extend(several::findings(self, &points, readings));
        Ok(Judgement { evaluation: self, points, findings })
    }
}

fn judge_point(
    budget: &Budget,
    point: &PointEvaluation,
    zones: Option<PointZones>,
    all: &Readings,
    findings: &mut Vec<Finding>,
) -> Result<Option<PointJudgement>, Vec<Fault>> {
    let (entries, take) = (all.at(point.index), all.take());
    let Some(zones) = zones else {
        let faults: Vec<Fault> = entries.iter().map(|it| no_tolerance(budget, point, it)).collect();
        return if faults.is_empty() { Ok(None) } else { Err(faults) };
    };
    let Some(decision) = &zones.decision else { return Ok(None) };
    let grid = if entries.is_empty() { None } else { decision.grid(budget, point) };
    let judge = Judge { budget, point, decision, grid };
    let (mut faults, mut readings) = (Vec::new(), Vec::new());
    if decision.figures.relation() == Relation::Apart && entries.is_empty() {
        readings.push(judge.value(point.estimate.clone(), None, String::new(), Origin::NONE));
    }
    for entry in entries {
        match judge.entry(entry, findings) {
            Ok(judged) => readings.push(judged),
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let reported = several::reported(take, &readings, &decision.zones.tolerance);
    let mean = match reported {
        Some(_) => None,
        None => several::mean(&point.model, entries, &readings)
            .map(|it| judge.mean(it, readings.len()))
            .filter(|_| !readings.is_empty()),
    };
    let limit = zones.repeatability.as_ref();
    let spread =
        limit.and_then(|it| Spread::new(&readings, it, decision.zones.tie, &decision.figures));
    let (index, expanded_uncertainty) = (point.index, point.expanded_uncertainty);
    let judged = PointJudgement {
        index,
        readings,
        take,
        reported,
        mean,
        spread,
        expanded_uncertainty,
        zones,
    };
    Ok(Some(judged))
}

/// Judges the entries of one point.
struct Judge<'a> {
    budget: &'a Budget,
    point: &'a PointEvaluation,
    decision: &'a PointDecision,
    grid: Option<Grid>,
}

impl Judge<'_> {
    fn entry(&self, entry: &Entry, findings: &mut Vec<Finding>) -> Result<Judged, Fault> {
        self.check(entry)?;
        let given = entry.quantity.exact();
        let (error, reading) = if entry.is_error {
            let reading = self.reading_of(&given);
            (Value { si: given.to_f64(), exact: Some(given) }, reading)
        } else {
            let error = self.point.model.at_exact_reading(&given);
            let place = |fault: Fault| Fault { origin: entry.origin, ..fault };
            (error.map_err(place)?, Some(given))
        };
        let index = self.point.index;
        if is_far_off(&error, &self.decision.zones.tolerance) {
            let text = self.decision.figures.error(&error);
            findings.push(findings::far_off(self.budget, index, entry, &text));
        }
        if let Some((bound, side)) = self.passed_bound(&error) {
            let text = self.decision.figures.error(&error);
            findings.push(findings::beyond_bound(self.budget, index, entry, [&text, side, &bound]));
        }
        let n = self.decision.figures.step().zip(reading.as_ref()).and_then(|(step, reading)| {
            let n = index_on(reading, step);
            if n.is_none() {
                let between = self.between(reading, step, entry.is_error);
                findings
                    .extend(between.map(|it| findings::off_grid(self.budget, index, entry, it)));
            }
            n
        });
        Ok(self.value(error, n, entry.quantity.text(), entry.origin))
    }

    /// Returns the judgement of a value of the measurand; `n`: its reading on the display grid.
    fn value(&self, error: Value, n: Option<i64>, text: String, origin: Origin) -> Judged {
        self.judged(error, n, (text, origin), None)
    }

    /// Returns the judgement of the mean of several readings, which the display need not show.
    fn mean(&self, error: Value, number: usize) -> Judged {
        self.judged(error, None, (format!("mean of {number}"), Origin::NONE), Some(number))
    }

    fn judged(
        &self,
        error: Value,
        n: Option<i64>,
        (text, origin): (String, Origin),
        mean_of: Option<usize>,
    ) -> Judged {
        let PointDecision { zones, printed, figures } = self.decision;
        let (verdict, cause) = zones.classify(&error);
        let shown = |n: i64| {
            let reading = self.grid.as_ref()?.reading(n);
            self.point.model.at_exact_reading(&reading).ok()
        };
        let grid = n.and(self.grid.as_ref());
        let (shown, error_of) = (&shown, &error);
        let account = Account {
            zones,
            printed,
            figures,
            grid,
            shown,
            error: error_of,
            mean_of,
            verdict,
            cause,
        };
        Judged {
            origin,
            text,
            verdict,
            cause,
            specific_risk: self.risk(&error),
            reason: reason(&account),
            error,
        }
    }

    fn risk(&self, error: &Value) -> Option<f64> {
        self.decision.zones.specific_risk(error)
    }

    fn check(&self, entry: &Entry) -> Result<(), Fault> {
        let relation = self.decision.figures.relation();
        let text = entry.quantity.text();
        if relation == Relation::Apart {
            let fault = Fault::new(entry.origin, format!("the reading `{text}` has no use"));
            return Err(
                fault.rule("the model does not use `reading`; its estimate is judged as it is")
            );
        }
        if entry.is_error && !is_error(self.budget, relation) {
            let fault = Fault::new(entry.origin, format!("the error `{text}` cannot be judged"));
            return Err(fault
                .rule("errors are for models that are `reading` minus something; give readings"));
        }
        check_kind(&entry.quantity, unit_of_entries(self.budget, entry.is_error), entry.origin)
    }

    /// Returns the natural bound of the measurand that a value lies beyond, and on which side.
    fn passed_bound(&self, value: &Value) -> Option<(String, &'static str)> {
        let measurand = self.budget.measurand();
        let (lower, upper) = (measurand.lower_bound.as_ref(), measurand.upper_bound.as_ref());
        let is_beyond = |bound: &Quantity, outwards: Ordering| {
            Limit::from_exact(bound.exact()).compare(value, self.decision.zones.tie) == outwards
        };
        let below = lower.filter(|it| is_beyond(it, Ordering::Less)).map(|it| (it, "below"));
        let above = upper.filter(|it| is_beyond(it, Ordering::Greater)).map(|it| (it, "above"));
        below.or(above).map(|(it, side)| (it.text(), side))
    }

    /// Returns the exact reading that shows `error`, the model being reading minus something.
    fn reading_of(&self, error: &Exact) -> Option<Exact> {
        let start = start_of(self.budget, self.point);
        let there = self.point.model.at_exact_reading(&start).ok()?.exact?;
        start.add(&error.sub(&there)?)
    }

    /// Returns the two values next to a reading that the display cannot show.
    fn between(&self, reading: &Exact, step: &Exact, as_error: bool) -> Option<[String; 2]> {
        let (below, above) = neighbours(reading, step)?;
        let text = |n: i64| {
            let shown = Exact::from_integer(n).mul(step);
            if as_error {
                let error = self.point.model.at_exact_reading(&shown).ok()?;
                Some(self.decision.figures.error(&error))
            } else {
                Some(self.decision.figures.reading(&shown))
            }
        };
        Some([text(below)?, text(above)?])
    }
}

/// Whether a value lies over a hundred times the tolerance beyond it: its span; one-sided, where the open side is
/// looked at too, its limit.
pub(super) fn is_far_off(error: &Value, tolerance: &Limits) -> bool {
    let size = match (tolerance.span(), &tolerance.lower, &tolerance.upper) {
        (Some(span), ..) => span.si,
        (None, Some(limit), _) | (None, None, Some(limit)) => limit.si.abs(),
        (None, None, None) => return false,
    };
    let margin = tolerance.margin(tolerance.nearest(error), error);
    let open = tolerance.span().is_none() && margin > 100.0 * size;
    size > 0.0 && (margin < -100.0 * size || open)
}

pub(super) fn no_tolerance(budget: &Budget, point: &PointEvaluation, entry: &Entry) -> Fault {
    let title = budget.points().list.get(point.index).map_or(String::new(), |it| it.title());
    Fault::new(entry.origin, format!("the point {title} has no tolerance"))
        .rule("a reading is judged against a tolerance")
        .help(tolerance_help(budget))
}

/// Returns the fault of a budget without tolerance or decision, with the block to add.
pub(super) fn nothing_to_judge_by(budget: &Budget) -> Fault {
    let has_tolerance = budget.tolerance().is_some()
        || budget.points().list.iter().any(|it| it.tolerance.is_some());
    let mut help = Vec::new();
    if !has_tolerance {
        help.push(tolerance_help(budget));
    }
    if budget.decision().is_none() {
        help.push(
            "decision:\n  rule: guarded\n  guard_band: {times_U: 1}\n  uncertainty: all".to_owned(),
        );
    }
    let missing = match (has_tolerance, budget.decision().is_none()) {
        (false, true) => "this budget has no tolerance and no decision",
        (false, false) => "this budget has no tolerance",
        (true, _) => "this budget has no decision",
    };
    Fault::new(budget.origin(), missing)
        .rule("a reading is judged by a rule against a tolerance")
        .help(help.join("\n"))
}

fn tolerance_help(budget: &Budget) -> String {
    let width = super::figures::join("1", &budget.measurand().unit);
    format!("tolerance: ±{width}")
}

#[cfg(test)]
mod tests {
    use super::super::readings::find_point;
    use super::super::testing::{Case, force, micrometer};
    use super::*;
    use crate::quantity::Quantity;

    fn words(case: &Case, texts: &[&str], are_errors: bool) -> Vec<&'static str> {
        case.judge(texts, are_errors).unwrap().iter().map(|it| it.verdict.word()).collect()
    }

    fn refusal(case: &Case, text: &str, is_error: bool) -> Fault {
        case.judge(&[text], is_error).unwrap_err().0.remove(0)
    }

    /// ISO 3611 practice: ten points, none of which `f64` holds exactly but three; both limits.
    #[test]
    fn twenty_readings_that_lie_exactly_on_a_limit_all_pass() {
        let at = ["2.5", "5.1", "7.7", "10.3", "12.9", "15", "17.6", "20.2", "22.8", "25"];
        let case = micrometer("±2 µm", "simple", 1.0).points(&at);
        let budget = case.budget();
        let evaluation = budget.evaluate().unwrap();
        let mut passed = 0;
        for (index, point) in budget.points().list.iter().enumerate() {
            for by in [-2, 2] {
                let at = point.at.as_ref().unwrap().exact().div(budget.reading_unit().factor());
                let by = Exact::from_integer(by).div(&Exact::from_integer(1000)).unwrap();
                let reading = at.unwrap().add(&by).unwrap();
                let text = crate::quantity::decimal::exact_text(&reading, 3).unwrap();
                let reading = Quantity::parse(&format!("{text} mm"), budget.units()).unwrap();
                let readings = Readings::one(index, reading, Origin::NONE);
                let judgement = evaluation.judge(&readings).unwrap();
                assert_eq!(judgement.instrument(false), (Verdict::Pass, None), "{text}");
                passed += 1;
            }
        }
        assert_eq!(passed, 20);
    }

    #[test]
    fn errors_are_judged_as_the_readings_that_show_them() {
        let case = micrometer("±4 µm", "four-way", 1.0).width("1.5 µm");
        let readings = ["2.502", "2.503", "2.505", "2.506", "2.4945"];
        let errors = ["2", "3", "5", "6", "-5.5"];
        let verdicts = ["pass", "conditional pass", "conditional fail", "fail", "conditional fail"];
        assert_eq!(words(&case, &readings, false), verdicts);
        assert_eq!(words(&case, &errors, true), verdicts);
        let reasons = |texts: &[&str], are_errors: bool| -> Vec<String> {
            case.judge(texts, are_errors).unwrap().into_iter().map(|it| it.reason).collect()
        };
        assert_eq!(reasons(&readings, false), reasons(&errors, true));
    }

    #[test]
    fn errors_need_a_model_that_is_reading_minus_something() {
        for model in ["2 * reading - L", "L - reading", "reading * reading / L - L"] {
            let case = micrometer("±4 µm", "simple", 1.0).model(model);
            let fault = refusal(&case, "1", true);
            assert!(fault.message().contains("`reading` minus something"), "{}", fault.message());
        }
        let case = micrometer("±4 µm", "simple", 1.0).model("reading - L * cos(0.1)");
        assert!(case.judge(&["1"], true).is_ok());
    }

    #[test]
    fn the_reported_reading_is_the_one_nearest_to_a_limit_or_furthest_beyond() {
        let case = micrometer("[-2 µm, 4 µm]", "simple", 1.0);
        let budget = case.budget();
        let evaluation = case.evaluate(&budget);
        let reported = |texts: &[&str]| {
            let row = super::super::readings::Row {
                point: "2.5".into(),
                values: texts.iter().map(|it| (*it).into()).collect(),
                is_error: false,
            };
            let readings = Readings::from_rows(&budget, &[row]).unwrap();
            let judgement = evaluation.judge(&readings).unwrap();
            judgement.points[0].reported().unwrap().text.clone()
        };
        assert_eq!(reported(&["2.502", "2.499", "2.500"]), "2.499 mm");
        assert_eq!(reported(&["2.495", "2.508"]), "2.508 mm");
        assert_eq!(reported(&["2.500", "2.500"]), "2.500 mm");
    }

    #[test]
    fn a_point_without_reading_leaves_the_instrument_undecided() {
        let case = micrometer("±4 µm", "simple", 1.0);
        let budget = case.budget();
        let evaluation = case.evaluate(&budget);
        let row = |text: &str| super::super::readings::Row {
            point: "2.5".into(),
            values: vec![text.into()],
            is_error: false,
        };
        let readings = Readings::from_rows(&budget, &[row("2.500")]).unwrap();
        let judgement = evaluation.judge(&readings).unwrap();
        assert_eq!(judgement.instrument(false), (Verdict::Undecided, None));
        assert_eq!(judgement.instrument(true), (Verdict::Fail, Some(Cause::Check)));
        let finding = judgement.findings.last().unwrap();
        assert_eq!((finding.code, finding.about.as_str()), ("missing-reading", "10.3 mm"));
        let readings = Readings::from_rows(&budget, &[row("2.505")]).unwrap();
        let verdict = evaluation.judge(&readings).unwrap().instrument(false);
        assert_eq!(verdict, (Verdict::Fail, Some(Cause::Tolerance)));
    }

    #[test]
    fn slips_are_found() {
        let case = micrometer("±4 µm", "guarded", 4.5);
        let budget = case.budget();
        let evaluation = case.evaluate(&budget);
        let index = find_point(&budget, "10.3", Origin::NONE).unwrap();
        let codes = |text: &str| -> Vec<(&'static str, String)> {
            let reading = Quantity::parse(text, budget.units()).unwrap();
            let judgement = evaluation.judge(&Readings::one(index, reading, Origin::NONE)).unwrap();
            judgement.findings.into_iter().map(|it| (it.code, it.message)).collect()
        };
        let empty = "acceptance-zone-empty";
        assert_eq!(codes("10.301 mm").iter().map(|it| it.0).collect::<Vec<_>>(), [empty]);
        let off = codes("10.3014 mm");
        let message =
            "the display cannot show `10.3014 mm`: next to it are 10.301 mm and 10.302 mm";
        assert_eq!(off[1], ("off-grid", message.to_owned()));
        let far = codes("103.01 mm");
        assert_eq!(far[1].0, "far-off");
    }

    #[test]
    fn a_reading_of_another_kind_is_refused() {
        let budget = micrometer("±4 µm", "simple", 1.0).budget();
        let case = micrometer("±4 µm", "simple", 1.0);
        let evaluation = case.evaluate(&budget);
        let reading = Quantity::parse("10.3 N", budget.units()).unwrap();
        let fault = evaluation.judge(&Readings::one(1, reading, Origin::NONE)).unwrap_err();
        assert!(fault.to_string().contains("`10.3 N` does not fit"), "{fault}");
        let case = force("5 N", "at least 5 N", "simple", 1.0);
        assert!(refusal(&case, "5", false).message().contains("does not use `reading`"));
    }

    #[test]
    fn judging_needs_a_tolerance_and_a_decision_and_shows_them() {
        let mut case = micrometer("", "simple", 1.0);
        assert_eq!(refusal(&case, "2.5", false).help, "tolerance: ±1 µm");
        case.parts.decision = None;
        let fault = refusal(&case, "2.5", false);
        assert_eq!(
            fault.help,
            "tolerance: ±1 µm\ndecision:\n  rule: guarded\n  guard_band: {times_U: 1}\n  \
             uncertainty: all"
        );
        assert!(fault.message().starts_with("this budget has no tolerance and no decision"));
    }

    #[test]
    fn tolerance_and_tur_are_there_without_a_decision() {
        let mut case = micrometer("±4 µm", "simple", 1.0);
        case.parts.decision = None;
        let zones = case.zones();
        assert!(zones.decision.is_none());
        assert!((zones.tur.all.unwrap() - 4.0).abs() < 1e-12);
        assert!((zones.tur.laboratory.unwrap() - 8.0).abs() < 1e-12);
    }

    /// Two u beyond and within an upper limit, far from the lower: 97.7 % and 2.3 % (JCGM 106:2012,
    /// 8.3.2 prints 2.3 %).
    #[test]
    fn the_risk_is_that_of_the_decision_scope() {
        let case = micrometer("±40 µm", "simple", 1.0);
        let judged = case.judge(&["39", "41"], true).unwrap();
        let risk = |index: usize| judged[index].specific_risk.unwrap();
        assert!((risk(0) - 0.022_750_131_948).abs() < 1e-9, "{}", risk(0));
        assert!((risk(1) - 0.977_249_868_052).abs() < 1e-9, "{}", risk(1));
        let laboratory = case.scope("laboratory").judge(&["39"], true).unwrap();
        assert!(laboratory[0].specific_risk.unwrap() < 1e-4);
    }
}
