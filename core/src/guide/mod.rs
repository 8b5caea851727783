//! The whole job as a state machine: made safe, ready, base mode proven, read, set, clamped, given back,
//! recorded; it can't be fooled by a key alone and notices what was forgotten.
//!
//! *Step*: a station of the job; [`steps`] lists them for each kind of control. *Gate*: what must hold
//! before the next step opens, *told* by a key or *proven* by measured evidence; the two are never mixed up.
//! *Caution*: acknowledged before its step opens. *Halt*: the guide stops, says what it saw and how to go
//! on. *Side trip*: something beside the steps that comes back to the same step.
//!
//! ```text
//!                 cautions acknowledged            all gates told, proven or skipped
//!   enter step ──────────────────────────▶ work ─────────────────────────────────────▶ next step
//!        ▲                                 │  ▲                                          (stored)
//!        │ back: the step before           │  │ put right, or "again"
//!        │ (link and bolt are kept:        ▼  │
//!        │  before the link went back      halt ── skip, where safety allows: noted as failed
//!        │  lies "change the link")        │
//!        │                                 └── back: clamp moved, off target ▶ Set; delay remains ▶ Sweep
//!        └── menu: side trips (causes, next check, other checks, true zero, teach), leave ▶ Finish
//!
//!   computer    MakeSafe Connect Witness Zero Start Ready ▸ Steered BaseLink BaseBlip ▸ Read Set ClampDown
//!               ClampBlip ReadAgain ▸ LinkBack ControlBlip StopEngine Restart ▸ Disconnect Finish
//!   commanded   … Ready ▸ HoldFixed Read Set ClampDown Sweep EnterDelay ▸ ReadFine SetFine ClampFine BlipFine
//!               ReadAgain ▸ Release StopEngine Restart ▸ Disconnect Finish
//!   mechanical  MakeSafe Connect Points … Ready ▸ HosesOff BelowWeights ▸ Read Set ClampDown ClampBlip
//!               ReadAgain ▸ CurveOff HosesOn CurveOn ▸ Disconnect Finish
//!   Read, on target already ▶ ClampDown. Without a distributor: Reference stands for Witness, Set and clamps.
//! ```
//!
//! Every change of step goes through `Guide::go` (`walk`); what is known is kept in [`Facts`] and stored there, so
//! that a reset or the supply's dip at a restart costs nothing but the reading being taken.

mod bins;
mod blip;
mod clock;
mod corrected;
mod cranked;
mod facts;
mod halts;
mod heard;
mod keys;
mod live;
mod looked;
mod measure;
mod plan;
mod sensed;
mod setting;
mod show;
mod side;
mod state;
mod walk;
mod watch;
mod work;

pub use facts::{Bolt, Facts, Link, POINTS, Taken};
pub use looked::Looked;
pub use plan::{cautions, gates, needs_running, steps};
pub use sensed::{Followed, Known, Sensed};
pub use side::{Side, teaching_job};
use state::SoFar;
pub use state::{Blip, IdleLook, Saving, Set, State};

use crate::corrections::Corrections;
use crate::job::{Control, Job, JobSpec};
use crate::judge::CauseId;
use crate::reading::{SparkFate, SparkRecord};
use crate::view::{Alarm, CautionId, GateId, Halt, Mark, Notice, StepId};
use clock::Clock;
use serde::{Deserialize, Serialize};

/// What the guide looks at: the job measured with, and what is sensed at this tick.
#[derive(Debug, Clone, Copy)]
pub struct Now<'a> {
    /// The job, corrections applied.
    pub job: &'a Job,
    /// What is sensed.
    pub sensed: &'a Sensed,
}

/// What the guide wants of whoever holds it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Wishes {
    /// Forget the settled reading.
    pub restart: bool,
    /// Measure with the corrections that now stand (or with the teaching job).
    pub rebuild: bool,
    /// Store the state.
    pub save_state: bool,
    /// Store the record.
    pub save_record: bool,
    /// The job is over: nothing is to be resumed.
    pub done: bool,
    /// Keep the corrections that outlast this job with the engine.
    pub keep_corrections: bool,
    /// Show a short word.
    pub notice: Option<Notice>,
}

/// What survives a reset, as it is written; reads back as [`Snapshot`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SnapshotRef<'a> {
    /// The engine, as entered.
    pub spec: &'a JobSpec,
    /// Where it is kept.
    pub slot: Option<u8>,
    /// The step.
    pub step: StepId,
    /// What is known.
    pub facts: &'a Facts,
}

/// What survives a reset.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Snapshot {
    /// The engine, as entered.
    pub spec: JobSpec,
    /// Where it is kept.
    pub slot: Option<u8>,
    /// The step.
    pub step: StepId,
    /// What is known.
    pub facts: Facts,
}

