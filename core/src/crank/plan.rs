//! A pattern in the form that the decoder follows without a division per edge.
//!
//! *Pitches*: a wheel's spans counted in its even pitch, 1 from tooth to tooth and missing + 1 over the
//! gap. *Ratio*: for marks, the span after a slot over the span before it, in 1/65536.

use super::locate::nodes_wanted;
use super::repeat::FEW_PITCHES;
use super::seek::LONGEST_LAG;
use super::swing::Firing;
use crate::job::{MAX_MARKS, Pattern};
use crate::units::{CrankAngle, TickRate};

/// More turns of the shortest length than this in one, and the starter turns: below 390 rpm.
const CRANKING_TURNS: u32 = 36;
/// No fewer of them than this in one, and the crank turns faster than any idle: above 3500 rpm.
const IDLE_TURNS: u32 = 4;

/// So many times a number of ticks, `u32::MAX` at most. A product that may not fit in 32 bits is a call on the
/// handheld's processor, and nearly all fit by far.
pub(super) fn times(ticks: u32, count: u8) -> u32 {
    match count {
        1 => ticks,
        _ if ticks < 1 << 24 => ticks * u32::from(count),
        _ => ticks.saturating_mul(u32::from(count)),
    }
}

/// The pattern, ready to be followed.
#[derive(Debug, Clone)]
pub struct Plan {
    pattern: Pattern,
    count: u8,
    /// Pitches over the gap; 0 for marks.
    gap: u8,
    /// Pitches of a whole turn; 0 for marks.
    slots: u8,
    ratios: [u32; MAX_MARKS],
    /// The span after each mark, in 1/65536 of a turn; 0 for a wheel.
    spans: [u32; MAX_MARKS],
    /// 65536 over the gap's pitches.
    part_of_gap: u32,
    nodes_wanted: [u8; 2],
    shortest_turn: u32,
    firing: Option<Firing>,
    /// Pitches after which the swing repeats; 0 where that is not known.
    lag: u8,
    /// A turn that takes more ticks than this may be a starter's.
    slow_turn: u32,
    /// Ticks of a turn at one turn a minute.
    ticks_per_minute: f32,
    /// One over a wheel's slots; 1 for marks.
    turns_per_pitch: f32,
}

impl Plan {
    /// The plan of a pattern; no turn takes fewer ticks than `shortest_turn`.
    pub fn new(pattern: &Pattern, shortest_turn: u32) -> Self {
        let count = pattern.count().max(1);
        let (gap, slots) = match pattern {
            Pattern::Wheel { slots, missing, .. } => (missing.saturating_add(1), *slots),
            Pattern::Marks(_) => (0, 0),
        };
        let mut ratios = [1 << 16; MAX_MARKS];
        let mut spans = [0; MAX_MARKS];
        if gap == 0 {
            for (slot, ratio) in (0..count).zip(ratios.iter_mut()) {
                let before = pattern.span_after((slot + count - 1) % count).max(1);
                *ratio = u32::try_from((pattern.span_after(slot) << 16) / before).unwrap_or(u32::MAX);
            }
            for (slot, span) in (0..count).zip(spans.iter_mut()) {
                *span = (pattern.span_after(slot) >> 16) as u32;
            }
        }
        let nodes_wanted = nodes_wanted((gap > 0).then_some(slots));
        let part_of_gap = (1 << 16) / u32::from(gap.max(1));
        Self {
            pattern: pattern.clone(),
            count,
            gap,
            slots,
            ratios,
            spans,
            part_of_gap,
            nodes_wanted,
            shortest_turn,
            firing: None,
            lag: 0,
            slow_turn: shortest_turn.saturating_mul(CRANKING_TURNS),
            ticks_per_minute: 0.0,
            turns_per_pitch: if gap > 0 { 1.0 / f32::from(slots.max(1)) } else { 1.0 },
        }
    }

    /// The pattern that is followed.
    pub fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    /// Marks in a turn.
    pub fn count(&self) -> u8 {
        self.count
    }

    /// Pitches over the gap of a wheel; 0 for marks.
    pub fn gap(&self) -> u8 {
        self.gap
    }

    /// Pitches of a wheel's turn; 0 for marks.
    pub fn slots(&self) -> u8 {
        self.slots
    }

    /// What part of a turn a pitch of a wheel is; 1 for marks.
    pub fn turns_per_pitch(&self) -> f32 {
        self.turns_per_pitch
    }

    /// Whether this is a toothed wheel.
    pub fn is_wheel(&self) -> bool {
        self.gap > 0
    }

    /// Pitches of a wheel after which the swing of a crank that is cranked repeats, at least a gap and less than
    /// from one gap to the next; 0 where there is no such lag.
    pub(super) fn lag(&self) -> u8 {
        self.lag
    }

