//! Whether the teeth beside a wheel's gap stand where they should.
//!
//! A variable-reluctance sensor shifts the first tooth after the gap and the last before it by up to 0.36 of
//! a pitch together, more as the speed grows; Hall and optical sensors don't. The job does not say which it
//! is, so it is measured: a cubic through the two teeth on either side of them tells where both should be.
//! On a rough engine the cubic is itself off by a few hundredths of a pitch, which is too much to correct a
//! tooth by, but enough to tell a shifted tooth from one in its place. Until it is known they are not used.

use super::plan::Plan;
use super::teeth::{Teeth, Tooth};

/// A tooth off by less than this many 1/1024 pitch on average is in its place: 0.02 of a pitch.
const IN_PLACE: i32 = 20;
/// Turns before anything is claimed.
const TURNS: u16 = 6;
/// One turn's word on a shift, at most, 1/1024 pitch.
const MOST: i32 = 512;

/// Mean shifts of the first tooth after the gap and of the last before it, 1/1024 pitch.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct EndTeeth {
    first: i32,
    last: i32,
    turns: u16,
}

impl EndTeeth {
    /// As if it had been found out.
    pub(super) fn assuming(in_place: bool) -> Self {
        Self { first: 0, last: 0, turns: if in_place { TURNS } else { 0 } }
    }

    /// Both teeth are known to stand in their place.
    pub(super) fn in_place(&self) -> bool {
        self.turns >= TURNS && self.first.abs() < IN_PLACE << 8 && self.last.abs() < IN_PLACE << 8
    }

    /// A turn's shifts, 1/1024 pitch: running means over up to 64 turns.
    pub(super) fn learn(&mut self, (first, last): (i32, i32)) {
        self.turns = (self.turns + 1).min(64);
        let share = i32::from(self.turns).max(1);
        self.first += ((first.clamp(-MOST, MOST) << 8) - self.first) / share;
        self.last += ((last.clamp(-MOST, MOST) << 8) - self.last) / share;
    }

    /// The shifts at the newest gap: the newest tooth must be the third after it. `None` where one of the
    /// six teeth is missing or doubtful.
    pub(super) fn measure(plan: &Plan, teeth: &Teeth, unit: u32) -> Option<(i32, i32)> {
        let mut newest_first = teeth.iter().rev();
        let mut next = |slot: u8| -> Option<Tooth> {
            let tooth = newest_first.next()?;
            (tooth.slot == slot && tooth.trusted).then_some(tooth)
        };
        let count = plan.count();
        let (second, first, zero) = (next(2)?, next(1)?, next(0)?);
        let (last, before, third) = (next(count - 1)?, next(count - 2)?, next(count - 3)?);
        let origin = zero.at;
        let at = |tooth: Tooth| tooth.at.minus(origin) as f32;
        // Positions in pitches from slot 0.
        let gap = f32::from(plan.gap());
        let nodes = [(-gap - 2.0, at(third)), (-gap - 1.0, at(before)), (1.0, at(first)), (2.0, at(second))];
        let shift = |position: f32, seen: f32| {
            let off = (seen - cubic(&nodes, position)) / unit.max(1) as f32 * 1024.0;
            off as i32
        };
        Some((shift(0.0, 0.0), shift(-gap, at(last))))
    }
}

/// The cubic through four nodes, at `x` (Lagrange).
fn cubic(nodes: &[(f32, f32); 4], x: f32) -> f32 {
    let mut sum = 0.0;
    for (index, (position, value)) in nodes.iter().enumerate() {
        let mut weight = 1.0;
        for (other, (place, _)) in nodes.iter().enumerate() {
            if other != index {
                weight *= (x - place) / (position - place);
            }
        }
        sum += weight * value;
    }
    sum
}