/// The guided job.
#[derive(Debug, Clone)]
pub struct Guide {
    control: Control,
    plan: &'static [StepId],
    state: State,
    facts: Facts,
    side: Side,
    clock: Clock,
    halt: Option<Halt>,
    alarm: Option<Alarm>,
    lost: Option<(GateId, u32)>,
    /// Since when the caution's key is held down, ms.
    held: Option<u32>,
    /// What this step has seen of what it reads.
    so_far: SoFar,
    /// The corrections before their newest change.
    earlier: Option<Corrections>,
    /// What was read while the starter turned it, degrees before top dead centre, and its ±, until it runs.
    cranked: Option<(f32, f32)>,
    /// The cause that was gone on with, at this step, knowing it.
    known_of: Option<CauseId>,
    wishes: Wishes,
}

impl Guide {
    /// A new job, at its first step, with the corrections already applied to it.
    pub fn new(job: &Job, corrections: Corrections) -> Self {
        let mut facts = Facts::default();
        facts.correct(corrections);
        Self::resumed(job, facts, StepId::MakeSafe)
    }

    /// A job as it was stored. Work that needs a running engine begins anew.
    pub fn resumed(job: &Job, facts: Facts, step: StepId) -> Self {
        let plan = plan::steps(job);
        let step = if plan.contains(&step) { step } else { StepId::MakeSafe };
        let mut guide = Self {
            control: job.spec().timing.control,
            plan,
            state: State::Lines(step),
            facts,
            side: Side::None,
            clock: Clock::new(),
            halt: None,
            alarm: None,
            lost: None,
            held: None,
            so_far: SoFar::NotYet,
            earlier: None,
            cranked: None,
            known_of: None,
            wishes: Wishes::default(),
        };
        guide.open(step, &Now { job, sensed: &Sensed::default() });
        if guide.facts.stop_in {
            // Nothing goes on before the stop is told out.
            guide.side = Side::Zero(side::ZeroWork::STOP_OUT);
        }
        guide
    }

    /// What is known.
    pub fn facts(&self) -> &Facts {
        &self.facts
    }

    /// Where the job stands.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// What the guide has stopped for.
    pub fn halt(&self) -> Option<Halt> {
        self.halt
    }

    /// Danger, or a gate lost.
    pub fn alarm(&self) -> Option<Alarm> {
        self.alarm
    }

    /// The side trip under way.
    pub fn side(&self) -> &Side {
        &self.side
    }

    /// What the guide wants since this was last asked.
    pub fn take_wishes(&mut self) -> Wishes {
        core::mem::take(&mut self.wishes)
    }

    /// The record was stored, or not.
    pub fn on_stored(&mut self, stored: bool) {
        if let State::Finish(saving) = &mut self.state
            && *saving == Saving::Asked
        {
            if stored {
                *saving = Saving::Done;
                self.facts.mark(GateId::RecordStored, Mark::Proven);
                self.halt = None;
                self.wishes.notice = Some(Notice::Stored);
            } else {
                *saving = Saving::Open;
                self.halt = Some(Halt::StoreFailed);
            }
        }
    }

    /// A spark whose fate is settled: the points of curves, and the wander of the idle.
    pub fn on_spark(&mut self, record: &SparkRecord) {
        let Some(advance) = record.advance.map(|advance| advance.degrees()) else { return };
        if record.fate == SparkFate::Used {
            self.clock.idle_spark(record.rpm, advance);
        }
        if let State::Blip(blip) = &mut self.state
            && record.fate == SparkFate::OutsideIdle
            && record.rpm > 0.75 * blip.reach
        {
            let (mean, count) = &mut blip.above;
            *count = count.saturating_add(1);
            *mean += crate::units::wrap_degrees(advance - *mean) / f32::from(*count);
        }
        if let State::Run { bins, .. } = &mut self.state
            && record.fate != SparkFate::Stray
        {
            bins.add(record.rpm, advance);
        }
    }

    /// Time has come so far, with what is sensed.
    pub fn tick(&mut self, now: &Now) {
        self.clock.tick(now);
        self.keep_cranked(now);
        self.watch(now);
        self.watch_turned_clamp(now);
        if self.side != Side::None {
            self.tick_side(now);
            return;
        }
        if let Some(caution) = self.caution(now) {
            self.tick_caution(caution, now);
            return;
        }
        self.work(now);
    }

    /// The caution to be acknowledged before the work of this step; `None` once all are.
    fn caution(&self, now: &Now) -> Option<CautionId> {
        let step = self.state.step();
        let own = plan::cautions(step).iter().copied();
        let added =
            (now.job.spec().timing.extra > 4.0 && step == StepId::Set).then_some(CautionId::MoreThanFour);
        let dead = matches!(self.halt, Some(Halt::DeadCylinder { .. })).then_some(CautionId::DeadCylinder);
        let stop = match self.side {
            Side::Zero(_) => Some([CautionId::PistonStop, CautionId::StopValve]),
            _ => None,
        };
        own.chain(added)
            .chain(dead)
            .chain(stop.into_iter().flatten())
            .find(|caution| !self.facts.understood(*caution))
    }
}

#[cfg(test)]
mod tests;
