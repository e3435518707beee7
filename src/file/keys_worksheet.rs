//! The rows of the [table of keys](super::keys) for a worksheet.

use super::keys::{Choice, Form, Key, Keys};
use Form::{List, Map, Name, Number, Text, Word};

/// The outermost map of a worksheet file.
pub static WORKSHEET: Keys = Keys {
    name: "worksheet",
    doc: "The readings of one instrument, to be judged against one or more budgets.",
    keys: &[
        Key::new("surebound_worksheet", &[Number], "Version of the format", "surebound_worksheet: 1")
            .required(),
        Key::new(
            "instrument",
            &[Map(&INSTRUMENT)],
            "The instrument under test",
            "instrument: {id: M-118, description: Outside micrometer 0 mm to 25 mm}",
        )
        .required(),
        Key::new("date", &[Text], "Date of the readings", "date: 2026-11-20"),
        Key::new(
            "checks",
            &[List(&[Map(&CHECK)])],
            "Looks and function",
            "checks: [{what: Measuring faces clean and undamaged, ok: true}]",
        ),
        Key::new(
            "zero",
            &[Number, List(&[Number])],
            "Repeated zero settings; one that does not repeat within a step is a finding",
            "zero: [0.000, 0.000, 0.000]",
        )
        .unit("the points'"),
        Key::new(
            "sections",
            &[List(&[Map(&SECTION)])],
            "The readings, one section a budget",
            "sections: [{budget: outside-micrometer.yaml, readings: {2.5: 2.500, 5.1: [5.101, 5.100]}}]",
        )
        .required(),
    ],
    choice: Choice::Free,
    rest: None,
};

static INSTRUMENT: Keys = Keys {
    name: "instrument",
    doc: "The instrument under test: `id`, and any other keys that reports carry along.",
    keys: &[Key::new("id", &[Name], "What identifies it", "id: M-118").required()],
    choice: Choice::Free,
    rest: Some(Key::new("any other key", &[Text], "Text", "maker: unknown")),
};

static CHECK: Keys = Keys {
    name: "check",
    doc: "One look at the instrument or its function.",
    keys: &[
        Key::new("what", &[Text], "What was looked at", "what: Measuring faces undamaged")
            .required(),
        Key::new(
            "ok",
            &[Word(&["true", "false", "not applicable"])],
            "Whether it was right; `false` fails the instrument",
            "ok: true",
        )
        .required(),
    ],
    choice: Choice::Free,
    rest: None,
};

static SECTION: Keys = Keys {
    name: "section",
    doc: "The readings that belong to one budget.",
    keys: &[
        Key::new(
            "budget",
            &[Name],
            "File of the budget, relative to the worksheet",
            "budget: outside-micrometer.yaml",
        )
        .required(),
        Key::new(
            "readings",
            &[Map(&VALUES)],
            "What the instrument showed, by point",
            "readings: {2.5: 2.500, 5.1: [5.101, 5.100]}",
        )
        .unit("the points'"),
        Key::new(
            "errors",
            &[Map(&VALUES)],
            "Errors instead of readings, where the model is `reading` minus something",
            "errors: {2.5: 0, 5.1: [1, 0]}",
        )
        .unit("the measurand's"),
        Key::new(
            "take",
            &[Word(&["worst", "mean", "last"])],
            "Which of several readings at a point is reported; all are judged",
            "take: worst",
        )
        .default("worst"),
    ],
    choice: Choice::ExactlyOne(&["readings", "errors"]),
    rest: None,
};

static VALUES: Keys = Keys {
    name: "values",
    doc: "Points (value or label; the measurand's symbol where the budget has a single result) and what was read there.",
    keys: &[],
    choice: Choice::Free,
    rest: Some(Key::new(
        "any point",
        &[Number, List(&[Number])],
        "One value, or a list of several",
        "2.5: 2.500",
    )),
};
