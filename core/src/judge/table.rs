//! The table of causes: for each, how common it is, where it can occur, and what it predicts.
//!
//! *Variant*: one way in which a cause may be there (which lead, how many teeth, set this way or that), with its
//! share of the cause. *Expectation*: what a variant predicts for one piece of evidence. *Manner*: all it predicts
//! beside the error. All in hundredths, as [`super::evidence`] gives them.
//!
//! To add a cause: give it an id in [`CauseId`], one entry here, its sentence in [`super::because`] and
//! its remedy in [`super::remedy`], and the checks that tell it apart in [`super::checks`]; the tests in
//! `reachable` then ask that it can be reached and told from every other.
//!
//! The priors are judgement, not counts: no published figure splits wrong settings by their cause. What
//! lies near a signature is weighed against plain misadjustment by how narrow the signature is.

use super::bits::both;
use super::evidence::{Evidence, Measured};
use super::expectation::{Expectation, Manner, Scatter, Variant};
use super::result::CauseId;
use crate::job::{Control, Job, Pattern};

/// What the table is asked about: the job in the judge's whole numbers, and what was seen.
pub(super) struct Given<'a> {
    pub(super) job: &'a Job,
    pub(super) evidence: &'a Evidence,
    mechanical: bool,
    tolerance: i32,
    target: i32,
    offset: i32,
    /// Manner of a setting that stands still; most variants share it.
    pub(super) steady: Manner,
}

impl<'a> Given<'a> {
    pub(super) fn new(job: &'a Job, evidence: &'a Evidence) -> Self {
        let timing = &job.spec().timing;
        let mechanical = timing.control == Control::Mechanical;
        Self {
            job,
            evidence,
            mechanical,
            tolerance: (timing.tolerance * 100.0) as i32,
            target: (job.target_degrees() * 100.0) as i32,
            offset: (timing.harness_offset * 100.0) as i32,
            steady: steady(mechanical, matches!(job.pattern(), Pattern::Marks(_))),
        }
    }

    /// A setting that stands still at this error.
    fn still(&self, share: u32, error: Expectation) -> Variant {
        Variant { which: 0, share, error, manner: self.steady }
    }
}

/// A fixed time is a straight line against speed; so is nothing at all.
const STRAIGHT: Expectation = Expectation::Near { centre: 0, spread: 60 };
/// Weights that start above idle: flat at first, then a slope.
const STARTS_ABOVE_IDLE: Expectation = Expectation::Near { centre: 550, spread: 500 };
/// Advance above idle that weights, a map and a hose give.
const WEIGHTS_GIVE: Expectation = Expectation::Between { low: -300, high: 1800 };

/// Advance over the highest speeds: weights come to their stop, a map levels off; only the start of charging can't.
const ANYHOW_AT_TOP: Expectation = Expectation::Between { low: -1500, high: 3000 };

/// One cause.
pub(super) struct Entry {
    pub(super) id: CauseId,
    /// How common it is among the engines that come to be timed, ten thousandths.
    pub(super) prior: u32,
    pub(super) applies: fn(&Given) -> bool,
    pub(super) variants: fn(&Given, &mut dyn FnMut(Variant)),
}

/// The causes of the timing itself, of which one holds. Wear, supply and cylinders are judged beside them.
pub(super) const TIMING: [Entry; 10] = [
    Entry { id: CauseId::Healthy, prior: 4000, applies: always, variants: healthy },
    Entry { id: CauseId::OffTarget, prior: 1600, applies: always, variants: off_target },
    Entry { id: CauseId::SetAfterTdc, prior: 1600, applies: target_clear_of_zero, variants: set_after_tdc },
    Entry { id: CauseId::SetOutOfBaseMode, prior: 2700, applies: has_offset, variants: set_out_of_base_mode },
    Entry { id: CauseId::NotInBaseMode, prior: 1000, applies: has_computer, variants: not_in_base_mode },
    Entry { id: CauseId::ClampOnOtherLead, prior: 700, applies: has_other_leads, variants: other_lead },
    Entry { id: CauseId::DriveToothOff, prior: 100, applies: has_drive_gear, variants: drive_tooth },
    Entry { id: CauseId::FixedDelay, prior: 400, applies: always, variants: fixed_delay },
    Entry { id: CauseId::MechanismAdvancing, prior: 1800, applies: is_mechanical, variants: mechanism },
    Entry { id: CauseId::DwellStartSeen, prior: 250, applies: always, variants: dwell_start },
];

