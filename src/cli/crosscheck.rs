//! The verb `crosscheck`: is the law of propagation good enough for this budget?

use super::simulation::Simulation;
use super::{Failure, Format, engine, output, plot};
use crate::propagate::simulation::Interval;
use std::path::PathBuf;

const EXAMPLES: &str = "Examples:
  surebound crosscheck budgets/outside-micrometer-0-25.yaml --at \"10.3 mm\"
  surebound crosscheck budgets/torque-wrench.yaml --plot torque-wrench.svg

Exit codes: 0 validated at all points; 1 not validated, or the trials do not tell; 3 also after Ctrl-C";

/// Compare the law of propagation with a Monte Carlo simulation (JCGM 101, clause 8)
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// The budget: a YAML file
    budget: PathBuf,
    /// The only point to be compared, with its unit or by its label; without it, all
    #[arg(long, value_name = "POINT", allow_hyphen_values = true)]
    at: Option<String>,
    /// Which simulated interval the law is compared with; without it, the symmetric one
    #[arg(long, value_enum)]
    interval: Option<Kind>,
    /// Draw both densities into this file, which must not be there yet
    #[arg(long, value_name = "FILE.svg")]
    plot: Option<PathBuf>,
    /// Write over the file of --plot
    #[arg(long, requires = "plot")]
    force: bool,
    /// The form of the result
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    simulation: Simulation,
}

/// Which simulated interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Kind {
    /// As much probability below it as above
    Symmetric,
    /// The shortest one
    Shortest,
}

impl Kind {
    /// Returns the interval of the engine.
    pub(super) fn interval(self) -> Interval {
        match self {
            Kind::Symmetric => Interval::Symmetric,
            Kind::Shortest => Interval::Shortest,
        }
    }
}

/// Compares, and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let plot = arguments.plot.as_deref();
    plot.map(|path| plot::check(path, arguments.force)).transpose()?;
    let at = arguments.at.as_deref();
    let record =
        engine::crosscheck(&arguments.budget, at, arguments.interval, &arguments.simulation)?;
    plot.map(|path| plot::write(&record, path, arguments.force)).transpose()?;
    output::record(&record, arguments.format)
}
