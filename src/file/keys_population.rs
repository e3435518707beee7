//! The rows of the [table of keys](super::keys) for what is known of such instruments before the reading.
//!
//! Source: JCGM 106:2012, 7.2 (prior) and 9.5 (risks over a population).

use super::keys::{Choice, Form, Key, Keys};
use Form::{Expression, List, Name, Number, PlusMinus, Quantity, Word};

/// `population`.
pub static POPULATION: Keys = Keys {
    name: "population",
    doc: "What is known of such instruments before the reading (JCGM 106, 9.5).",
    keys: &[
        Key::new(
            "in_tolerance",
            &[Quantity],
            "Share of instruments that are within tolerance; their errors are normal",
            "in_tolerance: 95 %",
        ),
        Key::new(
            "as",
            &[Word(&["actual", "observed"])],
            "Whether the share is of true errors or of measured ones; needed with `in_tolerance`",
            "as: actual",
        ),
        Key::new(
            "sd",
            &[Quantity],
            "Standard deviation of their true errors, which are normal",
            "sd: 0.7 µm",
        )
        .unit("the measurand's"),
        Key::new(
            "mean",
            &[Quantity],
            "Mean of their errors; needed with `sd`, and with `in_tolerance` where the tolerance is one-sided",
            "mean: 0 µm",
        )
        .default("the middle of the tolerance, with `in_tolerance`")
        .unit("the measurand's"),
        Key::new(
            "limits",
            &[PlusMinus, List(&[Expression])],
            "Limits that all their errors lie within",
            "limits: ±3 µm",
        )
        .unit("the measurand's"),
        Key::new(
            "shape",
            &[Word(&[
                "rectangular",
                "triangular",
                "trapezoidal",
                "arcsine",
            ])],
            "How they are spread within `limits`",
            "shape: triangular",
        )
        .default("rectangular"),
        Key::new("top", &[Number], "Width of the top over that of the base, with `shape: trapezoidal`", "top: 0.5"),
        Key::new(
            "history",
            &[Name],
            "CSV file with errors found on arrival (`error`, optionally `at`), relative to the budget",
            "history: as-found.csv",
        ),
        Key::new(
            "same_in_all",
            &[List(&[Name])],
            "Contributors whose value was the same in all past calibrations, with `history`",
            "same_in_all: [Reference A]",
        )
        .default("those of the laboratory with `certificate` or `block_grade`"),
        Key::new(
            "prior",
            &[Word(&["true", "false"])],
            "Whether the specific risk counts the population beside the reading (JCGM 106, 7.2)",
            "prior: true",
        )
        .default("false"),
    ],
    choice: Choice::ExactlyOne(&["in_tolerance", "sd", "limits", "history"]),
    rest: None,
};
