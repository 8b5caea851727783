//! A pattern that is followed, and yet is not the job's.
//!
//! *Divided wheel*: one whose slots go into the job's a whole number of times, with the same gap. Several of its
//! turns look like one of the job's in which the teeth at every other gap are missing, and the sparks come so
//! many times too often. A single mark fits any train of edges: there the speed tells.

use super::reasons::{FEWEST_TURNS, RATE_TOLERANCE, Signals, due, spark_rate};
use super::settled::Settled;
use crate::crank::Finding;
use crate::job::{Job, Pattern};

/// Times that a divided wheel's slots go into the job's.
const MOST_TIMES: u8 = 5;
/// A single mark that seems to pass so many times faster than the fastest idle is one tooth of many.
const TOO_FAST: f32 = 1.5;

/// The wheel of the job, as a survey would find it.
pub(super) fn job_wheel(job: &Job) -> Option<Finding> {
    match job.pattern() {
        Pattern::Wheel { slots, missing, .. } => Some(Finding::Wheel { slots: *slots, missing: *missing }),
        Pattern::Marks(_) => None,
    }
}

/// The wheel that turns there in place of the job's, slots and missing ones; `None` where none was recognised.
pub(super) fn found(job: &Job, settled: &Settled, signals: &Signals) -> Option<(u8, u8)> {
    match signals.active {
        Finding::Wheel { slots, missing } => Some((slots, missing)),
        _ => divided(job, settled, signals),
    }
}

/// Followed, but by a wheel that is not the job's: it has other teeth, or one tooth is never there.
pub(super) fn is_another_wheel(job: &Job, settled: &Settled, signals: &Signals, disturbed: bool) -> bool {
    let other = matches!(signals.active, Finding::Wheel { .. }) && job_wheel(job) != Some(signals.active);
    let crank = signals.crank;
    let spoiled = disturbed || crank.edges_unplaced > crank.edges / 4;
    other && spoiled
        || crank.turns_without_first > crank.turns_verified / 2
        || divided(job, settled, signals).is_some()
}

fn divided(job: &Job, settled: &Settled, signals: &Signals) -> Option<(u8, u8)> {
    let Pattern::Wheel { slots, missing, .. } = job.pattern() else { return None };
    let turns = signals.crank.turns_verified;
    let times_too_often = spark_rate(settled, signals)? / due(job);
    let lacking = signals.crank.missing_edges as f32 / turns as f32;
    // The nearest whole number of times; nothing outside two to five fits.
    let times = (times_too_often + 0.5) as u8;
    let more = f32::from(times);
    let off = (times_too_often / more - 1.0)
        .abs()
        .max((lacking / ((more - 1.0) * f32::from(*missing)) - 1.0).abs());
    if !(2..=MOST_TIMES).contains(&times)
        || turns < FEWEST_TURNS
        || !slots.is_multiple_of(times)
        || off >= RATE_TOLERANCE
    {
        return None;
    }
    Some((slots.checked_div(times)?, *missing))
}

/// Whether what was entered as a single mark is one tooth of many: it passes far faster than any idle, with a
/// spark now and then.
pub(super) fn is_a_wheel_of_marks(job: &Job, settled: &Settled, signals: &Signals) -> bool {
    let rare = spark_rate(settled, signals).is_some_and(|rate| rate < due(job) / 2.0);
    let [_, high] = job.spec().timing.idle_rpm;
    let mean_rpm = settled.all_rpm.mean(settled.placed.max(1));
    rare && signals.firsts > 1 && mean_rpm > TOO_FAST * high
}
