//! What is wrong with a job file, in one line: where, which key, what was read, what is allowed.

use std::fmt;
use std::ops::Range;

/// The longest piece of a file that an error repeats, letters.
const SHOWN: usize = 60;

/// The first entry of a job file that cannot be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobFileError {
    /// The line, from 1; `None` where the whole file is meant.
    pub line: Option<usize>,
    /// The key with its section, `timing.base_btdc`; `None` where the text is not TOML.
    pub key: Option<String>,
    /// What stands there.
    pub read: String,
    /// What may stand there.
    pub allowed: String,
}

impl JobFileError {
    /// An error of the whole file.
    pub(super) fn whole(read: impl Into<String>, allowed: impl Into<String>) -> Self {
        Self { line: None, key: None, read: read.into(), allowed: allowed.into() }
    }

    /// This error behind a file's name: `engine.job.toml:12: timing.extra: read …, allowed …`.
    pub fn in_file<'a>(&'a self, name: &'a str) -> InFile<'a> {
        InFile { error: self, name }
    }
}

/// A [`JobFileError`] with the name of the file it stands in.
#[derive(Debug)]
pub struct InFile<'a> {
    error: &'a JobFileError,
    name: &'a str,
}

impl fmt::Display for InFile<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:", one_line(self.name))?;
        if let Some(line) = self.error.line {
            write!(f, "{line}:")?;
        }
        write!(f, " {}", self.error)
    }
}

impl fmt::Display for JobFileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(key) = &self.key {
            write!(f, "{key}: ")?;
        }
        write!(f, "read {}, allowed {}", self.read, self.allowed)
    }
}

impl std::error::Error for JobFileError {}

/// The line, from 1, of a place in a text.
pub(super) fn line_of(text: &str, at: usize) -> usize {
    let before = text.as_bytes().get(..at).unwrap_or(text.as_bytes());
    1 + before.iter().filter(|byte| **byte == b'\n').count()
}

/// A piece of a text on one line, its tail left out where it is long.
pub(super) fn piece(text: &str, span: Range<usize>) -> String {
    let whole = one_line(text.get(span).unwrap_or_default());
    let words = whole.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.is_empty() {
        return "nothing".into();
    }
    match words.char_indices().nth(SHOWN) {
        Some((at, _)) => format!("{}…", words.get(..at).unwrap_or_default()),
        None => words,
    }
}

/// A text on one line.
pub(super) fn one_line(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}
