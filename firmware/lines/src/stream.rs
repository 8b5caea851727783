//! The edge stream: edges gathered into batches, what is dropped counted.

use heapless::Vec;
use keyway_core::edges::{Channel, Level};
use serde::Serialize;

/// Edges of a batch at most.
pub const BATCH: usize = 256;
/// Edges of two channels no farther apart, ticks, may come in either order: 4 µs, the slowest input stage.
const CLOSE: u64 = 24;

/// One line of the stream.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EdgesLine<'a> {
    batch: u32,
    start: u64,
    levels: [u8; 2],
    lost: [u32; 2],
    battery_v: Option<f32>,
    d: &'a [u32],
    end: u64,
}

/// The batch being gathered. Times are ticks of the capture clock, unwrapped.
#[derive(Debug, Clone, Default)]
pub struct Batch {
    number: u32,
    start: u64,
    latest: u64,
    before: [u8; 2],
    now: [u8; 2],
    lost: [u32; 2],
    counts: [u32; 2],
    edges: Vec<u32, BATCH>,
}

impl Batch {
    /// The stream is switched on at `at`, with the levels of crank and spark as they are.
    pub fn new(at: u64, levels: [Level; 2]) -> Self {
        let levels = levels.map(bit);
        Self { start: at, latest: at, before: levels, now: levels, ..Self::default() }
    }

    /// Takes an edge; in the order of time. `false` where the batch is full: send it, then take again. An edge
    /// that does not fit the format (250 s after the one before) or comes before it is counted as lost.
    pub fn push(&mut self, channel: Channel, level: Level, at: u64) -> bool {
        if self.edges.is_full() {
            return false;
        }
        let place = channel as usize;
        if let Some(now) = self.now.get_mut(place) {
            *now = bit(level);
        }
        // Each channel's own delay was taken off: two edges so close may have changed places.
        let at = if at < self.latest && self.latest - at <= CLOSE { self.latest } else { at };
        let delta = at.checked_sub(self.latest).and_then(|delta| u32::try_from(delta).ok());
        let word = delta
            .filter(|delta| *delta < 1 << 30)
            .map(|delta| delta << 2 | (place as u32) << 1 | u32::from(bit(level)));
        match word {
            Some(word) => {
                let _ = self.edges.push(word);
                self.latest = at;
                count(&mut self.counts, channel, 1);
            }
            None => self.lose(channel, 1),
        }
        true
    }

    /// Edges that the capture lost.
    pub fn lose(&mut self, channel: Channel, edges: u32) {
        count(&mut self.lost, channel, edges);
    }

    /// Whether nothing more fits.
    pub fn is_full(&self) -> bool {
        self.edges.is_full()
    }

    /// The batch as a line that tells of everything up to `end`.
    pub fn line(&self, end: u64, battery_v: Option<f32>) -> EdgesLine<'_> {
        EdgesLine {
            batch: self.number,
            start: self.start,
            levels: self.before,
            lost: self.lost,
            battery_v,
            d: &self.edges,
            end: end.max(self.latest),
        }
    }

    /// The line with this `end` has gone out: the next batch begins there.
    pub fn sent(&mut self, end: u64) {
        self.number = self.number.wrapping_add(1);
        self.lost = [0; 2];
        self.begin(end);
    }

    /// The line could not go out: its edges count as lost, the next batch begins at `end`.
    pub fn dropped(&mut self, end: u64) {
        for (lost, edges) in self.lost.iter_mut().zip(self.counts) {
            *lost = lost.saturating_add(edges);
        }
        self.begin(end);
    }

    fn begin(&mut self, end: u64) {
        self.start = end.max(self.latest);
        self.latest = self.start;
        self.before = self.now;
        self.counts = [0; 2];
        self.edges.clear();
    }
}

fn bit(level: Level) -> u8 {
    u8::from(level == Level::High)
}

fn count(counts: &mut [u32; 2], channel: Channel, edges: u32) {
    if let Some(count) = counts.get_mut(channel as usize) {
        *count = count.saturating_add(edges);
    }
}
