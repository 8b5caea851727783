//! Level changes at the two pickups.

use crate::units::Stamp;

/// One of the two inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Channel {
    /// The crank trigger.
    Crank,
    /// The clamp on cylinder one's spark lead.
    Spark,
}

/// A level of an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Level {
    /// Low.
    Low,
    /// High.
    High,
}

/// A change of level: what the input is from this moment on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Edge {
    /// Where.
    pub channel: Channel,
    /// The level after the change.
    pub level: Level,
    /// When, on the free-running counter.
    pub at: Stamp,
}
