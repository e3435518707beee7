//! The seam between verbs and engine: paths and words in, a record out.
//!
//! Each function reads its files, evaluates, decides and maps the result to a record. Faults come
//! out as text, each at its place.

use super::input::Beside;
use super::simulation::Simulation;
use super::watch::{self, Ended};
use super::{Failure, Source, crosscheck};
use crate::advise;
use crate::budget::parts::Text;
use crate::budget::worksheet::{Outcome, Section as Sheet};
use crate::budget::{Budget, CoverageMethod, Worksheet};
use crate::decide::readings::read_value;
use crate::decide::{Cause, Judgement, Readings, Verdict, find_point};
use crate::fault::{Fault, Faults, Finding, Origin};
use crate::file;
use crate::propagate::crosscheck::Question;
use crate::propagate::simulation::Interval;
use crate::propagate::{Evaluation, Options};
use crate::record::{
    Check, CheckResult, Instrument, IntervalKind, Kind, Record, Role, Section, Tally, Texts,
    Worksheet as Noted, from,
};
use std::path::{Path, PathBuf};

/// A budget that was read, with what shows its faults.
struct Opened {
    path: PathBuf,
    source: file::source::Source,
    /// The budget's own file, and what it names.
    entries: Vec<crate::record::File>,
    budget: Budget,
}

impl Opened {
    fn read(path: &Path) -> Result<Opened, Failure> {
        let source = Source::read(path)?;
        let name = path.display().to_string();
        let beside = Beside { folder: path.parent().unwrap_or(Path::new("")), entry: None.into() };
        let loaded = file::load_budget_with(&name, &source.bytes, &|it| beside.history(it));
        match loaded.value {
            Ok(budget) => {
                let (source, entry) = (loaded.source, source.entry(Role::Budget));
                let entries = [entry].into_iter().chain(beside.entry.into_inner()).collect();
                Ok(Opened { path: path.to_owned(), source, entries, budget })
            }
            Err(faults) => Err(Failure::Input(loaded.source.render_all(&faults))),
        }
    }

    /// Evaluates the budget; refuses options of a simulation where there is none.
    fn evaluate(&self, simulation: &Simulation) -> Result<Evaluation<'_>, Failure> {
        self.evaluate_at(simulation, None)
    }

    /// Evaluates the budget; what is simulated is simulated at one point only, where one is given.
    fn evaluate_at(
        &self,
        simulation: &Simulation,
        only: Option<usize>,
    ) -> Result<Evaluation<'_>, Failure> {
        if !self.simulates() {
            simulation.refuse(&self.path)?;
        }
        self.evaluate_any(simulation, only)
    }

    /// Evaluates the budget, whatever the options say.
    fn evaluate_any(
        &self,
        simulation: &Simulation,
        only: Option<usize>,
    ) -> Result<Evaluation<'_>, Failure> {
        if !self.simulates() {
            return self.budget.evaluate().map_err(|faults| self.failure(faults));
        }
        let options = Options { only, ..simulation.options() };
        watch::evaluate(&self.budget, &options).map_err(|it| self.ended(it))
    }

    fn simulates(&self) -> bool {
        self.budget.coverage().method == CoverageMethod::MonteCarlo
    }

    fn ended(&self, ended: Ended) -> Failure {
        match ended {
            Ended::Faults(faults) => self.failure(faults),
            Ended::Stopped(failure) => failure,
        }
    }

    fn failure(&self, faults: Faults) -> Failure {
        Failure::Input(self.source.render_all(&faults.0))
    }

    /// Adds findings with their places to a record.
    fn note(&self, record: &mut Record, findings: Vec<Finding>) {
        let place =
            |it: &Finding| (it.origin != Origin::NONE).then(|| place(&self.source, it.origin));
        record.findings.extend(findings.iter().map(|it| from::finding(it, place(it))));
    }
}

/// Evaluates the budget at `path` for `work`, which gets what shows the faults of that file.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file; those of `work`.
pub(super) fn evaluated<T>(
    path: &Path,
    simulation: &Simulation,
    work: impl FnOnce(&Evaluation, &dyn Fn(Faults) -> Failure) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let opened = Opened::read(path)?;
    let evaluation = opened.evaluate(simulation)?;
    work(&evaluation, &|faults| opened.failure(faults))
}

