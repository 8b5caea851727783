//! The pulse filter while levels alternate and nothing is taken out, in as few steps as it takes.
//!
//! *Low half*: of a moment, its lower 32 bits: enough between neighbours, and a third of the work. *On*, *off*: the level
//! after a tooth's edge, and the other. The filter lends itself in this form and takes it back (`PulseFilter::lend`); in
//! between it is the same filter, as long as every run is about as long as those of its level usually are.

use super::filter::UsualRun;

/// The runs of one level.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Runs {
    pub(super) usual: UsualRun,
    /// A run that is like most is no shorter than this.
    least: u32,
}

impl Runs {
    /// A run within a third of what is usual is long enough for the filter, whatever it learns from the like of it.
    /// Whether enough is known of that.
    fn lend(&mut self, usual: UsualRun) -> bool {
        let Some(least) = usual.least_like() else { return false };
        *self = Self { usual, least };
        true
    }

    #[inline]
    fn are_like(&self, run: u32) -> bool {
        // One that ends before it began is the longest of all.
        run.wrapping_sub(self.least) <= self.least - self.least / 8
    }

    /// Whether a run is no shorter than those like most, and ends after it began.
    fn are_no_longer(&self, run: u32) -> bool {
        run.wrapping_sub(self.least) <= i32::MAX as u32
    }
}

/// The filter between two changes.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Alternating {
    /// Low halves of the newest changes, of which the newer is held.
    on: u32,
    off: u32,
    while_on: Runs,
    while_off: Runs,
}

impl Alternating {
    /// Lends the filter: the change held, that let out before it, and what runs usually last, on and off. Whether it did:
    /// not where too little is known.
    pub(super) fn lend(
        &mut self,
        held: u32,
        passed: u32,
        held_is_on: bool,
        [on, off]: [UsualRun; 2],
    ) -> bool {
        (self.on, self.off) = if held_is_on { (held, passed) } else { (passed, held) };
        let known = self.while_on.lend(on) && self.while_off.lend(off);
        // Not learned from yet.
        let newest = if held_is_on { &self.while_off } else { &self.while_on };
        known && newest.are_like(held.wrapping_sub(passed))
    }

    /// A tooth's edge after its end, which lets that out. Whether it is like most: nothing was done if not.
    #[inline]
    pub(crate) fn turn_on(&mut self, at: u32) -> bool {
        let is_like = self.while_off.are_like(at.wrapping_sub(self.off));
        if is_like {
            self.let_out_end(at);
        }
        is_like
    }

    /// The same beyond a gap: the edge is not like most, but the end of the tooth before it can be let out.
    #[inline(never)]
    pub(crate) fn turn_on_late(&mut self, at: u32) -> bool {
        let is_late = self.while_off.are_no_longer(at.wrapping_sub(self.off));
        if is_late {
            self.let_out_end(at);
        }
        is_late
    }

    #[inline]
    fn let_out_end(&mut self, at: u32) {
        self.while_on.usual.learn_like(self.off.wrapping_sub(self.on));
        self.on = at;
    }

    /// The tooth's edge that its end at `at` would let out; `None` where that is not like most.
    #[inline]
    pub(crate) fn let_out_by(&self, at: u32) -> Option<u32> {
        self.while_on.are_like(at.wrapping_sub(self.on)).then_some(self.on)
    }

    /// The end of a tooth, which lets out its edge.
    #[inline]
    pub(crate) fn turn_off(&mut self, at: u32) {
        self.while_off.usual.learn_like(self.on.wrapping_sub(self.off));
        self.off = at;
    }

    /// Whether a tooth's edge and its end, after the end of the tooth before, are like most.
    #[inline]
    pub(crate) fn is_tooth(&self, edge: u32, end: u32) -> bool {
        self.while_off.are_like(edge.wrapping_sub(self.off)) && self.while_on.are_like(end.wrapping_sub(edge))
    }

    /// They were: the end of the tooth before was let out, and the edge.
    #[inline]
    pub(crate) fn pass_tooth(&mut self, edge: u32, end: u32) {
        self.while_on.usual.learn_like(self.off.wrapping_sub(self.on));
        self.while_off.usual.learn_like(edge.wrapping_sub(self.off));
        (self.on, self.off) = (edge, end);
    }

    /// Low halves of the newest changes, on and off.
    pub(crate) fn newest(&self) -> [u32; 2] {
        [self.on, self.off]
    }

    /// What runs usually last, on and off.
    pub(super) fn usual(&self) -> [UsualRun; 2] {
        [self.while_on.usual, self.while_off.usual]
    }
}
