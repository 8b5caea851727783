//! Setting: the hand at the housing, or the reference angle in a computer, against the target.
//!
//! *Still*: on target and without a movement for [`STILL_MS`]. The first real movement shows whether the spark
//! goes the way that the rotor of the job says; no movement at all shows that it is not turned, or not set by it.

use super::state::{Set, State};
use super::work::STILL_MS;
use super::{Guide, Now, Taken};
use crate::units::wrap_degrees;
use crate::view::{GateId, Halt, Mark};

/// The hand may turn so long without the spark moving, ms.
const NOTHING_MOVES_MS: u32 = 25_000;
/// After a question about the way the hand must be still for so long, ms.
const ANEW_MS: u32 = 1000;
/// The first real movement, degrees.
const REAL_MOVEMENT: f32 = 1.0;

/// By how much more a setting may be off that was on target, degrees.
const STAYS_FOR: f32 = 0.1;

/// The most that a setting leads the bolt by, degrees: what moves it further is not its tightening.
pub(super) const MOST_LED: f32 = 5.0;

/// How near the target counts as set, degrees: a little inside the tolerance, so that the reading after the clamp
/// stays within it.
pub(super) fn near_target(tolerance: f32) -> f32 {
    (0.6 * tolerance).max(0.25).min(tolerance)
}

impl Guide {
    /// What is aimed at now, degrees before top dead centre: the target; while it is set, led by what the bolt will
    /// move it.
    pub(super) fn aim(&self, now: &Now) -> f32 {
        let led = if matches!(self.state, State::Set(_)) { self.facts.bolt_moves } else { 0.0 };
        wrap_degrees(now.job.target_degrees() - led)
    }

    pub(super) fn work_set(&mut self, mut set: Set, now: &Now) {
        let sensed = now.sensed;
        let timing = &now.job.spec().timing;
        let aim = self.aim(now);
        let Some(live) = sensed.live else {
            set.still_since = None;
            set.held = false;
            self.state = State::Set(set);
            self.facts.mark(GateId::OnTarget, Mark::Open);
            return;
        };
        if let Some(since) = set.anew {
            if live.rate != 0.0 {
                set.anew = Some(sensed.ms);
            } else if sensed.ms.wrapping_sub(since) >= ANEW_MS {
                set.start = live.advance;
                set.moved_at = sensed.ms;
                set.anew = None;
            }
        }
        let moved = wrap_degrees(live.advance - set.start);
        let needed = wrap_degrees(aim - set.start);
        if live.rate != 0.0 {
            set.moved_at = sensed.ms;
            set.moved |= moved.abs() >= REAL_MOVEMENT;
            self.wishes.restart |= sensed.settled_ms > 400;
        }
        let real = moved.abs() >= REAL_MOVEMENT && moved.abs() > live.doubt;
        if real
            && set.anew.is_none()
            && !self.facts.rotor_proven
            && needed.abs() > timing.tolerance
            && self.halt.is_none()
        {
            set.moved = true;
            set.moved_at = sensed.ms;
            if (moved > 0.0) == (needed > 0.0) {
                self.facts.rotor_proven = true;
            } else {
                self.halt = Some(Halt::OtherWay { moved });
            }
        }
        if real && self.halt == Some(Halt::NothingMoves) {
            // It only took its time.
            self.halt = None;
        }
        let error = wrap_degrees(live.advance - aim);
        let waits = sensed.ms.wrapping_sub(set.moved_at) >= NOTHING_MOVES_MS;
        if waits && !set.moved && moved.abs() < 0.5 && error.abs() > timing.tolerance && self.halt.is_none() {
            self.halt = Some(Halt::NothingMoves);
        }
        // What is on target stays so for a little more, so that no key comes and goes at the edge.
        let near = near_target(timing.tolerance);
        let stays = if set.still_since.is_some() { (near + STAYS_FOR).min(timing.tolerance) } else { near };
        let on = error.abs() <= stays && live.rate == 0.0;
        set.still_since = if on { set.still_since.or(Some(sensed.ms)) } else { None };
        set.held = set.still_since.is_some_and(|since| sensed.ms.wrapping_sub(since) >= STILL_MS);
        let at_idle = self.clock.in_band_since.is_some();
        self.facts.mark(GateId::OnTarget, if set.held && at_idle { Mark::Proven } else { Mark::Open });
        if set.held {
            let settled = self.settled(now).filter(|_| sensed.settled_ms >= STILL_MS);
            let followed = Taken {
                advance: live.advance,
                doubt: live.doubt,
                rpm: sensed.rpm.unwrap_or(0.0),
                supply: sensed.supply,
            };
            self.facts.set = Some(settled.unwrap_or(followed));
        }
        self.state = State::Set(set);
    }

    pub(super) fn work_reference(&mut self, before: f32, told: bool, now: &Now) {
        if !told || self.halt.is_some() {
            return;
        }
        let Some(read) = self.settled(now) else { return };
        let error = wrap_degrees(read.advance - now.job.target_degrees());
        let tolerance = now.job.spec().timing.tolerance;
        let mut next = State::Reference { before, told: false, sign_wrong: false };
        if error.abs() <= tolerance {
            self.facts.mark(GateId::OnTarget, Mark::Proven);
            self.facts.set = Some(read);
            next = State::Reference { before, told, sign_wrong: false };
        } else if error.abs() > 1.5 * before.abs() && (error > 0.0) == (before > 0.0) {
            self.halt = Some(Halt::SignWrong);
            next = State::Reference { before, told: false, sign_wrong: true };
        } else if (error - before).abs() < 0.3 * before.abs() {
            self.halt = Some(Halt::ReferenceUnchanged);
        } else {
            self.halt = Some(Halt::OffTarget { error });
            next = State::Reference { before: error, told: false, sign_wrong: false };
        }
        self.state = next;
    }
}
