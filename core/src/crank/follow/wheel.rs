//! Following a wheel: its pitch, and what an edge in or beyond the gap may mean.
//!
//! *Filled*: a missing slot of the gap at which an edge came; where all are filled, the count has slipped.
//! *Gap alike*: an interval as long as the gap met where none belongs: from there the count starts again.
//! *Either*: an edge beyond the gap that is the first tooth or the second.

use super::super::plan::Plan;
use super::ticks;
use crate::units::Instant;

/// What was met in the gap and what looked like one.
#[derive(Debug, Clone, Default)]
pub(super) struct Gap {
    /// An edge beyond the gap that is either slot 0 or slot 1, and the edge after it.
    pub(super) either: Option<Instant>,
    pub(super) then: Option<Instant>,
    /// Ticks of a pitch before the last tooth, which a variable-reluctance wheel shifts.
    pub(super) pitch_before: u32,
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
    /// Nothing met yet, at so many ticks a pitch.
    pub(super) fn new(pitch: u32) -> Self {
        Self { pitch_before: pitch, ..Self::default() }
    }

    /// The pattern moved one slot on.
    pub(super) fn step(&mut self) {
        self.filled = 0;
        if let Some(steps) = &mut self.since_alike {
            *steps = steps.saturating_add(1);
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

    /// An edge in the gap, so many ticks after the tooth before it.
    pub(super) fn edge(&mut self, plan: &Plan, unit: u32, since: u32) -> InGap {
        let near = |slot: u8| {
            let due = unit.saturating_mul(u32::from(slot));
            since.abs_diff(due) < unit / 4 + unit / 16
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
pub(super) fn window(plan: &Plan, slot: u8, unit: u32) -> (u32, u32, u32) {
    let expected = plan.expected(slot, unit);
    let late = unit / 2 + unit / 8;
    let early = late - if plan.pitches_after(slot) == 1 { unit / 4 } else { 0 };
    (expected, expected - early.min(expected), expected.saturating_add(late))
}

/// Whether an edge beyond the gap is the second tooth: the three intervals around the gap together know
/// nothing of shifted teeth, and the pitch before them and that after them (`pitches`) say how long they are.
pub(super) fn is_second(plan: &Plan, around: [u32; 3], pitches: [u32; 2]) -> bool {
    let sum = |spans: &[u32]| spans.iter().map(|span| u64::from(*span)).sum::<u64>();
    sum(&around) * 4 > sum(&pitches) * (u64::from(plan.gap()) * 2 + 5)
}

/// The pitch in ticks, learned from the span after `slot`.
pub(super) fn learned_pitch(plan: &Plan, slot: u8, unit: u32, span: u32) -> u32 {
    let pitches = plan.pitches_after(slot);
    let beside_gap = plan.beside_gap(slot) || plan.beside_gap(plan.next_slot(slot));
    let learned = if pitches == 1 && !beside_gap {
        (unit / 2).saturating_add(span / 2)
    } else {
        // The teeth beside the gap of a variable-reluctance wheel stretch it: a quarter of its word.
        let pitch = if pitches == 1 { span } else { plan.pitch_of_gap(span) };
        (unit - unit / 4).saturating_add(pitch / 4)
    };
    learned.max(1)
}

/// Whether `at` lies so far behind the waiting edge that it belongs to the slot after: a crank that speeds
/// up brings the next edge inside the window of the last.
pub(super) fn next_is_due(plan: &Plan, slot: u8, unit: u32, waiting: Instant, at: Instant) -> bool {
    let next = plan.expected(plan.next_slot(slot), unit);
    ticks(at, waiting) >= next - (unit / 2 - unit / 8).min(next)
}
