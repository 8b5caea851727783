//! Why no number is shown.
//!
//! The questions are asked in the order in which an answer spoils all later ones: is there a crank
//! signal, is it the crank's, is it the wheel of the job, is it clean; are there sparks, as many as this
//! ignition makes, and clean; did the engine idle, steadily, long enough; was the setting left alone.

use super::other_wheel::{is_a_wheel_of_marks, is_another_wheel, job_wheel};
use super::result::{Reasons, Withheld};
use super::settled::{Fates, RING_BINS, RING_DEGREES, Settled};
use crate::crank::{CrankCounts, Finding, Plan};
use crate::job::{Control, Job};
use crate::statistics::median::FEWEST_FOR_INTERVAL;

/// What the two signals look like as a whole.
#[derive(Debug, Clone, Copy)]
pub struct Signals {
    /// What the decoder counted.
    pub crank: CrankCounts,
    /// Pulses taken out of the crank signal.
    pub pulses_removed: u32,
    /// Active edges of the spark signal.
    pub strikes: u32,
    /// First strikes of groups.
    pub firsts: u32,
    /// Those of them that were counted and not looked at.
    pub passed_over: u32,
    /// What the crank's active edges carry where they were not followed.
    pub active: Finding,
    /// The crank's other edges carry the pattern of the job.
    pub on_other_edge: bool,
    /// The spark signal carries the pattern of the job: the speed that it shows, rpm.
    pub at_spark: Option<f32>,
}

/// Fewer active crank edges than this are none.
const FEWEST_EDGES: u32 = 8;
/// Fewer turns in sync than this are no reading.
pub(super) const FEWEST_TURNS: u32 = 4;
/// A clean signal keeps at least this part of its edges in verified turns.
const LEAST_FOLLOWED: f32 = 0.4;
/// With more false or lost edges a turn than these and this part of the teeth, what is left can't be
/// trusted.
const FALSE_A_TURN: f32 = 2.5;
const FALSE_A_TOOTH: f32 = 0.05;
/// For few marks a false edge is recognised by its time: so many a mark.
const FALSE_A_MARK: f32 = 0.5;
/// With more stray sparks than this part of all, what is left can't be trusted.
const MOST_STRAY: f32 = 0.25;
/// A spark rate within this part of the job's is the job's.
pub(super) const RATE_TOLERANCE: f32 = 0.22;
/// Sparks more or fewer than expected that any capture may have.
const RATE_SLACK: f32 = 2.5;
/// Of the teeth of a wheel that is clipped to the spark input at least this part comes through.
const LEAST_OF_TEETH: f32 = 0.7;
/// Fewer sparks of steady idle than this, with more than so many times as many others, are chance.
const FEW: u32 = 16;
const HARDLY_EVER: u32 = 6;
/// A computer that gains at least so much with speed, degrees per 1000 rpm, is steering, and may move the advance
/// by so many degrees while the engine idles.
const STEERED_GAIN: f32 = 1.5;
const STEERED_AT_IDLE: f32 = 3.0;
/// A place of the turn at which so many times as many sparks come as elsewhere on the mean.
const CROWDED: f32 = 3.0;
/// At this part of all sparks near some cylinder's firing, the spark signal is an ignition's.
const LEAST_REGULAR: f32 = 0.75;

