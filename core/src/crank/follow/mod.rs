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
//! decided by the two intervals that follow it.

mod marks;
mod ordinary;
mod tally;
mod turn;
mod wheel;

use super::CrankCounts;
use super::places::Places;
use super::plan::{Plan, times};
use super::repeat::{forecast, gap_ends};
use super::seek::Found;
use super::teeth::Tooth;
use crate::job::MAX_MARKS;
use crate::units::Instant;
use marks::Marks;
pub(crate) use ordinary::Ordinary;
use tally::TurnTally;
use wheel::{Gap, InGap};

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

#[derive(Debug, Clone)]
pub(super) struct Follow {
    slot: u8,
    turn: u32,
    /// When `slot` passed, seen or expected.
    at: Instant,
    /// Whether it was seen.
    seen: bool,
    unit: u32,
    /// The pitch to the next tooth and the one after it, where the last compression tells them.
    foreseen: Option<[u32; 2]>,
    /// The newest turn closes if its gap is borne out by the next compression, or where none is told, by the next gap.
    pending: bool,
    /// The starter turns the wheel, by its newest turn.
    slow: bool,
    /// Ticks of the newest span between two edges seen.
    last_span: u32,
    waiting: Option<Waiting>,
    missing_run: u8,
    tally: TurnTally,
    unverified_turns: u8,
    verified_turn: Option<u32>,
    gap: Gap,
    marks: Marks,
    /// Ticks from the last slot to the prediction, and to the window's start and end: set as the slot changes.
    window: (u32, u32, u32),
}

impl Follow {
    /// Follows from what was found; `earlier`: the edges that were sought in, by how many before the newest.
    pub(super) fn new(
        plan: &Plan,
        found: Found,
        earlier: &dyn Fn(usize) -> Option<Instant>,
        teeth: &mut dyn Places,
    ) -> Self {
        for slot in (0..found.slot).filter(|_| found.from_zero) {
            if let Some(at) = earlier(usize::from(found.slot - slot)) {
                teeth.place(plan, Tooth { at, turn: 0, slot, trusted: true });
            }
        }
        teeth.place(plan, Tooth { at: found.at, turn: 0, slot: found.slot, trusted: true });
        let whole = found.from_zero || found.slot == 0;
        let mut follow = Self {
            slot: found.slot,
            turn: 0,
            at: found.at,
            seen: true,
            unit: found.unit.max(1),
            slow: plan.is_slow(times(found.unit, plan.slots())),
            foreseen: None,
            pending: false,
            last_span: found.unit,
            waiting: None,
            missing_run: 0,
            tally: TurnTally::new(whole),
            unverified_turns: 0,
            verified_turn: (plan.count() == 1).then_some(0),
            gap: Gap::default(),
            marks: Marks::new(plan, &found),
            window: (0, 0, 0),
        };
        follow.renew_window(plan);
        follow.look_ahead(plan, teeth);
        follow
    }

    pub(super) fn verified_turn(&self) -> Option<u32> {
        self.verified_turn
    }

    fn renew_window(&mut self, plan: &Plan) {
        self.window = if plan.is_wheel() {
            wheel::window(plan, self.slot, self.unit, self.foreseen)
        } else {
            self.marks.window(plan, self.slot, self.unit)
        };
    }

    /// Whether `at` belongs to the slot after the one that the waiting edge waits for.
    fn next_is_due(&self, plan: &Plan, waiting: Instant, at: Instant) -> bool {
        if plan.is_wheel() {
            wheel::next_is_due(plan, self.slot, self.next_unit(plan), waiting, at)
        } else {
            marks::next_is_due(plan, self.slot, self.at, waiting, at)
        }
    }

    /// While a starter turns a wheel, the next tooth is foreseen from the last compression.
    fn look_ahead(&mut self, plan: &Plan, teeth: &dyn Places) {
        self.foreseen = if self.slow { forecast(plan, teeth) } else { None };
        if self.foreseen.is_some() {
            self.renew_window(plan);
        }
    }

    /// A turn whose gap a compression has passed since is verified, where that bears it out.
    fn bear_out(&mut self, plan: &Plan, teeth: &dyn Places, counts: &mut CrankCounts) {
        if self.pending && plan.lag() > 0 && self.slot == plan.lag() {
            self.pending = false;
            // The gap's own ends in no doubt, and nothing since.
            let end = |back: u8| teeth.back(usize::from(back)).filter(|tooth| tooth.trusted);
            let bounded = end(self.slot).is_some_and(|tooth| tooth.slot == 0) && end(self.slot + 1).is_some();
            let back = |back: usize| teeth.back(back).map(|tooth| tooth.at.ticks() as u32);
            if bounded && !self.tally.marred && gap_ends(plan, &back) == Some(true) {
                self.verify(counts);
            }
        }
    }

    /// The pitch after the next tooth, at least.
    fn next_unit(&self, plan: &Plan) -> u32 {
        match self.foreseen {
            Some([_, after]) if plan.swings_slowly() => after.min(self.unit),
            Some([_, after]) => after,
            None => self.unit,
        }
    }

    fn in_gap(&self, plan: &Plan) -> bool {
        plan.pitches_after(self.slot) > 1
    }

