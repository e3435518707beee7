//! A picture into a file: written whole or not at all, and never over another one unasked.

use super::Failure;
use crate::page;
use crate::record::{Kind, Record};
use crate::render;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Refuses a path that a picture cannot be written to, before any work is done.
///
/// # Errors
///
/// [`Failure::Input`] for another ending, a file that is there (without `force`) or a folder that is not.
pub(super) fn check(path: &Path, force: bool) -> Result<(), Failure> {
    let shown = path.display();
    let refuse = |what: &str, help: &str| {
        Err(Failure::Input(format!("--plot: `{shown}` {what}\nhelp: {help}")))
    };
    let is_svg = path.extension().is_some_and(|it| it.eq_ignore_ascii_case("svg"));
    if !is_svg {
        let name = path.with_extension("svg");
        return refuse("is no name of an SVG file", &format!("--plot {}", name.display()));
    }
    if path.is_dir() {
        return refuse("is a directory", "name a file in it");
    }
    if !folder(path).is_dir() {
        return refuse("lies in a folder that is not there", "make the folder first");
    }
    if !force && path.exists() {
        let help = "give another name, or write over it with `--force`";
        return refuse("is there already: it is not overwritten", help);
    }
    Ok(())
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
    whole(path, &picture, force).map_err(|reason| match reason.kind() {
        ErrorKind::AlreadyExists => Failure::Input(format!(
            "--plot: `{}` is there already: it is not overwritten\n\
             help: give another name, or write over it with `--force`",
            path.display()
        )),
        _ => Failure::Machine(format!("`{}` cannot be written: {reason}", path.display())),
    })
}

/// Writes beside the file first, and puts the whole into its place.
fn whole(path: &Path, text: &str, force: bool) -> std::io::Result<()> {
    let beside = beside(path);
    let written = std::fs::write(&beside, text).and_then(|()| match force {
        true => std::fs::rename(&beside, path),
        // A link is not made over a file that has come in between.
        false => match std::fs::hard_link(&beside, path) {
            Err(reason) if reason.kind() == ErrorKind::AlreadyExists => Err(reason),
            Err(_) => std::fs::rename(&beside, path),
            Ok(()) => Ok(()),
        },
    });
    // Gone already where it was renamed; what cannot be removed harms nobody.
    let _left = std::fs::remove_file(&beside);
    written
}

fn beside(path: &Path) -> PathBuf {
    let name = path.file_name().map(|it| it.to_string_lossy().into_owned()).unwrap_or_default();
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}

fn folder(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}
