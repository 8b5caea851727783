//! Follows a recognised pattern from edge to edge.
//!
//! *Window*: the stretch of time around the prediction in which the next slot's edge is looked for.
//! *Waiting*: the best edge of the window so far; it is placed once no better one can come. *Marred*: a
//! turn in which something was false, missing or doubtful.
//!
//! An edge before the window is false. An edge after it places the waiting edge, or declares the slot
//! missing and is looked at again. In the gap of a wheel an edge at every missing slot means that the
//! count has slipped; if an interval as long as the gap was met elsewhere in the turn, the count starts
//! again from there, else sync is lost. Beyond the gap the first tooth may be missing (on a
//! variable-reluctance wheel it is the weakest): an edge that could be either the first or the second is
//! decided by the interval that follows it.

use super::CrankCounts;
use super::plan::Plan;
use super::seek::{Found, best_shift};
use super::teeth::{Teeth, Tooth};
use crate::job::MAX_MARKS;
use crate::units::Instant;

/// How following went on.
pub(super) enum Followed {
    Goes,
    /// The count had slipped, and this is where it belongs.
    Slipped(Found),
    Lost,
}

#[derive(Debug, Clone, Copy)]
struct Waiting {
    at: Instant,
    miss: u32,
    contested: bool,
}

/// What happened since slot 0.
#[derive(Debug, Clone, Copy, Default)]
struct TurnTally {
    whole: bool,
    missing: u8,
    false_edges: u8,
    marred: bool,
    /// A single mark's false edge came halfway through the turn.
    halfway: bool,
    /// An edge stood where the gap has a missing tooth: the count may have slipped.
    gap_hit: bool,
}

#[derive(Debug, Clone)]
pub(super) struct Follow {
    slot: u8,
    turn: u32,
    /// When `slot` passed, seen or expected.
    at: Instant,
    /// Whether it was seen.
    seen: bool,
    unit: u32,
    /// Ticks of the newest span between two edges seen.
    last_span: u32,
    waiting: Option<Waiting>,
    /// An edge beyond the gap that is either slot 0 or slot 1.
    either: Option<Instant>,
    missing_run: u8,
    filled: u8,
    /// Steps since an interval as long as the gap, met where none belongs.
    since_gap_alike: Option<u8>,
    tally: TurnTally,
    /// An edge stood in the gap that this turn began with.
    gap_was_hit: bool,
    unverified_turns: u8,
    verified_turn: Option<u32>,
    misfits: u8,
    /// Turns in a row with a false edge halfway: every second mark is taken for false.
    halved: u8,
    /// Missing marks with one seen between them, in a row, and turns since the last.
    doubled: u8,
    since_missing: u8,
    spans: [u32; MAX_MARKS],
}

impl Follow {
    pub(super) fn new(plan: &Plan, found: Found, teeth: &mut Teeth) -> Self {
        if let Some(at) = found.slot_zero {
            teeth.place(plan, Tooth { at, turn: 0, slot: 0, trusted: true });
        }
        if let Some(at) = found.slot_one {
            teeth.place(plan, Tooth { at, turn: 0, slot: 1, trusted: true });
        }
        teeth.place(plan, Tooth { at: found.at, turn: 0, slot: found.slot, trusted: true });
        let whole = found.slot_zero.is_some() || found.slot == 0;
        let mut spans = [0; MAX_MARKS];
        if let (false, Some(last)) = (plan.is_wheel(), spans.get_mut(usize::from(found.slot))) {
            *last = found.unit;
        }
        Self {
            slot: found.slot,
            turn: 0,
            at: found.at,
            seen: true,
            unit: found.unit.max(1),
            last_span: found.unit,
            waiting: None,
            either: None,
            missing_run: 0,
            filled: 0,
            since_gap_alike: None,
            tally: TurnTally { whole, ..TurnTally::default() },
            gap_was_hit: false,
            unverified_turns: 0,
            verified_turn: (plan.count() == 1).then_some(0),
            misfits: 0,
            halved: 0,
            doubled: 0,
            since_missing: u8::MAX,
            spans,
        }
    }

    pub(super) fn verified_turn(&self) -> Option<u32> {
        self.verified_turn
    }

