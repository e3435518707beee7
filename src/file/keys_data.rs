//! The rows of the [table of keys](super::keys) for data that several inputs come from together:
//! simultaneous readings and calibration lines.
//!
//! Sources: JCGM 100:2008, 5.2.3 and H.2 (simultaneous readings), H.3 (line).

use super::keys::{Choice, Form, Key, Keys};
use Form::{List, Name, Number, Text, Word};

/// One block of simultaneous readings.
pub static OBSERVATIONS: Keys = Keys {
    name: "observations",
    doc: "A block of simultaneous readings of several inputs (JCGM 100, 5.2.3).",
    keys: &[
        Key::new("inputs", &[List(&[Name])], "The inputs, one a column", "inputs: [V, I]")
            .required(),
        Key::new("units", &[List(&[Name])], "Their units", "units: [V, mA]").required(),
        Key::new(
            "rows",
            &[List(&[List(&[Number])])],
            "The readings, one list a row; two rows or more",
            "rows: [[5.007, 19.663], [4.994, 19.639]]",
        )
        .required(),
        NAME.default("Observations"),
        OWNER,
        BASIS,
        DUE,
        NOTE,
    ],
    choice: Choice::Free,
    rest: None,
};

/// One calibration line.
pub static LINE: Keys = Keys {
    name: "line",
    doc: "A straight line y = intercept + slope·(x − x_from) through calibration data, by least squares (JCGM 100, H.3).",
    keys: &[
        NAME.example("name: Correction of the thermometer").required(),
        Key::new("intercept", &[Name], "The input that takes the intercept", "intercept: b0")
            .required(),
        Key::new("slope", &[Name], "The input that takes the slope", "slope: b1").required(),
        Key::new(
            "residual",
            &[Name],
            "The input that takes the scatter of one later observation about the line (estimate 0)",
            "residual: e",
        ),
        Key::new("x_values", &[List(&[Number])], "The abscissae, taken as exact", "x_values: [10, 20, 30]")
            .required()
            .unit("`x_unit`"),
        Key::new("x_unit", &[Name], "Their unit", "x_unit: °C").required(),
        Key::new("x_from", &[Number], "The abscissa at which the intercept is taken", "x_from: 20")
            .default("0")
            .unit("`x_unit`"),
        Key::new("y_values", &[List(&[Number])], "The ordinates", "y_values: [0.1, 0.2, 0.2]")
            .required()
            .unit("`y_unit`"),
        Key::new("y_unit", &[Name], "Their unit", "y_unit: °C").required(),
        Key::new(
            "y_uncertainty",
            &[Number, List(&[Number])],
            "Known standard uncertainties of the ordinates: one for all, or one each; without it the residuals tell",
            "y_uncertainty: 0.05",
        )
        .unit("`y_unit`"),
        Key::new(
            "y_weights",
            &[List(&[Number])],
            "Relative weights of the ordinates; the residuals tell the scatter",
            "y_weights: [1, 4, 1]",
        ),
        OWNER,
        BASIS,
        DUE,
        NOTE,
    ],
    choice: Choice::Free,
    rest: None,
};

const NAME: Key = Key::new("name", &[Name], "Its name in reports", "name: Simultaneous readings");

const OWNER: Key = Key::new(
    "owner",
    &[Word(&["laboratory", "instrument"])],
    "Who answers for it",
    "owner: laboratory",
)
.default("laboratory");

const BASIS: Key = Key::new("basis", &[Text], "The document behind it", "basis: Record 2291");

const DUE: Key = Key::new("due", &[Name], "When the basis is due: YYYY-MM-DD", "due: 2027-03-01");

const NOTE: Key = Key::new("note", &[Text], "A note, carried to reports", "note: Read by two");
