//! Files out: written whole or not at all, and never over another one unasked.

use super::{Failure, output};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Where a result goes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place<'a> {
    /// The path; `-` is standard output.
    pub(super) path: &'a Path,
    /// Whether a file that is there may be written over.
    pub(super) force: bool,
    /// The option that named it, for messages.
    pub(super) option: &'static str,
}

impl Place<'_> {
    /// Whether this is standard output.
    pub(super) fn is_output(&self) -> bool {
        self.path == Path::new("-")
    }

    /// Returns the ending, in lower case; empty where there is none.
    pub(super) fn ending(&self) -> String {
        self.path.extension().map(|it| it.to_string_lossy().to_lowercase()).unwrap_or_default()
    }

    /// Refuses a path that cannot be written to, before any work is done; `endings` are those that it may
    /// have, the usual one first.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] for another ending, a file that is there (without `force`) or a folder that is not.
    pub(super) fn check(&self, endings: &[&str]) -> Result<(), Failure> {
        if self.is_output() {
            return Ok(());
        }
        let ending = self.ending();
        if !endings.contains(&ending.as_str()) {
            let usual = endings.first().copied().unwrap_or_default();
            let kinds: Vec<String> = endings.iter().map(|it| format!(".{it}")).collect();
            let name = self.path.with_extension(usual);
            let what = match endings {
                [_] => format!("is no name of a {} file", usual.to_uppercase()),
                _ => format!("does not end in {}", kinds.join(", ")),
            };
            return self.refuse(&what, &format!("{} {}", self.option, name.display()));
        }
        if self.path.is_dir() {
            return self.refuse("is a directory", "name a file in it");
        }
        if !folder(self.path).is_dir() {
            return self.refuse("lies in a folder that is not there", "make the folder first");
        }
        if self.path.is_symlink() && !self.path.exists() {
            return self.refuse("is a link to a file that is not there", "name the file itself");
        }
        if !self.force && self.path.exists() {
            return self.is_there();
        }
        Ok(())
    }

    /// Writes the whole of a result.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] where a file has come in between; [`Failure::Machine`] where it cannot be written.
    pub(super) fn write(&self, bytes: &[u8]) -> Result<(), Failure> {
        if self.is_output() {
            return output::write_bytes(bytes);
        }
        whole(self.path, bytes, self.force).or_else(|reason| self.refused(&reason))
    }

    /// Returns the failure of a file that could not be put into its place.
    pub(super) fn refused(&self, reason: &std::io::Error) -> Result<(), Failure> {
        match reason.kind() {
            ErrorKind::AlreadyExists => self.is_there(),
            _ => {
                let path = self.path.display();
                Err(Failure::Machine(format!("`{path}` cannot be written: {reason}")))
            }
        }
    }

    fn is_there(&self) -> Result<(), Failure> {
        let help = "give another name, or write over it with `--force`";
        self.refuse("is there already: it is not overwritten", help)
    }

    fn refuse(&self, what: &str, help: &str) -> Result<(), Failure> {
        let (option, path) = (self.option, self.path.display());
        Err(Failure::Input(format!("{option}: `{path}` {what}\nhelp: {help}")))
    }
}

/// Whether two paths are one file, however they are written; standard output is one too.
pub(super) fn is_same(one: &Path, other: &Path) -> bool {
    one == other || resolved(one).is_some_and(|it| Some(it) == resolved(other))
}

/// Returns where a path leads, the file being there or not; `None` for standard output and where its folder
/// is not there.
fn resolved(path: &Path) -> Option<PathBuf> {
    if path == Path::new("-") {
        return None;
    }
    let new = || Some(folder(path).canonicalize().ok()?.join(path.file_name()?));
    path.canonicalize().ok().or_else(new)
}

/// Writes beside the file first, and puts the whole into its place.
fn whole(path: &Path, bytes: &[u8], force: bool) -> std::io::Result<()> {
    let beside = beside(path);
    let written = std::fs::write(&beside, bytes).and_then(|()| put(&beside, path, force));
    // Gone already where it was renamed; what cannot be removed harms nobody.
    let _left = std::fs::remove_file(&beside);
    written
}

/// Puts a file that was written beside into its place.
pub(super) fn put(beside: &Path, path: &Path, force: bool) -> std::io::Result<()> {
    match force {
        true => std::fs::rename(beside, real(path)),
        // A link is not made over a file that has come in between.
        false => match std::fs::hard_link(beside, path) {
            Err(reason) if reason.kind() == ErrorKind::AlreadyExists => Err(reason),
            Err(_) => std::fs::rename(beside, path),
            Ok(()) => Ok(()),
        },
    }
}

/// Returns the name of the file beside.
pub(super) fn beside(path: &Path) -> PathBuf {
    let path = real(path);
    let name = path.file_name().map(|it| it.to_string_lossy().into_owned()).unwrap_or_default();
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}

/// Returns the file that a link points to, which is what is written over; any other path as it is.
fn real(path: &Path) -> PathBuf {
    let found = path.is_symlink().then(|| std::fs::canonicalize(path).ok()).flatten();
    found.unwrap_or_else(|| path.to_owned())
}

fn folder(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    fn place(path: &Path, force: bool) -> Place<'_> {
        Place { path, force, option: "-o" }
    }

    /// A link is another name of a file: the file is written, and stays linked.
    #[test]
    fn writes_the_file_that_a_link_points_to() {
        let folder = tempfile::tempdir().unwrap();
        let other = folder.path().join("other");
        std::fs::create_dir(&other).unwrap();
        let (file, link) = (other.join("a.txt"), folder.path().join("b.txt"));
        std::fs::write(&file, "old").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        assert!(place(&link, false).check(&["txt"]).is_err());
        assert!(place(&link, true).check(&["txt"]).is_ok());
        assert!(place(&link, true).write(b"new").is_ok());
        assert_eq!(std::fs::read_to_string(&file).unwrap(), "new");
        assert!(link.is_symlink());
        assert_eq!(std::fs::read_dir(&other).unwrap().count(), 1, "nothing is left beside it");
    }

    #[test]
    fn refuses_a_link_to_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let link = folder.path().join("b.txt");
        std::os::unix::fs::symlink(folder.path().join("gone.txt"), &link).unwrap();
        for force in [false, true] {
            let Err(Failure::Input(text)) = place(&link, force).check(&["txt"]) else {
                panic!("a link to nothing is taken");
            };
            assert!(text.contains("is a link to a file that is not there"), "{text}");
        }
    }
}
