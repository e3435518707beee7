//! Worksheets: one instrument's readings in, judged by each of its budgets, one record out.

use super::engine::{self, Asked, Opened, argument, place, sort};
use super::{Failure, Source, regrade};
use crate::advise;
use crate::budget::Worksheet;
use crate::budget::worksheet::{Outcome, Section as Sheet};
use crate::decide::{self, Cause, Readings, Verdict};
use crate::fault::{Fault, Faults, Finding, Origin};
use crate::file;
use crate::record::{
    Check, CheckResult, Instrument, Kind, Record, Role, Tally, Texts, Worksheet as Noted, from,
};
use std::path::{Path, PathBuf};

/// Returns the `judge` record of the file at `path`: a worksheet, or a budget whose estimate is judged.
///
/// # Errors
///
/// [`Failure::Input`] with all faults of the files, or where `path` is a budget that needs a reading.
pub(super) fn judge_file(path: &Path, asked: &Asked) -> Result<Record, Failure> {
    let source = Source::read(path)?;
    let name = path.display().to_string();
    if let file::AnyReading::Budget(_) = file::any(&name, &source.bytes) {
        return engine::judge_budget(path, asked);
    }
    if asked.at.is_some() {
        let fault = Fault::new(Origin::NONE, "a worksheet is judged at all its points");
        return Err(argument("--at", &fault.help("leave `--at` out")));
    }
    let loaded = file::load_worksheet(&name, &source.bytes);
    let places = loaded.source;
    let worksheet = loaded.value.map_err(|faults| Failure::Input(places.render_all(&faults)))?;
    let mut record = Record::new(Kind::Judge);
    record.files.push(source.entry(Role::Worksheet));
    asked.simulation.note(&mut record.options);
    let mut state = Judged {
        verdict: (Verdict::Pass, None),
        tally: Tally::default(),
        asked,
        simulates: false,
        limits: asked.regrade.map(regrade::Asked::read).transpose()?,
    };
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
    regrade::note(&mut record, state.limits, worksheet.a_check_failed())?;
    record.findings.extend(from::taken_as_independent(&record.sections));
    sort(&mut record);
    Ok(record)
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
    /// Other limits to judge by.
    limits: Option<regrade::Asked>,
}

fn judge_section(
    path: &Path,
    places: &file::source::Source,
    worksheet: &Worksheet,
    sheet: &Sheet,
    record: &mut Record,
    state: &mut Judged,
) -> Result<(), Failure> {
    let opened = Opened::read(&budget_path(path, sheet), "judge")
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
    decide::readings::check_zero(&opened.budget, worksheet).map_err(of_worksheet)?;
    let readings = Readings::from_section(&opened.budget, sheet).map_err(of_worksheet)?;
    evaluation.zones().map_err(|faults| opened.failure(faults))?;
    if opened.budget.decision().is_none() {
        let faults = evaluation.judge(&readings).err().unwrap_or(Faults(Vec::new()));
        return Err(opened.failure(faults));
    }
    let judgement = evaluation.judge(&readings).map_err(of_worksheet)?;
    if let Some(limits) = &mut state.limits {
        limits.add(&judgement, &readings, record.sections.len())?;
    }
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
    let (of_readings, of_budget): (Vec<Finding>, Vec<Finding>) = judgement
        .findings
        .iter()
        .cloned()
        .partition(|it| decide::findings::is_about_readings(it.code));
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

/// The budget's path, relative to the worksheet.
pub(super) fn budget_path(worksheet: &Path, sheet: &Sheet) -> PathBuf {
    let folder = worksheet.parent().unwrap_or(Path::new(""));
    folder.join(sheet.budget.text.trim())
}

/// What is said of a worksheet where a budget is expected.
pub(super) const WORKSHEET: &str = "the file holds a worksheet";

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
        zero: worksheet.zero.iter().map(|it| it.text.clone()).collect(),
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
