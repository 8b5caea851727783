//! What a trainee commits before anything is told: cause, evidence, way to turn, housing degrees.
//!
//! In scripts: `commit CAUSE[,CAUSE] EVIDENCE TURN DEGREES`, where TURN is `clockwise`, `counterclockwise`
//! or `none`; or, in place of both, `as-shown`, which copies the correction that the handheld shows, or `as-read`,
//! which works them out from the error that it shows and the rotor's turn, as a trainee would on paper.

use super::evidence::Evidence;
use super::exercise::cause_named;
use keyway_core::job::{JobSpec, Rotation};
use keyway_core::judge::CauseId;
use keyway_core::view::{Screen, View};

/// Housing degrees that a commit may name at most.
const MOST: f64 = 90.0;

/// A trainee's answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Commit {
    /// One or two causes.
    pub causes: Vec<CauseId>,
    /// What settled it.
    pub evidence: Evidence,
    /// Way to turn the housing, facing the cap; `None`: leave it.
    pub turn: Option<Rotation>,
    /// Housing degrees, 0 or more.
    pub housing_deg: f64,
}

/// The answer as a script has it.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// In full.
    Said(Commit),
    /// Way and degrees as the handheld shows them.
    AsShown(Vec<CauseId>, Evidence),
    /// Way and degrees from the error that the handheld shows.
    AsRead(Vec<CauseId>, Evidence),
}

/// The answer in these words.
///
/// # Errors
/// What was expected.
pub(super) fn parse(words: &str) -> Result<Answer, String> {
    let parts: Vec<&str> = words.split_whitespace().collect();
    let (causes, evidence, rest) = match parts.as_slice() {
        [causes, evidence, rest @ ..] if !rest.is_empty() => (causes, evidence, rest),
        _ => {
            return Err("\"commit CAUSE EVIDENCE TURN DEGREES\", as-shown or as-read for the last two".into());
        }
    };
    let causes: Option<Vec<CauseId>> = causes.split(',').map(cause_named).collect();
    let causes = causes
        .filter(|causes| causes.len() <= 2)
        .ok_or("a cause, or two with a comma between (keyway drill --words lists them)")?;
    let evidence = Evidence::named(evidence).ok_or("an evidence (keyway drill --words lists them)")?;
    match rest {
        ["as-shown"] => Ok(Answer::AsShown(causes, evidence)),
        ["as-read"] => Ok(Answer::AsRead(causes, evidence)),
        [turn, degrees] => {
            let turn = match *turn {
                "none" => None,
                "clockwise" => Some(Rotation::Clockwise),
                "counterclockwise" => Some(Rotation::Counterclockwise),
                _ => return Err("a way to turn: clockwise, counterclockwise or none".into()),
            };
            let degrees = degrees.parse().ok().filter(|degrees| (0.0..=MOST).contains(degrees));
            let housing_deg = degrees.ok_or_else(|| format!("housing degrees, 0 to {MOST}"))?;
            Ok(Answer::Said(Commit { causes, evidence, turn, housing_deg }))
        }
        _ => Err("a way to turn and housing degrees, as-shown or as-read".into()),
    }
}

impl Answer {
    /// The answer, with what this screen shows where it is to be copied or worked out.
    ///
    /// # Errors
    /// The screen shows no reading to copy from.
    pub fn complete(self, view: Option<View>, job: &JobSpec) -> Result<Commit, String> {
        let reading = match view.map(|view| view.screen) {
            Some(Screen::Reading(reading)) if reading.settled => Some(reading),
            _ => None,
        };
        match self {
            Self::Said(commit) => Ok(commit),
            Self::AsShown(causes, evidence) => {
                let shown = reading.and_then(|reading| reading.correction);
                let correction = shown.ok_or("the screen shows no correction to copy")?;
                let housing_deg = correction.turn.map_or(0.0, |_| f64::from(correction.housing_deg).abs());
                Ok(Commit { causes, evidence, turn: correction.turn, housing_deg })
            }
            Self::AsRead(causes, evidence) => {
                let reading = reading.ok_or("the screen shows no reading to work it out from")?;
                let error = reading.error.filter(|error| error.abs() > reading.tolerance);
                let late = error.is_some_and(|error| error < 0.0);
                let rotor = job.engine.rotor.filter(|_| error.is_some());
                let crank = rotor.and(error).map_or(0.0, |error| f64::from(error.abs()));
                let housing_deg = if job.engine.strokes == 2 { crank } else { crank / 2.0 };
                let turn = rotor.map(|rotor| if late { rotor.opposite() } else { rotor });
                Ok(Commit { causes, evidence, turn, housing_deg })
            }
        }
    }
}
