//! What stands on the bench, without a picture: engine, handheld, hands, and the clock that drives them.
//!
//! *Rig*: where the handheld's world comes from: an engine that the trainer chose, a drill's, or a capture played
//! back. *Brisk*: a scripted technician works the handheld to the reading for a trainer who has ten seconds.

use super::catalogue::{Choice, Kept, engines};
use crate::drill::Session;
use crate::engine::case::Case;
use crate::engine::controls::Controls;
use crate::guide_play::{Bench, Hands};
use keyway_core::job::{Control, JobSpec, Rotation};
use keyway_core::view::{StepId, View};

/// Seconds that the tape holds.
pub(super) const TAPE: f64 = 60.0;
/// The longest piece of time that one frame makes up for, s: a slow machine falls behind instead of jumping.
pub(super) const LONGEST_FRAME: f64 = 0.25;
/// The handheld is asked at least so often, s.
const PIECE: f64 = 0.05;
/// Bench seconds that one frame of brisk work takes.
const BRISK: f64 = 1.2;
/// Bench seconds after which brisk work gives up.
const BRISK_ENDS: f64 = 400.0;

/// Where the handheld's world comes from.
#[derive(Debug)]
pub(super) enum Rig {
    /// An engine that a trainer chose.
    Free(Box<Bench>),
    /// A drill.
    Drill(Box<Session>),
}

/// The bench without its picture.
#[derive(Debug)]
pub(super) struct Stage {
    /// The engines to choose from.
    pub(super) engines: Vec<Kept>,
    /// What was chosen.
    pub(super) choice: Choice,
    /// What stands there.
    pub(super) rig: Rig,
    pub(super) job: JobSpec,
    target: f64,
    /// What is wrong, in words, for the truth.
    pub(super) wrong: Vec<&'static str>,
    /// Time stands still.
    pub(super) paused: bool,
    /// Bench seconds for each second.
    pub(super) pace: f64,
    /// A word on what a hand just could not do, or what was saved, and for how long it is shown, s.
    pub(super) word: Option<(String, f64)>,
    brisk: Option<(Hands, f64)>,
    /// Injector shares as they were before leads were pulled.
    pub(super) pulled: Vec<u8>,
    /// The distributor was out since the ignition was last on.
    pub(super) refitted: bool,
    /// What the drill's or the engine's computer was told so far: degrees and µs.
    pub(super) entered: (f64, f64),
}

impl Stage {
    /// A bench with the engine that stands there at first.
    pub(super) fn new() -> Result<Self, String> {
        let engines = engines();
        let choice = Choice::default();
        let first = engines.first().ok_or("no engine can be read")?;
        let case = Self::case(&first.job, &choice)?;
        let bench = Self::bench_of(&case);
        let mut stage = Self {
            engines,
            choice,
            rig: Rig::Free(Box::new(bench)),
            job: case.job.clone(),
            target: case.target(),
            wrong: Vec::new(),
            paused: false,
            pace: 1.0,
            word: None,
            brisk: None,
            pulled: Vec::new(),
            refitted: false,
            entered: (0.0, 0.0),
        };
        stage.wrong = stage.words();
        Ok(stage)
    }

    /// A bench with a drill's session.
    pub(super) fn of_session(session: Session) -> Result<Self, String> {
        let mut stage = Self::new()?;
        stage.put_session(session);
        Ok(stage)
    }

    /// A drill begins.
    pub(super) fn put_session(&mut self, mut session: Session) {
        session.bench_mut().keep_tape(TAPE);
        self.job = session.job().clone();
        let timing = &self.job.timing;
        let commanded = timing.commanded_btdc.filter(|_| timing.control == Control::Commanded);
        self.target = f64::from(commanded.unwrap_or(timing.base_btdc + timing.extra));
        self.wrong.clear();
        self.rig = Rig::Drill(Box::new(session));
        self.start_anew();
    }

    fn start_anew(&mut self) {
        self.brisk = None;
        self.pulled.clear();
        self.refitted = false;
        self.entered = (0.0, 0.0);
        self.paused = false;
        self.pace = 1.0;
    }

