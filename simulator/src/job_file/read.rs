//! Reads a job file and finds the job possible, or says in one line which entry cannot be.
//!
//! A key may only be left out where CONTRACT.md marks it optional or gives a default; the shapes are
//! checked here, ranges and contradictions in the core, so that an entry typed on the instrument and one
//! read from a file meet the same rules.

use super::entries::{Section, list, number, switch, text, whole, word};
use super::error::{JobFileError, line_of, one_line, piece};
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, Job, JobError, JobSpec, MAX_MARKS, MAX_NAME,
    Problem, Reference, Rotation, SparkKind, TimingSpec,
};
use std::fs::File;
use std::io::Read;
use std::path::Path;
use toml::Spanned;
use toml::de::DeTable;

/// The largest job file, bytes.
const LARGEST: u64 = 256 * 1024;

/// The keys of a job at the top of its file.
pub(crate) const TOP: [&str; 6] = ["name", "engine", "timing", "crank", "spark_pickup", "context"];
const ENGINE: [&str; 9] = [
    "cylinders",
    "strokes",
    "firing_order",
    "firing_intervals",
    "spark",
    "rotor",
    "reference",
    "drive_gear_teeth",
    "housing_diameter_mm",
];
const TIMING: [&str; 9] = [
    "control",
    "base_btdc",
    "calibration",
    "extra",
    "commanded_btdc",
    "tolerance",
    "harness_offset",
    "idle_rpm",
    "supply_min_v",
];
const CRANK: [&str; 6] =
    ["teeth", "missing", "first_edge_btdc", "marks_btdc", "active_edge", "sensor_delay_us"];
const SPARK_PICKUP: [&str; 2] = ["active_edge", "delay_us"];
const CONTEXT: [&str; 1] = ["base_mode"];

const EDGES: [(&str, ActiveEdge); 2] = [("rising", ActiveEdge::Rising), ("falling", ActiveEdge::Falling)];
const A_NUMBER: &str = "a finite number";

/// Reads the job file at this path.
///
/// # Errors
/// The file cannot be read, is not TOML, or holds an entry that cannot be.
pub fn file(path: &Path) -> Result<Job, JobFileError> {
    job(&text_of(path)?)
}

/// The text of a file of TOML.
pub(crate) fn text_of(path: &Path) -> Result<String, JobFileError> {
    let unreadable = |error: std::io::Error| {
        let read = match error.kind() {
            std::io::ErrorKind::NotFound => "no such file".to_owned(),
            std::io::ErrorKind::IsADirectory => "a directory".to_owned(),
            _ => format!("a file that cannot be read ({})", one_line(&error.to_string())),
        };
        JobFileError::whole(read, "a job file")
    };
    let mut bytes = Vec::new();
    File::open(path).and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
    if bytes.len() as u64 > LARGEST {
        return Err(JobFileError::whole(format!("more than {LARGEST} bytes"), "a job file in TOML"));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let before = error.as_bytes().get(..good).unwrap_or_default();
        let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
        JobFileError {
            line: Some(line),
            key: None,
            read: "bytes that are no text".into(),
            allowed: "TOML in UTF-8".into(),
        }
    })
}

/// Reads the text of a job file.
///
/// # Errors
/// The text is not TOML, or holds an entry that cannot be.
pub fn job(text: &str) -> Result<Job, JobFileError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let root = tables(text)?;
    let top = Section::new(text, "", root.get_ref(), 0, &TOP)?;
    job_of(&top)
}

/// The tables of a text.
pub(crate) fn tables(text: &str) -> Result<Spanned<DeTable<'_>>, JobFileError> {
    DeTable::parse(text).map_err(|error| {
        let span = error.span().unwrap_or(0..0);
        let line_end = text.get(span.start..).and_then(|rest| rest.find('\n')).unwrap_or(0);
        let here = piece(text, span.start..span.end.max(span.start + line_end));
        JobFileError {
            line: Some(line_of(text, span.start)),
            key: None,
            read: format!("{here} ({})", one_line(error.message())),
            allowed: "TOML with each key once".into(),
        }
    })
}

/// The job that a file's top holds, whatever else it holds.
pub(crate) fn job_of(top: &Section<'_>) -> Result<Job, JobFileError> {
    let spec = specification(top)?;
    spec.build().map_err(|error| refused(top, error))
}

