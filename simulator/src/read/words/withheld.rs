//! Why there is no number, in plain words, and what to do about it.

use keyway_core::job::{CrankSpec, Job};
use keyway_core::reading::{Reading, Withheld};

/// The first reason as a sentence.
pub(super) fn opening(job: &Job, reading: &Reading) -> String {
    match reading.reasons.first() {
        Some(reason) => format!("No reading: {}.", why(*reason, job, reading)),
        None => "No reading could be given.".into(),
    }
}

/// Each reason with what to do about it: a phrase and a sentence.
pub(in crate::read) fn reasons(job: &Job, reading: &Reading) -> Vec<(String, String)> {
    reading
        .reasons
        .iter()
        .map(|reason| (why(*reason, job, reading), format!("{}.", what_to_do(*reason))))
        .collect()
}

fn why(reason: Withheld, job: &Job, reading: &Reading) -> String {
    match reason {
        Withheld::NoCrank => "the crank pickup gives no edges, or hardly any".into(),
        Withheld::NoSpark => "the clamp gives no sparks, or hardly any".into(),
        Withheld::PatternMismatch => {
            let found = match reading.wheel_found {
                Some((slots, missing)) => format!(": a wheel of {slots} slots, {missing} missing, would fit"),
                None => String::new(),
            };
            format!("the crank signal is not that of the job's {}{found}", crank_of(job))
        }
        Withheld::Unsteady => "the speed was never steady enough".into(),
        Withheld::TooFewSparks => {
            format!("only {} sparks of steady idle, too few to stand behind a number", reading.sparks_used)
        }
        Withheld::Interference => {
            "so many edges are not the engine's that those left cannot be trusted".into()
        }
        Withheld::PickupsSwapped => "the crank's pattern comes at the spark clamp".into(),
        Withheld::WrongEdge => "the crank's pattern is on the other edge of the crank signal".into(),
        Withheld::SparkRate => {
            let due = f32::from(job.sparks_per_cycle()) / f32::from(job.turns_per_cycle());
            match reading.sparks_per_revolution {
                Some(found) => format!(
                    "the clamp sees {found:.2} sparks a turn, where this ignition makes {due:.2} on cylinder one's lead"
                ),
                None => format!("the clamp does not see the {due:.2} sparks a turn that this ignition makes"),
            }
        }
        Withheld::OutsideIdleBand => {
            let [low, high] = job.spec().timing.idle_rpm;
            let found = match reading.rpm {
                Some(rpm) => format!("it ran at {rpm:.0} rpm"),
                None => "it ran".into(),
            };
            format!("{found}, outside the idle band of {low:.0} to {high:.0} rpm")
        }
        Withheld::SettingMoved => "the setting was moved during the capture".into(),
    }
}

fn what_to_do(reason: Withheld) -> &'static str {
    match reason {
        Withheld::NoCrank => {
            "With the engine off, check the crank pickup's clip, its gap and its lead, and that this is the right \
             signal (--crank NAME), then record again"
        }
        Withheld::NoSpark => {
            "With the engine off, check that the clamp is shut on cylinder one's lead and which signal it is \
             (--spark NAME), then record again"
        }
        Withheld::PatternMismatch => {
            "Count the wheel's slots and correct [crank] in the job file; a pickup too far from the wheel also \
             drops teeth"
        }
        Withheld::Unsteady => {
            "Let it idle undisturbed, warm and without load, and record at least ten seconds"
        }
        Withheld::TooFewSparks => "Record a longer steady idle: ten seconds or more",
        Withheld::Interference => {
            "Route both leads away from the ignition leads and the coil, check the ground clip, then record again"
        }
        Withheld::PickupsSwapped => {
            "Exchange the two inputs, or name them the other way round (--crank NAME, --spark NAME)"
        }
        Withheld::WrongEdge => {
            "Turn the pickup's two wires round, or correct active_edge under [crank] in the job file"
        }
        Withheld::SparkRate => {
            "Put the clamp on cylinder one's own lead, clear of the others and of the coil's lead, and check \
             spark and strokes in the job file"
        }
        Withheld::OutsideIdleBand => "Set the idle as the vehicle's label and manual say, then read again",
        Withheld::SettingMoved => "Clamp the distributor down and record again without touching it",
    }
}

fn crank_of(job: &Job) -> String {
    match &job.spec().crank {
        CrankSpec::Wheel { teeth, missing, .. } => format!("wheel ({teeth} slots, {missing} missing)"),
        CrankSpec::Marks(marks) if marks.len() == 1 => "single mark".into(),
        CrankSpec::Marks(marks) => format!("{} marks", marks.len()),
    }
}
