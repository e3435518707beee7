//! The seam between verbs and engine: paths and words in, a record out.
//!
//! Each function reads its files, evaluates, decides and maps the result to a record. Faults come
//! out as text, each at its place.

use super::input::Beside;
use super::regrade;
use super::simulation::Simulation;
use super::watch::{self, Ended};
use super::{Failure, Source, card, crosscheck, worksheet};
use crate::advise;
use crate::budget::parts::Text;
use crate::budget::{Budget, CoverageMethod};
use crate::decide::readings::read_value;
use crate::decide::{self, Judgement, Place, Readings, find_point, locate};
use crate::fault::{Fault, Faults, Finding, Origin};
use crate::file;
use crate::page;
use crate::propagate::crosscheck::Question;
use crate::propagate::simulation::Interval;
use crate::propagate::{Evaluation, Options};
use crate::quantity::Exact;
use crate::record::{CardAs, IntervalKind, Kind, Record, Role, Section, from};
use std::path::{Path, PathBuf};

/// A budget that was read, with what shows its faults.
pub(super) struct Opened {
    pub(super) path: PathBuf,
    pub(super) source: file::source::Source,
    /// The budget's own file, and what it names.
    pub(super) entries: Vec<crate::record::File>,
    pub(super) budget: Budget,
    /// What is to be said of a point that was put between those of the budget.
    pub(super) between: Option<Finding>,
}

impl Opened {
    /// Reads the budget at `path` for a verb of the command line.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] with all faults of the file; a worksheet is told what to type instead.
    pub(super) fn read(path: &Path, verb: &str) -> Result<Opened, Failure> {
        let source = Source::read(path)?;
        let name = path.display().to_string();
        let beside = Beside { folder: path.parent().unwrap_or(Path::new("")), entry: None.into() };
        let loaded = file::load_budget_with(&name, &source.bytes, &|it| beside.history(it));
        match loaded.value {
            Ok(budget) => {
                let (source, entry) = (loaded.source, source.entry(Role::Budget));
                let entries = [entry].into_iter().chain(beside.entry.into_inner()).collect();
                Ok(Opened { path: path.to_owned(), source, entries, budget, between: None })
            }
            Err(mut faults) => {
                if let [fault] = faults.as_mut_slice()
                    && fault.what == worksheet::WORKSHEET
                {
                    fault.help = instead(path, &source, verb);
                }
                Err(Failure::Input(loaded.source.render_all(&faults)))
            }
        }
    }

