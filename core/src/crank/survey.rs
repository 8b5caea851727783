//! What pattern a signal carries, where it is not the one that was expected.
//!
//! *Gap*: an interval clearly longer than its two neighbours, which are alike. Each pair of gaps in a row
//! votes for a wheel: so many teeth between them, a gap so many pitches wide. A pattern that is no wheel
//! still repeats: its intervals resemble those of some fixed number of edges before. Noise does neither.

use crate::units::Instant;
use heapless::{Deque, Vec};

/// How many edges back a repetition is looked for.
const REPEATS: usize = 8;
/// How many different wheels are voted on.
const CANDIDATES: usize = 6;

/// What a survey makes of a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Finding {
    /// Too few edges to say.
    Unclear,
    /// A wheel with one gap.
    Wheel {
        /// Slots, the missing ones included.
        slots: u8,
        /// Missing slots.
        missing: u8,
    },
    /// The intervals repeat, but not as a wheel's with one gap.
    Repeats {
        /// After so many edges, the fewest that fit.
        edges: u8,
    },
    /// The intervals follow no pattern.
    Irregular,
}

#[derive(Debug, Clone, Copy)]
struct Candidate {
    teeth: u8,
    gap: u8,
    votes: u16,
}

/// Watches one polarity of one signal.
#[derive(Debug, Clone, Default)]
pub struct Survey {
    last: Option<Instant>,
    intervals: Deque<u32, REPEATS>,
    since_gap: Option<u8>,
    candidates: Vec<Candidate, CANDIDATES>,
    edges: u32,
    repeats: [u32; REPEATS],
}

impl Survey {
    /// Edges seen.
    pub fn edges(&self) -> u32 {
        self.edges
    }

    /// The next edge, in order of time.
    pub fn on_edge(&mut self, at: Instant) {
        self.edges = self.edges.saturating_add(1);
        let Some(last) = self.last.replace(at) else { return };
        let interval = u32::try_from(at.since(last)).unwrap_or(u32::MAX);
        for (earlier, repeat) in self.intervals.iter().rev().zip(self.repeats.iter_mut()) {
            if alike(interval, *earlier) {
                *repeat = repeat.saturating_add(1);
            }
        }
        if self.intervals.is_full() {
            self.intervals.pop_front();
        }
        let _ = self.intervals.push_back(interval);
        self.look_for_gap();
    }

    /// The third newest interval is held against its neighbours next but one: those beside a gap are
    /// shortened on a variable-reluctance wheel.
    fn look_for_gap(&mut self) {
        let newest_first = |back: usize| self.intervals.iter().rev().nth(back).map(|one| u64::from(*one));
        let (Some(after), Some(long), Some(before)) = (newest_first(0), newest_first(2), newest_first(4))
        else {
            return;
        };
        let neighbours_alike = before * 4 < after * 7 && after * 4 < before * 7;
        if !neighbours_alike || long * 20 < (before + after) * 14 {
            self.since_gap = self.since_gap.and_then(|teeth| teeth.checked_add(1));
            return;
        }
        // The gap is stretched by up to 0.36 of a pitch, and never shrunk.
        let twice_pitch = before + after;
        let pitches = ((long * 40 + twice_pitch * 7) / (twice_pitch * 20).max(1)).clamp(2, 60) as u8;
        self.gaps_seen(pitches);
    }

    fn gaps_seen(&mut self, pitches: u8) {
        if let Some(teeth) = self.since_gap.replace(0) {
            self.vote(teeth.saturating_add(1), pitches);
        }
    }

    fn vote(&mut self, teeth: u8, gap: u8) {
        let known = self.candidates.iter_mut().find(|known| known.teeth == teeth && known.gap == gap);
        match known {
            Some(known) => known.votes = known.votes.saturating_add(1),
            None => {
                let candidate = Candidate { teeth, gap, votes: 1 };
                if self.candidates.is_full() {
                    let weakest = self.candidates.iter_mut().min_by_key(|known| known.votes);
                    if let Some(weakest) = weakest {
                        *weakest = candidate;
                    }
                } else {
                    let _ = self.candidates.push(candidate);
                }
            }
        }
    }

    /// The wheel with the most votes, if it has clearly the most: noise spoils votes, but each in its own way.
    fn wheel(&self) -> Option<(u8, u8)> {
        let best = self.candidates.iter().max_by_key(|candidate| candidate.votes)?;
        let rival = |one: &&Candidate| one.teeth != best.teeth || one.gap != best.gap;
        let second = self.candidates.iter().filter(rival).map(|one| one.votes).max().unwrap_or(0);
        let missing = best.gap.saturating_sub(1);
        let covered = u32::from(best.votes) * u32::from(best.teeth);
        let clear = best.votes >= 3 && best.votes >= 2 * second && covered * 5 >= self.edges;
        (clear && best.teeth >= 3).then_some((best.teeth.checked_add(missing)?, missing))
    }

    /// What the signal carries.
    pub fn finding(&self) -> Finding {
        if self.edges < 12 {
            return Finding::Unclear;
        }
        if let Some((slots, missing)) = self.wheel() {
            return Finding::Wheel { slots, missing };
        }
        let most = self.repeats.iter().copied().max().unwrap_or(0);
        if u64::from(most) * 10 < u64::from(self.edges) * 6 {
            return Finding::Irregular;
        }
        let edges = self.repeats.iter().position(|repeat| u64::from(*repeat) * 20 >= u64::from(most) * 19);
        Finding::Repeats { edges: edges.map_or(1, |index| index as u8 + 1) }
    }
}

/// Within a fifth of each other.
fn alike(a: u32, b: u32) -> bool {
    let (a, b) = (u64::from(a), u64::from(b));
    a * 5 < b * 6 && b * 5 < a * 6
}
