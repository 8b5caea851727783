//! When chosen teeth passed in the newest turns: what the balance of the cylinders rests on.
//!
//! *Milestone*: a tooth of the wheel, about every 30°, whose time is kept for a few turns. The gap and the
//! teeth beside it, which a variable-reluctance wheel shifts, are left out: one longer stretch spans them.
//!
//! Keeping them costs a compare for each tooth, so that they rest where the crank turns faster than any idle. 216 bytes.

use super::plan::Plan;
use super::teeth::Tooth;

/// The most milestones of a turn.
pub const MILESTONES: usize = 12;
/// Turns kept, a power of two.
const TURNS: usize = 4;
/// How far apart they are wanted, degrees.
const WANTED_DEGREES: u32 = 30;

/// The times of one turn's milestones: the low half of their ticks, 0 where the tooth was missing or
/// doubtful.
type Row = [u32; MILESTONES];

/// The milestones of a wheel and their newest times.
#[derive(Debug, Clone, Default)]
pub struct Milestones {
    slots: [u8; MILESTONES],
    count: u8,
    /// Pitches of a turn.
    turn_pitches: u8,
    next: u8,
    /// Slot of the next one; 0 where it is to be looked up.
    due: u8,
    turn: u32,
    rows: [Row; TURNS],
}

impl Milestones {
    /// The milestones of a plan; none for marks, and for wheels with fewer than 12 teeth.
    pub(super) fn new(plan: &Plan) -> Self {
        let mut chosen = Self { turn_pitches: plan.slots(), ..Self::default() };
        if !plan.is_wheel() || plan.count() < 12 {
            return chosen;
        }
        // From the second tooth after the gap to the last but one before it.
        let stretch = u32::from(plan.count()) - 3;
        let wanted = (stretch * 360 + u32::from(plan.slots()) * WANTED_DEGREES / 2)
            / (u32::from(plan.slots()) * WANTED_DEGREES).max(1);
        let steps = wanted.clamp(1, MILESTONES as u32 - 1);
        for (index, slot) in (0..=steps).zip(chosen.slots.iter_mut()) {
            *slot = 1 + ((index * stretch + steps / 2) / steps) as u8;
        }
        chosen.count = steps as u8 + 1;
        chosen
    }

    /// Forgets all times.
    pub(super) fn clear(&mut self) {
        self.next = 0;
        self.due = 0;
        self.turn = 0;
        self.rows = [[0; MILESTONES]; TURNS];
    }

    /// A tooth was placed; with the first of a turn that passes faster than any of an idle they rest until the next.
    pub(super) fn place(&mut self, tooth: &Tooth, rests: bool) {
        if tooth.turn != self.turn || tooth.slot >= self.due {
            self.reach(tooth, rests);
        }
    }

    /// The slot from which on a tooth of this turn is to be looked at.
    pub(super) fn due(&self) -> u8 {
        self.due
    }

    /// A tooth at or beyond the next milestone, or of another turn.
    #[inline(never)]
    fn reach(&mut self, tooth: &Tooth, rests: bool) {
        if tooth.turn != self.turn {
            // A turn whose every tooth was lost ends the epoch, so turns come one by one.
            self.turn = tooth.turn;
            self.next = 0;
            if let Some(row) = self.rows.get_mut(tooth.turn as usize % TURNS) {
                *row = [0; MILESTONES];
            }
            if rests {
                self.due = u8::MAX;
                return;
            }
        }
        self.pass(tooth.slot, if tooth.trusted { (tooth.at.ticks() as u32).max(1) } else { 0 });
    }

    /// A tooth of the newest turn at or beyond the next milestone, and when it passed; 0 where that is in doubt.
    pub(super) fn pass(&mut self, slot: u8, at: u32) {
        let row = self.rows.get_mut(self.turn as usize % TURNS);
        let row = row.map_or(&mut [] as &mut [u32], |row| row);
        while let Some(due) = self.slots.get(usize::from(self.next)).filter(|_| self.next < self.count) {
            if slot < *due {
                self.due = *due;
                return;
            }
            if slot == *due
                && let Some(time) = row.get_mut(usize::from(self.next))
            {
                *time = at;
            }
            self.next += 1;
        }
        self.due = u8::MAX;
    }

    /// Milestones of a turn; 0 where the balance is not looked at.
    pub fn count(&self) -> usize {
        usize::from(self.count)
    }

    /// Pitches from the tooth of slot 0 to milestone `index`; beyond the last, those of the turn after.
    pub fn pitches(&self, index: usize) -> u32 {
        let count = self.count().max(1);
        let turns = (index / count) as u32;
        let slot = self.slots.get(index % count).copied().unwrap_or(0);
        u32::from(slot) + turns * u32::from(self.turn_pitches)
    }

    /// When milestone `index` of `turn` passed, the low half of its ticks; `None` where that is not known or
    /// forgotten. An index beyond the last counts into the turns after.
    pub fn time(&self, turn: u32, index: usize) -> Option<u32> {
        let count = self.count().max(1);
        let turn = turn.wrapping_add((index / count) as u32);
        let kept = self.turn.wrapping_sub(turn) < TURNS as u32;
        let row = self.rows.get(turn as usize % TURNS).filter(|_| kept)?;
        row.get(index % count).copied().filter(|time| *time != 0)
    }
}