/// How common a worn drive is where a distributor times the spark, ten thousandths.
pub(super) const WORN_PRIOR: u32 = 400;
/// How common a dead cylinder is, ten thousandths.
pub(super) const DEAD_PRIOR: u32 = 400;

fn always(_: &Given) -> bool {
    true
}

fn target_clear_of_zero(given: &Given) -> bool {
    given.target.abs() > given.tolerance
}

fn is_mechanical(given: &Given) -> bool {
    given.mechanical
}

fn has_computer(given: &Given) -> bool {
    !given.mechanical
}

fn has_offset(given: &Given) -> bool {
    !given.mechanical && given.offset.abs() > given.tolerance
}

fn has_drive_gear(given: &Given) -> bool {
    given.job.distributor_times_spark() && given.job.spec().engine.drive_gear_teeth.is_some()
}

fn has_other_leads(given: &Given) -> bool {
    given.job.spec().engine.cylinders > 1
}

/// What a clamp on this cylinder's lead adds to the reading, hundredths, wrapped.
pub(super) fn lead_shift(job: &Job, cylinder: u8) -> i32 {
    wrapped(-((job.firing_angle(cylinder).unwrap_or(0.0) * 100.0) as i32))
}

/// Hundredths of a degree in (-180, 180].
fn wrapped(hundredths: i32) -> i32 {
    18_000 - (18_000 - hundredths).rem_euclid(36_000)
}

/// Steady with speed: no cause that moves it. Weights and vacuum move it above idle on a sound engine.
fn steady(mechanical: bool, marks: bool) -> Manner {
    // A hundredth and a half of a degree for 100 rpm is 25 µs; what few marks can't see is in the measurement's
    // doubt, but not all of it.
    let still = if marks { 25 } else { 15 };
    // Weights come back later than they went out.
    let (slope, bend, dip, up_minus_down) = if mechanical {
        (
            WEIGHTS_GIVE,
            STARTS_ABOVE_IDLE,
            Expectation::Between { low: -60, high: 800 },
            Expectation::Between { low: -430, high: 60 },
        )
    } else {
        let none = Expectation::Near { centre: 0, spread: 60 };
        (Expectation::Near { centre: 0, spread: still }, STRAIGHT, none, none)
    };
    Manner {
        slope,
        idle_slope: Expectation::Near { centre: 0, spread: 100 },
        bend,
        top_slope: ANYHOW_AT_TOP,
        dip,
        up_minus_down,
        scatter: Scatter::Sound,
    }
}

fn healthy(given: &Given, say: &mut dyn FnMut(Variant)) {
    // The hand that sets it aims at the middle of the tolerance.
    say(given.still(10_000, Expectation::Near { centre: 0, spread: given.tolerance.unsigned_abs() / 2 }));
}

fn off_target(given: &Given, say: &mut dyn FnMut(Variant)) {
    let reach = given.tolerance;
    let early = Expectation::Between { low: reach, high: 800 };
    let very_early = Expectation::Between { low: 800, high: 1500 };
    let late = Expectation::Between { low: -800, high: -reach };
    let very_late = Expectation::Between { low: -1500, high: -800 };
    // Anywhere: what no cause explains is at least not called healthy.
    let far = Expectation::Between { low: -18_000, high: 18_000 };
    // Weights or a hose explain a large lead on a mechanical distributor better than the hand does.
    let (near, more) = if given.mechanical { (4100, 550) } else { (3400, 1450) };
    for (error, share) in [(early, near), (very_early, more), (late, 3400), (very_late, 1450), (far, 300)] {
        say(given.still(share, error));
    }
}

fn set_after_tdc(given: &Given, say: &mut dyn FnMut(Variant)) {
    say(given.still(10_000, Expectation::Near { centre: -2 * given.target, spread: 55 }));
}

/// How well the hand that set it met what the computer was seen to add, hundredths: 0.45 degrees for the hand, 0.25 for
/// a steering that swings.
const SEEN_OFFSET: u32 = 50;

fn set_out_of_base_mode(given: &Given, say: &mut dyn FnMut(Variant)) {
    // Once the computer was seen to take over, what it adds is known, and only the hand that set it is not.
    let centre = match given.evidence.proven.offset {
        Some(seen) => Expectation::Near { centre: -i32::from(seen), spread: SEEN_OFFSET },
        None => Expectation::Near { centre: -given.offset, spread: 75 },
    };
    say(given.still(10_000, centre));
}

