//! The table of causes: for each, how common it is, where it can occur, and what it predicts.
//!
//! *Variant*: one way in which a cause may be there (which lead, how many teeth, set this way or that),
//! with its share of the cause. *Expectation*: what a variant predicts for one piece of evidence, as a
//! density; all in hundredths, as [`super::evidence`] gives them.
//!
//! To add a cause: give it an id in [`CauseId`], one entry here, its sentence in [`super::because`] and
//! its remedy in [`super::remedy`], and the checks that tell it apart in [`super::checks`]; the tests in
//! `reachable` then ask that it can be reached and told from every other.
//!
//! The priors are judgement, not counts: no published figure splits wrong settings by their cause. What
//! lies near a signature is weighed against plain misadjustment by how narrow the signature is.

use super::bits::{Bits, around, between, both, near};
use super::evidence::{Evidence, Measured};
use super::result::CauseId;
use crate::job::{Control, Job, Pattern};
use crate::units::wrap_degrees;

/// What a variant predicts for one piece of evidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Expectation {
    /// Near a value, with a spread of its own beside the measurement's.
    Near { centre: i32, spread: u32 },
    /// Anything in a range alike.
    Between { low: i32, high: i32 },
}

impl Expectation {
    /// The same with at least this spread.
    pub(super) fn loosened(self, least: u32) -> Self {
        match self {
            Self::Near { centre, spread } => Self::Near { centre, spread: spread.max(least) },
            wide @ Self::Between { .. } => wide,
        }
    }

    /// The same about a centre that lies so much higher.
    pub(super) fn moved(self, by: i32) -> Self {
        match self {
            Self::Near { centre, spread } => Self::Near { centre: centre.saturating_add(by), spread },
            Self::Between { low, high } => {
                Self::Between { low: low.saturating_add(by), high: high.saturating_add(by) }
            }
        }
    }

    /// The same for an angle in hundredths of a degree, which wraps at half a turn.
    pub(super) fn density_on_circle(self, measured: Option<Measured>) -> Bits {
        let middle = match self {
            Self::Near { centre, .. } => centre,
            Self::Between { low, high } => low.saturating_add(high) / 2,
        };
        self.density(measured.map(|Measured { value, doubt }| {
            let away = (value - middle + 18_000).rem_euclid(36_000) - 18_000;
            Measured { value: middle + away, doubt }
        }))
    }

    pub(super) fn density(self, measured: Option<Measured>) -> Bits {
        let Some(Measured { value, doubt }) = measured else { return Bits::ONE };
        match self {
            Self::Near { centre, spread } => near(value, centre, both(spread, doubt)),
            Self::Between { low, high } => between(value, low, high, both(doubt, 10)),
        }
    }
}

/// How much the sparks scatter once the wander of speed is taken off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scatter {
    /// As a sound ignition does: around 0.13°, rarely 0.4°.
    Sound,
    /// As a steered one does.
    Steered,
    /// As a worn drive makes it: around 1.1°.
    Worn,
}

impl Scatter {
    /// `unseen` is what few marks add to any of them; how much of that there is is hardly known.
    pub(super) fn density(self, measured: Option<u32>, unseen: u32) -> Bits {
        let Some(measured) = measured else { return Bits::ONE };
        // Nothing is known to scatter less than a twentieth of a degree.
        let measured = measured.max(5);
        let (own, spread) = match self {
            Self::Sound => (13, 165),
            Self::Steered => (50, 190),
            Self::Worn => (110, 218),
        };
        let unsure = if unseen > own { 100 } else { 0 };
        let centre = if unseen == 0 { own } else { both(own, unseen) };
        around(measured, centre, spread + unsure)
    }
}

