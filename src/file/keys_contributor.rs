//! The rows of the [table of keys](super::keys) for a contributor, its evidence and `thermal`.
//!
//! A key that several maps share is one constant. Sources: JCGM 100 and JCGM 101 by clause,
//! ISO 3650 and ASME B89.1.9 for gauge blocks; what has no source says so.

use super::keys::{Choice, Form, Key, Keys};
use Form::{Around, Expression, List, Map, Name, Number, PlusMinus, Quantity, Text, Word};

/// The kinds of evidence, in the order of the documentation.
pub const KINDS: &[&str] = &[
    "readings",
    "scatter",
    "limits",
    "full_range",
    "certificate",
    "standard_uncertainty",
    "step",
    "block_grade",
    "thermal",
];

/// The kinds of evidence that a part of `thermal` may have.
pub const PART_KINDS: &[&str] =
    &["readings", "scatter", "limits", "full_range", "certificate", "standard_uncertainty", "step"];

/// The keys that `thermal` takes beside it.
pub const BESIDE_THERMAL: &[&str] = &["name", "owner", "shared", "basis", "due", "note"];

const BUT_THERMAL: &[&str] = &[
    "readings",
    "scatter",
    "limits",
    "full_range",
    "certificate",
    "standard_uncertainty",
    "step",
    "block_grade",
];
const BUT_READINGS: &[&str] = &[
    "scatter",
    "limits",
    "full_range",
    "certificate",
    "standard_uncertainty",
    "step",
    "block_grade",
];
const SHAPED: &[&str] = &["limits", "full_range"];

const THERMAL_FORMS: &[Form] = &[Map(&THERMAL_KEYS)];
const USE_FORMS: &[Form] = &[Word(&["single", "result"]), Map(&USE_KEYS)];

const INPUT_UNIT: &str = "that of what it adds to";

const READINGS: Key = Key::new(
    "readings",
    &[List(&[Number, Quantity, List(&[Number, Quantity])])],
    "Evidence: repeated readings; s, s/√n or s/√n of all by `use`, t with n − 1 degrees of freedom (JCGM 100, 4.2); or a list for each of several groups, see `groups`",
    "readings: [0, 1, 0, 0, -1, 0, 0, 1, 0, 0]",
)
.unit("`unit`, or a unit at each reading");

const SCATTER: Key = Key::new(
    "scatter",
    &[Expression],
    "Evidence: standard deviation s of an earlier or pooled study, with its `dof` (JCGM 100, 4.2.4)",
    "scatter: 0.7 µm",
)
.unit(INPUT_UNIT);

const LIMITS: Key = Key::new(
    "limits",
    &[PlusMinus, List(&[Expression])],
    "Evidence: limits `±a` or `[lo, hi]`, with a `shape`; the midpoint of `[lo, hi]` is added to the estimate (JCGM 100, 4.3.7)",
    "limits: ±0.5 µm",
)
.unit(INPUT_UNIT);

const FULL_RANGE: Key = Key::new(
    "full_range",
    &[Expression],
    "Evidence: greatest less smallest value r, the same as `limits: ±r/2` (common practice, no source)",
    "full_range: 1 µm",
)
.unit(INPUT_UNIT);

const CERTIFICATE: Key = Key::new(
    "certificate",
    &[Expression],
    "Evidence: expanded uncertainty U of a certificate, with `k` or `coverage` (JCGM 100, 4.3.3)",
    "certificate: 0.06 µm",
)
.unit(INPUT_UNIT);

const STANDARD_UNCERTAINTY: Key = Key::new(
    "standard_uncertainty",
    &[Expression],
    "Evidence: standard uncertainty u as it stands; normal, or t with `dof` (JCGM 100, 4.3.3)",
    "standard_uncertainty: 0.3 µm",
)
.unit(INPUT_UNIT);

const STEP: Key = Key::new(
    "step",
    &[Expression],
    "Evidence: step d of a display or scale; d/√12, rectangular (JCGM 100, F.2.2.1)",
    "step: 1 µm",
)
.unit(INPUT_UNIT);

const BLOCK_GRADE: Key = Key::new(
    "block_grade",
    &[Text],
    "Evidence: grade of a gauge block, a text such as `00`; limit deviation at its length, rectangular (ISO 3650, ASME B89.1.9)",
    "block_grade: 0",
);

const THERMAL: Key = Key::new(
    "thermal",
    THERMAL_FORMS,
    "Evidence: difference in thermal expansion of instrument and standard, added to the measurand (JCGM 100, H.1)",
    "thermal: {length: L, alpha: 11.5 µm/m/K, alpha_difference: ±1 µm/m/K, difference: ±0.3 K, from_20: ±1 K}",
);

const UNIT: Key =
    Key::new("unit", &[Name], "Unit of the readings where they carry none", "unit: µm")
        .with(&["readings"]);