/// The reasons, the first the one to say; empty where a number may be shown.
pub(super) fn reasons(job: &Job, plan: &Plan, settled: &Settled, signals: &Signals) -> Reasons {
    let mut reasons = Reasons::new();
    let mut say = |reason| {
        if !reasons.contains(&reason) {
            let _ = reasons.push(reason);
        }
    };
    let at_spark = pattern_at_spark(job, signals);
    if signals.crank.edges < FEWEST_EDGES {
        say(if at_spark {
            Withheld::PickupsSwapped
        } else if a_few_turns(job, plan, signals) {
            Withheld::TooFewSparks
        } else {
            Withheld::NoCrank
        });
        if signals.strikes == 0 {
            say(Withheld::NoSpark);
        }
        return reasons;
    }
    if !followed(plan, signals) {
        say(why_not_followed(job, plan, signals, at_spark));
        if signals.strikes == 0 {
            say(Withheld::NoSpark);
        }
        return reasons;
    }
    let disturbed = disturbed(plan, signals);
    if plan.is_wheel() && is_another_wheel(job, settled, signals, disturbed)
        || plan.count() == 1 && is_a_wheel_of_marks(job, settled, signals)
    {
        say(Withheld::PatternMismatch);
        return reasons;
    }
    if disturbed {
        say(Withheld::Interference);
    }
    if let Some(reason) = spark_reason(job, settled, signals) {
        say(reason);
        return reasons;
    }
    if let Some(reason) = speed_reason(settled) {
        say(reason);
        if reason == Withheld::Unsteady && mostly_outside(&settled.fates) {
            say(Withheld::OutsideIdleBand);
        }
    } else if settled.blocks.moved_by().is_some_and(|by| !could_be_steering(job, settled, by)) {
        say(Withheld::SettingMoved);
    }
    reasons
}

/// Sparks a turn over the turns in sync; `None` without any.
pub(super) fn spark_rate(settled: &Settled, signals: &Signals) -> Option<f32> {
    let placed = settled.placed + settled.fates.at_the_end + settled.fates.doubtful + signals.passed_over;
    (signals.crank.turns_verified >= FEWEST_TURNS)
        .then(|| placed as f32 / signals.crank.turns_verified as f32)
}

/// Sparks a turn that this ignition makes.
pub(super) fn due(job: &Job) -> f32 {
    f32::from(job.sparks_per_cycle()) / f32::from(job.turns_per_cycle())
}

/// Whether few marks and few sparks came because the engine turned a few times only, or was watched so long.
fn a_few_turns(job: &Job, plan: &Plan, signals: &Signals) -> bool {
    let turns = signals.crank.edges as f32 / f32::from(plan.count());
    let due = turns * due(job);
    turns >= 2.0 && signals.firsts > 0 && signals.firsts as f32 <= due + RATE_SLACK
}

/// Whether the crank signal is as even as sparks are, and the spark signal has the edges of a wheel's teeth for as
/// many turns: too disturbed for its pattern to show, and more than any ignition gives.
fn as_many_as_teeth(job: &Job, plan: &Plan, signals: &Signals) -> bool {
    let turns = signals.crank.edges as f32 / due(job);
    plan.is_wheel()
        && matches!(signals.active, Finding::Repeats { .. })
        && signals.strikes as f32 > LEAST_OF_TEETH * turns * f32::from(plan.count())
}

fn followed(plan: &Plan, signals: &Signals) -> bool {
    let turns = signals.crank.turns_verified;
    let edges = turns as f32 * f32::from(plan.count());
    turns >= FEWEST_TURNS && edges >= LEAST_FOLLOWED * signals.crank.edges as f32
}

/// Edges that were false, lost or unplaced. A silence of minutes counts many as lost, so the sum may fill.
fn wrong_edges(crank: &CrankCounts) -> u32 {
    crank.false_edges.saturating_add(crank.missing_edges).saturating_add(crank.edges_unplaced)
}

/// Whether more edges are false, lost or unplaced than a reading stands. Pulses that the filter took out do
/// no harm and do not count.
fn disturbed(plan: &Plan, signals: &Signals) -> bool {
    let crank = signals.crank;
    let wrong = wrong_edges(&crank) as f32;
    let count = f32::from(plan.count());
    let a_turn = if plan.is_wheel() { FALSE_A_TURN + FALSE_A_TOOTH * count } else { FALSE_A_MARK * count };
    // The first sync costs up to two turns of unplaced edges.
    wrong - 2.0 * count > a_turn * crank.edges as f32 / count
}

