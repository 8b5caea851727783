//! A wheel's teeth like most, in as few steps as it takes: nearly every edge at high speed is one.
//!
//! *Ordinary*: the edge before waits alone, nothing is missing or in doubt, both it and this edge stand on this side of
//! the gap, and this one comes about a pitch after it. Then the one that waited is placed and this one
//! waits: the same as looking at it from all sides does, without the questions that are answered already.
//! *About*: while the spans lie between thirteen sixteenths and six fifths of what the pitch was, it stays there too,
//! and each edge within its window and beyond that of the one before.
//!
//! Following lends itself in this form between two turns' gaps and takes it back ([`Follow::lend`]); moments are
//! given by their lower 32 bits.

use super::super::plan::Plan;
use super::super::teeth::{KeptPlace, Tooth};
use super::{Follow, Waiting, wheel};

/// Following, between two gaps of a wheel.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Ordinary {
    /// The edge that waits.
    waiting: u32,
    /// Ticks from the newest tooth to it, and between the two teeth before.
    span: u32,
    last_span: u32,
    /// The pitch.
    unit: u32,
    /// An ordinary span lasts no shorter than this, and no longer than half as long again.
    least: u32,
    /// The newest tooth placed.
    place: KeptPlace,
    /// The newest slot when following was lent, and that from which on edges are not ordinary.
    first: u8,
    end: u8,
}

/// No span lasts so long.
const NEVER: u32 = 1 << 31;

impl Ordinary {
    /// An edge; gives back when the tooth passed that it places. `None` where it is not ordinary: nothing was done then.
    #[inline]
    pub(crate) fn pass(&mut self, at: u32) -> Option<u32> {
        let (placed, since) = (self.waiting, at.wrapping_sub(self.waiting));
        if since.wrapping_sub(self.least) > self.least / 2 {
            return None;
        }
        self.unit = self.unit / 2 + self.span / 2;
        (self.last_span, self.span, self.waiting) = (self.span, since, at);
        self.place = self.place.next();
        Some(placed)
    }

    /// Edges that can still be ordinary, if they come as they should.
    #[inline]
    pub(crate) fn left(&self) -> u8 {
        self.end.saturating_sub(self.place.slot())
    }

    /// No more than so many edges more, one at the least.
    pub(crate) fn limit(&mut self, left: u8) {
        self.end = self.end.min(self.place.slot().saturating_add(left.max(1)));
    }

    /// Edges taken in since following was lent.
    pub(crate) fn taken(&self) -> u8 {
        self.place.slot().wrapping_sub(self.first)
    }

    /// Where the newest tooth is put away.
    #[inline]
    pub(in super::super) fn kept_place(&self) -> KeptPlace {
        self.place
    }

    /// No edge is ordinary from here on.
    pub(crate) fn stop(&mut self) {
        self.least = NEVER;
    }
}

impl Follow {
    /// Lends following as it stands; no edge is ordinary with it beside the gap, or where anything is in doubt.
    pub(in super::super) fn lend(&self, plan: &Plan, lent: &mut Ordinary) {
        let slots = plan.clear_of_gap();
        let clear = slots.contains(&self.slot) && self.seen && self.missing_run == 0 && !self.slow;
        let waiting = self.waiting.filter(|waiting| clear && !waiting.contested && self.gap.either.is_none());
        lent.first = self.slot;
        lent.place = KeptPlace::new(self.turn, self.slot, true);
        lent.unit = self.unit;
        lent.last_span = self.last_span;
        (lent.least, lent.end) = (NEVER, self.slot.saturating_add(1));
        let Some(waiting) = waiting else { return };
        lent.waiting = waiting.at.ticks() as u32;
        lent.span = waiting.at.ticks_since(self.at);
        let pitch = self.unit / 2 + lent.span / 2;
        let least = pitch - pitch / 8 - pitch / 16;
        let is_about = |span: u32| span.wrapping_sub(least) <= least / 2;
        if (16..1 << 24).contains(&pitch) && is_about(lent.span) && is_about(self.unit) {
            (lent.least, lent.end) = (least, slots.end);
        }
    }

    /// What was lent, after it has taken in some edges.
    pub(in super::super) fn take_back(&mut self, lent: &Ordinary) {
        self.gap.steps(lent.taken());
        (self.slot, self.unit, self.last_span) = (lent.place.slot(), lent.unit, lent.last_span);
        let waiting = self.at.near(lent.waiting);
        self.at = waiting.shifted(-i64::from(lent.span));
        self.window = wheel::window_after_tooth(lent.unit);
        self.waiting = Some(Waiting { at: waiting, miss: lent.span.abs_diff(lent.unit), contested: false });
    }

    /// The newest slot placed, which was seen.
    pub(in super::super) fn newest(&self) -> Tooth {
        Tooth { at: self.at, turn: self.turn, slot: self.slot, trusted: true }
    }
}
