//! The verb `card`: the readings near the limits with their verdicts.

use super::simulation::Simulation;
use super::{Failure, Format, engine, output};
use std::path::PathBuf;

const EXAMPLES: &str = "Examples:
  surebound card budgets/outside-micrometer-0-25.yaml
  surebound card budgets/outside-micrometer-0-25.yaml --format html > card.html   # to print
  surebound card budgets/dial-indicator-0-10.yaml --as errors";

/// Write a card for the bench: for each point the readings near the limits, with verdict and risk
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// The budget: a YAML file; it needs a display step and a decision
    budget: PathBuf,
    /// What is listed; errors only where the model is `reading` minus something
    #[arg(long = "as", value_enum, value_name = "WHAT", default_value_t)]
    what: What,
    /// The form of the result
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    simulation: Simulation,
}

/// What a card lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub(super) enum What {
    /// What the display shows
    #[default]
    Readings,
    /// The errors that follow from it
    Errors,
}

/// Writes the card and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let record = engine::card(&arguments.budget, arguments.what, &arguments.simulation)?;
    output::record(&record, arguments.format)
}
