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

mod between;
mod follow;
mod locate;
mod milestones;
mod places;
mod plan;
mod repeat;
mod ripple;
mod seek;
mod survey;
mod swing;
mod teeth;
mod tracker;

pub(crate) use follow::Ordinary;
pub use locate::{Located, Whereabouts, locate};
pub use milestones::{MILESTONES, Milestones};
pub use places::{Places, TurnsAlone};
pub use plan::Plan;
pub use ripple::ripple_response;
pub use survey::{Finding, Survey};
pub use swing::{FULL_SWING_RPM, Firing, Kind, Misfit, Order, ROUGH_SWING_TIMES_ORDER, Swing, swing_doubt};
pub use teeth::{Teeth, Tooth};
pub use tracker::Tracker;

use crate::edges::Pace;
use crate::job::{Job, Pattern};
use crate::units::{Instant, Stamp, TickRate};

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
    /// Verified turns whose first tooth after the gap was not seen.
    pub turns_without_first: u32,
}

impl CrankCounts {
    /// What was counted since `earlier`.
    pub fn since(&self, earlier: &Self) -> Self {
        Self {
            edges: self.edges.saturating_sub(earlier.edges),
            false_edges: self.false_edges.saturating_sub(earlier.false_edges),
            missing_edges: self.missing_edges.saturating_sub(earlier.missing_edges),
            turns_verified: self.turns_verified.saturating_sub(earlier.turns_verified),
            losses: self.losses.saturating_sub(earlier.losses),
            edges_unplaced: self.edges_unplaced.saturating_sub(earlier.edges_unplaced),
            turns_marred: self.turns_marred.saturating_sub(earlier.turns_marred),
            turns_without_first: self.turns_without_first.saturating_sub(earlier.turns_without_first),
        }
    }
}

/// Places crank edges on the pattern, and keeps the newest.
#[derive(Debug, Clone)]
pub struct Decoder {
    plan: Plan,
    tracker: Tracker,
    teeth: Teeth,
}

impl Decoder {
    /// A decoder for one pattern. `shortest_turn` is the fewest ticks that a turn can take: anything
    /// faster is not recognised.
    pub fn new(pattern: &Pattern, shortest_turn: u32) -> Self {
        Self::following(Plan::new(pattern, shortest_turn))
    }

    /// A decoder for the pattern of a job, which learns how the engine's firing swings the crank.
    pub fn for_job(job: &Job, rate: TickRate, shortest_turn: u32) -> Self {
        Self::following(Plan::new(job.pattern(), shortest_turn).with_firing(Firing::of(job), rate))
    }

    fn following(plan: Plan) -> Self {
        Self { teeth: Teeth::new(&plan), tracker: Tracker::default(), plan }
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
        self.tracker.epoch()
    }

    /// Whether the pattern is being followed.
    pub fn in_sync(&self) -> bool {
        self.tracker.in_sync()
    }

    /// What was counted so far.
    pub fn counts(&self) -> CrankCounts {
        self.tracker.counts()
    }

    /// The turn up to whose slot 0 everything is verified in this epoch.
    pub fn verified_turn(&self) -> Option<u32> {
        self.tracker.verified_turn()
    }

    /// An active edge, in order of time.
    pub fn on_edge(&mut self, at: Instant) {
        self.tracker.on_edge(&self.plan, at, &mut self.teeth);
    }

    /// Lends following as it stands, and says what edges are ordinary with it: it does where the pattern is verified.
    pub(crate) fn lend(&self, lent: &mut Ordinary) -> Option<Pace> {
        self.tracker.lend(&self.plan, lent)
    }

    /// Ordinary teeth in a row, each an edge and its end, later by `delay` than they were: puts away those that they place.
    #[inline]
    pub(crate) fn pass(&mut self, teeth: &[[Stamp; 2]], delay: u32, lent: &mut Ordinary) {
        let first = lent.next_slot();
        self.teeth.keep_row(teeth.iter().map(|[edge, _]| lent.pass(edge.0.wrapping_sub(delay))), first);
    }

    /// What was lent, after it has taken in some edges. Gives back the low half of the moment of the newest tooth placed.
    pub(crate) fn take_back(&mut self, lent: &Ordinary) -> u32 {
        let kept = self.teeth.newest_kept();
        if let Some(newest) = self.tracker.take_back(lent, kept) {
            self.teeth.catch_up(newest, lent.taken());
        }
        kept
    }

    /// Time has come to `now`: an edge waiting for a better one is placed once none can come, and sync is
    /// given up after a silence of several slots.
    pub fn poll(&mut self, now: Instant) {
        self.tracker.poll(&self.plan, now, &mut self.teeth);
    }

    /// Edges were lost before they could be told: sync is given up.
    pub fn on_lost(&mut self, count: u32) {
        self.tracker.on_lost(count, &mut self.teeth);
    }

    /// The capture ends: the edge that was waiting for a better one is placed.
    pub fn finish(&mut self) {
        self.tracker.finish(&self.plan, &mut self.teeth);
    }
}
