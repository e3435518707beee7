//! From evaluation and judgement to the record: plain numbers in the measurand's unit.
//!
//! Nothing is computed here but changes of unit and the rounding of what is reported.

use super::{
    At, BudgetHead, Cause, Contributor, Coverage, CoverageMethod, Decision, DecisionHead, Display,
    Dof, DofRule, GuardBand, GuardBandKind, Input, Kind, Measurand, Owner, Part, Point,
    PrintedLimits, ReadingVerdict, Reason, Record, Reported, Requires, Rule, Scope, ScopeFigures,
    Section, Tests, Texts, Tolerance, Verdict,
};
use super::{from_bench, from_data};
use crate::budget::{self, Budget, Target};
use crate::decide::{self, Judged, Judgement, Limits, PointDecision, PointJudgement, PointZones};
use crate::fault::Faults;
use crate::propagate::{Combined, ContributorLine, Evaluation, PointEvaluation, Value};
use crate::quantity::decimal::{last_place, round_to, round_uncertainty};
use crate::quantity::{Quantity, Unit};

mod card;
mod results;

pub use card::card;

/// Makes the record of a budget that nothing was read under: `show`.
impl TryFrom<&Evaluation<'_>> for Record {
    type Error = Faults;

    /// # Errors
    ///
    /// A tolerance or decision that has no value at a point.
    fn try_from(evaluation: &Evaluation) -> Result<Record, Faults> {
        let mut record = Record::new(Kind::Show);
        record.sections.push(shown(evaluation)?);
        Ok(record)
    }
}

/// Makes the record of judged readings: `judge`.
impl From<&Judgement<'_>> for Record {
    fn from(judgement: &Judgement) -> Record {
        let mut record = Record::new(Kind::Judge);
        record.sections.push(judged(judgement));
        record
    }
}

/// Returns the section of an evaluation without readings.
///
/// # Errors
///
/// A tolerance or decision that has no value at a point.
pub fn shown(evaluation: &Evaluation) -> Result<Section, Faults> {
    let zones = evaluation.zones()?;
    let writer = Writer::new(evaluation.budget());
    let points = evaluation.points().iter().zip(&zones);
    let points = points.map(|(point, zones)| writer.point(point, zones.as_ref(), None)).collect();
    let mut section = writer.section(points);
    from_data::add(&mut section, evaluation);
    Ok(section)
}

pub use super::from_bench::regraded;
pub use super::from_compare::{add_comparison, add_density_curve, add_operating_curve};
pub use super::from_sheet::sheet;
pub use super::from_together::{add_correlations, conformance, taken_as_independent, together};

/// Returns the section of a judgement; its points are those that were asked for.
pub fn judged(judgement: &Judgement) -> Section {
    let evaluation = judgement.evaluation;
    let writer = Writer::new(evaluation.budget());
    let points = judgement.points.iter().filter_map(|it| {
        let point = evaluation.points().get(it.index)?;
        Some(writer.point(point, Some(&it.zones), Some(it)))
    });
    let mut section = writer.section(points.collect());
    from_data::add(&mut section, evaluation);
    section
}

/// Returns a finding as the record has it; `place` is its place in the input.
pub fn finding(finding: &crate::fault::Finding, place: Option<String>) -> super::Finding {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_string());
    super::Finding {
        code: finding.code.to_string(),
        severity: finding.severity.into(),
        message: finding.message.clone(),
        help: some(&finding.help),
        about: some(&finding.about),
        place,
    }
}

fn density(density: &crate::propagate::density::Density) -> super::Density {
    match density.word() {
        "normal" => super::Density::Normal,
        "exact" => super::Density::Exact,
        "monte_carlo" => super::Density::MonteCarlo,
        _ => super::Density::T,
    }
}

/// Writes values of one budget in its units.
pub(super) struct Writer<'a> {
    budget: &'a Budget,
    unit: Unit,
    si: f64,
}

impl<'a> Writer<'a> {
    pub(super) fn new(budget: &'a Budget) -> Writer<'a> {
        let unit = budget.measurand().unit.clone();
        Writer { budget, si: unit.si(), unit }
    }

    pub(super) fn budget(&self) -> &'a Budget {
        self.budget
    }

