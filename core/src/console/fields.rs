//! The fields of a job: which there are, what each reads, and how it is changed.

use crate::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, JobSpec, PerCylinder, Rotation, SparkKind,
    TimingSpec,
};
use crate::view::{FieldId, Unit};
use crate::words;
use heapless::{String, Vec};

/// Room for the fields of the largest job: twelve cylinders, uneven, eight marks.
pub(super) const MOST_FIELDS: usize = 64;

/// A field and its place among several of its kind, from 0.
pub(super) type Place = (FieldId, u8);

/// What can be entered in a number field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Range {
    pub(super) low: f32,
    pub(super) high: f32,
    /// The largest digit.
    pub(super) digit: f32,
    pub(super) decimals: u8,
    pub(super) unit: Unit,
}

/// A job to begin entering with: a common six-cylinder engine of no make.
pub fn blank() -> JobSpec {
    let mut firing_order = PerCylinder::new();
    for cylinder in [1, 5, 3, 6, 2, 4] {
        let _ = firing_order.push(cylinder);
    }
    let mut name = String::new();
    let _ = name.push_str("Engine");
    JobSpec {
        name,
        engine: EngineSpec {
            cylinders: 6,
            strokes: 4,
            firing_order,
            firing_intervals: None,
            spark: SparkKind::Distributor,
            rotor: Some(Rotation::Clockwise),
            reference: None,
            drive_gear_teeth: None,
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
            supply_min_v: Some(13.2),
        },
        crank: CrankSpec::Wheel { teeth: 36, missing: 1, first_edge_btdc: 84.0 },
        crank_edge: ActiveEdge::Rising,
        sensor_delay_us: 0.0,
        spark_edge: ActiveEdge::Rising,
        spark_delay_us: 0.0,
        base_mode: None,
    }
}

/// The fields that this job has, in the order in which they are entered.
pub(super) fn list(spec: &JobSpec) -> Vec<Place, MOST_FIELDS> {
    use FieldId::*;
    let mut fields = Vec::new();
    let mut add = |field, index| {
        let _ = fields.push((field, index));
    };
    let distributor = spec.engine.spark == SparkKind::Distributor;
    add(Name, 0);
    add(Control, 0);
    add(Cylinders, 0);
    add(Strokes, 0);
    (1..spec.engine.cylinders).for_each(|place| add(FiringOrder, place));
    add(EvenFiring, 0);
    if spec.engine.firing_intervals.is_some() {
        (0..spec.engine.cylinders).for_each(|place| add(FiringInterval, place));
    }
    add(Spark, 0);
    if distributor {
        for field in [Rotor, Reference, GearTeeth, HousingDiameter] {
            add(field, 0);
        }
    }
    add(Base, 0);
    add(Calibration, 0);
    if spec.timing.calibration == crate::job::Calibration::Stock {
        add(Extra, 0);
    }
    match spec.timing.control {
        crate::job::Control::Commanded => {
            add(Commanded, 0);
            add(HarnessOffset, 0);
        }
        crate::job::Control::Computer => add(HarnessOffset, 0),
        crate::job::Control::Mechanical => {}
    }
    for field in [Tolerance, IdleLow, IdleHigh, SupplyMin, CrankKind] {
        add(field, 0);
    }
    match &spec.crank {
        CrankSpec::Wheel { .. } => [Teeth, Missing, FirstEdge].into_iter().for_each(|field| add(field, 0)),
        CrankSpec::Marks(marks) => {
            add(MarkCount, 0);
            (0..marks.len() as u8).for_each(|place| add(MarkAngle, place));
        }
    }
    for field in [CrankEdge, SensorDelay, SparkEdge, SparkDelay] {
        add(field, 0);
    }
    fields
}

/// What can be entered; `None` for a choice and for the name.
pub(super) fn range(field: FieldId, spec: &JobSpec) -> Option<Range> {
    use FieldId::*;
    let of = |low, high, digit, decimals, unit| Some(Range { low, high, digit, decimals, unit });
    match field {
        Cylinders => of(1.0, 12.0, 1.0, 0, Unit::Count),
        FiringOrder => of(1.0, f32::from(spec.engine.cylinders), 1.0, 0, Unit::Count),
        FiringInterval => {
            of(1.0, if spec.engine.strokes == 2 { 360.0 } else { 720.0 }, 10.0, 1, Unit::Degrees)
        }
        GearTeeth => of(0.0, 60.0, 1.0, 0, Unit::Count),
        HousingDiameter => of(0.0, 300.0, 10.0, 0, Unit::Millimetre),
        Base => of(-20.0, 40.0, 1.0, 1, Unit::Advance),
        Extra => of(-10.0, 10.0, 1.0, 1, Unit::Degrees),
        Commanded => of(-20.0, 60.0, 1.0, 1, Unit::Advance),
        Tolerance => of(0.1, 10.0, 1.0, 1, Unit::Degrees),
        HarnessOffset => of(-40.0, 40.0, 1.0, 1, Unit::Degrees),
        IdleLow | IdleHigh => of(50.0, 12_000.0, 100.0, 0, Unit::Rpm),
        SupplyMin => of(0.0, 60.0, 1.0, 1, Unit::Volt),
        Teeth => of(4.0, 120.0, 10.0, 0, Unit::Count),
        Missing => of(1.0, 60.0, 1.0, 0, Unit::Count),
        FirstEdge => of(0.0, 359.9, 10.0, 1, Unit::Degrees),
        MarkCount => of(1.0, 8.0, 1.0, 0, Unit::Count),
        MarkAngle => of(-179.9, 359.9, 10.0, 1, Unit::Advance),
        SensorDelay | SparkDelay => of(-1000.0, 1000.0, 10.0, 0, Unit::Microsecond),
        Name | Strokes | EvenFiring | Spark | Rotor | Reference | Control | Calibration | CrankKind
        | CrankEdge | SparkEdge => None,
    }
}

