//! The next check carried out by hand, its answer, and all that is proven for the judge.
//!
//! *Looked at*: the lead that the clamp is on, and the rotor at the zero mark, answered by yes or no.
//! *Turned round*: the clamp's way round needs no eye: a clamp that took the start of charging for the spark
//! reads early by the charging time, so turning it round makes the reading later; where turning makes it
//! earlier the clamp had been right. An answer that something is wrong holds until the reading is taken
//! again, since then it was put right.

use super::{Guide, Link, Now, Side};
use crate::judge::{NextCheck, Proven};
use crate::units::wrap_degrees;
use crate::view::{GateId, KeyLabel, Mark, Notice};
use serde::{Deserialize, Serialize};

/// A charging time of 1 ms, the shortest there is, comes to 3.6 degrees at 600 rpm: less is no such change.
const TURNED_BY: f32 = 2.5;

/// What checks by hand have found.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Looked {
    /// The clamp is on cylinder one's lead.
    pub clamp_on_one: Option<bool>,
    /// The clamp is the right way round.
    pub clamp_direction: Option<bool>,
    /// The rotor points at cylinder one at zero.
    pub rotor_at_one: Option<bool>,
    /// The rotor has play in its drive.
    pub play_felt: Option<bool>,
    /// What the computer adds at idle as it takes over, hundredths of a degree, as seen when the link was changed.
    pub offset: Option<i16>,
    /// The reading before the clamp was turned round, degrees, until the one after it has settled.
    pub turning: Option<f32>,
}

impl Guide {
    /// The check that is shown: none that raises the speed with the bolt loose.
    pub(super) fn check(&self, now: &Now) -> NextCheck {
        let check = now.sensed.known.next_check.unwrap_or(NextCheck::ReadLonger);
        let loose = self.facts.bolt == super::Bolt::Loose;
        if loose && check == NextCheck::Blip { NextCheck::ReadLonger } else { check }
    }

    pub(super) fn check_keys(&self, check: NextCheck, now: &Now) -> [KeyLabel; 4] {
        use KeyLabel::*;
        match check {
            NextCheck::LookAtClamp | NextCheck::LookAtRotor | NextCheck::FeelPlay => [Back, Causes, No, Yes],
            NextCheck::TurnClampRound if now.sensed.known.advance.is_some() => [Back, Causes, Others, Done],
            NextCheck::FindZero if self.may_open(true) => [Back, Causes, Others, Zero],
            NextCheck::TurnClampRound
            | NextCheck::FindZero
            | NextCheck::Blip
            | NextCheck::ChangeLink
            | NextCheck::HoseOff
            | NextCheck::ReadLonger => [Back, Causes, Others, None],
        }
    }

    pub(super) fn check_key(&mut self, check: NextCheck, label: KeyLabel, now: &Now) {
        let found = &mut self.facts.looked;
        match (check, label) {
            (_, KeyLabel::Causes) => return self.side = Side::Causes { selected: 0 },
            (_, KeyLabel::Others) => return self.side = Side::Others { selected: 0, seen: [false; 5] },
            (_, KeyLabel::Zero) => return self.open_zero(),
            (NextCheck::LookAtClamp, KeyLabel::Yes | KeyLabel::No) => {
                found.clamp_on_one = Some(label == KeyLabel::Yes);
            }
            (NextCheck::LookAtRotor, KeyLabel::Yes | KeyLabel::No) => {
                found.rotor_at_one = Some(label == KeyLabel::Yes);
            }
            (NextCheck::FeelPlay, KeyLabel::Yes | KeyLabel::No) => {
                found.play_felt = Some(label == KeyLabel::Yes);
            }
            (NextCheck::TurnClampRound, KeyLabel::Done) => {
                found.turning = now.sensed.known.advance;
                self.wishes.restart = true;
            }
            (_, _) => return self.open_side(Side::None),
        }
        self.wishes.save_state = true;
        self.wishes.notice = Some(Notice::CheckTaken);
        self.open_side(Side::None);
    }

    /// Once the reading after the clamp was turned round has settled, it tells which way was right.
    pub(super) fn watch_turned_clamp(&mut self, now: &Now) {
        let Some(before) = self.facts.looked.turning else { return };
        let Some(read) = self.settled(now) else { return };
        let by = wrap_degrees(read.advance - before);
        self.facts.looked.turning = None;
        self.facts.looked.clamp_direction = Some(by < TURNED_BY);
        let turn_back = by >= TURNED_BY;
        self.wishes.notice = Some(if turn_back { Notice::TurnClampBack } else { Notice::ClampRight });
        self.wishes.save_state = true;
    }

    /// The reading is taken again: what was found wrong was put right.
    pub(super) fn put_right(&mut self) {
        let found = &mut self.facts.looked;
        for answer in [&mut found.clamp_on_one, &mut found.clamp_direction, &mut found.rotor_at_one] {
            *answer = answer.filter(|right| *right);
        }
        found.play_felt = found.play_felt.filter(|worn| !*worn);
    }

    /// What checks have proven, for the judge.
    pub fn proven(&self) -> Proven {
        let known = |gate| match self.facts.gate(gate) {
            Mark::Proven => Some(true),
            Mark::Failed => Some(false),
            Mark::Open | Mark::Told | Mark::Skipped => None,
        };
        let base = match self.facts.link {
            Link::Base => known(GateId::NoRise).or(known(GateId::BaseStep)),
            Link::AsFound | Link::Back => None,
        };
        let looked = &self.facts.looked;
        Proven {
            base_mode: base,
            offset: looked.offset,
            clamp_on_one: looked.clamp_on_one,
            clamp_direction: looked.clamp_direction,
            zero: self.facts.corrections.shift().is_some(),
            rotor_at_one: looked.rotor_at_one,
            // That it is off was told, and a diaphragm at its stop shows nothing at idle: no proof.
            hose_was_on: None,
            play_felt: looked.play_felt,
        }
    }
}
