//! The newest placed teeth and the times of the newest turns.

use super::milestones::Milestones;
use super::places::Places;
use super::plan::Plan;
use super::swing::Swing;
use crate::fixed::Newest;
use crate::units::Instant;

/// How many teeth are kept: enough for eight on either side of a spark with the gap between them, for
/// three turns of eight marks, and for a compression of three in two turns on sixty teeth.
pub(super) const TEETH_KEPT: usize = 48;
/// How many turns are kept.
const TURNS_KEPT: usize = 12;

/// An edge that was given its slot.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Tooth {
    /// When it passed.
    pub at: Instant,
    /// In which turn of this epoch.
    pub turn: u32,
    /// Which of the pattern.
    pub slot: u8,
    /// Whether no other edge claimed its place.
    pub trusted: bool,
}

/// Pitches from one tooth of a wheel to another.
pub(super) fn pitches_between(plan: &Plan, from: &Tooth, to: &Tooth) -> i32 {
    let turns = to.turn.wrapping_sub(from.turn) as i32;
    turns.wrapping_mul(i32::from(plan.slots())) + i32::from(to.slot) - i32::from(from.slot)
}

/// A tooth as it is kept, in half the space: the low halves of its moment and its turn.
#[derive(Debug, Clone, Copy, Default)]
struct Kept {
    at: u32,
    place: KeptPlace,
}

/// The low half of a tooth's turn, its slot, and whether it is trusted, in one word.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct KeptPlace(u32);

impl KeptPlace {
    pub(super) fn new(turn: u32, slot: u8, trusted: bool) -> Self {
        Self(turn << 16 | u32::from(slot) << 8 | u32::from(trusted))
    }

    /// The next slot of the turn.
    #[inline]
    pub(super) fn next(self) -> Self {
        Self(self.0.wrapping_add(1 << 8))
    }

    #[inline]
    pub(super) fn slot(self) -> u8 {
        (self.0 >> 8) as u8
    }
}

/// The newest teeth and turns of the present epoch.
#[derive(Debug, Clone, Default)]
pub struct Teeth {
    epoch: u16,
    kept: Newest<Kept, TEETH_KEPT>,
    newest: Option<Tooth>,
    turns: Newest<(u32, Instant), TURNS_KEPT>,
    placed: u32,
    began: Option<Instant>,
    milestones: Milestones,
    swing: Swing,
    /// Ordinary teeth from this slot on are asked for by more than their neighbours.
    noticed_from: u8,
}

impl Teeth {
    /// No teeth yet of a pattern.
    pub(super) fn new(plan: &Plan) -> Self {
        Self {
            epoch: 0,
            kept: Newest::default(),
            newest: None,
            turns: Newest::default(),
            placed: 0,
            began: None,
            milestones: Milestones::new(plan),
            swing: Swing::new(plan),
            noticed_from: 0,
        }
    }

    /// Puts away teeth in a row, from slot `first` on, none of them the first of a turn or in doubt, given the low half of
    /// each moment: all but the newest tooth and the count, which [`Self::catch_up`] brings up to date.
    #[inline]
    pub(super) fn keep_row(&mut self, mut row: impl ExactSizeIterator<Item = (u32, KeptPlace)>, first: u8) {
        let mut slot = first;
        while row.len() > 0 {
            let quiet = self.noticed_from.saturating_sub(slot);
            let mut newest = Kept::default();
            let some = row.by_ref().take(usize::from(quiet.max(1))).map(|(at, place)| {
                newest = Kept { at, place };
                newest
            });
            slot += self.kept.push_some(some) as u8;
            if quiet == 0 {
                self.notice(newest.at, newest.place);
            }
        }
    }

    /// An ordinary tooth that more than its neighbours ask for.
    #[inline(never)]
    fn notice(&mut self, at: u32, place: KeptPlace) {
        let slot = place.slot();
        if self.swing.gathers() {
            let at = Instant::from_ticks(u64::from(at));
            self.swing.place_inner(&Tooth { at, turn: self.turn_of(place), slot, trusted: true });
        }
        if slot >= self.milestones.due() {
            self.milestones.pass(slot, at.max(1));
        }
        self.renew_noticed();
    }

    fn renew_noticed(&mut self) {
        self.noticed_from = if self.swing.gathers() { 0 } else { self.milestones.due() };
    }

