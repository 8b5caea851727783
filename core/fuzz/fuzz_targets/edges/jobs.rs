//! A small set of jobs, and the same with numbers that the fuzzer chose.

use crate::script::Bytes;
use heapless::Vec;
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, Job, JobSpec, PerCylinder, Reference, Rotation,
    SparkKind, TimingSpec,
};

fn list(values: &[u8]) -> PerCylinder<u8> {
    Vec::from_slice(values).unwrap_or_default()
}

fn marks(degrees: &[f32]) -> CrankSpec {
    CrankSpec::Marks(Vec::from_slice(degrees).unwrap_or_default())
}

fn wheel(teeth: u8, missing: u8) -> CrankSpec {
    CrankSpec::Wheel { teeth, missing, first_edge_btdc: 84.0 }
}

/// The six of the pump house, with this trigger.
fn pump_six(crank: CrankSpec) -> JobSpec {
    JobSpec {
        name: heapless::String::try_from("Weir pump six").unwrap_or_default(),
        engine: EngineSpec {
            cylinders: 6,
            strokes: 4,
            firing_order: list(&[1, 5, 3, 6, 2, 4]),
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
            supply_min_v: Some(13.2),
        },
        crank,
        crank_edge: ActiveEdge::Rising,
        sensor_delay_us: 0.0,
        spark_edge: ActiveEdge::Rising,
        spark_delay_us: 0.0,
        base_mode: Some(true),
    }
}

/// A twin of the training hall without a distributor.
fn hall_twin(crank: CrankSpec, spark: SparkKind, strokes: u8) -> JobSpec {
    let mut spec = pump_six(crank);
    spec.engine = EngineSpec {
        cylinders: 2,
        strokes,
        firing_order: list(&[1, 2]),
        firing_intervals: (strokes == 4).then(|| Vec::from_slice(&[270.0, 450.0]).unwrap_or_default()),
        spark,
        rotor: None,
        reference: None,
        drive_gear_teeth: None,
        housing_diameter_mm: None,
    };
    spec.base_mode = None;
    spec
}

fn specification(which: u8) -> JobSpec {
    match which % 9 {
        0 => pump_six(wheel(36, 1)),
        1 => pump_six(wheel(60, 2)),
        2 => pump_six(marks(&[10.0])),
        3 => hall_twin(marks(&[0.0, 120.0, 200.0]), SparkKind::Paired, 4),
        4 => hall_twin(wheel(4, 1), SparkKind::Single, 2),
        5 => {
            let mut mechanical = pump_six(marks(&[60.0, -60.0, 180.0, 75.0]));
            mechanical.timing.control = Control::Mechanical;
            mechanical.timing.harness_offset = 0.0;
            mechanical.base_mode = None;
            mechanical
        }
        6 => {
            let mut commanded = pump_six(wheel(24, 1));
            commanded.timing.control = Control::Commanded;
            commanded.timing.commanded_btdc = Some(15.0);
            commanded.engine.reference = Some(Reference::Crank);
            commanded
        }
        7 => {
            let mut twelve = pump_six(wheel(120, 1));
            twelve.engine.cylinders = 12;
            twelve.engine.firing_order = list(&[1, 12, 5, 8, 3, 10, 6, 7, 2, 11, 4, 9]);
            twelve.base_mode = Some(false);
            twelve.crank_edge = ActiveEdge::Falling;
            twelve
        }
        _ => {
            let mut single = hall_twin(marks(&[-170.0]), SparkKind::Single, 2);
            single.engine.cylinders = 1;
            single.engine.firing_order = list(&[1]);
            single
        }
    }
}

/// Puts a chosen number where a chosen key is.
fn change(spec: &mut JobSpec, key: u8, number: f32) {
    match key % 14 {
        0 => spec.timing.base_btdc = number,
        1 => spec.timing.extra = number,
        2 => spec.timing.tolerance = number,
        3 => spec.timing.harness_offset = number,
        4 => spec.timing.idle_rpm[0] = number,
        5 => spec.timing.idle_rpm[1] = number,
        6 => spec.timing.supply_min_v = Some(number),
        7 => spec.timing.commanded_btdc = Some(number),
        8 => spec.sensor_delay_us = number,
        9 => spec.spark_delay_us = number,
        10 => spec.engine.housing_diameter_mm = Some(number),
        11 => spec.engine.drive_gear_teeth = Some(number as u8),
        12 => match &mut spec.crank {
            CrankSpec::Wheel { first_edge_btdc, .. } => *first_edge_btdc = number,
            CrankSpec::Marks(marks) => {
                let _ = marks.push(number);
            }
        },
        _ => match &mut spec.crank {
            CrankSpec::Wheel { teeth, missing, .. } => {
                let bits = number.to_bits();
                (*teeth, *missing) = (bits as u8, (bits >> 8) as u8);
            }
            CrankSpec::Marks(marks) => {
                let _ = marks.pop();
            }
        },
    }
}

/// The job that the script opens with; `None` where its numbers were refused.
pub(crate) fn job(bytes: &mut Bytes<'_>) -> Option<Job> {
    let mut spec = specification(bytes.byte()?);
    for _ in 0..bytes.byte()? % 4 {
        let key = bytes.byte()?;
        let number = f32::from_bits(bytes.word()?);
        change(&mut spec, key, number);
    }
    spec.build().ok()
}
