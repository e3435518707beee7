//! What a page at the bench judges readings by: thresholds as whole numbers of display steps, and the
//! pieces of the sentences.
//!
//! Made from the same [`Grid`] and the same [`sentence`] as the judge's; a page
//! only counts steps and puts pieces together, and decides nothing.

use super::grid::Grid;
use super::judge::nothing_to_judge_by;
use super::limits::{Limit, Side};
use super::point::{PointDecision, start_of};
use super::reason::{Account, Sentence, sentence};
use super::several::is_within;
use super::verdict::Verdict;
use crate::budget::Budget;
use crate::fault::{Fault, Faults};
use crate::propagate::{Evaluation, PointEvaluation, Value};
use crate::quantity::Exact;
use crate::quantity::decimal::exact_text;
use std::collections::BTreeSet;

/// How far from the point's value a change of the side is looked for, in steps.
const REACH: i64 = 1 << 40;

/// How many tolerance spans beyond the outermost limit values are listed, where they have to be.
const SPANS: i64 = 3;

/// The most values that are listed over all points.
const MOST: i64 = 6000;

/// The most decimals of a display step in the readings' unit.
const PLACES: usize = 18;

/// One point of a bench sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PointSheet {
    /// The reading n of the display nearest below the point's value, or at it.
    pub start: i64,
    /// Runs of readings with one verdict and one sentence, from low to high, without gaps.
    pub runs: Vec<SheetRun>,
    /// The values of the measurand.
    pub values: SheetValues,
    /// How far readings of the point may lie apart; `None` where the budget sets no limit.
    pub spread: Option<SheetSpread>,
}

/// How far readings of one point may lie apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetSpread {
    /// The greatest difference in the measurand, with its unit.
    pub limit: String,
    /// The most steps from the lowest reading to the highest.
    pub steps: SheetSteps,
}

/// The most steps between readings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SheetSteps {
    /// The same from every reading.
    Alike(i64),
    /// From each of the listed readings.
    Each(Vec<i64>),
}

/// Readings n that share verdict, cause and all of the sentence but the value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRun {
    /// The lowest n; `None`: all lower ones too.
    pub from: Option<i64>,
    /// The highest n; `None`: all higher ones too.
    pub to: Option<i64>,
    /// The verdict.
    pub verdict: Verdict,
    /// The sentence before the value.
    pub before: String,
    /// The sentence after the value.
    pub after: String,
    /// The limit that the distance is told to: its side, its name and its printed number.
    pub limit: Option<(Side, &'static str, String)>,
    /// The last n that passes on this side; `None` where none does.
    pub last_pass: Option<i64>,
}

/// How the value of the measurand follows from n.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SheetValues {
    /// `base + n·per_step`, both in units of 10^−`scale`, written with `least` decimals or more.
    Straight {
        /// The value at n = 0.
        base: String,
        /// The change by a step.
        per_step: String,
        /// The number of decimals of both.
        scale: usize,
        /// The fewest decimals that are written.
        least: usize,
        /// Whether values above zero have a plus sign.
        signed: bool,
    },
    /// Texts without unit, one a reading.
    Listed {
        /// The reading n of the first.
        first: i64,
        /// The texts.
        texts: Vec<String>,
    },
}

impl Evaluation<'_> {
    /// Returns what a page judges readings by, point by point; `None` at a point without tolerance.
    ///
    /// # Errors
    ///
    /// No tolerance or decision; no display step, or one whose decimals do not end in the readings' unit;
    /// a model that does not rise or fall with the reading; the faults of [`Evaluation::zones`].
    pub fn sheet(&self) -> Result<Vec<Option<PointSheet>>, Faults> {
        let budget = self.budget();
        let zones = self.zones()?;
        if zones.iter().flatten().all(|it| it.decision.is_none()) {
            return Err(nothing_to_judge_by(budget).into());
        }
        step_text(budget)?;
        let most = MOST / i64::try_from(zones.len().max(1)).unwrap_or(MOST);
        let mut sheets = Vec::new();
        for (point, zones) in self.points().iter().zip(&zones) {
            let decision = zones.as_ref().and_then(|it| it.decision.as_ref());
            let limit = zones.as_ref().and_then(|it| it.repeatability.as_ref());
            let sheet = decision.map(|it| point_sheet(budget, point, (it, limit), most.max(64)));
            sheets.push(sheet.transpose()?);
        }
        Ok(sheets)
    }
}

