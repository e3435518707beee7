//! What a bench sheet needs, from evaluation to record.

use super::from::{shown, verdict};
use super::{Section, Sheet, SheetLimit, SheetLine, SheetList, SheetRun, SheetSpread};
use crate::decide::Side;
use crate::decide::sheet::{self, PointSheet, SheetSteps, SheetValues};
use crate::fault::Faults;
use crate::propagate::Evaluation;

/// Returns the section of an evaluation with what a page judges readings by: `sheet`.
///
/// # Errors
///
/// As [`shown`]; no tolerance, decision or display step; readings that cannot be laid out.
pub fn sheet(evaluation: &Evaluation) -> Result<Section, Faults> {
    let mut section = shown(evaluation)?;
    let sheets = evaluation.sheet()?;
    let step = sheet::step_text(evaluation.budget())?;
    for (point, found) in section.points.iter_mut().zip(sheets) {
        point.sheet = found.map(|it| of_point(it, &step));
    }
    Ok(section)
}

fn of_point(sheet: PointSheet, step: &str) -> Sheet {
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let (line, list) = match sheet.values {
        SheetValues::Straight { base, per_step, scale, least, signed } => {
            let (scale, least) = (count(scale), count(least));
            (Some(SheetLine { base, per_step, scale, least, signed }), None)
        }
        SheetValues::Listed { first, texts } => (None, Some(SheetList { first, texts })),
    };
    let runs = sheet.runs.into_iter().map(run).collect();
    let spread = sheet.spread.map(spread);
    Sheet { step: step.to_owned(), start: sheet.start, runs, line, list, spread }
}

fn spread(it: sheet::SheetSpread) -> SheetSpread {
    let (steps, each) = match it.steps {
        SheetSteps::Alike(steps) => (Some(steps), None),
        SheetSteps::Each(each) => (None, Some(each)),
    };
    SheetSpread { limit: it.limit, steps, each }
}

fn run(it: sheet::SheetRun) -> SheetRun {
    let limit = it.limit.map(|(side, name, text)| SheetLimit {
        name: name.to_owned(),
        is_upper: side == Side::Upper,
        text,
    });
    SheetRun {
        from: it.from,
        to: it.to,
        verdict: verdict(it.verdict),
        before: it.before,
        after: it.after,
        limit,
        last_pass: it.last_pass,
    }
}