/// Whether the spark signal is the crank's. A train of sparks is a single mark too, so for one mark the
/// speed that it shows must be near idle as well, and the crank signal have the sparks: one every other turn.
fn pattern_at_spark(job: &Job, signals: &Signals) -> bool {
    let [low, high] = job.spec().timing.idle_rpm;
    let sparks_at_crank = signals.crank.edges.saturating_mul(3) >= signals.firsts;
    signals.at_spark.is_some_and(|rpm| {
        job.pattern().count() > 1
            || job.sparks_per_cycle() < job.turns_per_cycle()
                && (low * 0.8..=high * 2.0).contains(&rpm)
                && sparks_at_crank
    })
}

fn why_not_followed(job: &Job, plan: &Plan, signals: &Signals, at_spark: bool) -> Withheld {
    // In sync from the first edge on, or once the wheel was learned, and just begun.
    let crank = signals.crank;
    let learned = 1 + u32::from(crank.turns_verified > 1);
    if crank.turns_verified < FEWEST_TURNS
        && u64::from(crank.edges) < u64::from(plan.count()) * u64::from(FEWEST_TURNS + 2)
        && wrong_edges(&crank) < u32::from(plan.count()) * learned
        && (crank.turns_verified > 0 || crank.edges_unplaced == 0)
    {
        return Withheld::TooFewSparks;
    }
    let some_wheel = matches!(signals.active, Finding::Wheel { .. });
    if at_spark && (job.pattern().count() > 1 || !some_wheel) || as_many_as_teeth(job, plan, signals) {
        return Withheld::PickupsSwapped;
    }
    if signals.on_other_edge {
        return Withheld::WrongEdge;
    }
    match signals.active {
        Finding::Irregular => Withheld::Interference,
        found if job_wheel(job) == Some(found) => Withheld::Interference,
        Finding::Unclear | Finding::Wheel { .. } | Finding::Repeats { .. } => Withheld::PatternMismatch,
    }
}

fn spark_reason(job: &Job, settled: &Settled, signals: &Signals) -> Option<Withheld> {
    let rate = spark_rate(settled, signals)?;
    let due = due(job);
    if signals.firsts < 2 || rate < due / 20.0 {
        return Some(Withheld::NoSpark);
    }
    if looks_swapped(job, settled, rate, due) {
        return Some(Withheld::PickupsSwapped);
    }
    let turns = signals.crank.turns_verified as f32;
    if is_off(rate, due, turns) {
        let regular = regularity(job, settled);
        if regular < LEAST_REGULAR {
            return Some(Withheld::Interference);
        }
        // What comes anywhere is no spark of this ignition, and is looked at below.
        if is_off(rate * regular, due, turns) {
            return Some(Withheld::SparkRate);
        }
    }
    let strays = settled.fates.stray as f32;
    (strays > MOST_STRAY * settled.placed as f32).then_some(Withheld::Interference)
}

/// Whether that many sparks a turn are not as many as are due. The turns at either end may lack their spark, and a few are
/// missed by any ignition.
#[inline(never)]
fn is_off(rate: f32, due: f32, turns: f32) -> bool {
    ((rate - due) * turns).abs() > RATE_TOLERANCE * due * turns + RATE_SLACK
}

/// A single mark has no pattern: that it came at the spark pickup shows by the rate being turned over. A
/// four whose clamp sees all cylinders has that rate too; there the speed must be right only if the spark
/// signal is the crank's.
fn looks_swapped(job: &Job, settled: &Settled, rate: f32, due: f32) -> bool {
    let turned_over = (rate * due - 1.0).abs() < RATE_TOLERANCE;
    if job.pattern().count() > 1 || due >= 1.0 || !turned_over {
        return false;
    }
    let [low, high] = job.spec().timing.idle_rpm;
    let every = f32::from(job.spec().engine.cylinders) / f32::from(job.turns_per_cycle());
    let all_seen = (rate / every - 1.0).abs() < 2.0 * RATE_TOLERANCE;
    let rpm = settled.by_speed.usual_rpm();
    !all_seen || !(low..=high).contains(&rpm) && (low..=high).contains(&(rpm / due))
}

