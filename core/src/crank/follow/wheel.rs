//! Following a wheel: its pitch, and what an edge in or beyond the gap may mean.
//!
//! *Filled*: a missing slot of the gap at which an edge came; where all are filled, the count has slipped.
//! *Gap alike*: an interval as long as the gap met where none belongs: from there the count starts again.
//! *Either*: an edge beyond the gap that is the first tooth or the second.

use super::super::places::Places;
use super::super::plan::Plan;
use super::ticks;
use crate::units::Instant;

/// What was met in the gap and what looked like one.
#[derive(Debug, Clone, Default)]
pub(super) struct Gap {
    /// The first tooth did not come when this was last in question.
    pub(super) lacked_first: bool,
    /// An edge beyond the gap that is either slot 0 or slot 1.
    pub(super) either: Option<Instant>,
    /// The edge after it.
    pub(super) beyond: Option<Instant>,
    filled: u8,
    /// Steps since an interval as long as the gap, met where none belongs.
    since_alike: Option<u8>,
    /// An edge stood in the gap that this turn began with.
    pub(super) was_hit: bool,
}

/// What an edge in the gap says of the count.
pub(super) enum InGap {
    /// Nothing: it is false.
    False,
    /// It stands where a missing tooth would.
    Hit,
    /// So do as many as are missing: the count has slipped, and this is the edge's slot, where that is known.
    Full(Option<u8>),
}

impl Gap {
    /// The pattern moved one slot on.
    pub(super) fn step(&mut self) {
        self.steps(1);
    }

    /// It moved so many slots on.
    pub(super) fn steps(&mut self, count: u8) {
        self.filled = 0;
        if let Some(steps) = &mut self.since_alike {
            *steps = steps.saturating_add(count);
        }
    }

    /// A new turn begins; an edge stood in its gap or not.
    pub(super) fn turn(&mut self, hit: bool) {
        self.since_alike = None;
        self.was_hit = hit;
    }

    /// An interval as long as the gap ended here.
    pub(super) fn met_alike(&mut self) {
        self.since_alike = Some(0);
    }

    /// An edge in the gap, so many ticks after the tooth before it; `reach`: how far from its due place a missing
    /// tooth may be.
    pub(super) fn edge(&mut self, plan: &Plan, unit: u32, reach: u32, since: u32) -> InGap {
        let near = |slot: u8| {
            let due = unit.saturating_mul(u32::from(slot));
            since.abs_diff(due) < reach
        };
        let hit = (1..plan.gap()).any(near);
        self.filled += u8::from(hit);
        if self.filled + 1 < plan.gap() {
            return if hit { InGap::Hit } else { InGap::False };
        }
        InGap::Full(self.since_alike.map(|steps| steps + self.filled).filter(|slot| *slot < plan.count()))
    }
}

/// Ticks from the last tooth to the prediction, and to the window's start and end.
pub(super) fn window(plan: &Plan, slot: u8, unit: u32, foreseen: Option<[u32; 2]>) -> (u32, u32, u32) {
    if let Some([next, _]) = foreseen {
        let (sooner, later) =
            if plan.swings_slowly() { (unit.min(next), unit.max(next)) } else { (next, next) };
        let soon = plan.expected(slot, sooner);
        // Compressions differ, which a gap adds up; that its first tooth is lacking is the rarer thing.
        let (early, late) = if soon > sooner {
            (soon - soon / 4, later - later / 8)
        } else {
            (soon - (soon / 4 + soon / 8), later / 2 + later / 8)
        };
        return (plan.expected(slot, next), early, plan.expected(slot, later).saturating_add(late));
    }
    if plan.pitches_after(slot) == 1 {
        return window_after_tooth(unit);
    }
    let expected = plan.expected(slot, unit);
    let late = unit / 2 + unit / 8;
    // In the gap up to where a missing tooth would be taken for seen: a starter speeds the crank up across it.
    let early = late + unit / 16;
    (expected, expected - early.min(expected), expected.saturating_add(late))
}

/// The same from a tooth to the next, one pitch on.
#[inline]
pub(super) fn window_after_tooth(unit: u32) -> (u32, u32, u32) {
    let late = unit / 2 + unit / 8;
    (unit, unit - (late - unit / 4), unit.saturating_add(late))
}

/// Whether an edge beyond the gap is the second tooth. The three intervals `around` the gap together know
/// nothing of shifted teeth, and the ordinary ones on either side of them, `two_pitches` together, say how
/// long they are due to be while the speed changes.
///
/// A starter turns the crank so unevenly that these are off by an eighth: what was so a turn ago is taken to be
/// so again in a case of doubt.
pub(super) fn is_second(plan: &Plan, around: u64, two_pitches: u64, was_second: bool) -> bool {
    let halfway = u64::from(plan.gap()) * 4 + 10;
    around * 8 > two_pitches * if was_second { halfway - 1 } else { halfway + 1 }
}

/// The pitch in ticks, learned from the span after `slot`.
pub(super) fn learned_pitch(plan: &Plan, slot: u8, unit: u32, span: u32) -> u32 {
    let beside_gap = plan.beside_gap(slot) || plan.beside_gap(plan.next_slot(slot));
    // The teeth beside the gap of a variable-reluctance wheel stand off by up to a quarter of a pitch: they
    // shorten the spans beside it and stretch the gap, so that these only bound the pitch.
    let (least, most) = match plan.pitches_after(slot) {
        1 if !beside_gap => (span, span),
        1 => (span, span.saturating_add(span / 4 + span / 32)),
        _ => {
            let pitch = plan.pitch_of_gap(span);
            (pitch - plan.pitch_of_gap(pitch / 4 + pitch / 8).min(pitch), pitch)
        }
    };
    let bound = unit.max(least).min(most);
    (unit / 2).saturating_add(bound / 2).max(1)
}

/// More turns of the shortest length than this in one, and the speed may halve over a gap.
const STARTER_TURNS: u32 = 30;

/// Whether an interval beside the gap is nearly as long as the gap: the other edge of a variable-reluctance
/// signal lies halfway between two teeth, and shows two long intervals where this one shows one.
pub(super) fn is_halved_gap(plan: &Plan, gap: u32, beside: u32, teeth: &dyn Places) -> bool {
    let running = |turn: u32| u64::from(turn) < u64::from(plan.shortest_turn()) * u64::from(STARTER_TURNS);
    teeth.newest_turn().is_some_and(running) && u64::from(gap) * 2 < u64::from(beside) * 3
}

/// Whether `at` lies so far behind the waiting edge that it belongs to the slot after: a crank that speeds
/// up brings the next edge inside the window of the last.
pub(super) fn next_is_due(plan: &Plan, slot: u8, unit: u32, waiting: Instant, at: Instant) -> bool {
    let next = plan.expected(plan.next_slot(slot), unit);
    ticks(at, waiting) >= next - (unit / 2 - unit / 8).min(next)
}
