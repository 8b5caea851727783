//! The debrief: the run once more with the truth laid over it, and what the customer gets.
//!
//! *Scene*: what can be said at a moment of the run: the frame, the line of the log that it belongs to, and
//! whether the spark was on target then. A window steps through the scenes by time; the text tells the log.

use super::log::{Entry, Frame, Kind};
use super::outcome::Outcome;
use keyway_core::words::{Btdc, Off};
use std::fmt::Write;

/// A moment of the run with its truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scene<'a> {
    /// The truth at that moment.
    pub frame: &'a Frame,
    /// The newest line of the log; `None` before the first.
    pub entry: Option<&'a Entry>,
    /// How far the base lies from the target, degrees, positive = early.
    pub error: f64,
    /// The base is within the tolerance.
    pub on_target: bool,
}

impl Outcome {
    /// The scene at a time since the drill began, s; the last one after its end, `None` of an empty run.
    pub fn scene(&self, seconds: f64) -> Option<Scene<'_>> {
        let after = self.frames.partition_point(|frame| frame.at <= seconds);
        let frame = self.frames.get(after.saturating_sub(1))?;
        let line = self.entries.partition_point(|entry| entry.at <= seconds);
        let error = frame.base - self.truth.target;
        Some(Scene {
            frame,
            entry: line.checked_sub(1).and_then(|line| self.entries.get(line)),
            error,
            on_target: error.abs() <= f64::from(self.job.timing.tolerance),
        })
    }

    /// The debrief as text: what was wrong and how it shows, the log with its truth, what the customer gets.
    pub fn debrief(&self) -> String {
        let mut text = String::new();
        let notes = &self.drill.notes;
        // Writing to a text cannot fail.
        let _ = writeln!(text, "What was wrong: {}. Right: {}.", self.causes(), self.right_turn());
        let _ = writeln!(text, "The answer: {}.", self.answer());
        let _ = writeln!(text, "How it shows: {}", notes.expected_evidence);
        let _ = writeln!(text, "\nThe run with its truth (target {})", Btdc(self.truth.target as f32));
        for entry in &self.entries {
            let _ = writeln!(text, "  {}  {:<58} {}", clock(entry.at), entry.what, self.truth_at(entry));
        }
        let _ = writeln!(text, "\nWhat the customer gets");
        for sentence in &self.left.owner {
            let _ = writeln!(text, "  {sentence}");
        }
        let _ = writeln!(text, "\nTo talk about: {}", notes.question);
        text
    }

    /// The truth beside a line of the log.
    pub(super) fn truth_at(&self, entry: &Entry) -> String {
        let error = entry.base - self.truth.target;
        let base = format!("base {} ({})", Btdc(entry.base as f32), Off(error as f32));
        let mark = if entry.kind == Kind::Critical { "  !!" } else { "" };
        match entry.advance {
            Some(advance) => format!("spark {}, {base}{mark}", Btdc(advance as f32)),
            None => format!("no spark seen, {base}{mark}"),
        }
    }
}

/// Minutes and seconds.
pub(super) fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    format!("{:>2}:{:02}", whole / 60, whole % 60)
}
