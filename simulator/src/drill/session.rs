//! One run of a drill: an engine with its hidden fault or none, the trainee's handheld, the clock, the answer
//! and the marks.
//!
//! The bench is open to every hand, right or wrong: scripts and mice move its controls, the session only
//! watches. The truth is told by [`Session::finish`] and, once the answer is committed, by
//! [`Session::truth`]; before that it is refused.

use super::acts::Deed;
use super::commit::{Answer, Commit};
use super::customer::{Behind, left};
use super::exercise::Drill;
use super::level::Level;
use super::log::{Critical, Kind};
use super::marks::{Work, mark};
use super::outcome::Outcome;
use super::truth::Truth;
use super::watch::Watch;
use crate::engine::case::Case;
use crate::guide_play::{self, Act, Bench};
use keyway_core::job::{JobSpec, Rotation};
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
    level: Level,
    case: Case,
    truth: Truth,
    bench: Bench,
    watch: Watch,
    /// The answer, and the housing degrees turned before it.
    commit: Option<(Commit, f64)>,
    hints: usize,
    slips: Vec<Act>,
    leads_off: [bool; 12],
    outcome: Option<Outcome>,
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

    /// Pulls a spark lead off its plug, or puts it back.
    pub fn lead_off(&mut self, cylinder: u8, off: bool) {
        let place = usize::from(cylinder.saturating_sub(1));
        let healthy = self.case.setup.fuel_share.get(place).copied();
        let (Some(share), Some(kept)) = (healthy, self.leads_off.get_mut(place)) else { return };
        *kept = off;
        self.bench.engine.feed(cylinder, if off { 0.0 } else { share });
        self.watch.note(
            Kind::Hand,
            format!("spark lead {cylinder} {}", if off { "pulled off" } else { "put back" }),
        );
        if off && self.bench.engine.rpm() > 50.0 {
            self.watch.fail(Critical::LeadPulledRunning);
        }
    }

    /// Plugs a cylinder's injector connector in again.
    pub fn injector(&mut self, cylinder: u8) {
        if let Some(share) = self.case.setup.fuel_share.get_mut(usize::from(cylinder.saturating_sub(1))) {
            *share = share.max(1.0);
        }
        self.bench.engine.feed(cylinder, 1.0);
        self.watch.note(Kind::Hand, format!("injector connector {cylinder} cleaned and plugged in"));
    }

    /// Puts the piston stop in, or takes it out.
    pub fn piston_stop(&mut self, into: bool) {
        self.watch.note(Kind::Hand, format!("piston stop {}", if into { "put in" } else { "taken out" }));
        self.watch.stop_in = into;
        if into && self.bench.engine.rpm() > 0.0 {
            self.watch.fail(Critical::StopLeftIn);
        }
    }

    /// Enters degrees and µs in the engine's computer.
    pub fn enter(&mut self, reference: f64, delay_us: f64) {
        self.bench.engine.enter(reference, delay_us * 1e-6);
        let what =
            format!("entered in the computer: {reference:+.1}° of reference, {delay_us:.0} µs of delay");
        self.watch.note(Kind::Hand, what);
    }

    /// Carries an act of a script out.
    ///
    /// # Errors
    /// It cannot be done now; why.
    pub fn carry_out(&mut self, deed: &Deed) -> Result<(), String> {
        if self.outcome.is_some() {
            return Err("the drill is finished".into());
        }
        match deed {
            Deed::Bench(act) => self.act(act)?,
            Deed::ClampTurned(turned) => self.bench.engine.controls_mut().clamp_reversed = *turned,
            Deed::Load(load) => self.bench.engine.controls_mut().accessory_load = *load,
            Deed::LeadOff(cylinder, off) => self.lead_off(*cylinder, *off),
            Deed::Injector(Some(cylinder)) => self.injector(*cylinder),
            Deed::Injector(None) => {
                let named = self.watch.weak.map(|one| (one > 0).then_some(one));
                if named == [None; 2] {
                    return Err("the handheld named no cylinder".into());
                }
                named.into_iter().flatten().for_each(|one| self.injector(one));
            }
            Deed::Stop(into) => self.piston_stop(*into),
            Deed::Reference(degrees) => self.enter(*degrees, 0.0),
            Deed::Delay(delay) => self.enter(0.0, *delay),
            Deed::Commit(answer) => self.answer(answer.clone())?,
            Deed::Hint => {
                self.hint().ok_or("there is no further hint")?;
            }
            Deed::Finish => {
                self.finish();
                return Ok(());
            }
        }
        self.pass(0.05);
        if self.level == Level::Strobe {
            let sight = match self.strobe() {
                Some(degrees) if degrees < 0.0 => format!("the mark stands {:.0} after zero", -degrees),
                Some(degrees) => format!("the mark stands {degrees:.0} before zero"),
                None => "no mark in sight".into(),
            };
            self.watch.show(format!("strobe: {sight}"));
        }
        Ok(())
    }

    fn act(&mut self, act: &Act) -> Result<(), String> {
        if matches!(act, Act::Slip(_)) {
            self.slips.push(act.clone());
            return Ok(());
        }
        let covered = self.level == Level::Strobe;
        if covered && matches!(act, Act::Auto(_) | Act::Key(..) | Act::Choose(_)) {
            return Err("the handheld is covered at this level".into());
        }
        let mut acts = std::mem::take(&mut self.slips);
        acts.push(act.clone());
        let rotor = self.case.job.engine.rotor.unwrap_or(Rotation::Clockwise);
        let done = guide_play::carry_out(&acts, &mut self.bench, rotor);
        self.follow();
        done.map_err(|(_, why)| why)
    }

    fn answer(&mut self, answer: Answer) -> Result<(), String> {
        let commit = answer.complete(self.view())?;
        self.commit(commit).map(|_| ())
    }

    fn follow(&mut self) {
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
