//! One run of a drill: an engine with its hidden fault or none, the trainee's handheld, the clock, the answer
//! and the marks.
//!
//! The bench is open to every hand, right or wrong: scripts and mice move its controls, the session only
//! watches. The truth is told by [`Session::finish`] and, once the answer is committed, by
//! [`Session::truth`]; before that it is refused.

use super::commit::Commit;
use super::customer::{Behind, left};
use super::exercise::Drill;
use super::level::Level;
use super::log::{Critical, Kind};
use super::marks::{Work, mark};
use super::outcome::Outcome;
use super::truth::Truth;
use super::watch::Watch;
use crate::engine::case::Case;
use crate::guide_play::{Act, Bench};
use keyway_core::job::JobSpec;
use keyway_core::view::View;
use keyway_core::words;
use std::fmt;

/// Why the truth is not told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotCommitted;

impl fmt::Display for NotCommitted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("commit cause, evidence, way to turn and housing degrees first")
    }
}

/// A run of a drill.
#[derive(Debug)]
pub struct Session {
    drill: Drill,
    seed: u32,
    trainee: String,
    pub(super) level: Level,
    pub(super) case: Case,
    truth: Truth,
    pub(super) bench: Bench,
    pub(super) watch: Watch,
    /// The answer, and the housing degrees turned before it.
    commit: Option<(Commit, f64)>,
    hints: usize,
    pub(super) slips: Vec<Act>,
    pub(super) leads_off: [bool; 12],
    pub(super) outcome: Option<Outcome>,
}

impl Session {
    /// A trainee steps up to the engine that this seed makes.
    ///
    /// # Errors
    /// The drill's engine cannot be, which a test rules out for the drills that are built in.
    pub fn start(drill: Drill, seed: u32, level: Level, trainee: &str) -> Result<Self, String> {
        let case = drill.case(seed)?;
        let engine = case.engine();
        let truth = Truth::of(&case, &engine);
        let mut bench = Bench::new(engine, &case.job);
        bench.keep_moments();
        bench.pass(0.05);
        let first = bench.take_moments().pop().ok_or("the bench does not start")?;
        let watch = Watch::new(&case.job, level, first);
        Ok(Self {
            drill,
            seed,
            trainee: trainee.to_owned(),
            level,
            case,
            truth,
            bench,
            watch,
            commit: None,
            hints: 0,
            slips: Vec::new(),
            leads_off: [false; 12],
            outcome: None,
        })
    }

    /// The drill; what its notes hold beyond title, story and minutes is for the trainer.
    pub fn drill(&self) -> &Drill {
        &self.drill
    }

    /// The seed.
    pub fn seed(&self) -> u32 {
        self.seed
    }

    /// The level.
    pub fn level(&self) -> Level {
        self.level
    }

    /// What the technician was told of the engine: the job.
    pub fn job(&self) -> &JobSpec {
        &self.case.job
    }

    /// Engine and handheld as they stand, to be drawn.
    pub fn bench(&self) -> &Bench {
        &self.bench
    }

    /// Engine and handheld, for hands. Whatever they do is seen at the next [`Session::pass`].
    pub fn bench_mut(&mut self) -> &mut Bench {
        &mut self.bench
    }

    /// Time passes, s on the bench's clock.
    pub fn pass(&mut self, seconds: f64) {
        if self.outcome.is_none() {
            self.bench.pass(seconds);
            self.follow();
        }
    }

    /// Time passes in one piece, s, for a window that draws every frame.
    pub fn flow(&mut self, seconds: f64) {
        if self.outcome.is_none() {
            self.bench.flow(seconds);
            self.follow();
        }
    }

    /// The clock: seconds since the drill began.
    pub fn seconds(&self) -> f64 {
        self.watch.seconds()
    }

    /// What the trainee may see of the handheld; `None` where it is covered.
    pub fn view(&self) -> Option<View> {
        self.level.uncovered(self.bench.view())
    }

    /// What a strobe at the clamp shows on the degree marks, to the whole degree, positive before zero; `None`
    /// where the mark is out of sight or nothing flashes. The marks reach from 30 after to 45 before.
    pub fn strobe(&self) -> Option<f64> {
        self.watch.last().strobe.map(f64::round).filter(|degrees| (-30.0..=45.0).contains(degrees))
    }

