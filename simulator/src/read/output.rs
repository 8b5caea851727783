//! A file written beside the answer: whole, or not there.
//!
//! It is created before the capture is read, so that a bad place is told before the work; where the
//! reading then fails, what was begun is taken away again. A file that is read is never written over.

use std::fmt::Display;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// A file in the making.
#[derive(Debug)]
pub(super) struct Output {
    path: PathBuf,
    file: BufWriter<File>,
    failed: Option<io::Error>,
    finished: bool,
}

impl Output {
    /// Creates a file, which must be none of those that are read.
    ///
    /// # Errors
    /// It is one of them, or the place cannot be written.
    pub(super) fn create(path: &Path, read: &[&Path]) -> Result<Self, String> {
        let place = fs::canonicalize(path).ok();
        if place.is_some() && read.iter().any(|read| fs::canonicalize(read).ok() == place) {
            return Err(format!(
                "{}: found a file that is to be read, expected another to write",
                path.display()
            ));
        }
        let file = File::create(path).map_err(|error| unwritable(path, error))?;
        Ok(Self { path: path.to_owned(), file: BufWriter::new(file), failed: None, finished: false })
    }

    /// Writes on. What cannot be written is told by [`Output::finish`].
    pub(super) fn write(&mut self, write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>) {
        if self.failed.is_none() {
            self.failed = write(&mut self.file).err();
        }
    }

    /// Ends the file.
    ///
    /// # Errors
    /// Something could not be written.
    pub(super) fn finish(mut self) -> Result<(), String> {
        self.write(|file| file.flush());
        match self.failed.take() {
            Some(error) => Err(unwritable(&self.path, error)),
            None => {
                self.finished = true;
                Ok(())
            }
        }
    }
}

impl Drop for Output {
    fn drop(&mut self) {
        // A device or a pipe is not ours to remove.
        if !self.finished && fs::metadata(&self.path).is_ok_and(|place| place.is_file()) {
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// The line that says why a file cannot be written.
fn unwritable(path: &Path, error: impl Display) -> String {
    format!("{}: found a place that cannot be written ({error}), expected a file to write", path.display())
}