    /// The turn that a kept place is of.
    fn turn_of(&self, KeptPlace(place): KeptPlace) -> u32 {
        let newest = self.newest.map_or(0, |newest| newest.turn);
        newest.wrapping_sub(u32::from((newest as u16).wrapping_sub((place >> 16) as u16)))
    }

    /// So many teeth were put away by [`Self::keep_row`], and this is the newest.
    pub(super) fn catch_up(&mut self, newest: Tooth, count: u8) {
        self.newest = Some(newest);
        self.placed = self.placed.wrapping_add(u32::from(count));
    }

    /// The low half of the moment of the tooth put away last.
    pub(super) fn newest_kept(&self) -> u32 {
        self.kept.newest().map_or(0, |kept| kept.at)
    }

    /// When the first tooth of this epoch passed.
    pub fn began(&self) -> Option<Instant> {
        self.began
    }

    /// The stretch of sync these teeth belong to.
    pub fn epoch(&self) -> u16 {
        self.epoch
    }

    /// Teeth placed in this epoch, wrapping: changes whenever there is something new.
    pub fn placed(&self) -> u32 {
        self.placed
    }

    /// When chosen teeth passed in the newest turns.
    pub fn milestones(&self) -> &Milestones {
        &self.milestones
    }

    /// The tooth placed so many before the newest, while it is kept.
    #[inline(never)]
    pub fn back(&self, back: usize) -> Option<Tooth> {
        let (newest, kept) = (self.newest?, self.kept.back(back)?);
        Some(Tooth {
            at: newest.at.shifted(-i64::from((newest.at.ticks() as u32).wrapping_sub(kept.at))),
            turn: self.turn_of(kept.place),
            slot: kept.place.slot(),
            trusted: kept.place.0 & 1 == 1,
        })
    }

    /// What is known of the crank's swing.
    pub fn swing(&self) -> &Swing {
        &self.swing
    }

    /// The newest tooth.
    pub fn newest(&self) -> Option<Tooth> {
        self.newest
    }

    /// Ticks of the newest whole turn; `None` before there is one.
    pub fn newest_turn(&self) -> Option<u32> {
        let mut newest_first = self.turns.iter().rev();
        let (last, before) = (newest_first.next()?, newest_first.next()?);
        u32::try_from(last.1.since(before.1)).ok()
    }

    /// The newest turn that began.
    pub fn turn_reached(&self) -> Option<u32> {
        self.turns.newest().map(|(turn, _)| *turn)
    }

    /// When slot 0 of `turn` passed; `None` if it did not yet or is forgotten.
    #[inline(never)]
    pub fn turn_time(&self, turn: u32) -> Option<Instant> {
        self.turns.iter().rev().find(|(number, _)| *number == turn).map(|(_, at)| *at)
    }
}

impl Places for Teeth {
    /// Forgets all but what was learned of the gap and of the swing.
    fn begin(&mut self, epoch: u16) {
        self.epoch = epoch;
        self.kept.clear();
        self.newest = None;
        self.swing.begin();
        self.turns.clear();
        self.placed = 0;
        self.began = None;
        self.milestones.clear();
        self.renew_noticed();
    }

    fn place(&mut self, plan: &Plan, tooth: Tooth) {
        let Tooth { at, turn, slot, trusted } = tooth;
        self.kept.push(Kept { at: at.ticks() as u32, place: KeptPlace::new(turn, slot, trusted) });
        self.newest = Some(tooth);
        self.swing.place(plan, &tooth);
        self.placed = self.placed.wrapping_add(1);
        self.began.get_or_insert(tooth.at);
        let mut is_fast = false;
        if tooth.slot == 0 {
            self.turn_began(turn, at);
            is_fast = plan.is_wheel() && Self::newest_turn(self).is_some_and(|turn| plan.is_fast(turn));
        }
        self.milestones.place(&tooth, is_fast);
        self.renew_noticed();
    }

    fn turn_began(&mut self, turn: u32, at: Instant) {
        self.turns.push((turn, at));
    }

    fn newest_turn(&self) -> Option<u32> {
        Self::newest_turn(self)
    }

    fn back(&self, back: usize) -> Option<Tooth> {
        Self::back(self, back)
    }
}