    /// Reads the budget at `path` with a further point where `at` lies between two of its points.
    fn read_at(path: &Path, at: Option<&str>, verb: &str) -> Result<Opened, Failure> {
        let mut opened = Opened::read(path, verb)?;
        let Some(text) = at.filter(|_| opened.budget.points().unit.is_some()) else {
            return Ok(opened);
        };
        let fault = |it: Fault| argument("--at", &it);
        if let Place::Apart(value) = locate(&opened.budget, text, Origin::NONE).map_err(fault)? {
            let (budget, index) = opened.budget.with_point(*value).map_err(fault)?;
            opened.between = advise::between(&budget, index);
            opened.budget = budget;
        }
        Ok(opened)
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
    pub(super) fn evaluate_any(
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

    pub(super) fn simulates(&self) -> bool {
        self.budget.coverage().method == CoverageMethod::MonteCarlo
    }

    fn ended(&self, ended: Ended) -> Failure {
        match ended {
            Ended::Faults(faults) => self.failure(faults),
            Ended::Stopped(failure) => failure,
        }
    }

    pub(super) fn failure(&self, faults: Faults) -> Failure {
        Failure::Input(self.source.render_all(&faults.0))
    }

    /// Adds findings with their places to a record.
    pub(super) fn note(&self, record: &mut Record, findings: Vec<Finding>) {
        let place =
            |it: &Finding| (it.origin != Origin::NONE).then(|| place(&self.source, it.origin));
        let all = findings.iter().chain(&self.between);
        record.findings.extend(all.map(|it| from::finding(it, place(it))));
    }
}

/// Returns what to type where a verb that needs a budget is given a worksheet.
fn instead(path: &Path, source: &Source, verb: &str) -> String {
    let shown = path.display();
    let worksheet = file::load_worksheet(&shown.to_string(), &source.bytes).value.ok();
    let sections = worksheet.map(|it| it.sections).unwrap_or_default();
    let budget = sections.first().map(|it| worksheet::budget_path(path, it));
    let budget = budget.map_or("BUDGET.yaml".to_owned(), |it| it.display().to_string());
    match verb {
        "report" => format!("surebound report {shown} -o FILE.html"),
        "sheet" => format!("surebound sheet {budget} -o FILE.html"),
        "card" | "crosscheck" => format!("surebound {verb} {budget}"),
        _ => format!("surebound judge {shown}"),
    }
}

/// Evaluates the budget at `path` for `work`, which gets what shows the faults and findings of that file.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file; those of `work`.
pub(super) fn evaluated<T>(
    path: &Path,
    simulation: &Simulation,
    work: impl FnOnce(&Evaluation, &Opened) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let opened = Opened::read(path, "judge")?;
    let evaluation = opened.evaluate(simulation)?;
    work(&evaluation, &opened)
}

/// Returns a place of a file as text.
pub(super) fn place(source: &file::source::Source, origin: Origin) -> String {
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
    let opened = Opened::read_at(path, at, "show")?;
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

/// Returns the record that a report is made of: that of a worksheet or of one reading, else all points of a
/// budget with what they have in common.
///
/// # Errors
///
/// As [`judge_reading`], [`worksheet::judge_file`] and [`show`].
pub(super) fn report(path: &Path, reading: Option<&str>, asked: &Asked) -> Result<Record, Failure> {
    if let Some(reading) = reading {
        return judge_reading(path, reading, asked);
    }
    let source = Source::read(path)?;
    match file::any(&path.display().to_string(), &source.bytes) {
        file::AnyReading::Budget(_) => show(path, asked.at, true, asked.simulation),
        file::AnyReading::Worksheet(_) => worksheet::judge_file(path, asked),
    }
}

/// Returns the `card` record of the budget at `path`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, where no display step or decision is known, or where
/// errors are asked for that the model does not have.
pub(super) fn card(
    path: &Path,
    what: card::What,
    simulation: &Simulation,
) -> Result<Record, Failure> {
    let opened = Opened::read(path, "card")?;
    let evaluation = opened.evaluate(simulation)?;
    let mut record = Record::new(Kind::Card);
    if what == card::What::Errors {
        let refused = evaluation.card_as_errors();
        refused.map_or(Ok(()), |fault| Err(argument("--as", &fault)))?;
        record.options.card_as = Some(CardAs::Errors);
    }
    simulation.note(&mut record.options);
    let section = from::card(&evaluation).map_err(|faults| opened.failure(faults))?;
    finish(&opened, &evaluation, section, &mut record)?;
    Ok(record)
}

/// Returns the `sheet` record of the budget at `path`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, also where there is no display step or decision.
pub(super) fn sheet(path: &Path, simulation: &Simulation) -> Result<Record, Failure> {
    let opened = Opened::read(path, "sheet")?;
    let evaluation = opened.evaluate(simulation)?;
    let mut record = Record::new(Kind::Sheet);
    simulation.note(&mut record.options);
    let section = from::sheet(&evaluation).map_err(|faults| opened.failure(faults))?;
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
    let opened = Opened::read_at(path, at, "crosscheck")?;
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
    findings.extend(decide::findings::of_zones(&opened.budget, &zones));
    record.files.extend(opened.entries.iter().cloned());
    record.sections.push(section);
    opened.note(record, findings);
    sort(record);
    Ok(())
}

/// Puts the weightiest findings first; equal ones keep their order, and what several sections say in
/// the same words is said once.
pub(super) fn sort(record: &mut Record) {
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
pub(super) fn argument(name: &str, fault: &Fault) -> Failure {
    let help =
        if fault.help.is_empty() { String::new() } else { format!("\nhelp: {}", fault.help) };
    Failure::Input(format!("{name}: {}{help}", fault.message()))
}

/// What `judge` is asked for beside its file.
pub(super) struct Asked<'a> {
    /// `--at`.
    pub(super) at: Option<&'a str>,
    /// How to simulate, where the budget does.
    pub(super) simulation: &'a Simulation,
    /// Whether other rules are to stand beside.
    pub(super) compare: bool,
    /// Which pictures are to be drawn.
    pub(super) pictures: Pictures,
    /// `--regrade`.
    pub(super) regrade: Option<&'a str>,
}

/// Which pictures a judgement is to be drawn as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pictures {
    /// None.
    None,
    /// The operating curve of the first point.
    OperatingCurve,
    /// All that a report has, of the decisive point.
    OfReport,
}

impl Asked<'_> {
    fn verb(&self) -> &'static str {
        if self.pictures == Pictures::OfReport { "report" } else { "judge" }
    }