    /// Ticks from the last slot to the prediction, and to the window's start and end.
    fn window(&self, plan: &Plan) -> (u32, u32, u32) {
        let expected = plan.expected(self.slot, self.unit);
        if plan.is_wheel() {
            let early = self.unit / 2 + self.unit / 8
                - if plan.pitches_after(self.slot) == 1 { self.unit / 4 } else { 0 };
            (expected, expected - early.min(expected), expected.saturating_add(self.unit / 2 + self.unit / 8))
        } else {
            let next = plan.expected(plan.next_slot(self.slot), expected);
            (expected, expected / 2 + expected / 16, expected.saturating_add((expected / 2).min(next / 2)))
        }
    }

    fn in_gap(&self, plan: &Plan) -> bool {
        plan.pitches_after(self.slot) > 1
    }

    pub(super) fn on_edge(
        &mut self,
        plan: &Plan,
        at: Instant,
        teeth: &mut Teeth,
        counts: &mut CrankCounts,
    ) -> Followed {
        if let Some(either) = self.either.take() {
            // The three intervals around the gap together know nothing of shifted teeth.
            let after = ticks(at, either);
            let around = u64::from(self.last_span) + u64::from(ticks(either, self.at)) + u64::from(after);
            let pitch = (u64::from(self.unit) * 3 + u64::from(after.min(self.unit.saturating_mul(2)))) / 4;
            let second_slot = around * 2 > pitch * (u64::from(plan.gap()) * 2 + 5);
            if second_slot && !self.miss(plan, teeth, counts) {
                return Followed::Lost;
            }
            if self.place(plan, Waiting { at: either, miss: 0, contested: false }, teeth, counts).is_err() {
                return Followed::Lost;
            }
        }
        // Each pass moves one slot on, and three missing in a row are the end.
        for _ in 0..6 {
            let since = ticks(at, self.at);
            let (expected, early, late) = self.window(plan);
            let (slot, from, unit) = (self.slot, self.at, self.unit);
            if since < early {
                return self.too_early(plan, since, at, counts);
            }
            if since <= late {
                if let Some(waiting) =
                    self.waiting.take_if(|waiting| next_is_due(plan, slot, from, unit, waiting.at, at))
                {
                    if self.place(plan, waiting, teeth, counts).is_err() {
                        return Followed::Lost;
                    }
                    continue;
                }
                self.wait(Waiting { at, miss: since.abs_diff(expected), contested: false }, counts);
                return Followed::Goes;
            }
            if let Some(waiting) = self.waiting.take() {
                if self.place(plan, waiting, teeth, counts).is_err() {
                    return Followed::Lost;
                }
                continue;
            }
            if self.in_gap(plan) && since <= late.saturating_add(self.unit) {
                self.either = Some(at);
                return Followed::Goes;
            }
            if !self.miss(plan, teeth, counts) {
                return Followed::Lost;
            }
        }
        Followed::Lost
    }

    fn too_early(&mut self, plan: &Plan, since: u32, at: Instant, counts: &mut CrankCounts) -> Followed {
        counts.false_edges = counts.false_edges.saturating_add(1);
        self.tally.false_edges = self.tally.false_edges.saturating_add(1);
        self.tally.marred = true;
        if plan.count() == 1 && since.abs_diff(self.unit / 2) < self.unit / 6 {
            self.tally.halfway = true;
        }
        if self.in_gap(plan) {
            let near = |slot: u8| {
                let due = self.unit.saturating_mul(u32::from(slot));
                since.abs_diff(due) < self.unit / 4 + self.unit / 16
            };
            if (1..plan.gap()).any(near) {
                self.filled += 1;
                self.tally.gap_hit = true;
            }
            if self.filled + 1 >= plan.gap() {
                return match self.since_gap_alike {
                    Some(steps) if steps + self.filled < plan.count() => Followed::Slipped(Found {
                        at,
                        slot: steps + self.filled,
                        unit: self.unit,
                        slot_zero: None,
                        slot_one: None,
                    }),
                    _ => Followed::Lost,
                };
            }
        }
        if u32::from(self.tally.false_edges) > 4 + u32::from(plan.count()) / 2 {
            return Followed::Lost;
        }
        Followed::Goes
    }

