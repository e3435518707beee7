//! The verb `card`: the readings near the limits with their verdicts.

use super::simulation::Simulation;
use super::{Failure, Format, engine, output};
use std::path::PathBuf;

const EXAMPLES: &str = "Example:
  surebound card budgets/outside-micrometer-0-25.yaml";

/// Write a card for the bench: for each point the readings that pass, and those that do not
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// The budget: a YAML file; it needs a display step and a decision
    budget: PathBuf,
    /// The form of the result
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    simulation: Simulation,
}

/// Writes the card and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let record = engine::card(&arguments.budget, &arguments.simulation)?;
    output::record(&record, arguments.format)
}
