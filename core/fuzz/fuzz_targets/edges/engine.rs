//! An engine that turns as the job says, so that a script of a few bytes reaches the rooms behind sync.

use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::job::{ActiveEdge, Job};
use keyway_core::meter::Meter;
use keyway_core::units::{Stamp, TURN};

/// Turning, and what is wrong with its signals.
pub(crate) struct Engine {
    /// The moment, ticks; the counter reads its low 32 bits.
    pub(crate) now: u64,
    /// Ticks of a turn.
    pub(crate) turn: u32,
    /// By how much a turn differs from the one before, 1/256 of it.
    pub(crate) change: i8,
    /// Where the spark comes, units of 2⁻³² turn after slot 0.
    pub(crate) spark_at: u32,
    /// A spark every so many turns; 0 for none.
    pub(crate) spark_every: u8,
    /// Strikes of a spark beyond the first.
    pub(crate) strikes: u8,
    /// Every so manieth tooth is lost; 0 for none.
    pub(crate) lose: u8,
    turns: u32,
    teeth: u32,
    level: Level,
}

fn other(level: Level) -> Level {
    match level {
        Level::Low => Level::High,
        Level::High => Level::Low,
    }
}

fn active(edge: ActiveEdge) -> Level {
    match edge {
        ActiveEdge::Rising => Level::High,
        ActiveEdge::Falling => Level::Low,
    }
}

impl Engine {
    pub(crate) fn new(start: u32) -> Self {
        Self {
            now: u64::from(start),
            turn: 857_143,
            change: 0,
            spark_at: 0x3000_0000,
            spark_every: 2,
            strikes: 0,
            lose: 0,
            turns: 0,
            teeth: 0,
            level: Level::Low,
        }
    }

    /// One turn, from slot 0 to slot 0. The number of edges told.
    pub(crate) fn turn_once(&mut self, job: &Job, meter: &mut Meter) -> usize {
        let ticks = |fraction: u64| (u64::from(self.turn) * (fraction >> 8)) >> 24;
        let pattern = job.pattern();
        let (crank_active, spark_active) = (active(job.spec().crank_edge), active(job.spec().spark_edge));
        let mut events: Vec<(u64, Channel, Level)> = Vec::new();
        let mut angle = 0u64;
        for slot in 0..pattern.count() {
            let span = pattern.span_after(slot);
            self.teeth = self.teeth.wrapping_add(1);
            if self.lose == 0 || !self.teeth.is_multiple_of(u32::from(self.lose)) {
                let width = (span / 2).min(TURN / 16);
                events.push((self.now + ticks(angle), Channel::Crank, crank_active));
                events.push((self.now + ticks(angle + width), Channel::Crank, other(crank_active)));
            }
            angle += span;
        }
        if self.spark_every > 0 && self.turns.is_multiple_of(u32::from(self.spark_every)) {
            for strike in 0..u64::from(self.strikes) + 1 {
                let at = self.now + ticks(u64::from(self.spark_at)) + strike * 3000;
                events.push((at, Channel::Spark, spark_active));
                events.push((at + 1000, Channel::Spark, other(spark_active)));
            }
        }
        events.sort_by_key(|event| event.0);
        for (at, channel, level) in &events {
            meter.on_edge(Edge { channel: *channel, level: *level, at: Stamp(*at as u32) });
        }
        self.now += u64::from(self.turn);
        self.turns = self.turns.wrapping_add(1);
        let changed = i64::from(self.turn) * (256 + i64::from(self.change)) / 256;
        self.turn = changed.clamp(2000, 60_000_000) as u32;
        events.len()
    }

    /// An edge that belongs to no engine; the crank's level flips each time unless `same`.
    pub(crate) fn stray(&mut self, meter: &mut Meter, channel: Channel, at: u64, same: bool) {
        if !same {
            self.level = other(self.level);
        }
        meter.on_edge(Edge { channel, level: self.level, at: Stamp(at as u32) });
    }
}
