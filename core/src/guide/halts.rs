//! The ways out of a halt: put right and looked at again, gone on with knowing it, or back to where it is
//! put right.

use super::state::{Saving, State};
use super::{Guide, Now, Side};
use crate::corrections::Corrections;
use crate::view::{GateId, Halt, KeyLabel, Mark, Notice, StepId};

impl Guide {
    pub(super) fn halt_keys(&self, halt: Halt) -> (KeyLabel, KeyLabel) {
        match halt {
            Halt::OtherWay { .. } => (KeyLabel::No, KeyLabel::Yes),
            // These go by themselves as soon as they are put right.
            Halt::IdleMoved { .. } | Halt::SpeedWithBoltLoose | Halt::EngineStopped | Halt::EngineRuns => {
                (KeyLabel::None, KeyLabel::None)
            }
            Halt::DeadCylinder { .. } | Halt::SupplyLow { .. } => (KeyLabel::Skip, KeyLabel::None),
            Halt::FallsWithSpeed { .. } | Halt::NoAdvanceAbove => (KeyLabel::Again, KeyLabel::Next),
            Halt::ClampMoved { .. } | Halt::OffTarget { .. } | Halt::DelayRemains { .. } => {
                (KeyLabel::Skip, KeyLabel::Again)
            }
            // To be gone on with all the same only after a look at the causes.
            Halt::OtherCause(_) => (KeyLabel::Causes, KeyLabel::Again),
            Halt::NoBaseStep { .. }
            | Halt::RisesWithSpeed { .. }
            | Halt::DoubtTooWide { .. }
            | Halt::NotTakenBack { .. }
            | Halt::MechanismOut => (KeyLabel::Skip, KeyLabel::Again),
            Halt::NothingMoves | Halt::SignWrong | Halt::ReferenceUnchanged | Halt::StoreFailed => {
                (KeyLabel::None, KeyLabel::Again)
            }
            Halt::StopStillIn => (KeyLabel::None, KeyLabel::Done),
            Halt::LinkStillOut | Halt::BoltStillLoose | Halt::NotStored => (KeyLabel::Skip, KeyLabel::Done),
        }
    }

    /// The way back out of a halt leads to where it is put right.
    pub(super) fn back_from(&mut self, halt: Halt, now: &Now) {
        let set = if self.plan.contains(&StepId::Set) { StepId::Set } else { StepId::Reference };
        match halt {
            Halt::ClampMoved { .. } | Halt::OffTarget { .. } if self.state.step() != StepId::Reference => {
                let fine = self.facts.step(StepId::SetFine) != Mark::Open;
                self.go(if fine { StepId::SetFine } else { set }, now);
            }
            Halt::DelayRemains { .. } => self.go(StepId::Sweep, now),
            Halt::RisesWithSpeed { .. } if self.plan.contains(&StepId::BaseLink) => {
                self.go(StepId::BaseLink, now)
            }
            Halt::NotTakenBack { .. } if self.plan.contains(&StepId::LinkBack) => {
                self.go(StepId::LinkBack, now)
            }
            Halt::IdleMoved { .. }
            | Halt::SupplyLow { .. }
            | Halt::DeadCylinder { .. }
            | Halt::NoBaseStep { .. }
            | Halt::RisesWithSpeed { .. }
            | Halt::FallsWithSpeed { .. }
            | Halt::OtherWay { .. }
            | Halt::NothingMoves
            | Halt::ClampMoved { .. }
            | Halt::SpeedWithBoltLoose
            | Halt::OffTarget { .. }
            | Halt::DoubtTooWide { .. }
            | Halt::NotTakenBack { .. }
            | Halt::NoAdvanceAbove
            | Halt::SignWrong
            | Halt::ReferenceUnchanged
            | Halt::OtherCause(_)
            | Halt::MechanismOut
            | Halt::LinkStillOut
            | Halt::BoltStillLoose
            | Halt::StopStillIn
            | Halt::NotStored
            | Halt::EngineStopped
            | Halt::EngineRuns
            | Halt::StoreFailed => self.back(now),
        }
    }

    pub(super) fn halt_key(&mut self, halt: Halt, label: KeyLabel, now: &Now) {
        match (halt, label) {
            (Halt::OtherWay { .. }, answer) => {
                self.halt = None;
                if answer == KeyLabel::Yes {
                    // Taken over, not proven: only a movement the right way proves it.
                    let rotor = now.job.spec().engine.rotor.map(|rotor| rotor.opposite());
                    self.correct(Corrections { rotor, ..self.facts.corrections });
                    self.wishes.notice = Some(Notice::RotorChanged);
                }
                if let State::Set(set) = &mut self.state {
                    set.anew = Some(now.sensed.ms);
                }
            }
            (Halt::OtherCause(_), KeyLabel::Causes) => self.open_side(Side::Causes { selected: 0 }),
            (Halt::StopStillIn, _) => {
                self.facts.stop_in = false;
                self.facts.mark(GateId::StopOut, Mark::Told);
                self.halt = None;
            }
            (Halt::BoltStillLoose, answer) => {
                self.close(GateId::BoltTight, answer);
            }
            (Halt::LinkStillOut, answer) => self.close(GateId::LinkBack, answer),
            (Halt::NotStored, answer) => self.close(GateId::StoredInComputer, answer),
            (Halt::StoreFailed, _) => {
                self.halt = None;
                self.state = State::Finish(Saving::Asked);
                self.wishes.save_record = true;
            }
            (Halt::MechanismOut, KeyLabel::Skip) => self.close(GateId::BelowWeights, KeyLabel::Skip),
            (Halt::DeadCylinder { .. }, _) => self.close(GateId::CylindersWork, KeyLabel::Skip),
            (Halt::SupplyLow { .. }, _) => self.close(GateId::SupplyHealthy, KeyLabel::Skip),
            (
                Halt::ClampMoved { .. } | Halt::OffTarget { .. } | Halt::DelayRemains { .. },
                KeyLabel::Again,
            ) => {
                if self.state.step() == StepId::Reference {
                    self.halt = None;
                } else {
                    self.back_from(halt, now);
                }
            }
            (_, KeyLabel::Skip | KeyLabel::Next) => {
                // Gone on knowing it: what failed stays marked as failed.
                self.halt = None;
                match self.state {
                    State::Blip(blip) if !blip.answered => {}
                    State::Read { .. } | State::Blip(_) | State::Link { .. } => {
                        self.step_key(KeyLabel::Next, now)
                    }
                    State::Run { .. } => self.next(now),
                    State::Lines(_) | State::Set(_) | State::Reference { .. } | State::Finish(_) => {}
                }
            }
            (_, _) => self.again(now),
        }
    }
}
