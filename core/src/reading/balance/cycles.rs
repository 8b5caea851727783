//! The energy of the crank within the cycle, as a mean over many cycles.
//!
//! *Window*: the stretch from one milestone to the next. *Energy*: of the turning crank, relative to its
//! mean over the cycle, less one: (speed over mean speed)² − 1. A steady fall or rise over the cycle is
//! taken off, so that what is left repeats.

use crate::crank::{MILESTONES, Milestones};
use crate::statistics::functions::square_root;

/// Windows of a cycle of two turns.
pub(super) const WINDOWS: usize = 2 * MILESTONES;
/// A cycle over which the energy drifts by more than this is not looked at.
const MOST_DRIFT: f32 = 0.3;
/// Energies farther than this from the mean of the cycle are no engine's.
const MOST_ENERGY: f32 = 1.5;
/// Cycles before far ones are pulled in.
const BEFORE_CLIPPING: u32 = 6;
/// Deviations are pulled in to so many standard deviations.
const CLIP: f32 = 4.0;

/// The energies of one cycle, window by window.
pub(super) type Energies = [f32; WINDOWS];

/// The energies of the cycle of `turns` turns that starts with `first`; `None` where a milestone is missing.
pub(super) fn energies(milestones: &Milestones, first: u32, turns: usize) -> Option<Energies> {
    let count = milestones.count();
    let windows = count * turns;
    if count == 0 || windows > WINDOWS {
        return None;
    }
    let start = milestones.time(first, 0)?;
    let lasts = milestones.time(first, windows)?.wrapping_sub(start) as f32;
    let pitches = (milestones.pitches(windows) - milestones.pitches(0)) as f32;
    let energy = |index: usize| -> Option<f32> {
        let ticks = milestones.time(first, index + 1)?.wrapping_sub(milestones.time(first, index)?) as f32;
        let span = (milestones.pitches(index + 1) - milestones.pitches(index)) as f32;
        let speed = span * lasts / (ticks.max(1.0) * pitches);
        Some(speed * speed - 1.0).filter(|energy| *energy < MOST_ENERGY)
    };
    let mut found = [0.0; WINDOWS];
    for (index, value) in found.iter_mut().take(windows).enumerate() {
        *value = energy(index)?;
    }
    // The same window a cycle later tells the drift.
    let drift = energy(windows)? - found.first()?;
    if !(-MOST_DRIFT..=MOST_DRIFT).contains(&drift) {
        return None;
    }
    let middle = |index: usize| (milestones.pitches(index) + milestones.pitches(index + 1)) as f32 / 2.0;
    let zero = middle(0);
    for (index, value) in found.iter_mut().take(windows).enumerate() {
        *value -= drift * ((middle(index) - zero) / pitches - 0.5);
    }
    Some(found)
}

/// Mean and scatter of the energies over cycles.
#[derive(Debug, Clone, Default)]
pub(super) struct Cycles {
    pub(super) count: u32,
    pub(super) mean: Energies,
    /// Mean square deviation of a window from its mean, summed over the cycles.
    squares: f32,
}

impl Cycles {
    /// Takes in one cycle of so many windows.
    pub(super) fn add(&mut self, energies: &Energies, windows: usize) {
        let reach =
            if self.count >= BEFORE_CLIPPING { CLIP * square_root(self.variance()) } else { MOST_ENERGY };
        self.count = self.count.saturating_add(1);
        let part = 1.0 / self.count as f32;
        let mut squares = 0.0;
        for (mean, energy) in self.mean.iter_mut().zip(energies).take(windows) {
            let away = (energy - *mean).max(-reach).min(reach);
            *mean += away * part;
            squares += away * away * (1.0 - part);
        }
        self.squares += squares / windows.max(1) as f32;
    }

    /// Variance of one window from cycle to cycle.
    pub(super) fn variance(&self) -> f32 {
        self.squares / (self.count.max(2) - 1) as f32
    }

    /// Takes in the cycles of another stretch of sync. With `either_way`, which turn comes first is not
    /// known in either, and they are put together the way they fit.
    pub(super) fn join(&mut self, other: &Self, windows: usize, either_way: bool) {
        let count = self.count.saturating_add(other.count);
        if count == 0 {
            return;
        }
        let half = windows / 2;
        let swapped = |index: usize| if index < half { index + half } else { index - half };
        let at = |from: &Self, index: usize| from.mean.get(index).copied().unwrap_or(0.0);
        let product: f32 = (0..half)
            .map(|index| {
                let difference = |of: &Self| at(of, index) - at(of, index + half);
                difference(self) * difference(other)
            })
            .sum();
        let swap = either_way && product < 0.0;
        let part = other.count as f32 / count as f32;
        for (index, mean) in self.mean.iter_mut().enumerate().take(windows) {
            let theirs = at(other, if swap { swapped(index) } else { index });
            *mean += (theirs - *mean) * part;
        }
        self.squares += other.squares;
        self.count = count;
    }
}