    /// Returns a value in the measurand's unit: exact where it is exact.
    pub(super) fn value(&self, value: &Value) -> f64 {
        in_unit(value, &self.unit)
    }

    pub(super) fn number(&self, si: f64) -> f64 {
        si / self.si
    }

    fn section(&self, points: Vec<Point>) -> Section {
        Section {
            budget: self.head(),
            display: self.display(),
            covariance: None,
            data: None,
            correlation: None,
            laboratory_covariance: None,
            laboratory_correlation: None,
            together: None,
            focus: None,
            points,
        }
    }

    fn head(&self) -> BudgetHead {
        let measurand = self.budget.measurand();
        BudgetHead {
            title: self.budget.title().to_string(),
            document: Texts(self.budget.document().to_vec()),
            measurand: Measurand {
                symbol: measurand.symbol.clone(),
                name: measurand.name.clone(),
                definition: measurand.definition.clone(),
                unit: self.unit.text().to_string(),
            },
            decision: self.budget.decision().map(|it| self.decision_head(it)),
        }
    }

    pub(super) fn decision_head(&self, decision: &budget::Decision) -> DecisionHead {
        let band = |kind, value| Some(GuardBand { kind, value });
        let guard_band = match &decision.guard_band {
            _ if decision.rule == budget::Rule::Simple => None,
            budget::GuardBand::TimesU(times) => band(GuardBandKind::TimesU, *times),
            budget::GuardBand::SpecificRisk(risk, _) => {
                band(GuardBandKind::SpecificRisk, risk.get())
            }
            budget::GuardBand::ConsumerRisk(risk, _) => {
                band(GuardBandKind::ConsumerRisk, risk.get())
            }
            budget::GuardBand::FromTur(budget::TurFormula::Quadrature, _) => {
                band(GuardBandKind::Quadrature, 1.0)
            }
            budget::GuardBand::FromTur(budget::TurFormula::TwoPercent, _) => {
                band(GuardBandKind::TwoPercent, 0.02)
            }
            // A width that depends on the point stands at each point.
            budget::GuardBand::Width(width) => {
                width.constant().and_then(|si| band(GuardBandKind::Width, self.number(si)))
            }
        };
        DecisionHead {
            rule: rule(decision.rule),
            guard_band,
            uncertainty: scope(decision.scope),
            requires: decision.requires.as_ref().map(|it| Requires {
                tur: it.tur,
                scope: scope(it.scope),
                otherwise: it.otherwise.map(rule),
            }),
            agreed: decision.agreed.clone(),
        }
    }

    fn display(&self) -> Option<Display> {
        let step = &self.budget.display()?.step;
        let unit = self.budget.reading_unit();
        let number = step.exact().div(unit.factor())?;
        let decimals = decide::figures::decimals_of(&number);
        Some(Display {
            step: number.to_f64(),
            text: step.text(),
            unit: unit.text().to_string(),
            decimals: decimals as u32,
        })
    }

    fn point(
        &self,
        point: &PointEvaluation,
        zones: Option<&PointZones>,
        judgement: Option<&PointJudgement>,
    ) -> Point {
        let here = &self.budget.points().list[point.index];
        let reported = judgement.and_then(PointJudgement::reported);
        let estimate = reported.map_or(&point.estimate, |it| &it.error);
        let expanded = point.expanded_uncertainty;
        let (low, high) = (point.interval.low, point.interval.high);
        let all = &point.all;
        // A reading moves the measurand alone: what it does to the results is not worked out.
        let results = if judgement.is_none() { self.results(point) } else { None };
        let mut reasons = reasons(point, zones);
        reasons.extend(results.iter().flat_map(|it| self.reasons_of_results(it)));
        Point {
            label: here.label.clone(),
            at: here.at.as_ref().map(at),
            readings: judgement.map(|it| texts(&it.readings)).filter(|it| !it.is_empty()),
            estimate: self.value(estimate),
            inputs: self.inputs(point),
            contributors: self.contributors(point),
            correlation_share: all.correlation_share,
            second_order_share: all.second_order_share,
            first_order_standard_uncertainty: self.number(all.first_order),
            second_order_standard_uncertainty: all.second_order.map(|it| self.number(it)),
            second_order_shift: all.shift.map(|it| self.number(it)),
            standard_uncertainty: self.number(all.standard_uncertainty),
            effective_dof: dof(all.effective_dof),
            coverage: self.coverage(point),
            coverage_factor: point.coverage_factor,
            expanded_uncertainty: self.number(expanded),
            interval: [low, high].map(|it| self.number(estimate.si + it)),
            simulation: point.simulated.as_ref().map(|it| self.simulation(it, estimate.si)),
            crosscheck: None,
            reported: self.reported(estimate, point),
            tolerance: zones.map(|it| self.tolerance(&it.limits)),
            repeatability: zones
                .and_then(|it| it.repeatability.as_ref())
                .map(|it| self.value(&it.value())),
            test: Tests {
                all: self.test(&point.all, zones, budget::Scope::All),
                laboratory: self.test(&point.laboratory, zones, budget::Scope::Laboratory),
            },
            decision: zones
                .and_then(|it| it.decision.as_ref())
                .map(|it| self.decision(it, judgement)),
            card: None,
            card_readings: None,
            sheet: None,
            results,
            reasons,
        }
    }

