//! Where the engine tells what happens: the two signals and the supply for whoever captures, and the
//! truth for whoever marks the work.

use keyway_core::edges::{Channel, Level};

/// A spark that the clamp shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueSpark {
    /// When it really came, ns.
    pub at: u64,
    /// Running crank angle, degrees; multiples of the cycle are firing top dead centre of cylinder one.
    pub angle: f64,
    /// Degrees before top dead centre of cylinder one, in (-180, 180].
    pub advance: f64,
    /// The lead it fired on, a cylinder number.
    pub cylinder: u8,
    /// The clamp is turned round, and this is the start of coil charging that it shows as a spark.
    pub dwell_start: bool,
}

/// The work of one cylinder over its last cycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CylinderWork {
    /// When the cycle's work was done, ns.
    pub at: u64,
    /// Cylinder number, from 1.
    pub cylinder: u8,
    /// Work on the piston, J, intake to exhaust opening.
    pub joules: f64,
}

/// Takes what the engine tells, each kind in order of time; moments are ns since the engine's start.
pub trait Sink {
    /// A level change at a pickup.
    fn level(&mut self, channel: Channel, level: Level, at: u64);
    /// The supply voltage.
    fn supply(&mut self, _volts: f64, _at: u64) {}
    /// Truth: a spark that the clamp shows, before the pickup's delay and whatever else it does.
    fn spark(&mut self, _spark: TrueSpark) {}
    /// Truth: where the crank is, every 30 degrees (running degrees) and once at standstill.
    fn crank(&mut self, _angle: f64, _at: u64) {}
    /// Truth: a cylinder's work.
    fn work(&mut self, _work: CylinderWork) {}
}

/// A sink that forgets everything.
#[derive(Debug, Clone, Copy, Default)]
pub struct Nowhere;

impl Sink for Nowhere {
    fn level(&mut self, _channel: Channel, _level: Level, _at: u64) {}
}
