//! Words of the capture machine turned into edges: sequence checked, time unwrapped, two channels merged.
//!
//! *Word*: what the machine pushes at each level change: 24 bits of its counter over 8 bits of its edge
//! counter, both counted down and so inverted here. The lowest bit of the edge counter is the level, since
//! edges alternate. *Sequence*: the edge counter; a gap in it is the number of edges that were lost on the
//! way (modulo 256, so the ring's own arithmetic counts larger losses). *Ring*: the memory that DMA writes
//! the words to; its head is a count of words that never goes back.
//!
//! Why 24 bits are enough: a word is read at most half a second after its edge, and 2²⁴ ticks of 1/6 µs
//! are 2.8 s.

use core::sync::atomic::{AtomicU32, Ordering};

use keyway_core::edges::{Channel, Level};
use keyway_core::units::{Stamp, TickRate};

/// Ticks of the counter in a microsecond.
pub const TICKS_PER_US: u32 = 6;
/// Ticks of the counter in a second, as a plain number.
pub const TICK_HERTZ: u32 = TICKS_PER_US * 1_000_000;

/// The counter's rate.
pub const fn tick_rate() -> TickRate {
    match TickRate::from_hertz(TICK_HERTZ) {
        Some(rate) => rate,
        None => TickRate::DESKTOP,
    }
}

/// Bits of a word that count time.
const COUNT_MASK: u32 = 0x00ff_ffff;
/// A word may seem to be this far ahead of the clock it is compared with: that one counts microseconds.
const AHEAD: u32 = 1 << 20;
/// Words that DMA may write while the ring is read.
const MARGIN: u32 = 64;

/// An edge, or a word about lost ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Captured {
    /// Edges that were lost before this one.
    pub lost: u32,
    /// Level after the change and when; `None` for the level found at start, which is no edge.
    pub edge: Option<(Level, Stamp)>,
}

/// Reads the words of one channel.
#[derive(Debug, Clone)]
pub struct Channels<'a> {
    crank: Ring<'a>,
    spark: Ring<'a>,
}

/// One channel's ring and where its reader stands.
#[derive(Debug, Clone)]
pub struct Ring<'a> {
    words: &'a [AtomicU32],
    head: u32,
    tail: u32,
    expected: u8,
    skipped: u32,
    overruns: u32,
}

impl<'a> Ring<'a> {
    /// A ring over memory that DMA writes to; its length must be a power of two.
    pub const fn new(words: &'a [AtomicU32]) -> Self {
        Self { words, head: 0, tail: 0, expected: 1, skipped: 0, overruns: 0 }
    }

    /// DMA has written so many words since the start, modulo 2³².
    pub fn set_head(&mut self, head: u32) {
        self.head = head;
        let room = (self.words.len() as u32).saturating_sub(MARGIN);
        let waiting = head.wrapping_sub(self.tail);
        if waiting > room {
            // Overwritten words are lost edges, and so are those that may be overwritten while we read.
            let skipped = waiting - room;
            self.tail = self.tail.wrapping_add(skipped);
            self.expected = self.expected.wrapping_add(skipped as u8);
            self.skipped = self.skipped.saturating_add(skipped);
            self.overruns = self.overruns.saturating_add(1);
        }
    }

    /// How often the ring was overrun.
    pub fn overruns(&self) -> u32 {
        self.overruns
    }

    fn front(&self) -> Option<u32> {
        if self.tail == self.head {
            return None;
        }
        let place = self.tail as usize & self.words.len().wrapping_sub(1);
        self.words.get(place).map(|word| !word.load(Ordering::Relaxed))
    }

    /// Takes the front word, which was read as `word` and is at `at`.
    fn take(&mut self, word: u32, at: Stamp) -> Captured {
        self.tail = self.tail.wrapping_add(1);
        let sequence = word as u8;
        let missing = sequence.wrapping_sub(self.expected);
        self.expected = sequence.wrapping_add(1);
        let lost = core::mem::take(&mut self.skipped).saturating_add(u32::from(missing));
        let level = if sequence & 1 == 1 { Level::High } else { Level::Low };
        let initial = sequence == 1 && lost == 0 && at.0 <= 1;
        Captured { lost, edge: (!initial).then_some((level, at)) }
    }
}

/// When a word's edge was, given the time now on the same counter.
fn stamp(word: u32, now: Stamp) -> Stamp {
    let age = now.0.wrapping_sub(word >> 8) & COUNT_MASK;
    if age > COUNT_MASK - AHEAD {
        Stamp(now.0.wrapping_add(COUNT_MASK + 1 - age))
    } else {
        Stamp(now.0.wrapping_sub(age))
    }
}

impl<'a> Channels<'a> {
    /// Both rings.
    pub const fn new(crank: Ring<'a>, spark: Ring<'a>) -> Self {
        Self { crank, spark }
    }

    /// How far DMA has come with each.
    pub fn set_heads(&mut self, crank: u32, spark: u32) {
        self.crank.set_head(crank);
        self.spark.set_head(spark);
    }

    /// How often either ring was overrun.
    pub fn overruns(&self) -> u32 {
        self.crank.overruns().saturating_add(self.spark.overruns())
    }

    /// The oldest edge of either channel; `None` when both are read up to their heads.
    pub fn next(&mut self, now: Stamp) -> Option<(Channel, Captured)> {
        let crank = self.crank.front().map(|word| (word, stamp(word, now)));
        let spark = self.spark.front().map(|word| (word, stamp(word, now)));
        let crank_first = match (crank, spark) {
            (Some((_, crank)), Some((_, spark))) => spark.0.wrapping_sub(crank.0) as i32 >= 0,
            (crank, _) => crank.is_some(),
        };
        let (channel, ring, front) = if crank_first {
            (Channel::Crank, &mut self.crank, crank)
        } else {
            (Channel::Spark, &mut self.spark, spark)
        };
        front.map(|(word, at)| (channel, ring.take(word, at)))
    }
}

#[cfg(test)]
mod tests;
