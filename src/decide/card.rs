//! The card of one point: runs of display readings that share a verdict, and each reading near the
//! limits with verdict and risk, from low to high.
//!
//! Made from the same [`Grid`] as the judge's reasons; nothing is decided here. However many steps
//! a tolerance has, few readings are listed: those around the places where a verdict changes.

use super::figures::decimals_of;
use super::grid::{Grid, Stretch};
use super::point::PointDecision;
use super::verdict::{Cause, Verdict};
use crate::budget::Budget;
use crate::fault::{Fault, Faults, Origin};
use crate::propagate::{Evaluation, PointEvaluation, Value};
use crate::quantity::decimal::exact_text;
use std::collections::BTreeSet;

/// How many readings are listed on either side of a place where a verdict changes, and of a limit of
/// the tolerance.
const AROUND: i64 = 3;

/// So many readings in a row are listed without a gap.
const IN_A_ROW: i64 = 21;

/// A gap of fewer readings than this is listed.
const GAP: i64 = 3;

/// A run of readings that the display can show and that share a verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The lowest reading, as the display shows it, without unit; `None`: all lower ones too.
    pub from: Option<String>,
    /// The highest reading, as the display shows it, without unit; `None`: all higher ones too.
    pub to: Option<String>,
    /// The same two as errors, without unit; `None` too where the model is not `reading` minus
    /// something.
    pub errors: [Option<String>; 2],
    /// Their verdict.
    pub verdict: Verdict,
}

/// One reading of the card.
#[derive(Debug, Clone, PartialEq)]
pub struct CardReading {
    /// The reading in steps of the display.
    pub steps: i64,
    /// The reading as the display shows it, without unit.
    pub text: String,
    /// The measurand.
    pub error: Value,
    /// The same as text, without unit.
    pub error_text: String,
    /// The verdict.
    pub verdict: Verdict,
    /// What it is due to; `None` for a plain pass.
    pub cause: Option<Cause>,
    /// The probability that the true value lies outside the tolerance; `None`: not determined.
    pub specific_risk: Option<f64>,
}

/// The card of one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Runs of readings with one verdict, from low to high.
    pub runs: Vec<Run>,
    /// The readings near the limits, from low to high. Those that are left out share the verdict of
    /// both their neighbours.
    pub readings: Vec<CardReading>,
}

/// Returns runs of n from low to high; neighbouring runs differ in their verdict.
pub fn stretches(grid: &Grid) -> Vec<(Stretch, Verdict)> {
    let mut starts = BTreeSet::new();
    for zone in Verdict::ALL.iter().filter_map(|it| grid.stretch(*it)) {
        starts.extend(zone.low);
        starts.extend(zone.high.map(|n| n + 1));
    }
    let starts: Vec<i64> = starts.into_iter().collect();
    let lowest = starts.first().copied().unwrap_or(0);
    let mut runs = vec![(Stretch { low: None, high: None }, grid.verdict(lowest - 1).0)];
    for start in starts {
        let verdict = grid.verdict(start).0;
        let Some((last, before)) = runs.last_mut() else { continue };
        if verdict != *before {
            last.high = Some(start - 1);
            runs.push((Stretch { low: Some(start), high: None }, verdict));
        }
    }
    runs
}

/// Returns, ascending, the n of the readings to be listed: from well inside to well outside each
/// limit. Between two of them that are no neighbours, and beyond the first and the last, no verdict
/// changes.
///
/// Method: M98.
pub fn listed(grid: &Grid) -> Vec<i64> {
    let near = grid.near_limits(AROUND);
    let ends = near.first().zip(near.last());
    if let Some((&first, &last)) = ends.filter(|(first, last)| *last - *first < IN_A_ROW) {
        return (first..=last).collect();
    }
    let mut all: Vec<i64> = Vec::with_capacity(near.len());
    for n in near {
        if let Some(&before) = all.last().filter(|before| n - **before <= GAP) {
            all.extend(before + 1..n);
        }
        all.push(n);
    }
    all
}

/// Returns the card of one point as the display shows it.
///
/// # Errors
///
/// No display step; a model that does not rise or fall with the reading, or has no value at one.
pub fn card_at(
    budget: &Budget,
    point: &PointEvaluation,
    decision: &PointDecision,
) -> Result<Card, Fault> {
    if budget.display().is_none() {
        return Err(no_step(budget));
    }
    let laid_out = || {
        let grid = decision.grid(budget, point)?;
        let writer = Writer { budget, point, decision, grid };
        let runs = stretches(&writer.grid).into_iter().map(|it| writer.run(it)).collect();
        let readings = listed(&writer.grid).into_iter().map(|n| writer.reading(n));
        Some(Card { runs, readings: readings.collect::<Option<Vec<CardReading>>>()? })
    };
    laid_out().ok_or_else(|| {
        let title = budget.points().list.get(point.index).map_or(String::new(), |it| it.title());
        Fault::new(budget.origin(), format!("the readings at {title} cannot be laid out on a card"))
            .rule("the model has to rise or fall with `reading`")
    })
}

