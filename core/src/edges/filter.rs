//! Takes out of a signal the pulses that are much shorter than its own.
//!
//! *Run*: the time a level stays. Sparks couple pulses of a few microseconds into the crank's wire,
//! while the signal's own runs last hundreds. A run is no part of the signal, and both its edges go,
//! when it is shorter than a sixteenth of what runs of that level last, or shorter than 20 µs where that
//! is less than a quarter of it. The marks of one wheel may be of unequal width, so what a run lasts is
//! followed quickly downwards and slowly upwards. A change is let out only once the run that it opens
//! has proved long enough, so the filter is one change behind. Where a run taken out is followed by a
//! still shorter one, that one was the pulse, coupled in soon after a real edge: both runs and it are one.
//! So a pulse moves a real edge by no more than the pulse's own length, and only if it touches it. After a standstill every run is short against what was usual: several
//! taken out in a row are the signal, and what was usual is forgotten.

use super::Level;
use super::alternating::{Alternating, Pace};
use crate::units::{Instant, TickRate};

/// A change of level at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Change {
    /// When.
    pub at: Instant,
    /// The level from then on.
    pub level: Level,
}

/// What runs of one level usually last, in ticks; zero while none was seen.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct UsualRun(u32);

impl UsualRun {
    /// Below how many ticks a run is taken out; `shortest`: no run of the signal is shorter.
    #[inline]
    pub(super) fn least(self, shortest: u32) -> u32 {
        (self.0 / 16).max(shortest.min(self.0 / 4))
    }

    #[inline]
    pub(super) fn learn(&mut self, run: u32) {
        let usual = self.0;
        self.0 = if usual == 0 {
            run
        } else if run < usual {
            usual - (usual - run) / 4
        } else if run / 4 > usual {
            run / 4
        } else {
            usual + (run - usual).min(usual) / 16
        };
    }

    /// So many ticks are enough for any run of this level; `None` where too little is known.
    pub(super) fn long_enough(self) -> Option<u32> {
        (16..1 << 24).contains(&self.0).then_some(self.0 / 4)
    }
}

/// Shorter than this a pulse is no tooth: the narrowest mark of 3° at 9000 rpm lasts 55 µs.
const SHORTEST_RUN_US: f32 = 20.0;

/// More pulses than this with nothing of the signal between them are the signal.
const MOST_IN_A_ROW: u8 = 8;

/// Takes out pulses much shorter than the signal's own.
#[derive(Debug, Clone)]
pub struct PulseFilter {
    shortest: u32,
    /// The last change let out.
    passed: Option<Change>,
    /// The newest change, whose run has not ended.
    held: Option<Change>,
    /// The change that opened the run last taken out, until the next change, and that run's ticks.
    cut: Option<Change>,
    cut_run: u32,
    low: UsualRun,
    high: UsualRun,
    removed: u32,
    /// Taken out one after the other, with nothing let out between.
    in_a_row: u8,
}

impl PulseFilter {
    /// A filter for a signal stamped at this rate.
    pub fn new(rate: TickRate) -> Self {
        Self {
            shortest: rate.ticks_in_us(SHORTEST_RUN_US) as u32,
            passed: None,
            held: None,
            cut: None,
            cut_run: 0,
            low: UsualRun::default(),
            high: UsualRun::default(),
            removed: 0,
            in_a_row: 0,
        }
    }

    /// Below how many ticks a run of this level is taken out.
    fn least(&self, level: Level) -> u32 {
        match level {
            Level::Low => self.low.least(self.shortest),
            Level::High => self.high.least(self.shortest),
        }
    }

    /// Pulses taken out so far.
    pub fn removed(&self) -> u32 {
        self.removed
    }

    /// The next change; gives back the one before it if that one proved real.
    pub fn push(&mut self, change: Change) -> Option<Change> {
        let Some(held) = self.held else {
            if let Some(cut) = self.cut.take().filter(|cut| cut.level == change.level)
                && run_between(cut, change).saturating_sub(self.cut_run) < self.cut_run
            {
                self.held = Some(cut);
                return None;
            }
            if self.passed.is_some_and(|passed| passed.level == change.level) {
                return None;
            }
            self.held = Some(change);
            return None;
        };
        if held.level == change.level {
            return None;
        }
        let run = run_between(held, change);
        if run >= self.least(held.level) {
            self.held = Some(change);
            return Some(self.let_out(held));
        }
        (self.held, self.cut, self.cut_run) = (None, Some(held), run);
        self.removed = self.removed.saturating_add(1);
        self.in_a_row = self.in_a_row.saturating_add(1);
        if self.in_a_row >= MOST_IN_A_ROW {
            // They are the signal: what was usual comes from a standstill or a crawl.
            (self.low, self.high) = (UsualRun::default(), UsualRun::default());
            self.passed = None;
            self.in_a_row = 0;
        }
        None
    }

    /// Lets the newest change out without waiting for the end of its run: at the end of a capture, or
    /// when the signal has been silent for longer than any pulse to be taken out.
    pub fn flush(&mut self, now: Instant) -> Option<Change> {
        let held = self.held?;
        if now.since(held.at) < u64::from(self.least(held.level)) {
            return None;
        }
        self.held = None;
        Some(self.let_out(held))
    }

    /// Lends the filter as it stands between two changes of a signal whose levels alternate, `on` after a tooth's edge.
    /// Whether the newest change is one; `None`, and nothing is lent, where they do not or too little is known of them.
    pub(crate) fn lend(&self, on: Level, pace: Pace, lent: &mut Alternating) -> Option<bool> {
        let (held, passed) = (self.held?, self.passed?);
        let usual = match on {
            Level::High => [self.high, self.low],
            Level::Low => [self.low, self.high],
        };
        let is_on = held.level == on;
        let newest = (held.at.ticks() as u32, passed.at.ticks() as u32);
        (held.level != passed.level && lent.lend(newest, is_on, usual, pace)).then_some(is_on)
    }