/// Returns the display step as a decimal number of the readings' unit.
///
/// # Errors
///
/// No display step; one whose decimals do not end in that unit.
pub fn step_text(budget: &Budget) -> Result<String, Fault> {
    let unit = budget.reading_unit();
    let Some(display) = budget.display() else {
        return Err(Fault::new(budget.origin(), "the display step is not known")
            .rule("a bench sheet counts the steps of the display")
            .help(format!("display: {{step: 1 {}}}", unit.text())));
    };
    let number = display.step.exact().div(unit.factor());
    let text = number.and_then(|it| (0..=PLACES).find_map(|places| exact_text(&it, places)));
    text.ok_or_else(|| {
        let (step, wanted) = (display.step.text(), display.step.unit().text());
        let what = format!("the display step `{step}` has no end in {}", unit.text());
        Fault::new(budget.origin(), what)
            .rule("a bench sheet takes readings in the points' unit, as the display shows them")
            .help(format!("points: {{unit: {wanted}}}"))
    })
}

fn point_sheet(
    budget: &Budget,
    point: &PointEvaluation,
    (decision, repeatability): (&PointDecision, Option<&Limit>),
    most: i64,
) -> Result<PointSheet, Fault> {
    let title = || budget.points().list.get(point.index).map_or(String::new(), |it| it.title());
    let refused = || {
        Fault::new(budget.origin(), format!("the readings at {} cannot be laid out", title()))
            .rule("the model has to rise or fall with `reading`")
    };
    let grid = decision.grid(budget, point).ok_or_else(refused)?;
    let start = start_of(budget, point).floor_div(&grid.reading(1)).ok_or_else(refused)?;
    let bench = Bench { point, decision, grid, start };
    bench.sheet(repeatability, most).ok_or_else(refused)
}

/// One point with its grid.
struct Bench<'a> {
    point: &'a PointEvaluation,
    decision: &'a PointDecision,
    grid: Grid,
    start: i64,
}