    fn wait(&mut self, candidate: Waiting, counts: &mut CrankCounts) {
        match &mut self.waiting {
            None => self.waiting = Some(candidate),
            Some(waiting) => {
                counts.false_edges = counts.false_edges.saturating_add(1);
                self.tally.false_edges = self.tally.false_edges.saturating_add(1);
                self.tally.marred = true;
                if candidate.miss < waiting.miss {
                    *waiting = candidate;
                }
                waiting.contested = true;
            }
        }
    }

    /// The next slot got no edge. False when that is one too many.
    fn miss(&mut self, plan: &Plan, teeth: &mut Teeth, counts: &mut CrankCounts) -> bool {
        counts.missing_edges = counts.missing_edges.saturating_add(1);
        if plan.count() == 1 {
            // Every second mark missing: the turn is taken for half of what it is.
            self.doubled = if self.since_missing <= 2 { self.doubled + 1 } else { 0 };
            self.since_missing = 0;
            if self.doubled >= 3 {
                return false;
            }
        }
        self.missing_run += 1;
        self.tally.missing = self.tally.missing.saturating_add(1);
        self.tally.marred = true;
        let run_allowed = if plan.count() >= 12 { plan.gap().max(2) } else { 1 };
        if self.missing_run > run_allowed || u32::from(self.tally.missing) > 1 + u32::from(plan.count()) / 8 {
            return false;
        }
        let expected = plan.expected(self.slot, self.unit);
        if !plan.is_wheel() {
            self.unit = expected.max(1);
            self.remember_span(plan, 0);
        }
        self.advance(plan, self.at.shifted(i64::from(expected)), false, teeth, counts)
    }

    /// Gives the next slot this edge; an error when the turn that it closes does not fit.
    fn place(
        &mut self,
        plan: &Plan,
        waiting: Waiting,
        teeth: &mut Teeth,
        counts: &mut CrankCounts,
    ) -> Result<(), ()> {
        let span = ticks(waiting.at, self.at);
        self.last_span = span;
        if plan.is_wheel() {
            self.learn_pitch(plan, span);
        } else {
            let next = plan.next_slot(self.slot);
            self.unit = span.max(1);
            if let Some(kept) = self.spans.get_mut(usize::from(next)) {
                *kept = if self.seen { span } else { 0 };
            }
        }
        let gap_alike = plan.gap() > 1 && self.missing_run + 1 == plan.gap() && !self.in_gap(plan);
        self.missing_run = 0;
        if !self.advance(plan, waiting.at, true, teeth, counts) {
            return Err(());
        }
        if gap_alike && self.slot > 0 {
            self.since_gap_alike = Some(0);
        }
        teeth.place(
            plan,
            Tooth { at: waiting.at, turn: self.turn, slot: self.slot, trusted: !waiting.contested },
        );
        if self.slot == 2 && plan.beside_gap(0) {
            teeth.learn_ends(plan, self.unit);
        }
        Ok(())
    }

    fn learn_pitch(&mut self, plan: &Plan, span: u32) {
        if !self.seen {
            return;
        }
        let pitches = u32::from(plan.pitches_after(self.slot));
        let beside_gap = plan.beside_gap(self.slot) || plan.beside_gap(plan.next_slot(self.slot));
        self.unit = if pitches == 1 && !beside_gap {
            (self.unit / 2).saturating_add(span / 2)
        } else {
            // The teeth beside the gap of a variable-reluctance wheel stretch it: a quarter of its word.
            let pitch = if pitches == 1 { span } else { plan.pitch_of_gap(span) };
            (self.unit - self.unit / 4).saturating_add(pitch / 4)
        }
        .max(1);
    }

    fn remember_span(&mut self, plan: &Plan, span: u32) {
        if let Some(kept) = self.spans.get_mut(usize::from(plan.next_slot(self.slot))) {
            *kept = span;
        }
    }