    fn coverage(&self, point: &PointEvaluation) -> Coverage {
        let method = match point.method {
            budget::CoverageMethod::T => CoverageMethod::T,
            budget::CoverageMethod::Fixed(_) => CoverageMethod::Fixed,
            budget::CoverageMethod::Exact => CoverageMethod::Exact,
            budget::CoverageMethod::MonteCarlo => CoverageMethod::MonteCarlo,
        };
        let exact = point.interval.exact;
        Coverage {
            probability: (method != CoverageMethod::Fixed).then_some(point.probability),
            method,
            relative_error: exact.map(|it| it.relative_error),
            left_out: exact.map(|it| it.left_out),
            dof: match self.budget.coverage().dof {
                budget::DofRule::Truncate => DofRule::Truncate,
                budget::DofRule::Interpolate => DofRule::Interpolate,
            },
        }
    }

    fn inputs(&self, point: &PointEvaluation) -> Vec<Input> {
        let input = |(index, value): &(usize, Value)| {
            let unit = self.budget.name_unit(*index);
            Input {
                name: self.budget.names().get(*index).word.clone(),
                estimate: in_unit(value, &unit),
                unit: unit.text().to_string(),
            }
        };
        point.inputs.iter().map(input).collect()
    }

    fn contributors(&self, point: &PointEvaluation) -> Vec<Contributor> {
        let lines = self.budget.contributors().iter().zip(&point.contributors);
        lines.map(|(contributor, line)| self.contributor(contributor, line)).collect()
    }

    fn contributor(
        &self,
        contributor: &budget::Contributor,
        line: &ContributorLine,
    ) -> Contributor {
        let unit = &contributor.unit;
        let spread = &line.spread;
        let adds_to = match contributor.target {
            Target::Input(index) => Some(self.budget.names().get(index).word.clone()),
            _ => None,
        };
        let estimate = Value { si: spread.estimate, exact: spread.exact.clone() };
        let parts = match &contributor.evidence {
            budget::Evidence::Thermal(thermal) => Some(self.parts(thermal, line)),
            _ => None,
        };
        Contributor {
            name: contributor.name.clone(),
            adds_to,
            kind: contributor.evidence.word().to_string(),
            distribution: spread.distribution.word().to_string(),
            owner: match contributor.owner {
                budget::Owner::Laboratory => Owner::Laboratory,
                budget::Owner::Instrument => Owner::Instrument,
            },
            shared: contributor.shared,
            largest_of: contributor.largest_of.clone(),
            kept: line.kept,
            estimate: in_unit(&estimate, unit),
            standard_uncertainty: spread.standard_uncertainty / unit.si(),
            unit: unit.text().to_string(),
            dof: dof(spread.dof),
            sensitivity: line.sensitivity * unit.si() / self.si,
            sensitivity_unit: ratio_text(&self.unit, unit),
            contribution: self.number(line.contribution),
            share: line.share,
            basis: contributor.basis.clone(),
            due: contributor.due.map(|it| it.to_string()),
            note: contributor.note.clone(),
            parts,
            analysis: None,
        }
    }

