//! The drills as data: a TOML file each, built in, from which a seed makes the engine.
//!
//! A drill's file is a scenario (what the technician entered, `[model]`, `[[fault]]` …) with three things
//! more: `[drill]` with what the trainer needs, `[[hint]]`s with their cost, and `severity` of a fault as
//! `[least, most]` from which the seed draws. The seed of a run stands in for `run.seed`, so that a class
//! that is given one seed works on one engine.

use super::evidence::Evidence;
use crate::engine::case::Case;
use crate::engine::random::Dice;
use crate::scenario;
use keyway_core::job::Control;
use keyway_core::judge::CauseId;
use serde::Deserialize;
use toml::{Table, Value};

/// A hint.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hint {
    /// Marks that it costs.
    pub cost: f64,
    /// What it says.
    pub text: String,
}

/// What `[drill]` holds.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Notes {
    /// Shown in lists; tells nothing of the cause.
    pub title: String,
    /// What the customer says; the trainee reads it.
    pub story: String,
    /// Time allowed, minutes on the bench's clock.
    pub minutes: f64,
    /// Trainer: what is to be learnt.
    pub aim: String,
    /// Trainer: what the trainee should find.
    pub expected_evidence: String,
    /// Trainer: what is usually answered instead, and why it is wrong.
    pub usual_wrong_answer: String,
    /// Trainer: what to ask afterwards.
    pub question: String,
    /// Evidence that counts, by id.
    pub evidence: Vec<String>,
    /// The cause that is usually named instead, by id; for the trainer and the tests.
    pub wrong_cause: String,
}

/// A drill.
#[derive(Debug, Clone, PartialEq)]
pub struct Drill {
    /// Its name on the command line; tells nothing of the cause.
    pub name: &'static str,
    /// From 1, in rising difficulty.
    pub number: usize,
    /// What the trainer knows.
    pub notes: Notes,
    /// Hints, in the order in which they are given.
    pub hints: Vec<Hint>,
    /// A model run in the language of scripts.
    pub model_run: &'static str,
    engine: Table,
}

macro_rules! drills {
    ($($name:literal),* $(,)?) => {
        /// Name, file and model run, in rising difficulty.
        const FILES: &[(&str, &str, &str)] = &[$((
            $name,
            include_str!(concat!("../../drills/", $name, ".toml")),
            include_str!(concat!("../../drills/", $name, ".acts")),
        )),*];
    };
}

drills! {
    "weir-pump",
    "spare-pump",
    "sluice-after-service",
    "sluice-no-pull",
    "gantry-reads-wild",
    "lock-gate-kicks",
    "crane-shakes",
    "barge-dim",
    "launch-wants-more",
    "mill-race-pings",
    "workshop-bench",
    "barge-late-season",
}

/// Every drill, in rising difficulty.
///
/// # Errors
/// A built-in file cannot be read, which a test rules out.
pub fn all() -> Result<Vec<Drill>, String> {
    FILES.iter().enumerate().map(|(place, file)| Drill::read(place + 1, *file)).collect()
}

/// The drill of this name or number.
///
/// # Errors
/// There is none: what was read and what is allowed.
pub fn named(name: &str) -> Result<Drill, String> {
    let names = || FILES.iter().map(|file| file.0).collect::<Vec<_>>().join(", ");
    let place = FILES
        .iter()
        .enumerate()
        .position(|(place, file)| file.0 == name || (place + 1).to_string() == name)
        .ok_or_else(|| format!("drill: read \"{name}\", expected 1 to {} or {}", FILES.len(), names()))?;
    Drill::read(place + 1, FILES[place])
}

impl Drill {
    fn read(
        number: usize,
        (name, text, model_run): (&'static str, &str, &'static str),
    ) -> Result<Self, String> {
        let bad = |what: String| format!("drill {name}: {what}");
        let mut engine: Table = toml::from_str(text).map_err(|error| bad(error.to_string()))?;
        let notes = engine.remove("drill").ok_or_else(|| bad("no [drill]".into()))?;
        let notes: Notes = notes.try_into().map_err(|error| bad(error.to_string()))?;
        let hints = engine.remove("hint").unwrap_or_else(|| Value::Array(Vec::new()));
        let hints = hints.try_into().map_err(|error| bad(error.to_string()))?;
        let drill = Self { name, number, notes, hints, model_run, engine };
        if let Some(unknown) = drill.notes.evidence.iter().find(|id| Evidence::named(id).is_none()) {
            return Err(bad(format!("no evidence is called \"{unknown}\"")));
        }
        Ok(drill)
    }

    /// Evidence that counts.
    pub fn evidence(&self) -> Vec<Evidence> {
        self.notes.evidence.iter().filter_map(|id| Evidence::named(id)).collect()
    }

    /// The engine that this seed makes, as it is found: the computer in charge, hoses on.
    ///
    /// # Errors
    /// The drill's engine cannot be, which a test rules out.
    pub fn case(&self, seed: u32) -> Result<Case, String> {
        let mut engine = self.engine.clone();
        let mut run = Table::new();
        run.insert("seed".into(), Value::Integer(seed.into()));
        engine.insert("run".into(), Value::Table(run));
        let mut dice = Dice::new(seed.into(), "drill severity");
        let faults = engine.get_mut("fault").and_then(Value::as_array_mut);
        for fault in faults.into_iter().flatten().filter_map(Value::as_table_mut) {
            if let Some(Value::Array(range)) = fault.get("severity") {
                let limits: Vec<f64> = range.iter().filter_map(Value::as_float).collect();
                let drawn = dice
                    .between(limits.first().copied().unwrap_or(0.5), limits.get(1).copied().unwrap_or(0.5));
                fault.insert("severity".into(), Value::Float(drawn));
            }
        }
        let text = toml::to_string(&engine).map_err(|error| error.to_string())?;
        let mut case = scenario::scenario(&text)
            .map_err(|error| error.in_file(&format!("drill {}", self.name)).to_string())?;
        case.controls.base_mode = false;
        case.controls.hold_fixed = false;
        case.controls.hose_on = case.job.timing.control == Control::Mechanical;
        Ok(case)
    }
}

/// The cause of this id.
pub(super) fn cause_named(id: &str) -> Option<CauseId> {
    CauseId::ALL.into_iter().find(|cause| cause.id() == id)
}
