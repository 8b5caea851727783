//! Numbers with their words, for writing out.

use crate::job::Rotation;
use crate::view::Unit;
use core::fmt;

/// An advance with its side: "9.8° BTDC", "10.1° ATDC". What rounds to zero is "0.0° BTDC".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Btdc(pub f32);

/// An error with its word: "1.2° early", "0.4° late".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Off(pub f32);

/// A number in its unit: "720 rpm", "13.9 V".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct In(pub f32, pub Unit);

fn tenths(value: f32) -> (f32, bool) {
    let after = value <= -0.05;
    (value.abs(), after)
}

impl fmt::Display for Btdc {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (size, after) = tenths(self.0);
        write!(f, "{size:.1}° {}", if after { "ATDC" } else { "BTDC" })
    }
}

impl fmt::Display for Off {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (size, late) = tenths(self.0);
        write!(f, "{size:.1}° {}", if late { "late" } else { "early" })
    }
}

impl fmt::Display for In {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(value, unit) = *self;
        match unit {
            Unit::Count => write!(f, "{value:.0}"),
            Unit::Advance => Btdc(value).fmt(f),
            Unit::Degrees => write!(f, "{value:.1}°"),
            Unit::Rpm => write!(f, "{value:.0} rpm"),
            Unit::Volt => write!(f, "{value:.1} V"),
            Unit::Millimetre => write!(f, "{value:.1} mm"),
            Unit::Microsecond => write!(f, "{value:.0} µs"),
            Unit::DegreesPer1000Rpm => write!(f, "{value:.1}° per 1000 rpm"),
            Unit::Second => write!(f, "{value:.0} s"),
        }
    }
}

/// A turn, facing the cap.
pub const fn turn(rotation: Rotation) -> &'static str {
    match rotation {
        Rotation::Clockwise => "clockwise",
        Rotation::Counterclockwise => "counterclockwise",
    }
}

/// The lines that a text takes at so many letters a line, broken between words. A word longer than a line
/// stands alone.
#[derive(Debug, Clone)]
pub struct Wrapped<'a> {
    rest: &'a str,
    letters: usize,
}

impl<'a> Wrapped<'a> {
    /// `text` at `letters` a line.
    pub fn new(text: &'a str, letters: usize) -> Self {
        Self { rest: text.trim(), letters }
    }
}

impl<'a> Iterator for Wrapped<'a> {
    type Item = &'a str;

    fn next(&mut self) -> Option<&'a str> {
        if self.rest.is_empty() {
            return None;
        }
        let mut end = None;
        let mut count = 0;
        for (index, letter) in self.rest.char_indices() {
            if letter == ' ' && (count <= self.letters || end.is_none()) {
                end = Some(index);
            }
            count += 1;
        }
        let end = if count <= self.letters { self.rest.len() } else { end.unwrap_or(self.rest.len()) };
        let (line, rest) = self.rest.split_at_checked(end).unwrap_or((self.rest, ""));
        self.rest = rest.trim_start();
        Some(line)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::string::ToString;

    #[test]
    fn an_advance_never_shows_a_bare_sign() {
        assert_eq!(Btdc(9.84).to_string(), "9.8° BTDC");
        assert_eq!(Btdc(-10.06).to_string(), "10.1° ATDC");
        assert_eq!(Btdc(-0.04).to_string(), "0.0° BTDC");
        assert_eq!(Off(-0.4).to_string(), "0.4° late");
    }

    #[test]
    fn lines_break_between_words_and_lose_no_word() {
        let lines: std::vec::Vec<_> = Wrapped::new("one two three four", 9).collect();
        assert_eq!(lines, ["one two", "three", "four"]);
        let lines: std::vec::Vec<_> = Wrapped::new("unbreakable word", 4).collect();
        assert_eq!(lines, ["unbreakable", "word"]);
    }
}
