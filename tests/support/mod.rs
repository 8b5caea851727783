//! Jobs that tests share.
#![allow(dead_code)]

use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, JobSpec, Rotation, SparkKind, TimingSpec,
};
use std::path::PathBuf;

/// A usual firing order.
fn order(cylinders: u8) -> Vec<u8> {
    match cylinders {
        3 => vec![1, 3, 2],
        4 => vec![1, 3, 4, 2],
        5 => vec![1, 2, 4, 5, 3],
        6 => vec![1, 5, 3, 6, 2, 4],
        8 => vec![1, 8, 4, 3, 6, 5, 7, 2],
        12 => vec![1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10],
        other => (1..=other).collect(),
    }
}

/// A toothed wheel.
pub fn wheel(teeth: u8, missing: u8, first_edge_btdc: f32) -> CrankSpec {
    CrankSpec::Wheel { teeth, missing, first_edge_btdc }
}

/// Marks.
pub fn marks(places: &[f32]) -> CrankSpec {
    CrankSpec::Marks(places.iter().copied().collect())
}

/// A job: 10 degrees at 600 to 900 rpm on a 60-2 wheel; 10 commanded as well.
pub fn job(cylinders: u8, strokes: u8, spark: SparkKind, control: Control) -> JobSpec {
    let distributor = spark == SparkKind::Distributor;
    JobSpec {
        name: "Pump house".try_into().unwrap_or_default(),
        engine: EngineSpec {
            cylinders,
            strokes,
            firing_order: order(cylinders).into_iter().collect(),
            firing_intervals: None,
            spark,
            rotor: distributor.then_some(Rotation::Clockwise),
            reference: None,
            drive_gear_teeth: distributor.then_some(15),
            housing_diameter_mm: None,
        },
        timing: TimingSpec {
            control,
            base_btdc: 10.0,
            calibration: Calibration::Stock,
            extra: 0.0,
            commanded_btdc: (control == Control::Commanded).then_some(10.0),
            tolerance: 1.0,
            harness_offset: if control == Control::Mechanical { 0.0 } else { 10.0 },
            idle_rpm: [600.0, 900.0],
            supply_min_v: Some(13.2),
        },
        crank: wheel(60, 2, 84.0),
        crank_edge: ActiveEdge::Rising,
        sensor_delay_us: 0.0,
        spark_edge: ActiveEdge::Rising,
        spark_delay_us: 0.0,
        base_mode: Some(true),
    }
}

/// A scenario of the simulator.
pub fn scenario_path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("../simulator/scenarios/{name}.toml"))
}
