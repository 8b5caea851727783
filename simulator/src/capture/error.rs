//! What is wrong with a capture, in one line: where, what was found, what was expected.

use std::fmt;
use std::io;

/// The first thing in a capture that cannot be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaptureError {
    /// The line, from 1; `None` where the whole file is meant.
    pub line: Option<u64>,
    /// What stands there.
    pub found: String,
    /// What could stand there.
    pub expected: String,
}

impl CaptureError {
    /// An error of one line.
    pub fn at(line: u64, found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self { line: Some(line), found: found.into(), expected: expected.into() }
    }

    /// An error of the whole file.
    pub fn whole(found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self { line: None, found: found.into(), expected: expected.into() }
    }

    /// The file cannot be opened or read on.
    pub fn unreadable(error: &io::Error) -> Self {
        let found = match error.kind() {
            io::ErrorKind::NotFound => "no such file".to_owned(),
            io::ErrorKind::PermissionDenied => "a file that may not be read".to_owned(),
            io::ErrorKind::IsADirectory => "a directory".to_owned(),
            _ => format!("a file that cannot be read ({})", one_line(&error.to_string())),
        };
        Self::whole(found, "a capture")
    }

    /// This error behind a file's name: `engine.vcd:12: found …, expected …`.
    pub fn in_file<'a>(&'a self, name: &'a str) -> InFile<'a> {
        InFile { error: self, name }
    }
}

impl fmt::Display for CaptureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        write!(f, "found {}, expected {}", self.found, self.expected)
    }
}

impl std::error::Error for CaptureError {}

/// A [`CaptureError`] with the name of the file it stands in.
#[derive(Debug)]
pub struct InFile<'a> {
    error: &'a CaptureError,
    name: &'a str,
}

impl fmt::Display for InFile<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let CaptureError { line, found, expected } = self.error;
        write!(f, "{}:", one_line(self.name))?;
        if let Some(line) = line {
            write!(f, "{line}:")?;
        }
        write!(f, " found {found}, expected {expected}")
    }
}

/// The longest piece of a file that an error repeats, bytes.
const QUOTED: usize = 40;

/// The longest that such a piece may become by escaping, bytes.
const ESCAPED: usize = 100;

/// A piece of a file in quotes, unprintable bytes escaped, its tail left out where it is long.
pub(super) fn quoted(text: &[u8]) -> String {
    let shown = text.get(..QUOTED).unwrap_or(text);
    let letters: Vec<String> = match std::str::from_utf8(shown) {
        Ok(shown) => shown.chars().map(escaped).collect(),
        Err(_) => shown.iter().map(|byte| byte.escape_ascii().to_string()).collect(),
    };
    let mut quote = String::from("\"");
    let mut cut = shown.len() < text.len();
    for letter in letters {
        if quote.len() + letter.len() > ESCAPED {
            cut = true;
            break;
        }
        quote.push_str(&letter);
    }
    if cut {
        quote.push('…');
    }
    quote.push('"');
    quote
}

fn escaped(letter: char) -> String {
    if letter.is_control() { letter.escape_default().to_string() } else { letter.to_string() }
}

/// A text on one line.
fn one_line(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_names_file_and_line_and_stays_on_one_line() {
        let error = CaptureError::at(7, quoted(b"a\nb"), "a time");
        let text = error.in_file("two\nlines.vcd").to_string();
        assert_eq!(text, "two lines.vcd:7: found \"a\\nb\", expected a time");
    }

    #[test]
    fn bytes_that_are_no_text_are_escaped_and_long_pieces_are_cut() {
        assert_eq!(quoted(&[0xff, b'a', 0]), "\"\\xffa\\x00\"");
        assert!(quoted(&[b'a'; 500]).len() < 60);
        assert!(quoted(&[0x1c; 40]).len() < 110);
    }

    #[test]
    fn a_missing_file_is_told_in_plain_words() {
        let error = CaptureError::unreadable(&io::Error::from(io::ErrorKind::NotFound));
        assert_eq!(error.in_file("x.vcd").to_string(), "x.vcd: found no such file, expected a capture");
    }
}
