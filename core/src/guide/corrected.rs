//! The corrections of the job: taken, shown, undone, forgotten.
//!
//! *Taken*: measured in a side trip, or confirmed after the spark went the other way. *Undone*: what stood
//! before the newest change stands again, that change included, so that an undo can be undone. *Forgotten*:
//! one of them no longer stands, and what was entered counts again. The values that were read already move
//! with each change, and the step under way begins anew.

use super::state::State;
use super::{Guide, Now, Side};
use crate::corrections::{Corrections, within_turn};
use crate::job::CrankSpec;
use crate::view::{CorrectionLine, CorrectionList, GateId, KeyLabel, Mark, Notice, Screen};

/// Which of the corrections a line is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Zero,
    Wheel,
    Rotor,
}

/// Those that stand, in the order of their lines.
fn kinds(corrections: &Corrections) -> impl Iterator<Item = Kind> {
    let zero = corrections.zero.map(|_| Kind::Zero);
    let wheel = corrections.wheel.map(|_| Kind::Wheel);
    let rotor = corrections.rotor.map(|_| Kind::Rotor);
    [zero, wheel, rotor].into_iter().flatten()
}

impl Guide {
    /// Other corrections stand from now on.
    pub(super) fn correct(&mut self, to: Corrections) {
        self.earlier = Some(self.facts.corrections);
        self.facts.correct(to);
        let known = match to.shift() {
            Some(_) => Mark::Proven,
            None if self.facts.gate(GateId::ZeroKnown) == Mark::Proven => Mark::Open,
            None => self.facts.gate(GateId::ZeroKnown),
        };
        self.facts.mark(GateId::ZeroKnown, known);
        self.wishes.rebuild = true;
        self.wishes.save_state = true;
        self.wishes.keep_corrections = true;
    }

    /// The keys of the list.
    pub(super) fn corrections_keys(&self) -> [KeyLabel; 4] {
        let count = kinds(&self.facts.corrections).count();
        let on = |holds, label| if holds { label } else { KeyLabel::None };
        [
            KeyLabel::Back,
            on(count > 1, KeyLabel::Down),
            on(self.earlier.is_some(), KeyLabel::Undo),
            on(count > 0, KeyLabel::Forget),
        ]
    }

    pub(super) fn corrections_key(&mut self, selected: u8, label: KeyLabel, now: &Now) {
        let standing = self.facts.corrections;
        match label {
            KeyLabel::Down => {
                let next = selected.saturating_add(1);
                let beyond = usize::from(next) >= kinds(&standing).count();
                self.side = Side::Corrections { selected: if beyond { 0 } else { next } };
                return;
            }
            KeyLabel::Undo => {
                let Some(earlier) = self.earlier else { return };
                self.correct(earlier);
                self.wishes.notice = Some(Notice::Undone);
            }
            KeyLabel::Forget => {
                let Some(kind) = kinds(&standing).nth(usize::from(selected)) else { return };
                let mut left = standing;
                match kind {
                    Kind::Zero => left.zero = None,
                    Kind::Wheel => left.wheel = None,
                    Kind::Rotor => left.rotor = None,
                }
                self.correct(left);
                self.wishes.notice = Some(Notice::Forgotten);
            }
            _ => return self.open_side(Side::None),
        }
        self.side = Side::Corrections { selected: 0 };
        match self.state {
            State::Lines(_) | State::Finish(_) => {}
            State::Link { .. }
            | State::Read { .. }
            | State::Blip(_)
            | State::Set(_)
            | State::Reference { .. }
            | State::Run { .. } => self.go(self.state.step(), now),
        }
    }

    pub(super) fn corrections_screen(&self, selected: u8, now: &Now) -> Screen {
        let corrections = &self.facts.corrections;
        let mut lines = [None; 3];
        for (place, kind) in lines.iter_mut().zip(kinds(corrections)) {
            *place = match kind {
                Kind::Zero => corrections.zero.map(|zero| CorrectionLine::Zero {
                    mark_btdc: zero.degrees,
                    doubt: zero.doubt,
                    idle: corrections.wheel.is_some(),
                }),
                Kind::Wheel => corrections.wheel.map(|wheel| CorrectionLine::Wheel {
                    entered: within_turn(first_edge(now) - wheel.degrees),
                    found: first_edge(now),
                    doubt: wheel.doubt,
                }),
                Kind::Rotor => corrections.rotor.map(CorrectionLine::Rotor),
            };
        }
        Screen::Corrections(CorrectionList { lines, selected })
    }
}

/// The first edge, or the first mark, of the job that is measured with.
pub(super) fn first_edge(now: &Now) -> f32 {
    match &now.job.spec().crank {
        CrankSpec::Wheel { first_edge_btdc, .. } => *first_edge_btdc,
        CrankSpec::Marks(marks) => marks.first().copied().unwrap_or(0.0),
    }
}
