//! What a drill is marked by: one table of criteria, and how each is counted.
//!
//! The criteria sum to 100; hints are taken off the sum. A critical error fails the drill whatever the sum.
//! Time counts last: it has the fewest marks, and settles the order in a class only between equals.

use super::commit::Commit;
use super::log::{Critical, Seen};
use super::truth::{Left, Truth};
use super::watch::TOUCHED;
use keyway_core::job::{Control, JobSpec, Rotation};
use keyway_core::words::{self, Btdc, Off};

/// What is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Criterion {
    /// The true base at the end against the target.
    Timing,
    /// The cause.
    Cause,
    /// Its evidence.
    Evidence,
    /// The way to turn.
    Way,
    /// Housing degrees.
    Degrees,
    /// Turns that were not needed.
    NeedlessTurns,
    /// Steps of the procedure.
    Steps,
    /// Things left undone.
    Undone,
    /// Time.
    Time,
}

/// The one table: criterion, its words, most marks, how it is counted.
pub const CRITERIA: [(Criterion, &str, f64, &str); 9] = [
    (Criterion::Timing, "True advance at the end", 25.0, "full within the tolerance, none at four times it"),
    (Criterion::Cause, "Cause", 20.0, "of two causes each counts half; one too many halves it"),
    (Criterion::Evidence, "Evidence", 10.0, "all or nothing"),
    (Criterion::Way, "Way to turn", 5.0, "all or nothing; nothing where it was turned first"),
    (
        Criterion::Degrees,
        "Housing degrees",
        5.0,
        "full within 0.5°, half within 1°; nothing where it was turned first",
    ),
    (
        Criterion::NeedlessTurns,
        "No needless turn",
        10.0,
        "2 a degree that leads nowhere beyond 1.5° of feeling; where none was needed, all for the first touch",
    ),
    (Criterion::Steps, "Steps of the procedure", 10.0, "each step skipped takes its share"),
    (Criterion::Undone, "Nothing left undone", 10.0, "5 for each thing left undone"),
    (Criterion::Time, "Time", 5.0, "full within the time allowed, 1 less for each minute over"),
];

/// Marks from which a drill without critical error is passed, if half the marks for the steps are among
/// them: an answer that was guessed without a reading passes nothing, be it right.
pub const PASS: f64 = 70.0;
/// Housing degrees that feeling for the target may take.
const FEELING: f64 = 1.5;

/// Marks for one criterion.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Which.
    pub criterion: Criterion,
    /// Its words.
    pub name: &'static str,
    /// Marks got.
    pub got: f64,
    /// Most marks.
    pub most: f64,
    /// What was found, in words.
    pub why: String,
}

/// All marks of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// In the order of the table.
    pub marks: Vec<Mark>,
    /// Taken off for hints.
    pub hints: f64,
    /// 0 to 100.
    pub total: f64,
    /// Errors that fail it.
    pub critical: Vec<Critical>,
    /// Whether it is passed.
    pub passed: bool,
}

impl Marks {
    /// "passed", or "failed" and what it failed by.
    pub fn word(&self) -> &'static str {
        match (self.passed, self.critical.is_empty(), self.total >= PASS) {
            (true, _, _) => "passed",
            (_, false, _) => "failed by a critical error",
            (_, _, false) => "failed by its marks",
            (_, _, true) => "failed: fewer than half of the steps were taken",
        }
    }

    /// Marks for one criterion; 0 for one that is not in the table.
    pub fn got(&self, criterion: Criterion) -> f64 {
        self.marks.iter().find(|mark| mark.criterion == criterion).map_or(0.0, |mark| mark.got)
    }
}

/// What is marked.
#[derive(Debug)]
pub(super) struct Work<'a> {
    pub(super) job: &'a JobSpec,
    pub(super) truth: &'a Truth,
    pub(super) evidence: Vec<super::Evidence>,
    /// The answer, and the housing degrees that were turned before it.
    pub(super) commit: Option<(&'a Commit, f64)>,
    pub(super) left: &'a Left,
    pub(super) seen: Seen,
    /// Housing degrees turned in all, there and back.
    pub(super) path: f64,
    /// Housing degrees that are left of it at the end, positive = advance.
    pub(super) net: f64,
    pub(super) record_due: bool,
    pub(super) record_kept: bool,
    pub(super) hints: f64,
    pub(super) critical: &'a [Critical],
    pub(super) minutes: f64,
    pub(super) allowed: f64,
}

/// Marks a run.
pub(super) fn mark(work: &Work<'_>) -> Marks {
    let marks: Vec<Mark> = CRITERIA
        .iter()
        .map(|(criterion, name, most, _)| {
            let (share, why) = work.share(*criterion, *most);
            let got = (most * share.clamp(0.0, 1.0) * 10.0).round() / 10.0;
            Mark { criterion: *criterion, name, got, most: *most, why }
        })
        .collect();
    let sum: f64 = marks.iter().map(|mark| mark.got).sum();
    let total = (sum - work.hints).max(0.0);
    let half = |mark: &Mark| mark.criterion != Criterion::Steps || mark.got >= 0.5 * mark.most;
    let passed = work.critical.is_empty() && total >= PASS && marks.iter().all(half);
    Marks { marks, hints: work.hints, total, critical: work.critical.to_vec(), passed }
}

