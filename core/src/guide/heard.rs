//! What is heard: the error while a hand sets it, a lost gate, an alarm; silence never means good.

use super::{Guide, Now, Side, State};
use crate::sounder::{Heard, of_error};
use crate::units::wrap_degrees;
use crate::view::Alarm;

impl Guide {
    /// What is to be heard at this moment.
    pub fn heard(&self, now: &Now) -> Heard {
        match self.alarm {
            Some(Alarm::GateLost(_)) => return Heard::GateLost,
            Some(Alarm::TurnsWithStop | Alarm::SpeedWithBoltLoose | Alarm::TurnsWhileReachingIn) => {
                return Heard::Alarm;
            }
            None => {}
        }
        if self.side != Side::None || self.caution(now).is_some() {
            return Heard::Nothing;
        }
        let tolerance = now.job.spec().timing.tolerance;
        match &self.state {
            State::Set(_) => match (self.halt, now.sensed.live) {
                (Some(_), _) => Heard::GateLost,
                (None, Some(live)) => of_error(wrap_degrees(live.advance - self.aim(now)), tolerance),
                (None, None) => Heard::NoReading,
            },
            State::Read { .. } | State::Reference { .. } | State::Blip(_) | State::Link { .. } => {
                if self.halt.is_some() {
                    Heard::GateLost
                } else if now.sensed.live.is_none() && now.sensed.known.advance.is_none() {
                    Heard::NoReading
                } else {
                    Heard::Nothing
                }
            }
            State::Lines(_) | State::Run { .. } | State::Finish(_) => {
                if self.halt.is_some() {
                    Heard::GateLost
                } else {
                    Heard::Nothing
                }
            }
        }
    }

    /// On target with a live value and no halt: the screen turns dark.
    pub fn on_target(&self, now: &Now) -> bool {
        matches!(self.state, State::Set(_)) && self.heard(now) == Heard::OnTarget
    }
}
