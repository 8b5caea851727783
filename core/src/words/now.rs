//! The one sentence that says what to do now, where it depends on what was measured.
//!
//! Where a value is withheld, the sentence is how to get one; where the guide has stopped, how to go on;
//! on target, to hold still. Everywhere else it is the step's own sentence.

use super::{In, reason_how, sentence, turn, zero_stage};
use crate::judge::CauseId;
use crate::view::{
    BaseProof, ClampProof, Correction, Cranking, LiveScreen, Mark, ReadingScreen, ReferenceChange, Screen,
    StepId, Teach, Unit, Value, ValueKind,
};
use core::fmt::{self, Display, Formatter};

/// What to do now on a screen; empty where the screen spells it out itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Now<'a>(pub &'a Screen);

impl Display for Now<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self.0 {
            Screen::Live(live) => now_live(live, f),
            Screen::Reading(reading) => now_reading(reading, f),
            Screen::Reference(change) => now_reference(change, f),
            Screen::BaseProof(proof) | Screen::ControlProof(proof) => now_proof(proof, f),
            Screen::ClampProof(proof) => now_clamp(proof, f),
            Screen::Steps(steps) => match &steps.value {
                Some(value @ Value::Withheld { .. }) if steps.gates.iter().all(Option::is_none) => {
                    f.write_str(without_value(value))
                }
                _ => f.write_str(sentence(steps.step)),
            },
            Screen::Sweep(sweep) => {
                if sweep.enough {
                    f.write_str("Enough speeds seen: enter this delay in the computer.")
                } else {
                    write!(f, "Raise the speed slowly to {}, bolt tight.", In(sweep.reach, Unit::Rpm))
                }
            }
            Screen::Curve(curve) => {
                let hose = if curve.step == StepId::CurveOn { "Hose on" } else { "Hose off, plugged" };
                if curve.enough {
                    write!(f, "{hose}: the curve is complete. Let it fall to idle.")
                } else {
                    write!(f, "{hose}: raise the speed slowly to {}.", In(curve.reach, Unit::Rpm))
                }
            }
            Screen::Cranking(cranking) => now_cranking(cranking, f),
            Screen::TrueZero(zero) => f.write_str(zero_stage(zero.stage)),
            Screen::Teach(teach) => now_teach(teach, f),
            Screen::Corrections(list) if list.lines.iter().all(Option::is_none) => {
                f.write_str("Nothing is corrected: what was entered counts.")
            }
            Screen::Corrections(_) => f.write_str("Forget one, or undo the newest change."),
            Screen::NoReading { value } => f.write_str(without_value(value)),
            Screen::Menu(_)
            | Screen::Engines(_)
            | Screen::Field(_)
            | Screen::Caution { .. }
            | Screen::Causes(_)
            | Screen::NextCheck { .. }
            | Screen::OtherChecks(_)
            | Screen::Records(_)
            | Screen::Record(_)
            | Screen::Settings(_)
            | Screen::SelfTest(_) => Ok(()),
        }
    }
}

/// How to get a value.
fn without_value(value: &Value) -> &'static str {
    match value {
        Value::Shown { .. } => "",
        Value::Gathering { .. } => "Let it idle, hands off, until there is a number.",
        Value::Withheld { why, .. } => {
            why.iter().flatten().next().map_or("Let it idle, hands off.", |why| reason_how(*why))
        }
    }
}

/// The turn that is left: "turn clockwise, 3.1 mm at the rim".
struct Turn<'a>(&'a Correction);

impl Display for Turn<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        if let Some(way) = self.0.turn {
            write!(f, "turn the housing {}", turn(way))?;
        }
        Ok(())
    }
}

fn now_live(live: &LiveScreen, f: &mut Formatter<'_>) -> fmt::Result {
    let Value::Shown { .. } = live.value else { return f.write_str(without_value(&live.value)) };
    match (live.error, &live.correction) {
        (Some(error), _) if error.abs() <= live.tolerance => {
            if live.bolt_moves != 0.0 {
                let way = if live.bolt_moves > 0.0 { "advances" } else { "retards" };
                let size = live.bolt_moves.abs();
                write!(f, "Right for the bolt, which {way} it by {size:.1}°: ")?;
                f.write_str(if live.hold_percent >= 100 { "tighten it." } else { "hold it there." })
            } else if live.hold_percent >= 100 {
                f.write_str("On target: tighten the bolt, the housing held still.")
            } else {
                f.write_str("On target: hold it there.")
            }
        }
        (Some(error), Some(correction)) if correction.turn.is_some() => {
            write!(f, "{}: {}.", super::Off(error), Turn(correction))
        }
        (Some(error), _) => write!(f, "{}: do not turn, see the causes.", super::Off(error)),
        _ => f.write_str(sentence(live.step)),
    }
}