const USE: Key = Key::new(
    "use",
    USE_FORMS,
    "What the measurement takes: one reading (`single`), a mean of n, or these very readings (`result`), whose mean is then the estimate (JCGM 100, 4.2.3)",
    "use: single",
)
.with(&["readings"])
.needed_with(&["readings"]);

const GROUPS: Key = Key::new(
    "groups",
    &[Word(&["pooled", "components"])],
    "With a list for each group: `components` counts the scatter between groups (days, operators) and within, by analysis of variance (JCGM 100, H.5); `pooled` only that within, where each group is another piece (JCGM 100, 4.2.4)",
    "groups: components",
)
.with(&["readings"]);

const MEAN_OF: Key = Key::new(
    "mean_of",
    &[Number],
    "How many readings are averaged: s/√n (JCGM 100, 4.2.3)",
    "mean_of: 3",
)
.with(&["scatter"]);

const SHAPE: Key = Key::new(
    "shape",
    &[Word(&[
        "rectangular",
        "triangular",
        "trapezoidal",
        "arcsine",
        "normal",
    ])],
    "Distribution between the limits: a/√3, a/√6, a·√((1 + β²)/6), a/√2, a/k_p (JCGM 100, 4.3; JCGM 101, 6.4)",
    "shape: triangular",
)
.default("rectangular")
.with(SHAPED);

const TOP: Key = Key::new(
    "top",
    &[Number],
    "With `shape: trapezoidal`: width of the top over width of the base, 0 to 1 (JCGM 100, 4.3.9)",
    "top: 0.5",
)
.with(SHAPED);

const LIMITS_KNOWN_WITHIN: Key = Key::new(
    "limits_known_within",
    &[Quantity],
    "With `shape: rectangular`: how far the half-width itself may be off, relative to it; a curvilinear trapezoid (JCGM 101, 6.4.3)",
    "limits_known_within: 10 %",
)
.with(SHAPED);

const COVERAGE: Key = Key::new(
    "coverage",
    &[Quantity],
    "Probability that U or the limits stand for; with `certificate`, or `shape: normal` (JCGM 100, 4.3.4)",
    "coverage: 95 %",
)
.with(&["limits", "full_range", "certificate"]);

const K: Key = Key::new(
    "k",
    &[Number],
    "Coverage factor of the certificate: u = U/k (JCGM 100, 4.3.3)",
    "k: 2",
)
.with(&["certificate"]);

const TABLE: Key = Key::new(
    "table",
    &[Word(&["ISO 3650", "ASME B89.1.9"])],
    "Standard whose table of grades applies",
    "table: ISO 3650",
)
.with(&["block_grade"])
.needed_with(&["block_grade"]);

const LENGTH: Key = Key::new(
    "length",
    &[Expression, Word(&["stack"])],
    "Length of the block, or `stack`: the blocks of the point's `stack`; with `certificate` only `stack`",
    "length: stack",
)
.default("the estimate of the input that it adds to")
.unit("a length")
.with(&["block_grade", "certificate"]);

const CALIBRATED_WITH: Key = Key::new(
    "calibrated_with",
    &[Expression],
    "Expanded uncertainty U of the block's calibration: u² = t_e²/3 + (U/2)²",
    "calibrated_with: 0.05 µm",
)
.unit("a length")
.with(&["block_grade"]);

const ESTIMATE: Key = Key::new(
    "estimate",
    &[Expression],
    "A correction that is added to the input (JCGM 100, 3.2.4)",
    "estimate: 0.2 µm",
)
.unit(INPUT_UNIT)
.with(BUT_THERMAL);

const DOF: Key = Key::new(
    "dof",
    &[Number],
    "Degrees of freedom of the standard uncertainty, at least 1; never with `readings` (JCGM 100, G.3)",
    "dof: 18",
)
.default("infinite")
.with(BUT_READINGS)
.needed_with(&["scatter"]);

const U_KNOWN_WITHIN: Key = Key::new(
    "u_known_within",
    &[Quantity],
    "Relative uncertainty r of the standard uncertainty: 1/(2r²) degrees of freedom (JCGM 100, G.4.2)",
    "u_known_within: 25 %",
)
.with(BUT_THERMAL);

