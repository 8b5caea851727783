//! From step to step: on, back, away, and what a step opens with.
//!
//! All of it goes through `Guide::go`: the step left is marked, nothing stopped for is carried over, the reading
//! begins anew, and the state is stored.

use super::measure::reach;
use super::state::{Blip, IdleLook, Saving, Set, SoFar, State};
use super::{Bolt, Guide, Link, Now, Side, bins, plan};
use crate::job::Control;
use crate::view::{GateId, Mark, Notice, StepId};

impl Guide {
    /// Leaves the job with what is known: over to what is undone.
    pub fn leave(&mut self, now: &Now) {
        self.facts.left_early = true;
        self.side = Side::None;
        self.go(StepId::Finish, now);
    }

    /// The one way from step to step: the step left is marked, nothing stopped for is carried over, the
    /// reading begins anew, and the state is stored.
    pub(super) fn go(&mut self, to: StepId, now: &Now) {
        self.halt = None;
        self.held = None;
        self.open(to, now);
        self.wishes.restart = true;
        self.wishes.save_state = true;
    }

    /// The next step of the plan; the step left is passed.
    pub(super) fn next(&mut self, now: &Now) {
        let step = self.state.step();
        self.facts.pass(step, now.job);
        let place = self.plan.iter().position(|one| *one == step);
        if let Some(next) = place.and_then(|place| self.plan.get(place + 1)) {
            self.go(*next, now);
        }
    }

    /// One step back. Once the link is back as it was, the steps that need base mode lie behind changing it.
    pub(super) fn back(&mut self, now: &Now) {
        let step = self.state.step();
        let place = self.plan.iter().position(|one| *one == step).unwrap_or(0);
        let Some(before) = place.checked_sub(1).and_then(|place| self.plan.get(place)) else {
            self.wishes.notice = Some(Notice::AtStart);
            return;
        };
        let needs_base = step == StepId::LinkBack && self.facts.link == Link::Back;
        let to = if needs_base && self.control == Control::Computer { StepId::BaseLink } else { *before };
        self.go(to, now);
    }

    /// Puts the work of a step in place; what its gates had proven is to be proven again.
    pub(super) fn open(&mut self, step: StepId, now: &Now) {
        for gate in plan::gates(step, self.control) {
            let once = matches!(gate, GateId::ZeroKnown | GateId::WitnessScribed);
            if !once {
                self.facts.mark(*gate, Mark::Open);
            }
        }
        let [low, _] = now.job.spec().timing.idle_rpm;
        let start = self.facts.start.map_or(now.job.target_degrees(), |start| start.advance);
        self.clock.forget_wander();
        self.so_far = SoFar::NotYet;
        self.known_of = None;
        let blip = |idle| {
            State::Blip(Blip {
                step,
                reach: reach(now, step),
                idle,
                peak: 0.0,
                above: (0.0, 0),
                back_since: None,
                answered: false,
            })
        };
        self.state = match step {
            StepId::MakeSafe
            | StepId::Connect
            | StepId::Points
            | StepId::Witness
            | StepId::Zero
            | StepId::Start
            | StepId::Ready
            | StepId::HosesOff
            | StepId::BelowWeights
            | StepId::ClampDown
            | StepId::ClampFine
            | StepId::EnterDelay
            | StepId::Release
            | StepId::LinkBack
            | StepId::HosesOn
            | StepId::StopEngine
            | StepId::Disconnect => State::Lines(step),
            StepId::Steered | StepId::Read | StepId::ReadAgain | StepId::ReadFine | StepId::Restart => {
                State::Read { step, judged: false }
            }
            StepId::BaseLink => State::Link { told: false, seen: None },
            StepId::BaseBlip | StepId::HoldFixed => blip(IdleLook::None),
            StepId::ClampBlip | StepId::ControlBlip => blip(IdleLook::Waiting),
            StepId::BlipFine => {
                blip(if now.job.distributor_times_spark() { IdleLook::Waiting } else { IdleLook::None })
            }
            StepId::Set | StepId::SetFine => {
                self.facts.bolt = Bolt::Loose;
                self.facts.mark(GateId::BoltTight, Mark::Open);
                let moved_at = now.sensed.ms;
                State::Set(Set {
                    step,
                    start,
                    anew: None,
                    moved: false,
                    moved_at,
                    still_since: None,
                    held: false,
                })
            }
            StepId::Reference => State::Reference {
                before: crate::units::wrap_degrees(start - now.job.target_degrees()),
                told: false,
                sign_wrong: false,
            },
            StepId::Sweep | StepId::CurveOff | StepId::CurveOn => {
                State::Run { step, bins: bins::Bins::new(low, reach(now, step)), peak: 0.0 }
            }
            StepId::Finish => State::Finish(Saving::Open),
        };
    }
}