impl Bench<'_> {
    fn sheet(&self, repeatability: Option<&Limit>, most: i64) -> Option<PointSheet> {
        let starts = self.starts()?;
        let mut runs: Vec<SheetRun> = Vec::new();
        let mut from = None;
        for next in starts.iter().copied().map(Some).chain([None]) {
            let (low, to) = (from, next.map(|n| n - 1));
            let run = self.run(low, to)?;
            match runs.last_mut() {
                Some(last) if is_same(last, &run) => last.to = run.to,
                _ => runs.push(run),
            }
            from = next;
        }
        let values = self.straight().or_else(|| self.listed(&starts, most))?;
        let spread = match repeatability {
            Some(limit) => Some(self.spread(limit, &values)?),
            None => None,
        };
        Some(PointSheet { start: self.start, runs, values, spread })
    }

    /// Returns how many steps readings may lie apart: what [`Spread`](super::several::Spread) allows, counted.
    fn spread(&self, limit: &Limit, values: &SheetValues) -> Option<SheetSpread> {
        let steps = match values {
            SheetValues::Straight { .. } => SheetSteps::Alike(self.most_steps(limit, self.start)?),
            SheetValues::Listed { first, texts } => {
                // Where a value rises all the way, what is in reach of a higher reading lies no lower.
                let (mut each, mut end) = (Vec::new(), *first);
                for n in *first..first.checked_add(i64::try_from(texts.len()).ok()?)? {
                    end = end.max(n);
                    while end - n < REACH && self.repeats(limit, n, end + 1)? {
                        end += 1;
                    }
                    each.push(end - n);
                }
                SheetSteps::Each(each)
            }
        };
        Some(SheetSpread { limit: self.decision.figures.distance(limit), steps })
    }

    /// Returns the most steps upwards from reading n that are within the limit.
    fn most_steps(&self, limit: &Limit, n: i64) -> Option<i64> {
        let (mut within, mut beyond) = (0, 1);
        while self.repeats(limit, n, n + beyond)? {
            within = beyond;
            let Some(next) = doubled(beyond) else { return Some(within) };
            beyond = next;
        }
        while beyond - within > 1 {
            let middle = within + (beyond - within) / 2;
            if self.repeats(limit, n, n + middle)? { within = middle } else { beyond = middle }
        }
        Some(within)
    }

    /// Whether two readings lie no further apart than the limit.
    fn repeats(&self, limit: &Limit, one: i64, other: i64) -> Option<bool> {
        let (one, other) = (Limit::from(&self.value(one)?), Limit::from(&self.value(other)?));
        Some(is_within(limit, &one, &other, self.decision.zones.tie))
    }

    /// Returns where a run begins, ascending: at an end of a zone or of the tolerance, and where another
    /// side of the tolerance is the nearer one.
    fn starts(&self) -> Option<BTreeSet<i64>> {
        let near = self.grid.near_limits(1);
        let kind = |n: i64| Some((self.grid.verdict(n), self.side(n)?));
        let mut starts = BTreeSet::new();
        for n in near {
            if kind(n - 1)? != kind(n)? {
                starts.insert(n);
            }
        }
        let tolerance = &self.decision.zones.tolerance;
        if tolerance.lower.is_some() && tolerance.upper.is_some() {
            starts.insert(self.turn()?);
        }
        Some(starts)
    }

    /// Returns the first n whose nearest side is another one than that of all lower readings.
    fn turn(&self) -> Option<i64> {
        let low = if self.grid.is_rising() { Side::Lower } else { Side::Upper };
        let is_low = |n: i64| Some(self.side(n)? == low);
        let (mut below, mut above, mut reach) = (self.start, self.start, 1);
        while !is_low(below)? {
            below = self.start - reach;
            reach = doubled(reach)?;
        }
        reach = 1;
        while is_low(above)? {
            above = self.start + reach;
            reach = doubled(reach)?;
        }
        while above - below > 1 {
            let middle = below + (above - below) / 2;
            if is_low(middle)? { below = middle } else { above = middle }
        }
        Some(above)
    }

    fn run(&self, from: Option<i64>, to: Option<i64>) -> Option<SheetRun> {
        let n = from.or(to).unwrap_or(self.start);
        let Sentence { subject, rest, .. } = self.sentence(n)?;
        let side = self.side(n)?;
        let last_pass = self.grid.edge(Verdict::Pass, side).map(|it| it.0);
        Some(SheetRun {
            from,
            to,
            verdict: self.grid.verdict(n).0,
            before: format!("{subject} "),
            after: format!("; {rest}"),
            limit: self.limit(side),
            last_pass,
        })
    }

    /// Returns the acceptance limit, or the tolerance limit where that is the same or nothing passes.
    fn limit(&self, side: Side) -> Option<(Side, &'static str, String)> {
        let printed = self.decision.printed.side(side)?;
        match &printed.acceptance {
            Some(limit) if self.decision.zones.guard_band.si != 0.0 => {
                Some((side, "acceptance limit", limit.text.clone()))
            }
            _ => Some((side, "tolerance limit", printed.tolerance.text.clone())),
        }
    }

    fn value(&self, n: i64) -> Option<Value> {
        self.point.model.at_exact_reading(&self.grid.reading(n)).ok()
    }

    fn side(&self, n: i64) -> Option<Side> {
        Some(self.decision.zones.tolerance.nearest(&self.value(n)?))
    }

    fn sentence(&self, n: i64) -> Option<Sentence> {
        let PointDecision { zones, printed, figures } = self.decision;
        let error = self.value(n)?;
        let (verdict, cause) = zones.classify(&error);
        let (grid, shown) = (Some(&self.grid), |n: i64| self.value(n));
        let shown = &shown;
        Some(sentence(&Account {
            zones,
            printed,
            figures,
            grid,
            shown,
            error: &error,
            verdict,
            cause,
            mean_of: None,
        }))
    }

    /// Returns the straight line of values, where it is exact and its decimals end.
    fn straight(&self) -> Option<SheetValues> {
        let figures = &self.decision.figures;
        if !figures.relation().is_difference() {
            return None;
        }
        let base = self.in_unit(0)?;
        let per_step = self.in_unit(1)?.sub(&base)?;
        let (least, most) = figures.error_decimals();
        let scale = (0..=most)
            .find(|it| exact_text(&base, *it).is_some() && exact_text(&per_step, *it).is_some())?;
        let whole = |it: &Exact| Some(exact_text(it, scale)?.replace('.', ""));
        let (base, per_step) = (whole(&base)?, whole(&per_step)?);
        Some(SheetValues::Straight { base, per_step, scale, least, signed: figures.is_signed() })
    }

    fn in_unit(&self, n: i64) -> Option<Exact> {
        self.value(n)?.exact?.div(self.decision.figures.unit().factor())
    }

    /// Lists the values about the limits.
    fn listed(&self, starts: &BTreeSet<i64>, most: i64) -> Option<SheetValues> {
        let low = starts.first().copied().unwrap_or(self.start).min(self.start);
        let high = starts.last().copied().unwrap_or(self.start).max(self.start);
        let around = ((high - low).max(1) * (SPANS + 1)).min((most - (high - low)) / 2).max(1);
        let suffix = self.decision.figures.with_unit("");
        let text = |n: i64| {
            let text = self.decision.figures.error(&self.value(n)?);
            Some(text.strip_suffix(suffix.as_str())?.to_owned())
        };
        let first = low - around;
        let texts: Option<Vec<String>> = (first..=high + around).map(text).collect();
        Some(SheetValues::Listed { first, texts: texts? })
    }
}