/// The number in a field, or the index of the choice.
pub(super) fn read(spec: &JobSpec, (field, index): Place) -> f32 {
    use FieldId::*;
    let place = usize::from(index);
    let engine = &spec.engine;
    let timing = &spec.timing;
    let second = |holds: bool| f32::from(u8::from(holds));
    match field {
        Name => 0.0,
        Cylinders => f32::from(engine.cylinders),
        Strokes => second(engine.strokes == 2),
        FiringOrder => engine.firing_order.get(place).copied().map_or(1.0, f32::from),
        EvenFiring => second(engine.firing_intervals.is_some()),
        FiringInterval => {
            engine.firing_intervals.as_ref().and_then(|all| all.get(place)).copied().unwrap_or(0.0)
        }
        Spark => match engine.spark {
            SparkKind::Distributor => 0.0,
            SparkKind::Paired => 1.0,
            SparkKind::Single => 2.0,
        },
        Rotor => second(engine.rotor == Some(Rotation::Counterclockwise)),
        Reference => second(engine.reference == Some(crate::job::Reference::Crank)),
        GearTeeth => f32::from(engine.drive_gear_teeth.unwrap_or(0)),
        HousingDiameter => engine.housing_diameter_mm.unwrap_or(0.0),
        Control => match timing.control {
            crate::job::Control::Computer => 0.0,
            crate::job::Control::Commanded => 1.0,
            crate::job::Control::Mechanical => 2.0,
        },
        Base => timing.base_btdc,
        Calibration => second(timing.calibration == crate::job::Calibration::Performance),
        Extra => timing.extra,
        Commanded => timing.commanded_btdc.unwrap_or(0.0),
        Tolerance => timing.tolerance,
        HarnessOffset => timing.harness_offset,
        IdleLow => timing.idle_rpm[0],
        IdleHigh => timing.idle_rpm[1],
        SupplyMin => timing.supply_min_v.unwrap_or(0.0),
        CrankKind => second(matches!(spec.crank, CrankSpec::Marks(_))),
        Teeth | Missing | FirstEdge => match &spec.crank {
            CrankSpec::Wheel { teeth, missing, first_edge_btdc } => match field {
                Teeth => f32::from(*teeth),
                Missing => f32::from(*missing),
                _ => *first_edge_btdc,
            },
            CrankSpec::Marks(_) => 0.0,
        },
        MarkCount | MarkAngle => match &spec.crank {
            CrankSpec::Marks(marks) if field == MarkCount => marks.len() as f32,
            CrankSpec::Marks(marks) => marks.get(place).copied().unwrap_or(0.0),
            CrankSpec::Wheel { .. } => 0.0,
        },
        CrankEdge => second(spec.crank_edge == ActiveEdge::Falling),
        SensorDelay => spec.sensor_delay_us,
        SparkEdge => second(spec.spark_edge == ActiveEdge::Falling),
        SparkDelay => spec.spark_delay_us,
    }
}

