//! Following marks: the spans of the newest turn, and whether it closes as it must.
//!
//! *Halved*: a single mark's turn is taken for two, with every second mark false halfway. *Doubled*: it is
//! taken for half of what it is, with every second mark missing.

use super::super::plan::Plan;
use super::super::seek::{Found, best_shift};
use super::ticks;
use crate::job::MAX_MARKS;
use crate::units::Instant;

/// The newest turn of marks, and what speaks against the count.
#[derive(Debug, Clone)]
pub(super) struct Marks {
    /// `spans[s]` is the newest span that ended at slot s; zero where an end of it was not seen.
    spans: [u32; MAX_MARKS],
    /// Turns in a row that fitted otherwise better.
    misfits: u8,
    /// Turns in a row with a false edge halfway.
    halved: u8,
    /// Missing marks with one seen between them, in a row, and turns since the last.
    doubled: u8,
    since_missing: u8,
    /// For several marks, ticks that the next span is due to take; zero while no turn was seen whole.
    forecast: u32,
}

impl Marks {
    /// The turn that was recognised.
    pub(super) fn new(plan: &Plan, found: &Found) -> Self {
        let forecast = found.spans.get(usize::from(plan.next_slot(found.slot))).copied().unwrap_or(0);
        Self { spans: found.spans, misfits: 0, halved: 0, doubled: 0, since_missing: u8::MAX, forecast }
    }

    /// Ticks from the mark of `slot` to the prediction, and to the window's start and end; `unit`: ticks of the
    /// span before.
    pub(super) fn window(&self, plan: &Plan, slot: u8, unit: u32) -> (u32, u32, u32) {
        // From the span before, and from the turn before: the swing of the speed disturbs the one where the
        // spans are unequal, the other where the turns are.
        let expected = plan.expected(slot, unit);
        let forecast = if self.forecast > 0 { self.forecast } else { expected };
        let (sooner, later) = (expected.min(forecast), expected.max(forecast));
        let next = plan.expected(plan.next_slot(slot), later);
        // A mark is seldom lost and the speed changes often: where the turn before bears it out, doubt goes to
        // the mark that is due.
        let late = (later / 2).min(next / 2 + if self.forecast > 0 { next / 4 } else { 0 });
        (sooner.midpoint(later), sooner / 2 + sooner / 16, later.saturating_add(late))
    }

    /// The mark after `slot` passed, so many ticks after it, which was seen or not.
    pub(super) fn pass(&mut self, plan: &Plan, slot: u8, span: u32, seen: bool) {
        let before = self.remember(plan.next_slot(slot), if seen { span } else { 0 });
        let after = plan.next_slot(plan.next_slot(slot));
        // What the next span took a turn ago, by as much longer as this one was: the swing of the speed within
        // the turn repeats, so it does not disturb. A false edge makes a span that was not there a turn ago. Marks are few, so that this division costs little.
        self.forecast = match self.spans.get(usize::from(after)) {
            Some(then) if plan.count() > 1 && alike(span, before) => {
                u32::try_from(u64::from(*then) * u64::from(span) / u64::from(before)).unwrap_or(u32::MAX)
            }
            _ => 0,
        };
    }

    /// The mark after `slot` did not come.
    pub(super) fn skip(&mut self, plan: &Plan, slot: u8) {
        self.remember(plan.next_slot(slot), 0);
        self.forecast = 0;
    }

    /// Keeps the span that ends at `slot`, and gives back that of a turn ago.
    fn remember(&mut self, slot: u8, span: u32) -> u32 {
        self.spans.get_mut(usize::from(slot)).map_or(0, |kept| core::mem::replace(kept, span))
    }

    /// A single mark is missing. False where every second one is.
    pub(super) fn missing(&mut self) -> bool {
        self.doubled = if self.since_missing <= 2 { self.doubled + 1 } else { 0 };
        self.since_missing = 0;
        self.doubled < 3
    }

    /// A new turn begins, with a false edge halfway through the last or not.
    pub(super) fn turn(&mut self, halfway: bool) {
        self.since_missing = self.since_missing.saturating_add(1);
        self.halved = if halfway { self.halved + 1 } else { 0 };
    }

    /// Nothing speaks against the count.
    pub(super) fn holds(&self) -> bool {
        self.misfits < 2 && self.halved < 3
    }

    /// Whether the intervals of the turn that ends here fit the pattern as it is followed better than any
    /// other way round.
    pub(super) fn fit(&mut self, plan: &Plan) -> bool {
        let count = usize::from(plan.count());
        // The turn from slot 0 on runs 1, 2, … n-1, 0.
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
}

/// Whether `at` lies so far behind the waiting edge, itself behind the mark at `from`, that it belongs to the
/// mark after.
pub(super) fn next_is_due(plan: &Plan, slot: u8, from: Instant, waiting: Instant, at: Instant) -> bool {
    let next = plan.expected(plan.next_slot(slot), ticks(waiting, from));
    ticks(at, waiting) >= next / 2 + next / 16
}

/// Within a quarter of each other.
fn alike(a: u32, b: u32) -> bool {
    let (a, b) = (u64::from(a), u64::from(b));
    a > 0 && b > 0 && a * 4 <= b * 5 && b * 4 <= a * 5
}
