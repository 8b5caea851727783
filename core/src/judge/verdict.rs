//! On target, late or early; and the causes that the number alone can tell apart.

use super::correction::correction;
use super::result::{Because, Cause, CauseId, Causes, Judgement, Remedy, Verdict};
use crate::job::{Control, Job};
use crate::reading::{Reading, SpeedTrend, Status};
use crate::units::wrap_degrees;

/// An advance that rises faster than this with speed follows it, degrees per 1000 rpm.
const FOLLOWS_SPEED: f32 = 1.5;

/// What the reading means.
pub fn judge(job: &Job, reading: &Reading, trend: Option<&SpeedTrend>) -> Judgement {
    let mut judgement = Judgement {
        verdict: None,
        error: None,
        causes: Causes::new(),
        movement: None,
        base_mode_unproven: false,
    };
    let (Status::Given, Some(advance)) = (reading.status, reading.advance) else {
        return judgement;
    };
    let error = wrap_degrees(advance.degrees() - job.target_degrees());
    judgement.error = Some(error);
    if reading.cranking {
        return judgement;
    }
    let tolerance = job.spec().timing.tolerance;
    judgement.verdict = Some(if error.abs() <= tolerance {
        Verdict::OnTarget
    } else if error < 0.0 {
        Verdict::Late
    } else {
        Verdict::Early
    });
    let computer = job.spec().timing.control == Control::Computer;
    let follows = trend.is_some_and(|trend| {
        trend.deg_per_1000rpm > FOLLOWS_SPEED && trend.deg_per_1000rpm > 3.0 * trend.slope_uncertainty
    });
    judgement.base_mode_unproven = computer && (follows || job.spec().base_mode == Some(false));
    judgement.causes = causes(job, reading, error);
    judgement.movement = Some(correction(job, error, !judgement.base_mode_unproven));
    judgement
}

fn causes(job: &Job, reading: &Reading, error: f32) -> Causes {
    let doubt = reading.uncertainty.unwrap_or(1.0);
    let tolerance = job.spec().timing.tolerance;
    let target = job.target_degrees();
    let offset = job.spec().timing.harness_offset;
    let near = |expected: f32, width: f32| (wrap_degrees(error - expected)).abs() <= width + doubt;
    let mut causes = Causes::new();
    let mut say = |id, because| {
        let _ = causes.push(Cause { id, probability: 1.0, because, remedy: Remedy(id) });
    };
    if error.abs() <= tolerance {
        say(CauseId::Healthy, Because::Within { error });
    } else {
        if target.abs() > tolerance && near(-2.0 * target, 1.5) {
            say(CauseId::SetAfterTdc, Because::MirrorOfTarget { target });
        }
        let computer = job.spec().timing.control == Control::Computer;
        if computer && offset.abs() > tolerance && near(-offset, 2.0) {
            say(CauseId::SetOutOfBaseMode, Because::ShortByOffset { short: -error, offset });
        }
        if causes.is_empty() {
            let _ = causes.push(Cause {
                id: CauseId::OffTarget,
                probability: 1.0,
                because: Because::Off { error },
                remedy: Remedy(CauseId::OffTarget),
            });
        }
    }
    let share = 1.0 / causes.len().max(1) as f32;
    causes.iter_mut().for_each(|cause| cause.probability = share);
    causes
}