/// Puts a number, or the index of a choice, into a field, and what hangs on it into order.
pub(super) fn write(spec: &mut JobSpec, (field, index): Place, value: f32) {
    use FieldId::*;
    let place = usize::from(index);
    let count = (value + 0.5) as u8;
    let edge = if count == 0 { ActiveEdge::Rising } else { ActiveEdge::Falling };
    match field {
        Name => {}
        Cylinders => {
            spec.engine.cylinders = count;
            // The order as far as it goes, the rest counted up: to be entered next.
            let order = &mut spec.engine.firing_order;
            order.clear();
            for cylinder in 1..=count {
                let _ = order.push(cylinder);
            }
            spec.engine.firing_intervals = None;
        }
        Strokes => {
            spec.engine.strokes = if count == 0 { 4 } else { 2 };
            spec.engine.firing_intervals = None;
        }
        FiringOrder => {
            if let Some(kept) = spec.engine.firing_order.get_mut(place) {
                *kept = count;
            }
        }
        EvenFiring => {
            let cycle = if spec.engine.strokes == 2 { 360.0 } else { 720.0 };
            spec.engine.firing_intervals = (count > 0).then(|| {
                let mut intervals = PerCylinder::new();
                let even = cycle / f32::from(spec.engine.cylinders.max(1));
                let _ = intervals.resize(usize::from(spec.engine.cylinders), even);
                intervals
            });
        }
        FiringInterval => {
            if let Some(kept) = spec.engine.firing_intervals.as_mut().and_then(|all| all.get_mut(place)) {
                *kept = value;
            }
        }
        Spark => {
            spec.engine.spark = match count {
                0 => SparkKind::Distributor,
                1 => SparkKind::Paired,
                _ => SparkKind::Single,
            };
            let distributor = count == 0;
            spec.engine.rotor = distributor.then_some(spec.engine.rotor.unwrap_or(Rotation::Clockwise));
            if !distributor {
                spec.engine.reference = None;
                spec.engine.drive_gear_teeth = None;
                spec.engine.housing_diameter_mm = None;
            }
        }
        Rotor => {
            spec.engine.rotor =
                Some(if count == 0 { Rotation::Clockwise } else { Rotation::Counterclockwise });
        }
        Reference => {
            spec.engine.reference = (count > 0).then_some(crate::job::Reference::Crank);
        }
        GearTeeth => spec.engine.drive_gear_teeth = (count > 0).then_some(count),
        HousingDiameter => spec.engine.housing_diameter_mm = (value > 0.0).then_some(value),
        Control => {
            let timing = &mut spec.timing;
            (timing.control, timing.commanded_btdc) = match count {
                0 => (crate::job::Control::Computer, None),
                1 => (crate::job::Control::Commanded, Some(timing.commanded_btdc.unwrap_or(15.0))),
                _ => (crate::job::Control::Mechanical, None),
            };
            if timing.control == crate::job::Control::Mechanical {
                timing.harness_offset = 0.0;
            }
        }
        Base => spec.timing.base_btdc = value,
        Calibration => {
            spec.timing.calibration = if count == 0 {
                crate::job::Calibration::Stock
            } else {
                crate::job::Calibration::Performance
            };
            if count > 0 {
                spec.timing.extra = 0.0;
            }
        }
        Extra => spec.timing.extra = value,
        Commanded => spec.timing.commanded_btdc = Some(value),
        Tolerance => spec.timing.tolerance = value,
        HarnessOffset => spec.timing.harness_offset = value,
        IdleLow => spec.timing.idle_rpm[0] = value,
        IdleHigh => spec.timing.idle_rpm[1] = value,
        SupplyMin => spec.timing.supply_min_v = (value > 0.0).then_some(value),
        CrankKind => {
            spec.crank = if count == 0 {
                CrankSpec::Wheel { teeth: 36, missing: 1, first_edge_btdc: 0.0 }
            } else {
                let mut marks = Vec::new();
                let _ = marks.push(0.0);
                CrankSpec::Marks(marks)
            };
        }
        Teeth | Missing | FirstEdge => {
            if let CrankSpec::Wheel { teeth, missing, first_edge_btdc } = &mut spec.crank {
                match field {
                    Teeth => *teeth = count,
                    Missing => *missing = count,
                    _ => *first_edge_btdc = value,
                }
            }
        }
        MarkCount | MarkAngle => {
            if let CrankSpec::Marks(marks) = &mut spec.crank {
                if field == MarkCount {
                    let _ = marks.resize(usize::from(count), 0.0);
                } else if let Some(mark) = marks.get_mut(place) {
                    *mark = value;
                }
            }
        }
        CrankEdge => spec.crank_edge = edge,
        SensorDelay => spec.sensor_delay_us = value,
        SparkEdge => spec.spark_edge = edge,
        SparkDelay => spec.spark_delay_us = value,
    }
}

/// How many choices a field has; 0 for a number or the name.
pub(super) fn choices(field: FieldId) -> u8 {
    words::choices(field)
}

/// The field that a job's error is about.
pub(super) fn of_key(key: &str) -> FieldId {
    match key {
        "name" => FieldId::Name,
        "engine.cylinders" => FieldId::Cylinders,
        "engine.strokes" => FieldId::Strokes,
        "engine.firing_order" => FieldId::FiringOrder,
        "engine.firing_intervals" => FieldId::FiringInterval,
        "engine.rotor" => FieldId::Rotor,
        "engine.reference" => FieldId::Reference,
        "engine.drive_gear_teeth" => FieldId::GearTeeth,
        "engine.housing_diameter_mm" => FieldId::HousingDiameter,
        "timing.base_btdc" => FieldId::Base,
        "timing.extra" => FieldId::Extra,
        "timing.tolerance" => FieldId::Tolerance,
        "timing.harness_offset" => FieldId::HarnessOffset,
        "timing.idle_rpm" => FieldId::IdleLow,
        "timing.commanded_btdc" => FieldId::Commanded,
        "timing.supply_min_v" => FieldId::SupplyMin,
        "crank.teeth" => FieldId::Teeth,
        "crank.missing" => FieldId::Missing,
        "crank.first_edge_btdc" => FieldId::FirstEdge,
        "crank.marks_btdc" => FieldId::MarkAngle,
        "crank.sensor_delay_us" => FieldId::SensorDelay,
        "spark_pickup.delay_us" => FieldId::SparkDelay,
        _ => FieldId::Name,
    }
}
