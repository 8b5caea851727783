//! Packs the changed lines of the picture for a 400 × 240 reflective memory display.
//!
//! *Packet*: what goes out under one select: the write command, then for each line its address, 50 bytes
//! and a trailer, then one more trailer. Addresses count from 1 and go out least significant bit first, so
//! on a bus that sends the most significant bit first they are reversed. *Sum*: what is remembered of each
//! line sent, so that only lines whose sum differs are sent again; two contents of a line share a sum once
//! in 2³².
//!
//! Timings of select and clock are the board's. Layout of the packet: data sheet of this kind of display,
//! from memory.

use embedded_hal::digital::OutputPin;
use embedded_hal::spi::SpiBus;
use keyway_core::panel::HEIGHT;
use keyway_core::panel::frame::{Frame, LINE_BYTES};

const LINES: usize = HEIGHT as usize;
/// The write command: its first bit out is the one that is set.
const WRITE: u8 = 0b1000_0000;
/// Bytes of a packed line.
pub const PACKED_LINE: usize = LINE_BYTES + 2;

/// What the display shows, by sums of its lines.
#[derive(Debug)]
pub struct Display {
    sums: [Option<u32>; LINES],
    next: usize,
}

impl Default for Display {
    fn default() -> Self {
        Self::new()
    }
}

impl Display {
    /// Nothing is known of what it shows: all lines are sent.
    pub const fn new() -> Self {
        Self { sums: [None; LINES], next: 0 }
    }

    /// A new picture is in the frame: packing begins at its top.
    pub fn redrawn(&mut self) {
        self.next = 0;
    }

    /// Packs as many changed lines as fit; gives the bytes used, 0 when none is left.
    pub fn pack(&mut self, frame: &Frame, packet: &mut [u8]) -> usize {
        let Some((command, mut rest)) = packet.split_first_mut() else { return 0 };
        *command = WRITE;
        let room = rest.len();
        while self.next < LINES && rest.len() > PACKED_LINE {
            let (Some(line), Some(sum)) = (frame.line(self.next), self.sums.get_mut(self.next)) else {
                break;
            };
            self.next += 1;
            let new = sum_of(line);
            if *sum == Some(new) {
                continue;
            }
            *sum = Some(new);
            let Some((place, left)) = core::mem::take(&mut rest).split_at_mut_checked(PACKED_LINE) else {
                break;
            };
            if let [address, pixels @ .., trailer] = place {
                *address = (self.next as u8).reverse_bits();
                pixels.copy_from_slice(line);
                *trailer = 0;
            }
            rest = left;
        }
        let used = room - rest.len();
        if used == 0 {
            return 0;
        }
        if let Some(trailer) = rest.first_mut() {
            *trailer = 0;
        }
        used + 2
    }

    /// Sends all changed lines at once, for a board without DMA; `packet` bounds how many go under one select.
    ///
    /// # Errors
    /// The bus's or the pin's own.
    pub fn flush<S: SpiBus, P: OutputPin>(
        &mut self,
        frame: &Frame,
        packet: &mut [u8],
        bus: &mut S,
        select: &mut P,
    ) -> Result<(), SendError<S::Error, P::Error>> {
        loop {
            let used = self.pack(frame, packet);
            let Some(bytes) = packet.get(..used).filter(|bytes| !bytes.is_empty()) else { return Ok(()) };
            select.set_high().map_err(SendError::Select)?;
            bus.write(bytes).and_then(|()| bus.flush()).map_err(SendError::Bus)?;
            select.set_low().map_err(SendError::Select)?;
        }
    }
}

/// Why the picture did not go out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SendError<B, P> {
    /// The bus.
    Bus(B),
    /// The select pin.
    Select(P),
}

/// A sum in which every bit of the line counts: multiply and rotate, a word at a time.
fn sum_of(line: &[u8]) -> u32 {
    let mut sum = 0x811c_9dc5_u32;
    let (words, rest) = line.as_chunks::<4>();
    for word in words {
        sum = (sum ^ u32::from_le_bytes(*word)).wrapping_mul(0x0100_0193).rotate_left(13);
    }
    for byte in rest {
        sum = (sum ^ u32::from(*byte)).wrapping_mul(0x0100_0193).rotate_left(13);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_graphics::prelude::*;
    use embedded_graphics::{pixelcolor::BinaryColor, primitives::Rectangle};
    use embedded_hal_mock::eh1::{digital, spi};
    use std::vec;

    fn dot(frame: &mut Frame, x: i32, y: i32) {
        let Ok(()) = frame.fill_solid(&Rectangle::new(Point::new(x, y), Size::new(1, 1)), BinaryColor::On);
    }

    #[test]
    fn the_first_picture_sends_every_line_and_the_second_only_what_changed() {
        let (mut frame, mut display, mut packet) = (Frame::new(), Display::new(), [0; 8 * PACKED_LINE + 2]);
        let mut packets = 0;
        while display.pack(&frame, &mut packet) > 0 {
            packets += 1;
        }
        assert_eq!(packets, 30);
        display.redrawn();
        assert_eq!(display.pack(&frame, &mut packet), 0);
        dot(&mut frame, 0, 0);
        dot(&mut frame, 399, 239);
        display.redrawn();
        let used = display.pack(&frame, &mut packet);
        assert_eq!(used, 2 * PACKED_LINE + 2);
        assert_eq!(packet[..3], [0b1000_0000, 0b1000_0000, 0x7f]);
        assert_eq!(packet[PACKED_LINE + 1], 240_u8.reverse_bits());
        assert_eq!(packet[used - 3..used], [0xfe, 0, 0]);
        assert_eq!(display.pack(&frame, &mut packet), 0);
    }

    #[test]
    fn a_changed_line_goes_out_under_one_active_high_select() {
        let (mut frame, mut display, mut packet) = (Frame::new(), Display::new(), [0; 2 * PACKED_LINE + 2]);
        while display.pack(&frame, &mut packet) > 0 {}
        dot(&mut frame, 8, 2);
        display.redrawn();
        let mut wire = vec![0b1000_0000, 3_u8.reverse_bits(), 0xff, 0x7f];
        wire.extend([0xff; 48]);
        wire.extend([0, 0]);
        let mut bus = spi::Mock::new(&[spi::Transaction::write_vec(wire), spi::Transaction::flush()]);
        let mut select = digital::Mock::new(&[
            digital::Transaction::set(digital::State::High),
            digital::Transaction::set(digital::State::Low),
        ]);
        display.flush(&frame, &mut packet, &mut bus, &mut select).unwrap();
        bus.done();
        select.done();
    }

    #[test]
    fn every_bit_of_a_line_counts_in_its_sum() {
        let white = sum_of(&[0xff; LINE_BYTES]);
        for bit in 0..LINE_BYTES * 8 {
            let mut line = [0xff; LINE_BYTES];
            line[bit / 8] ^= 1 << (bit % 8);
            assert_ne!(sum_of(&line), white);
        }
    }
}