fn place(source: &file::source::Source, origin: Origin) -> String {
    let (line, column) = source.place(origin);
    format!("{}:{line}:{column}", source.name())
}

/// Returns the `show` record of the budget at `path`; `at` asks for one point, `together` for the
/// correlations of all.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or for an `at` that is no point.
pub(super) fn show(
    path: &Path,
    at: Option<&str>,
    together: bool,
    simulation: &Simulation,
) -> Result<Record, Failure> {
    let opened = Opened::read(path)?;
    let evaluation = opened.evaluate(simulation)?;
    let focus = at.map(|text| point_of(&opened.budget, text)).transpose()?;
    let mut record = Record::new(Kind::Show);
    record.options.at = at.map(str::to_string);
    simulation.note(&mut record.options);
    let mut section = from::shown(&evaluation).map_err(|faults| opened.failure(faults))?;
    section.focus = focus.map(|index| index as u64);
    if together {
        from::add_correlations(&mut section, &evaluation)
            .map_err(|fault| opened.failure(fault.into()))?;
    }
    finish(&opened, &evaluation, section, &mut record)?;
    Ok(record)
}

/// Returns the `card` record of the budget at `path`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or where no display step or decision is known.
pub(super) fn card(path: &Path, simulation: &Simulation) -> Result<Record, Failure> {
    let opened = Opened::read(path)?;
    let evaluation = opened.evaluate(simulation)?;
    let mut record = Record::new(Kind::Card);
    simulation.note(&mut record.options);
    let section = from::card(&evaluation).map_err(|faults| opened.failure(faults))?;
    finish(&opened, &evaluation, section, &mut record)?;
    Ok(record)
}

/// Returns the `crosscheck` record of the budget at `path`; `at` asks for one point.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or for an `at` that is no point;
/// [`Failure::Stopped`] after Ctrl-C.
pub(super) fn crosscheck(
    path: &Path,
    at: Option<&str>,
    interval: Option<crosscheck::Kind>,
    simulation: &Simulation,
) -> Result<Record, Failure> {
    let opened = Opened::read(path)?;
    let point = at.map(|text| point_of(&opened.budget, text)).transpose()?;
    let asked = interval.map(crosscheck::Kind::interval);
    let question = Question { interval: asked.unwrap_or(Interval::Symmetric), point };
    let done = watch::crosscheck(&opened.budget, &simulation.of_crosscheck(), &question)
        .map_err(|it| opened.ended(it))?;
    let mut record = Record::new(Kind::Crosscheck);
    record.options.at = at.map(str::to_string);
    record.options.interval = asked.map(|it| match it {
        Interval::Symmetric => IntervalKind::Symmetric,
        Interval::Shortest => IntervalKind::Shortest,
    });
    simulation.note(&mut record.options);
    let section = crate::record::crosschecked(&done).map_err(|faults| opened.failure(faults))?;
    finish(&opened, &done.evaluation, section, &mut record)?;
    Ok(record)
}

/// Adds section, file and findings of a budget without readings.
fn finish(
    opened: &Opened,
    evaluation: &Evaluation,
    section: Section,
    record: &mut Record,
) -> Result<(), Failure> {
    let zones = evaluation.zones().map_err(|faults| opened.failure(faults))?;
    let mut findings = advise::of_evaluation(evaluation);
    findings.extend(crate::decide::findings::of_zones(&opened.budget, &zones));
    record.files.extend(opened.entries.iter().cloned());
    record.sections.push(section);
    opened.note(record, findings);
    sort(record);
    Ok(())
}

/// Puts the weightiest findings first; equal ones keep their order, and what several sections say in
/// the same words is said once.
fn sort(record: &mut Record) {
    let mut distinct: Vec<crate::record::Finding> = Vec::new();
    for finding in std::mem::take(&mut record.findings) {
        if !distinct.contains(&finding) {
            distinct.push(finding);
        }
    }
    record.findings = distinct;
    record.findings.sort_by_key(|it| std::cmp::Reverse(it.severity));
}

