//! What the four keys do at each step: back, menu, something beside, on.

use super::measure::measure;
use super::state::{IdleLook, Saving, State};
use super::{Bolt, Guide, Link, Now, Side, plan};
use crate::view::{GateId, Halt, KeyLabel, Mark, StepId};

/// A diaphragm at work adds more than this somewhere, hundredths of a degree (10 to 20 degrees at its stop,
/// common practice, no source).
const HOSE_ADDS: i16 = 300;

impl Guide {
    /// The labels of the four keys.
    pub fn keys(&self, now: &Now) -> [KeyLabel; 4] {
        if self.side != Side::None {
            return match self.caution(now) {
                Some(_) if matches!(self.side, Side::Zero(_)) => {
                    [KeyLabel::Back, KeyLabel::None, KeyLabel::None, KeyLabel::Understood]
                }
                _ => self.side_keys(now),
            };
        }
        let [mut back, menu] = [KeyLabel::Back, KeyLabel::Menu];
        if self.caution(now).is_some() {
            return [back, menu, KeyLabel::None, KeyLabel::Understood];
        }
        let (third, fourth) = match self.halt {
            Some(halt) => self.halt_keys(halt),
            None => self.step_keys(now),
        };
        if self.state == State::Finish(Saving::Done) {
            back = KeyLabel::None;
        }
        [back, menu, third, fourth]
    }

    fn step_keys(&self, now: &Now) -> (KeyLabel, KeyLabel) {
        match &self.state {
            State::Lines(step) => match self.selected(*step) {
                Some(gate) => {
                    let told = measure(gate, now, &self.clock, &self.facts).is_none();
                    let zero = gate == GateId::ZeroKnown;
                    let skip = if zero {
                        KeyLabel::Zero
                    } else if plan::may_skip(gate) {
                        KeyLabel::Skip
                    } else {
                        KeyLabel::None
                    };
                    (skip, if told { KeyLabel::Done } else { KeyLabel::None })
                }
                None => (KeyLabel::None, KeyLabel::Next),
            },
            State::Link { told: false, .. } => (KeyLabel::Skip, KeyLabel::Done),
            State::Link { told: true, .. } => {
                let open = self.facts.gate(GateId::BaseStep) == Mark::Open;
                (KeyLabel::Skip, if open { KeyLabel::None } else { KeyLabel::Next })
            }
            State::Read { judged, .. } => {
                (if *judged { KeyLabel::Again } else { KeyLabel::Skip }, on(*judged, KeyLabel::Next))
            }
            State::Blip(blip) => {
                let asks = blip.step == StepId::HoldFixed && self.facts.gate(GateId::FixedHeld) == Mark::Open;
                let fourth = if asks { KeyLabel::Done } else { on(blip.answered, KeyLabel::Next) };
                (KeyLabel::Skip, fourth)
            }
            State::Set(_) => {
                (KeyLabel::None, on(self.facts.gate(GateId::OnTarget) == Mark::Proven, KeyLabel::Next))
            }
            State::Reference { told, .. } => {
                let done = self.facts.gate(GateId::OnTarget) == Mark::Proven;
                (KeyLabel::Skip, if done { KeyLabel::Next } else { on(!told, KeyLabel::Done) })
            }
            State::Run { .. } => {
                (KeyLabel::Skip, on(self.facts.gate(GateId::SpeedsSeen) == Mark::Proven, KeyLabel::Next))
            }
            State::Finish(saving) => match (saving, self.undone_open(now)) {
                (Saving::Open, Some(gate)) => (on(plan::may_skip(gate), KeyLabel::Skip), KeyLabel::Done),
                (Saving::Open, None) => (KeyLabel::None, KeyLabel::Save),
                (Saving::Asked, _) => (KeyLabel::None, KeyLabel::None),
                (Saving::Done, _) => (KeyLabel::None, KeyLabel::Leave),
            },
        }
    }

