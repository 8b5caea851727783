//! The script of a drill: the acts of [`guide_play`](crate::guide_play) and those that a drill has more.
//!
//! [`words`] lists them.

use super::commit::{self, Answer};
use super::evidence::Evidence;
use crate::guide_play::{self, Act};
use keyway_core::judge::CauseId;
use keyway_core::words::cause_title;
use std::fmt::Write;

/// The acts that a drill has beside those of `keyway guide`.
const WORDS: &str = "\
clamp turned | right   the clamp on its lead        injector 3 | shown   a connector plugged in again
load 0.4               added loads, 0 to 1          pull 3 | push 3      a spark lead off, on
delay 310              µs entered in the computer   stop in | out        the piston stop
reference 1.5          degrees added to its angle   hint | finish
tooth 1 | -1 | shown   the distributor put in again, teeth earlier or as the screen's error says
drive new              a sound drive and bushing for the distributor
hands 12               the scripted technician works on for so many seconds
commit CAUSE EVIDENCE clockwise 2.5                 cause, evidence, way to turn, housing degrees
commit CAUSE EVIDENCE as-shown | as-read            way and degrees from the handheld's screen
";

/// One act of a drill.
#[derive(Debug, Clone, PartialEq)]
pub enum Deed {
    /// An act at handheld, controls or leads.
    Bench(Act),
    /// The scripted technician works on for so many seconds, wherever the guide is then.
    Hands(f64),
    /// The clamp turned round on its lead, or put right.
    ClampTurned(bool),
    /// Added electrical loads, 0 to 1.
    Load(f64),
    /// A spark lead pulled off this cylinder's plug, or put back.
    LeadOff(u8, bool),
    /// The injector connector of this cylinder plugged in; `None`: of the one that the handheld names.
    Injector(Option<u8>),
    /// The piston stop put in, or taken out.
    Stop(bool),
    /// Degrees added to the computer's reference angle, positive = earlier.
    Reference(f64),
    /// µs of delay entered in the computer.
    Delay(f64),
    /// The distributor put in again so many teeth of its gear earlier; `None`: by what the screen's error comes to.
    Tooth(Option<i32>),
    /// A sound drive for the distributor.
    NewDrive,
    /// The answer.
    Commit(Answer),
    /// A hint is asked for.
    Hint,
    /// The work is done.
    Finish,
}

/// The acts of a script, each with its line.
///
/// # Errors
/// The line's number, from 1, what was read and what was expected.
pub fn parse(text: &str) -> Result<Vec<(usize, Deed)>, (usize, String)> {
    let mut deeds = Vec::new();
    for (place, line) in text.lines().enumerate() {
        let line = line.split('#').next().unwrap_or("").trim();
        if line.is_empty() {
            continue;
        }
        let deed = deed(line);
        let bad = |expected| (place + 1, format!("read \"{line}\", expected {expected}"));
        deeds.push((place + 1, deed.map_err(bad)?));
    }
    Ok(deeds)
}

fn deed(line: &str) -> Result<Deed, String> {
    let (word, rest) = line.split_once(' ').map_or((line, ""), |(word, rest)| (word, rest.trim()));
    let either = |yes: &str, no: &str| match rest {
        _ if rest == yes => Ok(true),
        _ if rest == no => Ok(false),
        _ => Err(format!("\"{word} {yes}\" or \"{word} {no}\"")),
    };
    let within = |low: f64, high: f64| {
        let number = rest.parse::<f64>().ok().filter(|number| (low..=high).contains(number));
        number.ok_or_else(|| format!("a number, {low} to {high}"))
    };
    let cylinder = || {
        let number = rest.parse::<u8>().ok().filter(|number| (1..=12).contains(number));
        number.ok_or_else(|| "a cylinder, 1 to 12".to_owned())
    };
    Ok(match word {
        "clamp" => Deed::ClampTurned(either("turned", "right")?),
        "hands" => Deed::Hands(within(0.0, 600.0)?),
        "load" => Deed::Load(within(0.0, 1.0)?),
        "pull" => Deed::LeadOff(cylinder()?, true),
        "push" => Deed::LeadOff(cylinder()?, false),
        "injector" if rest == "shown" => Deed::Injector(None),
        "injector" => Deed::Injector(Some(cylinder()?)),
        "stop" => Deed::Stop(either("in", "out")?),
        "reference" => Deed::Reference(within(-45.0, 45.0)?),
        "delay" => Deed::Delay(within(-2000.0, 2000.0)?),
        "tooth" if rest == "shown" => Deed::Tooth(None),
        "tooth" => {
            let teeth = rest.parse::<i32>().ok().filter(|teeth| (-3..=3).contains(teeth));
            Deed::Tooth(Some(teeth.ok_or("teeth, -3 to 3, or \"shown\"")?))
        }
        "drive" if rest == "new" => Deed::NewDrive,
        "commit" => Deed::Commit(commit::parse(rest)?),
        "hint" if rest.is_empty() => Deed::Hint,
        "finish" if rest.is_empty() => Deed::Finish,
        _ => {
            let acts = guide_play::parse(line).map_err(|(_, said)| match said.rsplit_once("expected ") {
                Some((_, expected)) if expected.starts_with("press, hold") => {
                    "an act of a drill, or of \"keyway guide\" (keyway drill --words lists those of a drill)"
                        .to_owned()
                }
                Some((_, expected)) => expected.to_owned(),
                None => said,
            })?;
            Deed::Bench(acts.into_iter().next().ok_or("an act")?)
        }
    })
}

/// The words of a script: acts, causes, evidence.
pub fn words() -> String {
    let mut text = format!("Acts beside those of \"keyway guide\"\n{WORDS}\nCauses\n");
    for cause in CauseId::ALL {
        // Writing to a text cannot fail.
        let _ = writeln!(text, "{:<22} {}", cause.id(), cause_title(cause));
    }
    text.push_str("\nEvidence\n");
    for evidence in Evidence::ALL {
        let _ = writeln!(text, "{:<22} {}", evidence.id(), evidence.words());
    }
    text
}
