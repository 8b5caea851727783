//! Splits a value change dump into words, whatever white space stands between them.
//!
//! *Token*: a run of bytes without white space. *Ended*: white space follows it in the file; the last
//! token of a file may lack that, and then the file may have been cut inside it.
//!
//! One buffer of fixed size is filled again and again; a token that runs over its end is moved to its
//! front first, so no token is ever split and nothing is allocated on the way.

use crate::capture::CaptureError;
use crate::capture::error::quoted;
use std::io::{ErrorKind, Read};

/// The longest token, bytes: a vector of as many bits is tolerated.
const BUFFER: usize = 128 * 1024;

/// A word of the file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Token<'a> {
    /// Its bytes; never empty.
    pub(super) text: &'a [u8],
    /// The line it starts in, from 1.
    pub(super) line: u64,
    /// White space follows it.
    pub(super) ended: bool,
}

impl Token<'_> {
    /// The token in quotes, for an error.
    pub(super) fn quoted(&self) -> String {
        quoted(self.text)
    }

    /// An error about this token.
    pub(super) fn error(&self, expected: impl Into<String>) -> CaptureError {
        CaptureError::at(self.line, self.quoted(), expected)
    }
}

/// A file as a stream of tokens.
#[derive(Debug)]
pub(super) struct Tokens<R> {
    source: R,
    buffer: Box<[u8]>,
    start: usize,
    end: usize,
    line: u64,
    exhausted: bool,
}

impl<R: Read> Tokens<R> {
    /// The tokens of a file from its beginning, a byte-order mark left out.
    ///
    /// # Errors
    /// The file is empty or cannot be read.
    pub(super) fn new(source: R) -> Result<Self, CaptureError> {
        let buffer = vec![0; BUFFER].into_boxed_slice();
        let mut tokens = Self { source, buffer, start: 0, end: 0, line: 1, exhausted: false };
        while tokens.end < 3 && !tokens.exhausted {
            tokens.fill()?;
        }
        if tokens.end == 0 {
            return Err(CaptureError::whole("an empty file", "a value change dump"));
        }
        if tokens.buffer.starts_with(b"\xef\xbb\xbf") {
            tokens.start = 3;
        }
        Ok(tokens)
    }

    /// The line reached, from 1.
    pub(super) fn line(&self) -> u64 {
        self.line
    }

    /// The next token; `None` at the end of the file.
    ///
    /// # Errors
    /// The file cannot be read on; a token is longer than the buffer.
    #[inline]
    pub(super) fn next(&mut self) -> Result<Option<Token<'_>>, CaptureError> {
        loop {
            let rest = self.buffer.get(self.start..self.end).unwrap_or_default();
            match rest.iter().position(|byte| !is_space(*byte)) {
                Some(skipped) => {
                    self.count_lines(self.start, skipped);
                    self.start += skipped;
                    break;
                }
                None => {
                    self.count_lines(self.start, self.end - self.start);
                    self.start = self.end;
                    if self.exhausted {
                        return Ok(None);
                    }
                    self.fill()?;
                }
            }
        }
        let mut length = 0;
        loop {
            let rest = self.buffer.get(self.start + length..self.end).unwrap_or_default();
            if let Some(more) = rest.iter().position(|byte| is_space(*byte)) {
                return Ok(Some(self.take(length + more, true)));
            }
            length = self.end - self.start;
            if self.exhausted {
                return Ok(Some(self.take(length, false)));
            }
            self.fill()?;
        }
    }

    /// The token of so many bytes, and the place behind it.
    #[inline]
    fn take(&mut self, length: usize, ended: bool) -> Token<'_> {
        let start = self.start;
        self.start += length;
        let text = self.buffer.get(start..start + length).unwrap_or_default();
        Token { text, line: self.line, ended }
    }

    #[inline]
    fn count_lines(&mut self, from: usize, length: usize) {
        let skipped = self.buffer.get(from..from + length).unwrap_or_default();
        self.line += skipped.iter().filter(|byte| **byte == b'\n').count() as u64;
    }

    /// Moves what is left to the front and reads on behind it.
    #[cold]
    fn fill(&mut self) -> Result<(), CaptureError> {
        self.buffer.copy_within(self.start..self.end, 0);
        self.end -= self.start;
        self.start = 0;
        let Some(free) = self.buffer.get_mut(self.end..).filter(|free| !free.is_empty()) else {
            let found = format!("more than {BUFFER} bytes without a space");
            return Err(CaptureError::at(self.line, found, "a value change dump"));
        };
        loop {
            match self.source.read(free) {
                Ok(0) => {
                    self.exhausted = true;
                    return Ok(());
                }
                Ok(count) => {
                    self.end += count;
                    return Ok(());
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(CaptureError::unreadable(&error)),
            }
        }
    }
}

#[inline]
fn is_space(byte: u8) -> bool {
    matches!(byte, b' ' | b'\n' | b'\r' | b'\t' | 0x0b | 0x0c)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A source that hands out a few bytes at a time.
    struct Drops<'a>(&'a [u8], usize);

    impl Read for Drops<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
            let count = self.1.min(self.0.len()).min(buffer.len());
            let (now, later) = self.0.split_at(count);
            buffer[..count].copy_from_slice(now);
            self.0 = later;
            Ok(count)
        }
    }

    fn words(text: &[u8], at_once: usize) -> Vec<(String, u64, bool)> {
        let mut tokens = Tokens::new(Drops(text, at_once)).unwrap();
        let mut words = Vec::new();
        while let Some(token) = tokens.next().unwrap() {
            words.push((String::from_utf8_lossy(token.text).into(), token.line, token.ended));
        }
        words
    }

    #[test]
    fn words_and_lines_are_the_same_however_the_file_arrives() {
        let text = b"\xef\xbb\xbf#0\r\n1!\t0\"\n\n \x0b$end\n#12";
        let expected =
            [("#0", 1, true), ("1!", 2, true), ("0\"", 2, true), ("$end", 4, true), ("#12", 5, false)];
        for at_once in [1, 2, 3, 7, 1000] {
            let words = words(text, at_once);
            let seen: Vec<_> =
                words.iter().map(|(word, line, ended)| (word.as_str(), *line, *ended)).collect();
            assert_eq!(seen, expected, "{at_once} bytes at once");
        }
    }

    #[test]
    fn a_word_over_the_end_of_the_buffer_stays_whole() {
        let mut text = vec![b' '; BUFFER - 3];
        text.extend_from_slice(b"#123456 1!\n");
        assert_eq!(words(&text, usize::MAX), [("#123456".into(), 1, true), ("1!".into(), 1, true)]);
    }

    #[test]
    fn an_endless_word_is_refused_and_memory_does_not_grow() {
        let mut tokens = Tokens::new(std::io::repeat(b'a')).unwrap();
        assert!(tokens.next().unwrap_err().found.contains("without a space"));
    }
}
