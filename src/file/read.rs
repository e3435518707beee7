//! From the bytes of a file to the parts of a budget or a worksheet, with all faults of structure.
//!
//! The YAML tree is held against the [table of keys](super::keys); then the rules between keys that
//! the table cannot say are looked at and the parts are filled. Texts are taken over as they are.
//! Parts are delivered even where there are faults, so that the next stage can add its own.

use std::collections::BTreeSet;

use super::check::Checker;
use super::fields::{Fields, Value};
use super::keys::{BUDGET, Keys, WORKSHEET};
use super::plain;
use super::read_contributor::contributor;
use super::read_data;
use super::read_decision::{decision, tolerance};
use super::read_population;
use super::read_results;
use super::read_worksheet::worksheet_parts;
use super::source::Source;
use super::yaml::{self, Content, Entry, Node};
use crate::budget::parts::{
    BudgetParts, CoverageParts, LinkParts, MeasurandParts, PointParts, PointsParts,
    PopulationParts, Text, WorksheetParts,
};
use crate::fault::{Fault, Origin};

/// The version of the format that is read.
pub const VERSION: u32 = 1;

/// What came out of a file.
#[derive(Debug, Clone)]
pub struct Reading<T> {
    /// The file's text and places.
    pub source: Source,
    /// What is in it, as complete as its faults allow; `None` where nothing sensible can be told.
    pub parts: Option<T>,
    /// All faults of structure, in the order of their places.
    pub faults: Vec<Fault>,
    /// The nodes that a comment follows.
    commented: BTreeSet<u32>,
}

/// What a file is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A budget: `surebound: 1`.
    Budget,
    /// A worksheet: `surebound_worksheet: 1`.
    Worksheet,
}

/// A file of either kind.
#[derive(Debug, Clone)]
pub enum AnyReading {
    /// A budget.
    Budget(Box<Reading<BudgetParts>>),
    /// A worksheet.
    Worksheet(Box<Reading<WorksheetParts>>),
}

impl<T> Reading<T> {
    /// Adds to each fault inside a value that a comment follows that ` #` starts a comment.
    /// For the faults of later stages; those of the reading have it already.
    pub fn with_comment_help(&self, faults: &mut [Fault]) {
        for fault in faults.iter_mut() {
            if self.commented.contains(&fault.origin.id()) {
                plain::add_comment_help(fault);
            }
        }
    }
}

/// Reads a budget.
pub fn budget(name: &str, bytes: &[u8]) -> Reading<BudgetParts> {
    let (source, tree) = yaml::read(name, bytes);
    reading(source, tree, Kind::Budget, budget_parts)
}

/// Reads a worksheet.
pub fn worksheet(name: &str, bytes: &[u8]) -> Reading<WorksheetParts> {
    let (source, tree) = yaml::read(name, bytes);
    reading(source, tree, Kind::Worksheet, worksheet_parts)
}

/// Reads a budget or a worksheet, whichever the file is; see [`kind`].
pub fn any(name: &str, bytes: &[u8]) -> AnyReading {
    let (source, tree) = yaml::read(name, bytes);
    match tree.as_ref().map_or(Kind::Budget, kind) {
        Kind::Budget => {
            AnyReading::Budget(Box::new(reading(source, tree, Kind::Budget, budget_parts)))
        }
        Kind::Worksheet => {
            let reading = reading(source, tree, Kind::Worksheet, worksheet_parts);
            AnyReading::Worksheet(Box::new(reading))
        }
    }
}

/// Returns what a file is about: by the key of the version, without one by the other keys, and a
/// budget where nothing tells.
pub fn kind(root: &Node) -> Kind {
    let Content::Mapping(entries) = &root.content else { return Kind::Budget };
    let has = |keys: &Keys, all: bool| {
        let count = if all { keys.keys.len() } else { 1 };
        entries.iter().any(|entry| keys.keys[..count].iter().any(|key| key.name == entry.key))
    };
    match (has(&BUDGET, false), has(&WORKSHEET, false)) {
        (true, _) => Kind::Budget,
        (false, true) => Kind::Worksheet,
        (false, false) if has(&WORKSHEET, true) && !has(&BUDGET, true) => Kind::Worksheet,
        (false, false) => Kind::Budget,
    }
}

impl Kind {
    /// Returns the keys of the outermost map.
    pub(super) fn keys(self) -> &'static Keys {
        match self {
            Kind::Budget => &BUDGET,
            Kind::Worksheet => &WORKSHEET,
        }
    }

    fn other(self) -> Kind {
        match self {
            Kind::Budget => Kind::Worksheet,
            Kind::Worksheet => Kind::Budget,
        }
    }

    fn version_key(self) -> &'static str {
        self.keys().keys[0].name
    }
}

