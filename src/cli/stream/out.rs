//! Rows out as they come: to standard output, or beside a file that they replace when all are there.

use crate::cli::Failure;
use crate::cli::place::{Place, beside, put};
use std::fs::File;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Where rows go.
pub(super) struct Out {
    path: PathBuf,
    force: bool,
    option: &'static str,
    /// The file beside; `None`: standard output.
    file: Option<(File, PathBuf)>,
}

impl Out {
    /// Opens a place.
    ///
    /// # Errors
    ///
    /// As [`Place::check`]; a file that cannot be made.
    pub(super) fn new(
        path: &Path,
        force: bool,
        option: &'static str,
        endings: &[&str],
    ) -> Result<Out, Failure> {
        let place = Place { path, force, option };
        place.check(endings)?;
        let mut out = Out { path: path.to_owned(), force, option, file: None };
        if !place.is_output() {
            let beside = beside(path);
            let file = File::create(&beside).map_err(|it| out.failed(&it))?;
            out.file = Some((file, beside));
        }
        Ok(out)
    }

    pub(super) fn is_output(&self) -> bool {
        self.file.is_none()
    }

    /// Writes bytes; `false` where the reader has gone away.
    ///
    /// # Errors
    ///
    /// A disk or stream that fails.
    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<bool, Failure> {
        let written = match &mut self.file {
            Some((file, _)) => file.write_all(bytes),
            None => {
                let mut out = std::io::stdout().lock();
                out.write_all(bytes).and_then(|()| out.flush())
            }
        };
        match written {
            Ok(()) => Ok(true),
            Err(reason) if self.file.is_none() && reason.kind() == ErrorKind::BrokenPipe => {
                Ok(false)
            }
            Err(reason) => Err(self.failed(&reason)),
        }
    }

    /// Puts the whole into its place.
    ///
    /// # Errors
    ///
    /// As [`Place::write`].
    pub(super) fn finish(mut self) -> Result<(), Failure> {
        let Some((file, beside)) = self.file.take() else { return Ok(()) };
        drop(file);
        let place = Place { path: &self.path, force: self.force, option: self.option };
        let done = put(&beside, &self.path, self.force).or_else(|it| place.refused(&it));
        let _left = std::fs::remove_file(&beside);
        done
    }

    fn failed(&self, reason: &std::io::Error) -> Failure {
        Failure::Machine(format!("`{}` cannot be written: {reason}", self.path.display()))
    }
}

impl Drop for Out {
    /// What was not finished leaves nothing.
    fn drop(&mut self) {
        if let Some((_, beside)) = self.file.take() {
            let _left = std::fs::remove_file(beside);
        }
    }
}
