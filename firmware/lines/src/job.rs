//! A job as JSON: the keys of the job file, read into what the core checks, and written back.

use crate::command::{Refused, What};
use heapless::{String, Vec};
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, JobSpec, MAX_CYLINDERS, MAX_MARKS, MAX_NAME,
    Reference, Rotation, SparkKind, TimingSpec,
};
use serde::{Deserialize, Serialize};

/// Words of the job file for a list of values of the core.
macro_rules! words {
    ($wire:ident, $core:ident: $($name:ident),+) => {
        #[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
        #[serde(rename_all = "lowercase")]
        enum $wire { $($name),+ }
        impl From<$wire> for $core {
            fn from(word: $wire) -> Self { match word { $($wire::$name => Self::$name),+ } }
        }
        impl From<$core> for $wire {
            fn from(value: $core) -> Self { match value { $($core::$name => Self::$name),+ } }
        }
    };
}

words!(SparkWord, SparkKind: Distributor, Paired, Single);
words!(RotorWord, Rotation: Clockwise, Counterclockwise);
words!(ReferenceWord, Reference: Distributor, Crank);
words!(ControlWord, Control: Computer, Commanded, Mechanical);
words!(CalibrationWord, Calibration: Stock, Performance);
words!(EdgeWord, ActiveEdge: Rising, Falling);

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EngineLine {
    cylinders: u8,
    #[serde(default = "four")]
    strokes: u8,
    firing_order: Vec<u8, MAX_CYLINDERS>,
    firing_intervals: Option<Vec<f32, MAX_CYLINDERS>>,
    spark: SparkWord,
    rotor: Option<RotorWord>,
    reference: Option<ReferenceWord>,
    drive_gear_teeth: Option<u8>,
    housing_diameter_mm: Option<f32>,
}

const fn four() -> u8 {
    4
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct TimingLine {
    control: ControlWord,
    base_btdc: f32,
    calibration: CalibrationWord,
    extra: f32,
    commanded_btdc: Option<f32>,
    tolerance: f32,
    harness_offset: f32,
    idle_rpm: [f32; 2],
    supply_min_v: Option<f32>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CrankLine {
    teeth: Option<u8>,
    missing: Option<u8>,
    first_edge_btdc: Option<f32>,
    marks_btdc: Option<Vec<f32, MAX_MARKS>>,
    active_edge: EdgeWord,
    #[serde(default)]
    sensor_delay_us: f32,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PickupLine {
    active_edge: EdgeWord,
    #[serde(default)]
    delay_us: f32,
}

#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ContextLine {
    base_mode: Option<bool>,
}

/// A job with the keys of the job file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobLine {
    name: String<MAX_NAME>,
    engine: EngineLine,
    timing: TimingLine,
    crank: CrankLine,
    spark_pickup: PickupLine,
    #[serde(default)]
    context: ContextLine,
}

impl JobLine {
    /// As entered, found possible.
    ///
    /// # Errors
    /// The first entry that cannot be, by its key.
    pub fn spec(self) -> Result<JobSpec, Refused> {
        let (engine, timing) = (self.engine, self.timing);
        let crank =
            match (self.crank.teeth, self.crank.missing, self.crank.first_edge_btdc, self.crank.marks_btdc) {
                (Some(teeth), Some(missing), Some(first_edge_btdc), None) => {
                    CrankSpec::Wheel { teeth, missing, first_edge_btdc }
                }
                (None, None, None, Some(marks)) => CrankSpec::Marks(marks),
                _ => {
                    let form = "either teeth, missing and first_edge_btdc, or marks_btdc";
                    return Err(Refused { key: Some("crank"), ..Refused::new(What::Job, form) });
                }
            };
        let spec = JobSpec {
            name: self.name,
            engine: EngineSpec {
                cylinders: engine.cylinders,
                strokes: engine.strokes,
                firing_order: engine.firing_order,
                firing_intervals: engine.firing_intervals,
                spark: engine.spark.into(),
                rotor: engine.rotor.map(Into::into),
                reference: engine.reference.map(Into::into),
                drive_gear_teeth: engine.drive_gear_teeth,
                housing_diameter_mm: engine.housing_diameter_mm,
            },
            timing: TimingSpec {
                control: timing.control.into(),
                base_btdc: timing.base_btdc,
                calibration: timing.calibration.into(),
                extra: timing.extra,
                commanded_btdc: timing.commanded_btdc,
                tolerance: timing.tolerance,
                harness_offset: timing.harness_offset,
                idle_rpm: timing.idle_rpm,
                supply_min_v: timing.supply_min_v,
            },
            crank,
            crank_edge: self.crank.active_edge.into(),
            sensor_delay_us: self.crank.sensor_delay_us,
            spark_edge: self.spark_pickup.active_edge.into(),
            spark_delay_us: self.spark_pickup.delay_us,
            base_mode: self.context.base_mode,
        };
        spec.build()?;
        Ok(spec)
    }
}

impl From<&JobSpec> for JobLine {
    fn from(spec: &JobSpec) -> Self {
        let (engine, timing) = (&spec.engine, &spec.timing);
        let mut crank = CrankLine {
            teeth: None,
            missing: None,
            first_edge_btdc: None,
            marks_btdc: None,
            active_edge: spec.crank_edge.into(),
            sensor_delay_us: spec.sensor_delay_us,
        };
        match &spec.crank {
            CrankSpec::Wheel { teeth, missing, first_edge_btdc } => {
                crank.teeth = Some(*teeth);
                crank.missing = Some(*missing);
                crank.first_edge_btdc = Some(*first_edge_btdc);
            }
            CrankSpec::Marks(marks) => crank.marks_btdc = Some(marks.clone()),
        }
        Self {
            name: spec.name.clone(),
            engine: EngineLine {
                cylinders: engine.cylinders,
                strokes: engine.strokes,
                firing_order: engine.firing_order.clone(),
                firing_intervals: engine.firing_intervals.clone(),
                spark: engine.spark.into(),
                rotor: engine.rotor.map(Into::into),
                reference: engine.reference.map(Into::into),
                drive_gear_teeth: engine.drive_gear_teeth,
                housing_diameter_mm: engine.housing_diameter_mm,
            },
            timing: TimingLine {
                control: timing.control.into(),
                base_btdc: timing.base_btdc,
                calibration: timing.calibration.into(),
                extra: timing.extra,
                commanded_btdc: timing.commanded_btdc,
                tolerance: timing.tolerance,
                harness_offset: timing.harness_offset,
                idle_rpm: timing.idle_rpm,
                supply_min_v: timing.supply_min_v,
            },
            crank,
            spark_pickup: PickupLine { active_edge: spec.spark_edge.into(), delay_us: spec.spark_delay_us },
            context: ContextLine { base_mode: spec.base_mode },
        }
    }
}