/// One way in which a cause may be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Variant {
    /// The lead (cylinder) or the number of teeth; 0 where there is nothing to tell.
    pub(super) which: i8,
    /// Its share of the cause, ten thousandths.
    pub(super) share: u32,
    pub(super) error: Expectation,
    pub(super) slope: Expectation,
    pub(super) idle_slope: Expectation,
    pub(super) bend: Expectation,
    pub(super) top_slope: Expectation,
    pub(super) dip: Expectation,
    pub(super) up_minus_down: Expectation,
    pub(super) scatter: Scatter,
}

/// A fixed time is a straight line against speed; so is nothing at all.
const STRAIGHT: Expectation = Expectation::Near { centre: 0, spread: 60 };
/// Weights that start above idle: flat at first, then a slope.
const STARTS_ABOVE_IDLE: Expectation = Expectation::Near { centre: 650, spread: 400 };
/// Advance above idle that weights, a map and a hose give.
const WEIGHTS_GIVE: Expectation = Expectation::Between { low: -300, high: 1800 };

/// Advance over the highest speeds: weights come to their stop, a map levels off; only the start of charging can't.
const ANYHOW_AT_TOP: Expectation = Expectation::Between { low: -1500, high: 3000 };

/// One cause.
pub(super) struct Entry {
    pub(super) id: CauseId,
    /// How common it is among the engines that come to be timed, ten thousandths.
    pub(super) prior: u32,
    pub(super) applies: fn(&Job) -> bool,
    pub(super) variants: fn(&Job, &Evidence, &mut dyn FnMut(Variant)),
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
    Entry { id: CauseId::MechanismAdvancing, prior: 1400, applies: is_mechanical, variants: mechanism },
    Entry { id: CauseId::DwellStartSeen, prior: 250, applies: always, variants: dwell_start },
];

/// How common a worn drive is where a distributor times the spark, ten thousandths.
pub(super) const WORN_PRIOR: u32 = 400;
/// How common a dead cylinder is, ten thousandths.
pub(super) const DEAD_PRIOR: u32 = 400;

fn always(_: &Job) -> bool {
    true
}

fn tolerance(job: &Job) -> i32 {
    (job.spec().timing.tolerance * 100.0) as i32
}

fn target(job: &Job) -> i32 {
    (job.target_degrees() * 100.0) as i32
}

fn offset(job: &Job) -> i32 {
    (job.spec().timing.harness_offset * 100.0) as i32
}

fn target_clear_of_zero(job: &Job) -> bool {
    target(job).abs() > tolerance(job)
}

fn is_mechanical(job: &Job) -> bool {
    job.spec().timing.control == Control::Mechanical
}

fn has_computer(job: &Job) -> bool {
    !is_mechanical(job)
}

fn has_offset(job: &Job) -> bool {
    has_computer(job) && offset(job).abs() > tolerance(job)
}

fn has_drive_gear(job: &Job) -> bool {
    job.distributor_times_spark() && job.spec().engine.drive_gear_teeth.is_some()
}

fn has_other_leads(job: &Job) -> bool {
    job.spec().engine.firing_order.iter().any(|cylinder| lead_shift(job, *cylinder).abs() > 100)
}

/// What a clamp on this cylinder's lead adds to the reading, hundredths, wrapped.
pub(super) fn lead_shift(job: &Job, cylinder: u8) -> i32 {
    let firing = job.firing_angle(cylinder).unwrap_or(0.0);
    (wrap_degrees(-firing) * 100.0) as i32
}

/// Steady with speed: no cause that moves it. Weights and vacuum move it above idle on a sound engine.
fn steady(job: &Job, error: Expectation) -> Variant {
    let mechanical = is_mechanical(job);
    // A fiftieth of a degree for 100 rpm is 33 µs; what few marks can't see is in the measurement's doubt, but
    // not all of it.
    let still = if matches!(job.pattern(), Pattern::Marks(_)) { 40 } else { 20 };
    let slope = if mechanical { WEIGHTS_GIVE } else { Expectation::Near { centre: 0, spread: still } };
    // Weights come back later than they went out.
    let up_minus_down = if mechanical {
        Expectation::Near { centre: -170, spread: 140 }
    } else {
        Expectation::Near { centre: 0, spread: 60 }
    };
    Variant {
        which: 0,
        share: 10_000,
        error,
        slope,
        idle_slope: Expectation::Near { centre: 0, spread: 100 },
        bend: if mechanical { STARTS_ABOVE_IDLE } else { STRAIGHT },
        top_slope: ANYHOW_AT_TOP,
        dip: if mechanical {
            Expectation::Between { low: -60, high: 800 }
        } else {
            Expectation::Near { centre: 0, spread: 60 }
        },
        up_minus_down,
        scatter: Scatter::Sound,
    }
}

