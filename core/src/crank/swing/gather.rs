//! The mean times of a wheel's teeth within two turns.
//!
//! *Block*: a few neighbouring teeth whose times are taken together, up to 24 blocks a turn; each of the two
//! teeth beside the gap is a block of its own. *Cycle*: two turns from the first tooth after the gap of an
//! even one.
//!
//! Ticks since the cycle's start are summed block by block, and the cycle's own ticks beside them: the
//! ratio of the two sums is each block's mean place in time. A cycle in which a tooth was missing or doubtful,
//! or the speed changed, is left out as a whole. There is no division and no float on the way.

use super::super::plan::Plan;
use super::super::teeth::Tooth;

/// The most blocks of a turn.
pub(super) const BLOCKS: usize = 24;
/// Cycles whose sums are kept before the older ones are given half their weight.
pub(super) const MOST_CYCLES: u8 = 64;
/// With so many cycles in the sums, no more than so many a second are taken in, and the fewer the faster the crank turns,
/// since its swing shrinks: all of an idle, each twentieth at 9000 rpm.
const WELL_KNOWN: u8 = 32;
const CYCLES_A_SECOND: f32 = 8.0;
/// Sums are halved before they outgrow their integers.
const LARGEST_SUM: u32 = 1 << 28;

#[derive(Debug, Clone)]
pub(super) struct Gather {
    /// Teeth of a block but the outer ones.
    step: u8,
    /// Slot of the last tooth before the gap.
    last: u8,
    /// Blocks of a turn.
    count: u8,
    /// The tooth awaited: its block's place in the lists, its slot and its turn's parity; and how many more
    /// the block has after it.
    next: u8,
    next_slot: u8,
    next_odd: bool,
    more: u8,
    open: bool,
    start: u32,
    start_turn: u8,
    before: u32,
    times: [u32; 2 * BLOCKS],
    sums: [u32; 2 * BLOCKS],
    period: u32,
    cycles: u8,
    /// Cycles that are let go by, and the ticks in which one is taken in.
    pause: u8,
    rest: u32,
}

impl Default for Gather {
    fn default() -> Self {
        Self {
            step: 1,
            last: 0,
            count: 0,
            next: 0,
            next_slot: 0,
            next_odd: false,
            more: 0,
            open: false,
            start: 0,
            start_turn: 0,
            before: 0,
            times: [0; 2 * BLOCKS],
            sums: [0; 2 * BLOCKS],
            period: 0,
            cycles: 0,
            pause: 0,
            rest: 0,
        }
    }
}

impl Gather {
    /// Nothing seen yet of a wheel; watches nothing where there are marks.
    pub(super) fn new(plan: &Plan) -> Self {
        if !plan.is_wheel() {
            return Self::default();
        }
        let last = plan.count().saturating_sub(1);
        let inner = last.saturating_sub(1);
        let step = inner.div_ceil(BLOCKS as u8 - 2).max(1);
        let rest = (plan.ticks_per_second() / CYCLES_A_SECOND) as u32;
        Self { step, last, count: inner.div_ceil(step) + 2, rest, ..Self::default() }
    }

    /// Blocks of a turn.
    pub(super) fn count(&self) -> usize {
        usize::from(self.count)
    }

    /// The slots of a block.
    pub(super) fn slots(&self, index: usize) -> core::ops::Range<u8> {
        let end = |index: usize| (index as u8).saturating_mul(self.step).saturating_add(1).min(self.last);
        match index {
            0 => 0..1,
            index if index + 1 >= self.count() => self.last..self.last + 1,
            index => end(index - 1)..end(index),
        }
    }

    /// The slots of the block that a slot is in.
    pub(super) fn slots_around(&self, slot: u8) -> core::ops::Range<u8> {
        let index = if slot == 0 {
            0
        } else if slot >= self.last {
            self.count().saturating_sub(1)
        } else {
            usize::from((slot - 1) / self.step.max(1)) + 1
        };
        self.slots(index)
    }

    /// Cycles in the sums.
    pub(super) fn cycles(&self) -> u8 {
        self.cycles
    }

    /// Mean ticks of a cycle; 0 before there is one.
    pub(super) fn period(&self) -> f32 {
        self.period as f32 / f32::from(self.cycles.max(1))
    }