/// Writes the readings of one point.
struct Writer<'a> {
    budget: &'a Budget,
    point: &'a PointEvaluation,
    decision: &'a PointDecision,
    grid: Grid,
}

impl Writer<'_> {
    fn run(&self, (stretch, verdict): (Stretch, Verdict)) -> Run {
        let is_difference = self.decision.figures.relation().is_difference();
        let error = |n: Option<i64>| {
            let error = self.error(n.filter(|_| is_difference)?)?;
            Some(self.decision.figures.error_number(&error))
        };
        Run {
            from: stretch.low.and_then(|n| self.text(n)),
            to: stretch.high.and_then(|n| self.text(n)),
            errors: [stretch.low, stretch.high].map(error),
            verdict,
        }
    }

    fn reading(&self, n: i64) -> Option<CardReading> {
        let error = self.error(n)?;
        let (verdict, cause) = self.grid.verdict(n);
        Some(CardReading {
            steps: n,
            text: self.text(n)?,
            error_text: self.decision.figures.error_number(&error),
            verdict,
            cause,
            specific_risk: self.decision.zones.specific_risk(&error),
            error,
        })
    }

    fn error(&self, n: i64) -> Option<Value> {
        self.point.model.at_exact_reading(&self.grid.reading(n)).ok()
    }

    fn text(&self, n: i64) -> Option<String> {
        let unit = self.budget.reading_unit();
        let number = self.grid.reading(n).div(unit.factor())?;
        let least = decimals_of(&self.grid.reading(1).div(unit.factor())?);
        (least..least + 12).find_map(|places| exact_text(&number, places))
    }
}

impl Evaluation<'_> {
    /// Returns the card of every point; `None` at a point without tolerance.
    ///
    /// # Errors
    ///
    /// No tolerance or decision, no display step, and the faults of [`Evaluation::zones`].
    pub fn card(&self) -> Result<Vec<Option<Card>>, Faults> {
        let zones = self.zones()?;
        if zones.iter().flatten().all(|it| it.decision.is_none()) {
            return Err(super::judge::nothing_to_judge_by(self.budget()).into());
        }
        let mut cards = Vec::new();
        for (point, zones) in self.points().iter().zip(&zones) {
            let decision = zones.as_ref().and_then(|it| it.decision.as_ref());
            cards.push(decision.map(|it| card_at(self.budget(), point, it)).transpose()?);
        }
        Ok(cards)
    }

    /// Returns the fault of a card that is asked for as errors where it cannot be written so.
    pub fn card_as_errors(&self) -> Option<Fault> {
        (!self.takes_errors()).then(|| {
            Fault::new(Origin::NONE, "this card cannot be written as errors")
                .rule("errors are for models that are `reading` minus something")
                .help("--as readings")
        })
    }
}

