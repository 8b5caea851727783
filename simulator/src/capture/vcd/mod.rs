//! Reads a value change dump, IEEE Std 1364, as a stream.
//!
//! *Change*: a new value of one signal. *Block*: the values between `$dumpvars`, `$dumpall`, `$dumpon` or
//! `$dumpoff` and its `$end`. Values before the first `#` are what the signals started from.
//!
//! Why not the `vcd` crate (0.7): it was measured on a 12.1 MB capture of ten minutes of a 60-2 wheel and
//! took 0.20 s, 60 MB/s, before any measuring, more than the whole command may take; it refuses signal
//! types and scope types beyond the 2001 standard, which are to be tolerated; it gives no line for an end
//! of file and cannot tell a file cut inside a word from a whole one.

mod declarations;
mod tokens;

use super::error::quoted;
use super::time::{goes_back, too_long};
use super::{CaptureError, Event, Levels, Names, Outline};
use declarations::Declarations;
use keyway_core::edges::{Channel, Level};
use std::io::Read;
use tokens::{Token, Tokens};

/// Reads a dump to its end; see [`super::read`].
pub(super) fn read(
    source: impl Read,
    names: &Names,
    sink: impl FnMut(u64, Event),
) -> Result<Outline, CaptureError> {
    let mut tokens = Tokens::new(source)?;
    let declarations = declarations::read(&mut tokens, names)?;
    let mut changes = Changes {
        truncated: declarations.cut,
        declarations,
        levels: Levels::default(),
        first: None,
        now: 0,
        ticks: 0,
        in_block: false,
        sink,
    };
    changes.read_all(&mut tokens)?;
    let step = changes.declarations.step;
    Ok(Outline {
        first_seconds: step.seconds(changes.first.unwrap_or(0)),
        ticks: changes.ticks,
        step_ticks: step.in_ticks(),
        truncated: changes.truncated || changes.in_block,
    })
}

/// The body of a dump while it is read.
struct Changes<S> {
    declarations: Declarations,
    levels: Levels,
    /// The first time, in the file's unit.
    first: Option<u64>,
    /// The time reached, in the file's unit.
    now: u64,
    /// The time reached, in ticks after the first.
    ticks: u64,
    in_block: bool,
    truncated: bool,
    sink: S,
}

impl<S: FnMut(u64, Event)> Changes<S> {
    fn read_all<R: Read>(&mut self, tokens: &mut Tokens<R>) -> Result<(), CaptureError> {
        while let Some(token) = tokens.next()? {
            match token.text {
                [b'#'] => self.with_next(tokens, |changes, number| changes.time(number, number.text))?,
                [b'#', number @ ..] => self.time(token, number)?,
                [b'0' | b'1' | b'x' | b'X' | b'z' | b'Z', code @ ..] if !code.is_empty() => {
                    self.scalar(token, code, level_of(token.text))?;
                }
                [b'0' | b'1' | b'x' | b'X' | b'z' | b'Z'] => {
                    let level = level_of(token.text);
                    self.with_next(tokens, |changes, code| changes.scalar(code, code.text, level))?;
                }
                [b'b' | b'B', bits @ ..] => {
                    // Of a signal of one bit only the last can matter.
                    let level = level_of(bits.get(bits.len().saturating_sub(1)..).unwrap_or_default());
                    self.with_next(tokens, |changes, code| changes.scalar(code, code.text, level))?;
                }
                [b'r' | b'R', value @ ..] => {
                    let value = value.to_vec();
                    self.with_next(tokens, |changes, code| changes.real(code, &value))?;
                }
                [b's' | b'S', ..] => {
                    self.with_next(tokens, |changes, code| changes.other(code, code.text))?;
                }
                [b'$', ..] => {
                    let (command, line, ended) = (token.text.to_vec(), token.line, token.ended);
                    self.command(&command, line, ended, tokens)?;
                }
                _ => return Err(token.error("a time, a value change or a command")),
            }
        }
        Ok(())
    }

