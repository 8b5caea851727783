//! Why no number is shown, and what to do about it.

use crate::reading::Withheld;
use crate::view::Quality;

/// At most 34 letters.
pub const fn reason(reason: Withheld) -> &'static str {
    match reason {
        Withheld::NoCrank => "No crank signal",
        Withheld::NoSpark => "No spark signal",
        Withheld::PatternMismatch => "Not the wheel of this job",
        Withheld::Unsteady => "Speed not steady",
        Withheld::TooFewSparks => "Too few sparks yet",
        Withheld::Interference => "Interference",
        Withheld::PickupsSwapped => "The pickups are swapped",
        Withheld::WrongEdge => "Crank signal on the other edge",
        Withheld::SparkRate => "Wrong number of sparks a turn",
        Withheld::OutsideIdleBand => "Not at idle",
        Withheld::SettingMoved => "The setting was moved",
    }
}

/// At most 138 letters: what to do.
pub const fn reason_how(reason: Withheld) -> &'static str {
    match reason {
        Withheld::NoCrank => "See that the crank trigger sits close to its wheel and its plug is home.",
        Withheld::NoSpark => "See that the clamp is shut round lead one and its plug is home.",
        Withheld::PatternMismatch => {
            "Compare the wheel named with the engine, and change the job if it is right."
        }
        Withheld::Unsteady => "Let the idle steady; look for air leaks if it will not.",
        Withheld::TooFewSparks => "Let it idle a little longer.",
        Withheld::Interference => {
            "Lead the pickup leads away from spark leads and coil, and see that clips bite."
        }
        Withheld::PickupsSwapped => "Swap the two pickup plugs.",
        Withheld::WrongEdge => {
            "Swap the two wires of the crank trigger, or change the active edge in the job."
        }
        Withheld::SparkRate => {
            "See which lead the clamp is on: one plug lead, not the coil's, shut all round."
        }
        Withheld::OutsideIdleBand => "Bring the idle into the range of the job.",
        Withheld::SettingMoved => "Keep off the housing while it reads.",
    }
}

/// At most 9 letters.
pub const fn quality(quality: Quality) -> &'static str {
    match quality {
        Quality::Silent => "silent",
        Quality::NoSync => "no sync",
        Quality::Doubtful => "doubtful",
        Quality::Fair => "fair",
        Quality::Good => "good",
    }
}
