//! Jobs of invented engines of the river works, to measure on.

use crate::edge_source::Wheel;
use heapless::{String, Vec};
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, JobSpec, Rotation, SparkKind, TimingSpec,
};

/// A four-stroke with a distributor and a computer, timed from this wheel: base 10° before top dead
/// centre, tolerance 1°, the harness offset 10°, idle from 600 to 900 rpm.
pub fn job(cylinders: u8, wheel: &Wheel) -> JobSpec {
    let order: &[u8] = match cylinders {
        1 => &[1],
        2 => &[1, 2],
        3 => &[1, 3, 2],
        4 => &[1, 3, 4, 2],
        6 => &[1, 5, 3, 6, 2, 4],
        8 => &[1, 8, 4, 3, 6, 5, 7, 2],
        _ => panic!("no firing order is kept for {cylinders} cylinders"),
    };
    JobSpec {
        name: String::try_from("Weir pump").expect("a short name"),
        engine: EngineSpec {
            cylinders,
            strokes: 4,
            firing_order: Vec::from_slice(order).expect("at most twelve"),
            firing_intervals: None,
            spark: SparkKind::Distributor,
            rotor: Some(Rotation::Clockwise),
            reference: None,
            drive_gear_teeth: Some(13),
            housing_diameter_mm: Some(70.0),
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
        crank: crank(wheel),
        crank_edge: ActiveEdge::Rising,
        sensor_delay_us: 0.0,
        spark_edge: ActiveEdge::Rising,
        spark_delay_us: 0.0,
        base_mode: Some(true),
    }
}

/// The wheel as it is entered in a job.
pub fn crank(wheel: &Wheel) -> CrankSpec {
    match wheel {
        Wheel::Teeth { slots, missing, first_btdc } => {
            CrankSpec::Wheel { teeth: *slots, missing: *missing, first_edge_btdc: *first_btdc as f32 }
        }
        Wheel::Marks(marks) => CrankSpec::Marks(marks.iter().map(|mark| *mark as f32).collect()),
    }
}

/// A wheel of so many slots, first tooth after the gap at 84° before top dead centre.
pub fn wheel(slots: u8, missing: u8) -> Wheel {
    Wheel::Teeth { slots, missing, first_btdc: 84.0 }
}
