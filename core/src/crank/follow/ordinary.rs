//! A wheel's teeth like most, in as few steps as it takes: nearly every edge at high speed is one.
//!
//! *Ordinary*: the edge before waits alone, nothing is missing or in doubt, both it and this edge stand on this side of
//! the gap, and this one comes about a pitch after it. Then the one that waited is placed and this one
//! waits: the same as looking at it from all sides does, without the questions that are answered already.
//! *About*: while the spans lie between thirteen and nineteen sixteenths of what the pitch was, it stays there too,
//! and each edge within its window and beyond that of the one before. Whoever passes edges on sees to that.
//!
//! Following lends itself in this form between two turns' gaps and takes it back ([`Follow::lend`]); moments are
//! given by their lower 32 bits.

use super::super::plan::Plan;
use super::super::teeth::{KeptPlace, Tooth};
use super::{Follow, Waiting, wheel};
use crate::edges::Pace;

/// Following, between two gaps of a wheel.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Ordinary {
    /// The edge that waits.
    waiting: u32,
    /// The newest tooth placed.
    place: KeptPlace,
    /// The newest slot when following was lent, and that from which on edges are not ordinary.
    first: u8,
    end: u8,
}

impl Ordinary {
    /// An ordinary edge; gives back when the tooth passed that it places, and where that is put away.
    #[inline]
    pub(in super::super) fn pass(&mut self, at: u32) -> (u32, KeptPlace) {
        self.place = self.place.next();
        (core::mem::replace(&mut self.waiting, at), self.place)
    }

    /// The slot of the tooth that the next edge places.
    #[inline]
    pub(in super::super) fn next_slot(&self) -> u8 {
        self.place.next().slot()
    }

    /// Edges that can still be ordinary, if they come as they should.
    #[inline]
    pub(crate) fn left(&self) -> u8 {
        self.end.saturating_sub(self.place.slot())
    }

    /// No more than so many edges more, one at the least. Whether as many can be ordinary.
    pub(crate) fn limit(&mut self, left: u8) -> bool {
        let end = self.place.slot().saturating_add(left.max(1));
        let are_in_reach = end <= self.end;
        self.end = self.end.min(end);
        are_in_reach
    }

    /// Edges taken in since following was lent.
    pub(crate) fn taken(&self) -> u8 {
        self.place.slot().wrapping_sub(self.first)
    }

    /// The edge that waits.
    pub(crate) fn waiting(&self) -> u32 {
        self.waiting
    }
}

impl Follow {
    /// Lends following as it stands, and says what edges are ordinary with it: none beside the gap, or where anything is
    /// in doubt.
    pub(in super::super) fn lend(&self, plan: &Plan, lent: &mut Ordinary) -> Pace {
        let slots = plan.clear_of_gap();
        let clear = slots.contains(&self.slot) && self.seen && self.missing_run == 0 && !self.slow;
        let waiting = self.waiting.filter(|waiting| clear && !waiting.contested && self.gap.either.is_none());
        (lent.first, lent.end) = (self.slot, self.slot.saturating_add(1));
        lent.place = KeptPlace::new(self.turn, self.slot, true);
        let Some(waiting) = waiting else { return Pace { newest: 0, pitch: 0 } };
        lent.waiting = waiting.at.ticks() as u32;
        let mut pace = Pace { newest: lent.waiting, pitch: 0 };
        let span = waiting.at.ticks_since(self.at);
        let pitch = self.unit / 2 + span / 2;
        let least = pitch - pitch / 8 - pitch / 16;
        let is_about = |span: u32| span.wrapping_sub(least) <= least / 2;
        if (16..1 << 24).contains(&pitch) && is_about(span) && is_about(self.unit) {
            (pace.pitch, lent.end) = (pitch, slots.end);
        }
        pace
    }

    /// What was lent, after it has taken in some edges, and the low half of the moment of the tooth placed last. The pitch
    /// is what the edge that waits tells of it.
    pub(in super::super) fn take_back(&mut self, lent: &Ordinary, newest: u32) {
        self.gap.steps(lent.taken());
        self.slot = lent.place.slot();
        self.at = self.at.near(newest);
        let span = lent.waiting.wrapping_sub(newest);
        (self.unit, self.last_span) = (span, span);
        self.window = wheel::window_after_tooth(span);
        let at = self.at.near(lent.waiting);
        self.waiting = Some(Waiting { at, miss: 0, contested: false });
    }

    /// The newest slot placed, which was seen.
    pub(in super::super) fn newest(&self) -> Tooth {
        Tooth { at: self.at, turn: self.turn, slot: self.slot, trusted: true }
    }
}
