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
/// Crank edges that come out at once.
pub const AT_ONCE: usize = 64;
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
    /// Edges on their way out. Kept, since clearing it anew for every few edges costs as much as reading them.
    room: [Stamp; AT_ONCE],
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

    /// The level since the newest word that was read.
    fn level(&self) -> Level {
        level_of(self.expected.wrapping_sub(1))
    }

    #[inline]
    fn front(&self) -> Option<u32> {
        if self.tail == self.head {
            return None;
        }
        let place = self.tail as usize & self.words.len().wrapping_sub(1);
        self.words.get(place).map(|word| !word.load(Ordering::Relaxed))
    }

    /// Takes the front word, which was read as `word` and is at `at`.
    #[inline]
    fn take(&mut self, word: u32, at: Stamp) -> Captured {
        self.tail = self.tail.wrapping_add(1);
        let sequence = word as u8;
        let missing = sequence.wrapping_sub(self.expected);
        self.expected = sequence.wrapping_add(1);
        let lost = core::mem::take(&mut self.skipped).saturating_add(u32::from(missing));
        let level = level_of(sequence);
        let initial = sequence == 1 && lost == 0 && at.0 <= 1;
        Captured { lost, edge: (!initial).then_some((level, at)) }
    }
}

#[inline]
fn level_of(sequence: u8) -> Level {
    if sequence & 1 == 1 { Level::High } else { Level::Low }
}

/// When a word's edge was, given the time now on the same counter.
#[inline]
fn stamp(word: u32, now: Stamp) -> Stamp {
    let age = (now.0.wrapping_add(AHEAD).wrapping_sub(word >> 8) & COUNT_MASK).wrapping_sub(AHEAD);
    Stamp(now.0.wrapping_sub(age))
}

impl<'a> Channels<'a> {
    /// Both rings.
    pub const fn new(crank: Ring<'a>, spark: Ring<'a>) -> Self {
        Self { crank, spark, room: [Stamp(0); AT_ONCE] }
    }

    /// How far DMA has come with each.
    pub fn set_heads(&mut self, crank: u32, spark: u32) {
        self.crank.set_head(crank);
        self.spark.set_head(spark);
    }

    /// The levels of crank and spark since the newest edges read.
    pub fn levels(&self) -> [Level; 2] {
        [self.crank.level(), self.spark.level()]
    }

    /// How often either ring was overrun.
    pub fn overruns(&self) -> u32 {
        self.crank.overruns().saturating_add(self.spark.overruns())
    }

    /// The crank's words in a row that wait before the spark channel's next, up to the ring's end.
    #[inline]
    pub fn crank_run(&mut self, now: Stamp) -> Run<'a, '_> {
        let ring = &mut self.crank;
        // The very first word may be no edge, and after an overrun some are lost.
        let waiting = if ring.tail == 0 || ring.skipped > 0 { 0 } else { ring.head.wrapping_sub(ring.tail) };
        let from = ring.tail as usize & ring.words.len().wrapping_sub(1);
        let words = ring.words.get(from..).unwrap_or_default();
        let mut words = words.get(..waiting as usize).unwrap_or(words);
        if let Some(spark) = self.spark.front() {
            let spark = stamp(spark, now);
            words = words.get(..count_until(words, spark, now)).unwrap_or_default();
        }
        let expected = u32::from(ring.expected);
        Run {
            ring,
            words,
            left: words.iter(),
            expected,
            latest: now.0.wrapping_add(AHEAD),
            room: &mut self.room,
        }
    }

    /// The oldest edge of either channel; `None` when both are read up to their heads.
    #[inline]
    pub fn next(&mut self, now: Stamp) -> Option<(Channel, Captured)> {
        let spark = self.spark.front();
        let Some(word) = self.crank.front() else {
            return spark.map(|word| (Channel::Spark, self.spark.take(word, stamp(word, now))));
        };
        let at = stamp(word, now);
        if let Some(spark) = spark {
            let spark_at = stamp(spark, now);
            if (spark_at.0.wrapping_sub(at.0) as i32) < 0 {
                return Some((Channel::Spark, self.spark.take(spark, spark_at)));
            }
        }
        Some((Channel::Crank, self.crank.take(word, at)))
    }
}

