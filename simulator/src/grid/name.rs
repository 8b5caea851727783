//! Causes: who is taken for whom, how sure, and whether pairs hide each other.

use super::Played;
use super::population::{Drawn, Kind};
use keyway_core::judge::CauseId;
use keyway_core::reading::Status;
use serde::Serialize;
use std::collections::BTreeMap;

/// How often verdicts of a given sureness are right.
#[derive(Debug, Clone, Copy, Default, Serialize)]
pub struct Sureness {
    /// Verdicts.
    pub verdicts: usize,
    /// Right ones.
    pub right: usize,
    /// Mean probability that was claimed.
    pub claimed: f64,
}

/// What the judge named.
#[derive(Debug, Clone, Serialize)]
pub struct NameTable {
    /// True cause → first cause named → how often.
    pub confusion: BTreeMap<&'static str, BTreeMap<&'static str, usize>>,
    /// Cases named wrongly.
    pub wrong: Vec<(u64, &'static str, &'static str)>,
    /// Part of the single causes named first, and how many.
    pub right: f64,
    /// Single causes played.
    pub singles: usize,
    /// Healthy engines played, and how many of them had something else named first.
    pub healthy: usize,
    /// False alarms among them.
    pub false_alarms: Vec<(u64, &'static str)>,
    /// Pairs played, and how many had both named among the first three.
    pub pairs: usize,
    /// Pairs with both named.
    pub pairs_named: usize,
    /// Pairs that were missed.
    pub pairs_missed: Vec<(u64, &'static str, &'static str)>,
    /// By tenths of the probability claimed for the first cause.
    pub sureness: [Sureness; 10],
}

/// The first cause named; a reason in its place where no reading was given.
fn first(played: &Played) -> &'static str {
    match (played.report.judgement.causes.first(), played.report.reading.reasons.first()) {
        (Some(cause), _) => cause.id.id(),
        (None, Some(reason)) => reason.id(),
        (None, None) => "nothing",
    }
}

/// Whether the evidence of this case can separate its cause from all others.
fn separable(played: &Played) -> bool {
    played.truth.advance.is_some() || played.truth.causes.first() == Some(&CauseId::ClampOnCoilLead)
}

impl NameTable {
    /// The table of what was played.
    pub fn of(played: &[Played]) -> Self {
        let mut table = Self {
            confusion: BTreeMap::new(),
            wrong: Vec::new(),
            right: f64::NAN,
            singles: 0,
            healthy: 0,
            false_alarms: Vec::new(),
            pairs: 0,
            pairs_named: 0,
            pairs_missed: Vec::new(),
            sureness: [Sureness::default(); 10],
        };
        let mut right = 0;
        for one in played.iter().filter(|one| separable(one)) {
            match &one.drawn {
                Drawn { kind: Kind::Measure { .. }, .. } => table.count_healthy(one),
                Drawn { kind: Kind::Cause(cause), .. } => {
                    if *cause == CauseId::Healthy {
                        table.count_healthy(one);
                    }
                    right += usize::from(table.count_single(one, *cause));
                }
                Drawn { kind: Kind::Pair(one_cause, other), .. } => table.count_pair(one, *one_cause, *other),
                Drawn { kind: Kind::Reason(_), .. } => {}
            }
        }
        table.right = right as f64 / table.singles.max(1) as f64;
        table
    }

    fn count_healthy(&mut self, played: &Played) {
        if played.report.reading.status == Status::Withheld {
            return;
        }
        self.healthy += 1;
        if first(played) != "none" {
            self.false_alarms.push((played.drawn.number, first(played)));
        }
    }

    fn count_single(&mut self, played: &Played, cause: CauseId) -> bool {
        self.singles += 1;
        let named = first(played);
        *self.confusion.entry(cause.id()).or_default().entry(named).or_default() += 1;
        let causes = &played.report.judgement.causes;
        // A true tie counts when both are named.
        let tie = match (causes.first(), causes.get(1)) {
            (Some(one), Some(other)) => one.probability - other.probability < 0.05 && other.id == cause,
            _ => false,
        };
        let right = named == cause.id() || tie;
        if !right {
            self.wrong.push((played.drawn.number, cause.id(), named));
        }
        if let Some(one) = causes.first() {
            let tenth = ((f64::from(one.probability) * 10.0) as usize).min(9);
            if let Some(bin) = self.sureness.get_mut(tenth) {
                bin.verdicts += 1;
                bin.right += usize::from(named == cause.id());
                bin.claimed += (f64::from(one.probability) - bin.claimed) / bin.verdicts as f64;
            }
        }
        right
    }

    fn count_pair(&mut self, played: &Played, one: CauseId, other: CauseId) {
        self.pairs += 1;
        let named = |id| played.report.judgement.causes.iter().take(3).any(|cause| cause.id == id);
        if named(one) && named(other) {
            self.pairs_named += 1;
        } else {
            self.pairs_missed.push((played.drawn.number, one.id(), other.id()));
        }
    }
}
