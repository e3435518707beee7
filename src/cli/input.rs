//! Files in: bytes and their SHA-256, or a failure that says what to do.

use super::Failure;
use crate::budget::parts::{HistoryRow, Text};
use crate::fault::Fault;
use crate::file;
use crate::record::{File, Role};
use sha2::{Digest, Sha256};
use std::io::Read;
use std::path::{Path, PathBuf};

/// No budget or worksheet is larger, in bytes: 1 MiB.
const LARGEST: u64 = 1024 * 1024;

/// No history is larger, in bytes: 64 MiB.
const LARGEST_HISTORY: u64 = 64 * 1024 * 1024;

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The path as it was given.
    pub path: PathBuf,
    /// The bytes; never none.
    pub bytes: Vec<u8>,
}

/// Files that a budget names, relative to its folder.
pub(super) struct Beside<'a> {
    pub(super) folder: &'a Path,
    /// What was read.
    pub(super) entry: std::cell::RefCell<Option<File>>,
}

impl Beside<'_> {
    /// Returns the rows of a history.
    ///
    /// # Errors
    ///
    /// A file that cannot be read or understood, at the place that names it.
    pub(super) fn history(&self, path: &Text) -> Result<Vec<HistoryRow>, Fault> {
        let name = path.text.trim();
        let fault = |what: &str| {
            Fault::new(path.origin, format!("history `{name}`: {what}"))
                .rule("`history` is the path of a CSV file relative to the budget")
        };
        let source =
            Source::up_to(&self.folder.join(name), LARGEST_HISTORY).map_err(|it| match it {
                Failure::Input(text) | Failure::Machine(text) | Failure::Stopped(text) => {
                    let first = text.lines().next().unwrap_or_default();
                    fault(first.rsplit(":1:1: ").next().unwrap_or(first))
                }
            })?;
        let rows = file::history::history(&source.bytes, name);
        *self.entry.borrow_mut() =
            Some(File { path: name.to_owned(), ..source.entry(Role::History) });
        rows.map_err(|what| Fault::new(path.origin, what))
    }
}

impl Source {
    /// Reads the file at `path`, up to 1 MiB.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] for a path that is missing, a directory, empty, too large or unreadable.
    pub fn read(path: &Path) -> Result<Source, Failure> {
        Source::up_to(path, LARGEST)
    }

    /// Reads the file at `path`, up to a number of bytes.
    fn up_to(path: &Path, largest: u64) -> Result<Source, Failure> {
        let fault = |what: &str, help: &str| {
            Failure::Input(format!("{}:1:1: {what}\nhelp: {help}", path.display()))
        };
        if path.is_dir() {
            return Err(fault("this is a directory", "name the file in it"));
        }
        let file = match std::fs::File::open(path) {
            Ok(file) => file,
            Err(reason) if reason.kind() == std::io::ErrorKind::NotFound => {
                let help =
                    "check the path, or write a first budget with `surebound start micrometer`";
                return Err(fault("there is no such file", help));
            }
            Err(reason) => {
                let what = format!("the file cannot be read: {reason}");
                return Err(fault(&what, "make it readable for this user"));
            }
        };
        let mut bytes = Vec::new();
        if let Err(reason) = file.take(largest + 1).read_to_end(&mut bytes) {
            let what = format!("the file cannot be read: {reason}");
            return Err(fault(&what, "check the disk, or copy the file elsewhere"));
        }
        if bytes.is_empty() {
            let help = "write a first budget with `surebound start micrometer`";
            return Err(fault("the file is empty", help));
        }
        if bytes.len() as u64 > largest {
            let what = format!("the file is larger than {} MiB", largest / (1024 * 1024));
            return Err(fault(&what, "check the path: a budget or worksheet is a short text"));
        }
        Ok(Source { path: path.to_owned(), bytes })
    }

    /// Returns the SHA-256 of the bytes, as 64 hexadecimal digits in lower case.
    pub fn sha256(&self) -> String {
        Sha256::digest(&self.bytes).iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Returns the record's entry for the file.
    pub fn entry(&self, role: Role) -> File {
        File { path: self.path.display().to_string(), sha256: self.sha256(), role }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(bytes: &[u8]) -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("b.yaml");
        std::fs::write(&path, bytes).unwrap();
        (folder, path)
    }

    /// SHA-256 of the three letters "abc": FIPS 180-4, the example published with it.
    #[test]
    fn reads_a_file_and_its_digest() {
        let (_folder, path) = written(b"abc");
        let source = Source::read(&path).unwrap();
        assert_eq!(source.bytes, b"abc");
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(source.sha256(), expected);
    }

    #[test]
    fn refuses_what_is_no_file_with_content() {
        let (folder, path) = written(b"");
        let message = |path: &Path| Source::read(path).unwrap_err().to_string();
        assert!(message(&path).contains("the file is empty"));
        assert!(message(folder.path()).contains("this is a directory"));
        assert!(message(&folder.path().join("none")).contains("there is no such file"));
        let (_folder, large) = written(&vec![b' '; 1024 * 1024 + 1]);
        assert!(message(&large).contains("larger than 1 MiB"));
    }
}