/// The base may be right, set so that it reads the target now, or anything.
fn not_in_base_mode(given: &Given, say: &mut dyn FnMut(Variant)) {
    let reach = given.tolerance;
    let added = match given.evidence.proven.offset {
        Some(seen) => Expectation::Near { centre: i32::from(seen), spread: 2 * SEEN_OFFSET },
        None => Expectation::Near { centre: given.offset, spread: 180 },
    };
    let hidden = Expectation::Between { low: -reach - 100, high: reach + 100 };
    let any = Expectation::Between { low: -2500, high: 2500 };
    // A map rises from idle to the middle speeds; at idle it opposes the wander of speed.
    let manner = Manner {
        slope: Expectation::Between { low: 150, high: 1800 },
        idle_slope: Expectation::Between { low: -13_000, high: -1000 },
        bend: Expectation::Between { low: -800, high: 3000 },
        top_slope: ANYHOW_AT_TOP,
        dip: Expectation::Between { low: -400, high: 700 },
        up_minus_down: Expectation::Between { low: -500, high: 300 },
        scatter: Scatter::Steered,
    };
    for (error, share) in [(added, 5000), (hidden, 3500), (any, 1500)] {
        say(Variant { which: 0, share, error, manner });
    }
}

fn other_lead(given: &Given, say: &mut dyn FnMut(Variant)) {
    let order = &given.job.spec().engine.firing_order;
    let share = 10_000 / order.len().saturating_sub(1).max(1) as u32;
    let mut fires_at = 0;
    for (cylinder, interval) in order.iter().zip(given.job.firing_intervals()) {
        let shift = wrapped(-fires_at);
        fires_at += (interval * 100.0) as i32;
        if shift.abs() > 100 {
            let error = Expectation::Near { centre: shift, spread: 120 };
            say(Variant { which: *cylinder as i8, ..given.still(share, error) });
        }
    }
}

fn drive_tooth(given: &Given, say: &mut dyn FnMut(Variant)) {
    let Some(teeth) = given.job.spec().engine.drive_gear_teeth else { return };
    let tooth = 36_000 * i32::from(given.job.turns_per_cycle()) / i32::from(teeth.max(1));
    for (count, share) in [(-1i8, 4000), (1, 4000), (-2, 1000), (2, 1000)] {
        let error = Expectation::Near { centre: wrapped(tooth * i32::from(count)), spread: 85 };
        say(Variant { which: count, ..given.still(share, error) });
    }
}

/// What the error would be if the line of advance against speed met the target at rest.
fn error_from_line(line: Option<Measured>, rpm: i32, unseen: Expectation, spread: u32) -> Expectation {
    match line {
        Some(Measured { value, doubt }) => Expectation::Near {
            centre: value.saturating_mul(rpm) / 1000,
            spread: both(spread, doubt.saturating_mul(rpm.unsigned_abs()) / 1000),
        },
        None => unseen,
    }
}

/// A delay takes degrees in proportion to speed; the setting may have been made right at idle all the same.
/// On a mechanical distributor the weights hide the slope above idle: there the wander of idle shows it.
fn fixed_delay(given: &Given, say: &mut dyn FnMut(Variant)) {
    let (reach, evidence) = (given.tolerance, given.evidence);
    let fall = Expectation::Between { low: -500, high: -60 };
    let (slope, line) = if given.mechanical {
        (Expectation::Between { low: -900, high: 2700 }, evidence.idle_slope)
    } else {
        (fall, evidence.slope.or(evidence.idle_slope))
    };
    let idle_slope = if line.is_some() { fall } else { Expectation::Near { centre: -200, spread: 200 } };
    let unseen = Expectation::Between { low: -500, high: -30 };
    // What rises with speed is no delay, however it is mixed with one.
    let line = line.map(|line| Measured { value: line.value.min(0), ..line });
    let from_rest = error_from_line(line, evidence.idle_rpm, unseen, 70);
    let at_idle = Expectation::Between { low: -reach, high: reach };
    let any = Expectation::Between { low: -1500, high: 1500 };
    let manner = Manner { slope, idle_slope, ..given.steady };
    for (error, share) in [(from_rest, 6500), (at_idle, 2500), (any, 1000)] {
        say(Variant { which: 0, share, error, manner });
    }
}

