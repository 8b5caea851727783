//! The work at a step, tick by tick: what is measured, what it proves, what it stops for.

use super::measure::{has_link, reach};
use super::sensed::Known;
use super::state::{SoFar, State};
use super::{Bolt, Guide, Now, Taken, plan};
use crate::job::Control;
use crate::judge::CauseId;
use crate::units::wrap_degrees;
use crate::view::{CautionId, GateId, Halt, Mark, StepId};

/// A caution's key must be held so long, ms.
pub(super) const HOLD_MS: u32 = 600;
/// The offset is judged to this, degrees (contract).
pub(super) const OFFSET_WITHIN: f32 = 3.0;
/// On target and still for so long, ms.
pub(super) const STILL_MS: u32 = 2000;
/// A computer that steers swings about its offset, and leans off it until the air has taken over: two
/// readings of so long in a row must agree, ms.
const STEERED_MS: u32 = 6000;
/// Within so many degrees.
const STEERED_WITHIN: f32 = 0.5;
/// A reading that has not narrowed by now is as narrow as it gets, ms.
const AS_NARROW_AS_IT_GETS_MS: u32 = 10_000;
/// A wrong number of sparks a turn is counted anew after so long, ms.
const LOOK_AGAIN_MS: u32 = 6000;
/// A cause stops the guide when it is likelier than this; below, it is shown beside the reading.
const SURE_CAUSE: f32 = 0.75;

impl Guide {
    pub(super) fn tick_caution(&mut self, caution: CautionId, now: &Now) {
        if let Some(since) = self.held
            && now.sensed.ms.wrapping_sub(since) >= HOLD_MS
        {
            self.facts.understand(caution);
            self.held = None;
            // The step's own time begins when its work opens.
            self.wishes.restart = true;
            if let State::Set(set) = &mut self.state {
                set.moved_at = now.sensed.ms;
            }
        }
    }

    pub(super) fn work(&mut self, now: &Now) {
        match self.state {
            State::Lines(step) => self.work_lines(step, now),
            State::Link { told, .. } => self.work_link(told, now),
            State::Read { step, judged } => self.work_read(step, judged, now),
            State::Blip(blip) => self.work_blip(blip, now),
            State::Set(set) => self.work_set(set, now),
            State::Reference { before, told, .. } => self.work_reference(before, told, now),
            State::Run { step, bins, peak } => {
                let peak = now.sensed.rpm.map_or(peak, |rpm| peak.max(rpm));
                self.state = State::Run { step, bins, peak };
                let seen = self.run_is_enough(now);
                self.facts.mark(GateId::SpeedsSeen, if seen { Mark::Proven } else { Mark::Open });
            }
            State::Finish(_) => self.work_finish(),
        }
    }

    fn work_lines(&mut self, step: StepId, now: &Now) {
        self.mark_measured(step, now);
        if step == StepId::BelowWeights {
            let out = self.facts.gate(GateId::BelowWeights) == Mark::Failed;
            if matches!(self.halt, None | Some(Halt::MechanismOut)) {
                self.halt = out.then_some(Halt::MechanismOut);
            }
        }
        let counts = plan::gates(step, self.control).contains(&GateId::SparksRight);
        let wrong = counts && self.facts.gate(GateId::SparksRight) == Mark::Failed;
        if wrong && now.sensed.settled_ms >= LOOK_AGAIN_MS {
            // The count goes back to when the clamp was on another lead: it is begun anew.
            self.wishes.restart = true;
        }
        if step != StepId::Ready {
            return;
        }
        let failed = |gate| self.facts.gate(gate) == Mark::Failed;
        let known = &now.sensed.known;
        let due = if failed(GateId::CylindersWork) {
            Some(Halt::DeadCylinder { cylinders: known.weak })
        } else if failed(GateId::SupplyHealthy) {
            match (known.supply, now.job.spec().timing.supply_min_v) {
                (Some(volts), Some(limit)) => Some(Halt::SupplyLow { volts, limit }),
                _ => None,
            }
        } else {
            None
        };
        let own = matches!(self.halt, None | Some(Halt::DeadCylinder { .. } | Halt::SupplyLow { .. }));
        if own {
            self.halt = due;
        }
    }

    /// The settled reading, if it is narrow enough or as narrow as it gets.
    pub(super) fn settled(&self, now: &Now) -> Option<Taken> {
        let known = &now.sensed.known;
        let advance = known.advance.filter(|_| !known.cranking)?;
        let narrow = known.doubt <= (0.5 * now.job.spec().timing.tolerance).max(0.25);
        let enough =
            now.sensed.settled_ms >= 1500 && narrow || now.sensed.settled_ms >= AS_NARROW_AS_IT_GETS_MS;
        enough.then(|| taken(known, advance))
    }

