//! The verb `start`: a commented budget to begin with.

use super::{DONE, Failure, output};
use clap::ValueEnum;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "Examples:
  surebound start micrometer
  surebound start micrometer -o my-micrometer.yaml";

/// Write a commented budget to begin with; it evaluates as it stands
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// What is to be calibrated
    #[arg(value_enum)]
    kind: Kind,
    /// Write to this file, which must not be there yet; without it, to standard output
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

/// What is to be calibrated.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Kind {
    /// An outside micrometer, 0 mm to 25 mm, tested with gauge blocks
    Micrometer,
}

impl Kind {
    fn text(self) -> &'static str {
        match self {
            Kind::Micrometer => include_str!("starters/micrometer.yaml"),
        }
    }
}

/// Writes the budget and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let text = arguments.kind.text();
    match &arguments.output {
        None => output::write(text)?,
        Some(path) => create(path, text)?,
    }
    Ok(DONE)
}

/// Writes a file that is not there yet; leaves none behind that is only half written.
fn create(path: &Path, text: &str) -> Result<(), Failure> {
    let shown = path.display();
    let mut file = match std::fs::File::create_new(path) {
        Ok(file) => file,
        Err(reason) if reason.kind() == ErrorKind::AlreadyExists => {
            let help = "give another name, or move the old file away";
            return Err(Failure::Input(format!(
                "`{shown}` is there already: it is not overwritten\nhelp: {help}"
            )));
        }
        Err(reason) if reason.kind() == ErrorKind::NotFound => {
            let help = "make the folder first, or give another path";
            return Err(Failure::Input(format!(
                "`{shown}` lies in a folder that is not there\nhelp: {help}"
            )));
        }
        Err(reason) => {
            return Err(Failure::Machine(format!("`{shown}` cannot be written: {reason}")));
        }
    };
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).map_err(|reason| {
        // What is left of it would not evaluate; if it cannot be removed either, the message stands.
        let _left = std::fs::remove_file(path);
        Failure::Machine(format!("`{shown}` cannot be written: {reason}"))
    })
}