    /// Adds to a judged section what is asked for.
    pub(super) fn add(&self, section: &mut Section, judgement: &Judgement) {
        if self.compare {
            from::add_comparison(section, judgement);
        }
        let place = match self.pictures {
            Pictures::None => return,
            Pictures::OperatingCurve => 0,
            Pictures::OfReport => page::report::decisive_place(section),
        };
        from::add_operating_curve(section, judgement, place, self.compare);
        if self.pictures == Pictures::OfReport {
            from::add_density_curve(section, judgement, place);
        }
    }
}

/// Returns the `judge` record of one reading under the budget at `path`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or for a reading or point that does not fit.
pub(super) fn judge_reading(path: &Path, reading: &str, asked: &Asked) -> Result<Record, Failure> {
    let opened = Opened::read_at(path, asked.at, asked.verb())?;
    let only = asked.at.map(|text| point_of(&opened.budget, text)).transpose()?;
    let evaluation = opened.evaluate_at(asked.simulation, only)?;
    judged(&opened, &evaluation, Some(reading), asked)
}

fn judged(
    opened: &Opened,
    evaluation: &Evaluation,
    reading: Option<&str>,
    asked: &Asked,
) -> Result<Record, Failure> {
    let mut limits = asked.regrade.map(regrade::Asked::read).transpose()?;
    let readings = asked_readings(&opened.budget, asked.at, reading)?;
    let judged = evaluation.judge(&readings);
    let judgement = judged.map_err(|faults| arguments(opened, faults))?;
    let mut record = Record::new(Kind::Judge);
    record.options.at = asked.at.map(str::to_string);
    record.options.reading = reading.map(str::to_string);
    asked.simulation.note(&mut record.options);
    record.files.extend(opened.entries.iter().cloned());
    let mut section = from::judged(&judgement);
    asked.add(&mut section, &judgement);
    record.sections.push(section);
    if let Some(limits) = &mut limits {
        limits.add(&judgement, &readings, 0)?;
    }
    regrade::note(&mut record, limits, false)?;
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

/// Returns the `judge` record of a budget without reading: its estimate is judged, where the model does
/// not use `reading`.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the file, or where the model needs a reading.
pub(super) fn judge_budget(path: &Path, asked: &Asked) -> Result<Record, Failure> {
    let at = asked.at;
    let opened = Opened::read_at(path, at, asked.verb())?;
    let evaluation = opened.evaluate(asked.simulation)?;
    let needs_reading =
        evaluation.points().iter().any(crate::propagate::PointEvaluation::uses_reading);
    if needs_reading && opened.budget.decision().is_some() {
        let index = at.map(|text| point_of(&opened.budget, text)).transpose()?;
        let first = opened.budget.points().list.get(index.unwrap_or(0));
        let title = first.map_or(String::new(), |it| it.title());
        let at = if title.is_empty() { String::new() } else { format!("--at \"{title}\" ") };
        let value = first.and_then(|it| it.at.as_ref()).map(|it| it.exact());
        let value = decide::Limit::from_exact(value.unwrap_or_else(Exact::zero));
        let reading = decide::figures::plain(&value, opened.budget.reading_unit());
        let fault =
            Fault::new(opened.budget.origin(), "this is a budget: a reading is needed to judge")
                .rule("without one, give a worksheet")
                .help(format!("surebound judge {} {at}--reading \"{reading}\"", path.display()));
        return Err(opened.failure(fault.into()));
    }
    judged(&opened, &evaluation, None, asked)
}
