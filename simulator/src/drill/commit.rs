//! What a trainee commits before anything is told: cause, evidence, way to turn, housing degrees.
//!
//! In scripts: `commit CAUSE[,CAUSE] EVIDENCE TURN DEGREES`, where TURN is `clockwise`, `counterclockwise`
//! or `none`; or `as-shown` for both, which copies what the handheld shows, where it shows it.

use super::evidence::Evidence;
use super::exercise::cause_named;
use keyway_core::job::Rotation;
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
            return Err("\"commit CAUSE EVIDENCE TURN DEGREES\" or \"commit CAUSE EVIDENCE as-shown\"".into());
        }
    };
    let cause_ids = || CauseId::ALL.map(CauseId::id).join(", ");
    let causes: Option<Vec<CauseId>> = causes.split(',').map(cause_named).collect();
    let causes = causes
        .filter(|causes| causes.len() <= 2)
        .ok_or_else(|| format!("one cause, or two with a comma between: {}", cause_ids()))?;
    let evidence = Evidence::named(evidence).ok_or_else(|| {
        let ids: Vec<&str> = Evidence::ALL.iter().map(|one| one.id()).collect();
        format!("evidence: {}", ids.join(", "))
    })?;
    match rest {
        ["as-shown"] => Ok(Answer::AsShown(causes, evidence)),
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
        _ => Err("a way to turn and housing degrees, or as-shown".into()),
    }
}

impl Answer {
    /// The answer, with what this screen shows where it is to be copied.
    ///
    /// # Errors
    /// The screen shows no reading to copy from.
    pub fn complete(self, view: Option<View>) -> Result<Commit, String> {
        let (causes, evidence) = match self {
            Self::Said(commit) => return Ok(commit),
            Self::AsShown(causes, evidence) => (causes, evidence),
        };
        let correction = match view.map(|view| view.screen) {
            Some(Screen::Reading(reading)) => reading.correction.filter(|_| reading.settled),
            Some(Screen::Live(live)) => live.correction,
            _ => None,
        };
        let correction = correction.ok_or("the screen shows no correction to copy")?;
        let housing_deg = correction.turn.map_or(0.0, |_| f64::from(correction.housing_deg).abs());
        Ok(Commit { causes, evidence, turn: correction.turn, housing_deg })
    }
}