    /// Hands on the token that completes what was begun; the file is cut where there is none.
    fn with_next<R: Read>(
        &mut self,
        tokens: &mut Tokens<R>,
        then: impl FnOnce(&mut Self, Token<'_>) -> Result<(), CaptureError>,
    ) -> Result<(), CaptureError> {
        match tokens.next()? {
            Some(token) => then(self, token),
            None => {
                self.truncated = true;
                Ok(())
            }
        }
    }

    /// A time: everything after it happens then.
    fn time(&mut self, token: Token<'_>, number: &[u8]) -> Result<(), CaptureError> {
        let mut time = 0u64;
        for byte in number {
            let digit = match byte {
                b'0'..=b'9' => byte - b'0',
                _ => return Err(token.error("# and a whole number")),
            };
            let next = time.checked_mul(10).and_then(|time| time.checked_add(u64::from(digit)));
            time = next.ok_or_else(|| token.error(format!("a time of at most {}", u64::MAX)))?;
        }
        if !token.ended {
            // More digits may have followed.
            self.truncated = true;
            return Ok(());
        }
        let first = *self.first.get_or_insert_with(|| {
            self.now = time;
            time
        });
        if time < self.now {
            return Err(goes_back(token.line, token.quoted()));
        }
        let ticks = self.declarations.step.ticks(time - first);
        self.ticks = ticks.ok_or_else(|| too_long(token.line, token.quoted()))?;
        self.now = time;
        Ok(())
    }

    /// A signal of one bit changes, or a vector of which the last bit is given.
    #[inline]
    fn scalar(&mut self, token: Token<'_>, code: &[u8], level: Option<Level>) -> Result<(), CaptureError> {
        let crank = code == self.declarations.crank.as_slice();
        let spark = code == self.declarations.spark.as_slice();
        if !crank && !spark {
            if self.declarations.battery.as_deref() == Some(code) {
                return Err(token.error("a real value for the supply voltage"));
            }
            return self.other(token, code);
        }
        if !token.ended && self.may_be_cut(code) {
            self.truncated = true;
            return Ok(());
        }
        for (channel, meant) in [(Channel::Crank, crank), (Channel::Spark, spark)] {
            if meant
                && let Some(level) = self.levels.change(channel, level)
                && self.first.is_some()
            {
                (self.sink)(self.ticks, Event::Edge(channel, level));
            }
        }
        Ok(())
    }

    fn real(&mut self, token: Token<'_>, value: &[u8]) -> Result<(), CaptureError> {
        let code = token.text;
        if code == self.declarations.crank.as_slice() || code == self.declarations.spark.as_slice() {
            return Err(CaptureError::at(
                token.line,
                format!("a real value of {}", quoted(value)),
                "0, 1, x or z",
            ));
        }
        if self.declarations.battery.as_deref() != Some(code) {
            return self.other(token, code);
        }
        if !token.ended && self.may_be_cut(code) {
            self.truncated = true;
            return Ok(());
        }
        let volts = super::volts(value).ok_or_else(|| {
            CaptureError::at(token.line, format!("a supply of {}", quoted(value)), "a finite number of volts")
        })?;
        (self.sink)(self.ticks, Event::Supply(volts));
        Ok(())
    }

    /// A signal that does not matter changes.
    fn other(&mut self, token: Token<'_>, code: &[u8]) -> Result<(), CaptureError> {
        if !token.ended && self.may_be_cut(code) {
            self.truncated = true;
            return Ok(());
        }
        if self.declarations.codes.contains(code) {
            return Ok(());
        }
        let found = format!("a change of the code {}", quoted(code));
        Err(CaptureError::at(token.line, found, "a code that a $var declares"))
    }

    /// Whether a code at the very end of the file may lack a tail.
    fn may_be_cut(&self, code: &[u8]) -> bool {
        let codes = &self.declarations.codes;
        !codes.contains(code) || codes.iter().any(|other| other.len() > code.len() && other.starts_with(code))
    }

    fn command<R: Read>(
        &mut self,
        command: &[u8],
        line: u64,
        ended: bool,
        tokens: &mut Tokens<R>,
    ) -> Result<(), CaptureError> {
        match command {
            b"$end" if self.in_block => self.in_block = false,
            b"$end" => return Err(CaptureError::at(line, "$end", "a command before it")),
            _ if !ended => self.truncated = true,
            b"$dumpvars" | b"$dumpall" | b"$dumpon" => self.in_block = true,
            b"$dumpoff" => {
                // Until the dump goes on nobody knows the levels.
                self.in_block = true;
                self.levels = Levels::default();
            }
            // Comments, and what other writers add.
            _ => loop {
                match tokens.next()? {
                    Some(token) if token.text == b"$end" => break,
                    Some(_) => {}
                    None => {
                        self.truncated = true;
                        break;
                    }
                }
            },
        }
        Ok(())
    }
}

/// The level that one character stands for; `None` for an unknown one.
#[inline]
fn level_of(state: &[u8]) -> Option<Level> {
    match state.first() {
        Some(b'0') => Some(Level::Low),
        Some(b'1') => Some(Level::High),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
