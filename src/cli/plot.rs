//! A picture into a file.

use super::Failure;
use super::place::Place;
use crate::page;
use crate::record::{Kind, Record};
use crate::render;
use std::path::Path;

/// Refuses a path that a picture cannot be written to, before any work is done.
///
/// # Errors
///
/// [`Failure::Input`] for another ending, a file that is there (without `force`) or a folder that is not.
pub(super) fn check(path: &Path, force: bool) -> Result<(), Failure> {
    place(path, force).check(&["svg"])
}

/// Draws the picture of a record's first section and writes it.
///
/// # Errors
///
/// As [`check`]; [`Failure::Machine`] where it cannot be drawn or written; [`Failure::Input`] where there
/// is nothing to draw.
pub(super) fn write(record: &Record, path: &Path, force: bool) -> Result<(), Failure> {
    let figure = match record.kind {
        Kind::Judge => record.sections.iter().find_map(page::judge::figure),
        _ => record.sections.iter().find_map(page::crosscheck::figure),
    };
    let Some(figure) = figure else {
        let help = "leave `--plot` out";
        return Err(Failure::Input(format!("--plot: there is nothing to draw\nhelp: {help}")));
    };
    let picture =
        render::plot::svg(&figure).map_err(|fault| Failure::Machine(fault.to_string()))?;
    check(path, force)?;
    place(path, force).write(picture.as_bytes())
}

fn place(path: &Path, force: bool) -> Place<'_> {
    Place { path, force, option: "--plot" }
}
