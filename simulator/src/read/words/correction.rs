//! How to put a wrong setting right, or why nobody should turn anything yet.

use super::{causes, degrees};
use keyway_core::job::{Job, Rotation};
use keyway_core::judge::{Move, Verdict};
use keyway_core::meter::Report;

/// More than this is hardly a wrong setting, crank degrees (common practice, no source).
const HARDLY_THE_SETTING: f32 = 45.0;

/// The sentence, where the number is off target or not the base.
pub(in crate::read) fn sentence(job: &Job, report: &Report) -> Option<String> {
    let judgement = &report.judgement;
    if judgement.base_mode_unproven {
        return Some(
            "As long as it is not proven in base mode, nobody sets anything by this number: open, bridge or \
             command the base mode as the vehicle's label and manual say, then read again."
                .into(),
        );
    }
    let movement = judgement.movement.as_ref()?;
    if !matches!(judgement.verdict, Some(Verdict::Late | Verdict::Early)) {
        return None;
    }
    if mended_by_setting(report) && movement.crank_deg.abs() > HARDLY_THE_SETTING {
        return Some(format!(
            "An engine that runs can hardly be set {:.0}° off: before anything is turned, prove the zero mark, \
             cylinder one's lead and the crank angles in the job.",
            movement.crank_deg.abs()
        ));
    }
    if let Some((movement, turn)) = to_turn(report) {
        return Some(turn_housing(movement, turn));
    }
    Some(match (movement.turn, mended_by_setting(report)) {
        (Some(_), _) => "Before the housing is turned, settle the first cause below and read again.".into(),
        (None, true) if !job.distributor_times_spark() => correct_reference(movement),
        (None, _) if job.distributor_times_spark() => {
            "Don't turn the distributor for this: settle the first cause below, then read again.".into()
        }
        (None, _) => "Before any angle is corrected, settle the first cause below and read again.".into(),
    })
}

/// What to turn and which way, where turning the housing is the next thing to do.
pub(in crate::read) fn to_turn(report: &Report) -> Option<(&Move, Rotation)> {
    let judgement = &report.judgement;
    let movement = judgement
        .movement
        .as_ref()
        .filter(|movement| !judgement.base_mode_unproven && movement.crank_deg.abs() <= HARDLY_THE_SETTING)?;
    movement.turn.filter(|_| mended_by_setting(report)).map(|turn| (movement, turn))
}

/// Whether a new setting is what mends the first cause.
fn mended_by_setting(report: &Report) -> bool {
    report.judgement.causes.first().is_none_or(|cause| causes::mended_by_setting(cause.id))
}

/// A way of turning in words.
pub(in crate::read) fn way(turn: Rotation) -> &'static str {
    match turn {
        Rotation::Clockwise => "clockwise",
        Rotation::Counterclockwise => "counterclockwise",
    }
}

fn turn_housing(movement: &Move, turn: Rotation) -> String {
    let purpose = if movement.crank_deg > 0.0 { "advance" } else { "retard" };
    let rim = match movement.rim_mm {
        Some(rim) => format!(", {:.1} mm at its rim", rim.abs()),
        None => String::new(),
    };
    format!(
        "To {purpose} it by {}, turn the housing {} {} facing the cap{rim}, clamp down and read again. \
         The vehicle's label and manual go before this.",
        degrees(movement.crank_deg.abs()),
        degrees(movement.housing_deg.abs()),
        way(turn)
    )
}

fn correct_reference(movement: &Move) -> String {
    let amount = degrees(movement.crank_deg.abs());
    let added = format!("add {amount} to it");
    let taken = format!("take {amount} off it");
    let (before, after) = if movement.crank_deg > 0.0 { (added, taken) } else { (taken, added) };
    format!(
        "No housing sets this spark. Where the computer's reference angle can be entered, {before} if it \
         counts before top dead centre, or {after} if it counts after; then read again, and put it back if \
         the error has doubled. The vehicle's label and manual go before this."
    )
}