    /// Whether the computer steers while this step reads.
    fn is_steered(&self) -> bool {
        matches!(self.state.step(), StepId::Steered | StepId::ControlBlip | StepId::Restart)
            && self.control != Control::Mechanical
    }

    /// The reading of this step: settled, and where the computer steers the same twice in a row.
    pub(super) fn read(&mut self, now: &Now) -> Option<Taken> {
        let known = &now.sensed.known;
        if !self.is_steered() {
            return self.settled(now);
        }
        let advance = known.advance.filter(|_| !known.cranking && now.sensed.settled_ms >= STEERED_MS)?;
        let taken = taken(known, advance);
        if self.so_far.before().is_some_and(|before| wrap_degrees(advance - before).abs() <= STEERED_WITHIN) {
            return Some(taken);
        }
        self.so_far = SoFar::Once(advance);
        self.wishes.restart = true;
        None
    }

    fn work_link(&mut self, told: bool, now: &Now) {
        let offset = now.job.spec().timing.harness_offset;
        if !told || self.facts.gate(GateId::BaseStep) != Mark::Open {
            return;
        }
        let (Some(steered), true) = (self.facts.steered, offset.abs() >= OFFSET_WITHIN) else {
            // Too small a step to be seen, or nothing to compare with: the blip has to prove it.
            self.facts.mark(GateId::BaseStep, Mark::Told);
            return;
        };
        let Some(read) = self.settled(now) else { return };
        let seen = wrap_degrees(read.advance - steered.advance);
        self.state = State::Link { told, seen: Some(seen) };
        let stepped = seen * -offset > 0.0 && seen.abs() >= 0.5 * offset.abs();
        if stepped {
            self.facts.looked.offset = Some((-seen * 100.0) as i16);
        }
        if (seen + offset).abs() <= OFFSET_WITHIN {
            self.facts.mark(GateId::BaseStep, Mark::Proven);
        } else if stepped {
            // The right way, but not by the offset: no proof, and no reason to stop; the blip decides.
            self.facts.mark(GateId::BaseStep, Mark::Told);
        } else {
            self.facts.mark(GateId::BaseStep, Mark::Failed);
            if (seen - offset).abs() <= OFFSET_WITHIN {
                // It had been in base mode before: what is read now is the steered value.
                self.facts.steered = Some(read);
            }
            self.halt = Some(Halt::NoBaseStep { expected: -offset, seen });
        }
    }

    fn work_read(&mut self, step: StepId, judged: bool, now: &Now) {
        let Some(read) = self.read(now) else {
            // What was shown as settled stays the answer when the reading falters afterwards.
            if !judged {
                self.facts.mark(GateId::Settled, Mark::Open);
            }
            return;
        };
        if !judged || !self.is_steered() {
            self.so_far = SoFar::Settled(read);
        }
        self.facts.mark(GateId::Settled, Mark::Proven);
        if self.halt.is_some() {
            return;
        }
        if step == StepId::Read {
            // SoFar at as long as it is read: some causes are sure only after more sparks than the number needs.
            self.halt = self.cause_that_forbids_turning(now);
        }
        if judged {
            return;
        }
        self.state = State::Read { step, judged: true };
        let timing = &now.job.spec().timing;
        let error = wrap_degrees(read.advance - now.job.target_degrees());
        self.halt = match step {
            StepId::ReadAgain => {
                if error.abs() > timing.tolerance {
                    Some(Halt::OffTarget { error })
                } else if read.doubt > timing.tolerance {
                    Some(Halt::DoubtTooWide { doubt: read.doubt })
                } else {
                    None
                }
            }
            StepId::Restart => {
                let after = self.facts.after.map_or(now.job.target_degrees(), |after| after.advance);
                let expected = after + timing.harness_offset;
                let off = wrap_degrees(read.advance - expected);
                self.facts.mark(GateId::EngineRuns, Mark::Proven);
                if off.abs() > OFFSET_WITHIN {
                    self.facts.mark(GateId::Restarted, Mark::Failed);
                    Some(Halt::NotTakenBack { expected, read: read.advance })
                } else {
                    self.facts.mark(GateId::Restarted, Mark::Proven);
                    None
                }
            }
            _ => self.halt,
        };
    }

