//! The edges of both pickups in the order in which they come, and the truth about them.

use super::{Chance, Ignition, Motion, Trigger};
use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::units::{Instant, Stamp};

/// Ticks a second: the desktop's rate.
pub const TICKS_PER_SECOND: f64 = 1e7;

/// A spark as it was.
#[derive(Debug, Clone, Copy)]
pub struct TrueSpark {
    /// When, seconds.
    pub seconds: f64,
    /// Where, degrees before top dead centre, in (-180, 180].
    pub advance: f64,
}

/// An engine with its pickups.
pub struct Source {
    /// How the crank turns.
    pub motion: Motion,
    /// What the crank pickup sees.
    pub trigger: Trigger,
    /// How it is fired.
    pub ignition: Ignition,
    /// The crank signal is low at the active edge's end: falling edges are active.
    pub crank_falls: bool,
    /// The same for the spark signal.
    pub spark_falls: bool,
    /// Length of the capture.
    pub seconds: f64,
}

/// Edges and truth.
#[derive(Debug, Clone)]
pub struct Capture {
    /// Edges in order of time; stamps count from [`Capture::start`].
    pub edges: Vec<(u64, Channel, Level)>,
    /// Every spark of the leads that the clamp sees.
    pub sparks: Vec<TrueSpark>,
    /// How the crank turned.
    pub motion: Motion,
    /// What the counter reads at time zero.
    pub start: u64,
}

impl Source {
    /// Plays the engine.
    pub fn record(&self, seed: u64) -> Capture {
        let mut chance = Chance::new(seed);
        let at_sparks = self.ignition.sparks(&self.motion, self.seconds, &mut chance);
        let strikes = self.ignition.strikes(&at_sparks, self.seconds, &mut chance);
        let coupling: Vec<f64> = at_sparks.clone();
        let crank = self.trigger.changes(&self.motion, self.seconds, &coupling, &mut chance);
        let spark: Vec<f64> =
            strikes.iter().flat_map(|strike| [strike.at, strike.at + strike.length]).collect();
        let mut edges = levels(&crank, Channel::Crank, self.crank_falls);
        edges.extend(levels(&spark, Channel::Spark, self.spark_falls));
        edges.sort_by_key(|edge| edge.0);
        let sparks = at_sparks
            .iter()
            .map(|seconds| TrueSpark {
                seconds: *seconds,
                advance: wrapped(-self.motion.degrees_at(*seconds)),
            })
            .collect();
        Capture { edges, sparks, motion: self.motion.clone(), start: 1_000_000 }
    }
}

impl Capture {
    /// The same capture on a counter that reads `start` at time zero.
    pub fn starting_at(mut self, start: u64) -> Self {
        self.start = start;
        self
    }

    /// The same capture with the pickups swapped.
    pub fn swapped(mut self) -> Self {
        for edge in &mut self.edges {
            edge.1 = match edge.1 {
                Channel::Crank => Channel::Spark,
                Channel::Spark => Channel::Crank,
            };
        }
        self
    }

    /// The edges as the meter takes them.
    pub fn stamped(&self) -> impl Iterator<Item = Edge> + '_ {
        self.edges.iter().map(|(ticks, channel, level)| Edge {
            channel: *channel,
            level: *level,
            at: Stamp((self.start + ticks) as u32),
        })
    }

    /// Seconds since time zero at a moment that the meter tells, for captures shorter than a wrap.
    pub fn seconds(&self, at: Instant) -> f64 {
        f64::from((at.ticks() as u32).wrapping_sub(self.start as u32) as i32) / TICKS_PER_SECOND
    }

    /// The moment as the meter tells it.
    pub fn instant(&self, seconds: f64) -> Instant {
        Instant::from_ticks(u64::from(self.start as u32)).shifted((seconds * TICKS_PER_SECOND) as i64)
    }

    /// Where the crank truly was, degrees before top dead centre.
    pub fn advance_at(&self, seconds: f64) -> f64 {
        wrapped(-self.motion.degrees_at(seconds))
    }

    /// The centre of the true spark angles: their median. All must lie within half a turn of the first.
    pub fn centre(&self) -> f64 {
        let first = self.sparks[0].advance;
        let mut away: Vec<f64> = self.sparks.iter().map(|spark| wrapped(spark.advance - first)).collect();
        away.sort_by(f64::total_cmp);
        let middle = (away[(away.len() - 1) / 2] + away[away.len() / 2]) / 2.0;
        wrapped(first + middle)
    }
}

/// Into (-180, 180].
pub fn wrapped(degrees: f64) -> f64 {
    let turned = degrees.rem_euclid(360.0);
    if turned > 180.0 { turned - 360.0 } else { turned }
}

/// Level changes from their moments: the first is the active one. Two in one tick cancel out.
fn levels(changes: &[f64], channel: Channel, falls: bool) -> Vec<(u64, Channel, Level)> {
    let mut ticks: Vec<u64> = Vec::with_capacity(changes.len());
    for change in changes {
        let tick = (change * TICKS_PER_SECOND).round() as u64;
        if ticks.last() == Some(&tick) {
            ticks.pop();
        } else {
            ticks.push(tick);
        }
    }
    let mut high = falls;
    let mut edges = Vec::with_capacity(ticks.len());
    for tick in ticks {
        high = !high;
        edges.push((tick, channel, if high { Level::High } else { Level::Low }));
    }
    edges
}
