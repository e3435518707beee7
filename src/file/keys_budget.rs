//! The rows of the [table of keys](super::keys) for the budget itself: measurand, points, estimates,
//! coverage and the smaller maps.
//!
//! Sources: JCGM 100 and JCGM 101 by clause; rounding after EA-4/02 and ILAC-P14.

use super::keys::{Choice, Form, Key, Keys};
use super::keys_contributor::CONTRIBUTOR;
use super::keys_data::{LINE, OBSERVATIONS};
use super::keys_decision::{DECISION, TOLERANCE};
use super::keys_population::POPULATION;
use super::keys_results::RESULT;
use Form::{Expression, List, Map, Name, Number, Quantity, Text, Word};

/// The outermost map of a budget file.
pub static BUDGET: Keys = Keys {
    name: "budget",
    doc: "One measurand, its model, contributors, test points and decision rule.",
    keys: &[
        Key::new("surebound", &[Number], "Version of the format", "surebound: 1").required(),
        Key::new("title", &[Text], "What the budget is for", "title: Outside micrometer 0 mm to 25 mm")
            .required(),
        Key::new(
            "document",
            &[Map(&DOCUMENT)],
            "Particulars that reports carry along",
            "document: {number: CP-031, revision: B, date: 2026-11-02}",
        ),
        Key::new(
            "measurand",
            &[Map(&MEASURAND)],
            "The quantity intended to be measured (JCGM 100, 4.1)",
            "measurand: {symbol: E, name: Error of indication, unit: µm}",
        )
        .required(),
        Key::new(
            "points",
            &[Map(&POINTS)],
            "The test points; without them the budget has a single result",
            "points: {symbol: L, unit: mm, at: [2.5, 5.1, 10.3, 25]}",
        ),
        Key::new(
            "model",
            &[Expression],
            "The measurand as a function of the inputs; `reading` is what the instrument shows (JCGM 100, 4.1.1)",
            "model: reading - block",
        )
        .default("`reading - SYMBOL` with points, `reading` without")
        .unit("the measurand's"),
        Key::new(
            "results",
            &[List(&[Map(&RESULT)])],
            "Further quantities from the same inputs, with covariances (JCGM 102, 6)",
            "results: [{symbol: E_rel, name: Relative error, unit: µm/m, model: E / L}]",
        ),
        Key::new(
            "estimates",
            &[Map(&ESTIMATES)],
            "Best estimates of the inputs (JCGM 100, 4.1.4)",
            "estimates: {block: L}",
        ),
        Key::new(
            "contributors",
            &[List(&[Map(&CONTRIBUTOR)])],
            "The reasons why the result may be off",
            "contributors: [{name: Digital step, owner: instrument, step: 1 µm}]",
        ),
        Key::new(
            "observations",
            &[List(&[Map(&OBSERVATIONS)])],
            "Simultaneous readings of several inputs: means, uncertainties, correlations (JCGM 100, 5.2.3)",
            "observations: [{inputs: [V, I], units: [V, mA], rows: [[5.007, 19.663], [4.994, 19.639]]}]",
        ),
        Key::new(
            "lines",
            &[List(&[Map(&LINE)])],
            "Straight lines through calibration data: intercept and slope as two correlated inputs (JCGM 100, H.3)",
            "lines: [{name: Correction, intercept: b0, slope: b1, x_values: [10, 20, 30], x_unit: °C, y_values: [0.1, 0.2, 0.2], y_unit: °C}]",
        ),
        Key::new(
            "linked",
            &[List(&[Map(&LINK)])],
            "Correlations between contributors (JCGM 100, 5.2.2)",
            "linked: [{between: [Reference A, Reference B], r: 0.8}]",
        ),
        Key::new(
            "units",
            &[List(&[Name])],
            "Units of the budget's own, each its own dimension",
            "units: [HRC]",
        ),
        Key::new(
            "order",
            &[Word(&["first", "second", "auto"])],
            "Order of the law of propagation; `auto`: second where it changes u by 1 % or more (JCGM 100, 5.1.2)",
            "order: auto",
        )
        .default("auto"),
        Key::new(
            "coverage",
            &[Map(&COVERAGE)],
            "How the expanded uncertainty is found (JCGM 100, 6 and G)",
            "coverage: {probability: 95.45 %, method: t}",
        ),
        Key::new(
            "rounding",
            &[Map(&ROUNDING)],
            "How the result is rounded (EA-4/02; ILAC-P14)",
            "rounding: {digits: 2}",
        ),
        Key::new(
            "display",
            &[Map(&DISPLAY)],
            "What the instrument can show",
            "display: {step: 1 µm}",
        ),
        Key::new("tolerance", TOLERANCE, "Limits of permissible error, may use the point's symbol", "tolerance: ±4 µm")
            .unit("the measurand's"),
        Key::new(
            "decision",
            &[Map(&DECISION)],
            "How readings are judged (JCGM 106)",
            "decision: {rule: guarded, uncertainty: all}",
        ),
        Key::new(
            "repeatability",
            &[Expression],
            "Greatest difference between the largest and the smallest reading at a point (common practice)",
            "repeatability: 1 µm",
        )
        .unit("the measurand's"),
        Key::new(
            "population",
            &[Map(&POPULATION)],
            "What is known of such instruments before the reading (JCGM 106, 9.5)",
            "population: {in_tolerance: 95 %, as: actual}",
        ),
    ],
    choice: Choice::AtLeastOne(&["contributors", "observations", "lines"]),
    rest: None,
};