/// Finds the point that an argument names.
fn point_of(budget: &Budget, text: &str) -> Result<usize, Failure> {
    find_point(budget, text, Origin::NONE).map_err(|fault| {
        let single = budget.points().unit.is_none();
        argument("--at", &if single { fault.help("leave `--at` out") } else { fault })
    })
}

/// Returns the failure of an argument.
fn argument(name: &str, fault: &Fault) -> Failure {
    let help =
        if fault.help.is_empty() { String::new() } else { format!("\nhelp: {}", fault.help) };
    Failure::Input(format!("{name}: {}{help}", fault.message()))
}

/// What `judge` is asked for beside the verdict.
pub(super) struct Asked<'a> {
    /// How to simulate, where the budget does.
    pub(super) simulation: &'a Simulation,
    /// Whether other rules are to stand beside.
    pub(super) compare: bool,
    /// Whether operating curves are wanted.
    pub(super) curves: bool,
}

impl Asked<'_> {
    /// Adds to a judged section what is asked for.
    fn add(&self, section: &mut Section, judgement: &Judgement) {
        if self.compare {
            from::add_comparison(section, judgement);
        }
        if self.curves {
            from::add_operating_curves(section, judgement, self.compare);
        }
    }
}

/// Returns the `judge` record of one reading under the budget at `path`; without a reading that of
/// the estimate, where the model does not use `reading`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or for a reading or point that does not fit.
pub(super) fn judge_reading(
    path: &Path,
    at: Option<&str>,
    reading: Option<&str>,
    asked: &Asked,
) -> Result<Record, Failure> {
    let opened = Opened::read(path)?;
    let only = at.map(|text| point_of(&opened.budget, text)).transpose()?;
    let evaluation = opened.evaluate_at(asked.simulation, only)?;
    judged(&opened, &evaluation, (at, reading), asked)
}

fn judged(
    opened: &Opened,
    evaluation: &Evaluation,
    (at, reading): (Option<&str>, Option<&str>),
    asked: &Asked,
) -> Result<Record, Failure> {
    let readings = asked_readings(&opened.budget, at, reading)?;
    let judged = evaluation.judge(&readings);
    let judgement = judged.map_err(|faults| arguments(opened, faults))?;
    let mut record = Record::new(Kind::Judge);
    record.options.at = at.map(str::to_string);
    record.options.reading = reading.map(str::to_string);
    asked.simulation.note(&mut record.options);
    record.files.extend(opened.entries.iter().cloned());
    let mut section = from::judged(&judgement);
    asked.add(&mut section, &judgement);
    record.sections.push(section);
    let mut findings = advise::of_evaluation(evaluation);
    findings.extend(judgement.findings.clone());
    opened.note(&mut record, findings);
    sort(&mut record);
    Ok(record)
}

/// Returns the failure of a judgement: faults without a place are about the reading.
fn arguments(opened: &Opened, faults: Faults) -> Failure {
    match faults.0.iter().find(|it| it.origin == Origin::NONE) {
        Some(fault) => argument("--reading", fault),
        None => opened.failure(faults),
    }
}

fn asked_readings(
    budget: &Budget,
    at: Option<&str>,
    reading: Option<&str>,
) -> Result<Readings, Failure> {
    let several = budget.points().list.len() > 1;
    let Some(reading) = reading else {
        if let Some(text) = at {
            return Ok(Readings::only(point_of(budget, text)?));
        }
        return Ok(Readings::none());
    };
    let index = match at {
        Some(text) => point_of(budget, text)?,
        None if several => {
            let first = budget.points().list.first().map_or(String::new(), |it| it.title());
            let fault = Fault::new(Origin::NONE, "the point is not said")
                .rule("this budget has several points");
            return Err(argument("--at", &fault.help(format!("--at \"{first}\""))));
        }
        None => 0,
    };
    let text = Text::new(reading.trim(), Origin::NONE);
    let quantity =
        read_value(budget, &text, false).map_err(|fault| argument("--reading", &fault))?;
    Ok(Readings::one(index, quantity, Origin::NONE))
}

