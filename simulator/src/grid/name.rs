//! Causes: who is taken for whom, how sure, and whether pairs hide each other.

use super::Played;
use super::population::Kind;
use keyway_core::job::{Control, Job};
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
    /// Single causes that the evidence cannot tell from another, and how many had theirs among the first two.
    pub ties: usize,
    /// Ties with both named.
    pub ties_named: usize,
    /// Ties that were missed.
    pub ties_missed: Vec<(u64, &'static str, &'static str)>,
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

/// Signatures nearer to each other than this and the reading's ± cannot be told apart, degrees.
const APART: f64 = 2.0;

/// Whether a cause that shows by its error alone lies where another would show the same.
fn tied(played: &Played, cause: CauseId) -> bool {
    let Some(truth) = played.truth.advance else { return false };
    let Ok(job) = played.drawn.case.job.build() else { return false };
    let wrap = |degrees: f64| (degrees + 540.0).rem_euclid(360.0) - 180.0;
    let error = wrap(truth - f64::from(job.target_degrees()));
    let reach = APART + f64::from(played.report.reading.uncertainty.unwrap_or(0.0));
    let of_other = |(id, at): &(CauseId, f64)| *id != cause && wrap(error - at).abs() < reach;
    shows_by_error(cause) && signatures(&job).iter().any(of_other)
}

fn shows_by_error(cause: CauseId) -> bool {
    matches!(
        cause,
        CauseId::OffTarget
            | CauseId::SetAfterTdc
            | CauseId::SetOutOfBaseMode
            | CauseId::ClampOnOtherLead
            | CauseId::DriveToothOff
    )
}

/// Where each cause that shows by its error alone lies, degrees from the target, as the contract says it.
fn signatures(job: &Job) -> Vec<(CauseId, f64)> {
    let timing = &job.spec().timing;
    let target = f64::from(job.target_degrees());
    let mut found = Vec::new();
    if target.abs() > f64::from(timing.tolerance) {
        found.push((CauseId::SetAfterTdc, -2.0 * target));
    }
    if timing.control != Control::Mechanical {
        found.push((CauseId::SetOutOfBaseMode, f64::from(-timing.harness_offset)));
    }
    let leads = (1..=job.spec().engine.cylinders).filter_map(|cylinder| job.firing_angle(cylinder));
    let leads = leads.filter(|angle| angle.rem_euclid(360.0) > 1.0);
    found.extend(leads.map(|angle| (CauseId::ClampOnOtherLead, f64::from(-angle))));
    if let Some(teeth) = job.spec().engine.drive_gear_teeth.filter(|_| job.distributor_times_spark()) {
        let tooth = f64::from(job.cycle_degrees()) / f64::from(teeth);
        found.extend([-2.0, -1.0, 1.0, 2.0].map(|count| (CauseId::DriveToothOff, count * tooth)));
    }
    found
}

impl NameTable {
    /// The table of what was played.
    pub fn of(played: &[Played]) -> Self {
        let mut table = Self {
            confusion: BTreeMap::new(),
            wrong: Vec::new(),
            ties: 0,
            ties_named: 0,
            ties_missed: Vec::new(),
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
            match one.drawn.kind {
                Kind::Measure { .. } => table.count_healthy(one),
                Kind::Cause(cause) => {
                    if cause == CauseId::Healthy {
                        table.count_healthy(one);
                    }
                    if tied(one, cause) {
                        table.count_tie(one, cause);
                    } else {
                        right += usize::from(table.count_single(one, cause));
                    }
                }
                Kind::Pair(cause, other) => table.count_pair(one, cause, other),
                Kind::Reason(_) => {}
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
        let right = named == cause.id();
        if !right {
            self.wrong.push((played.drawn.number, cause.id(), named));
        }
        let causes = &played.report.judgement.causes;
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

    fn count_tie(&mut self, played: &Played, cause: CauseId) {
        self.ties += 1;
        if played.report.judgement.causes.iter().take(2).any(|named| named.id == cause) {
            self.ties_named += 1;
        } else {
            self.ties_missed.push((played.drawn.number, cause.id(), first(played)));
        }
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
