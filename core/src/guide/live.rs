//! What is shown while the hand turns: the value that follows it, the error, and the way to turn.

use super::state::Set;
use super::{Guide, Now};
use crate::judge::Verdict;
use crate::units::wrap_degrees;
use crate::view::{Correction, LiveScreen, Screen, Value, ValueKind};

impl Guide {
    pub(super) fn set_screen(&self, set: &Set, now: &Now) -> Screen {
        let target = self.aim(now);
        let error = now.sensed.live.map(|live| wrap_degrees(live.advance - target));
        let movement = error.map(|error| {
            let four = now.job.turns_per_cycle() == 2;
            let housing_deg = if four { -error / 2.0 } else { -error };
            let engine = &now.job.spec().engine;
            let rim = |diameter: f32| housing_deg * diameter * core::f32::consts::PI / 360.0;
            let needed = error.abs() > 0.25 * now.job.spec().timing.tolerance;
            Correction {
                crank_deg: -error,
                housing_deg,
                rim_mm: engine.housing_diameter_mm.map(rim),
                turn: engine
                    .rotor
                    .filter(|_| needed)
                    .map(|rotor| if error < 0.0 { rotor.opposite() } else { rotor }),
            }
        });
        let held = set.still_since.map_or(0, |since| now.sensed.ms.wrapping_sub(since));
        Screen::Live(LiveScreen {
            step: set.step,
            value: self.live_value(now),
            target,
            bolt_moves: self.facts.bolt_moves,
            tolerance: now.job.spec().timing.tolerance,
            error,
            rate: now.sensed.live.map_or(0.0, |live| live.rate),
            hold_percent: (held.min(super::work::STILL_MS) * 100 / super::work::STILL_MS) as u8,
            correction: movement,
            rotor_proven: self.facts.rotor_proven.then_some(true),
        })
    }

    /// The live value as a screen shows it; withheld with the reading's reasons where there is none.
    pub(super) fn live_value(&self, now: &Now) -> Value {
        let Some(live) = now.sensed.live else {
            let value = now.sensed.known.value();
            return match value {
                Value::Withheld { .. } => value,
                Value::Shown { .. } | Value::Gathering { .. } => Value::Gathering { sparks: 0, needed: 5 },
            };
        };
        let error = wrap_degrees(live.advance - self.aim(now));
        let verdict = if error.abs() <= now.job.spec().timing.tolerance {
            Verdict::OnTarget
        } else if error < 0.0 {
            Verdict::Late
        } else {
            Verdict::Early
        };
        Value::Shown {
            advance: live.advance,
            doubt: live.doubt,
            age_ms: now.sensed.known.age_ms,
            kind: ValueKind::Live,
            verdict: Some(verdict),
        }
    }
}