fn doubled(reach: i64) -> Option<i64> {
    (reach < REACH).then_some(reach * 2)
}

fn is_same(a: &SheetRun, b: &SheetRun) -> bool {
    a.verdict == b.verdict
        && (&a.before, &a.after, &a.limit, a.last_pass)
            == (&b.before, &b.after, &b.limit, b.last_pass)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Case, micrometer};
    use super::*;

    /// The sheet of the first point.
    fn sheet(case: &Case) -> PointSheet {
        let budget = case.budget();
        case.evaluate(&budget).sheet().unwrap()[0].clone().unwrap()
    }

    /// Puts a sentence together as a page does.
    fn told(sheet: &PointSheet, n: i64) -> (Verdict, String) {
        let within =
            |it: &&SheetRun| it.from.is_none_or(|from| from <= n) && it.to.is_none_or(|to| n <= to);
        let run = sheet.runs.iter().find(within).unwrap();
        let value = match &sheet.values {
            SheetValues::Listed { first, texts } => {
                format!("{} µm", texts[usize::try_from(n - first).unwrap()])
            }
            SheetValues::Straight { base, per_step, scale, least, signed } => {
                let n: i64 = base.parse::<i64>().unwrap() + n * per_step.parse::<i64>().unwrap();
                let ten = Exact::from_integer(10_i64.pow(u32::try_from(*scale).unwrap()));
                let value = Exact::from_integer(n).div(&ten).unwrap();
                let text = super::super::figures::shortest(&value, *least, (*scale).max(*least));
                let text = text.unwrap().replace('-', "−");
                format!("{}{text} µm", if *signed && n > 0 { "+" } else { "" })
            }
        };
        (run.verdict, format!("{}{value}{}", run.before, run.after))
    }

    fn cases() -> Vec<(Case, i64, &'static str)> {
        let mut cases = Vec::new();
        for rule in ["simple", "guarded", "relaxed", "three-way", "four-way"] {
            for tolerance in ["±4 µm", "[-1 µm, 3 µm]", "at most 2 µm", "at least -3 µm", "±0.3 µm"]
            {
                let case = micrometer(tolerance, rule, 1.457).width("1.457 µm");
                cases.push((case, 1, "straight"));
                let case = micrometer(tolerance, rule, 1.457).width("1.457 µm").display("0.5 µm");
                cases.push((case.model("L - reading"), 2, "listed"));
                let curve = "reading + (reading - L) * (reading - L) / (3 * L) - L";
                let case = micrometer(tolerance, rule, 1.457).width("1.457 µm").display("0.5 µm");
                cases.push((case.model(curve), 2, "listed"));
            }
        }
        cases.push((micrometer("±4 µm", "guarded", 1.457).requires("20", None), 1, "straight"));
        let instead = micrometer("±4 µm", "simple", 1.457).requires("20", Some("guarded"));
        cases.push((instead, 1, "straight"));
        cases.push((micrometer("±4 µm", "guarded", 4.5), 1, "straight"));
        cases
    }

    #[test]
    fn a_page_tells_what_the_judge_tells_for_each_step() {
        for (case, per_micrometre, kind) in cases() {
            let sheet = sheet(&case);
            let is_listed = matches!(sheet.values, SheetValues::Listed { .. });
            assert_eq!(is_listed, kind == "listed", "{:?}", case.parts.model);
            let texts: Vec<(i64, String)> = (-12 * per_micrometre..=12 * per_micrometre)
                .map(|by| (sheet.start + by, 25_000 * per_micrometre + 10 * by))
                .map(|(n, tenths)| {
                    (n, format!("{:.4}", tenths as f64 / 1e4 / per_micrometre as f64))
                })
                .collect();
            let readings: Vec<&str> = texts.iter().map(|it| it.1.as_str()).collect();
            let listed = |n: i64| match &sheet.values {
                SheetValues::Listed { first, texts } => {
                    (*first..*first + i64::try_from(texts.len()).unwrap()).contains(&n)
                }
                SheetValues::Straight { .. } => true,
            };
            let mut compared = 0;
            for ((n, text), judged) in texts.iter().zip(case.judge(&readings, false).unwrap()) {
                if listed(*n) {
                    assert_eq!(told(&sheet, *n), (judged.verdict, judged.reason), "{text}");
                    compared += 1;
                }
            }
            assert!(compared > 8, "{compared} of {}", texts.len());
        }
    }

    /// By hand: ±4 µm less 1.457 µm is 2.543 µm, so that 2.498 to 2.502 pass; the side changes at 2.500,
    /// whose margins are equal and which counts as upper.
    #[test]
    fn runs_follow_one_another_without_gaps() {
        let sheet = sheet(&micrometer("±4 µm", "guarded", 1.457));
        let ends: Vec<_> = sheet.runs.iter().map(|it| (it.from, it.to)).collect();
        let runs = [
            (None, Some(2495)),
            (Some(2496), Some(2497)),
            (Some(2498), Some(2499)),
            (Some(2500), Some(2502)),
            (Some(2503), Some(2504)),
            (Some(2505), None),
        ];
        assert_eq!(ends, runs);
        let last: Vec<_> = sheet.runs.iter().map(|it| it.last_pass.unwrap()).collect();
        assert_eq!(last, [2498, 2498, 2498, 2502, 2502, 2502]);
        assert_eq!(sheet.start, 2500);
    }

    #[test]
    fn a_step_that_has_no_end_in_the_points_unit_is_refused() {
        let mut case = micrometer("±4 µm", "guarded", 1.457);
        case.parts.points.as_mut().unwrap().unit = "in".into();
        let budget = case.budget();
        let fault = step_text(&budget).unwrap_err();
        assert_eq!(
            fault.message().split(':').next(),
            Some("the display step `1 µm` has no end in in")
        );
        assert_eq!(fault.help, "points: {unit: µm}");
        let without = micrometer("±4 µm", "guarded", 1.457).without_display().budget();
        assert_eq!(step_text(&without).unwrap_err().help, "display: {step: 1 mm}");
    }
}
