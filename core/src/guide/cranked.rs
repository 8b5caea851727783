//! What was read while the starter turned the engine: shown while it does, held once it has stopped.
//!
//! *Held*: the last value of a cranking that is over. The starter stops before anyone has read the screen; so
//! the value stays until the engine runs or is cranked again, and is told as held, never as new.

use super::{Guide, Now};
use crate::units::wrap_degrees;
use crate::view::{Cranking, Screen, Value, ValueKind};

/// So far off the target that a tooth, half a turn or a lead explains it, degrees.
const FAR_OFF: f32 = 20.0;

impl Guide {
    /// Keeps the newest value of a cranking until the engine runs.
    pub(super) fn keep_cranked(&mut self, now: &Now) {
        let known = &now.sensed.known;
        match known.advance.filter(|_| known.cranking) {
            Some(advance) => self.cranked = Some((advance, known.doubt)),
            None if self.clock.running_since.is_some() => self.cranked = None,
            None => {}
        }
    }

    /// What the last cranking read, once the engine stands again.
    pub(super) fn held_value(&self, now: &Now) -> Option<Value> {
        let (advance, doubt) = self.cranked.filter(|_| !now.sensed.turning)?;
        let age_ms = now.sensed.known.age_ms;
        Some(Value::Shown { advance, doubt, age_ms, kind: ValueKind::Held, verdict: None })
    }

    pub(super) fn cranking_screen(&self, now: &Now) -> Screen {
        let known = &now.sensed.known;
        let target = now.job.target_degrees();
        let value = self.held_value(now).unwrap_or(known.value());
        let (error, doubt) = match value {
            Value::Shown { advance, doubt, .. } => (Some(wrap_degrees(advance - target)), doubt),
            Value::Gathering { .. } | Value::Withheld { .. } => (None, 0.0),
        };
        let far_off = error.is_some_and(|error| error.abs() > FAR_OFF + doubt);
        Screen::Cranking(Cranking { value, target, error, far_off })
    }
}
