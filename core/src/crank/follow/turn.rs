//! From slot to slot: what a slot's edge, or the lack of one, does to the count, and how a turn closes.

use super::super::CrankCounts;
use super::super::places::Places;
use super::super::plan::Plan;
use super::super::teeth::Tooth;
use super::tally::TurnTally;
use super::{Follow, Waiting, ticks, wheel};
use crate::units::Instant;

impl Follow {
    /// The next slot got no edge. False when that is one too many.
    pub(super) fn miss(&mut self, plan: &Plan, teeth: &mut dyn Places, counts: &mut CrankCounts) -> bool {
        counts.missing_edges = counts.missing_edges.saturating_add(1);
        if plan.count() == 1 && !self.marks.missing() {
            return false;
        }
        self.missing_run += 1;
        self.tally.count_missing();
        let run_allowed = if plan.count() >= 12 { plan.gap().max(2) } else { 1 };
        if self.missing_run > run_allowed || self.tally.lacks_too_many(plan) {
            return false;
        }
        let (expected, _, _) = self.window;
        if !plan.is_wheel() {
            self.unit = expected.max(1);
            self.marks.skip(plan, self.slot);
        }
        self.advance(plan, self.at.shifted(i64::from(expected)), false, teeth, counts)
    }

    /// Gives the next slot this edge; an error when the turn that it closes does not fit.
    pub(super) fn place(
        &mut self,
        plan: &Plan,
        waiting: Waiting,
        teeth: &mut dyn Places,
        counts: &mut CrankCounts,
    ) -> Result<(), ()> {
        let span = ticks(waiting.at, self.at);
        let before = core::mem::replace(&mut self.last_span, span);
        let (gap, beside) = if self.slot == 0 { (before, span) } else { (span, before) };
        let at_gap = plan.is_wheel() && self.seen && (self.slot == 0 || self.in_gap(plan));
        if at_gap && wheel::is_halved_gap(plan, gap, beside, teeth) {
            return Err(());
        }
        if !plan.is_wheel() {
            self.unit = span.max(1);
            self.marks.pass(plan, self.slot, span, self.seen);
        } else if self.seen {
            self.unit = wheel::learned_pitch(plan, self.slot, self.unit, span);
        }
        let gap_alike = plan.gap() > 1 && self.missing_run + 1 == plan.gap() && !self.in_gap(plan);
        self.missing_run = 0;
        if !self.advance(plan, waiting.at, true, teeth, counts) {
            return Err(());
        }
        if gap_alike && self.slot > 0 {
            self.gap.met_alike();
        }
        teeth.place(
            plan,
            Tooth { at: waiting.at, turn: self.turn, slot: self.slot, trusted: !waiting.contested },
        );
        if self.slot == 0
            && let Some(turn) = teeth.newest_turn()
        {
            self.slow = plan.is_slow(turn);
        }
        self.bear_out(plan, teeth, counts);
        self.look_ahead(plan, teeth);
        Ok(())
    }

    /// Moves one slot on, to an edge seen or expected at `at`. False when sync is lost by it.
    fn advance(
        &mut self,
        plan: &Plan,
        at: Instant,
        seen: bool,
        teeth: &mut dyn Places,
        counts: &mut CrankCounts,
    ) -> bool {
        let came_from_seen = self.seen;
        let left_gap = self.in_gap(plan);
        self.slot = plan.next_slot(self.slot);
        self.foreseen = None;
        self.renew_window(plan);
        self.at = at;
        self.seen = seen;
        self.gap.step();
        if self.slot == 0 {
            return self.close_turn(plan, at, seen, left_gap && came_from_seen, teeth, counts);
        }
        if self.slot == 1
            && !self.gap.was_hit
            && seen
            && !came_from_seen
            && plan.is_wheel()
            && !self.slow
            && self.verified_turn != Some(self.turn)
        {
            // Slot 0 was missing, and slot 1 came where it must.
            counts.turns_without_first = counts.turns_without_first.saturating_add(1);
            self.verify(counts);
        }
        true
    }

    fn close_turn(
        &mut self,
        plan: &Plan,
        at: Instant,
        seen: bool,
        gap_bounded: bool,
        teeth: &mut dyn Places,
        counts: &mut CrankCounts,
    ) -> bool {
        self.turn = self.turn.wrapping_add(1);
        self.unverified_turns += 1;
        let fits = if plan.is_wheel() {
            let fits = seen && gap_bounded && !self.tally.gap_hit;
            // Where no compression can bear out a starter's gap, the next gap must.
            let was_pending = core::mem::replace(&mut self.pending, fits && self.slow) && plan.lag() == 0;
            if fits && was_pending && !self.slow && self.tally.whole {
                // The turn that waited for this gap: the one that ends here is counted as it is verified.
                counts.turns_verified = counts.turns_verified.saturating_add(1);
            }
            fits && (!self.slow || was_pending)
        } else if plan.count() == 1 {
            seen
        } else {
            self.marks.fit(plan)
        };
        if fits {
            self.verify(counts);
        }
        if !seen {
            teeth.turn_began(self.turn, at);
        }
        self.gap.turn(self.tally.gap_hit);
        self.marks.turn(self.tally.halfway);
        self.tally = TurnTally::new(true);
        self.unverified_turns <= 2 && self.marks.holds()
    }

    pub(super) fn verify(&mut self, counts: &mut CrankCounts) {
        if self.tally.whole {
            counts.turns_verified = counts.turns_verified.saturating_add(1);
            if self.tally.marred {
                counts.turns_marred = counts.turns_marred.saturating_add(1);
            }
        }
        self.unverified_turns = 0;
        self.verified_turn = Some(self.turn);
    }
}
