//! Whether the crank's pattern comes somewhere else than where the job says.
//!
//! While the crank signal's active edges are not followed, its other edges and the spark signal are asked
//! for the pattern too, by the same tracker. Their teeth are of no use, and are not kept.

use crate::crank::{CrankCounts, Plan, Tracker, TurnsAlone};
use crate::units::Instant;

/// Turns that prove a pattern.
const PROOF: u32 = 4;

/// Looks for the pattern on the other edge and at the other pickup.
#[derive(Debug, Clone, Default)]
pub(crate) struct Elsewhere {
    other_edge: Tracker,
    other_edge_turns: TurnsAlone,
    spark: Tracker,
    spark_turns: TurnsAlone,
    first_at_spark: Option<Instant>,
    last_at_spark: Instant,
}

impl Elsewhere {
    pub(crate) fn on_other_edge_of_crank(&mut self, plan: &Plan, at: Instant) {
        self.other_edge.on_edge(plan, at, &mut self.other_edge_turns);
    }

    pub(crate) fn on_spark(&mut self, plan: &Plan, at: Instant) {
        self.spark.on_edge(plan, at, &mut self.spark_turns);
        self.first_at_spark.get_or_insert(at);
        self.last_at_spark = at;
    }

    /// Whether the other edge of the crank signal carries the pattern. One mark is no pattern.
    pub(crate) fn on_other_edge(&self, plan: &Plan) -> bool {
        plan.count() > 1 && carried(plan, self.other_edge.counts())
    }

    /// Mean ticks of a turn if the spark signal carries the pattern; `None` if it does not.
    pub(crate) fn at_spark(&self, plan: &Plan) -> Option<u64> {
        let counts = self.spark.counts();
        if !carried(plan, counts) {
            return None;
        }
        let ticks = self.last_at_spark.since(self.first_at_spark?);
        let turns = (counts.edges / u32::from(plan.count()).max(1)).max(1);
        Some(ticks / u64::from(turns))
    }
}

/// Enough turns closed, and most edges took part.
fn carried(plan: &Plan, counts: CrankCounts) -> bool {
    counts.turns_verified >= PROOF
        && counts.turns_verified.saturating_mul(u32::from(plan.count())) >= counts.edges / 3
}