/// The part of the sparks that lie where some cylinder fires, if those in the fullest bin do.
fn regularity(job: &Job, settled: &Settled) -> f32 {
    // Not the median: where every cylinder's sparks are seen it lies between two of them.
    let fullest = settled.ring.iter().enumerate().max_by_key(|(_, count)| **count).map_or(0, |(bin, _)| bin);
    let centre = fullest as f32 * RING_DEGREES;
    let shortest = job.firing_intervals().iter().copied().fold(360.0, f32::min);
    let reach = 20.0f32.min(shortest / 5.0);
    let firing = |cylinder: u8| job.firing_angle(cylinder).unwrap_or(0.0);
    let order = &job.spec().engine.firing_order;
    // Sparks beside a firing, if the fullest bin holds this cylinder's.
    let beside = |own: u8| -> u32 {
        let near = |(bin, _): &(usize, &u16)| {
            let away = *bin as f32 * RING_DEGREES - centre;
            let off = |other: &u8| crate::units::wrap_degrees(away + firing(*other) - firing(own)).abs();
            order.iter().any(|other| off(other) <= reach)
        };
        // Most of the ring is empty, and whether an empty bin is near costs as much to ask.
        settled
            .ring
            .iter()
            .enumerate()
            .filter(|(_, count)| **count > 0)
            .filter(near)
            .map(|(_, count)| u32::from(*count))
            .sum()
    };
    let own_or_any = job.spec().engine.firing_intervals.as_ref().map_or(1, |_| order.len());
    let near = order.iter().take(own_or_any).map(|own| beside(*own)).max().unwrap_or(0);
    let beside_firings = near as f32 / settled.placed.max(1) as f32;
    beside_firings.max(share_of_few_places(settled))
}

/// The part of all sparks that come at a few places of the turn, wherever these are: an ignition of another engine
/// than the job's comes at some, interference anywhere.
fn share_of_few_places(settled: &Settled) -> f32 {
    let crowded = CROWDED * settled.placed as f32 / RING_BINS as f32;
    let in_crowds: u32 = settled
        .ring
        .iter()
        .filter(|count| f32::from(**count) >= crowded)
        .map(|count| u32::from(*count))
        .sum();
    in_crowds as f32 / settled.placed.max(1) as f32
}

/// Whether a computer that is steering could have moved the advance by so much at idle.
fn could_be_steering(job: &Job, settled: &Settled, by: f32) -> bool {
    job.spec().timing.control != Control::Mechanical
        && by.abs() <= STEERED_AT_IDLE
        && settled.trend().is_some_and(|trend| trend.deg_per_1000rpm > STEERED_GAIN)
}

fn mostly_outside(fates: &Fates) -> bool {
    fates.outside_idle > 2 * (fates.used + fates.unsteady) && fates.outside_idle >= 4
}

fn speed_reason(settled: &Settled) -> Option<Withheld> {
    let fates = settled.fates;
    // A hand that never leaves the throttle alone: most of what lies outside the band only passed there.
    let outside = if fates.passing > 0 { Withheld::Unsteady } else { Withheld::OutsideIdleBand };
    let rest = fates.unsteady + fates.outside_idle;
    let in_band = fates.used + fates.unsteady;
    if in_band >= FEW && (fates.restless * 5 > in_band * 2 || fates.unsteady * 2 > in_band) {
        return Some(Withheld::Unsteady);
    }
    if (1..FEW).contains(&fates.used) && rest > HARDLY_EVER * fates.used {
        return Some(if fates.unsteady > fates.outside_idle || fates.used > 3 {
            Withheld::Unsteady
        } else {
            outside
        });
    }
    if fates.used >= FEWEST_FOR_INTERVAL as u32 || fates.cranking >= 4 && fates.used == 0 {
        return None;
    }
    Some(if mostly_outside(&fates) {
        outside
    } else if fates.unsteady > fates.used && fates.unsteady >= 3 {
        Withheld::Unsteady
    } else {
        Withheld::TooFewSparks
    })
}
