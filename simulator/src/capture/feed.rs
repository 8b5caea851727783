//! Hands a capture's events to the meter as the stamps of a free-running counter.
//!
//! The meter is written for a 32-bit counter that wraps; here it gets exactly that, at the desktop's rate
//! of 0.1 µs a tick, so that a capture of hours takes the same path as a minute under the hood. A silence
//! longer than a quarter of the counter's range is bridged by telling the meter the time in between.

use super::Event;
use keyway_core::edges::Edge;
use keyway_core::meter::Meter;
use keyway_core::units::Stamp;

/// What the counter reads at the capture's first time: 10 ms, so that a declared delay of a pickup (at
/// most 1 ms) taken off the first edge does not fall before the counter's zero.
pub const START: u32 = 100_000;

/// A quarter of the counter's range, ticks.
const QUARTER: u64 = 1 << 30;

/// The way into a meter.
#[derive(Debug)]
pub struct Feed<'m> {
    meter: &'m mut Meter,
    reached: u64,
}

impl<'m> Feed<'m> {
    /// A feed at a capture's first time.
    pub fn new(meter: &'m mut Meter) -> Self {
        meter.poll(stamp(0));
        Self { meter, reached: 0 }
    }

    /// The meter, to fetch settled sparks from.
    pub fn meter(&mut self) -> &mut Meter {
        self.meter
    }

    /// Something happened, so many ticks after the capture's first time.
    pub fn event(&mut self, ticks: u64, event: Event) {
        self.bridge(ticks);
        match event {
            Event::Edge(channel, level) => {
                self.meter.on_edge(Edge { channel, level, at: stamp(ticks) });
            }
            Event::Supply(volts) => self.meter.on_supply(volts, stamp(ticks)),
        }
    }

    /// The capture ends so many ticks after its first time.
    pub fn finish(&mut self, ticks: u64) {
        self.bridge(ticks);
        self.meter.poll(stamp(ticks));
        self.meter.finish();
    }

    #[inline]
    fn bridge(&mut self, ticks: u64) {
        while ticks.saturating_sub(self.reached) > QUARTER {
            self.reached += QUARTER;
            self.meter.poll(stamp(self.reached));
        }
        self.reached = ticks;
    }
}

fn stamp(ticks: u64) -> Stamp {
    Stamp((ticks as u32).wrapping_add(START))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_counter_wraps_and_starts_late_enough_for_any_declared_delay() {
        assert_eq!(stamp(0).0, START);
        assert_eq!(stamp(u64::from(u32::MAX)).0, START - 1);
        // The largest delay a job may declare is 1000 µs.
        let delay = keyway_core::units::TickRate::DESKTOP.ticks_in_us(1000.0);
        assert!(i64::from(START) > delay);
    }
}