    fn words(&self) -> Vec<&'static str> {
        let words: Vec<_> = self.choice.made().map(|fault| super::catalogue::mistake(fault.kind)).collect();
        if words.is_empty() { vec!["Nothing is wrong"] } else { words }
    }

    fn case(job: &JobSpec, choice: &Choice) -> Result<Case, String> {
        let mut case = Case::healthy(job.clone(), choice.seed).map_err(|error| format!("{error:?}"))?;
        for fault in choice.made() {
            case = case.with(fault).map_err(|needs| {
                format!("{} only on an engine with {needs}.", super::catalogue::mistake(fault.kind))
            })?;
        }
        // As an engine is found: the computer in charge, hoses on, idling.
        case.controls.base_mode = false;
        case.controls.hold_fixed = false;
        case.controls.hose_on = job.timing.control == Control::Mechanical;
        case.schedule = Default::default();
        Ok(case)
    }

    fn bench_of(case: &Case) -> Bench {
        let mut bench = Bench::new(case.engine(), &case.job);
        bench.keep_tape(TAPE);
        bench
    }

    /// Puts what the trainer chose on the bench; where that engine cannot have the mistake, everything stays and
    /// the word says why.
    pub(super) fn put(&mut self, choice: Choice) {
        let Some(kept) = self.engines.get(choice.engine) else { return };
        match Self::case(&kept.job, &choice) {
            Ok(case) => {
                self.rig = Rig::Free(Box::new(Self::bench_of(&case)));
                self.job = case.job.clone();
                self.target = case.target();
                self.choice = choice;
                self.wrong = self.words();
                self.start_anew();
                self.say("A fresh engine stands on the bench, the handheld at its start.");
            }
            Err(why) => self.say(&why),
        }
    }

    /// Says something for some seconds.
    pub(super) fn say(&mut self, word: &str) {
        self.word = Some((word.to_owned(), 6.0));
    }

    /// What the technician knows of the engine.
    pub(super) fn job(&self) -> &JobSpec {
        &self.job
    }

    /// Where the spark belongs, degrees before top dead centre.
    pub(super) fn target(&self) -> f64 {
        self.target
    }

    /// Engine and handheld.
    pub(super) fn bench(&self) -> &Bench {
        match &self.rig {
            Rig::Free(bench) => bench,
            Rig::Drill(session) => session.bench(),
        }
    }

    /// Engine and handheld, for hands.
    pub(super) fn bench_mut(&mut self) -> &mut Bench {
        match &mut self.rig {
            Rig::Free(bench) => bench,
            Rig::Drill(session) => session.bench_mut(),
        }
    }

    /// The drill, where one is under way.
    pub(super) fn session(&self) -> Option<&Session> {
        match &self.rig {
            Rig::Free(_) => None,
            Rig::Drill(session) => Some(session),
        }
    }

    /// The drill, to be acted on.
    pub(super) fn session_mut(&mut self) -> Option<&mut Session> {
        match &mut self.rig {
            Rig::Free(_) => None,
            Rig::Drill(session) => Some(session),
        }
    }

    /// What the handheld shows; `None` where a drill covers it.
    pub(super) fn view(&self) -> Option<View> {
        match &self.rig {
            Rig::Free(bench) => Some(*bench.view()),
            Rig::Drill(session) => session.view(),
        }
    }

    /// The engine's controls as they stand.
    pub(super) fn controls(&self) -> &Controls {
        self.bench().engine.controls()
    }

    /// The engine's controls, for hands.
    pub(super) fn controls_mut(&mut self) -> &mut Controls {
        self.bench_mut().engine.controls_mut()
    }

    /// Time goes on by a frame of so many seconds.
    pub(super) fn go_on(&mut self, seconds: f64) {
        let seconds = seconds.clamp(0.0, LONGEST_FRAME);
        if let Some((_, left)) = &mut self.word {
            *left -= seconds;
        }
        self.word.take_if(|(_, left)| *left <= 0.0);
        self.refitted &= !self.controls().ignition;
        if self.brisk.is_some() {
            return self.go_briskly();
        }
        if !self.paused {
            let pieces = (seconds / PIECE).ceil().max(1.0);
            let piece = seconds * self.pace / pieces;
            for _ in 0..pieces as u32 {
                match &mut self.rig {
                    Rig::Free(bench) => bench.flow(piece),
                    Rig::Drill(session) => session.flow(piece),
                }
            }
        }
    }

    /// A scripted technician is to work the handheld to the reading.
    pub(super) fn work_to_the_reading(&mut self) {
        let rotor = self.job.engine.rotor.unwrap_or(Rotation::Clockwise);
        if let Rig::Free(bench) = &mut self.rig {
            self.paused = false;
            if bench.view().bar.step.is_none() {
                Hands::open_job(bench);
            }
            self.brisk = Some((Hands::showing(rotor), bench.time() + BRISK_ENDS));
        }
    }

    /// The scripted technician is at work.
    pub(super) fn is_brisk(&self) -> bool {
        self.brisk.is_some()
    }

    fn go_briskly(&mut self) {
        let (Rig::Free(bench), Some((mut hands, ends))) = (&mut self.rig, self.brisk.take()) else { return };
        let there = hands.work(bench, Some(StepId::Read), BRISK);
        // The reading itself takes some seconds to settle.
        if hands.has_shown() {
            self.say("The guide has stopped for the mistake; take over.");
        } else if there {
            bench.pass(8.0);
            self.say("The handheld stands at the reading; take over.");
        } else if bench.time() < ends && bench.view().halt.is_none_or(|_| bench.time() + 60.0 < ends) {
            self.brisk = Some((hands, ends));
        } else {
            self.say("The handheld stopped on its way to the reading: its screen says for what.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::catalogue::mistakes;
    use super::*;

    #[test]
    fn every_mistake_can_be_put_on_some_engine_and_the_others_say_why_not() {
        let mut stage = Stage::new().unwrap();
        for kind in mistakes() {
            let mut found = false;
            for engine in 0..stage.engines.len() {
                let choice = Choice { engine, faults: [kind, kind], ..Choice::default() };
                match Stage::case(&stage.engines[engine].job, &choice) {
                    Ok(_) => found = true,
                    Err(why) => assert!(why.contains("only on an engine with"), "{why}"),
                }
            }
            assert!(found, "{}", kind.id());
        }
        stage.put(Choice { engine: 99, ..Choice::default() });
        assert_eq!(stage.choice, Choice::default());
    }

    #[test]
    fn a_tight_bolt_holds_the_housing_and_a_loose_one_lets_it_turn_the_way_it_is_turned() {
        let mut stage = Stage::new().unwrap();
        stage.turn_clockwise(2.0);
        assert_eq!(stage.housing_clockwise(), 0.0);
        assert!(stage.word.is_some());
        stage.controls_mut().bolt_tight = false;
        let before = stage.bench().engine.base_advance();
        stage.turn_clockwise(2.0);
        assert_eq!(stage.housing_clockwise(), 2.0);
        // The rotor turns clockwise: turning with it retards, two crank degrees for each of the housing.
        assert!((before - stage.bench().engine.base_advance() - 4.0).abs() < 1e-9);
    }
}
