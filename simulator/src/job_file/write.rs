//! Writes a job as the job file of CONTRACT.md; what is written reads back as the same job.

use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, JobSpec, Reference, Rotation, SparkKind,
};
use std::fmt::{Display, Write};

/// The text of a job file.
pub fn text(spec: &JobSpec) -> String {
    let mut file = File(String::new());
    file.line("name", format_args!("\"{}\"", quoted(&spec.name)));
    write_engine(&mut file, spec);
    write_timing(&mut file, spec);
    file.section("crank");
    match &spec.crank {
        CrankSpec::Wheel { teeth, missing, first_edge_btdc } => {
            file.line("teeth", teeth);
            file.line("missing", missing);
            file.line("first_edge_btdc", number(*first_edge_btdc));
        }
        CrankSpec::Marks(marks) => file.line("marks_btdc", list(marks.iter().map(|mark| number(*mark)))),
    }
    file.line("active_edge", edge(spec.crank_edge));
    if spec.sensor_delay_us != 0.0 {
        file.line("sensor_delay_us", number(spec.sensor_delay_us));
    }
    file.section("spark_pickup");
    file.line("active_edge", edge(spec.spark_edge));
    if spec.spark_delay_us != 0.0 {
        file.line("delay_us", number(spec.spark_delay_us));
    }
    if let Some(base_mode) = spec.base_mode {
        file.section("context");
        file.line("base_mode", base_mode);
    }
    file.0
}

fn write_engine(file: &mut File, spec: &JobSpec) {
    let engine = &spec.engine;
    file.section("engine");
    file.line("cylinders", engine.cylinders);
    file.line("strokes", engine.strokes);
    file.line("firing_order", list(engine.firing_order.iter().map(u8::to_string)));
    if let Some(intervals) = &engine.firing_intervals {
        file.line("firing_intervals", list(intervals.iter().map(|interval| number(*interval))));
    }
    file.line(
        "spark",
        match engine.spark {
            SparkKind::Distributor => "\"distributor\"",
            SparkKind::Paired => "\"paired\"",
            SparkKind::Single => "\"single\"",
        },
    );
    if let Some(rotor) = engine.rotor {
        file.line(
            "rotor",
            match rotor {
                Rotation::Clockwise => "\"clockwise\"",
                Rotation::Counterclockwise => "\"counterclockwise\"",
            },
        );
    }
    if let Some(reference) = engine.reference {
        file.line(
            "reference",
            match reference {
                Reference::Distributor => "\"distributor\"",
                Reference::Crank => "\"crank\"",
            },
        );
    }
    if let Some(teeth) = engine.drive_gear_teeth {
        file.line("drive_gear_teeth", teeth);
    }
    if let Some(diameter) = engine.housing_diameter_mm {
        file.line("housing_diameter_mm", number(diameter));
    }
}

fn write_timing(file: &mut File, spec: &JobSpec) {
    let timing = &spec.timing;
    file.section("timing");
    file.line(
        "control",
        match timing.control {
            Control::Computer => "\"computer\"",
            Control::Commanded => "\"commanded\"",
            Control::Mechanical => "\"mechanical\"",
        },
    );
    file.line("base_btdc", number(timing.base_btdc));
    file.line(
        "calibration",
        match timing.calibration {
            Calibration::Stock => "\"stock\"",
            Calibration::Performance => "\"performance\"",
        },
    );
    file.line("extra", number(timing.extra));
    if let Some(commanded) = timing.commanded_btdc {
        file.line("commanded_btdc", number(commanded));
    }
    file.line("tolerance", number(timing.tolerance));
    file.line("harness_offset", number(timing.harness_offset));
    file.line("idle_rpm", list(timing.idle_rpm.iter().map(|rpm| number(*rpm))));
    if let Some(volts) = timing.supply_min_v {
        file.line("supply_min_v", number(volts));
    }
}

struct File(String);

impl File {
    // Writing into a text cannot fail.
    fn line(&mut self, key: &str, value: impl Display) {
        let _ = writeln!(self.0, "{key} = {value}");
    }

    fn section(&mut self, name: &str) {
        let _ = writeln!(self.0, "\n[{name}]");
    }
}

/// A number as TOML wants it: with a point.
fn number(value: f32) -> String {
    format!("{value:?}")
}

fn list(entries: impl Iterator<Item = String>) -> String {
    format!("[{}]", entries.collect::<Vec<_>>().join(", "))
}

fn edge(edge: ActiveEdge) -> &'static str {
    match edge {
        ActiveEdge::Rising => "\"rising\"",
        ActiveEdge::Falling => "\"falling\"",
    }
}

fn quoted(text: &str) -> String {
    let mut quoted = String::new();
    for letter in text.chars() {
        match letter {
            '"' | '\\' => quoted.extend(['\\', letter]),
            control if control.is_control() => quoted.push(' '),
            plain => quoted.push(plain),
        }
    }
    quoted
}
