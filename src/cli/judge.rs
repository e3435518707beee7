//! The verb `judge`: may this reading, or this instrument, be passed?

use super::simulation::Simulation;
use super::{Failure, Format, engine, output, plot, stream, worksheet};
use std::path::PathBuf;

const EXAMPLES: &str = "Examples:
  surebound judge budgets/outside-micrometer-0-25.yaml --at \"10.3 mm\" --reading \"10.301 mm\"
  surebound judge budgets/M-118.yaml
  surebound judge budgets/outside-micrometer-0-25.yaml --readings budgets/readings-2026-11.csv
  surebound judge budgets/M-118.yaml --regrade \"±2 µm, ±4 µm, ±8 µm\"";

/// Judge one reading, or all readings of a worksheet: the verdict, the reason, the risk
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// A budget with --reading, or a worksheet: a YAML file
    file: PathBuf,
    /// The point, with its unit or by its label, or a value between two points; not needed where the
    /// budget has a single result
    #[arg(long, value_name = "POINT", allow_hyphen_values = true)]
    pub(super) at: Option<String>,
    /// What the instrument reads, with its unit
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    pub(super) reading: Option<String>,
    /// Other tolerances, apart by commas: which of them would the instrument pass?
    #[arg(long, value_name = "LIMITS", allow_hyphen_values = true)]
    pub(super) regrade: Option<String>,
    /// Set the same reading beside all other rules and guard bands
    #[arg(long)]
    compare: bool,
    /// Draw the probability of acceptance over the true error into this file; with --compare for all rules
    #[arg(long, value_name = "FILE.svg")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    stream: stream::Stream,
    /// Write over the files of --plot, -o and --bad-rows
    #[arg(long)]
    force: bool,
    /// The form of the result
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    simulation: Simulation,
}

/// Judges, and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    if arguments.stream.readings.is_some() {
        let json = match arguments.format {
            Format::Text => false,
            Format::Json => true,
            Format::Markdown | Format::Html | Format::Csv => {
                let what = "the summary of a file of readings is `text` or `json`";
                let help = "--format json, and `--rows csv` or `--rows jsonl` for the rows";
                return Err(Failure::Input(format!("--format: {what}\nhelp: {help}")));
            }
        };
        let how = (arguments.force, json);
        return stream::run(&arguments.stream, &arguments.file, &arguments.simulation, how);
    }
    arguments.stream.refuse(&arguments.file)?;
    let plot = arguments.plot.as_deref();
    plot.map(|path| plot::check(path, arguments.force)).transpose()?;
    let (file, at) = (&arguments.file, arguments.at.as_deref());
    let asked = engine::Asked {
        at,
        simulation: &arguments.simulation,
        compare: arguments.compare,
        pictures: if plot.is_some() {
            engine::Pictures::OperatingCurve
        } else {
            engine::Pictures::None
        },
        regrade: arguments.regrade.as_deref(),
    };
    let record = match &arguments.reading {
        Some(reading) => engine::judge_reading(file, reading, &asked)?,
        None => worksheet::judge_file(file, &asked)?,
    };
    plot.map(|path| plot::write(&record, path, arguments.force)).transpose()?;
    output::record(&record, arguments.format)
}
