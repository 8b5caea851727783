//! How long things have held: the engine running, standing, idling in its band; and how the advance goes
//! with the small wander of the idle.

use super::Now;
use super::measure::running_rpm;
use crate::statistics::line::LineSums;

/// Since when things have held, on the instrument's milliseconds.
#[derive(Debug, Clone)]
pub(super) struct Clock {
    pub(super) running_since: Option<u32>,
    pub(super) still_since: Option<u32>,
    pub(super) in_band_since: Option<u32>,
    pub(super) out_of_band_since: Option<u32>,
    /// A crank edge was ever seen: from then on silence means that the engine stands.
    pub(super) trigger_seen: bool,
    wander: LineSums,
    /// Sparks still to be left out of the wander: what was changed by hand has to settle first.
    settling: u8,
}

/// Sparks left out at the beginning of a wander: about three seconds of idle.
const SETTLING: u8 = 20;

impl Clock {
    pub(super) fn new() -> Self {
        Self {
            running_since: None,
            still_since: None,
            in_band_since: None,
            out_of_band_since: None,
            trigger_seen: false,
            wander: LineSums::new(),
            settling: SETTLING,
        }
    }

    /// Looks at a tick.
    pub(super) fn tick(&mut self, now: &Now) {
        let sensed = now.sensed;
        let [low, high] = now.job.spec().timing.idle_rpm;
        let rpm = sensed.rpm.filter(|_| sensed.turning);
        let mark = |since: &mut Option<u32>, holds: bool| {
            if !holds {
                *since = None;
            } else if since.is_none() {
                *since = Some(sensed.ms);
            }
        };
        mark(&mut self.running_since, rpm.is_some_and(|rpm| rpm >= running_rpm(low)));
        mark(&mut self.still_since, !sensed.turning);
        mark(&mut self.in_band_since, rpm.is_some_and(|rpm| (low..=high).contains(&rpm)));
        let out = rpm.is_some_and(|rpm| rpm >= running_rpm(low) && !(low..=high).contains(&rpm));
        mark(&mut self.out_of_band_since, out);
        self.trigger_seen |= sensed.in_sync;
    }

    /// A spark of idle, for the wander.
    pub(super) fn idle_spark(&mut self, rpm: f32, advance: f32) {
        if self.settling > 0 {
            self.settling -= 1;
            return;
        }
        self.wander.add(rpm, advance);
    }

    /// Forgets the wander.
    pub(super) fn forget_wander(&mut self) {
        self.wander = LineSums::new();
        self.settling = SETTLING;
    }

    /// Degrees per 1000 rpm over the wander of the idle, with its standard uncertainty.
    pub(super) fn wander_slope(&self) -> Option<(f32, f32)> {
        let line = self.wander.fit()?;
        Some((line.slope * 1000.0, line.slope_uncertainty * 1000.0))
    }
}