    /// The first line that is not closed: those that can be told before those that are waited for.
    pub(super) fn selected(&self, step: StepId) -> Option<GateId> {
        plan::gates(step, self.control)
            .iter()
            .copied()
            .find(|gate| matches!(self.facts.gate(*gate), Mark::Open | Mark::Failed))
    }

    fn undone_open(&self, now: &Now) -> Option<GateId> {
        self.undone(now).into_iter().flatten().find(|gate| self.facts.gate(*gate) == Mark::Open)
    }

    /// A key was pressed. [`KeyLabel::Menu`] is not for the guide.
    pub fn key(&mut self, place: usize, now: &Now) {
        let label = self.keys(now).get(place).copied().unwrap_or(KeyLabel::None);
        if label == KeyLabel::None {
            return;
        }
        if label == KeyLabel::Understood {
            self.held = Some(now.sensed.ms);
            return;
        }
        if self.side != Side::None {
            if self.caution(now).is_some() && matches!(self.side, Side::Zero(_)) {
                return self.open_side(Side::None);
            }
            return self.side_key(label, now);
        }
        if label == KeyLabel::Back {
            return match self.halt {
                Some(halt) => self.back_from(halt, now),
                None => self.back(now),
            };
        }
        match self.halt {
            Some(halt) if self.caution(now).is_none() => self.halt_key(halt, label, now),
            _ => self.step_key(label, now),
        }
    }

    /// A key was let go.
    pub fn key_up(&mut self) {
        self.held = None;
    }

    /// The same work once more.
    pub(super) fn again(&mut self, now: &Now) {
        self.halt = None;
        self.put_right();
        self.wishes.restart = true;
        let step = self.state.step();
        match &mut self.state {
            State::Set(set) => set.moved_at = now.sensed.ms,
            State::Reference { .. } => {}
            State::Lines(_)
            | State::Link { .. }
            | State::Read { .. }
            | State::Blip(_)
            | State::Run { .. }
            | State::Finish(_) => self.open(step, now),
        }
    }

    /// Closes a gate as told or left out.
    pub(super) fn close(&mut self, gate: GateId, answer: KeyLabel) {
        let told = answer == KeyLabel::Done;
        if !told && !plan::may_skip(gate) {
            return;
        }
        self.facts.mark(gate, if told { Mark::Told } else { Mark::Skipped });
        self.halt = None;
        match gate {
            GateId::BoltTight if told => self.facts.bolt = Bolt::Tight,
            GateId::LinkBack | GateId::StoredInComputer if told => self.facts.link = Link::Back,
            GateId::StopOut if told => self.facts.stop_in = false,
            _ => {}
        }
    }