static DOCUMENT: Keys = Keys {
    name: "document",
    doc: "Particulars that reports carry along: any keys.",
    keys: &[],
    choice: Choice::Free,
    rest: Some(Key::new("any key", &[Text], "Text", "number: CP-031")),
};

static MEASURAND: Keys = Keys {
    name: "measurand",
    doc: "The quantity intended to be measured (JCGM 100, 4.1).",
    keys: &[
        Key::new("symbol", &[Name], "Its symbol", "symbol: E").required(),
        Key::new("name", &[Name], "Its name", "name: Error of indication").required(),
        Key::new(
            "definition",
            &[Text],
            "What exactly is meant (JCGM 100, D.1)",
            "definition: Indicated length minus length of the gauge block, both at 20 °C",
        ),
        Key::new("unit", &[Name], "Unit of the result; `1` where it has no dimension", "unit: µm")
            .required(),
        Key::new(
            "bounds",
            &[Map(&BOUNDS)],
            "Values that it cannot pass by its nature",
            "bounds: {lower: 0 µm}",
        ),
    ],
    choice: Choice::Free,
    rest: None,
};

static BOUNDS: Keys = Keys {
    name: "bounds",
    doc: "Values that the measurand cannot pass by its nature.",
    keys: &[
        Key::new("lower", &[Quantity], "Smallest possible value", "lower: 0 µm")
            .unit("the measurand's"),
        Key::new("upper", &[Quantity], "Greatest possible value", "upper: 1 mm")
            .unit("the measurand's"),
    ],
    choice: Choice::AtLeastOne(&["lower", "upper"]),
    rest: None,
};

static POINTS: Keys = Keys {
    name: "points",
    doc: "The values at which the instrument is tested.",
    keys: &[
        Key::new("symbol", &[Name], "Name that expressions use for the point's value", "symbol: L")
            .required(),
        Key::new("unit", &[Name], "Unit of the points and of readings", "unit: mm").required(),
        Key::new(
            "at",
            &[List(&[Number, Map(&POINT)])],
            "The points, ascending; a value that occurs twice needs a `label`",
            "at: [2.5, 5.1, {at: 25, label: upper end}]",
        )
        .required()
        .unit("`unit`"),
    ],
    choice: Choice::Free,
    rest: None,
};

/// One point as a map.
pub static POINT: Keys = Keys {
    name: "point",
    doc: "One test point as a map.",
    keys: &[
        Key::new("at", &[Number], "Its value", "at: 25").required().unit("that of `points`"),
        Key::new("label", &[Name], "Its name in worksheets and reports", "label: upper end"),
        Key::new("tolerance", TOLERANCE, "Tolerance at this point", "tolerance: ±3 µm")
            .default("the budget's")
            .unit("the measurand's"),
        Key::new(
            "stack",
            &[List(&[Quantity])],
            "Gauge blocks that add up to `at` exactly",
            "stack: [1.005 mm, 8 mm]",
        )
        .unit("a length"),
    ],
    choice: Choice::Free,
    rest: Some(Key::new(
        "any other key",
        &[Quantity],
        "A number or quantity for expressions; an entry of `estimates` with the same name is its default",
        "joints: 1",
    )),
};

static ESTIMATES: Keys = Keys {
    name: "estimates",
    doc: "Best estimates of the model's inputs (JCGM 100, 4.1.4).",
    keys: &[],
    choice: Choice::Free,
    rest: Some(Key::new(
        "any name",
        &[Expression],
        "Expression over the point's symbol, its other keys and other inputs",
        "block: L",
    )),
};

static LINK: Keys = Keys {
    name: "link",
    doc: "The correlation of two contributors (JCGM 100, 5.2.2).",
    keys: &[
        Key::new(
            "between",
            &[List(&[Name])],
            "The names of the two contributors",
            "between: [Reference A, Reference B]",
        )
        .required(),
        Key::new("r", &[Number], "Their correlation coefficient, −1 to 1", "r: 0.8").required(),
    ],
    choice: Choice::Free,
    rest: None,
};

static COVERAGE: Keys = Keys {
    name: "coverage",
    doc: "How the expanded uncertainty is found (JCGM 100, 6 and G).",
    keys: &[
        Key::new(
            "probability",
            &[Quantity],
            "Coverage probability (JCGM 100, 6.2.2)",
            "probability: 95.45 %",
        )
        .default("95.45 %"),
        Key::new(
            "method",
            &[Word(&["t", "fixed", "exact", "monte_carlo"])],
            "Where the coverage factor comes from: Student's t (JCGM 100, G.4), `k`, or the distribution of the measurand: computed (`exact`) or simulated (JCGM 101, 7)",
            "method: t",
        )
        .default("t"),
        Key::new("k", &[Number], "The factor, with `method: fixed` (JCGM 100, 6.3)", "k: 2"),
        Key::new(
            "dof",
            &[Word(&["truncate", "interpolate"])],
            "What becomes of a fraction in the effective degrees of freedom (JCGM 100, G.4.1)",
            "dof: truncate",
        )
        .default("truncate"),
    ],
    choice: Choice::Free,
    rest: None,
};

static ROUNDING: Keys = Keys {
    name: "rounding",
    doc: "How the result is rounded (EA-4/02; ILAC-P14).",
    keys: &[Key::new("digits", &[Number], "Significant digits of U", "digits: 2").required()],
    choice: Choice::Free,
    rest: None,
};

static DISPLAY: Keys = Keys {
    name: "display",
    doc: "What the instrument can show.",
    keys: &[Key::new("step", &[Quantity], "Step of the display", "step: 1 µm")
        .unit("the reading's")
        .required()],
    choice: Choice::Free,
    rest: None,
};
