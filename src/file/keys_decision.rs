//! The rows of the [table of keys](super::keys) for tolerances and the decision.
//!
//! Sources: JCGM 106 for acceptance limits and risks, ILAC-G8 and ISO 14253-1 for the rules.

use super::keys::{Choice, Form, Key, Keys};
use Form::{Expression, List, Map, Number, OneSided, PlusMinus, Quantity, Text};

const RULES: &[&str] = &["simple", "guarded", "relaxed", "three-way", "four-way"];
const SCOPES: &[&str] = &["all", "laboratory"];

const ONE_TOLERANCE: &[Form] = &[PlusMinus, OneSided, List(&[Expression]), Map(&SIDES)];

/// The forms of a tolerance.
pub const TOLERANCE: &[Form] = &[PlusMinus, OneSided, List(&[Expression]), Map(&TOLERANCE_KEYS)];

const LOWER: Key = Key::new(
    "lower",
    &[Expression],
    "Lower limit; alone: nothing below it is allowed",
    "lower: 5 N",
)
.unit("the measurand's");
const UPPER: Key = Key::new(
    "upper",
    &[Expression],
    "Upper limit; alone: nothing above it is allowed",
    "upper: 2 µm",
)
.unit("the measurand's");

/// `tolerance` as a map.
pub static TOLERANCE_KEYS: Keys = Keys {
    name: "tolerance",
    doc: "Limits of permissible error as a map: one side, both, or steps.",
    keys: &[
        LOWER,
        UPPER,
        Key::new(
            "by_point",
            &[List(&[Map(&STEP_KEYS)])],
            "Steps over the points, ascending; alone in its map",
            "by_point: [{up_to: 100 mm, limits: ±20 µm}, {up_to: 300 mm, limits: ±30 µm}]",
        ),
    ],
    choice: Choice::AtLeastOne(&["lower", "upper", "by_point"]),
    rest: None,
};

/// The limits of a step as a map.
static SIDES: Keys = Keys {
    name: "step limits",
    doc: "Limits of permissible error of one step as a map.",
    keys: &[LOWER, UPPER],
    choice: Choice::AtLeastOne(&["lower", "upper"]),
    rest: None,
};

static STEP_KEYS: Keys = Keys {
    name: "tolerance step",
    doc: "One step of a tolerance that changes over the points.",
    keys: &[
        Key::new("up_to", &[Quantity], "Last point of the step, included", "up_to: 100 mm")
            .required()
            .unit("the points'"),
        Key::new("limits", ONE_TOLERANCE, "Tolerance of the step", "limits: ±20 µm")
            .required()
            .unit("the measurand's"),
    ],
    choice: Choice::Free,
    rest: None,
};

/// `decision`.
pub static DECISION: Keys = Keys {
    name: "decision",
    doc: "How a reading is judged against the tolerance.",
    keys: &[
        Key::new(
            "rule",
            &[Form::Word(RULES)],
            "The decision rule (ILAC-G8; ISO 14253-1; JCGM 106, 8)",
            "rule: guarded",
        )
        .required(),
        Key::new(
            "guard_band",
            &[Map(&GUARD_BAND)],
            "How far the acceptance limits stand from the tolerance limits (JCGM 106, 8.3)",
            "guard_band: {times_U: 1}",
        )
        .default("{times_U: 1}"),
        Key::new(
            "uncertainty",
            &[Form::Word(SCOPES)],
            "Which contributors the decision counts; to be said where the instrument owns one",
            "uncertainty: all",
        )
        .default("all, where no contributor belongs to the instrument"),
        Key::new(
            "requires",
            &[Map(&REQUIRES)],
            "What must be met before the rule applies",
            "requires: {tur: 4, otherwise: guarded}",
        ),
        Key::new(
            "agreed",
            &[Text],
            "Where the rule was agreed with the customer",
            "agreed: Order 5518, clause 4",
        ),
    ],
    choice: Choice::Free,
    rest: None,
};

static GUARD_BAND: Keys = Keys {
    name: "guard_band",
    doc: "How far the acceptance limits stand from the tolerance limits.",
    keys: &[
        Key::new("times_U", &[Number], "Multiple of U at 95.45 % (JCGM 106, 8.3.2)", "times_U: 1"),
        Key::new("width", &[Quantity], "The width itself", "width: 0.4 µm").unit("the measurand's"),
        Key::new(
            "specific_risk",
            &[Quantity],
            "Greatest probability, given an accepted reading, that the true value lies outside the tolerance (JCGM 106, 7 and 8.3.2)",
            "specific_risk: 5 %",
        ),
        Key::new(
            "consumer_risk",
            &[Quantity],
            "Greatest risk over all instruments that a bad one is accepted, from `population` (JCGM 106, 9.5)",
            "consumer_risk: 2 %",
        ),
        Key::new(
            "from_tur",
            &[Form::Word(&["quadrature", "two-percent"])],
            "Width computed from the TUR by a published formula (docs/decision-rules.md)",
            "from_tur: quadrature",
        ),
    ],
    choice: Choice::ExactlyOne(&["times_U", "width", "specific_risk", "consumer_risk", "from_tur"]),
    rest: None,
};

static REQUIRES: Keys = Keys {
    name: "requires",
    doc: "A requirement, and what holds where it is not met.",
    keys: &[
        Key::new("tur", &[Number], "Smallest tolerance-to-uncertainty ratio", "tur: 4").required(),
        Key::new(
            "scope",
            &[Form::Word(SCOPES)],
            "Which contributors the ratio counts",
            "scope: all",
        )
        .default("that of `uncertainty`"),
        Key::new(
            "otherwise",
            &[Form::Word(RULES)],
            "Rule that applies where the requirement is not met",
            "otherwise: guarded",
        )
        .default("readings inside the tolerance are undecided, outside they fail"),
    ],
    choice: Choice::Free,
    rest: None,
};
