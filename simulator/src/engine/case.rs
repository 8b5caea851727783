//! One engine, what the technician entered for it, what is done to it, and what comes out: a case.
//!
//! *Healthy case*: the engine made from the job alone. [`Fault`]s change it. [`Case::run`] plays it and
//! keeps the signals with their truth.

use super::Engine;
use super::controls::{Controls, Lead};
use super::fault::{Fault, FaultKind};
use super::random::Dice;
use super::schedule::{Change, Player, Schedule};
use super::setup::Setup;
use super::truth::{Record, centre};
use keyway_core::job::{Control, JobError, JobSpec};
use keyway_core::judge::CauseId;
use keyway_core::reading::Withheld;

/// An engine with its job and its schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What the technician entered.
    pub job: JobSpec,
    /// What the engine is.
    pub setup: Setup,
    /// How the controls stand when the capture starts.
    pub controls: Controls,
    /// What is done during the capture.
    pub schedule: Schedule,
    /// Length of the capture, s.
    pub seconds: f64,
    /// The engine stands when the capture starts; otherwise it idles.
    pub standing: bool,
    /// What was made wrong.
    pub faults: Vec<Fault>,
}

/// What a case is, for whoever marks a reading of it.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseTruth {
    /// Where the spark belongs, degrees before top dead centre.
    pub target: f64,
    /// Centre of the true spark angles of the steady idle part; `None` where there is no such part.
    pub advance: Option<f64>,
    /// What is wrong; [`CauseId::Healthy`] alone where nothing is.
    pub causes: Vec<CauseId>,
    /// Why no number should be shown, if none should.
    pub withheld: Option<Withheld>,
}

/// Seconds that an idling engine runs before the capture starts.
const WARM_UP: f64 = 4.0;

impl Case {
    /// A healthy engine for a job, idling for ten seconds with everything as the label says.
    ///
    /// # Errors
    /// The job cannot be.
    pub fn healthy(job: JobSpec, seed: u64) -> Result<Self, JobError> {
        let setup = Setup::for_job(&job.build()?, seed);
        Ok(Self {
            job,
            setup,
            controls: Controls::default(),
            schedule: Schedule::default(),
            seconds: 10.0,
            standing: false,
            faults: Vec::new(),
        })
    }

    /// Makes something wrong. The draws of the fault come from the case's seed and the fault's name, so
    /// that a fault is the same alone and beside another.
    ///
    /// # Errors
    /// This engine cannot have the fault; the reason, in words. The case is as it was.
    pub fn with(mut self, fault: Fault) -> Result<Self, &'static str> {
        let mut dice = Dice::new(self.setup.seed, fault.kind.id());
        fault.apply(&mut self, &mut dice)?;
        self.faults.push(fault);
        Ok(self)
    }

    /// Where the spark belongs, degrees before top dead centre.
    pub fn target(&self) -> f64 {
        let timing = &self.job.timing;
        f64::from(match (timing.control, timing.commanded_btdc) {
            (Control::Commanded, Some(commanded)) => commanded,
            _ => timing.base_btdc + timing.extra,
        })
    }

    /// The engine at the start of the capture.
    pub fn engine(&self) -> Engine {
        if self.standing {
            Engine::standing(self.setup.clone(), self.controls)
        } else {
            Engine::running(self.setup.clone(), self.controls, WARM_UP)
        }
    }

    /// Plays the case.
    pub fn run(&self) -> Record {
        let mut engine = self.engine();
        let mut record = Record::from(engine.time());
        record.first_levels = engine.levels();
        let mut player = Player::new(&self.schedule, &engine);
        player.run_until(&mut engine, self.seconds, &mut record);
        record.close(self.seconds);
        record
    }

    /// Whether the setting moves by half a degree or more during the capture.
    fn setting_moves(&self) -> bool {
        let ratio = self.setup.crank_per_housing();
        let bolt = self.setup.spark.bolt_shift;
        self.schedule.sorted().iter().any(|(at, change)| {
            *at < self.seconds
                && match change {
                    Change::Housing(to) => ((to - self.controls.housing_deg) * ratio).abs() >= 0.5,
                    Change::BoltTight(tight) => *tight != self.controls.bolt_tight && bolt.abs() >= 0.5,
                    _ => false,
                }
        })
    }

    /// The truth of what was recorded.
    pub fn truth(&self, record: &Record) -> CaseTruth {
        let lead = match self.controls.lead {
            Lead::Cylinder(lead) => lead,
            Lead::Off | Lead::Coil => 1,
        };
        let turns = self.setup.layout.turns_per_cycle();
        let advances = record.idle_advances(self.job.timing.idle_rpm, turns, lead);
        let mut causes: Vec<CauseId> = self.faults.iter().filter_map(|fault| fault.kind.cause()).collect();
        causes.retain(|cause| *cause != CauseId::Healthy);
        if causes.is_empty() {
            causes.push(CauseId::Healthy);
        }
        let withheld = self.faults.iter().find_map(|fault| match fault.kind {
            FaultKind::Withheld(reason) => Some(reason),
            // It sees every cylinder's spark: the rate is not this ignition's.
            FaultKind::Cause(CauseId::ClampOnCoilLead) => Some(Withheld::SparkRate),
            FaultKind::Cause(_) => None,
        });
        let moved = self.setting_moves().then_some(Withheld::SettingMoved);
        let withheld = withheld.or(moved);
        CaseTruth { target: self.target(), advance: centre(&advances), causes, withheld }
    }
}
