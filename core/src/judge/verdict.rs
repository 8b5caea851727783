//! Puts the judgement together: verdict, causes in order, next check, correction.

use super::because::because;
use super::checks::Search;
use super::correction::correction;
use super::evidence::Evidence;
use super::posterior::{Posterior, WHOLE, weigh};
use super::proven::Proven;
use super::result::{Cause, CauseId, Causes, Judgement, NextCheck, Remedy, Verdict};
use crate::job::{Control, Job};
use crate::reading::{BalanceSigns, Reading, Signature, SpeedTrend};
use crate::units::wrap_degrees;

/// A cause below this part of [`WHOLE`] is not told.
const LEAST_TOLD: u32 = WHOLE / 200;
/// At this part of [`WHOLE`] turning the distributor would be the mistake.
const FORBIDS_TURNING: u32 = WHOLE / 4;
/// Where the technician says that base mode is off, only this little doubt lets it be turned.
const FORBIDS_TURNING_TOLD: u32 = WHOLE / 100;

/// What the reading means.
pub fn judge(
    job: &Job,
    reading: &Reading,
    signature: &Signature,
    trend: Option<&SpeedTrend>,
    balance: Option<BalanceSigns>,
    proven: Proven,
) -> Judgement {
    let evidence = Evidence::gather(job, reading, signature, trend, balance, proven);
    let (mut judgement, mut search) = judge_evidence(job, reading, &evidence);
    while search.go_on() {}
    judgement.next_check = judgement.next_check.or(search.found());
    judgement
}

/// The same with the next check still to be searched for. Not inlined, so that the emulated board can time it.
#[inline(never)]
pub fn judge_evidence(job: &Job, reading: &Reading, evidence: &Evidence) -> (Judgement, Search) {
    let mut judgement = Judgement {
        verdict: None,
        error: None,
        causes: Causes::new(),
        sureness: 0.0,
        next_check: None,
        movement: None,
        base_mode_unproven: false,
    };
    let Some(advance) = reading.advance else {
        if evidence.wrong_spark_rate {
            name_coil_lead(job, evidence, &mut judgement);
        }
        return (judgement, Search::DONE);
    };
    let error = wrap_degrees(advance.degrees() - job.target_degrees());
    judgement.error = Some(error);
    if reading.cranking {
        return (judgement, Search::DONE);
    }
    judgement.verdict = Some(verdict(job, error));
    let posterior = weigh(job, evidence);
    judgement.causes = in_order(job, evidence, &posterior, judgement.verdict);
    judgement.sureness = posterior.likeliest as f32 / WHOLE as f32;
    judgement.base_mode_unproven = base_mode_unproven(job, &posterior);
    let turnable = !judgement.base_mode_unproven
        && posterior.timing(CauseId::ClampOnOtherLead) < FORBIDS_TURNING
        && posterior.timing(CauseId::DwellStartSeen) < FORBIDS_TURNING
        && posterior.timing(CauseId::NotInBaseMode) < FORBIDS_TURNING
        && posterior.timing(CauseId::MechanismAdvancing) < FORBIDS_TURNING
        && posterior.share(CauseId::DeadCylinder) < FORBIDS_TURNING;
    judgement.movement = Some(correction(job, error, turnable));
    (judgement, Search::begin(job, evidence, &posterior))
}

fn verdict(job: &Job, error: f32) -> Verdict {
    if error.abs() <= job.spec().timing.tolerance {
        Verdict::OnTarget
    } else if error < 0.0 {
        Verdict::Late
    } else {
        Verdict::Early
    }
}

/// The advance follows the speed, or the technician says base mode is off and nothing shows otherwise.
fn base_mode_unproven(job: &Job, posterior: &Posterior) -> bool {
    if job.spec().timing.control == Control::Mechanical {
        return false;
    }
    let steering = posterior.timing(CauseId::NotInBaseMode);
    steering > WHOLE / 2 || job.spec().base_mode == Some(false) && steering > FORBIDS_TURNING_TOLD
}

/// How urgent a cause is where two are equally likely, the most urgent first: what fools the hand, then
/// what harms the engine, then the rest.
fn urgency(id: CauseId) -> u8 {
    match id {
        CauseId::NotInBaseMode => 0,
        CauseId::ClampOnOtherLead | CauseId::ClampOnCoilLead | CauseId::DwellStartSeen => 1,
        CauseId::DeadCylinder => 2,
        CauseId::WeakSupply => 3,
        CauseId::WornDrive => 4,
        CauseId::MechanismAdvancing | CauseId::FixedDelay | CauseId::DriveToothOff => 5,
        CauseId::SetAfterTdc | CauseId::SetOutOfBaseMode => 6,
        CauseId::OffTarget => 7,
        CauseId::Healthy => 8,
    }
}

fn in_order(job: &Job, evidence: &Evidence, posterior: &Posterior, verdict: Option<Verdict>) -> Causes {
    let mut causes = Causes::new();
    let told: u32 = posterior.shares.iter().filter(|share| **share >= LEAST_TOLD).sum();
    // The steering computer that reads on target is named first whatever stands beside it.
    let hidden = verdict == Some(Verdict::OnTarget) && posterior.timing(CauseId::NotInBaseMode) > WHOLE / 2;
    for id in CauseId::ALL {
        let share = posterior.share(id);
        if share < LEAST_TOLD {
            continue;
        }
        let mut cause = Cause {
            id,
            probability: share as f32 / told.max(1) as f32,
            because: because(id, job, evidence, posterior),
            remedy: Remedy(id),
        };
        let place =
            causes.iter().position(|other| comes_before(&cause, other, hidden)).unwrap_or(causes.len());
        if causes.is_full() {
            continue;
        }
        // Those after it move on by one, each with the next.
        causes.iter_mut().skip(place).for_each(|later| core::mem::swap(later, &mut cause));
        let _ = causes.push(cause);
    }
    causes
}

fn comes_before(one: &Cause, other: &Cause, steering_hidden: bool) -> bool {
    if steering_hidden && (one.id == CauseId::NotInBaseMode || other.id == CauseId::NotInBaseMode) {
        return one.id == CauseId::NotInBaseMode;
    }
    let apart = one.probability - other.probability;
    if apart.abs() < 0.02 { urgency(one.id) < urgency(other.id) } else { apart > 0.0 }
}

/// No reading is given at the wrong spark rate, but a clamp that sees every cylinder explains it.
fn name_coil_lead(job: &Job, evidence: &Evidence, judgement: &mut Judgement) {
    let Some(rate) = evidence.spark_rate else { return };
    let every = 100 * i32::from(job.spec().engine.cylinders) / i32::from(job.turns_per_cycle());
    if (rate - every).abs() * 4 > every || job.spec().engine.cylinders < 2 {
        return;
    }
    let nothing = Posterior::default();
    let id = CauseId::ClampOnCoilLead;
    let _ = judgement.causes.push(Cause {
        id,
        probability: 1.0,
        because: because(id, job, evidence, &nothing),
        remedy: Remedy(id),
    });
    judgement.sureness = 1.0;
    judgement.next_check = Some(NextCheck::LookAtClamp);
}