/// One contributor.
pub static CONTRIBUTOR: Keys = Keys {
    name: "contributor",
    doc: "One reason why the result may be off, with its evidence.",
    keys: &[
        Key::new("name", &[Name], "What the contributor is called; unique", "name: Gauge block")
            .required(),
        READINGS,
        SCATTER,
        LIMITS,
        FULL_RANGE,
        CERTIFICATE,
        STANDARD_UNCERTAINTY,
        STEP,
        BLOCK_GRADE,
        THERMAL,
        UNIT,
        USE,
        GROUPS,
        MEAN_OF,
        SHAPE,
        TOP,
        LIMITS_KNOWN_WITHIN,
        COVERAGE,
        K,
        TABLE,
        LENGTH,
        CALIBRATED_WITH,
        Key::new(
            "adds_to",
            &[Name],
            "The input that it adds to: an estimate, a name of the model, `reading` or the point's symbol",
            "adds_to: block",
        )
        .default("the measurand itself")
        .with(BUT_THERMAL),
        Key::new(
            "sensitivity",
            &[Expression],
            "Sensitivity coefficient, only without `adds_to` (JCGM 100, 5.1.3)",
            "sensitivity: 2 µm/K",
        )
        .default("1")
        .unit("turns the contributor's into the measurand's")
        .with(BUT_THERMAL),
        ESTIMATE,
        Key::new(
            "times",
            &[Number],
            "Number n of independent draws that add up: u·√n (JCGM 100, 5.1.2)",
            "times: 2",
        )
        .default("1")
        .with(BUT_THERMAL),
        Key::new(
            "owner",
            &[Word(&["laboratory", "instrument"])],
            "Who answers for it: the laboratory, or the instrument under test",
            "owner: instrument",
        )
        .default("laboratory"),
        Key::new(
            "shared",
            &[Word(&["true", "false"]), Number],
            "Whether it takes the same unknown value at all points, or the correlation 0 to 1 between any two (JCGM 100, 5.2)",
            "shared: true",
        )
        .default("false"),
        DOF,
        U_KNOWN_WITHIN,
        Key::new(
            "largest_of",
            &[Name],
            "Group of which only the largest contribution counts at each point",
            "largest_of: reading scatter",
        )
        .with(BUT_THERMAL),
        Key::new(
            "basis",
            &[Text],
            "The document behind it",
            "basis: Block set GB-07, certificate 2291",
        ),
        Key::new("due", &[Text], "Date until which the basis holds", "due: 2027-03-01"),
        Key::new("note", &[Text], "Anything worth saying", "note: seen on three instruments"),
    ],
    choice: Choice::ExactlyOne(KINDS),
    rest: None,
};

/// `use` as a map.
pub static USE_KEYS: Keys = Keys {
    name: "use",
    doc: "What the measurement takes from the readings, as a map.",
    keys: &[Key::new(
        "mean_of",
        &[Number],
        "How many readings the measurement averages: s/√n (JCGM 100, 4.2.3)",
        "mean_of: 3",
    )
    .required()],
    choice: Choice::Free,
    rest: None,
};

const PART: &[Form] = &[Around, PlusMinus, Map(&PART_KEYS)];

/// `thermal`.
pub static THERMAL_KEYS: Keys = Keys {
    name: "thermal",
    doc: "Adds `length·(alpha·difference + alpha_difference·from_20)` to the measurand (JCGM 100, H.1).",
    keys: &[
        Key::new("length", &[Expression], "Length that expands", "length: L")
            .default("the point's symbol")
            .unit("a length"),
        Key::new(
            "alpha",
            PART,
            "Mean coefficient of expansion of instrument and standard",
            "alpha: 11.5 µm/m/K",
        )
        .required()
        .unit("one over a temperature"),
        Key::new(
            "alpha_difference",
            PART,
            "Coefficient of the instrument minus that of the standard",
            "alpha_difference: ±1 µm/m/K",
        )
        .required()
        .unit("one over a temperature"),
        Key::new(
            "difference",
            PART,
            "Temperature of the instrument minus that of the standard",
            "difference: ±0.3 K",
        )
        .required()
        .unit("a temperature"),
        Key::new("from_20", PART, "Mean temperature of both less 20 °C", "from_20: ±1 K")
            .required()
            .unit("a temperature"),
    ],
    choice: Choice::Free,
    rest: None,
};

/// A part of `thermal` as a map.
pub static PART_KEYS: Keys = Keys {
    name: "thermal part",
    doc: "One part of `thermal` with its own evidence.",
    keys: &[
        READINGS,
        SCATTER.example("scatter: 0.1 K"),
        LIMITS.example("limits: ±0.3 K"),
        FULL_RANGE.example("full_range: 0.6 K"),
        CERTIFICATE.example("certificate: 0.2 K"),
        STANDARD_UNCERTAINTY.example("standard_uncertainty: 0.1 K"),
        STEP.example("step: 0.1 K"),
        UNIT.example("unit: K"),
        USE,
        GROUPS,
        MEAN_OF,
        SHAPE,
        TOP,
        LIMITS_KNOWN_WITHIN,
        COVERAGE,
        K,
        ESTIMATE.example("estimate: 0.1 K"),
        DOF,
        U_KNOWN_WITHIN,
    ],
    choice: Choice::ExactlyOne(PART_KINDS),
    rest: None,
};