    /// What was lent, after some changes have passed, the newest of them a tooth's edge or its end; with teeth among them,
    /// how long the newest runs lasted, on and off.
    pub(crate) fn take_back(&mut self, lent: &Alternating, on: Level, is_on: bool, newest: Option<[u32; 2]>) {
        let Some(before) = self.held else { return };
        let [on_at, off_at] = lent.newest();
        let change = |at, level| Some(Change { at: before.at.near(at), level });
        let Some([while_on, while_off]) = newest else {
            // All there was is a tooth's edge, which let out the end before it.
            let _ = self.let_out(before);
            self.held = change(on_at, on);
            return;
        };
        let (high, low) = match on {
            Level::High => (while_on, while_off),
            Level::Low => (while_off, while_on),
        };
        self.high.learn(high);
        self.low.learn(low);
        let (edge, end) = (change(on_at, on), change(off_at, on.other()));
        (self.held, self.passed) = if is_on { (edge, end) } else { (end, edge) };
        self.in_a_row = 0;
    }

    fn let_out(&mut self, change: Change) -> Change {
        if let Some(passed) = self.passed {
            let run = run_between(passed, change);
            match passed.level {
                Level::Low => self.low.learn(run),
                Level::High => self.high.learn(run),
            }
        }
        self.passed = Some(change);
        self.in_a_row = 0;
        change
    }
}

fn run_between(from: Change, to: Change) -> u32 {
    to.at.ticks_since(from.at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    fn passed(runs: &[(u64, Level)]) -> Vec<(u64, Level)> {
        let mut filter = PulseFilter::new(TickRate::DESKTOP);
        let mut out: Vec<_> = runs
            .iter()
            .filter_map(|(at, level)| filter.push(Change { at: Instant::from_ticks(*at), level: *level }))
            .collect();
        out.extend(filter.flush(Instant::from_ticks(u64::MAX)));
        out.iter().map(|change| (change.at.ticks(), change.level)).collect()
    }

    #[test]
    fn a_clean_signal_passes_whole() {
        let runs: Vec<_> =
            (1..40).map(|i| (i * 500, if i % 2 == 0 { Level::Low } else { Level::High })).collect();
        assert_eq!(passed(&runs), runs);
    }

    #[test]
    fn a_short_pulse_moves_no_edge_by_more_than_its_own_length() {
        let clean: Vec<_> =
            (1..40).map(|i| (i * 500, if i % 2 == 0 { Level::Low } else { Level::High })).collect();
        for at in [10_006u64, 10_020, 10_300, 10_520, 10_506] {
            let mut runs = clean.clone();
            let before = clean.iter().rev().find(|run| run.0 < at).map(|run| run.1);
            let (out, back) = match before {
                Some(Level::Low) => (Level::High, Level::Low),
                _ => (Level::Low, Level::High),
            };
            runs.extend([(at, out), (at + 40, back)]);
            runs.sort_by_key(|run| run.0);
            let out = passed(&runs);
            assert_eq!(out.len(), clean.len(), "pulse at {at}");
            let moved = out.iter().zip(&clean).map(|(out, clean)| out.0.abs_diff(clean.0)).max();
            assert!(moved <= Some(60), "pulse at {at} moved an edge by {moved:?}");
        }
    }

    #[test]
    fn a_pulse_soon_after_an_edge_does_not_move_it() {
        let mut runs: Vec<_> =
            (1..40).map(|i| (i * 30_000, if i % 2 == 0 { Level::Low } else { Level::High })).collect();
        let clean = passed(&runs);
        // A sixteenth of a run is 1875 ticks: without the pulse the run before it would be taken out.
        for (edge, after) in [(5, 1600u64), (8, 1500), (11, 300), (14, 1800)] {
            let (at, level) = runs[runs.iter().position(|run| run.0 == edge * 30_000).unwrap()];
            let back = if level == Level::High { Level::Low } else { Level::High };
            runs.extend([(at + after, back), (at + after + 50, level)]);
            runs.sort_by_key(|run| run.0);
        }
        assert_eq!(passed(&runs), clean);
    }

    #[test]
    fn marks_of_very_unequal_width_all_pass() {
        let mut runs = Vec::new();
        for turn in 0..20u64 {
            for (start, width) in [(0, 4000), (20_000, 500), (60_000, 4000)] {
                runs.push((turn * 100_000 + start + 1, Level::High));
                runs.push((turn * 100_000 + start + width + 1, Level::Low));
            }
        }
        let settled: Vec<_> = runs.iter().copied().filter(|run| run.0 > 300_000).collect();
        let out: Vec<_> = passed(&runs).into_iter().filter(|run| run.0 > 300_000).collect();
        assert_eq!(out, settled);
    }

    #[test]
    fn a_signal_that_starts_again_after_a_standstill_is_let_through() {
        let mut runs = Vec::new();
        let mut at = 0;
        let wheel = |runs: &mut Vec<(u64, Level)>, at: &mut u64| {
            for _ in 0..60 {
                runs.push((*at, Level::High));
                runs.push((*at + 10_000, Level::Low));
                *at += 20_000;
            }
        };
        wheel(&mut runs, &mut at);
        at += 60_000_000;
        let before = runs.len();
        wheel(&mut runs, &mut at);
        let let_out = passed(&runs);
        let after = let_out.iter().filter(|(when, _)| *when > 60_000_000).count();
        assert!(after > runs.len() - before - 24, "{after} of {}", runs.len() - before);
    }
}
