//! What is watched at every step: danger, the engine stopping or turning where it must not, the idle
//! leaving its band, gates that close again.

use super::measure::{measure, running_rpm};
use super::side::Side;
use super::state::SoFar;
use super::{Bolt, Guide, Now, State, plan};
use crate::view::{Alarm, GateId, Halt, Mark, StepId};

/// The idle may be outside its band for so long before the guide stops, ms.
const OUT_OF_BAND_MS: u32 = 3000;
/// A lost gate is called for so long, ms.
const LOST_MS: u32 = 3000;
/// With the bolt loose the speed may go so far beyond the band.
const LOOSE_MARGIN: f32 = 1.15;

impl Guide {
    /// Alarms, and halts that come and go with what is measured.
    pub(super) fn watch(&mut self, now: &Now) {
        let sensed = now.sensed;
        let [low, high] = now.job.spec().timing.idle_rpm;
        let rpm = sensed.rpm.filter(|_| sensed.turning);
        let racing = self.facts.bolt == Bolt::Loose && rpm.is_some_and(|rpm| rpm > high * LOOSE_MARGIN);
        let step = self.state.step();
        let stands_lost = self.facts.gate(GateId::EngineStands) == Mark::Proven
            || self.facts.gate(GateId::EngineStands) == Mark::Told;
        self.alarm = if self.turns_with_stop(now) {
            Some(Alarm::TurnsWithStop)
        } else if plan::reaching_in(step) && stands_lost && sensed.turning_fast {
            Some(Alarm::TurnsWhileReachingIn)
        } else if racing {
            Some(Alarm::SpeedWithBoltLoose)
        } else {
            self.lost
                .filter(|(_, since)| sensed.ms.wrapping_sub(*since) < LOST_MS)
                .map(|(gate, _)| Alarm::GateLost(gate))
        };
        self.lost = self.lost.filter(|(_, since)| sensed.ms.wrapping_sub(*since) < LOST_MS);

        let stopped = plan::needs_running(step)
            && !sensed.turning
            && self.clock.still_since.is_some_and(|since| sensed.ms.wrapping_sub(since) >= 1000);
        let out_long =
            self.clock.out_of_band_since.is_some_and(|since| sensed.ms.wrapping_sub(since) >= OUT_OF_BAND_MS);
        // While it is being set, timing that is still off moves the idle too: first the timing.
        let hand_still = match &self.state {
            State::Set(set) => set.still_since.is_some(),
            State::Lines(_)
            | State::Link { .. }
            | State::Read { .. }
            | State::Blip(_)
            | State::Reference { .. }
            | State::Run { .. }
            | State::Finish(_) => true,
        };
        let idles = matches!(self.state, State::Read { .. } | State::Set(_) | State::Reference { .. })
            || matches!(step, StepId::ClampDown | StepId::ClampFine);
        let due = if racing {
            Some(Halt::SpeedWithBoltLoose)
        } else if plan::reaching_in(step) && sensed.turning_fast {
            Some(Halt::EngineRuns)
        } else if stopped && !matches!(self.halt, Some(Halt::OtherCause(_))) {
            // Stopped to put a cause right, it stands for that: the cause is not forgotten.
            Some(Halt::EngineStopped)
        } else if idles && out_long && hand_still && rpm.is_some_and(|rpm| rpm > running_rpm(low)) {
            Some(Halt::IdleMoved { low, high })
        } else {
            None
        };
        match (self.halt, due) {
            (_, Some(halt)) => self.halt = Some(halt),
            (
                Some(
                    Halt::SpeedWithBoltLoose
                    | Halt::EngineRuns
                    | Halt::EngineStopped
                    | Halt::IdleMoved { .. },
                ),
                None,
            ) => {
                let again = match self.halt {
                    Some(Halt::EngineRuns) => !sensed.turning,
                    Some(Halt::EngineStopped) => self.clock.running_since.is_some(),
                    _ => self.clock.in_band_since.is_some(),
                };
                if again {
                    self.halt = None;
                    self.so_far = SoFar::NotYet;
                    self.wishes.restart = true;
                    if let State::Read { judged, .. } = &mut self.state {
                        *judged = false;
                    }
                }
            }
            (_, None) => {}
        }
    }

    /// The crank turns while the stop is in: any edge once the readings are taken, more than a hand's speed
    /// while they are.
    fn turns_with_stop(&self, now: &Now) -> bool {
        if !self.facts.stop_in {
            return false;
        }
        match &self.side {
            Side::Zero(zero) if zero.turned_by_hand() => now.sensed.turning_fast,
            Side::Zero(_)
            | Side::None
            | Side::Causes { .. }
            | Side::NextCheck
            | Side::Others { .. }
            | Side::Teach
            | Side::Corrections { .. }
            | Side::NoStart => now.sensed.any_edge || now.sensed.turning_fast,
        }
    }

    /// Marks the measured gates of the lines that are shown; one that closes again is called out.
    pub(super) fn mark_measured(&mut self, step: StepId, now: &Now) {
        for gate in plan::gates(step, self.control) {
            let before = self.facts.gate(*gate);
            let Some(measured) = measure(*gate, now, &self.clock, &self.facts) else {
                if before == Mark::Failed {
                    self.facts.mark(*gate, Mark::Open);
                }
                continue;
            };
            if before == Mark::Skipped {
                continue;
            }
            let mark = match measured.holds {
                Some(true) => Mark::Proven,
                Some(false) if is_waited_for(*gate) => Mark::Open,
                Some(false) => Mark::Failed,
                None if before == Mark::Proven => continue,
                None => Mark::Open,
            };
            if before == Mark::Proven && mark != Mark::Proven && self.lost.is_none() {
                self.lost = Some((*gate, now.sensed.ms));
            }
            self.facts.mark(*gate, mark);
        }
    }
}

/// Whether "not yet" is the ordinary answer, not a fault.
const fn is_waited_for(gate: GateId) -> bool {
    matches!(gate, GateId::EngineStands | GateId::EngineRuns | GateId::IdleInBand)
}
