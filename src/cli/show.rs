//! The verb `show`: the budget, point by point.

use super::simulation::Simulation;
use super::{Failure, Format, engine, output};
use std::path::PathBuf;

const EXAMPLES: &str = "Examples:
  surebound show budgets/outside-micrometer-0-25.yaml
  surebound show budgets/outside-micrometer-0-25.yaml --at \"10.3 mm\"
  surebound show budgets/outside-micrometer-0-25.yaml --together
  surebound show budgets/outside-micrometer-0-25.yaml --format json";

/// Show a budget: how sure each point is, what makes it unsure, and what may be passed
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// The budget: a YAML file
    budget: PathBuf,
    /// The point whose contributors are shown, with its unit or by its label; without it the one
    /// with the largest U
    #[arg(long, value_name = "POINT", allow_hyphen_values = true)]
    at: Option<String>,
    /// Show how the results of all points are correlated too, through what they share
    #[arg(long)]
    together: bool,
    /// The form of the result
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    simulation: Simulation,
}

/// Shows a budget and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let (at, together) = (arguments.at.as_deref(), arguments.together);
    let record = engine::show(&arguments.budget, at, together, &arguments.simulation)?;
    output::record(&record, arguments.format)
}
