//! What the guide stops for: what was seen, and how to go on; alarms; short notices.

use super::{Btdc, Off, gate};
use crate::judge::CauseId;
use crate::view::{Alarm, BOLT_HOLDS, Halt, Notice};
use core::fmt;

/// What was seen and what it means, at most 92 letters (two lines).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct What(pub Halt);

/// How to go on, at most 138 letters (three lines).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GoOn(pub Halt);

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Halt::IdleMoved { .. } => f.write_str("The idle left its range: it moves with the timing."),
            Halt::SupplyLow { volts, limit } => {
                write!(f, "The supply is {volts:.1} V at idle, below {limit:.1} V.")
            }
            Halt::DeadCylinder { cylinders: [one, 0] } => write!(f, "Cylinder {one} does no work."),
            Halt::DeadCylinder { cylinders: [one, other] } => {
                write!(f, "Cylinder {one} or {other} does no work.")
            }
            Halt::NoBaseStep { expected, seen } => {
                let (due, size) = way_of(expected);
                let (did, by) = way_of(seen);
                write!(f, "It should have {due} by {size:.1}°, it {did} by {by:.1}°: not in base mode.")
            }
            Halt::RisesWithSpeed { slope } => {
                write!(f, "It rises {slope:.1}° per 1000 rpm: it steers, or the clamp is turned round.")
            }
            Halt::FallsWithSpeed { delay_us } => {
                write!(f, "It falls with speed, as a fixed delay of {delay_us:.0} µs would do.")
            }
            Halt::OtherWay { moved } => {
                let (way, size) = way_of(moved);
                write!(f, "Other way: it {way} by {size:.1}°.")
            }
            Halt::NothingMoves => f.write_str("The spark has not moved for a while."),
            Halt::ClampMoved { by } if by.abs() < BOLT_HOLDS => {
                f.write_str("This time the bolt held, so it stands off the target.")
            }
            Halt::ClampMoved { by } => {
                let (way, size) = way_of(by);
                write!(f, "It {way} by {size:.1}° as the bolt was tightened.")
            }
            Halt::SpeedWithBoltLoose => f.write_str("The speed rose with the bolt loose."),
            Halt::OffTarget { error } => write!(f, "It stands {} of the target.", Off(error)),
            Halt::DoubtTooWide { doubt } => {
                write!(f, "The ± of {doubt:.1}° is wider than the tolerance.")
            }
            Halt::NotTakenBack { expected, read } => {
                write!(f, "Idle reads {}, about {} is due: control is not back.", Btdc(read), Btdc(expected))
            }
            Halt::NoAdvanceAbove => f.write_str("Right at idle, but no advance above it."),
            Halt::SignWrong => f.write_str("The error doubled: the change went the wrong way."),
            Halt::ReferenceUnchanged => f.write_str("The spark did not move: the change was not taken."),
            Halt::DelayRemains { delay_us } => {
                write!(f, "A delay of {delay_us:.0} µs is left: it still changes with speed.")
            }
            Halt::OtherCause(cause) => f.write_str(other_cause(cause)),
            Halt::MechanismOut => {
                f.write_str("The advance follows the speed at idle: weights, hose, or a clamp turned round.")
            }
            Halt::LinkStillOut => f.write_str("The base-mode link is still as for reading the base."),
            Halt::BoltStillLoose => f.write_str("The clamp bolt is still loose."),
            Halt::StopStillIn => f.write_str("The piston stop is still in."),
            Halt::NotStored => f.write_str("The value is not stored in the computer."),
            Halt::EngineStopped => f.write_str("The engine stopped."),
            Halt::EngineRuns => f.write_str("The engine turns: this step needs it to stand."),
            Halt::StoreFailed => f.write_str("The record could not be stored."),
        }
    }
}

/// Which way the spark went, and how far.
fn way_of(moved: f32) -> (&'static str, f32) {
    (if moved > 0.0 { "advanced" } else { "retarded" }, moved.abs())
}

const fn other_cause(cause: CauseId) -> &'static str {
    match cause {
        CauseId::Healthy => "Nothing is wrong.",
        CauseId::OffTarget => "It is set off the target.",
        CauseId::SetAfterTdc => "It looks set to the mark on the wrong side of zero.",
        CauseId::SetOutOfBaseMode => "It looks set without base mode.",
        CauseId::NotInBaseMode => "The computer is steering now.",
        CauseId::ClampOnOtherLead => "The clamp looks to be on another lead.",
        CauseId::DriveToothOff => "The distributor looks a tooth out.",
        CauseId::FixedDelay => "The spark comes a fixed time late.",
        CauseId::MechanismAdvancing => "Weights or vacuum advance it already at idle.",
        CauseId::WornDrive => "The drive looks worn: it scatters.",
        CauseId::WeakSupply => "The supply is weak.",
        CauseId::DeadCylinder => "A cylinder does no work.",
        CauseId::ClampOnCoilLead => "The clamp looks to be on the coil's lead.",
        CauseId::DwellStartSeen => "The clamp looks turned round.",
    }
}

