//! What ends a run early, and the exit code that goes with it.

use super::{INPUT, MACHINE};
use std::fmt;
use std::io::Write;

/// Why a run ended without a result. The text is ready to be shown, with places and help.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Failure {
    /// The input is wrong: exit code 2.
    Input(String),
    /// The machine failed, or the program did: exit code 3.
    Machine(String),
}

impl Failure {
    /// Says on standard error what is wrong, and returns the exit code.
    pub(super) fn report(&self) -> u8 {
        // Where standard error is gone too, the exit code is all that is left to say.
        let _gone = writeln!(std::io::stderr(), "{}", self.to_string().trim_end());
        match self {
            Failure::Input(_) => INPUT,
            Failure::Machine(_) => MACHINE,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Failure::Input(text) | Failure::Machine(text) => f.write_str(text),
        }
    }
}

impl std::error::Error for Failure {}
