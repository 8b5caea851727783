//! The last stretch of what came through the two pickups, so that a moment that was just seen can be kept.
//!
//! *Tape*: levels and supply as the handheld got them, and the truth of the sparks beside; what is older than its
//! length falls off.

use crate::engine::sink::TrueSpark;
use crate::engine::truth::Record;
use keyway_core::edges::{Channel, Level};
use std::collections::VecDeque;

/// The last stretch.
#[derive(Debug, Clone)]
pub struct Tape {
    length: u64,
    now: u64,
    levels: VecDeque<(u64, Channel, Level)>,
    supply: VecDeque<(u64, f64)>,
    sparks: VecDeque<TrueSpark>,
}

impl Tape {
    /// A tape of so many seconds.
    pub fn new(seconds: f64) -> Self {
        Self {
            length: (seconds.max(0.0) * 1e9) as u64,
            now: 0,
            levels: VecDeque::new(),
            supply: VecDeque::new(),
            sparks: VecDeque::new(),
        }
    }

    pub(super) fn level(&mut self, at: u64, channel: Channel, level: Level) {
        self.levels.push_back((at, channel, level));
    }

    pub(super) fn volts(&mut self, at: u64, volts: f64) {
        self.supply.push_back((at, volts));
    }

    pub(super) fn spark(&mut self, spark: TrueSpark) {
        self.sparks.push_back(spark);
    }

    /// Time has come so far, ns; what is too old falls off.
    pub(super) fn cut(&mut self, now: u64) {
        self.now = now;
        let oldest = now.saturating_sub(self.length);
        while self.levels.front().is_some_and(|level| level.0 < oldest) {
            self.levels.pop_front();
        }
        while self.supply.front().is_some_and(|sample| sample.0 < oldest) {
            self.supply.pop_front();
        }
        while self.sparks.front().is_some_and(|spark| spark.at < oldest) {
            self.sparks.pop_front();
        }
    }

    /// The sparks that the clamp showed, the newest first, with their age in s.
    pub fn sparks(&self) -> impl Iterator<Item = (f64, TrueSpark)> {
        self.sparks.iter().rev().map(|spark| (self.now.saturating_sub(spark.at) as f64 * 1e-9, *spark))
    }

    /// Nothing came through the pickups.
    pub fn is_empty(&self) -> bool {
        self.levels.is_empty()
    }

    /// The tape as a capture that begins with its first change; `None` where nothing came.
    pub fn record(&self) -> Option<Record> {
        let first = self.levels.front()?.0;
        let start = self.supply.front().map_or(first, |sample| sample.0.min(first));
        let mut record = Record::from(0.0);
        record.start = start;
        for known in &mut record.first_levels {
            // The first change tells what stood before it.
            if let Some((_, _, level)) = self.levels.iter().find(|level| level.1 == known.0) {
                known.1 = if *level == Level::High { Level::Low } else { Level::High };
            }
        }
        record.levels =
            self.levels.iter().map(|(at, channel, level)| (at - start, *channel, *level)).collect();
        record.supply = self.supply.iter().map(|(at, volts)| (at - start, *volts)).collect();
        record.length = self.now.saturating_sub(start);
        Some(record)
    }
}
