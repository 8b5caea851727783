//! What a blip proves: that base mode holds, that the clamp holds, that control is back, that no delay is left.

use super::measure::reach;
use super::setting::{MOST_LED, near_target};
use super::state::{Blip, IdleLook, State};
use super::work::OFFSET_WITHIN;
use super::{Guide, Now, Taken};
use crate::job::Control;
use crate::judge::CauseId;
use crate::reading::SpeedTrend;
use crate::units::wrap_degrees;
use crate::view::{BOLT_HOLDS, GateId, Halt, Mark, StepId};

/// Back at idle for so long, the blip is over, ms.
const BACK_MS: u32 = 1500;
/// A slope that is steering, degrees per 1000 rpm.
const STEERS: f32 = 1.5;
/// A slope that is a delay: a degree per 1000 rpm is 167 µs.
const DELAYS: f32 = 1.0;

/// The start of charging rises by 6° per 1000 rpm for each ms of it, 1 to 6 ms: steeper than this neither
/// computer nor weights steer over a blip, degrees per 1000 rpm (8 to 15, common practice, no source).
const STEEPER_THAN_STEERING: f32 = 20.0;

/// An advance that is back rises by so many degrees over the blip at least.
const RISES_BY: f32 = 2.0;

/// What a slope over a blip is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Answer {
    Rises,
    Falls,
    Flat,
    /// Too doubtful to tell: it proves nothing.
    Unclear,
}

fn answer(trend: &SpeedTrend) -> Answer {
    let clear = 3.0 * trend.slope_uncertainty;
    if trend.deg_per_1000rpm > STEERS && trend.deg_per_1000rpm > clear {
        Answer::Rises
    } else if trend.deg_per_1000rpm < -DELAYS && -trend.deg_per_1000rpm > clear {
        Answer::Falls
    } else if trend.slope_uncertainty > STEERS || trend.deg_per_1000rpm > STEERS {
        Answer::Unclear
    } else {
        Answer::Flat
    }
}

impl Guide {
    pub(super) fn work_blip(&mut self, mut blip: Blip, now: &Now) {
        let sensed = now.sensed;
        let [_, high] = now.job.spec().timing.idle_rpm;
        if blip.step == StepId::HoldFixed && self.facts.gate(GateId::FixedHeld) == Mark::Open {
            return;
        }
        if blip.idle == IdleLook::Waiting {
            if let Some(read) = self.read(now) {
                blip.idle = IdleLook::Seen(self.judge_idle(blip.step, read, now));
                self.state = State::Blip(blip);
            }
            return;
        }
        if blip.answered || self.halt.is_some() {
            return;
        }
        if let Some(rpm) = sensed.rpm {
            blip.peak = blip.peak.max(rpm);
            let reached = blip.peak >= reach(now, blip.step);
            if rpm > high || !reached {
                blip.back_since = None;
            } else if blip.back_since.is_none() {
                blip.back_since = Some(sensed.ms);
            }
        }
        let back = blip.back_since.is_some_and(|since| sensed.ms.wrapping_sub(since) >= BACK_MS);
        if let (true, Some(trend)) = (back, sensed.known.trend) {
            let told_by_sparks = blip.step == StepId::ControlBlip
                || blip.step == StepId::ClampBlip && self.control == Control::Mechanical;
            if answer(&trend) == Answer::Unclear && !told_by_sparks {
                // Once more: what is not clear is no proof.
                (blip.peak, blip.back_since) = (0.0, None);
                self.state = State::Blip(blip);
                return;
            }
            blip.answered = true;
            self.facts.slope = Some((trend.deg_per_1000rpm, trend.slope_uncertainty));
            self.judge_blip(&blip, &trend, now);
        }
        self.state = State::Blip(blip);
    }

