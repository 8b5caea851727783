//! A wheel's teeth like most, in as few steps as it takes: nearly every edge at high speed is one.
//!
//! *Ordinary*: the edge before waits alone, nothing is missing or in doubt, both it and this edge stand clear of the
//! gap, and this one comes within the window of the slot after. Then the one that waited is placed and this one
//! waits: the same as looking at it from all sides does, without the questions that are answered already.
//!
//! Following lends itself in this form between two turns' gaps and takes it back ([`Follow::lend`]); moments are
//! given by their lower 32 bits.

use super::super::plan::Plan;
use super::{Follow, Waiting, wheel};
use crate::units::Instant;

/// Following, between two gaps of a wheel.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Ordinary {
    /// The edge that waits, and when the newest tooth passed.
    waiting: u32,
    placed: u32,
    /// Ticks between the two, and between the two teeth before.
    span: u32,
    last_span: u32,
    /// The pitch.
    unit: u32,
    turn: u32,
    /// The newest slot placed, that when following was lent, and that from which on edges are not ordinary.
    slot: u8,
    first: u8,
    end: u8,
}

impl Ordinary {
    /// An edge; gives back when the tooth passed that it places. `None` where it is not ordinary: nothing was done then.
    #[inline]
    pub(crate) fn pass(&mut self, at: u32) -> Option<u32> {
        let (placed, since) = (self.waiting, at.wrapping_sub(self.waiting));
        let (_, _, late) = wheel::window_after_tooth(self.unit);
        let unit = (self.unit / 2 + self.span / 2).max(1);
        let window = wheel::window_after_tooth(unit);
        // Beyond the window of the edge that waits, and within its own.
        let due = self.span.saturating_add(since) > late && since >= window.1 && since <= window.2;
        if !due || self.slot >= self.end {
            return None;
        }
        (self.last_span, self.span) = (self.span, since);
        (self.placed, self.waiting, self.unit) = (placed, at, unit);
        self.slot += 1;
        Some(placed)
    }

    /// Whether no more edges can be ordinary.
    #[inline]
    pub(crate) fn is_over(&self) -> bool {
        self.slot >= self.end
    }

    /// No more than so many edges more.
    pub(crate) fn limit(&mut self, left: u8) {
        self.end = self.end.min(self.slot.saturating_add(left));
    }

    /// Edges taken in since following was lent.
    pub(crate) fn taken(&self) -> u8 {
        self.slot - self.first
    }

    /// Slot and turn of the newest tooth.
    #[inline]
    pub(in super::super) fn place(&self) -> (u8, u32) {
        (self.slot, self.turn)
    }
}

impl Follow {
    /// Following as it stands; no edge is ordinary with it beside the gap, or where anything is in doubt.
    pub(in super::super) fn lend(&self, plan: &Plan) -> Ordinary {
        let clear = plan.is_clear_of_gap(self.slot) && self.seen && self.missing_run == 0 && !self.slow;
        let waiting = self.waiting.filter(|waiting| clear && !waiting.contested && self.gap.either.is_none());
        let at = waiting.map_or(self.at, |waiting| waiting.at);
        Ordinary {
            waiting: at.ticks() as u32,
            placed: self.at.ticks() as u32,
            span: at.ticks_since(self.at),
            last_span: self.last_span,
            unit: self.unit,
            turn: self.turn,
            slot: self.slot,
            first: self.slot,
            end: waiting.map_or(0, |_| plan.count().saturating_sub(3)),
        }
    }

    /// What was lent, after it has taken in some edges.
    pub(in super::super) fn take_back(&mut self, lent: &Ordinary) {
        self.gap.steps(lent.taken());
        (self.slot, self.unit, self.last_span) = (lent.slot, lent.unit, lent.last_span);
        let (placed, waiting) = (self.at.near(lent.placed), self.at.near(lent.waiting));
        self.at = placed;
        self.window = wheel::window_after_tooth(lent.unit);
        self.waiting = Some(Waiting { at: waiting, miss: lent.span.abs_diff(lent.unit), contested: false });
    }

    /// When the newest slot passed.
    pub(in super::super) fn at(&self) -> Instant {
        self.at
    }
}