impl fmt::Display for GoOn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.0 {
            Halt::IdleMoved { low, high } => {
                return write!(f, "Set idle to {low:.0}–{high:.0}, then read again.");
            }
            Halt::SupplyLow { .. } => "Mend the charging first: coil and computer go wrong below it.",
            Halt::DeadCylinder { .. } => {
                "Stop the engine. With it cool, look at plug, lead and injector; mend it, then start again."
            }
            Halt::NoBaseStep { .. } => "Look for the right link and the label's way of bridging it, then change it.",
            Halt::RisesWithSpeed { .. } => "See that the clamp's arrow points to the plug; put it into base mode again, then blip again.",
            Halt::FallsWithSpeed { .. } => {
                "That is no steering: look at the delay entered for sensor and module; go on knowing it."
            }
            Halt::OtherWay { .. } => "Change the rotor's turn in the job? Yes if it was entered wrong.",
            Halt::NothingMoves => "Not turned yet? Turn it now. Turned, and still? It does not set this spark: back on its mark.",
            Halt::ClampMoved { by } if by.abs() < BOLT_HOLDS => "Loosen the bolt and set it on the target again.",
            Halt::ClampMoved { .. } => "Loosen the bolt and set it again: the aim now leads by as much.",
            Halt::SpeedWithBoltLoose => "Let it fall to idle at once. Tighten the bolt before any blip.",
            Halt::OffTarget { .. } => "Go back and set it again, then clamp down.",
            Halt::DoubtTooWide { .. } => "Let it idle longer, or use a mark nearer the spark.",
            Halt::NotTakenBack { .. } => "See that the link is back as it was, fully home, then read again.",
            Halt::NoAdvanceAbove => {
                "Weights stuck, diaphragm torn, or the computer at a fixed fallback. Do not turn the distributor for it."
            }
            Halt::SignWrong => "Put the old value back, then change it by as much the other way.",
            Halt::ReferenceUnchanged => "See that the computer took and holds the new value, then read again.",
            Halt::DelayRemains { .. } => "Correct the delay entered by as much, then sweep again.",
            Halt::OtherCause(CauseId::OffTarget) => "Set it.",
            Halt::OtherCause(_) => "Settle this before anyone turns the distributor: see causes and the next check.",
            Halt::MechanismOut => "See that the hoses are off and plugged and the clamp's arrow points to the plug; else lower the idle.",
            Halt::LinkStillOut => "Put the link back, then let it idle.",
            Halt::BoltStillLoose => "Tighten the bolt, then say so.",
            Halt::StopStillIn => "Take the stop out before anything turns the engine, then say so.",
            Halt::NotStored => "Store it in the computer, then key off and on.",
            Halt::EngineStopped => "Start it again, hands clear, and let it idle.",
            Halt::EngineRuns => "Stop the engine and take the key out.",
            Halt::StoreFailed => "Try again, or note the values by hand before leaving.",
        })
    }
}

/// What an alarm says, at most 92 letters.
pub const fn alarm(alarm: Alarm) -> &'static str {
    match alarm {
        Alarm::TurnsWithStop => "STOP! The crank turns with the piston stop in.",
        Alarm::SpeedWithBoltLoose => "Throttle shut! The clamp bolt is loose.",
        Alarm::TurnsWhileReachingIn => "Hands out! The engine turns.",
        Alarm::GateLost(lost) => gate(lost),
    }
}

/// At most 46 letters.
pub const fn notice(notice: Notice) -> &'static str {
    match notice {
        Notice::Stored => "Stored.",
        Notice::StoreFailed => "Not stored.",
        Notice::Resumed => "Going on where the job was left.",
        Notice::Unreadable => "Kept data unreadable: nothing taken over.",
        Notice::RotorChanged => "Rotor's turn changed in the job.",
        Notice::ZeroTaken => "Zero correction taken.",
        Notice::EdgeTaken => "First edge taken.",
        Notice::Undone => "What stood before stands again.",
        Notice::CheckTaken => "Taken: it counts from now on.",
        Notice::ClampRight => "The clamp is the right way round now.",
        Notice::TurnClampBack => "It had been right: turn the clamp back.",
        Notice::Forgotten => "Forgotten: what was entered counts.",
        Notice::EngineSaved => "Engine saved.",
        Notice::EngineDeleted => "Engine deleted.",
        Notice::AtStart => "This is the first step.",
        Notice::ListFull => "No more room: delete an engine first.",
        Notice::StopLater => "Piston stop: before the engine is started.",
    }
}