impl Work<'_> {
    /// The share of a criterion's marks, and why.
    fn share(&self, criterion: Criterion, most: f64) -> (f64, String) {
        match criterion {
            Criterion::Timing => self.timing(),
            Criterion::Cause => self.cause(),
            Criterion::Evidence => self.answer(|commit| {
                let right = self.evidence.contains(&commit.evidence);
                (if right { 1.0 } else { 0.0 }, commit.evidence.words().to_owned())
            }),
            Criterion::Way => self.turned_answer(|commit| {
                let right = commit.turn == self.truth.turn;
                let way = commit.turn.map_or("leave it", words::turn);
                (if right { 1.0 } else { 0.0 }, way.to_owned())
            }),
            Criterion::Degrees => self.turned_answer(|commit| {
                let off = (commit.housing_deg - self.truth.housing_deg).abs();
                let share = if off <= 0.5 {
                    1.0
                } else if off <= 1.0 {
                    0.5
                } else {
                    0.0
                };
                (share, format!("{:.1}°; {:.1}° was right", commit.housing_deg, self.truth.housing_deg))
            }),
            Criterion::NeedlessTurns => self.needless(most),
            Criterion::Steps => self.steps(),
            Criterion::Undone => {
                let count = self.left.undone.len();
                let why = if count == 0 { "nothing".to_owned() } else { self.left.undone.join("; ") };
                (1.0 - 5.0 * count as f64 / most, why)
            }
            Criterion::Time => {
                let over = (self.minutes - self.allowed).max(0.0).ceil();
                (1.0 - over / most, format!("{:.1} min of {:.0}", self.minutes, self.allowed))
            }
        }
    }

    fn timing(&self) -> (f64, String) {
        let Some(base) = self.left.base else { return (0.0, "it does not run".into()) };
        let tolerance = f64::from(self.job.timing.tolerance);
        let error = base - self.truth.target;
        let share = 1.0 - (error.abs() - tolerance).max(0.0) / (3.0 * tolerance);
        let (left, target) = (Btdc(base as f32), Btdc(self.truth.target as f32));
        (share, format!("left at {left}, {} of {target}", Off(error as f32)))
    }

    fn answer(&self, share: impl Fn(&Commit) -> (f64, String)) -> (f64, String) {
        self.commit.map_or_else(|| (0.0, "nothing was committed".into()), |(commit, _)| share(commit))
    }

    fn turned_answer(&self, share: impl Fn(&Commit) -> (f64, String)) -> (f64, String) {
        match self.commit {
            Some((_, turned)) if turned >= TOUCHED => (0.0, "turned before it was committed".into()),
            _ => self.answer(share),
        }
    }

    fn cause(&self) -> (f64, String) {
        self.answer(|commit| {
            let right = commit.causes.iter().filter(|cause| self.truth.causes.contains(cause)).count();
            let share = right as f64 / commit.causes.len().max(self.truth.causes.len()) as f64;
            let named: Vec<&str> = commit.causes.iter().map(|cause| words::cause_title(*cause)).collect();
            (share, named.join(" and "))
        })
    }

    fn needless(&self, most: f64) -> (f64, String) {
        let needed = self.truth.housing_deg;
        if needed <= 0.0 {
            let touched = self.path >= TOUCHED;
            return (if touched { 0.0 } else { 1.0 }, format!("{:.1}° turned, none was needed", self.path));
        }
        let advances = self.truth.turn == self.job.engine.rotor.map(Rotation::opposite);
        let useful = if advances { self.net } else { -self.net }.clamp(0.0, needed);
        let excess = (self.path - useful - FEELING).max(0.0);
        (1.0 - 2.0 * excess / most, format!("{:.1}° turned, {needed:.1}° needed", self.path))
    }

    /// Each step of the procedure that this engine asks for, and whether it was seen.
    fn steps(&self) -> (f64, String) {
        let seen = &self.seen;
        let control = self.job.timing.control;
        let turned = self.path >= TOUCHED;
        let held = match control {
            Control::Computer => "base mode held before reading",
            Control::Commanded => "the fixed value held before reading",
            Control::Mechanical => "the hose off before reading",
        };
        let asked = [
            (true, seen.made_safe, "engine stopped, key off, before work"),
            (true, seen.read_held, held),
            (
                control != Control::Mechanical,
                seen.proven,
                "a blip that proves it, bolt tight, before turning",
            ),
            (turned, seen.clamp_checked, "a blip after clamping"),
            (control == Control::Computer, seen.given_back, "a blip that proves control given back"),
            (control != Control::Mechanical, seen.restarted, "stopped and started again at the end"),
            (self.record_due, self.record_kept, "the record kept"),
        ];
        let due: Vec<_> = asked.into_iter().filter(|step| step.0).collect();
        let skipped: Vec<&str> = due.iter().filter(|step| !step.1).map(|step| step.2).collect();
        let why = if skipped.is_empty() {
            "none skipped".to_owned()
        } else {
            format!("skipped: {}", skipped.join("; "))
        };
        (1.0 - skipped.len() as f64 / due.len().max(1) as f64, why)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_criteria_sum_to_a_hundred_and_time_has_the_fewest_marks() {
        assert_eq!(CRITERIA.iter().map(|one| one.2).sum::<f64>(), 100.0);
        let least = CRITERIA.iter().map(|one| one.2).fold(f64::INFINITY, f64::min);
        let last = CRITERIA.last().map(|one| (one.0, one.2));
        assert_eq!(last, Some((Criterion::Time, least)));
    }
}
