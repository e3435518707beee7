//! The rows of the [table of keys](super::keys) for results beside the measurand.
//!
//! Source: JCGM 102:2011, clause 6 (several output quantities of one model).

use super::keys::{Choice, Form, Key, Keys};
use Form::{Expression, Name, Text};

/// One result beside the measurand.
pub static RESULT: Keys = Keys {
    name: "result",
    doc: "A further quantity that follows from the same inputs (JCGM 102, 6). Its model may use the inputs, the \
          measurand's symbol and the symbols of the results above it. What is added to the measurand itself \
          (contributors without `adds_to`, `thermal`) is part of the measurand, so it reaches a result only through the \
          measurand's symbol. Of a `largest_of` group the member counts that counts for the measurand; where the measurand \
          depends on none of them, for the first result that does.",
    keys: &[
        Key::new("symbol", &[Name], "Its symbol: a name for the results below it", "symbol: X")
            .required(),
        Key::new("name", &[Name], "Its name", "name: Reactance").required(),
        Key::new(
            "definition",
            &[Text],
            "What exactly is meant (JCGM 100, D.1)",
            "definition: Imaginary part of the impedance at 50 Hz",
        ),
        Key::new("unit", &[Name], "Its unit; `1` where it has no dimension", "unit: Ω").required(),
        Key::new(
            "model",
            &[Expression],
            "The result as a function of inputs, measurand and the results above (JCGM 102, 6)",
            "model: V / I * sin(phi)",
        )
        .required()
        .unit("`unit`"),
    ],
    choice: Choice::Free,
    rest: None,
};
