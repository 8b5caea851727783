//! Collects bytes until a line is whole; what is too long is refused whole.

/// The longest line to the handheld, bytes, its end included.
pub const LONGEST_IN: usize = 1536;

/// What came of a byte that ended a line.
#[derive(Debug, PartialEq, Eq)]
pub enum Line<'a> {
    /// A whole line, without its end.
    Whole(&'a [u8]),
    /// It was longer than [`LONGEST_IN`] and is gone.
    TooLong,
}

/// A line on its way in.
#[derive(Debug)]
pub struct Gather {
    bytes: [u8; LONGEST_IN],
    length: usize,
    number: u32,
    ended: bool,
}

impl Default for Gather {
    fn default() -> Self {
        Self { bytes: [0; LONGEST_IN], length: 0, number: 0, ended: false }
    }
}

impl Gather {
    /// Forgets a begun line and counts from 1 again: the port was opened.
    pub fn restart(&mut self) {
        (self.length, self.number, self.ended) = (0, 0, false);
    }

    /// Lines ended so far, empty ones included: the number of the line just given.
    pub fn number(&self) -> u32 {
        self.number
    }

    /// Takes a byte; a line where it ended one that is not empty.
    pub fn take(&mut self, byte: u8) -> Option<Line<'_>> {
        if core::mem::take(&mut self.ended) {
            self.length = 0;
        }
        if byte != b'\n' {
            if let Some(room) = self.bytes.get_mut(self.length) {
                *room = byte;
            }
            // One past the end marks a line that is too long; its end is still waited for.
            self.length = self.length.saturating_add(1).min(LONGEST_IN + 1);
            return None;
        }
        self.ended = true;
        self.number = self.number.saturating_add(1);
        if self.length >= LONGEST_IN {
            return Some(Line::TooLong);
        }
        let line = self.bytes.get(..self.length).unwrap_or_default();
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        (!line.iter().all(u8::is_ascii_whitespace)).then_some(Line::Whole(line))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    fn all(bytes: &[u8]) -> Vec<(u32, Option<Vec<u8>>)> {
        let mut gather = Gather::default();
        let mut lines = Vec::new();
        for byte in bytes {
            let line = gather.take(*byte).map(|line| match line {
                Line::Whole(line) => Some(line.to_vec()),
                Line::TooLong => None,
            });
            lines.extend(line.map(|line| (gather.number(), line)));
        }
        lines
    }

    #[test]
    fn lines_come_whole_whatever_ends_them_and_empty_ones_only_count() {
        let lines = all(b"one\n\r\n  \ntwo\r\nthree");
        assert_eq!(lines, [(1, Some(b"one".to_vec())), (4, Some(b"two".to_vec()))]);
    }

    #[test]
    fn a_line_longer_than_the_room_is_refused_whole_and_the_next_is_whole_again() {
        for length in [LONGEST_IN - 1, LONGEST_IN, LONGEST_IN + 1, 5 * LONGEST_IN] {
            let mut bytes = std::vec![b'x'; length];
            bytes.extend(b"\nnext\n");
            let lines = all(&bytes);
            assert_eq!(lines[0].1.is_some(), length < LONGEST_IN, "{length}");
            assert_eq!(lines[1], (2, Some(b"next".to_vec())));
        }
    }
}
