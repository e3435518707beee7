//! What ends a run early, and the exit code that goes with it.

use super::{INPUT, MACHINE};
use crate::page::Text;
use std::fmt;
use std::io::Write;

/// Why a run ended without a result. The text is ready to be shown, with places and help.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Failure {
    /// The input is wrong: exit code 2.
    Input(String),
    /// The machine failed, or the program did: exit code 3.
    Machine(String),
    /// The work was stopped by Ctrl-C: exit code 3.
    Stopped(String),
}

impl Failure {
    /// Says on standard error what is wrong, and returns the exit code.
    pub(super) fn report(&self) -> u8 {
        // Where standard error is gone too, the exit code is all that is left to say.
        let _gone = writeln!(std::io::stderr(), "{}", harmless(&self.to_string()));
        match self {
            Failure::Input(_) => INPUT,
            Failure::Machine(_) | Failure::Stopped(_) => MACHINE,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Failure::Input(text) | Failure::Machine(text) | Failure::Stopped(text) => {
                f.write_str(text)
            }
        }
    }
}

impl std::error::Error for Failure {}

/// The lines of a message, with control characters from paths and files made visible.
pub(super) fn harmless(message: &str) -> String {
    let lines = message.trim_end().lines().map(|line| Text::from(line).to_string());
    lines.collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sends_no_control_character_of_a_path_to_the_terminal() {
        let message = "a\u{1b}[2J.yaml:1:1: the file is empty\nhelp: none\n";
        assert_eq!(harmless(message), "a\u{241b}[2J.yaml:1:1: the file is empty\nhelp: none");
    }
}