fn healthy(job: &Job, _: &Evidence, say: &mut dyn FnMut(Variant)) {
    let reach = tolerance(job);
    say(steady(job, Expectation::Between { low: -reach, high: reach }));
}

fn off_target(job: &Job, _: &Evidence, say: &mut dyn FnMut(Variant)) {
    let reach = tolerance(job);
    let early = Expectation::Between { low: reach, high: 800 };
    let very_early = Expectation::Between { low: 800, high: 1500 };
    let late = Expectation::Between { low: -1500, high: -reach };
    // Anywhere: what no cause explains is at least not called healthy.
    let far = Expectation::Between { low: -18_000, high: 18_000 };
    // Weights or a hose explain a large lead on a mechanical distributor better than the hand does.
    let (near, more) = if is_mechanical(job) { (4200, 450) } else { (2600, 2250) };
    for (error, share) in [(early, near), (very_early, more), (late, 4850), (far, 300)] {
        say(Variant { share, ..steady(job, error) });
    }
}

fn set_after_tdc(job: &Job, _: &Evidence, say: &mut dyn FnMut(Variant)) {
    say(steady(job, Expectation::Near { centre: -2 * target(job), spread: 55 }));
}

fn set_out_of_base_mode(job: &Job, _: &Evidence, say: &mut dyn FnMut(Variant)) {
    say(steady(job, Expectation::Near { centre: -offset(job), spread: 75 }));
}

/// The base may be right, set so that it reads the target now, or anything.
fn not_in_base_mode(job: &Job, _: &Evidence, say: &mut dyn FnMut(Variant)) {
    let reach = tolerance(job);
    let added = Expectation::Near { centre: offset(job), spread: 180 };
    let hidden = Expectation::Between { low: -reach - 100, high: reach + 100 };
    let any = Expectation::Between { low: -2500, high: 2500 };
    for (error, share) in [(added, 5000), (hidden, 3500), (any, 1500)] {
        // A map rises from idle to the middle speeds; at idle it opposes the wander of speed.
        say(Variant {
            which: 0,
            share,
            error,
            slope: Expectation::Between { low: 150, high: 1800 },
            idle_slope: Expectation::Between { low: -13_000, high: -1000 },
            bend: Expectation::Between { low: -800, high: 3000 },
            top_slope: ANYHOW_AT_TOP,
            dip: Expectation::Between { low: -400, high: 700 },
            up_minus_down: Expectation::Between { low: -500, high: 300 },
            scatter: Scatter::Steered,
        });
    }
}

fn other_lead(job: &Job, _: &Evidence, say: &mut dyn FnMut(Variant)) {
    let order = &job.spec().engine.firing_order;
    let share = 10_000 / order.len().saturating_sub(1).max(1) as u32;
    for cylinder in order {
        let shift = lead_shift(job, *cylinder);
        if shift.abs() > 100 {
            let error = Expectation::Near { centre: shift, spread: 120 };
            say(Variant { which: *cylinder as i8, share, ..steady(job, error) });
        }
    }
}