    /// Whether a tooth that is cranked takes about as long as the one before.
    pub(super) fn swings_slowly(&self) -> bool {
        self.lag >= FEW_PITCHES
    }

    /// Whether a wheel's turn of so many ticks may be a starter's.
    pub(super) fn is_slow(&self, turn: u32) -> bool {
        turn > self.slow_turn
    }

    /// The fewest ticks that a turn can take.
    pub fn shortest_turn(&self) -> u32 {
        self.shortest_turn
    }

    /// The slot after this one.
    pub fn next_slot(&self, slot: u8) -> u8 {
        if slot + 1 >= self.count { 0 } else { slot + 1 }
    }

    /// The slot of a wheel so many pitches before this one, the missing ones counted too.
    pub(super) fn slot_before(&self, slot: u8, pitches: u8) -> u8 {
        let pitches = pitches.checked_rem(self.slots).unwrap_or(0);
        if slot >= pitches { slot - pitches } else { slot + (self.slots - pitches) }
    }

    /// Where the mark of a slot passes.
    pub fn angle(&self, slot: u8) -> CrankAngle {
        self.pattern.angle(slot)
    }

    /// Whether the tooth of this slot stands beside the gap, where a variable-reluctance wheel shifts it.
    /// Wheels with fewer than ten teeth have none to spare, marks have no gap.
    pub fn beside_gap(&self, slot: u8) -> bool {
        self.gap > 0 && self.count >= 10 && (slot == 0 || slot + 1 == self.count)
    }

    /// The slots whose tooth, and the next, and the one after it, stand on this side of the gap, the first not beside it:
    /// the pitch is learned from the first two alone.
    pub fn clear_of_gap(&self) -> core::ops::Range<u8> {
        if self.gap > 0 { 1..self.count.saturating_sub(2) } else { 0..0 }
    }

    /// Pitches from `slot` to the next; 1 for marks.
    pub fn pitches_after(&self, slot: u8) -> u8 {
        if self.gap > 0 && slot + 1 >= self.count { self.gap } else { 1 }
    }

    /// The same plan for an engine that fires so, timed by a counter of this rate: its crank's swing is looked
    /// for.
    pub fn with_firing(self, firing: Firing, rate: TickRate) -> Self {
        let most = self.count.min(LONGEST_LAG + 1);
        let lag = firing.repeats_after(self.slots, self.gap).filter(|lag| *lag < most).unwrap_or(0);
        Self { firing: Some(firing), lag, ticks_per_minute: rate.hertz() as f32 * 60.0, ..self }
    }

    /// Whether a turn of so many ticks is faster than any of an idle.
    pub(super) fn is_fast(&self, turn: u32) -> bool {
        turn < self.shortest_turn.saturating_mul(IDLE_TURNS)
    }

    /// How the engine fires, where that is known.
    pub fn firing(&self) -> Option<Firing> {
        self.firing
    }

    /// Ticks of the counter in a second; zero where its rate is not known.
    pub fn ticks_per_second(&self) -> f32 {
        self.ticks_per_minute / 60.0
    }

    /// Speed of a turn of so many ticks, rpm; zero where the counter's rate is not known.
    pub fn rpm_of_turn(&self, ticks: f32) -> f32 {
        self.ticks_per_minute / ticks.max(1.0)
    }

    /// Teeth that are wanted on either side of a moment to say where the crank was, `evened` by its swing or
    /// not.
    pub fn nodes_wanted(&self, evened: bool) -> u8 {
        self.nodes_wanted[usize::from(evened)]
    }

    /// Ticks of one pitch where the whole gap took so many.
    pub fn pitch_of_gap(&self, ticks: u32) -> u32 {
        ((u64::from(ticks) * u64::from(self.part_of_gap)) >> 16) as u32
    }

    /// The spans after the marks, in 1/65536 of a turn, from `first` on and around.
    pub(super) fn spans_from(&self, first: u8) -> impl Iterator<Item = u32> {
        let (before, from) = self
            .spans
            .get(..usize::from(self.count).min(MAX_MARKS))
            .and_then(|spans| spans.split_at_checked(usize::from(first)))
            .unwrap_or_default();
        from.iter().chain(before).copied()
    }

    /// Ticks expected from `slot` to the next: for a wheel from the ticks of one pitch, for marks from the
    /// ticks of the span before.
    pub fn expected(&self, slot: u8, unit: u32) -> u32 {
        if self.gap > 0 {
            return times(unit, self.pitches_after(slot));
        }
        let ratio = self.ratios.get(usize::from(slot)).copied().unwrap_or(1 << 16);
        if ratio == 1 << 16 {
            return unit;
        }
        u32::try_from((u64::from(unit) * u64::from(ratio)) >> 16).unwrap_or(u32::MAX)
    }
}