/// Places a refusal of the core where its key stands in the file.
fn refused(top: &Section<'_>, error: JobError) -> JobFileError {
    let allowed = match error.problem {
        Problem::OutOfRange { low, high, .. } => format!("{low} to {high}"),
        Problem::Expected(what) => what.to_owned(),
    };
    let sections: [(&'static str, &[&str]); 5] = [
        ("engine", &ENGINE),
        ("timing", &TIMING),
        ("crank", &CRANK),
        ("spark_pickup", &SPARK_PICKUP),
        ("context", &CONTEXT),
    ];
    for (name, keys) in sections {
        if let Some(key) = error.key.strip_prefix(name).and_then(|rest| rest.strip_prefix('.'))
            && let Ok(Some(section)) = top.section(name, keys)
        {
            return section.error(key, allowed);
        }
    }
    top.error(error.key, allowed)
}

fn specification(top: &Section<'_>) -> Result<JobSpec, JobFileError> {
    let name = top.required("name", text, "a name of 1 to 40 letters")?;
    let name = heapless::String::<MAX_NAME>::try_from(name.as_str())
        .map_err(|_| top.error("name", "a name of 1 to 40 letters"))?;
    let engine = engine(&top.required_section("engine", &ENGINE)?)?;
    let timing = timing(&top.required_section("timing", &TIMING)?)?;
    let wheel = top.required_section("crank", &CRANK)?;
    let pickup = top.required_section("spark_pickup", &SPARK_PICKUP)?;
    let base_mode = match top.section("context", &CONTEXT)? {
        Some(context) => context.optional("base_mode", switch, "true or false")?,
        None => None,
    };
    let edge =
        |section: &Section<'_>| section.required("active_edge", word(&EDGES), "\"rising\" or \"falling\"");
    Ok(JobSpec {
        name,
        engine,
        timing,
        crank: crank(&wheel)?,
        crank_edge: edge(&wheel)?,
        sensor_delay_us: wheel.optional("sensor_delay_us", number, A_NUMBER)?.unwrap_or(0.0),
        spark_edge: edge(&pickup)?,
        spark_delay_us: pickup.optional("delay_us", number, A_NUMBER)?.unwrap_or(0.0),
        base_mode,
    })
}

fn engine(section: &Section<'_>) -> Result<EngineSpec, JobFileError> {
    let kinds = [
        ("distributor", SparkKind::Distributor),
        ("paired", SparkKind::Paired),
        ("single", SparkKind::Single),
    ];
    let rotations = [("clockwise", Rotation::Clockwise), ("counterclockwise", Rotation::Counterclockwise)];
    let references = [("distributor", Reference::Distributor), ("crank", Reference::Crank)];
    Ok(EngineSpec {
        cylinders: section.required("cylinders", whole, "a whole number from 1 to 12")?,
        strokes: section.optional("strokes", whole, "4 or 2")?.unwrap_or(4),
        firing_order: section.required("firing_order", list(whole), "a list of 1 to 12 cylinders")?,
        firing_intervals: section.optional(
            "firing_intervals",
            list(number),
            "a list of 1 to 12 finite numbers of degrees",
        )?,
        spark: section.required("spark", word(&kinds), "\"distributor\", \"paired\" or \"single\"")?,
        rotor: section.optional("rotor", word(&rotations), "\"clockwise\" or \"counterclockwise\"")?,
        reference: section.optional("reference", word(&references), "\"distributor\" or \"crank\"")?,
        drive_gear_teeth: section.optional("drive_gear_teeth", whole, "a whole number of teeth")?,
        housing_diameter_mm: section.optional("housing_diameter_mm", number, A_NUMBER)?,
    })
}

fn timing(section: &Section<'_>) -> Result<TimingSpec, JobFileError> {
    let controls = [
        ("computer", Control::Computer),
        ("commanded", Control::Commanded),
        ("mechanical", Control::Mechanical),
    ];
    let calibrations = [("stock", Calibration::Stock), ("performance", Calibration::Performance)];
    let number_of = |key: &str| section.required(key, number, A_NUMBER);
    let speeds = "a list of two speeds, the lower first";
    let idle = section.required("idle_rpm", list::<f32, 2>(number), speeds)?;
    Ok(TimingSpec {
        control: section.required(
            "control",
            word(&controls),
            "\"computer\", \"commanded\" or \"mechanical\"",
        )?,
        base_btdc: number_of("base_btdc")?,
        calibration: section.required("calibration", word(&calibrations), "\"stock\" or \"performance\"")?,
        extra: number_of("extra")?,
        commanded_btdc: section.optional("commanded_btdc", number, A_NUMBER)?,
        tolerance: number_of("tolerance")?,
        harness_offset: number_of("harness_offset")?,
        idle_rpm: idle.into_array().map_err(|_| section.error("idle_rpm", speeds))?,
        supply_min_v: section.optional("supply_min_v", number, A_NUMBER)?,
    })
}

fn crank(section: &Section<'_>) -> Result<CrankSpec, JobFileError> {
    let wheel = ["teeth", "missing", "first_edge_btdc"];
    let of_wheel = wheel.into_iter().find(|key| section.has(key));
    let one_form = "either teeth, missing and first_edge_btdc, or marks_btdc";
    match (of_wheel, section.has("marks_btdc")) {
        (Some(_), true) => Err(section.error("marks_btdc", format!("{one_form}, not both"))),
        (None, false) => Err(section.error("teeth", one_form)),
        (None, true) => {
            let marks = list::<f32, MAX_MARKS>(number);
            Ok(CrankSpec::Marks(section.required("marks_btdc", marks, "a list of 1 to 8 finite numbers")?))
        }
        (Some(_), false) => Ok(CrankSpec::Wheel {
            teeth: section.required("teeth", whole, "a whole number of slots")?,
            missing: section.required("missing", whole, "a whole number of slots")?,
            first_edge_btdc: section.required("first_edge_btdc", number, A_NUMBER)?,
        }),
    }
}

#[cfg(test)]
mod tests;