    fn parts(&self, thermal: &budget::Thermal, line: &ContributorLine) -> Vec<Part> {
        let parts = thermal.parts.iter().zip(&line.parts);
        parts
            .map(|(part, line)| {
                let (unit, spread) = (&part.unit, &line.spread);
                let estimate = Value { si: spread.estimate, exact: spread.exact.clone() };
                Part {
                    name: line.name.to_string(),
                    estimate: in_unit(&estimate, unit),
                    unit: unit.text().to_string(),
                    standard_uncertainty: spread.standard_uncertainty / unit.si(),
                    distribution: spread.distribution.word().to_string(),
                    dof: dof(spread.dof),
                    sensitivity: line.sensitivity * unit.si() / self.si,
                    sensitivity_unit: ratio_text(&self.unit, unit),
                    contribution: self.number(line.contribution),
                }
            })
            .collect()
    }

    fn reported(&self, estimate: &Value, point: &PointEvaluation) -> Reported {
        let expanded = self.number(point.expanded_uncertainty);
        reported(self.value(estimate), expanded, point.coverage_factor, self.budget.digits())
    }

    fn tolerance(&self, limits: &Limits) -> Tolerance {
        let side = |it: &Option<decide::Limit>| {
            it.as_ref().map(|it| self.value(&Value { si: it.si, exact: it.exact.clone() }))
        };
        Tolerance {
            lower: side(&limits.lower),
            upper: side(&limits.upper),
            text: decide::figures::tolerance_text(limits, &self.unit),
        }
    }

    fn test(
        &self,
        combined: &Combined,
        zones: Option<&PointZones>,
        of: budget::Scope,
    ) -> ScopeFigures {
        ScopeFigures {
            standard_uncertainty: self.number(combined.standard_uncertainty),
            effective_dof: dof(combined.effective_dof),
            coverage_factor: combined.test_factor,
            expanded_uncertainty: self.number(combined.test_expanded),
            tur: zones.and_then(|it| it.tur.of(of)),
        }
    }

    fn decision(&self, decision: &PointDecision, judgement: Option<&PointJudgement>) -> Decision {
        let zones = &decision.zones;
        let reported = judgement.and_then(PointJudgement::reported);
        let acceptance = self.acceptance(zones);
        let chances = zones.chances();
        let asks = self.budget.decision().is_some_and(|it| it.requires.is_some());
        Decision {
            rule: zones.rule.map(rule),
            scope: scope(zones.scope),
            requirement_met: asks.then_some(zones.unmet.is_none()),
            guard_band: self.number(zones.guard_band.si),
            density: density(&zones.density),
            printed: acceptance.as_ref().and_then(|_| self.printed(decision)),
            acceptance,
            verdict: reported.and(judgement).map(|it| verdict(it.verdict().0)),
            cause: judgement.and_then(|it| it.verdict().1).map(cause),
            specific_risk: reported.and_then(|it| it.specific_risk),
            consumer_risk: chances.map(|it| it.consumer),
            producer_risk: chances.map(|it| it.producer),
            acceptance_probability: chances.map(|it| it.accepted),
            limit_risk: zones.limit_risk(),
            population: zones.background.as_ref().and_then(|it| self.population(it, zones)),
            comparison: None,
            operating_curve: None,
            density_curve: None,
            reason: judgement.and_then(PointJudgement::reason),
            take: judgement.and_then(from_bench::take),
            spread: judgement
                .and_then(|it| from_bench::spread(it, |limit| self.value(&limit.value()))),
            readings: judgement
                .map(|it| it.readings.iter().map(|it| self.reading(it)).collect::<Vec<_>>())
                .filter(|it: &Vec<ReadingVerdict>| !it.is_empty()),
        }
    }

    pub(super) fn printed(&self, decision: &PointDecision) -> Option<PrintedLimits> {
        let printed = &decision.printed;
        let text = |side: &Option<decide::printed::PrintedSide>| {
            side.as_ref()?.acceptance.as_ref().map(|it| it.text.clone())
        };
        let sides = [&printed.lower, &printed.upper];
        let band = sides.into_iter().flatten().find_map(|it| it.guard_band.as_ref());
        Some(PrintedLimits {
            lower: text(&printed.lower),
            upper: text(&printed.upper),
            guard_band: band.map(|it| it.text.clone())?,
            unit: self.unit.text().to_string(),
        })
    }