fn reading<T>(
    source: Source,
    tree: Result<Node, Vec<Fault>>,
    kind: Kind,
    fill: fn(&mut Checker, &Fields) -> Option<T>,
) -> Reading<T> {
    let root = match tree {
        Ok(root) => root,
        Err(faults) => {
            return Reading { source, parts: None, faults, commented: BTreeSet::new() };
        }
    };
    let mut commented = BTreeSet::new();
    note_comments(&root, &mut commented);
    let mut checker = Checker::default();
    let parts = match entries(&root, kind, source.name()) {
        Ok(entries) => {
            let name = format!("the {}", kind.keys().name);
            let fields = checker.map(entries, root.origin, &name, kind.keys());
            version(&mut checker, &fields, kind);
            fill(&mut checker, &fields)
        }
        Err(fault) => {
            checker.fault(fault);
            None
        }
    };
    let mut faults = checker.faults;
    faults.sort_by_key(|fault| source.place(fault.origin));
    let mut reading = Reading { source, parts, faults: Vec::new(), commented };
    reading.with_comment_help(&mut faults);
    reading.faults = faults;
    reading
}

fn note_comments(node: &Node, commented: &mut BTreeSet<u32>) {
    match &node.content {
        Content::Scalar(scalar) if scalar.comment_follows => {
            commented.insert(node.origin.id());
        }
        Content::Scalar(_) => {}
        Content::Sequence(items) => items.iter().for_each(|item| note_comments(item, commented)),
        Content::Mapping(entries) => {
            entries.iter().for_each(|entry| note_comments(&entry.value, commented));
        }
    }
}

/// Returns the entries of a file of the right kind and of a version that is no later one.
fn entries<'a>(root: &'a Node, kind: Kind, name: &str) -> Result<&'a [Entry], Fault> {
    let (word, key) = (kind.keys().name, kind.version_key());
    let Content::Mapping(entries) = &root.content else {
        let fault = Fault::new(root.origin, format!("the file holds no {word}"));
        return Err(fault.rule("a map is expected").help(format!("begin with `{key}: {VERSION}`")));
    };
    let find = |key: &str| entries.iter().find(|entry| entry.key == key);
    let other = kind.other();
    if let (None, Some(entry)) = (find(key), find(other.version_key())) {
        let what = format!("the file holds a {}", other.keys().name);
        let fault = Fault::new(entry.key_origin, what).rule(format!("a {word} is expected"));
        let help = match kind {
            Kind::Budget => format!("surebound judge {name}"),
            Kind::Worksheet => format!("surebound show {name}"),
        };
        return Err(fault.help(help));
    }
    let Some(Entry { value, .. }) = find(key) else { return Ok(entries) };
    match &value.content {
        Content::Scalar(scalar) if is_later(&scalar.text) => {
            let what = format!("`{key}: {}` is a later version of the format", scalar.text);
            let rule = format!("this program reads version {VERSION}");
            Err(Fault::new(value.origin, what)
                .rule(rule)
                .help("use a later version of the program"))
        }
        _ => Ok(entries),
    }
}

fn is_later(text: &str) -> bool {
    let text = text.trim();
    let digits = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    digits && !text.starts_with('0') && text != VERSION.to_string()
}

fn version(checker: &mut Checker, fields: &Fields, kind: Kind) {
    let key = kind.version_key();
    let Some(text) = fields.text(key) else { return };
    if text.text != VERSION.to_string() {
        let what = format!("`{}` is no version of the format", text.text);
        let fault = Fault::new(text.origin, what);
        let fault = fault.rule(format!("this program reads version {VERSION}"));
        checker.fault(fault.help(format!("write `{key}: {VERSION}`")));
    }
}

