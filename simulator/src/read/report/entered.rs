//! The job as it was entered, for people: every key of the job file with its unit.

use crate::read::words::{advance, correction::way};
use keyway_core::job::{ActiveEdge, Calibration, Control, CrankSpec, Job, JobSpec, Reference, SparkKind};

/// A group of entries.
pub(super) type Group = (&'static str, Vec<(&'static str, String)>);

/// The groups of a job file.
pub(super) fn groups(job: &Job) -> [Group; 3] {
    let spec = job.spec();
    [("Engine", engine(spec)), ("Timing", timing(spec)), ("Pickups", pickups(spec))]
}

fn engine(spec: &JobSpec) -> Vec<(&'static str, String)> {
    let engine = &spec.engine;
    let mut rows = vec![
        ("cylinders", engine.cylinders.to_string()),
        ("strokes", engine.strokes.to_string()),
        ("firing order", list(engine.firing_order.iter())),
    ];
    if let Some(intervals) = &engine.firing_intervals {
        rows.push(("firing intervals", format!("{}°", list(intervals.iter()))));
    }
    rows.push((
        "spark",
        match engine.spark {
            SparkKind::Distributor => "distributor".into(),
            SparkKind::Paired => "paired: one coil fires two cylinders".into(),
            SparkKind::Single => "single: a coil per cylinder".into(),
        },
    ));
    if let Some(rotor) = engine.rotor {
        rows.push(("rotor, facing the cap", way(rotor).into()));
    }
    if let Some(reference) = engine.reference {
        let reference = match reference {
            Reference::Distributor => "distributor",
            Reference::Crank => "crank: the housing only sets the rotor",
        };
        rows.push(("spark timed by", reference.into()));
    }
    if let Some(teeth) = engine.drive_gear_teeth {
        rows.push(("drive gear", format!("{teeth} teeth")));
    }
    if let Some(diameter) = engine.housing_diameter_mm {
        rows.push(("housing", format!("{diameter} mm across")));
    }
    rows
}

fn timing(spec: &JobSpec) -> Vec<(&'static str, String)> {
    let timing = &spec.timing;
    let control = match timing.control {
        Control::Computer => "computer, base mode",
        Control::Commanded => "computer, fixed value",
        Control::Mechanical => "weights and vacuum",
    };
    let calibration = match timing.calibration {
        Calibration::Stock => "stock",
        Calibration::Performance => "performance",
    };
    let mut rows = vec![
        ("control", control.into()),
        ("label's base", advance(timing.base_btdc, 1)),
        ("calibration", calibration.into()),
        ("added by owner", format!("{}°", timing.extra)),
    ];
    if let Some(commanded) = timing.commanded_btdc {
        rows.push(("commanded", advance(commanded, 1)));
    }
    rows.push(("tolerance", format!("± {}°", timing.tolerance)));
    rows.push(("steering adds", format!("about {}°", timing.harness_offset)));
    let [low, high] = timing.idle_rpm;
    rows.push(("idle", format!("{low} to {high} rpm")));
    if let Some(volts) = timing.supply_min_v {
        rows.push(("supply, at least", format!("{volts} V")));
    }
    let base_mode = match spec.base_mode {
        Some(true) => "said to be",
        Some(false) => "said not to be",
        None => "not said",
    };
    rows.push(("in base mode", base_mode.into()));
    rows
}

fn pickups(spec: &JobSpec) -> Vec<(&'static str, String)> {
    let edge = |edge: ActiveEdge| match edge {
        ActiveEdge::Rising => "rising edge",
        ActiveEdge::Falling => "falling edge",
    };
    let mut rows = Vec::new();
    match &spec.crank {
        CrankSpec::Wheel { teeth, missing, first_edge_btdc } => {
            rows.push(("crank wheel", format!("{teeth} slots, {missing} missing")));
            rows.push(("first edge", advance(*first_edge_btdc, 1)));
        }
        CrankSpec::Marks(marks) => {
            let places: Vec<String> = marks.iter().map(|mark| advance(*mark, 1)).collect();
            rows.push(("crank marks", places.join(", ")));
        }
    }
    rows.push(("crank taken on", edge(spec.crank_edge).into()));
    rows.push(("crank delay", format!("{} µs", spec.sensor_delay_us)));
    rows.push(("spark taken on", edge(spec.spark_edge).into()));
    rows.push(("spark delay", format!("{} µs", spec.spark_delay_us)));
    rows
}

fn list(entries: impl Iterator<Item = impl ToString>) -> String {
    entries.map(|entry| entry.to_string()).collect::<Vec<_>>().join(" – ")
}