    fn reading(&self, judged: &Judged) -> ReadingVerdict {
        ReadingVerdict {
            text: judged.text.clone(),
            error: self.value(&judged.error),
            verdict: verdict(judged.verdict),
            specific_risk: judged.specific_risk,
        }
    }
}

/// Rounds what is reported: U to its digits, the estimate to the same place (EA-4/02, ILAC-P14).
fn reported(estimate: f64, expanded: f64, factor: f64, digits: usize) -> Reported {
    let (expanded, place) = match expanded > 0.0 {
        true => round_uncertainty(expanded, digits),
        false => (0.0, last_place(estimate, 6).min(0)),
    };
    Reported {
        estimate: round_to(estimate, place) + 0.0,
        expanded_uncertainty: expanded,
        coverage_factor: round_to(factor, -2),
        decimals: u32::try_from(-place).unwrap_or(0),
        digits: u32::try_from(digits).unwrap_or(2),
    }
}

fn texts(readings: &[Judged]) -> Vec<String> {
    readings.iter().map(|it| it.text.clone()).filter(|it| !it.is_empty()).collect()
}

fn at(at: &Quantity) -> At {
    let (number, unit) = (at.number(), at.unit());
    At {
        value: number.exact().to_f64(),
        text: number.text().to_string(),
        unit: unit.text().to_string(),
    }
}

/// Returns a value in a unit: by exact division where it is exact.
pub(super) fn in_unit(value: &Value, unit: &Unit) -> f64 {
    let exact = value.exact.as_ref().and_then(|it| it.div(unit.factor()));
    exact.map_or_else(|| value.si / unit.si(), |it| it.to_f64())
}

/// Returns the spelling of one unit per another.
fn ratio_text(above: &Unit, below: &Unit) -> String {
    match (above.text(), below.text()) {
        (above, below) if above == below => "1".to_string(),
        (above, "1") => above.to_string(),
        (above, below) if below.contains(['/', '·', '.']) => format!("{above}/({below})"),
        (above, below) => format!("{above}/{below}"),
    }
}

pub(super) fn dof(value: f64) -> Dof {
    Dof::new(value).unwrap_or(Dof::INFINITE)
}

/// Why a TUR is not stated where there is a tolerance.
fn reasons(point: &PointEvaluation, zones: Option<&PointZones>) -> Vec<Reason> {
    let mut reasons = Vec::new();
    for of in budget::Scope::BOTH {
        let Some(zones) = zones else { continue };
        if zones.tur.of(of).is_none() {
            let field = format!("test.{}.tur", of.word());
            reasons.push(Reason { field, reason: zones.tur.reason(of).to_string() });
        }
    }
    if point.all.second_order.is_none() {
        let field = "second_order_standard_uncertainty".to_string();
        reasons.push(Reason { field, reason: "a derivative does not exist here".to_string() });
    }
    reasons.extend(super::from_simulation::reasons(point));
    reasons
}

pub(super) fn rule(it: budget::Rule) -> Rule {
    match it {
        budget::Rule::Simple => Rule::Simple,
        budget::Rule::Guarded => Rule::Guarded,
        budget::Rule::Relaxed => Rule::Relaxed,
        budget::Rule::ThreeWay => Rule::ThreeWay,
        budget::Rule::FourWay => Rule::FourWay,
    }
}

fn scope(it: budget::Scope) -> Scope {
    match it {
        budget::Scope::All => Scope::All,
        budget::Scope::Laboratory => Scope::Laboratory,
    }
}

/// Returns a verdict as the record has it.
pub fn verdict(it: decide::Verdict) -> Verdict {
    match it {
        decide::Verdict::Pass => Verdict::Pass,
        decide::Verdict::ConditionalPass => Verdict::ConditionalPass,
        decide::Verdict::Undecided => Verdict::Undecided,
        decide::Verdict::ConditionalFail => Verdict::ConditionalFail,
        decide::Verdict::Fail => Verdict::Fail,
    }
}

/// Returns what a verdict is due to as the record has it.
pub(super) fn cause(it: decide::Cause) -> Cause {
    match it {
        decide::Cause::Tolerance => Cause::Tolerance,
        decide::Cause::GuardBand => Cause::GuardBand,
        decide::Cause::Requirement => Cause::Requirement,
        decide::Cause::Check => Cause::Check,
        decide::Cause::Repeatability => Cause::Repeatability,
    }
}
