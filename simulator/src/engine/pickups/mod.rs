//! The pickups: what turns a passing tooth or a spark into level changes, with all that goes wrong there.
//!
//! *Line*: one signal on its way to the instrument. *Active*: the level during a pulse; which level
//! that is, the job's active edge says. The engine hands each line what should happen and when; the
//! line adds false pulses on top and tells each real change of level once.

pub mod clamp;
pub mod noise;
pub mod supply;
pub mod tooth;
pub mod wheel;

use super::sink::Sink;
use keyway_core::edges::{Channel, Level};
use keyway_core::job::ActiveEdge;

/// One signal: a base level with false pulses over it.
#[derive(Debug, Clone)]
pub struct Line {
    channel: Channel,
    active_edge: ActiveEdge,
    active: bool,
    false_pulses: u32,
    shown: bool,
    last: Option<u64>,
    /// Nothing gets through.
    pub dead: bool,
}

impl Line {
    /// A line at rest.
    pub fn new(channel: Channel, active_edge: ActiveEdge) -> Self {
        Self { channel, active_edge, active: false, false_pulses: 0, shown: false, last: None, dead: false }
    }

    /// The level now.
    pub fn level(&self) -> Level {
        if self.shown == (self.active_edge == ActiveEdge::Rising) { Level::High } else { Level::Low }
    }

    /// The channel that the line is plugged into.
    pub fn channel(&self) -> Channel {
        self.channel
    }

    /// The pickup's own level changes.
    pub fn set(&mut self, active: bool, at: u64, sink: &mut impl Sink) {
        self.active = active;
        self.show(at, sink);
    }

    /// A false pulse begins (`true`) or ends.
    pub fn false_pulse(&mut self, begins: bool, at: u64, sink: &mut impl Sink) {
        self.false_pulses = if begins { self.false_pulses + 1 } else { self.false_pulses.saturating_sub(1) };
        self.show(at, sink);
    }

    fn show(&mut self, at: u64, sink: &mut impl Sink) {
        let shown = self.active != (self.false_pulses > 0);
        if shown == self.shown || self.dead {
            return;
        }
        self.shown = shown;
        // Two changes in one nanosecond would hide a pulse: the later one moves on.
        let at = self.last.map_or(at, |last| at.max(last + 1));
        self.last = Some(at);
        sink.level(self.channel, self.level(), at);
    }
}
