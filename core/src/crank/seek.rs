//! Recognises the pattern from intervals alone.
//!
//! A wheel shows itself by one long interval between two ordinary ones, as long as its gap. Marks show
//! themselves by the order of a whole turn's intervals: the turn is scaled to the pattern's and each way
//! round is compared; it must fit well, and much better than the next best way. A single mark has no
//! pattern: two turns of about the same length will do.

use super::plan::{Plan, times};
use super::repeat::gap_ends;
use super::teeth::TEETH_KEPT;
use crate::fixed::Newest;
use crate::job::MAX_MARKS;
use crate::units::Instant;

/// How many of the newest edges are kept: more than from a gap to a lag behind it.
const EDGES_KEPT: usize = 46;
/// The most pitches from one compression to the next: those edges show an interval so far back, and the teeth kept of a
/// wheel that is followed reach there too.
pub(super) const LONGEST_LAG: u8 = EDGES_KEPT as u8 - 2;
const _: () = assert!((LONGEST_LAG as usize) < TEETH_KEPT - 1);
/// A silence of so many ticks is a standstill.
const STANDSTILL: u32 = 1 << 26;

/// What was recognised: the newest edge and where it belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Found {
    /// The newest edge.
    pub(super) at: Instant,
    /// Its slot.
    pub(super) slot: u8,
    /// Ticks of a pitch for a wheel; for marks, ticks of the span before the newest edge.
    pub(super) unit: u32,
    /// Whether the edges before the newest are the teeth from slot 0 on.
    pub(super) from_zero: bool,
    /// For several marks: ticks of the span that ended at each slot, in the turn up to the newest edge.
    pub(super) spans: [u32; MAX_MARKS],
}

/// The newest edges while no pattern is followed.
#[derive(Debug, Clone, Default)]
pub(super) struct Seek {
    recent: Newest<u32, EDGES_KEPT>,
    newest: Instant,
    /// Edges since one that ended a gap.
    since_gap: Option<u8>,
}

impl Seek {
    pub(super) fn on_edge(&mut self, plan: &Plan, at: Instant) -> Option<Found> {
        if at.ticks_since(self.newest) >= STANDSTILL {
            self.recent.clear();
            self.since_gap = None;
        }
        self.newest = at;
        self.recent.push(at.ticks() as u32);
        if plan.is_wheel() {
            let turn = self.turn(plan);
            let repeated = self.find_repeated_gap(plan);
            let found = self.find_gap(plan);
            let slow = turn
                .or(found.map(|found| times(found.unit, plan.slots())))
                .is_some_and(|turn| plan.lag() > 0 && plan.is_slow(turn));
            if slow { repeated } else { found }
        } else if self.recent.len() <= usize::from(plan.count()).max(2) {
            None
        } else if plan.count() == 1 {
            self.find_single(plan)
        } else {
            self.find_marks(plan)
        }
    }

    /// The edge that came so many before the newest.
    pub(super) fn back(&self, back: usize) -> Option<Instant> {
        self.recent.back(back).map(|low| self.newest.near(*low))
    }

    /// Ticks of the interval that ended so many edges before the newest; 0 where it was not seen.
    fn interval(&self, back: usize) -> u32 {
        match (self.recent.back(back + 1), self.recent.back(back)) {
            (Some(from), Some(to)) => to.wrapping_sub(*from),
            _ => 0,
        }
    }

    /// Ticks that a wheel's turn takes by the newest edges, a lag and more of them.
    fn turn(&self, plan: &Plan) -> Option<u32> {
        let passed = self.newest.ticks_since(self.back(usize::from(plan.lag()) + 1)?);
        Some(times(passed / u32::from(plan.lag() + plan.gap()).max(1), plan.slots()))
    }

    /// The gap of a wheel that a starter turns: the second that stands out, so many teeth after the first as there
    /// are in one turn or two, and none between them.
    fn find_repeated_gap(&mut self, plan: &Plan) -> Option<Found> {
        if plan.lag() == 0 {
            return None;
        }
        let ends = gap_ends(plan, &|back| self.recent.back(back).copied()) == Some(true);
        let since = self.since_gap.map(|since| since.saturating_add(1));
        self.since_gap = if ends { Some(0) } else { since };
        since.filter(|since| ends && (*since == plan.count() || *since == plan.count().saturating_mul(2)))?;
        let unit = self.turn(plan)? / u32::from(plan.slots()).max(1);
        Some(Found { at: self.newest, slot: plan.lag(), unit, from_zero: true, spans: [0; MAX_MARKS] })
    }

