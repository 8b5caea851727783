//! The evidence for each cause, as one plain sentence with its numbers.

use super::evidence::Evidence;
use super::posterior::Posterior;
use super::result::{Because, CauseId};
use super::table::lead_shift;
use crate::job::Job;
use core::fmt;

fn degrees(hundredths: i32) -> f32 {
    hundredths as f32 / 100.0
}

/// The evidence for this cause.
pub(super) fn because(id: CauseId, job: &Job, evidence: &Evidence, posterior: &Posterior) -> Because {
    let error = evidence.error.map_or(0.0, |error| degrees(error.value));
    let slope = evidence.slope.map(|slope| degrees(slope.value));
    let which = posterior.variant(id);
    match id {
        CauseId::Healthy if size(error) > job.spec().timing.tolerance => Because::InDoubt { error },
        CauseId::Healthy => Because::Within { error },
        CauseId::OffTarget => Because::Off { error },
        CauseId::SetAfterTdc => Because::MirrorOfTarget { target: job.target_degrees() },
        CauseId::SetOutOfBaseMode => {
            Because::ShortByOffset { short: -error, offset: job.spec().timing.harness_offset }
        }
        CauseId::NotInBaseMode => match (slope, evidence.idle_slope) {
            (Some(per_1000), _) if per_1000 > 1.0 => Because::RisesWithSpeed { per_1000 },
            (_, Some(idle)) if idle.value < -500 => {
                Because::OpposesWander { per_100: degrees(-idle.value) / 10.0 }
            }
            _ => Because::AboveByOffset { above: error, offset: job.spec().timing.harness_offset },
        },
        CauseId::ClampOnOtherLead => {
            let cylinder = which.unsigned_abs();
            let shift = lead_shift(job, cylinder);
            let same = |other: &&u8| **other != cylinder && lead_shift(job, **other).abs_diff(shift) < 100;
            let other = job.spec().engine.firing_order.iter().find(same).copied();
            Because::LeadOf { cylinder, other, away: degrees(-shift) }
        }
        CauseId::DriveToothOff => Because::ToothAway { teeth: which, error },
        // Weights hide the fall above idle: there the wander of idle shows it.
        CauseId::FixedDelay => match slope.filter(|slope| *slope < 0.0).or(idle_fall(evidence)) {
            Some(per_1000) => Because::FallsWithSpeed { per_1000, delay_us: -per_1000 * (1000.0 / 6.0) },
            None => Because::LateByTime { error },
        },
        CauseId::MechanismAdvancing => match (evidence.idle_slope, evidence.dip) {
            (_, Some(hose)) if hose.value < -150 => {
                Because::DropsAsThrottleOpens { by: degrees(-hose.value) }
            }
            (Some(idle), _) if idle.value > 250 => {
                Because::RisesAtIdle { per_1000: degrees(idle.value), error }
            }
            _ => Because::HighAtIdle { error },
        },
        CauseId::WornDrive => Because::Scatters { by: evidence.scatter.unwrap_or(0) as f32 / 100.0 },
        CauseId::WeakSupply => Because::LowSupply {
            volts: degrees(evidence.supply.unwrap_or(0)),
            limit: job.spec().timing.supply_min_v.unwrap_or(0.0),
        },
        CauseId::DeadCylinder => match evidence.balance {
            Some(signs) => {
                Because::NoWork { cylinder: signs.weakest, second: signs.second, share: signs.share }
            }
            None => Because::NoWork { cylinder: 0, second: 0, share: 0.0 },
        },
        CauseId::ClampOnCoilLead => Because::SeesEvery {
            rate: degrees(evidence.spark_rate.unwrap_or(0)),
            cylinders: job.spec().engine.cylinders,
        },
        CauseId::DwellStartSeen => Because::EarlyByTime {
            per_1000: slope.unwrap_or(0.0),
            milliseconds: match slope {
                Some(slope) => slope / 6.0,
                None => error / (6.0e-3 * evidence.idle_rpm.max(1) as f32),
            },
        },
    }
}

fn idle_fall(evidence: &Evidence) -> Option<f32> {
    let idle = evidence.idle_slope.filter(|idle| idle.value < -(idle.doubt.min(10_000) as i32))?;
    Some(degrees(idle.value))
}

fn size(x: f32) -> f32 {
    if x < 0.0 { -x } else { x }
}

fn early_or_late(error: f32) -> &'static str {
    if error > 0.0 { "early" } else { "late" }
}

