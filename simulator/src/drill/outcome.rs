//! What came of a run: everything that sheet, class table and debrief are made of.

use super::commit::Commit;
use super::exercise::Drill;
use super::level::Level;
use super::log::{Entry, Frame};
use super::marks::Marks;
use super::truth::{Left, Truth};
use keyway_core::job::JobSpec;
use keyway_core::judge::CauseId;
use keyway_core::words;
use std::fmt::Write;

/// A finished run, its truth included.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The drill.
    pub drill: Drill,
    /// What the technician was told of the engine.
    pub job: JobSpec,
    /// The seed.
    pub seed: u32,
    /// The level.
    pub level: Level,
    /// Who worked, as typed.
    pub trainee: String,
    /// How long, s on the bench's clock.
    pub seconds: f64,
    /// What was wrong.
    pub truth: Truth,
    /// The answer; `None` where none was committed.
    pub commit: Option<Commit>,
    /// The marks.
    pub marks: Marks,
    /// How the engine was left, and what its owner gets.
    pub left: Left,
    /// The log, the truth beside each line.
    pub entries: Vec<Entry>,
    /// The run, the truth at each moment.
    pub frames: Vec<Frame>,
}

impl Outcome {
    /// "passed" or "failed".
    pub fn word(&self) -> &'static str {
        if self.marks.passed { "passed" } else { "failed" }
    }

    /// What was wrong, in words.
    pub fn causes(&self) -> String {
        named(&self.truth.causes)
    }

    /// What was right to turn, in words.
    pub fn right_turn(&self) -> String {
        self.truth.turn.map_or_else(
            || "leave the housing alone".to_owned(),
            |turn| format!("{:.1}° {} at the housing", self.truth.housing_deg, words::turn(turn)),
        )
    }

    /// The answer, in words.
    pub fn answer(&self) -> String {
        self.commit.as_ref().map_or_else(
            || "nothing was committed".to_owned(),
            |commit| {
                let turn = commit.turn.map_or_else(
                    || "leave the housing alone".to_owned(),
                    |turn| format!("{:.1}° {} at the housing", commit.housing_deg, words::turn(turn)),
                );
                format!("{}; {}; {turn}", named(&commit.causes), commit.evidence.words())
            },
        )
    }

    /// The marks as a table in plain text.
    pub fn table(&self) -> String {
        let mut text = String::new();
        for mark in &self.marks.marks {
            // Writing to a text cannot fail.
            let _ =
                writeln!(text, "  {:<26} {:>5.1} of {:>2.0}  {}", mark.name, mark.got, mark.most, mark.why);
        }
        if self.marks.hints > 0.0 {
            let _ = writeln!(text, "  {:<26} {:>5.1}", "Hints", -self.marks.hints);
        }
        for critical in &self.marks.critical {
            let _ = writeln!(text, "  Critical error: {}", critical.words());
        }
        let _ = writeln!(text, "  {:<26} {:>5.1} of 100: {}", "Sum", self.marks.total, self.marks.word());
        text
    }
}

fn named(causes: &[CauseId]) -> String {
    causes.iter().map(|cause| words::cause_title(*cause)).collect::<Vec<_>>().join(" and ")
}
