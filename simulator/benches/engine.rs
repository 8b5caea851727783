//! How much faster than real time the engine runs on one core: an eight on a 60-2 wheel, at idle and at
//! speed. Prints the ratio of simulated to elapsed time, the capture and its truth kept.

use keyway::engine::Engine;
use keyway::engine::controls::Controls;
use keyway::engine::setup::Setup;
use keyway::engine::truth::Record;
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, JobSpec, Rotation, SparkKind, TimingSpec,
};
use std::time::Instant;

fn eight() -> JobSpec {
    JobSpec {
        name: "Bench eight".try_into().unwrap_or_default(),
        engine: EngineSpec {
            cylinders: 8,
            strokes: 4,
            firing_order: [1, 8, 4, 3, 6, 5, 7, 2].into_iter().collect(),
            firing_intervals: None,
            spark: SparkKind::Distributor,
            rotor: Some(Rotation::Clockwise),
            reference: None,
            drive_gear_teeth: Some(13),
            housing_diameter_mm: None,
        },
        timing: TimingSpec {
            control: Control::Computer,
            base_btdc: 10.0,
            calibration: Calibration::Stock,
            extra: 0.0,
            commanded_btdc: None,
            tolerance: 1.0,
            harness_offset: 10.0,
            idle_rpm: [600.0, 900.0],
            supply_min_v: None,
        },
        crank: CrankSpec::Wheel { teeth: 60, missing: 2, first_edge_btdc: 84.0 },
        crank_edge: ActiveEdge::Rising,
        sensor_delay_us: 0.0,
        spark_edge: ActiveEdge::Rising,
        spark_delay_us: 0.0,
        base_mode: None,
    }
}

fn main() {
    let Ok(job) = eight().build() else {
        eprintln!("the job of the benchmark is not one");
        std::process::exit(2);
    };
    for (rpm, seconds) in [(750.0, 120.0), (3000.0, 60.0), (6000.0, 30.0)] {
        let mut setup = Setup::for_job(&job, 1);
        setup.intake.target_rpm = rpm;
        let mut engine = Engine::running(setup, Controls::default(), 2.0);
        let mut record = Record::from(engine.time());
        let start = Instant::now();
        engine.run_until(engine.time() + seconds, &mut record);
        let ratio = seconds / start.elapsed().as_secs_f64();
        println!("{rpm:.0} rpm: {ratio:.0} times real time, {} level changes", record.levels.len());
    }
}