fn now_reading(reading: &ReadingScreen, f: &mut Formatter<'_>) -> fmt::Result {
    let Value::Shown { .. } = reading.value else { return f.write_str(without_value(&reading.value)) };
    if !reading.settled {
        return f.write_str("Let it idle, hands off, until it has settled.");
    }
    let on_target = reading.error.is_some_and(|error| error.abs() <= reading.tolerance);
    match (reading.first_cause.map(|cause| cause.id), reading.error) {
        (None | Some(CauseId::Healthy), _) if on_target => f.write_str("On target. Go on."),
        (Some(cause), Some(_)) if on_target => {
            write!(f, "On target, but: {}. See the causes.", cause_title(cause))
        }
        (Some(cause), Some(error)) if cause != CauseId::OffTarget && cause != CauseId::Healthy => {
            write!(f, "{}. {}: see the causes.", super::Off(error), cause_title(cause))
        }
        (_, Some(error)) => write!(f, "{}. Go on to set it.", super::Off(error)),
        (_, None) => f.write_str("Go on."),
    }
}

fn now_reference(change: &ReferenceChange, f: &mut Formatter<'_>) -> fmt::Result {
    if change.sign_wrong {
        return f.write_str("The error doubled: put the old value back, then change it the other way.");
    }
    let Value::Shown { .. } = change.value else { return f.write_str(without_value(&change.value)) };
    match change.error {
        Some(error) if error.abs() <= change.tolerance => f.write_str("On target. Go on."),
        _ if change.add_btdc < 0.0 => {
            f.write_str("Take this off where the computer counts before TDC, add it where it counts after.")
        }
        _ => f.write_str("Add this where the computer counts before TDC, take it off where it counts after."),
    }
}

fn now_proof(proof: &BaseProof, f: &mut Formatter<'_>) -> fmt::Result {
    match (proof.step_mark, proof.slope_mark) {
        (Mark::Proven, Mark::Proven) => f.write_str("Both hold. Go on."),
        (Mark::Failed, _) => f.write_str("It did not step as it should: look at the link."),
        (_, Mark::Failed) => f.write_str("Its answer to speed is wrong: see the causes."),
        _ => now_blip(proof.step, &proof.now, proof.blip, f),
    }
}

fn now_clamp(proof: &ClampProof, f: &mut Formatter<'_>) -> fmt::Result {
    match (proof.clamp_mark, proof.base_mark) {
        (Mark::Proven, Mark::Proven) => f.write_str("The clamp holds and the base holds. Go on."),
        (Mark::Failed, _) => f.write_str("It moved as the bolt was tightened: set it again."),
        (_, Mark::Failed) => f.write_str("The base does not hold over the blip: see the causes."),
        _ => now_blip(proof.step, &proof.now, proof.blip, f),
    }
}

/// A blip that has not reached its speed names it.
fn now_blip(
    step: StepId,
    now: &Value,
    (top, reach): (Option<f32>, f32),
    f: &mut Formatter<'_>,
) -> fmt::Result {
    if let Value::Withheld { .. } = now {
        return f.write_str(without_value(now));
    }
    match step {
        StepId::BaseBlip | StepId::ClampBlip | StepId::BlipFine | StepId::ControlBlip => match top {
            Some(top) if top >= reach => f.write_str("Let it fall back to idle and keep off."),
            _ => write!(f, "Blip to {}, 2 seconds at most, and let it fall.", In(reach, Unit::Rpm)),
        },
        step => f.write_str(sentence(step)),
    }
}

fn now_cranking(cranking: &Cranking, f: &mut Formatter<'_>) -> fmt::Result {
    if let Value::Shown { kind: ValueKind::Held, .. } = cranking.value {
        return f.write_str(match cranking.far_off {
            true => "Held. Far off: a tooth, half a turn or a lead. Look at the rotor.",
            false => "Held. It comes about where it should: look for fuel and air.",
        });
    }
    match cranking.value {
        Value::Shown { .. } if cranking.far_off => {
            f.write_str("Far off: a tooth, half a turn or a lead. See the causes.")
        }
        Value::Shown { .. } => f.write_str("The spark comes about where it should: look for fuel and air."),
        Value::Gathering { .. } => {
            f.write_str("Crank for 5 seconds, throttle shut, then let the starter cool.")
        }
        Value::Withheld { .. } => f.write_str(without_value(&cranking.value)),
    }
}

fn now_teach(teach: &Teach, f: &mut Formatter<'_>) -> fmt::Result {
    match (teach.found, &teach.value) {
        (Some(_), _) => f.write_str("Take the taught edge for this job, or read again."),
        (None, value @ Value::Withheld { .. }) => f.write_str(without_value(value)),
        (None, _) => {
            f.write_str("Clip a pickup on the mark at true zero to the spark input and let it idle.")
        }
    }
}

/// A cause in a few words, at most 26 letters.
pub const fn cause_title(cause: CauseId) -> &'static str {
    match cause {
        CauseId::Healthy => "Nothing is wrong",
        CauseId::OffTarget => "Set off the target",
        CauseId::SetAfterTdc => "Set on the wrong side",
        CauseId::SetOutOfBaseMode => "Set without base mode",
        CauseId::NotInBaseMode => "The computer is steering",
        CauseId::ClampOnOtherLead => "Clamp on another lead",
        CauseId::DriveToothOff => "Distributor a tooth out",
        CauseId::FixedDelay => "A fixed delay",
        CauseId::MechanismAdvancing => "Weights or hose at work",
        CauseId::WornDrive => "Worn drive",
        CauseId::WeakSupply => "Weak supply",
        CauseId::DeadCylinder => "A cylinder does no work",
        CauseId::ClampOnCoilLead => "Clamp on the coil's lead",
        CauseId::DwellStartSeen => "Clamp turned round",
    }
}