/// Returns the `judge` record of the file at `path`: a worksheet, or a budget whose estimate is judged.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the files, or where `path` is a budget that needs a reading.
pub(super) fn judge_file(path: &Path, at: Option<&str>, asked: &Asked) -> Result<Record, Failure> {
    let source = Source::read(path)?;
    let name = path.display().to_string();
    if let file::AnyReading::Budget(_) = file::any(&name, &source.bytes) {
        return judge_budget(path, at, asked);
    }
    if at.is_some() {
        let fault = Fault::new(Origin::NONE, "a worksheet is judged at all its points");
        return Err(argument("--at", &fault.help("leave `--at` out")));
    }
    let loaded = file::load_worksheet(&name, &source.bytes);
    let places = loaded.source;
    let worksheet = loaded.value.map_err(|faults| Failure::Input(places.render_all(&faults)))?;
    let mut record = Record::new(Kind::Judge);
    record.files.push(source.entry(Role::Worksheet));
    asked.simulation.note(&mut record.options);
    let mut state =
        Judged { verdict: (Verdict::Pass, None), tally: Tally::default(), asked, simulates: false };
    let mut failures: Vec<Failure> = Vec::new();
    for sheet in &worksheet.sections {
        if let Err(failure) =
            judge_section(path, &places, &worksheet, sheet, &mut record, &mut state)
        {
            failures.push(failure);
        }
    }
    if let Some(failure) = joined(failures) {
        return Err(failure);
    }
    if !state.simulates {
        asked.simulation.refuse(path)?;
    }
    record.worksheet = Some(noted(&worksheet));
    record.instrument = Some(instrument(&worksheet, &state, from::conformance(&record.sections)));
    record.findings.extend(from::taken_as_independent(&record.sections));
    sort(&mut record);
    Ok(record)
}

/// A budget without reading: its estimate is judged, where the model does not use `reading`.
fn judge_budget(path: &Path, at: Option<&str>, asked: &Asked) -> Result<Record, Failure> {
    let opened = Opened::read(path)?;
    let evaluation = opened.evaluate(asked.simulation)?;
    let needs_reading =
        evaluation.points().iter().any(crate::propagate::PointEvaluation::uses_reading);
    if needs_reading && opened.budget.decision().is_some() {
        let index = at.map(|text| point_of(&opened.budget, text)).transpose()?;
        let first = opened.budget.points().list.get(index.unwrap_or(0));
        let title = first.map_or(String::new(), |it| it.title());
        let at = if title.is_empty() { String::new() } else { format!("--at \"{title}\" ") };
        let unit = opened.budget.reading_unit().text();
        let value = first.and_then(|it| it.at.as_ref()).map_or("0", |it| it.number().text());
        let fault =
            Fault::new(opened.budget.origin(), "this is a budget: a reading is needed to judge")
                .rule("without one, give a worksheet")
                .help(format!(
                    "surebound judge {} {at}--reading \"{value} {unit}\"",
                    path.display()
                ));
        return Err(opened.failure(fault.into()));
    }
    judged(&opened, &evaluation, (at, None), asked)
}

fn joined(failures: Vec<Failure>) -> Option<Failure> {
    let mut texts = Vec::new();
    for failure in failures {
        match failure {
            Failure::Machine(_) | Failure::Stopped(_) => return Some(failure),
            Failure::Input(text) => texts.push(text),
        }
    }
    (!texts.is_empty()).then(|| Failure::Input(texts.join("\n\n")))
}

/// What the sections have brought so far.
struct Judged<'a> {
    verdict: (Verdict, Option<Cause>),
    tally: Tally,
    asked: &'a Asked<'a>,
    /// Whether some budget is simulated.
    simulates: bool,
}