    /// A likely cause that turning the distributor would only hide, unless it was gone on with knowingly.
    fn cause_that_forbids_turning(&mut self, now: &Now) -> Option<Halt> {
        let first = now.sensed.known.causes.first().copied().flatten();
        self.facts.cause = first.map(|cause| (cause.id, cause.probability));
        let cause = first.filter(|cause| cause.probability >= SURE_CAUSE && forbids_turning(cause.id))?;
        (self.known_of != Some(cause.id)).then_some(Halt::OtherCause(cause.id))
    }

    /// Whether the speeds of a sweep or curve suffice.
    pub(super) fn run_is_enough(&self, now: &Now) -> bool {
        let State::Run { step, bins, peak } = &self.state else { return false };
        let span = match step {
            StepId::Sweep => 1000.0,
            _ => 1200.0,
        };
        let trend = *step != StepId::Sweep || now.sensed.known.trend.is_some();
        *peak >= reach(now, *step) && trend && bins.rise().is_some_and(|(_, seen)| seen >= span)
    }

    /// The gates that are left undone at the end, and how they are known.
    pub(super) fn undone(&self, now: &Now) -> [Option<GateId>; 6] {
        let facts = &self.facts;
        let computer = has_link(now);
        let held = now.job.spec().timing.control == Control::Commanded
            && facts.step(StepId::HoldFixed) != Mark::Open;
        let hoses = facts.step(StepId::HosesOff) != Mark::Open;
        let turned = facts.step(StepId::Witness) != Mark::Open;
        [
            facts.stop_in.then_some(GateId::StopOut),
            turned.then_some(GateId::BoltTight),
            (computer
                && facts.step(StepId::Ready) != Mark::Open
                && facts.gate(GateId::LinkSet) != Mark::Open)
                .then_some(GateId::LinkBack),
            held.then_some(GateId::StoredInComputer),
            hoses.then_some(GateId::HosesOn),
            (facts.step(StepId::Connect) != Mark::Open).then_some(GateId::LeadsOff),
        ]
    }

    fn work_finish(&mut self) {
        if matches!(self.halt, Some(Halt::StoreFailed)) {
            return;
        }
        let open = |gate| self.facts.gate(gate) == Mark::Open;
        let loose = self.facts.bolt == Bolt::Loose && open(GateId::BoltTight);
        let link = self.facts.link == super::Link::Base;
        self.halt = if self.facts.stop_in {
            Some(Halt::StopStillIn)
        } else if loose {
            Some(Halt::BoltStillLoose)
        } else if link && self.control == Control::Computer && open(GateId::LinkBack) {
            Some(Halt::LinkStillOut)
        } else if link && self.control == Control::Commanded && open(GateId::StoredInComputer) {
            Some(Halt::NotStored)
        } else {
            None
        };
    }

    /// Takes what a step has read, as it is left by its own way on.
    pub(super) fn take(&mut self, now: &Now) {
        let step = self.state.step();
        let shown = self.so_far.settled();
        if let Some(read) = self.read(now).or(shown) {
            match step {
                StepId::Steered => self.facts.steered = Some(read),
                StepId::Read => {
                    if self.facts.before.is_none() {
                        self.facts.before = Some(read);
                    }
                    self.facts.start = Some(read);
                }
                StepId::ReadFine => self.facts.start = Some(read),
                StepId::ReadAgain => self.facts.after = Some(read),
                StepId::Restart => self.facts.restarted = Some(read),
                _ => {}
            }
        }
        if let State::Run { bins, .. } = &self.state {
            match step {
                StepId::CurveOff => self.facts.curve_off = bins.points(),
                StepId::CurveOn => self.facts.curve_on = bins.points(),
                _ => {
                    self.facts.delay_us = now
                        .sensed
                        .known
                        .trend
                        .map(|trend| (trend.delay_us, 2.0 * trend.slope_uncertainty * 1000.0 / 6.0));
                }
            }
        }
    }
}

/// What is known, as it is taken.
fn taken(known: &Known, advance: f32) -> Taken {
    Taken { advance, doubt: known.doubt, rpm: known.rpm.unwrap_or(0.0), supply: known.supply }
}

/// Causes that turning the distributor would only hide.
fn forbids_turning(cause: CauseId) -> bool {
    match cause {
        CauseId::Healthy
        | CauseId::OffTarget
        | CauseId::SetAfterTdc
        | CauseId::SetOutOfBaseMode
        | CauseId::FixedDelay
        | CauseId::WeakSupply => false,
        CauseId::NotInBaseMode
        | CauseId::ClampOnOtherLead
        | CauseId::DriveToothOff
        | CauseId::MechanismAdvancing
        | CauseId::WornDrive
        | CauseId::DeadCylinder
        | CauseId::ClampOnCoilLead
        | CauseId::DwellStartSeen => true,
    }
}