fn no_step(budget: &Budget) -> Fault {
    let unit = budget.reading_unit().text();
    Fault::new(budget.origin(), "the display step is not known")
        .rule("a card lists the readings that the display can show")
        .help(format!("display: {{step: 1 {unit}}}"))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Case, micrometer};
    use super::*;

    fn card(case: &Case) -> Card {
        let budget = case.budget();
        case.evaluate(&budget).card().unwrap()[0].clone().unwrap()
    }

    fn texts(card: &Card) -> Vec<&str> {
        card.readings.iter().map(|it| it.text.as_str()).collect()
    }

    /// The places in the list after which readings are left out, with their number.
    fn gaps(card: &Card) -> Vec<(&str, i64)> {
        let pairs = card.readings.windows(2);
        let apart = pairs.map(|it| (it[0].text.as_str(), it[1].steps - it[0].steps - 1));
        apart.filter(|it| it.1 > 0).collect()
    }

    /// By hand: ±4 µm less 1.5 µm passes up to 2.502 mm; the outermost change is at the tolerance, three
    /// steps beyond 2.504 mm end at 2.507 mm.
    ///
    /// Method: M98.
    #[test]
    fn lists_from_well_inside_to_three_steps_beyond_the_limits() {
        let card = card(&micrometer("±4 µm", "guarded", 1.0).width("1.5 µm"));
        assert_eq!(texts(&card).first(), Some(&"2.493"));
        assert_eq!(texts(&card).last(), Some(&"2.507"));
        assert_eq!((card.readings.len(), gaps(&card)), (15, vec![]));
        let of = |text: &str| card.readings.iter().find(|it| it.text == text).unwrap();
        assert_eq!((of("2.502").verdict, of("2.502").error_text.as_str()), (Verdict::Pass, "+2"));
        assert_eq!(
            (of("2.503").verdict, of("2.503").cause),
            (Verdict::Fail, Some(Cause::GuardBand))
        );
        assert_eq!(
            (of("2.505").verdict, of("2.505").cause),
            (Verdict::Fail, Some(Cause::Tolerance))
        );
    }

    /// 2 mm are 4001 readings: a window at each limit, with three more within each; by hand.
    #[test]
    fn leaves_out_the_middle_of_a_wide_tolerance() {
        let card = card(&micrometer("±2 mm", "simple", 1.0));
        assert_eq!(texts(&card)[..3], ["0.497", "0.498", "0.499"]);
        assert_eq!((card.readings.len(), gaps(&card)), (12, vec![("0.502", 3995)]));
        let verdicts: Vec<Verdict> = card.readings.iter().map(|it| it.verdict).collect();
        assert_eq!(verdicts[2..4], [Verdict::Fail, Verdict::Pass]);
    }

    #[test]
    fn a_one_sided_tolerance_has_one_window() {
        let upper = card(&micrometer("at most 2 µm", "simple", 1.0));
        assert_eq!(texts(&upper), ["2.500", "2.501", "2.502", "2.503", "2.504", "2.505"]);
        let lower = card(&micrometer("at least -3 µm", "simple", 1.0));
        assert_eq!(texts(&lower), ["2.494", "2.495", "2.496", "2.497", "2.498", "2.499"]);
    }

    /// A falling model, one that is a function of the reading, nothing that passes, and a tolerance
    /// between two readings: all have readings, and verdicts of the zones.
    #[test]
    fn every_kind_of_decision_has_a_card() {
        let falling = card(&micrometer("[-1 µm, 3 µm]", "simple", 1.0).model("L - reading"));
        let of = |card: &Card, text: &str| {
            card.readings.iter().find(|it| it.text == text).map(|it| it.verdict).unwrap()
        };
        assert_eq!(of(&falling, "2.497"), Verdict::Pass);
        assert_eq!(of(&falling, "2.502"), Verdict::Fail);
        assert_eq!(falling.runs[1].errors, [None, None]);
        let curved = card(&micrometer("±4 µm", "simple", 1.0).model("reading * reading / L - L"));
        // 2.501²/2.5 − 2.5 = 0.0020004, 2.502²/2.5 − 2.5 = 0.0040016
        assert_eq!((of(&curved, "2.501"), of(&curved, "2.502")), (Verdict::Pass, Verdict::Fail));
        let empty = card(&micrometer("±4 µm", "guarded", 4.5));
        assert!(empty.readings.len() > 10);
        assert!(empty.readings.iter().all(|it| it.verdict == Verdict::Fail));
        let narrow = card(&micrometer("[0.2 µm, 0.8 µm]", "simple", 1.0));
        assert!(texts(&narrow).contains(&"2.500") && texts(&narrow).contains(&"2.501"));
        assert!(narrow.readings.iter().all(|it| it.verdict == Verdict::Fail));
        let unmet = card(&micrometer("±4 µm", "guarded", 1.0).requires("100", None));
        assert_eq!((of(&unmet, "2.500"), of(&unmet, "2.506")), (Verdict::Undecided, Verdict::Fail));
    }

    #[test]
    fn errors_are_refused_where_the_model_is_no_difference() {
        let fault = |model: &str| {
            let case = micrometer("±4 µm", "simple", 1.0).model(model);
            let budget = case.budget();
            case.evaluate(&budget).card_as_errors().map(|it| it.message())
        };
        assert_eq!(fault("reading - L"), None);
        let said = fault("2 * reading - L").unwrap();
        assert!(said.contains("`reading` minus something"), "{said}");
    }

    /// Every reading that is left out has the verdict of the listed ones beside it, under all rules.
    ///
    /// Method: M98.
    #[test]
    fn no_verdict_changes_where_readings_are_left_out() {
        for tolerance in ["±12 µm", "[-3 µm, 40 µm]", "at most 30 µm", "±4 µm"] {
            for rule in ["simple", "guarded", "relaxed", "three-way", "four-way"] {
                let case = micrometer(tolerance, rule, 6.457);
                let budget = case.budget();
                let evaluation = case.evaluate(&budget);
                let decision = evaluation.zones().unwrap()[0].clone().unwrap().decision.unwrap();
                let grid = decision.grid(&budget, &evaluation.points()[0]).unwrap();
                let listed = listed(&grid);
                let (first, last) = (listed[0], listed[listed.len() - 1]);
                for n in first - 100..=last + 100 {
                    let verdict = grid.verdict(n).0;
                    let below = listed.iter().rev().find(|it| **it <= n).unwrap_or(&first);
                    let above = listed.iter().find(|it| **it >= n).unwrap_or(&last);
                    let beside = [below, above].map(|it| grid.verdict(*it).0);
                    assert_eq!(
                        [verdict; 2],
                        if listed.contains(&n) { [verdict; 2] } else { beside }
                    );
                }
            }
        }
    }
}
