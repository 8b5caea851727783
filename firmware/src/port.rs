//! The serial port as lines: bytes gathered into lines on the way in, lines queued on the way out.
//!
//! A line that finds no room in the queue is not said; who wanted to say it hears so and counts or tries later.

use crate::board_rp2040::usb::Usb;
use keyway_lines::{Gather, LONGEST_OUT, Line, Said};

/// Bytes of the queue: the longest line twice.
const QUEUE: usize = 2 * LONGEST_OUT;

/// The port.
pub(crate) struct Port {
    usb: Usb,
    gather: Gather,
    open: bool,
    queue: [u8; QUEUE],
    sent: usize,
    filled: usize,
    came: [u8; 64],
    read: usize,
    length: usize,
}

/// What came in.
pub(crate) enum Came<'a> {
    /// The port was opened.
    Opened,
    /// The port was closed.
    Closed,
    /// An empty line.
    Nothing,
    /// A whole line and its number.
    Line(u32, &'a [u8]),
    /// A line that was too long, and its number.
    TooLong(u32),
}

impl Port {
    /// Nothing said yet.
    pub(crate) fn new(usb: Usb) -> Self {
        let gather = Gather::default();
        Self {
            usb,
            gather,
            open: false,
            queue: [0; QUEUE],
            sent: 0,
            filled: 0,
            came: [0; 64],
            read: 0,
            length: 0,
        }
    }

    /// Moves bytes out, and in what there is room for.
    pub(crate) fn poll(&mut self) {
        while let Some(bytes) = self.queue.get(self.sent..self.filled).filter(|bytes| !bytes.is_empty()) {
            let written = self.usb.write(bytes);
            if written == 0 {
                break;
            }
            self.sent += written;
        }
        if self.read >= self.length {
            self.length = self.usb.read(&mut self.came);
            self.read = 0;
        }
    }

    /// The next thing that came; fetch until `None`.
    pub(crate) fn next(&mut self) -> Option<Came<'_>> {
        let open = self.usb.open();
        if open != self.open {
            self.open = open;
            (self.sent, self.filled) = (0, 0);
            self.gather.restart();
            return Some(if open { Came::Opened } else { Came::Closed });
        }
        while self.read < self.length {
            let byte = self.came.get(self.read).copied().unwrap_or(b'\n');
            self.read += 1;
            if byte != b'\n' {
                let _ = self.gather.take(byte);
                continue;
            }
            // A line that came is borrowed from here on: an empty one ends this call, the next goes on.
            let number = self.gather.number().saturating_add(1);
            return Some(match self.gather.take(byte) {
                Some(Line::Whole(line)) => Came::Line(number, line),
                Some(Line::TooLong) => Came::TooLong(number),
                None => Came::Nothing,
            });
        }
        None
    }

    /// Says a line; whether there was room for it.
    pub(crate) fn say(&mut self, said: &Said<'_>) -> bool {
        if !self.open {
            return false;
        }
        if self.sent > 0 {
            self.queue.copy_within(self.sent..self.filled, 0);
            self.filled -= self.sent;
            self.sent = 0;
        }
        let room = self.queue.get_mut(self.filled..).unwrap_or_default();
        match said.write(room) {
            Some(line) => {
                self.filled += line.len();
                true
            }
            None => false,
        }
    }

    /// Whether the longest line would find room.
    pub(crate) fn has_room(&self) -> bool {
        QUEUE - (self.filled - self.sent) >= LONGEST_OUT
    }
}
