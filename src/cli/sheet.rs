//! The verb `sheet`: a page for the bench in one file.

use super::place::Place;
use super::simulation::Simulation;
use super::{DONE, Failure, engine};
use crate::{page, render};
use std::path::PathBuf;

const EXAMPLES: &str = "Example:
  surebound sheet budgets/outside-micrometer-0-25.yaml -o sheet.html";

/// Write a page for the bench: type the readings, see verdict and reason, save a worksheet; works offline
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// The budget: a YAML file; it needs a display step and a decision
    budget: PathBuf,
    /// The file to write, ending in .html; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Write over a file that is there
    #[arg(long)]
    force: bool,
    #[command(flatten)]
    simulation: Simulation,
}

/// Writes the page and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let place = Place { path: &arguments.output, force: arguments.force, option: "-o" };
    place.check(&["html"])?;
    let record = engine::sheet(&arguments.budget, &arguments.simulation)?;
    let Some(sheet) = page::sheet::page(&record) else {
        return Err(Failure::Machine("there is no point to judge".into()));
    };
    let html = render::sheet::html(&sheet).map_err(|fault| Failure::Machine(fault.to_string()))?;
    place.write(html.as_bytes())?;
    Ok(DONE)
}