fn judge_section(
    path: &Path,
    places: &file::source::Source,
    worksheet: &Worksheet,
    sheet: &Sheet,
    record: &mut Record,
    state: &mut Judged,
) -> Result<(), Failure> {
    let opened = Opened::read(&budget_path(path, sheet))
        .map_err(|failure| missing(places, sheet, failure))?;
    state.simulates |= opened.simulates();
    let evaluation = opened.evaluate_any(state.asked.simulation, None)?;
    if sheet.are_errors && !evaluation.takes_errors() {
        let fault = Fault::new(sheet.values_origin, "`errors` cannot be judged by this budget")
            .rule("errors are for models that are `reading` minus something")
            .help("write `readings`, and what the instrument showed");
        return Err(Failure::Input(places.render_all(&[fault])));
    }
    let of_worksheet = |faults: Faults| Failure::Input(places.render_all(&faults.0));
    let readings = Readings::from_section(&opened.budget, sheet).map_err(of_worksheet)?;
    evaluation.zones().map_err(|faults| opened.failure(faults))?;
    if opened.budget.decision().is_none() {
        let faults = evaluation.judge(&readings).err().unwrap_or(Faults(Vec::new()));
        return Err(opened.failure(faults));
    }
    let judgement = evaluation.judge(&readings).map_err(of_worksheet)?;
    let mut section = from::judged(&judgement);
    let all_points = judgement.together();
    section.together = Some(from::together(&all_points));
    state.asked.add(&mut section, &judgement);
    for point in &section.points {
        state.tally.count(point.decision.as_ref().and_then(|it| it.verdict));
    }
    let here = judgement.instrument(worksheet.a_check_failed());
    if here.0 > state.verdict.0 {
        state.verdict = here;
    }
    record.files.extend(opened.entries.iter().cloned());
    record.sections.push(section);
    opened.note(record, advise::of_evaluation(&evaluation));
    let (of_readings, of_budget): (Vec<Finding>, Vec<Finding>) =
        judgement.findings.iter().cloned().partition(|it| is_about_readings(it.code));
    opened.note(record, of_budget);
    opened.note(record, all_points.findings);
    for it in of_readings.iter().chain(&advise::of_worksheet(worksheet, &opened.budget)) {
        let at = match it.code {
            "overdue" => place(&opened.source, it.origin),
            _ => place(places, it.origin),
        };
        record.findings.push(from::finding(it, (it.origin != Origin::NONE).then_some(at)));
    }
    Ok(())
}

fn is_about_readings(code: &str) -> bool {
    use crate::decide::findings::{FAR_OFF, MISSING_READING, OFF_GRID};
    [FAR_OFF, MISSING_READING, OFF_GRID].contains(&code)
}

/// The budget's path, relative to the worksheet.
fn budget_path(worksheet: &Path, sheet: &Sheet) -> PathBuf {
    let folder = worksheet.parent().unwrap_or(Path::new(""));
    folder.join(sheet.budget.text.trim())
}

/// What is said of a worksheet where a budget is expected.
const WORKSHEET: &str = "the file holds a worksheet";

/// A budget that cannot be opened is a fault of the line that names it.
fn missing(places: &file::source::Source, sheet: &Sheet, failure: Failure) -> Failure {
    let Failure::Input(text) = &failure else { return failure };
    let unreadable = [
        "there is no such file",
        "this is a directory",
        "the file is empty",
        "the file cannot be read",
        WORKSHEET,
    ];
    let Some(what) = unreadable.iter().find(|it| text.contains(**it)) else { return failure };
    let what = format!("budget `{}`: {what}", sheet.budget.text.trim());
    let fault =
        Fault::new(sheet.budget.origin, what).rule("`budget` is a path relative to the worksheet");
    Failure::Input(places.render_all(&[fault]))
}

fn noted(worksheet: &Worksheet) -> Noted {
    let check = |it: &crate::budget::worksheet::Check| Check {
        what: it.what.clone(),
        result: match it.outcome {
            Outcome::Ok => CheckResult::Ok,
            Outcome::NotOk => CheckResult::NotOk,
            Outcome::NotApplicable => CheckResult::NotApplicable,
        },
    };
    Noted {
        instrument: Texts(worksheet.instrument.clone()),
        date: worksheet.date.map(|it| it.to_string()),
        checks: worksheet.checks.iter().map(check).collect(),
        zero: worksheet.zero.iter().map(|it| it.0.text().to_string()).collect(),
    }
}

fn instrument(worksheet: &Worksheet, state: &Judged, conformance: Option<f64>) -> Instrument {
    let count = |outcome: Outcome| {
        worksheet.checks.iter().filter(|it| it.outcome == outcome).count() as u64
    };
    let text = |key: &str| worksheet.instrument_text(key).map(str::to_string);
    Instrument {
        id: text("id"),
        description: text("description"),
        verdict: from::verdict(state.verdict.0),
        conformance_probability: conformance,
        checks_ok: count(Outcome::Ok),
        checks_not_ok: count(Outcome::NotOk),
        points: state.tally,
    }
}