    pub(super) fn on_edge(
        &mut self,
        plan: &Plan,
        at: Instant,
        teeth: &mut dyn Places,
        counts: &mut CrankCounts,
    ) -> Followed {
        if let Some(first) = self.gap.either {
            let newest = self.gap.beyond.unwrap_or(first);
            if ticks(at, newest) < self.unit / 4 + self.unit / 8 {
                self.count_false(counts);
                return Followed::Goes;
            }
            let Some(second) = self.gap.beyond else {
                self.gap.beyond = Some(at);
                return Followed::Goes;
            };
            (self.gap.either, self.gap.beyond) = (None, None);
            if !self.decide(plan, [first, second, at], teeth, counts) {
                return Followed::Lost;
            }
            return match self.step(plan, second, teeth, counts) {
                Followed::Goes => self.step(plan, at, teeth, counts),
                other => other,
            };
        }
        self.step(plan, at, teeth, counts)
    }

    /// Gives the first of three edges beyond the gap its slot, the first or the second. False when sync is
    /// lost by it.
    ///
    /// The three intervals around the gap together know nothing of shifted teeth, and the ordinary ones on
    /// either side of them say how long they are due to be while the speed changes.
    fn decide(
        &mut self,
        plan: &Plan,
        [first, second, third]: [Instant; 3],
        teeth: &mut dyn Places,
        counts: &mut CrankCounts,
    ) -> bool {
        let around = u64::from(self.last_span) + second.since(self.at);
        let two_pitches = u64::from(self.unit) + third.since(second);
        let second_slot = wheel::is_second(plan, around, two_pitches, self.gap.lacked_first);
        self.gap.lacked_first = second_slot;
        if second_slot && !self.miss(plan, teeth, counts) {
            return false;
        }
        self.place(plan, Waiting { at: first, miss: 0, contested: false }, teeth, counts).is_ok()
    }

    fn count_false(&mut self, counts: &mut CrankCounts) {
        counts.false_edges = counts.false_edges.saturating_add(1);
        self.tally.count_false();
    }

    fn step(
        &mut self,
        plan: &Plan,
        at: Instant,
        teeth: &mut dyn Places,
        counts: &mut CrankCounts,
    ) -> Followed {
        // Each pass moves one slot on, and three missing in a row are the end.
        for _ in 0..6 {
            let since = ticks(at, self.at);
            let (expected, early, late) = self.window;
            if since < early {
                return self.too_early(plan, since, at, counts);
            }
            if since <= late {
                let placed = self.waiting.filter(|waiting| self.next_is_due(plan, waiting.at, at));
                if let Some(waiting) = placed {
                    self.waiting = None;
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
                self.gap.either = Some(at);
                return Followed::Goes;
            }
            if !self.miss(plan, teeth, counts) {
                return Followed::Lost;
            }
        }
        Followed::Lost
    }

    fn too_early(&mut self, plan: &Plan, since: u32, at: Instant, counts: &mut CrankCounts) -> Followed {
        self.count_false(counts);
        if plan.count() == 1 && since.abs_diff(self.unit / 2) < self.unit / 6 {
            self.tally.halfway = true;
        }
        if self.in_gap(plan) {
            let (unit, near) = self
                .foreseen
                .map_or((self.unit, self.unit / 4 + self.unit / 16), |[next, _]| (next, next / 2));
            let edge = self.gap.edge(plan, unit, near, since);
            self.tally.gap_hit |= self.foreseen.is_some() || !matches!(edge, InGap::False);
            if let InGap::Full(slot) = edge {
                let (unit, spans) = (self.unit, [0; MAX_MARKS]);
                return slot.map_or(Followed::Lost, |slot| {
                    Followed::Slipped(Found { at, slot, unit, from_zero: false, spans })
                });
            }
        }
        if self.tally.is_beyond_trust(plan) { Followed::Lost } else { Followed::Goes }
    }

    fn wait(&mut self, candidate: Waiting, counts: &mut CrankCounts) {
        let Some(waiting) = self.waiting else {
            self.waiting = Some(candidate);
            return;
        };
        self.count_false(counts);
        let better = if candidate.miss < waiting.miss { candidate } else { waiting };
        self.waiting = Some(Waiting { contested: true, ..better });
    }

    pub(super) fn poll(
        &mut self,
        plan: &Plan,
        now: Instant,
        teeth: &mut dyn Places,
        counts: &mut CrankCounts,
    ) -> Followed {
        if ticks(now, self.at) <= self.window.2 {
            return Followed::Goes;
        }
        if let Some(waiting) = self.waiting.take()
            && self.place(plan, waiting, teeth, counts).is_err()
        {
            return Followed::Lost;
        }
        // From the edge placed just now, if one was.
        let (since, (expected, _, _)) = (ticks(now, self.at), self.window);
        let silent = since > expected.saturating_mul(3).saturating_add(self.unit);
        if silent { Followed::Lost } else { Followed::Goes }
    }

    pub(super) fn finish(&mut self, plan: &Plan, teeth: &mut dyn Places, counts: &mut CrankCounts) {
        if let Some(waiting) = self.waiting.take() {
            let _ = self.place(plan, waiting, teeth, counts);
        }
    }
}

fn ticks(later: Instant, earlier: Instant) -> u32 {
    later.ticks_since(earlier)
}
