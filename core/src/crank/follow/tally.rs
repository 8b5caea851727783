//! What spoke against a turn while it was followed, and how much of that is too much.

use super::super::plan::Plan;

/// What happened since slot 0.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct TurnTally {
    pub(super) whole: bool,
    missing: u8,
    false_edges: u8,
    pub(super) marred: bool,
    /// A single mark's false edge came halfway through the turn.
    pub(super) halfway: bool,
    /// An edge stood where the gap has a missing tooth: the count may have slipped.
    pub(super) gap_hit: bool,
}

impl TurnTally {
    /// Nothing yet, of a turn seen from slot 0 on or not.
    pub(super) fn new(whole: bool) -> Self {
        Self { whole, ..Self::default() }
    }

    /// An edge was false.
    pub(super) fn count_false(&mut self) {
        self.false_edges = self.false_edges.saturating_add(1);
        self.marred = true;
    }

    /// A slot got no edge.
    pub(super) fn count_missing(&mut self) {
        self.missing = self.missing.saturating_add(1);
        self.marred = true;
    }

    /// More slots got no edge than a turn of this pattern may lack.
    pub(super) fn lacks_too_many(&self, plan: &Plan) -> bool {
        u32::from(self.missing) > 1 + u32::from(plan.count()) / 8
    }

    /// More edges were false than a turn of this pattern may have.
    pub(super) fn is_beyond_trust(&self, plan: &Plan) -> bool {
        u32::from(self.false_edges) > 4 + u32::from(plan.count()) / 2
    }
}
