//! Seeks the pattern in a train of edges, and follows it.
//!
//! Apart from the teeth it places, so that a second train (the other edge of the crank signal, the spark
//! signal) can be asked whether it carries the pattern without keeping teeth for it.

use super::CrankCounts;
use super::follow::{Follow, Followed, Ordinary};
use super::places::Places;
use super::plan::Plan;
use super::seek::{Found, Seek};
use super::teeth::Tooth;
use crate::edges::Pace;
use crate::units::Instant;

#[derive(Debug, Clone)]
enum State {
    Seeking(Seek),
    Following(Follow),
}

/// Seeks or follows the pattern.
#[derive(Debug, Clone)]
pub struct Tracker {
    state: State,
    epoch: u16,
    counts: CrankCounts,
}

impl Default for Tracker {
    fn default() -> Self {
        Self { state: State::Seeking(Seek::default()), epoch: 0, counts: CrankCounts::default() }
    }
}

impl Tracker {
    /// The running number of this stretch of sync; differs from before after every loss.
    pub fn epoch(&self) -> u16 {
        self.epoch
    }

    /// Whether the pattern is being followed.
    pub fn in_sync(&self) -> bool {
        matches!(self.state, State::Following(_))
    }

    /// What was counted so far.
    pub fn counts(&self) -> CrankCounts {
        self.counts
    }

    /// The turn up to whose slot 0 everything is verified in this epoch.
    pub fn verified_turn(&self) -> Option<u32> {
        match &self.state {
            State::Following(follow) => follow.verified_turn(),
            State::Seeking(_) => None,
        }
    }

    /// Lends following as it stands, and says what edges are ordinary with it: it does where the pattern is verified.
    pub(super) fn lend(&self, plan: &Plan, lent: &mut Ordinary) -> Option<Pace> {
        match &self.state {
            State::Following(follow) if follow.verified_turn().is_some() => Some(follow.lend(plan, lent)),
            State::Following(_) | State::Seeking(_) => None,
        }
    }

    /// What was lent, after it has taken in some edges, and the low half of the moment of the tooth placed last; gives
    /// that back as it is known now.
    pub(super) fn take_back(&mut self, lent: &Ordinary, newest: u32) -> Option<Tooth> {
        let State::Following(follow) = &mut self.state else { return None };
        follow.take_back(lent, newest);
        self.counts.edges = self.counts.edges.saturating_add(u32::from(lent.taken()));
        Some(follow.newest())
    }

    /// An active edge, in order of time.
    pub fn on_edge(&mut self, plan: &Plan, at: Instant, teeth: &mut dyn Places) {
        self.counts.edges = self.counts.edges.saturating_add(1);
        match &mut self.state {
            State::Seeking(seek) => {
                self.counts.edges_unplaced = self.counts.edges_unplaced.saturating_add(1);
                if let Some(found) = seek.on_edge(plan, at) {
                    self.epoch = self.epoch.wrapping_add(1);
                    teeth.begin(self.epoch);
                    let follow = Follow::new(plan, found, &|back| seek.back(back), teeth);
                    self.state = State::Following(follow);
                }
            }
            State::Following(follow) => match follow.on_edge(plan, at, teeth, &mut self.counts) {
                Followed::Goes => {}
                Followed::Slipped(found) => self.start(plan, found, teeth),
                Followed::Lost => self.lose(plan, Some(at), teeth),
            },
        }
    }

    /// Time has come to `now`.
    pub fn poll(&mut self, plan: &Plan, now: Instant, teeth: &mut dyn Places) {
        if let State::Following(follow) = &mut self.state {
            match follow.poll(plan, now, teeth, &mut self.counts) {
                Followed::Goes => {}
                Followed::Slipped(found) => self.start(plan, found, teeth),
                Followed::Lost => self.lose(plan, None, teeth),
            }
        }
    }

    /// Edges were lost before they could be told: sync is given up.
    pub fn on_lost(&mut self, count: u32, teeth: &mut dyn Places) {
        self.counts.missing_edges = self.counts.missing_edges.saturating_add(count);
        if self.in_sync() {
            self.counts.losses = self.counts.losses.saturating_add(1);
            self.begin(teeth);
            self.state = State::Seeking(Seek::default());
        }
    }

    /// The capture ends.
    pub fn finish(&mut self, plan: &Plan, teeth: &mut dyn Places) {
        if let State::Following(follow) = &mut self.state {
            follow.finish(plan, teeth, &mut self.counts);
        }
    }

    fn begin(&mut self, teeth: &mut dyn Places) {
        self.epoch = self.epoch.wrapping_add(1);
        teeth.begin(self.epoch);
    }

    fn start(&mut self, plan: &Plan, found: Found, teeth: &mut dyn Places) {
        self.begin(teeth);
        self.state = State::Following(Follow::new(plan, found, &|_| None, teeth));
    }

    fn lose(&mut self, plan: &Plan, last: Option<Instant>, teeth: &mut dyn Places) {
        self.counts.losses = self.counts.losses.saturating_add(1);
        self.begin(teeth);
        let mut seek = Seek::default();
        if let Some(at) = last {
            let _ = seek.on_edge(plan, at);
        }
        self.state = State::Seeking(seek);
    }
}