    /// What was seen and done so far, s since the drill began; the truth is not in it.
    pub fn lines(&self) -> &[(f64, String)] {
        self.watch.lines()
    }

    /// Whether an answer was committed.
    pub fn committed(&self) -> bool {
        self.commit.is_some()
    }

    /// Commits the answer, once; from now on the truth is told.
    ///
    /// # Errors
    /// An answer was committed before, or the drill is finished.
    pub fn commit(&mut self, commit: Commit) -> Result<&Truth, String> {
        if self.commit.is_some() || self.outcome.is_some() {
            return Err("an answer was committed before".into());
        }
        let causes: Vec<&str> = commit.causes.iter().map(|cause| words::cause_title(*cause)).collect();
        let turn = commit.turn.map_or_else(
            || "leave the housing".to_owned(),
            |turn| format!("{:.1}° {}", commit.housing_deg, words::turn(turn)),
        );
        let what = format!("committed: {}; {}; {turn}", causes.join(" and "), commit.evidence.words());
        self.watch.end_any_turn();
        self.watch.note(Kind::Trainee, what);
        self.commit = Some((commit, self.watch.path()));
        Ok(&self.truth)
    }

    /// What was wrong.
    ///
    /// # Errors
    /// Nothing was committed yet, and the drill is not finished.
    pub fn truth(&self) -> Result<&Truth, NotCommitted> {
        let told = self.commit.is_some() || self.outcome.is_some();
        told.then_some(&self.truth).ok_or(NotCommitted)
    }

    /// The next hint and what it costs; `None` where there is no further one.
    pub fn hint(&mut self) -> Option<(String, f64)> {
        if self.outcome.is_some() {
            return None;
        }
        let hint = self.drill.hints.get(self.hints)?.clone();
        self.hints += 1;
        self.watch.note(Kind::Trainee, format!("hint, {:.0} marks: {}", hint.cost, hint.text));
        Some((hint.text, hint.cost))
    }

    pub(super) fn follow(&mut self) {
        let moments = self.bench.take_moments();
        self.watch.absorb(moments);
    }

    /// The work is done: it is looked over, marked, and everything is told. The bench stands from now on.
    pub fn finish(&mut self) -> &Outcome {
        let outcome = match self.outcome.take() {
            Some(outcome) => outcome,
            None => self.look_over(),
        };
        self.outcome.insert(outcome)
    }

    /// What came of it; `None` until it is finished.
    pub fn outcome(&self) -> Option<&Outcome> {
        self.outcome.as_ref()
    }

    fn look_over(&mut self) -> Outcome {
        self.follow();
        self.watch.end_any_turn();
        if self.watch.stop_in {
            self.watch.fail(Critical::StopLeftIn);
        }
        self.watch.note(Kind::Trainee, "finished".into());
        let behind = Behind {
            leads_on: self.watch.last().leads_on,
            stop_in: self.watch.stop_in,
            lead_off: self.leads_off.contains(&true),
        };
        let job = &self.case.job;
        let left = left(&self.bench.engine, job, self.truth.target, behind);
        let hints: f64 = self.drill.hints.iter().take(self.hints).map(|hint| hint.cost).sum();
        let marks = mark(&Work {
            job,
            truth: &self.truth,
            evidence: self.drill.evidence(),
            commit: self.commit.as_ref().map(|(commit, turned)| (commit, *turned)),
            left: &left,
            seen: self.watch.seen(),
            path: self.watch.path(),
            net: self.watch.net(),
            record_due: self.level != Level::Strobe,
            record_kept: self.bench.record().is_some(),
            hints,
            critical: self.watch.critical(),
            minutes: self.seconds() / 60.0,
            allowed: self.drill.notes.minutes,
        });
        Outcome {
            drill: self.drill.clone(),
            job: job.clone(),
            seed: self.seed,
            level: self.level,
            trainee: self.trainee.clone(),
            seconds: self.seconds(),
            truth: self.truth.clone(),
            commit: self.commit.clone().map(|(commit, _)| commit),
            marks,
            left,
            entries: self.watch.entries().to_vec(),
            frames: self.watch.frames().to_vec(),
        }
    }
}