impl fmt::Display for Because {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Off { error } => {
                let word = early_or_late(error);
                write!(f, "It reads {:.1}° {word}, by an amount that no other cause explains.", size(error))
            }
            Self::Within { error } => {
                write!(f, "It reads {:.1}° from the target and is steady.", size(error))
            }
            Self::InDoubt { error } => {
                write!(
                    f,
                    "It reads {:.1}° {}, which its doubt can explain.",
                    size(error),
                    early_or_late(error)
                )
            }
            Self::MirrorOfTarget { target } => {
                let (here, there) = if target > 0.0 { ("after", "before") } else { ("before", "after") };
                write!(
                    f,
                    "It reads as far {here} zero as the target of {:.1}° lies {there} it: two times the target off.",
                    size(target)
                )
            }
            Self::ShortByOffset { short, offset } => {
                let word = if short > 0.0 { "below" } else { "above" };
                write!(
                    f,
                    "It reads {:.1}° {word} the target, about the {:.1}° that the computer adds while it steers.",
                    size(short),
                    size(offset)
                )
            }
            Self::AboveByOffset { above, offset } => write!(
                f,
                "It reads {:.1}° {}, and a steering computer adds about {offset:.1}°: nothing yet shows that base mode holds.",
                size(above),
                early_or_late(above)
            ),
            Self::RisesWithSpeed { per_1000 } => {
                write!(f, "The advance rose {per_1000:.1}° for each 1000 rpm: the computer is steering.")
            }
            Self::OpposesWander { per_100 } => write!(
                f,
                "At idle the advance falls {per_100:.1}° when the speed rises 100 rpm, and back: the computer is steering."
            ),
            Self::LeadOf { cylinder, other: Some(other), away } => write!(
                f,
                "It reads as a clamp on the lead of cylinder {cylinder} or {other} would, {:.0}° away.",
                size(away)
            ),
            Self::LeadOf { cylinder, other: None, away } => {
                write!(
                    f,
                    "It reads as a clamp on the lead of cylinder {cylinder} would, {:.0}° away.",
                    size(away)
                )
            }
            Self::ToothAway { teeth, error } => {
                let word = early_or_late(error);
                let count = teeth.unsigned_abs();
                let teeth = if count == 1 { "tooth" } else { "teeth" };
                write!(
                    f,
                    "It reads {:.1}° {word}: so much is {count} {teeth} of the drive gear.",
                    size(error)
                )
            }
            Self::FallsWithSpeed { per_1000, delay_us } => write!(
                f,
                "The advance falls {:.1}° for each 1000 rpm, in proportion: the spark comes {:.0} µs late.",
                size(per_1000),
                size(delay_us)
            ),
            Self::LateByTime { error } => {
                write!(
                    f,
                    "It reads {:.1}° {}: a fixed delay of the spark could be in it, and a blip would show that.",
                    size(error),
                    early_or_late(error)
                )
            }
            Self::RisesAtIdle { per_1000, error } => write!(
                f,
                "It reads {:.1}° {} and follows the speed within the idle band ({per_1000:.0}° for 1000 rpm): the weights are out.",
                size(error),
                early_or_late(error)
            ),
            Self::DropsAsThrottleOpens { by } => write!(
                f,
                "It reads high at idle and drops {by:.1}° as the throttle opens: a vacuum hose is on."
            ),
            Self::HighAtIdle { error } => {
                write!(
                    f,
                    "It reads {:.1}° {} at idle: weights out or a vacuum hose on could be in it.",
                    size(error),
                    early_or_late(error)
                )
            }
            Self::Scatters { by } => {
                write!(f, "The sparks scatter by {by:.1}° whatever the speed does: the drive is worn.")
            }
            Self::LowSupply { volts, limit } => {
                write!(f, "The supply at idle is {volts:.1} V, below {limit:.1} V.")
            }
            Self::NoWork { cylinder, second: 0, share } => {
                write!(
                    f,
                    "Cylinder {cylinder} does {:.0} % of its share of the work.",
                    share.max(0.0) * 100.0
                )
            }
            Self::NoWork { cylinder, second, .. } => {
                write!(f, "Cylinders {cylinder} and {second} do not do their share of the work.")
            }
            Self::SeesEvery { rate, cylinders } => {
                write!(f, "{rate:.1} sparks a turn: the clamp sees the sparks of all {cylinders} cylinders.")
            }
            Self::EarlyByTime { milliseconds, .. } => write!(
                f,
                "It is early by a fixed {milliseconds:.1} ms whatever the speed: the start of the coil's charging is seen, not the spark."
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::string::ToString;

    #[test]
    fn a_sentence_has_one_full_stop_and_never_a_bare_sign() {
        for error in [-12.3f32, 12.3] {
            let sentences = [
                Because::Off { error },
                Because::Within { error },
                Because::InDoubt { error },
                Because::MirrorOfTarget { target: error },
                Because::ShortByOffset { short: error, offset: error },
                Because::AboveByOffset { above: error, offset: 10.0 },
                Because::RisesWithSpeed { per_1000: 8.0 },
                Because::OpposesWander { per_100: 1.2 },
                Because::LeadOf { cylinder: 3, other: None, away: error },
                Because::LeadOf { cylinder: 3, other: Some(2), away: error },
                Because::ToothAway { teeth: if error > 0.0 { 1 } else { -2 }, error },
                Because::FallsWithSpeed { per_1000: error, delay_us: -error * 166.7 },
                Because::LateByTime { error },
                Because::RisesAtIdle { per_1000: 9.0, error },
                Because::DropsAsThrottleOpens { by: 4.0 },
                Because::HighAtIdle { error },
                Because::Scatters { by: 1.4 },
                Because::LowSupply { volts: 12.1, limit: 13.2 },
                Because::NoWork { cylinder: 4, second: 0, share: -0.1 },
                Because::NoWork { cylinder: 4, second: 2, share: 0.1 },
                Because::SeesEvery { rate: 4.0, cylinders: 8 },
                Because::EarlyByTime { per_1000: 9.0, milliseconds: 3.1 },
            ];
            for sentence in sentences.map(|because| because.to_string()) {
                let signs =
                    sentence.as_bytes().windows(2).any(|pair| pair[0] == b'-' && pair[1].is_ascii_digit());
                assert!(!signs, "{sentence}");
                assert!(sentence.ends_with('.') && !sentence.ends_with(".."), "{sentence}");
            }
        }
    }
}
