//! Level changes at the two pickups: made comparable in time, and freed of pulses too short to be real.
//!
//! *Edge*: a change of level, stamped by the free-running counter. [`Unwrap`] turns stamps into moments
//! that can be subtracted; [`PulseFilter`] takes out pulses that are much shorter than the signal's own.

mod alternating;
mod filter;

pub(crate) use alternating::{Alternating, Pace};
pub use filter::{Change, PulseFilter};

use crate::units::{Instant, Stamp};

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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Level {
    /// Low.
    #[default]
    Low,
    /// High.
    High,
}

impl Level {
    /// The other one.
    #[inline]
    pub fn other(self) -> Self {
        match self {
            Self::Low => Self::High,
            Self::High => Self::Low,
        }
    }
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

/// Follows a 32-bit counter over its wraps.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwrap {
    latest: Option<Instant>,
}

impl Unwrap {
    /// The latest moment seen.
    pub fn latest(&self) -> Option<Instant> {
        self.latest
    }

    /// The moment at which the counter read `stamp`. Stamps may come out of order by less than half a
    /// wrap; the latest moment seen never goes back. Two calls in a row must lie less than half a wrap
    /// apart.
    pub fn moment(&mut self, stamp: Stamp) -> Instant {
        let Some(latest) = self.latest else {
            let first = Instant::from_ticks(u64::from(stamp.0));
            self.latest = Some(first);
            return first;
        };
        let ahead = stamp.0.wrapping_sub(latest.stamp().0) as i32;
        let moment = latest.shifted(i64::from(ahead));
        if ahead > 0 {
            self.latest = Some(moment);
        }
        moment
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrap_of_the_counter_changes_no_difference() {
        let mut unwrap = Unwrap::default();
        let before = unwrap.moment(Stamp(u32::MAX - 10));
        let after = unwrap.moment(Stamp(20));
        assert_eq!(after.since(before), 31);
    }

    #[test]
    fn a_stamp_a_little_out_of_order_is_a_little_earlier() {
        let mut unwrap = Unwrap::default();
        let first = unwrap.moment(Stamp(5));
        let earlier = unwrap.moment(Stamp(3));
        let next = unwrap.moment(Stamp(9));
        assert_eq!((first.since(earlier), next.since(first)), (2, 4));
    }
}
