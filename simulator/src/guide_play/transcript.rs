//! What screen and sounder did, one line for each change, as a person would tell it.

use keyway_core::sounder::Tone;
use keyway_core::view::{Mark, Screen, Value, View};
use keyway_core::words::{self, Btdc, GoOn, Off, What};

/// The line for a moment, without its values, to tell whether anything changed; and the line with them.
pub fn lines(view: &View, tone: Tone) -> (String, String) {
    let step = view.bar.step.map_or_else(String::new, |place| {
        format!("{}/{} {}", place.number, place.of, words::title(place.id))
    });
    let mut what = match &view.screen {
        Screen::Menu(menu) => words::menu_title(menu.id).to_owned(),
        Screen::Caution { id, .. } => format!("CAUTION {}", words::caution(*id)),
        Screen::Field(field) => format!("field {}", words::field(field.field)),
        Screen::Steps(steps) => {
            let line = |gate: &keyway_core::view::GateLine| {
                let known = if gate.mark == Mark::Open { "waits" } else { words::mark(gate.mark) };
                format!("{} ({known})", words::gate(gate.gate))
            };
            steps.gates.iter().flatten().map(line).collect::<Vec<_>>().join(", ")
        }
        Screen::BaseProof(proof) | Screen::ControlProof(proof) => {
            format!(
                "step {}, answer to speed {}",
                words::mark(proof.step_mark),
                words::mark(proof.slope_mark)
            )
        }
        Screen::ClampProof(proof) => {
            format!("clamp {}, base {}", words::mark(proof.clamp_mark), words::mark(proof.base_mark))
        }
        Screen::Reading(reading) => (if reading.settled { "settled" } else { "reading" }).to_owned(),
        Screen::Live(_) => "live".to_owned(),
        Screen::Reference(_) => "reference angle".to_owned(),
        Screen::Sweep(_) | Screen::Curve(_) => "run the speed up and down".to_owned(),
        Screen::Engines(_) => "engines".to_owned(),
        Screen::Causes(_) => "causes".to_owned(),
        Screen::NextCheck { check, .. } => format!("next check: {check}"),
        Screen::OtherChecks(_) => "other checks".to_owned(),
        Screen::Cranking(_) => "cranking".to_owned(),
        Screen::TrueZero(zero) => words::zero_stage(zero.stage).to_owned(),
        Screen::Teach(_) => "teaching the wheel".to_owned(),
        Screen::Corrections(_) => "corrections".to_owned(),
        Screen::Records(_) | Screen::Record(_) => "records".to_owned(),
        Screen::Settings(_) => "settings".to_owned(),
        Screen::SelfTest(_) => "self-test".to_owned(),
        Screen::NoReading { .. } => "no reading".to_owned(),
    };
    if let Some(halt) = view.halt {
        what = format!("STOP {} {}", What(halt), GoOn(halt));
    }
    if let Some(alarm) = view.alarm {
        what = format!("ALARM {} | {what}", words::alarm(alarm));
    }
    if let Some(notice) = view.notice {
        what = format!("{what} | {}", words::notice(notice));
    }
    let keys = view.keys.map(words::key).map(|key| if key.is_empty() { "-" } else { key }).join(" · ");
    let sound = match (tone.pitch_hertz, tone.pause_ms) {
        (0, _) => "silent".to_owned(),
        (pitch, 0) => format!("steady {pitch} Hz"),
        (pitch, _) => format!("pulses {pitch} Hz"),
    };
    let dark = if view.inverted { ", dark" } else { "" };
    let shape = format!("{step} | {what} | {keys} | {sound}{dark}");
    let value = value_of(&view.screen).map_or_else(String::new, |value| format!(" | {value}"));
    let full = format!("{step} | {what}{value} | {keys} | {sound}{dark}");
    (shape, full)
}

fn value_of(screen: &Screen) -> Option<String> {
    let (value, target) = match screen {
        Screen::Reading(reading) => (reading.value, reading.error.map(|_| reading.target)),
        Screen::Live(live) => (live.value, Some(live.target)),
        Screen::Reference(change) => (change.value, Some(change.target)),
        Screen::BaseProof(proof) | Screen::ControlProof(proof) => (proof.now, None),
        Screen::ClampProof(proof) => (proof.now, None),
        Screen::Cranking(cranking) => (cranking.value, Some(cranking.target)),
        Screen::NoReading { value } => (*value, None),
        Screen::Sweep(sweep) => {
            return sweep.delay_us.map(|(delay, doubt)| format!("delay {delay:.0} ± {doubt:.0} µs"));
        }
        _ => return None,
    };
    Some(match value {
        Value::Shown { advance, doubt, .. } => {
            let off = target.map_or_else(String::new, |target| format!(", {}", Off(advance - target)));
            format!("{} ± {doubt:.1}°{off}", Btdc(advance))
        }
        Value::Gathering { sparks, needed } => format!("{sparks} of {needed} sparks"),
        Value::Withheld { why, .. } => {
            why.iter().flatten().map(|why| words::reason(*why)).collect::<Vec<_>>().join(", ")
        }
    })
}
