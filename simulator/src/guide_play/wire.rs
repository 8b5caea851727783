//! What comes from the engine through the pickups, until the handheld's clock has come so far.

use crate::engine::sink::{Sink, TrueSpark};
use keyway_core::edges::{Channel, Level};

/// What came from the engine and waits for its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Came {
    Level(Channel, Level),
    Supply(f64),
}

/// Collects what the engine tells.
#[derive(Debug, Default)]
pub(super) struct Wire {
    pub(super) waiting: Vec<(u64, Came)>,
    /// A pickup on the balancer's mark is clipped to the spark input.
    pub(super) on_mark: bool,
    /// When the supply is looked at next, ns.
    supply_due: u64,
    /// Truth: the newest spark.
    pub(super) spark: Option<TrueSpark>,
    /// Truth: the sparks since the last delivery.
    pub(super) sparks: Vec<TrueSpark>,
}

impl Sink for Wire {
    fn level(&mut self, channel: Channel, level: Level, at: u64) {
        if channel == Channel::Crank || !self.on_mark {
            self.waiting.push((at, Came::Level(channel, level)));
        }
    }

    fn crank(&mut self, angle: f64, at: u64) {
        if self.on_mark && angle.rem_euclid(360.0) == 0.0 {
            self.waiting.push((at, Came::Level(Channel::Spark, Level::High)));
            self.waiting.push((at + 200_000, Came::Level(Channel::Spark, Level::Low)));
        }
    }

    fn supply(&mut self, volts: f64, at: u64) {
        // The handheld looks at its supply ten times a second.
        if at >= self.supply_due {
            self.supply_due = at + 100_000_000;
            self.waiting.push((at, Came::Supply(volts)));
        }
    }

    fn spark(&mut self, spark: TrueSpark) {
        self.spark = Some(spark);
        self.sparks.push(spark);
    }
}
