//! What the measurement says, in the whole numbers that the judge weighs.
//!
//! Angles in hundredths of a degree, slopes in hundredths of a degree per 1000 rpm, doubts as standard
//! uncertainties in the same unit. What was not seen is `None` and weighs nothing.

use super::proven::Proven;
use crate::job::{Job, Pattern};
use crate::reading::{BalanceSigns, Reading, Signature, SpeedTrend, Status, Withheld};
use crate::units::wrap_degrees;

/// By what part of the doubt that an unseen swing leaves single sparks scatter: the work of a cylinder at idle
/// varies by about so much from cycle to cycle (common practice, no source: 5 to 20 %), and neighbours add up.
const SWING_VARIES: f32 = 0.4;

/// No idle is so fast, rpm. Beyond it the speed hardly wanders, and an edge that comes a microsecond late moves angle and
/// speed together, which looks like steering; nor is there a throttle to be opened from it.
const FASTEST_IDLE: f32 = 3000.0;

/// A measured value with its doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Measured {
    /// The value, hundredths.
    pub value: i32,
    /// Its standard uncertainty, hundredths, at least one.
    pub doubt: u32,
}

impl Measured {
    /// From a value and its standard uncertainty in whole units.
    pub fn new(value: f32, doubt: f32) -> Self {
        Self { value: hundredths(value), doubt: hundredths(doubt).unsigned_abs().max(1) }
    }
}

fn hundredths(x: f32) -> i32 {
    // A million degrees is as wild as any more, and leaves room to subtract and turn the sign.
    let scaled = (x * 100.0).clamp(-1e8, 1e8);
    if scaled >= 0.0 { (scaled + 0.5) as i32 } else { (scaled - 0.5) as i32 }
}

/// Everything the judge weighs.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Evidence {
    /// Measured minus target.
    pub error: Option<Measured>,
    /// Speed at which it was measured, rpm.
    pub idle_rpm: i32,
    /// Gain with speed over a span of 300 rpm or more, per 1000 rpm.
    pub slope: Option<Measured>,
    /// Gain with the small wander of idle speed, per 1000 rpm.
    pub idle_slope: Option<Measured>,
    /// How much steeper the gain is over the upper half of the speeds than over the lower, per 1000 rpm.
    pub bend: Option<Measured>,
    /// Gain over the highest speeds alone, per 1000 rpm.
    pub top_slope: Option<Measured>,
    /// Scatter left when the wander of speed is taken off.
    pub scatter: Option<u32>,
    /// Scatter that few marks add: the swing of the speed within a turn, which they can't see, is another in
    /// every cycle.
    pub unseen_scatter: u32,
    /// Advance as the throttle opens minus that at idle.
    pub dip: Option<Measured>,
    /// Advance on the way up minus on the way down, at the same speeds.
    pub up_minus_down: Option<Measured>,
    /// Sparks a turn, hundredths.
    pub spark_rate: Option<i32>,
    /// The spark rate is why no reading is given.
    pub wrong_spark_rate: bool,
    /// Supply at idle, hundredths of a volt.
    pub supply: Option<i32>,
    /// What the balance says of weak cylinders.
    pub balance: Option<BalanceSigns>,
    /// What the technician says of base mode.
    pub base_mode_told: Option<bool>,
    /// What has been proven.
    pub proven: Proven,
}

impl Evidence {
    /// Gathers the evidence of one reading.
    #[inline(never)]
    pub fn gather(
        job: &Job,
        reading: &Reading,
        signature: &Signature,
        trend: Option<&SpeedTrend>,
        balance: Option<BalanceSigns>,
        proven: Proven,
    ) -> Self {
        let given = reading.status == Status::Given && !reading.cranking;
        let error = match (reading.advance, reading.uncertainty) {
            (Some(advance), Some(doubt)) if given => {
                Some(Measured::new(wrap_degrees(advance.degrees() - job.target_degrees()), doubt / 2.0))
            }
            _ => None,
        };
        let pair = |pair: (f32, f32)| Measured::new(pair.0, pair.1);
        let marks = matches!(job.pattern(), Pattern::Marks(_));
        // The ripple that the nodes can't see shrinks as the speed grows, and so moves the angle with it.
        let unseen = reading.uncertainty.unwrap_or(0.0) / 2.0;
        let rpm = reading.rpm.unwrap_or(0.0).max(1.0);
        let idles = given && rpm < FASTEST_IDLE;
        // Few marks do not see that a turn which sped up did so at one place: its spark seems to move with it.
        let sped_up = if marks { 6.0 } else { 2.0 };
        let idle_slope =
            signature.idle_slope.map(|(slope, doubt)| (slope, doubt + 1000.0 * sped_up * unseen / rpm));
        let slope = trend.map(|trend| {
            let span = (trend.rpm_high - trend.rpm_low).max(1.0);
            (trend.deg_per_1000rpm, trend.slope_uncertainty + 1000.0 * unseen / span)
        });
        // What else is made of the angle at several speeds, few marks doubt as much.
        let (blind, span) = match (marks, trend) {
            (true, Some(trend)) => (unseen, (trend.rpm_high - trend.rpm_low).max(1.0)),
            (true, None) => (unseen, 1000.0),
            (false, _) => (0.0, 1000.0),
        };
        let doubted = |pair: Option<(f32, f32)>, more: f32| {
            pair.filter(|_| idles).map(|(value, doubt)| Measured::new(value, doubt + more))
        };
        Self {
            error,
            idle_rpm: reading.rpm.unwrap_or(0.0) as i32,
            slope: slope.filter(|_| given).map(pair),
            idle_slope: idle_slope.filter(|_| idles).map(pair),
            bend: doubted(signature.bend, 4000.0 * blind / span),
            top_slope: doubted(signature.top_slope, 4000.0 * blind / span),
            scatter: signature.scatter.filter(|_| given).map(|scatter| hundredths(scatter).unsigned_abs()),
            unseen_scatter: if marks { hundredths(unseen * SWING_VARIES).unsigned_abs() } else { 0 },
            dip: doubted(signature.dip, 0.5 * blind),
            up_minus_down: doubted(signature.up_minus_down, 0.5 * blind),
            spark_rate: reading.sparks_per_revolution.map(hundredths),
            wrong_spark_rate: reading.reasons.contains(&Withheld::SparkRate),
            supply: reading.battery_v.map(hundredths),
            balance: balance.filter(|_| given),
            base_mode_told: job.spec().base_mode,
            proven,
        }
    }
}
