//! An engine as it is found, hands at it, and the job that they play.

use keyway::engine::Engine;
use keyway::engine::case::Case;
use keyway::guide_play::{Bench, Hands, Slip};
use keyway_core::console::blank;
use keyway_core::job::{Control, JobSpec, Rotation};
use keyway_core::judge::Verdict;
use keyway_core::record::Record;
use keyway_core::view::{Halt, StepId};

pub fn spec(control: Control) -> JobSpec {
    let mut spec = blank();
    spec.timing.control = control;
    spec.engine.housing_diameter_mm = Some(70.0);
    spec.timing.supply_min_v = None;
    match control {
        Control::Computer => {}
        Control::Commanded => spec.timing.commanded_btdc = Some(15.0),
        Control::Mechanical => spec.timing.harness_offset = 0.0,
    }
    spec
}

/// An idling engine as it is found: the setting off by `off` crank degrees, the computer steering.
pub fn found(spec: &JobSpec, off: f64, change: impl FnOnce(&mut Case)) -> Engine {
    found_of(11, spec, off, change)
}

pub fn found_of(seed: u64, spec: &JobSpec, off: f64, change: impl FnOnce(&mut Case)) -> Engine {
    let mut case = match Case::healthy(spec.clone(), seed) {
        Ok(case) => case,
        Err(error) => panic!("{error}"),
    };
    case.setup.spark.setting += off;
    case.controls.base_mode = false;
    case.controls.hold_fixed = false;
    case.controls.hose_on = true;
    change(&mut case);
    case.engine()
}

/// A job that was played.
pub struct Played {
    pub hands: Hands,
    pub bench: Bench,
    pub ended: bool,
}

pub fn play(spec: &JobSpec, engine: Engine, slips: &[Slip]) -> Played {
    let rotor = spec.engine.rotor.unwrap_or(Rotation::Clockwise);
    let mut bench = Bench::new(engine, spec);
    let mut hands = Hands::new(rotor, slips);
    Hands::open_job(&mut bench);
    let ended = hands.work(&mut bench, None, 400.0);
    Played { hands, bench, ended }
}

impl Played {
    pub fn record(&self) -> Record {
        match self.bench.record() {
            Some(record) if self.ended => record,
            other => panic!(
                "ended {} at {:?}; steps {:?}; halts {:?}; record {other:?}; view {:?}",
                self.ended,
                self.hands.steps.last(),
                self.hands.steps,
                self.hands.halts,
                (self.bench.view(), self.bench.instrument.sensed())
            ),
        }
    }

    /// The halts that came before this step was first reached; all of them where it never was.
    pub fn halted_before(&self, step: StepId) -> Vec<Halt> {
        let count = self.hands.halts_before.iter().find(|(one, _)| *one == step).map(|(_, count)| *count);
        self.hands.halts.iter().copied().take(count.unwrap_or(usize::MAX)).collect()
    }

    /// Where the spark belongs, degrees before top dead centre.
    pub fn target(&self, job: &JobSpec) -> f32 {
        match (job.timing.control, job.timing.commanded_btdc) {
            (Control::Commanded, Some(commanded)) => commanded,
            _ => job.timing.base_btdc + job.timing.extra,
        }
    }

    pub fn halted_for(&self, wanted: fn(&Halt) -> bool) -> bool {
        self.hands.halts.iter().any(wanted)
    }

    /// The record, found on target with the truth inside its tolerance.
    pub fn on_target(&self, job: &JobSpec) -> Record {
        let record = self.record();
        assert_eq!(record.verdict(), Some(Verdict::OnTarget), "{record:?} {:?}", self.hands.halts);
        let setup = self.bench.engine.setup();
        let controls = self.bench.engine.controls();
        let housing = if job.engine.rotor.is_some() { 2.0 * controls.housing_deg } else { 0.0 };
        let off = setup.spark.setting + housing;
        assert!(off.abs() <= f64::from(job.timing.tolerance), "the engine is left {off} degrees off");
        assert!(controls.bolt_tight);
        record
    }
}
