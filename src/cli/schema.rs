//! The verb `schema`: the JSON Schema of a file or of the record.

use super::{DONE, Failure, output};
use crate::{file, record};
use clap::ValueEnum;

const EXAMPLES: &str = "Example:
  surebound schema record > record.schema.json";

/// Print a JSON Schema: for an editor that checks as you type, or a program that reads records
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// What the schema is of
    #[arg(value_enum, default_value_t)]
    of: Of,
}

/// What a schema is of.
#[derive(Debug, Clone, Copy, Default, ValueEnum)]
enum Of {
    /// A budget file
    #[default]
    Budget,
    /// A worksheet file
    Worksheet,
    /// The result in JSON
    Record,
}

/// Prints the schema and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let text = match arguments.of {
        Of::Budget => of_file(file::Kind::Budget)?,
        Of::Worksheet => of_file(file::Kind::Worksheet)?,
        Of::Record => record::schema::text(),
    };
    output::write(&text)?;
    Ok(DONE)
}

/// Returns the schema of a file as pretty JSON.
fn of_file(kind: file::Kind) -> Result<String, Failure> {
    let text = serde_json::to_string_pretty(&file::schema(kind));
    text.map(|it| it + "\n").map_err(|fault| Failure::Machine(fault.to_string()))
}