    /// Parts of a cycle gone by, in the mean, when the teeth of block `index` of the even (or odd) turn pass.
    pub(super) fn part(&self, index: usize, odd: bool) -> f32 {
        let at = if odd { self.count() + index } else { index };
        let teeth = self.slots(index).len().max(1) as f32;
        self.sums.get(at).map_or(0.0, |sum| *sum as f32 / (self.period.max(1) as f32 * teeth))
    }

    /// Forgets the sums, and which turn is even.
    pub(super) fn clear(&mut self) {
        self.open = false;
        self.before = 0;
        self.restart();
    }

    fn restart(&mut self) {
        self.cycles = 0;
        self.period = 0;
        self.sums = [0; 2 * BLOCKS];
    }

    /// Gives the sums half their weight.
    pub(super) fn halve(&mut self) {
        self.cycles /= 2;
        self.period /= 2;
        self.sums.iter_mut().for_each(|sum| *sum /= 2);
    }

    /// The next tooth placed. Whether a cycle was taken in by it.
    pub(super) fn place(&mut self, tooth: &Tooth) -> bool {
        if tooth.slot == 0 {
            return self.begin_turn(tooth);
        }
        self.add(tooth);
        false
    }

    /// The first tooth after the gap.
    fn begin_turn(&mut self, tooth: &Tooth) -> bool {
        let mut added = false;
        if tooth.turn & 1 == 0 && self.count > 0 {
            let time = tooth.at.ticks() as u32;
            added = self.close(time, tooth.turn as u8) && tooth.trusted;
            self.open = tooth.trusted && self.pause == 0;
            self.pause = self.pause.saturating_sub(1);
            self.start = time;
            self.start_turn = tooth.turn as u8;
            (self.next, self.next_slot, self.next_odd, self.more) = (0, 0, false, 0);
            if self.open {
                self.times = [0; 2 * BLOCKS];
            }
        }
        self.add(tooth);
        added
    }

    /// Whether a cycle is being taken in.
    #[inline]
    pub(super) fn is_open(&self) -> bool {
        self.open
    }

    /// A tooth that is not the first of a turn, or is that of one already begun.
    #[inline]
    pub(super) fn add(&mut self, tooth: &Tooth) {
        if !self.open || self.next >= 2 * self.count {
            return;
        }
        // Another than the one awaited: that one did not come.
        if (tooth.turn & 1 == 1) != self.next_odd || tooth.slot != self.next_slot || !tooth.trusted {
            self.open = false;
            return;
        }
        if let Some(kept) = self.times.get_mut(usize::from(self.next)) {
            *kept = kept.wrapping_add((tooth.at.ticks() as u32).wrapping_sub(self.start));
        }
        self.next_slot += 1;
        if self.more > 0 && self.next_slot < self.last {
            self.more -= 1;
        } else {
            self.open_block();
        }
    }

    /// The tooth awaited is the first of a block.
    #[inline(never)]
    fn open_block(&mut self) {
        self.next += 1;
        self.more = 0;
        if self.next_slot > self.last {
            (self.next_slot, self.next_odd) = (0, true);
        } else if self.next_slot < self.last {
            self.more = self.step - 1;
        }
    }

    /// The cycle ends at `time`. Whether it was taken in.
    #[inline(never)]
    fn close(&mut self, time: u32, turn: u8) -> bool {
        let whole = self.open && self.next == 2 * self.count && turn.wrapping_sub(self.start_turn) == 2;
        let period = time.wrapping_sub(self.start);
        if !whole || period >= LARGEST_SUM {
            return false;
        }
        let steady = period.abs_diff(self.before) < period / 16;
        self.before = period;
        if !steady {
            return false;
        }
        let mean_times = u64::from(period) * u64::from(self.cycles);
        if mean_times.abs_diff(u64::from(self.period)) > u64::from(self.period / 8) {
            self.restart();
        }
        if self.cycles >= MOST_CYCLES || self.period >= LARGEST_SUM {
            self.halve();
        }
        for (sum, time) in self.sums.iter_mut().zip(&self.times) {
            *sum = sum.wrapping_add(*time);
        }
        self.period = self.period.wrapping_add(period);
        self.cycles += 1;
        self.pause = match self.rest.checked_div(period) {
            Some(cycles) if self.cycles >= WELL_KNOWN => (cycles + cycles * cycles / 8).min(255) as u8,
            _ => 0,
        };
        true
    }
}
