//! The pulse filter while levels alternate and nothing is taken out, in as few steps as it takes.
//!
//! *Low half*: of a moment, its lower 32 bits: enough between neighbours, and a third of the work. The filter lends
//! itself in this form and takes it back (`PulseFilter::lend`); in between it is the same filter.

use super::Level;
use super::filter::UsualRun;

/// The filter between two changes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Alternating {
    /// Low half of the newest change, whose run has not ended.
    pub(super) held: u32,
    /// Low half of the last change let out.
    pub(super) passed: u32,
    /// What runs usually last of the level held, and of the other.
    pub(super) of_held: UsualRun,
    pub(super) of_passed: UsualRun,
    pub(super) shortest: u32,
    /// The level held.
    pub(super) level: Level,
}

impl Alternating {
    /// The change that would be let out by a change to `level` at `at`, a low half: its low half and level. `None` where
    /// the levels do not alternate, the run that ends is too short, or time goes back.
    #[inline]
    pub(crate) fn next(&self, at: u32, level: Level) -> Option<(u32, Level)> {
        // A run that ends before it began counts as too short: as a signed number it is below zero.
        let long_enough = at.wrapping_sub(self.held) as i32 >= self.of_held.least(self.shortest) as i32;
        (level != self.level && long_enough).then_some((self.held, self.level))
    }

    /// Takes in that change.
    #[inline]
    pub(crate) fn pass(&mut self, at: u32, level: Level) {
        self.of_passed.learn(self.held.wrapping_sub(self.passed));
        (self.of_held, self.of_passed) = (self.of_passed, self.of_held);
        (self.passed, self.held, self.level) = (self.held, at, level);
    }

    /// Low half of the newest change.
    pub(crate) fn newest(&self) -> u32 {
        self.held
    }
}
