//! The pulse filter while levels alternate and nothing is taken out, in as few steps as it takes.
//!
//! *Low half*: of a moment, its lower 32 bits: enough between neighbours, and a third of the work. *On*, *off*: the level
//! after a tooth's edge, and the other. *Window*: how long a run is that is like most: about as long as the newest of its
//! level, and so that one on and one off together last about a pitch. The filter lends itself in this form and takes it
//! back (`PulseFilter::lend`); in between it is the same filter, which lets out whatever is like most, and what runs
//! usually last is learned from the newest of them as it is taken back.

use super::filter::UsualRun;
use crate::units::Stamp;

/// Teeth in a row that are looked at: where the wheel stands, and what a pitch is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pace {
    /// Low half of the newest tooth's edge that following knows of.
    pub(crate) newest: u32,
    /// Ticks of a pitch; 0 where no tooth is like most.
    pub(crate) pitch: u32,
}

/// The filter between two changes.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Alternating {
    /// Low halves of the newest changes, of which the newer is held.
    on: u32,
    off: u32,
    /// The windows: a run of either level that is like most is no shorter than this, and longer by no more than that.
    least_on: u32,
    least_off: u32,
    range: u32,
}

/// No run lasts so long.
const NEVER: u32 = 1 << 31;

impl Alternating {
    /// Lends the filter: the change held, that let out before it, and what runs usually last, on and off. Whether it did:
    /// not where too little is known.
    pub(super) fn lend(
        &mut self,
        (held, passed): (u32, u32),
        held_is_on: bool,
        [usual_on, usual_off]: [UsualRun; 2],
        pace: Pace,
    ) -> bool {
        (self.on, self.off) = if held_is_on { (held, passed) } else { (passed, held) };
        let Some(long_enough) = usual_off.long_enough() else { return false };
        (self.least_on, self.least_off, self.range) = (NEVER, long_enough, 0);
        if pace.pitch == 0 {
            return true;
        }
        let on = self.off.wrapping_sub(pace.newest);
        let off = pace.pitch.wrapping_sub(on);
        if on >= pace.pitch
            || usual_on.long_enough().is_none_or(|enough| on < 2 * enough)
            || off < 2 * long_enough
        {
            return true;
        }
        // A pitch is as it was while it differs by three sixteenths.
        let shorter = on.min(off);
        let apart = (pace.pitch / 16 + pace.pitch / 32).min(shorter / 4 + shorter / 16);
        let newest = self.on.wrapping_sub(self.off).wrapping_add(apart).wrapping_sub(off);
        if !held_is_on || newest <= 2 * apart {
            (self.least_on, self.least_off, self.range) = (on - apart, off - apart, 2 * apart);
        }
        true
    }

    /// No tooth is like most from here on.
    pub(crate) fn stop(&mut self) {
        (self.least_on, self.range) = (NEVER, 0);
    }

    /// A tooth's edge after its end, which lets that out; where it is later than most, as beyond a gap, no tooth is like
    /// most from here on. Whether that end can be let out: nothing was done if not.
    pub(crate) fn turn_on(&mut self, at: u32) -> bool {
        // One that ends before it began is the longest of all.
        let later = at.wrapping_sub(self.off).wrapping_sub(self.least_off);
        if later > self.range {
            self.stop();
        }
        if later < NEVER {
            self.on = at;
        }
        later < NEVER
    }

    /// The end of a tooth, which lets out its edge. Whether it is like most: nothing was done if not.
    pub(crate) fn turn_off(&mut self, at: u32) -> bool {
        let is_like = at.wrapping_sub(self.on).wrapping_sub(self.least_on) <= self.range;
        if is_like {
            self.off = at;
        }
        is_like
    }

    /// How many of these teeth, each an edge and its end, are like most: they were passed. Their stamps are later by
    /// `delay` than the moments here.
    #[inline]
    pub(crate) fn pass_teeth(&mut self, teeth: &[[Stamp; 2]], delay: u32) -> usize {
        let Self { least_on, least_off, range, .. } = *self;
        let mut off = self.off.wrapping_add(delay);
        let mut count = 0;
        for [edge, end] in teeth {
            let (while_off, while_on) = (edge.0.wrapping_sub(off), end.0.wrapping_sub(edge.0));
            if while_off.wrapping_sub(least_off) > range || while_on.wrapping_sub(least_on) > range {
                break;
            }
            off = end.0;
            count += 1;
        }
        if let Some([edge, end]) = teeth.get(..count).and_then(<[_]>::last) {
            (self.on, self.off) = (edge.0.wrapping_sub(delay), end.0.wrapping_sub(delay));
        }
        count
    }

    /// Low halves of the newest changes, on and off.
    pub(crate) fn newest(&self) -> [u32; 2] {
        [self.on, self.off]
    }
}