    pub(super) fn step_key(&mut self, label: KeyLabel, now: &Now) {
        match (self.state, label) {
            (State::Lines(_), KeyLabel::Zero) => self.open_zero(),
            (State::Lines(step), KeyLabel::Done | KeyLabel::Skip) => {
                if let Some(gate) = self.selected(step) {
                    self.close(gate, label);
                }
            }
            (State::Link { .. }, KeyLabel::Done) => {
                self.facts.mark(GateId::LinkSet, Mark::Told);
                self.facts.link = Link::Base;
                self.state = State::Link { told: true, seen: None };
                self.wishes.restart = true;
                self.wishes.save_state = true;
            }
            (State::Link { told: false, .. }, _) => {
                self.facts.mark(GateId::LinkSet, Mark::Skipped);
                self.next(now);
            }
            (State::Blip(blip), KeyLabel::Done) => {
                self.facts.mark(GateId::FixedHeld, Mark::Told);
                self.facts.mark(GateId::TrimsOff, Mark::Told);
                self.facts.link = Link::Base;
                self.state = State::Blip(blip);
                self.wishes.restart = true;
            }
            (State::Blip(blip), KeyLabel::Skip) => {
                for gate in plan::gates(blip.step, self.control) {
                    if self.facts.gate(*gate) == Mark::Open {
                        self.facts.mark(*gate, Mark::Skipped);
                    }
                }
                self.next(now);
            }
            (State::Reference { before, sign_wrong, .. }, KeyLabel::Done) => {
                self.facts.mark(GateId::ReferenceEntered, Mark::Told);
                self.state = State::Reference { before, told: true, sign_wrong };
                self.wishes.restart = true;
            }
            (State::Read { .. }, KeyLabel::Again) => self.again(now),
            (State::Read { step: StepId::Read, .. }, KeyLabel::Next) => {
                self.take(now);
                self.next_from_read(now);
            }
            (State::Finish(_), KeyLabel::Save) => {
                self.state = State::Finish(Saving::Asked);
                self.wishes.save_record = true;
            }
            (State::Finish(_), KeyLabel::Leave) => self.wishes.done = true,
            (State::Finish(_), answer) => {
                if let Some(gate) = self.undone_open(now) {
                    self.close(gate, answer);
                }
            }
            (State::Run { .. }, KeyLabel::Skip) => {
                self.facts.mark(GateId::SpeedsSeen, Mark::Skipped);
                self.next(now);
            }
            (State::Run { step, .. }, _) => {
                self.take(now);
                if self.no_advance_above(step) || !self.hose_adds(step) {
                    self.halt = Some(Halt::NoAdvanceAbove);
                } else {
                    self.next(now);
                }
            }
            (
                State::Lines(_)
                | State::Link { .. }
                | State::Read { .. }
                | State::Blip(_)
                | State::Set(_)
                | State::Reference { .. },
                _,
            ) => {
                self.take(now);
                self.next(now);
            }
        }
    }

    /// After the first reading: where it is on target already, the bolt is never loosened.
    fn next_from_read(&mut self, now: &Now) {
        let tolerance = now.job.spec().timing.tolerance;
        let start = self.facts.start;
        let on_target = start.is_some_and(|read| {
            crate::units::wrap_degrees(read.advance - now.job.target_degrees()).abs() <= tolerance
        });
        let step = self.state.step();
        if on_target && self.plan.contains(&StepId::ClampDown) {
            self.facts.pass(step, now.job);
            self.facts.set = start;
            self.go(StepId::ClampDown, now);
        } else {
            self.next(now);
        }
    }

    /// A curve that does not rise: stuck weights or a torn diaphragm.
    fn no_advance_above(&self, step: StepId) -> bool {
        let curve = match step {
            StepId::CurveOff => &self.facts.curve_off,
            // Where the first curve was drawn it has said so already.
            StepId::CurveOn if self.facts.curve_off.is_empty() => &self.facts.curve_on,
            _ => return false,
        };
        let (Some(first), Some(last)) = (curve.first(), curve.last()) else { return false };
        f32::from(last.1) - f32::from(first.1) < 200.0
    }

    /// Whether the hose, told back on, adds advance at any speed: else it is off, or the diaphragm torn.
    fn hose_adds(&mut self, step: StepId) -> bool {
        if step != StepId::CurveOn {
            return true;
        }
        let off = &self.facts.curve_off;
        let added = self.facts.curve_on.iter().filter_map(|(rpm, on)| {
            let near = off.iter().min_by_key(|(other, _)| other.abs_diff(*rpm))?;
            Some(on.saturating_sub(near.1))
        });
        let adds = off.is_empty() || added.max().is_some_and(|most| most >= HOSE_ADDS);
        self.facts.mark(GateId::HosesOn, if adds { Mark::Proven } else { Mark::Failed });
        adds
    }

    /// Whether a blip's look at idle is over.
    pub(super) fn looked(&self) -> bool {
        !matches!(self.state, State::Blip(blip) if blip.idle == IdleLook::Waiting)
    }
}

const fn on(holds: bool, label: KeyLabel) -> KeyLabel {
    if holds { label } else { KeyLabel::None }
}