fn budget_parts(checker: &mut Checker, fields: &Fields) -> Option<BudgetParts> {
    let measurand = fields.map("measurand").and_then(measurand);
    let points = fields.map("points").map(|points| points_parts(checker, points));
    let contributors = fields.items("contributors").iter().filter_map(Value::map);
    let contributors: Vec<_> = contributors.filter_map(|one| contributor(checker, one)).collect();
    let tolerance = fields.value("tolerance").and_then(|value| tolerance(checker, value));
    let observations = fields.items("observations").iter().filter_map(Value::map);
    let lines = fields.items("lines").iter().filter_map(Value::map);
    Some(BudgetParts {
        origin: fields.origin,
        title: fields.text("title").unwrap_or_else(missing),
        document: fields.map("document").map(Fields::rest_texts).unwrap_or_default(),
        measurand: measurand?,
        points: match (points, fields.has("points")) {
            (Some(points), _) => Some(points?),
            (None, true) => return None,
            (None, false) => None,
        },
        model: fields.text("model"),
        estimates: fields.map("estimates").map(Fields::rest_texts).unwrap_or_default(),
        contributors,
        results: fields
            .items("results")
            .iter()
            .filter_map(Value::map)
            .filter_map(read_results::result)
            .collect(),
        observations: observations.filter_map(read_data::observations).collect(),
        lines: lines.filter_map(|it| read_data::line(checker, it)).collect(),
        linked: fields.items("linked").iter().filter_map(Value::map).filter_map(link).collect(),
        units: fields.texts("units"),
        order: fields.text("order"),
        coverage: fields.map("coverage").map(coverage).unwrap_or_default(),
        rounding_digits: fields.map("rounding").and_then(|map| map.text("digits")),
        display_step: fields.map("display").and_then(|map| map.text("step")),
        tolerance,
        decision: fields.map("decision").and_then(decision),
        repeatability: fields.text("repeatability"),
        population: fields.map("population").and_then(|it| population(checker, it)),
        incomplete: checker.incomplete,
    })
}

/// Returns the population; what does not go with its kind is a fault.
fn population(checker: &mut Checker, fields: &Fields) -> Option<PopulationParts> {
    for (name, with, origin) in read_population::strays(fields) {
        let fault = Fault::new(origin, format!("`{name}` has no use here"));
        let rule = format!("`{name}` goes with `{with}`");
        checker.fault(fault.rule(rule).help(format!("leave `{name}` out")));
    }
    read_population::population(fields)
}

/// What stands for a title or a name that is missing, until its fault is seen to.
pub(super) fn missing() -> Text {
    Text::new("(missing)", Origin::NONE)
}

/// Nothing can be told about a budget whose measurand has no symbol or no unit.
fn measurand(fields: &Fields) -> Option<MeasurandParts> {
    let bound = |side: &str| fields.map("bounds").and_then(|map| map.text(side));
    Some(MeasurandParts {
        symbol: fields.text("symbol")?,
        name: fields.text("name").unwrap_or_else(missing),
        definition: fields.text("definition"),
        unit: fields.text("unit")?,
        lower_bound: bound("lower"),
        upper_bound: bound("upper"),
    })
}

/// Nothing can be told about points without symbol or unit, or of which none is right.
fn points_parts(checker: &mut Checker, fields: &Fields) -> Option<PointsParts> {
    let at: Vec<PointParts> =
        fields.items("at").iter().filter_map(|value| point(checker, value)).collect();
    if at.is_empty() {
        return None;
    }
    Some(PointsParts { symbol: fields.text("symbol")?, unit: fields.text("unit")?, at })
}

fn point(checker: &mut Checker, value: &Value) -> Option<PointParts> {
    let fields = match value {
        Value::Text(at) => {
            return Some(PointParts { origin: at.origin, at: at.clone(), ..PointParts::default() });
        }
        Value::List(..) => return None,
        Value::Map(fields) => fields,
    };
    let mut keys = fields.rest_texts();
    if fields.has("stack")
        && let Some((joints, _)) = keys.iter().find(|(key, _)| key.text == "joints")
    {
        let fault = Fault::new(joints.origin, "`joints` beside `stack`");
        let fault = fault.rule("a stack has one joint less than blocks");
        checker.fault(fault.help("leave `joints` out"));
        keys.retain(|(key, _)| key.text != "joints");
    }
    let stack = match fields.value("stack") {
        Some(Value::List(origin, _)) => Some((*origin, fields.texts("stack"))),
        _ => None,
    };
    Some(PointParts {
        origin: fields.origin,
        at: fields.text("at")?,
        label: fields.text("label"),
        tolerance: fields.value("tolerance").and_then(|value| tolerance(checker, value)),
        stack,
        keys,
    })
}

fn link(fields: &Fields) -> Option<LinkParts> {
    let between = fields.texts("between");
    let link = LinkParts { origin: fields.origin, between, r: fields.text("r")? };
    (!link.between.is_empty()).then_some(link)
}

fn coverage(fields: &Fields) -> CoverageParts {
    CoverageParts {
        probability: fields.text("probability"),
        method: fields.text("method"),
        k: fields.text("k"),
        dof: fields.text("dof"),
    }
}