fn drive_tooth(job: &Job, _: &Evidence, say: &mut dyn FnMut(Variant)) {
    let Some(teeth) = job.spec().engine.drive_gear_teeth else { return };
    let tooth = job.cycle_degrees() / f32::from(teeth.max(1));
    for (count, share) in [(-1i8, 4000), (1, 4000), (-2, 1000), (2, 1000)] {
        let shift = wrap_degrees(tooth * f32::from(count)) * 100.0;
        let error = Expectation::Near { centre: shift as i32, spread: 85 };
        say(Variant { which: count, share, ..steady(job, error) });
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
fn fixed_delay(job: &Job, evidence: &Evidence, say: &mut dyn FnMut(Variant)) {
    let reach = tolerance(job);
    let mechanical = is_mechanical(job);
    let fall = Expectation::Between { low: -900, high: -60 };
    let (slope, line) = if mechanical {
        (Expectation::Between { low: -900, high: 2700 }, evidence.idle_slope)
    } else {
        (fall, evidence.slope)
    };
    let idle_slope = if line.is_some() { fall } else { Expectation::Near { centre: -200, spread: 200 } };
    let unseen = Expectation::Between { low: -500, high: -30 };
    let from_rest = error_from_line(line, evidence.idle_rpm, unseen, 70);
    let at_idle = Expectation::Between { low: -reach, high: reach };
    let any = Expectation::Between { low: -1500, high: 1500 };
    for (error, share) in [(from_rest, 6500), (at_idle, 2500), (any, 1000)] {
        say(Variant { share, slope, idle_slope, ..steady(job, error) });
    }
}

/// Weights that are out at idle follow the speed there, and have less left to give above; a hose that is on
/// gives way as the throttle opens, unless the throttle was not opened far enough.
fn mechanism(job: &Job, evidence: &Evidence, say: &mut dyn FnMut(Variant)) {
    for (share, low, high) in [(2700, 300, 1500), (2300, 1500, 4500)] {
        say(Variant {
            share,
            idle_slope: Expectation::Between { low, high },
            bend: Expectation::Between { low: -high, high: 250 },
            ..steady(job, gained_since_weights_began(evidence))
        });
    }
    let hose = steady(job, Expectation::Between { low: 450, high: 1700 });
    say(Variant {
        share: 3000,
        slope: Expectation::Between { low: -900, high: 1800 },
        // The throttle that opens a little more at idle takes from it.
        idle_slope: Expectation::Near { centre: -80, spread: 200 },
        bend: Expectation::Near { centre: 400, spread: 900 },
        // Weights that come out meanwhile may hide the drop, but not that the way down lies higher.
        dip: Expectation::Between { low: -1300, high: 150 },
        up_minus_down: Expectation::Between { low: -1400, high: -100 },
        ..hose
    });
    say(Variant { share: 2000, ..hose });
}

/// Slowest speed at which weights begin to move, rpm: below it no spring would bring them back (common
/// practice, no source).
const WEIGHTS_BEGIN: i32 = 250;

/// Weights give what their slope makes of the speed above their start, and not more.
fn gained_since_weights_began(evidence: &Evidence) -> Expectation {
    let most = evidence.idle_slope.map_or(2500, |slope| {
        let slope = slope.value.saturating_add(slope.doubt as i32);
        (slope.saturating_mul(evidence.idle_rpm - WEIGHTS_BEGIN) / 1000).clamp(150, 2500)
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
fn dwell_start(job: &Job, evidence: &Evidence, say: &mut dyn FnMut(Variant)) {
    let unseen = Expectation::Between { low: 300, high: 3200 };
    let gain = Expectation::Between { low: 550, high: 3700 };
    let mechanical = is_mechanical(job);
    let line = if mechanical { evidence.idle_slope } else { evidence.slope };
    say(Variant {
        slope: if mechanical { gain_with_weights(evidence) } else { gain },
        idle_slope: gain,
        bend: Expectation::Near { centre: if mechanical { 300 } else { 0 }, spread: 600 },
        top_slope: gain_at_top(evidence),
        dip: Expectation::Between { low: -100, high: 1000 },
        up_minus_down: Expectation::Near { centre: -180, spread: 300 },
        ..steady(job, error_from_line(line, evidence.idle_rpm, unseen, 50))
    });
}
