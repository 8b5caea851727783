//! Where the crank is: one decoder for every pattern of marks.
//!
//! *Tooth*: an edge of the crank signal that was given its slot. *Placed*: given a slot by following the
//! pattern; *verified*: placed, and the pattern has since closed as it must. *Turn*: counted at slot 0.
//! *Epoch*: one unbroken stretch of sync; teeth of two epochs are never mixed.
//!
//! ```text
//!            pattern recognised                 pattern closes: verified
//! Seeking ───────────────────────▶ Following ──────────────▶ (stays)
//!    ▲                                │ too many missing, gap filled, closes wrongly, silence
//!    └────────────────────────────────┘
//! ```
//!
//! A wheel is recognised by its gap, marks by the order of their intervals. Following predicts each next
//! edge from the local speed and takes the edge nearest the prediction inside a window, so that one false
//! or one lost edge never shifts the count. An angle rests on verified teeth only: the price is up to one
//! turn's wait, the gain is that a slipped tooth is found before it is told.

mod follow;
mod locate;
mod plan;
mod seek;
mod survey;
mod teeth;

pub use locate::{Located, Whereabouts, locate, ripple_response};
pub use plan::Plan;
pub use survey::{Finding, Survey};
pub use teeth::{Teeth, Tooth};

use crate::job::Pattern;
use crate::units::Instant;
use follow::{Follow, Followed};
use seek::Seek;

/// What the decoder counted since it was made.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CrankCounts {
    /// Active edges that came.
    pub edges: u32,
    /// Edges that fit no slot, or came second for one.
    pub false_edges: u32,
    /// Slots that got no edge.
    pub missing_edges: u32,
    /// Turns that closed as they must.
    pub turns_verified: u32,
    /// Times that sync was lost.
    pub losses: u32,
    /// Edges that came while no sync was held.
    pub edges_unplaced: u32,
    /// Verified turns in which an edge was false, missing or doubtful.
    pub turns_marred: u32,
}

/// The follower or the seeker of the pattern.
#[derive(Debug, Clone)]
enum State {
    Seeking(Seek),
    Following(Follow),
}

/// Places crank edges on the pattern.
#[derive(Debug, Clone)]
pub struct Decoder {
    plan: Plan,
    state: State,
    teeth: Teeth,
    epoch: u16,
    counts: CrankCounts,
}

impl Decoder {
    /// A decoder for one pattern. `shortest_turn` is the fewest ticks that a turn can take: anything
    /// faster is not recognised.
    pub fn new(pattern: &Pattern, shortest_turn: u32) -> Self {
        Self {
            plan: Plan::new(pattern, shortest_turn),
            state: State::Seeking(Seek::default()),
            teeth: Teeth::default(),
            epoch: 0,
            counts: CrankCounts::default(),
        }
    }

    /// The pattern in the form the decoder follows.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The newest teeth and turns.
    pub fn teeth(&self) -> &Teeth {
        &self.teeth
    }

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

    /// An active edge, in order of time.
    pub fn on_edge(&mut self, at: Instant) {
        self.counts.edges = self.counts.edges.saturating_add(1);
        match &mut self.state {
            State::Seeking(seek) => {
                self.counts.edges_unplaced = self.counts.edges_unplaced.saturating_add(1);
                if let Some(found) = seek.on_edge(&self.plan, at) {
                    self.start(found);
                }
            }
            State::Following(follow) => {
                match follow.on_edge(&self.plan, at, &mut self.teeth, &mut self.counts) {
                    Followed::Goes => {}
                    Followed::Slipped(found) => self.start(found),
                    Followed::Lost => self.lose(Some(at)),
                }
            }
        }
    }

    /// Time has come to `now`: an edge waiting for a better one is placed once none can come, and sync is
    /// given up after a silence of several slots.
    pub fn poll(&mut self, now: Instant) {
        if let State::Following(follow) = &mut self.state {
            match follow.poll(&self.plan, now, &mut self.teeth, &mut self.counts) {
                Followed::Goes => {}
                Followed::Slipped(found) => self.start(found),
                Followed::Lost => self.lose(None),
            }
        }
    }

    /// Edges were lost before they could be told: sync is given up.
    pub fn on_lost(&mut self, count: u32) {
        self.counts.missing_edges = self.counts.missing_edges.saturating_add(count);
        if self.in_sync() {
            self.lose(None);
        }
    }

    /// The capture ends: the edge that was waiting for a better one is placed.
    pub fn finish(&mut self) {
        if let State::Following(follow) = &mut self.state {
            follow.finish(&self.plan, &mut self.teeth, &mut self.counts);
        }
    }

    fn start(&mut self, found: seek::Found) {
        self.epoch = self.epoch.wrapping_add(1);
        self.teeth.begin(self.epoch);
        self.state = State::Following(Follow::new(&self.plan, found, &mut self.teeth));
    }

    fn lose(&mut self, last: Option<Instant>) {
        self.counts.losses = self.counts.losses.saturating_add(1);
        self.epoch = self.epoch.wrapping_add(1);
        self.teeth.begin(self.epoch);
        let mut seek = Seek::default();
        if let Some(at) = last {
            let _ = seek.on_edge(&self.plan, at);
        }
        self.state = State::Seeking(seek);
    }
}
