//! What following a pattern asks of the one that keeps its teeth.
//!
//! Following needs to put teeth away and to know how long the newest turn took, nothing else: so a train that
//! is only asked whether it carries the pattern keeps its turns alone.

use super::plan::Plan;
use super::teeth::Tooth;
use crate::units::Instant;

/// Keeps what a followed pattern places.
pub trait Places {
    /// A new stretch of sync begins: what was placed before does not count.
    fn begin(&mut self, epoch: u16);
    /// A tooth was given its slot.
    fn place(&mut self, plan: &Plan, tooth: Tooth);
    /// Slot 0 of `turn` passed at `at`, seen or expected.
    fn turn_began(&mut self, turn: u32, at: Instant);
    /// Ticks of the newest whole turn; `None` before there is one.
    fn newest_turn(&self) -> Option<u32>;
    /// The tooth placed so many before the newest, while it is kept.
    fn back(&self, back: usize) -> Option<Tooth>;
}

/// Keeps no teeth, only how long the newest turn took.
#[derive(Debug, Clone, Copy, Default)]
pub struct TurnsAlone {
    began: Option<Instant>,
    ticks: Option<u32>,
}

impl Places for TurnsAlone {
    fn begin(&mut self, _: u16) {
        *self = Self::default();
    }

    fn place(&mut self, _: &Plan, tooth: Tooth) {
        if tooth.slot == 0 {
            self.turn_began(tooth.turn, tooth.at);
        }
    }

    fn turn_began(&mut self, _: u32, at: Instant) {
        let before = self.began.replace(at);
        self.ticks = before.and_then(|before| u32::try_from(at.since(before)).ok());
    }

    fn newest_turn(&self) -> Option<u32> {
        self.ticks
    }

    fn back(&self, _: usize) -> Option<Tooth> {
        None
    }
}
