//! Whole jobs on the simulated engine, worked by hands that see only the screen and hear only the sounder:
//! each kind of control from a badly set engine to a record within tolerance; then the usual mistakes, made
//! on purpose: the guide stops, says why, and goes on once it is put right.

use keyway::engine::Engine;
use keyway::engine::case::Case;
use keyway::guide_play::{Bench, Hands, Slip};
use keyway_core::console::blank;
use keyway_core::job::{Control, JobSpec, Rotation};
use keyway_core::judge::Verdict;
use keyway_core::record::Record;
use keyway_core::view::{Halt, Mark, StepId};

fn spec(control: Control) -> JobSpec {
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
fn found(spec: &JobSpec, off: f64, change: impl FnOnce(&mut Case)) -> Engine {
    let mut case = match Case::healthy(spec.clone(), 11) {
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

struct Played {
    hands: Hands,
    bench: Bench,
    ended: bool,
}

fn play(spec: &JobSpec, engine: Engine, slips: &[Slip]) -> Played {
    let rotor = spec.engine.rotor.unwrap_or(Rotation::Clockwise);
    let mut bench = Bench::new(engine, spec);
    let mut hands = Hands::new(rotor, slips);
    Hands::open_job(&mut bench);
    let ended = hands.work(&mut bench, None, 400.0);
    Played { hands, bench, ended }
}

impl Played {
    fn record(&self) -> Record {
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

    fn halted_for(&self, wanted: fn(&Halt) -> bool) -> bool {
        self.hands.halts.iter().any(wanted)
    }

    /// The record, found on target with the truth inside its tolerance.
    fn on_target(&self, job: &JobSpec) -> Record {
        let record = self.record();
        assert_eq!(record.verdict(), Some(Verdict::OnTarget), "{record:?} {:?}", self.hands.halts);
        let setup = self.bench.engine.setup();
        let controls = self.bench.engine.controls();
        let off = setup.spark.setting + 2.0 * controls.housing_deg;
        assert!(off.abs() <= f64::from(job.timing.tolerance), "the engine is left {off} degrees off");
        assert!(controls.bolt_tight);
        record
    }
}

#[test]
fn a_computer_job_ends_in_a_record_within_tolerance() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    assert_eq!(record.step(StepId::BaseLink), Mark::Told, "the link is told, its step proven");
    assert_eq!(record.step(StepId::BaseBlip), Mark::Proven);
    assert_eq!(record.step(StepId::ClampBlip), Mark::Proven);
    assert_eq!(record.step(StepId::ControlBlip), Mark::Proven);
    assert!(!played.bench.engine.controls().base_mode, "control is given back");
    let before = record.before.map(|taken| taken.advance);
    assert!(before.is_some_and(|before| (before - 3.0).abs() < 1.0), "{before:?}");
    assert!(played.hands.halts.is_empty(), "{:?}", played.hands.halts);
}
