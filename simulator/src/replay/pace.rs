//! How time passes in a replay.

use std::thread::sleep;
use std::time::{Duration, Instant};

/// Waits until a moment of the capture.
pub trait Pace {
    /// Returns once it is so many seconds since the capture began.
    fn until(&mut self, seconds: f64);
}

/// Nothing is waited for.
#[derive(Debug, Clone, Copy, Default)]
pub struct AtOnce;

impl Pace for AtOnce {
    fn until(&mut self, _seconds: f64) {}
}

/// Real time, or so many times as fast.
#[derive(Debug)]
pub struct RealTime {
    speed: f64,
    since: Option<Instant>,
}

impl RealTime {
    /// Counts from the first moment that is waited for; `speed` 1 is real time.
    pub fn new(speed: f64) -> Self {
        Self { speed, since: None }
    }
}

impl Pace for RealTime {
    fn until(&mut self, seconds: f64) {
        let since = *self.since.get_or_insert_with(Instant::now);
        let due = Duration::try_from_secs_f64(seconds / self.speed).unwrap_or_default();
        if let Some(wait) = due.checked_sub(since.elapsed()) {
            sleep(wait);
        }
    }
}
