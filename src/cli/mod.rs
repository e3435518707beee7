//! The command: arguments in, library calls, text out, exit code.
//!
//! One file per verb. Here, and only here, files are read and written, and only here is it known
//! whether standard output is a terminal. Nothing reaches standard output before all of it is
//! there, so that a fault leaves it empty; only the rows of `judge --readings` go out as they come.

mod card;
mod crosscheck;
mod engine;
mod failure;
mod forms;
mod input;
mod judge;
mod manual;
mod output;
mod place;
mod plot;
mod regrade;
mod report;
mod schema;
mod sheet;
mod show;
mod simulation;
mod start;
mod stream;
mod watch;
mod worksheet;

pub use failure::Failure;
pub use input::Source;

use clap::{Parser, Subcommand, ValueEnum};
use std::process::ExitCode;

/// Done, and every verdict is a pass.
const DONE: u8 = 0;
/// Done, but some verdict is not a pass, a check failed, or a crosscheck is not validated.
const NOT_PASSED: u8 = 1;
/// The input is wrong.
const INPUT: u8 = 2;
/// The machine failed (disk, permission), or the work was stopped.
const MACHINE: u8 = 3;

/// What is said about the exit codes at the foot of the help.
const EXIT_CODES: &str = "Exit codes:
  0  done; for `judge`: every verdict is a pass; for `crosscheck`: validated
  1  done, but some verdict is not a pass, a check failed, or a crosscheck is not validated
  2  the input is wrong: nothing is written to standard output
  3  the machine failed (disk or permission), or the work was stopped by Ctrl-C";

/// Evaluates measurement-uncertainty budgets and says whether a reading may be passed.
#[derive(Debug, Parser)]
#[command(name = "surebound", version, after_help = EXIT_CODES, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    verb: Verb,
}

/// What to do.
#[derive(Debug, Subcommand)]
enum Verb {
    Show(show::Arguments),
    Judge(judge::Arguments),
    Card(card::Arguments),
    Sheet(sheet::Arguments),
    Crosscheck(crosscheck::Arguments),
    Report(report::Arguments),
    Start(start::Arguments),
    Schema(schema::Arguments),
    Completions(manual::Completions),
    Manual(manual::Manual),
}

/// The form of the result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Format {
    /// For people, up to 100 columns wide
    #[default]
    Text,
    /// For people and files of notes: Markdown with tables
    Markdown,
    /// For browser and printer: one file that needs nothing else
    Html,
    /// For programs: the whole record (see `surebound schema record`)
    Json,
    /// For spreadsheets: a row per point and contributor (`show` and `judge` only)
    Csv,
}

/// Runs the command with the process's arguments and returns its exit code.
pub fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(message) => {
            // A reader that has gone away needs no help text.
            let _gone = message.print();
            return ExitCode::from(u8::try_from(message.exit_code()).unwrap_or(INPUT));
        }
    };
    let done = match cli.verb {
        Verb::Show(arguments) => show::run(&arguments),
        Verb::Judge(arguments) => judge::run(&arguments),
        Verb::Card(arguments) => card::run(&arguments),
        Verb::Sheet(arguments) => sheet::run(&arguments),
        Verb::Crosscheck(arguments) => crosscheck::run(&arguments),
        Verb::Report(arguments) => report::run(&arguments),
        Verb::Start(arguments) => start::run(&arguments),
        Verb::Schema(arguments) => schema::run(&arguments),
        Verb::Completions(arguments) => manual::completions(&arguments),
        Verb::Manual(arguments) => manual::manual(&arguments),
    };
    ExitCode::from(done.unwrap_or_else(|failure| failure.report()))
}

#[cfg(test)]
mod tests {
    #[cfg(feature = "pdf")]
    mod pdf;

    use super::*;
    use clap::CommandFactory;

    fn parse(arguments: &[&str]) -> Result<Cli, clap::Error> {
        Cli::try_parse_from(std::iter::once(&"surebound").chain(arguments))
    }

    #[test]
    fn arguments_are_put_together_without_contradiction() {
        Cli::command().debug_assert();
    }

    #[test]
    fn takes_a_reading_below_zero() {
        let cli = parse(&["judge", "b.yaml", "--at", "-5 °C", "--reading", "-5.1 °C"]).unwrap();
        let Verb::Judge(arguments) = cli.verb else { panic!("not judge") };
        assert_eq!(arguments.reading.as_deref(), Some("-5.1 °C"));
        assert_eq!(arguments.at.as_deref(), Some("-5 °C"));
    }

    #[test]
    fn refuses_an_unknown_verb_with_exit_code_2() {
        for arguments in [&["shew"][..], &[], &["show"], &["schema", "recrod"]] {
            assert_eq!(
                parse(arguments).unwrap_err().exit_code(),
                i32::from(INPUT),
                "{arguments:?}"
            );
        }
    }
}
