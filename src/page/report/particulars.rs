//! What stands around the figures of a report: what was measured, what is left to fill in, and the record
//! block.

use crate::page::{Block, Text, words};
use crate::record::{Kind, Record, Texts};

/// What ISO/IEC 17025:2017, 7.8.2 and 7.8.4, ask for and no figure says; keys of `instrument` or
/// `document`, and what they are called. A certificate's blank where neither has them.
const TO_FILL_IN: [(&str, &str); 8] = [
    ("customer", "customer and address"),
    ("received", "received on"),
    ("condition", "condition on arrival"),
    ("place", "place of calibration"),
    ("environment", "environment during calibration"),
    ("adjusted", "adjusted or repaired; results before and after"),
    ("issued", "date of issue"),
    ("authorised", "authorised by"),
];

type Pair = (Text, Text);

/// Returns the title: the instrument, or the budget.
pub(super) fn title(record: &Record) -> String {
    let budget = record.sections.first().map(words::budget_title).unwrap_or_default();
    match record.instrument.as_ref().and_then(|it| it.id.as_deref()) {
        Some(id) => format!("Calibration of {id}"),
        None if record.kind == Kind::Judge => format!("Judgement by {budget}"),
        None => budget,
    }
}

/// Returns what was measured, and by which budget.
pub(super) fn measured(record: &Record) -> Block {
    let mut pairs: Vec<Pair> = Vec::new();
    if let Some(instrument) = &record.instrument {
        let parts = [instrument.id.as_deref(), instrument.description.as_deref()];
        let text = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        pairs.push(("instrument".into(), text.into()));
    }
    if let Some(worksheet) = &record.worksheet {
        let further = further(&worksheet.instrument, &["id", "description"]);
        pairs.extend(further.into_iter().filter(|it| !is_to_fill_in(it.0.as_str())));
        let date = worksheet.date.as_deref().unwrap_or("not stated");
        pairs.push(("date of the readings".into(), date.into()));
    }
    for section in &record.sections {
        let measurand = &section.budget.measurand;
        let mut text = words::measurand(section);
        if let Some(definition) = &measurand.definition {
            text += &format!(": {definition}");
        }
        pairs.push(("measured".into(), text.into()));
        pairs.push(("budget".into(), words::budget_title(section).into()));
        let tolerance = words::common_tolerance(section).unwrap_or("none".into());
        pairs.push(("tolerance".into(), tolerance.into()));
    }
    Block::Pairs(pairs)
}

fn further(texts: &Texts, without: &[&str]) -> Vec<Pair> {
    let other = texts.0.iter().filter(|it| !without.contains(&it.0.as_str()));
    other.map(|(key, text)| (Text::from(key), Text::from(text))).collect()
}

fn is_to_fill_in(key: &str) -> bool {
    TO_FILL_IN.iter().any(|it| it.0 == key)
}

/// Returns what a certificate has to say beside the figures: given, or blank for the laboratory; nothing
/// where no instrument was judged.
pub(super) fn to_fill_in(record: &Record) -> Vec<Block> {
    let Some(worksheet) = &record.worksheet else { return Vec::new() };
    let of_document = |key: &str| {
        let document = record.sections.first().map(|it| &it.budget.document);
        document.and_then(|it| it.get(key)).map(str::to_owned)
    };
    let pair = |(key, name): (&str, &str)| -> Pair {
        let given = worksheet.instrument.get(key).map(str::to_owned).or_else(|| of_document(key));
        (name.into(), given.unwrap_or("_".repeat(24)).into())
    };
    let note = "The results hold for this instrument as it was when it was measured. What is blank is for the \
                laboratory to fill in.";
    vec![
        Block::Heading("For the laboratory".into()),
        Block::Pairs(TO_FILL_IN.into_iter().map(pair).collect()),
        Block::plain(note),
    ]
}

/// Returns document control, files with their digests, program and seed.
pub(super) fn record_block(record: &Record) -> Vec<Block> {
    let mut pairs: Vec<Pair> = Vec::new();
    for section in &record.sections {
        let list = further(&section.budget.document, &[]);
        let list: Vec<String> = list.iter().map(|(key, text)| format!("{key} {text}")).collect();
        if !list.is_empty() {
            pairs.push(("document".into(), list.join("; ").into()));
        }
    }
    for file in &record.files {
        let digest = format!("{} (SHA-256 {})", file.path, file.sha256);
        pairs.push(("file".into(), digest.into()));
    }
    let program = &record.program;
    pairs.push(("program".into(), format!("{} {}", program.name, program.version).into()));
    let seed = record
        .sections
        .iter()
        .flat_map(|it| &it.points)
        .find_map(|it| it.simulation.as_ref().map(|it| it.seed));
    pairs.extend(seed.map(|it| ("seed".into(), it.to_string().into())));
    pairs.dedup();
    vec![Block::Heading("Record".into()), Block::Pairs(pairs)]
}
