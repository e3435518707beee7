//! The page of `sheet`: what a page at the bench needs to take readings and judge them by itself.
//!
//! A form to be filled in has another shape than a page to be read, so it is no tree of blocks: texts and
//! numbers of steps, which the renderer puts into one file together with its script.

use super::{Text, words};
use crate::record::{Point, Record, Section, Sheet, SheetRun};
use serde::{Serialize, Serializer};

/// All that the page shows and judges by.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct BenchSheet {
    /// The title.
    pub title: Text,
    /// What is measured, and how it is decided, one sentence each.
    pub head: Vec<Text>,
    /// What kept the numbers from being as they should, and what to bear in mind.
    pub notes: Vec<Text>,
    /// The file name of the budget, for the worksheet.
    pub budget: String,
    /// The SHA-256 of the budget's bytes; empty where it is not known.
    pub sha256: String,
    /// The program and its version.
    pub program: String,
    /// The unit of readings; empty for plain numbers.
    pub unit: Text,
    /// The display step in that unit.
    pub step: String,
    /// The unit of the measurand; empty for plain numbers.
    pub value_unit: Text,
    /// The points that are judged.
    pub points: Vec<BenchPoint>,
    /// The points without tolerance.
    pub left_out: Vec<Text>,
}

/// A point of the page.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct BenchPoint {
    /// What it is called.
    pub name: Text,
    /// What a worksheet calls it.
    pub key: String,
    /// Its tolerance.
    pub tolerance: Text,
    /// The reading n at its value, or the next one below.
    pub start: i64,
    /// Runs of readings, from low to high.
    pub runs: Vec<BenchRun>,
    /// Base, change by a step, their decimals, the fewest decimals, whether there are plus signs.
    pub line: Option<(String, String, u32, u32, bool)>,
    /// The first reading that has a value in the list, and the values.
    pub list: Option<(i64, Vec<String>)>,
    /// How far its readings may lie apart.
    pub spread: Option<BenchSpread>,
}

/// How far readings of a point may lie apart: in the measurand; the most steps, or from each listed reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct BenchSpread {
    /// The greatest difference, with its unit.
    pub limit: Text,
    /// The most steps from the lowest reading to the highest.
    pub steps: Option<i64>,
    /// The same from each of the listed readings.
    pub each: Option<Vec<i64>>,
}

/// A run of readings with one verdict and one sentence.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct BenchRun {
    /// The lowest reading.
    pub from: Option<i64>,
    /// The highest reading.
    pub to: Option<i64>,
    /// The verdict.
    pub verdict: &'static str,
    /// The sentence before the value.
    pub before: Text,
    /// The sentence after the value.
    pub after: Text,
    /// The limit: its name, whether it is the upper one, its number.
    pub limit: Option<(String, bool, String)>,
    /// The last reading that passes on this side.
    pub last: Option<i64>,
}

/// Returns the page of a `sheet` record; `None` without a section that has one.
pub fn page(record: &Record) -> Option<BenchSheet> {
    let section = record.sections.first()?;
    let file = record.files.first();
    let path = file.map_or("", |it| it.path.as_str());
    let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
    let is_judged = |it: &&Point| it.sheet.is_some();
    let step = section.points.iter().find_map(|it| it.sheet.as_ref())?.step.clone();
    let left_out = section.points.iter().filter(|it| it.sheet.is_none());
    Some(BenchSheet {
        title: words::budget_title(section).into(),
        head: head(section),
        notes: notes(record),
        budget: name.to_owned(),
        sha256: file.map(|it| it.sha256.clone()).unwrap_or_default(),
        program: format!("{} {}", record.program.name, record.program.version),
        unit: unit(section.display.as_ref().map_or("", |it| &it.unit)),
        step,
        value_unit: unit(&section.budget.measurand.unit),
        points: section
            .points
            .iter()
            .filter(is_judged)
            .filter_map(|it| point(section, it))
            .collect(),
        left_out: left_out.map(|it| words::point_name(it).into()).collect(),
    })
}

fn head(section: &Section) -> Vec<Text> {
    let mut sentences = vec![words::measurand(section)];
    if let Some(display) = &section.display {
        sentences.push(format!("Readings in {}, display step {}", display.unit, display.text));
    }
    sentences.extend(words::common_tolerance(section).map(|it| format!("Tolerance {it}")));
    sentences.extend(words::decision_asked(section).map(capital));
    sentences.into_iter().map(Text::from).collect()
}

/// The findings, and the cautions of every page.
fn notes(record: &Record) -> Vec<Text> {
    let finding = |it: &crate::record::Finding| {
        let about = it.about.as_ref().map(|it| format!("{it}: ")).unwrap_or_default();
        Text::from(format!("{about}{}", it.message))
    };
    let mut notes: Vec<Text> = record.findings.iter().map(finding).collect();
    if let super::Block::Cautions(cautions) = words::cautions() {
        notes.extend(cautions);
    }
    notes
}

fn capital(text: String) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |it| it.to_uppercase().chain(chars).collect())
}

fn unit(text: &str) -> Text {
    if text == "1" { Text::default() } else { text.into() }
}

fn point(section: &Section, point: &Point) -> Option<BenchPoint> {
    let Sheet { start, runs, line, list, spread, .. } = point.sheet.as_ref()?;
    let at = point.at.as_ref().map(|it| it.text.clone());
    let line = line.as_ref();
    Some(BenchPoint {
        name: words::point_name(point).into(),
        key: point.label.clone().or(at).unwrap_or_else(|| section.budget.measurand.symbol.clone()),
        tolerance: point.tolerance.as_ref().map_or("", |it| it.text.as_str()).into(),
        start: *start,
        runs: runs.iter().map(run).collect(),
        line: line.map(|it| (it.base.clone(), it.per_step.clone(), it.scale, it.least, it.signed)),
        list: list.as_ref().map(|it| (it.first, it.texts.clone())),
        spread: spread.as_ref().map(|it| BenchSpread {
            limit: it.limit.as_str().into(),
            steps: it.steps,
            each: it.each.clone(),
        }),
    })
}

fn run(it: &SheetRun) -> BenchRun {
    let limit = it.limit.as_ref();
    BenchRun {
        from: it.from,
        to: it.to,
        verdict: it.verdict.word(),
        before: it.before.as_str().into(),
        after: it.after.as_str().into(),
        limit: limit.map(|it| (it.name.clone(), it.is_upper, it.text.clone())),
        last: it.last_pass,
    }
}

impl Serialize for Text {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.as_str())
    }
}