    /// What the reading at idle shows before the blip: degrees from what is expected.
    fn judge_idle(&mut self, step: StepId, read: Taken, now: &Now) -> f32 {
        let timing = &now.job.spec().timing;
        if step == StepId::ControlBlip {
            let after = self.facts.after.map_or(now.job.target_degrees(), |after| after.advance);
            let expected = after + timing.harness_offset;
            let off = wrap_degrees(read.advance - expected);
            if timing.harness_offset.abs() < OFFSET_WITHIN {
                self.facts.mark(GateId::OffsetBack, Mark::Told);
            } else if off.abs() <= OFFSET_WITHIN {
                self.facts.mark(GateId::OffsetBack, Mark::Proven);
            } else {
                self.facts.mark(GateId::OffsetBack, Mark::Failed);
                self.halt = Some(Halt::NotTakenBack { expected, read: read.advance });
            }
            return off;
        }
        let Some(set) = self.facts.set else {
            self.facts.mark(GateId::ClampHeld, Mark::Told);
            return 0.0;
        };
        let by = wrap_degrees(read.advance - set.advance);
        let off = by - self.facts.bolt_moves;
        let error = wrap_degrees(read.advance - now.job.target_degrees());
        // A bolt that is led already and came down on the target needs no third time.
        let led = self.facts.bolt_moves != 0.0 && error.abs() <= near_target(timing.tolerance);
        if led || off.abs() <= self.clamp_allowed(now) {
            self.facts.mark(GateId::ClampHeld, Mark::Proven);
        } else {
            self.facts.mark(GateId::ClampHeld, Mark::Failed);
            // Set again, it is led by as much.
            let moves = by.abs() >= BOLT_HOLDS;
            self.facts.bolt_moves = if moves { by.clamp(-MOST_LED, MOST_LED) } else { 0.0 };
            self.halt = Some(Halt::ClampMoved { by });
        }
        off
    }

    /// The most that the reading may change as the bolt is tightened, degrees.
    pub(super) fn clamp_allowed(&self, now: &Now) -> f32 {
        let set = self.facts.set.map_or(0.0, |set| set.doubt.min(0.5));
        (0.5 * now.job.spec().timing.tolerance).max(0.3) + set
    }

    fn judge_blip(&mut self, blip: &Blip, trend: &SpeedTrend, now: &Now) {
        let step = blip.step;
        let slope = trend.deg_per_1000rpm;
        let answer = answer(trend);
        // The start of charging, taken for the spark, comes early in proportion to speed: no steering.
        let likelier = now.sensed.known.causes.iter().flatten().find_map(|cause| match cause.id {
            CauseId::DwellStartSeen | CauseId::NotInBaseMode => Some(cause.id),
            _ => None,
        });
        let steep = slope - 2.0 * trend.slope_uncertainty > STEEPER_THAN_STEERING;
        let shown = self.facts.looked.clamp_direction == Some(true);
        let dwell = (likelier == Some(CauseId::DwellStartSeen) || steep) && !shown;
        if dwell && answer == Answer::Rises {
            self.halt = Some(Halt::OtherCause(CauseId::DwellStartSeen));
            return;
        }
        let rises = self.rise_above(blip, now).is_some_and(|by| by >= RISES_BY);
        let mut rise = |mark| self.facts.mark(GateId::NoRise, mark);
        self.halt = match (step, answer) {
            // Idle steering bends any line through idle: the advance above is held against that at idle.
            (StepId::ControlBlip, _) if rises => {
                self.facts.mark(GateId::RisesAgain, Mark::Proven);
                None
            }
            (StepId::ControlBlip, _) => {
                self.facts.mark(GateId::RisesAgain, Mark::Failed);
                Some(Halt::NoAdvanceAbove)
            }
            (StepId::BlipFine, Answer::Rises | Answer::Falls) => {
                rise(Mark::Failed);
                Some(Halt::DelayRemains { delay_us: trend.delay_us })
            }
            // Weights rise with speed, as they should.
            (StepId::ClampBlip, _) if now.job.spec().timing.control == Control::Mechanical => None,
            (_, Answer::Rises) => {
                rise(Mark::Failed);
                Some(Halt::RisesWithSpeed { slope })
            }
            (StepId::BaseBlip, Answer::Falls) => {
                rise(Mark::Proven);
                Some(Halt::FallsWithSpeed { delay_us: trend.delay_us })
            }
            (_, Answer::Falls | Answer::Flat | Answer::Unclear) => {
                rise(Mark::Proven);
                None
            }
        };
    }

    /// How much earlier the sparks well above idle came than those at idle, degrees.
    fn rise_above(&self, blip: &Blip, now: &Now) -> Option<f32> {
        let IdleLook::Seen(off) = blip.idle else { return None };
        let after = self.facts.after.map_or(now.job.target_degrees(), |after| after.advance);
        let idle = after + now.job.spec().timing.harness_offset + off;
        let (above, count) = blip.above;
        (count >= 2).then(|| wrap_degrees(above - idle))
    }
}