/// How many of these words, in order of time, are of edges no later than this.
fn count_until(words: &[AtomicU32], latest: Stamp, now: Stamp) -> usize {
    let (mut from, mut to) = (0, words.len());
    while from < to {
        let middle = usize::midpoint(from, to);
        let word = words.get(middle).map_or(0, |word| !word.load(Ordering::Relaxed));
        if (latest.0.wrapping_sub(stamp(word, now).0) as i32) < 0 {
            to = middle;
        } else {
            from = middle + 1;
        }
    }
    from
}

/// Words of one channel in a row; it ends before one ahead of which some were lost.
#[derive(Debug)]
pub struct Run<'a, 'b> {
    ring: &'b mut Ring<'a>,
    words: &'a [AtomicU32],
    left: core::slice::Iter<'a, AtomicU32>,
    expected: u32,
    /// The latest moment that a word can be of.
    latest: u32,
    room: &'b mut [Stamp; AT_ONCE],
}

impl Run<'_, '_> {
    /// The next edges, each put back by what its level is held back, and the level that the first of them is to. Fewer
    /// than [`AT_ONCE`] where the run ends.
    #[inline]
    pub fn next_edges(&mut self, [low, high]: [u32; 2]) -> (Level, &[Stamp]) {
        let first = level_of(self.expected as u8);
        let (delay, next_delay) = if first == Level::High { (high, low) } else { (low, high) };
        let (latest, next_latest) = (self.latest.wrapping_sub(delay), self.latest.wrapping_sub(next_delay));
        // A word comes inverted: so is what its edge counter should be, and its count is added, not taken off.
        let mut due = !self.expected;
        let next_tick = self.latest.wrapping_add(1) << 8;
        let at = |latest: u32, word: u32| Stamp(latest.wrapping_sub(next_tick.wrapping_add(word) >> 8));
        let words = self.left.as_slice();
        // Two at a time: one of either level.
        for ([word, next], [stamp, next_stamp]) in words.as_chunks().0.iter().zip(self.room.as_chunks_mut().0)
        {
            let (word, next) = (word.load(Ordering::Relaxed), next.load(Ordering::Relaxed));
            if ((word ^ due) | (next ^ due.wrapping_sub(1))) as u8 != 0 {
                break;
            }
            (*stamp, *next_stamp) = (at(latest, word), at(next_latest, next));
            due = due.wrapping_sub(2);
        }
        let mut count = (!due).wrapping_sub(self.expected) as usize;
        if let (Some(word), Some(stamp)) = (words.get(count), self.room.get_mut(count)) {
            let word = word.load(Ordering::Relaxed);
            if (word ^ due) as u8 == 0 {
                *stamp = at(latest, word);
                count += 1;
            }
        }
        self.expected = self.expected.wrapping_add(count as u32);
        self.left = words.get(count..).unwrap_or_default().iter();
        (first, self.room.get(..count).unwrap_or_default())
    }

    /// The run was read so far; gives back its last edges, up to two of either level.
    #[inline]
    pub fn end(self) -> impl Iterator<Item = (Level, Stamp)> {
        let Self { ring, words, left, expected, latest, .. } = self;
        let read = words.len() - left.len();
        ring.tail = ring.tail.wrapping_add(read as u32);
        ring.expected = expected as u8;
        let newest = words.get(read.saturating_sub(4)..read).unwrap_or_default();
        newest.iter().map(move |word| {
            let word = !word.load(Ordering::Relaxed);
            (level_of(word as u8), stamp(word, Stamp(latest.wrapping_sub(AHEAD))))
        })
    }
}

#[cfg(test)]
mod tests;
