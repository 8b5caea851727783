//! The first sentence of a reading that is given.

use super::causes::{mended_by_setting, name_of, stands_beside};
use super::{advance, degrees, plus_minus};
use keyway_core::job::Job;
use keyway_core::judge::{CauseId, Verdict};
use keyway_core::meter::Report;

/// What the reading says, in one sentence; a caution that turns its meaning round stands first.
pub(super) fn sentence(job: &Job, report: &Report) -> String {
    let judgement = &report.judgement;
    let Some(measured) = report.reading.advance else {
        return "No number could be settled.".into();
    };
    let reads = advance(measured.degrees(), 1);
    let doubt = match report.reading.uncertainty {
        Some(uncertainty) => format!(" {}", plus_minus(uncertainty)),
        None => String::new(),
    };
    let target = advance(job.target_degrees(), 1);
    let first = judgement.causes.first().map(|cause| cause.id).filter(|cause| *cause != CauseId::Healthy);
    match (judgement.verdict, first) {
        (None, _) => {
            let difference = match judgement.error {
                Some(error) if error.abs() >= 0.05 => {
                    let verdict = if error > 0.0 { Verdict::Early } else { Verdict::Late };
                    format!("{} for", difference(judgement.error, verdict))
                }
                _ => "on".into(),
            };
            format!(
                "While cranking it reads {reads}{doubt}, {difference} the target of {target}: enough to tell \
                 whether it can start, not enough to set it by."
            )
        }
        (Some(Verdict::OnTarget), Some(cause)) => format!("Reads {reads}, but {}.", contradiction(cause)),
        (Some(verdict), _) if judgement.base_mode_unproven => {
            let standing = match verdict {
                Verdict::OnTarget => format!("which is the target of {target}"),
                Verdict::Late | Verdict::Early => {
                    format!("{} for the target of {target}", difference(judgement.error, verdict))
                }
            };
            format!("Not proven in base mode: reads {reads}{doubt}, {standing}; this number is not the base.")
        }
        (Some(Verdict::OnTarget), None) => {
            let tolerance = degrees(job.spec().timing.tolerance);
            format!("On target: reads {reads}{doubt}, and the target is {target} ± {tolerance}.")
        }
        (Some(verdict @ (Verdict::Late | Verdict::Early)), first) => {
            let difference = difference(judgement.error, verdict);
            let cause = match first.filter(|cause| !mended_by_setting(*cause)) {
                Some(cause) if stands_beside(cause) => format!("; beside that, {}", name_of(cause)),
                Some(cause) => format!("; most likely {}", name_of(cause)),
                None => String::new(),
            };
            format!("Off target: reads {reads}{doubt}, {difference} for the target of {target}{cause}.")
        }
    }
}

/// How far off, with its word.
fn difference(error: Option<f32>, verdict: Verdict) -> String {
    let word = if verdict == Verdict::Early { "early" } else { "late" };
    match error {
        Some(error) => format!("{} {word}", degrees(error.abs())),
        None => word.into(),
    }
}

/// Why a number on target is not good news.
fn contradiction(cause: CauseId) -> String {
    match cause {
        CauseId::NotInBaseMode => "the computer is steering: this is not the base".into(),
        CauseId::WeakSupply => "the supply is low at idle: see to the charging system first".into(),
        CauseId::DeadCylinder => "a cylinder does no work: see to that first".into(),
        CauseId::MechanismAdvancing => {
            "the weights or the vacuum unit already advance at idle: this is not the base".into()
        }
        CauseId::ClampOnOtherLead | CauseId::ClampOnCoilLead | CauseId::DwellStartSeen => {
            format!("{}: this is not cylinder one's spark", name_of(cause))
        }
        CauseId::WornDrive => "the distributor's drive is worn: no setting will hold".into(),
        CauseId::FixedDelay => "the spark comes a fixed time late: it is right at this speed alone".into(),
        _ => name_of(cause).into(),
    }
}