    /// The gap is told by its own length and by that of the three intervals around it together: a
    /// variable-reluctance wheel shifts the teeth at the gap, which stretches it and shortens its neighbours,
    /// but leaves the three together as they must be. The intervals next but one say how long that is.
    fn find_gap(&self, plan: &Plan) -> Option<Found> {
        let at = |back| u64::from(self.interval(back));
        let (other, ordinary) = (at(0), at(4));
        let alike = ordinary * 4 < other * 9 && other * 4 < ordinary * 9;
        let gap = u64::from(plan.gap());
        let (after, long, before) = (at(1), at(2), at(3));
        let around = before + long + after;
        let due = (ordinary + other) / 2 * (gap + 2);
        let pitch = around / (gap + 2);
        let whole = around.abs_diff(due) * 5 < due;
        let beside = |interval: u64| interval * 2 > pitch && interval * 10 < pitch * 13;
        let fits = long * 16 > pitch * (gap * 16 - 6) && long * 16 < pitch * (gap * 16 + 9);
        let slow_enough = pitch * u64::from(plan.slots()) > u64::from(plan.shortest_turn());
        if !(alike && whole && fits && slow_enough && beside(before) && beside(after)) {
            return None;
        }
        Some(Found {
            at: self.newest,
            slot: 2,
            unit: u32::try_from(pitch).ok()?,
            from_zero: true,
            spans: [0; MAX_MARKS],
        })
    }

    fn find_single(&self, plan: &Plan) -> Option<Found> {
        let earlier = u64::from(self.interval(1));
        let later = u64::from(self.interval(0));
        let alike = earlier * 7 < later * 10 && later * 7 < earlier * 10;
        if !alike || later <= u64::from(plan.shortest_turn()) {
            return None;
        }
        Some(Found {
            at: self.newest,
            slot: 0,
            unit: u32::try_from(later).ok()?,
            from_zero: false,
            spans: [0; MAX_MARKS],
        })
    }

    fn find_marks(&self, plan: &Plan) -> Option<Found> {
        let count = plan.count();
        let mut intervals = [0u32; MAX_MARKS];
        for (back, interval) in (0..usize::from(count)).rev().zip(intervals.iter_mut()) {
            *interval = self.interval(back);
        }
        let (slot, clear) = best_shift(plan, &intervals)?;
        if !clear {
            return None;
        }
        let turn: u64 = intervals.iter().map(|interval| u64::from(*interval)).sum();
        if turn <= u64::from(plan.shortest_turn()) {
            return None;
        }
        let unit = self.interval(0);
        let mut spans = [0; MAX_MARKS];
        let mut ends = plan.next_slot(slot);
        for interval in intervals.iter().take(usize::from(count)) {
            if let Some(kept) = spans.get_mut(usize::from(ends)) {
                *kept = *interval;
            }
            ends = plan.next_slot(ends);
        }
        Some(Found { at: self.newest, slot, unit, from_zero: false, spans })
    }
}

/// The slot that the newest edge has if the last `count` intervals, oldest first, are laid on the pattern
/// where they fit best; and whether they fit there well, and much better than anywhere else. `None` for
/// a turn of no length.
pub(super) fn best_shift(plan: &Plan, intervals: &[u32; MAX_MARKS]) -> Option<(u8, bool)> {
    let count = plan.count();
    let turn: u64 = intervals.iter().take(usize::from(count)).map(|interval| u64::from(*interval)).sum();
    if turn == 0 {
        return None;
    }
    // Divided once for each interval, not once for each way round.
    let mut scaled = [0u32; MAX_MARKS];
    for (scaled, interval) in scaled.iter_mut().zip(intervals).take(usize::from(count)) {
        *scaled = ((u64::from(*interval) << 16) / turn) as u32;
    }
    let mut best = (u32::MAX, 0u8);
    let mut second = u32::MAX;
    for first in 0..count {
        let misfit: u32 =
            plan.spans_from(first).zip(&scaled).map(|(span, scaled)| scaled.abs_diff(span)).sum();
        if misfit < best.0 {
            second = best.0;
            best = (misfit, first);
        } else if misfit < second {
            second = misfit;
        }
    }
    // A speed that changes by a fifth within the turn moves a fifth of it from one span to another.
    let clear = best.0 < (1 << 16) / 5 && best.0.saturating_mul(2) < second;
    Some((best.1, clear))
}