    /// Moves one slot on, to an edge seen or expected at `at`. False when sync is lost by it.
    fn advance(
        &mut self,
        plan: &Plan,
        at: Instant,
        seen: bool,
        teeth: &mut Teeth,
        counts: &mut CrankCounts,
    ) -> bool {
        let came_from_seen = self.seen;
        let left_gap = self.in_gap(plan);
        self.slot = plan.next_slot(self.slot);
        self.at = at;
        self.seen = seen;
        self.filled = 0;
        if let Some(steps) = &mut self.since_gap_alike {
            *steps = steps.saturating_add(1);
        }
        if self.slot == 0 {
            return self.close_turn(plan, at, seen, left_gap && came_from_seen, teeth, counts);
        }
        if self.slot == 1
            && !self.gap_was_hit
            && seen
            && !came_from_seen
            && plan.is_wheel()
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
        teeth: &mut Teeth,
        counts: &mut CrankCounts,
    ) -> bool {
        self.turn = self.turn.wrapping_add(1);
        self.unverified_turns += 1;
        self.since_missing = self.since_missing.saturating_add(1);
        self.since_gap_alike = None;
        let fits = if plan.is_wheel() {
            seen && gap_bounded && !self.tally.gap_hit
        } else if plan.count() == 1 {
            seen
        } else {
            self.marks_fit(plan)
        };
        if fits {
            self.verify(counts);
        }
        if !seen {
            teeth.turn_began(self.turn, at);
        }
        self.gap_was_hit = self.tally.gap_hit;
        self.halved = if self.tally.halfway { self.halved + 1 } else { 0 };
        self.tally = TurnTally { whole: true, ..TurnTally::default() };
        self.unverified_turns <= 2 && self.misfits < 2 && self.halved < 3
    }

    fn verify(&mut self, counts: &mut CrankCounts) {
        if self.tally.whole {
            counts.turns_verified = counts.turns_verified.saturating_add(1);
            if self.tally.marred {
                counts.turns_marred = counts.turns_marred.saturating_add(1);
            }
        }
        self.unverified_turns = 0;
        self.verified_turn = Some(self.turn);
    }

    /// Whether the intervals of the turn that ends here fit the pattern as it is followed better than any
    /// other way round.
    fn marks_fit(&mut self, plan: &Plan) -> bool {
        let count = usize::from(plan.count());
        // spans[s] is the span that ends at slot s; the turn from slot 0 on runs 1, 2, … n-1, 0.
        let mut turn = [0u32; MAX_MARKS];
        let ends = self.spans.iter().take(count);
        for (span, kept) in turn.iter_mut().zip(ends.clone().skip(1).chain(ends.take(1))) {
            *span = *kept;
        }
        if turn.iter().take(count).any(|span| *span == 0) {
            return false;
        }
        let fits = matches!(best_shift(plan, &turn), Some((0, _)));
        self.misfits = if fits { 0 } else { self.misfits + 1 };
        fits
    }

    pub(super) fn poll(
        &mut self,
        plan: &Plan,
        now: Instant,
        teeth: &mut Teeth,
        counts: &mut CrankCounts,
    ) -> Followed {
        let since = ticks(now, self.at);
        let (expected, _, late) = self.window(plan);
        if since <= late {
            return Followed::Goes;
        }
        if let Some(waiting) = self.waiting.take()
            && self.place(plan, waiting, teeth, counts).is_err()
        {
            return Followed::Lost;
        }
        let silent = since > expected.saturating_mul(3).saturating_add(self.unit);
        if silent { Followed::Lost } else { Followed::Goes }
    }

    pub(super) fn finish(&mut self, plan: &Plan, teeth: &mut Teeth, counts: &mut CrankCounts) {
        if let Some(waiting) = self.waiting.take() {
            let _ = self.place(plan, waiting, teeth, counts);
        }
    }
}

/// Whether `at` lies so far behind the waiting edge that it belongs to the slot after: a crank that speeds
/// up brings the next edge inside the window of the last.
fn next_is_due(plan: &Plan, slot: u8, from: Instant, unit: u32, waiting: Instant, at: Instant) -> bool {
    let unit = if plan.is_wheel() { unit } else { ticks(waiting, from) };
    let next = plan.expected(plan.next_slot(slot), unit);
    let least = if plan.is_wheel() { next - (unit / 2 - unit / 8).min(next) } else { next / 2 + next / 16 };
    ticks(at, waiting) >= least
}

fn ticks(later: Instant, earlier: Instant) -> u32 {
    u32::try_from(later.since(earlier)).unwrap_or(u32::MAX)
}