/// Weights that are out at idle follow the speed there, and have less left to give above; a hose that is on
/// gives way as the throttle opens, unless the throttle was not opened far enough.
fn mechanism(given: &Given, say: &mut dyn FnMut(Variant)) {
    let gained = gained_since_weights_began(given.evidence);
    for (share, low, high) in [(2700, 300, 1500), (2300, 1500, 4500)] {
        let manner = Manner {
            idle_slope: Expectation::Between { low, high },
            bend: Expectation::Between { low: -high, high: 250 },
            top_slope: Expectation::Between { low: -200, high: 1500 },
            up_minus_down: Expectation::Between { low: -330, high: 60 },
            scatter: Scatter::Weights,
            ..given.steady
        };
        say(Variant { which: 0, share, error: gained, manner });
    }
    let gives = Expectation::Between { low: HOSE_GIVES[0], high: HOSE_GIVES[1] };
    let hose = Variant { which: HOSE_ON, ..given.still(3400, gives) };
    // The throttle that falls shut pulls harder than that of idle.
    let held = Manner { up_minus_down: Expectation::Between { low: -900, high: -60 }, ..given.steady };
    let dropping = Manner {
        slope: Expectation::Between { low: -900, high: 1800 },
        // The throttle that opens a little more at idle takes from it.
        idle_slope: Expectation::Near { centre: -80, spread: 200 },
        bend: Expectation::Near { centre: 400, spread: 900 },
        // Weights that come out meanwhile may hide the drop, but not that the way down lies higher.
        dip: Expectation::Between { low: -1300, high: 150 },
        up_minus_down: Expectation::Between { low: -1400, high: -100 },
        ..given.steady
    };
    say(Variant { manner: dropping, ..hose });
    say(Variant { share: 1600, manner: held, ..hose });
}

/// Stands for the vacuum hose in [`Variant::which`]; the weights have 0.
pub(super) const HOSE_ON: i8 = 1;
/// What a diaphragm gives at idle, hundredths: 7 to 15 degrees and what the setting may be off (common practice, no
/// source).
const HOSE_GIVES: [i32; 2] = [650, 1700];

/// Slowest speed at which weights begin to move, rpm: below it no spring would bring them back (common
/// practice, no source).
const WEIGHTS_BEGIN: i32 = 250;

/// Weights give what their slope makes of the speed above their start, and not more.
fn gained_since_weights_began(evidence: &Evidence) -> Expectation {
    let most = evidence.idle_slope.map_or(1800, |slope| {
        // Pivots hold the weights back: over a small wander the slope may even seem to fall.
        let slope = slope.value.max(0).saturating_add(2 * slope.doubt.min(10_000) as i32);
        (slope.saturating_mul(evidence.idle_rpm - WEIGHTS_BEGIN) / 1000).clamp(150, 1800)
    });
    Expectation::Between { low: 30, high: most }
}

/// Gain of a line from the target at rest through idle's error.
fn own_gain(evidence: &Evidence) -> i32 {
    evidence.error.map_or(2000, |error| {
        error.value.saturating_mul(1000).checked_div(evidence.idle_rpm).unwrap_or(0).clamp(400, 3700)
    })
}

/// That line, to which weights may add above idle.
fn gain_with_weights(evidence: &Evidence) -> Expectation {
    let own = own_gain(evidence);
    Expectation::Between { low: own * 3 / 4, high: own + 1500 }
}

/// The same line goes on to the highest speed, whatever the weights do.
fn gain_at_top(evidence: &Evidence) -> Expectation {
    Expectation::Between { low: own_gain(evidence) * 3 / 4, high: 3700 }
}

/// Charging starts 1 to 6 ms before the spark: the line meets the target at rest. Above idle weights may add
/// their own, so on a mechanical distributor the line is taken from the wander of idle. Charging times change
/// as the engine speeds up, so the line need not be straight.
fn dwell_start(given: &Given, say: &mut dyn FnMut(Variant)) {
    let (evidence, mechanical) = (given.evidence, given.mechanical);
    let unseen = Expectation::Between { low: 300, high: 3200 };
    let gain = Expectation::Between { low: 550, high: 3700 };
    let line = if mechanical { evidence.idle_slope } else { evidence.slope };
    let manner = Manner {
        slope: if mechanical { gain_with_weights(evidence) } else { gain },
        idle_slope: gain,
        bend: if mechanical {
            Expectation::Near { centre: 300, spread: 900 }
        } else {
            Expectation::Near { centre: 0, spread: 600 }
        },
        top_slope: gain_at_top(evidence),
        dip: Expectation::Between { low: -100, high: 1000 },
        up_minus_down: Expectation::Near { centre: -180, spread: 300 },
        ..given.steady
    };
    let error = error_from_line(line, evidence.idle_rpm, unseen, 80);
    say(Variant { which: 0, share: 10_000, error, manner });
}
