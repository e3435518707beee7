//! The verb `schema`: the JSON Schema of a file or of the record.

use super::{DONE, Failure, engine, output};
use crate::record;
use clap::ValueEnum;

const EXAMPLES: &str = "Example:
  surebound schema record > record.schema.json";

/// Print a JSON Schema: for an editor that checks as you type, or a program that reads records
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// What the schema is of
    #[arg(value_enum)]
    of: Of,
}

/// What a schema is of.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Of {
    /// A budget file
    Budget,
    /// A worksheet file
    Worksheet,
    /// The result in JSON
    Record,
}

/// Prints the schema and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let text = match arguments.of {
        Of::Budget => engine::budget_schema()?,
        Of::Worksheet => engine::worksheet_schema()?,
        Of::Record => record::schema::text(),
    };
    output::write(&text)?;
    Ok(DONE)
}
