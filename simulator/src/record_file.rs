//! A record of a guided job as JSON and as a row of CSV, from the bytes that the handheld keeps.
//!
//! The same names stand in both: `found` is the first reading of the base, `left` the reading after the
//! clamp check. How each step was passed is told by the words of the screen: told, proven, skipped, failed.
//! Advances are degrees before top dead centre, negative after; what is not known is `null` or empty.

use keyway_core::guide::{Bolt, Link, Taken};
use keyway_core::job::{Control, Rotation};
use keyway_core::judge::Verdict;
use keyway_core::kept::Unreadable;
use keyway_core::record::{Record, VERSION};
use keyway_core::view::{Mark, StepId};
use keyway_core::words;
use serde::Serialize;
use std::fs;
use std::path::Path;

/// The version of these two shapes.
const SCHEMA: u32 = 1;

#[derive(Debug, Serialize)]
struct Reading {
    advance_btdc_deg: f32,
    uncertainty_deg: f32,
    rpm: f32,
    battery_v: Option<f32>,
}

#[derive(Debug, Serialize)]
struct Within {
    value: f32,
    uncertainty: f32,
}

#[derive(Debug, Serialize)]
struct Cause {
    id: &'static str,
    probability: f32,
}

#[derive(Debug, Serialize)]
struct Corrected {
    mark_zero_btdc_deg: Option<Within>,
    first_edge_added_deg: Option<Within>,
    rotor: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct Point {
    rpm: u16,
    advance_btdc_deg: f32,
}

#[derive(Debug, Serialize)]
struct Step {
    step: String,
    known: &'static str,
}

#[derive(Debug, Serialize)]
struct Object {
    schema: u32,
    number: u32,
    instrument: u32,
    firmware: String,
    calibrated: Option<String>,
    seconds_since_1970: Option<u32>,
    took_s: u32,
    engine: String,
    job_hash: String,
    control: &'static str,
    target_btdc_deg: f32,
    tolerance_deg: f32,
    verdict: Option<&'static str>,
    steered: Option<Reading>,
    found: Option<Reading>,
    set: Option<Reading>,
    left: Option<Reading>,
    restarted: Option<Reading>,
    cause: Option<Cause>,
    corrections: Corrected,
    delay_us: Option<Within>,
    slope_deg_per_1000rpm: Option<Within>,
    curve_hose_off: Vec<Point>,
    curve_hose_on: Vec<Point>,
    steps: Vec<Step>,
    gates_proven: u8,
    gates_told: u8,
    gates_skipped: u8,
    bolt: &'static str,
    link: &'static str,
    left_early: bool,
}

/// "MakeSafe" as "make-safe".
fn hyphened(name: &str) -> String {
    let mut hyphened = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !hyphened.is_empty() {
            hyphened.push('-');
        }
        hyphened.extend(letter.to_lowercase());
    }
    hyphened
}

fn object(record: &Record) -> Object {
    let reading = |taken: Option<Taken>| {
        taken.map(|taken| Reading {
            advance_btdc_deg: taken.advance,
            uncertainty_deg: taken.doubt,
            rpm: taken.rpm,
            battery_v: taken.supply,
        })
    };
    let within = |pair: Option<(f32, f32)>| pair.map(|(value, uncertainty)| Within { value, uncertainty });
    let points = |curve: &[(u16, i16)]| {
        curve
            .iter()
            .map(|(rpm, hundredths)| Point { rpm: *rpm, advance_btdc_deg: f32::from(*hundredths) / 100.0 })
            .collect()
    };
    let corrections = &record.corrections;
    let [gates_proven, gates_told, gates_skipped] = record.marks;
    let passed = |step: &&StepId| record.step(**step) != Mark::Open;
    Object {
        schema: SCHEMA,
        number: record.number,
        instrument: record.identity.instrument,
        firmware: format!("{:08x}", record.identity.firmware),
        calibrated: record
            .identity
            .calibrated
            .map(|(year, month, day)| format!("{year:04}-{month:02}-{day:02}")),
        seconds_since_1970: record.clock,
        took_s: record.took_s,
        engine: record.engine.as_str().to_owned(),
        job_hash: format!("{:08x}", record.job_hash),
        control: match record.control {
            Control::Computer => "computer",
            Control::Commanded => "commanded",
            Control::Mechanical => "mechanical",
        },
        target_btdc_deg: record.target,
        tolerance_deg: record.tolerance,
        verdict: record.verdict().map(Verdict::id),
        steered: reading(record.steered),
        found: reading(record.before),
        set: reading(record.set),
        left: reading(record.after),
        restarted: reading(record.restarted),
        cause: record.cause.map(|(cause, probability)| Cause { id: cause.id(), probability }),
        corrections: Corrected {
            mark_zero_btdc_deg: within(corrections.zero.map(|zero| (zero.degrees, zero.doubt))),
            first_edge_added_deg: within(corrections.wheel.map(|wheel| (wheel.degrees, wheel.doubt))),
            rotor: corrections.rotor.map(|rotor| match rotor {
                Rotation::Clockwise => "clockwise",
                Rotation::Counterclockwise => "counterclockwise",
            }),
        },
        delay_us: within(record.delay_us),
        // Kept as a standard uncertainty; 95 % as everywhere here.
        slope_deg_per_1000rpm: within(record.slope.map(|(slope, standard)| (slope, 2.0 * standard))),
        curve_hose_off: points(&record.curve_off),
        curve_hose_on: points(&record.curve_on),
        steps: StepId::ALL
            .iter()
            .filter(passed)
            .map(|step| Step { step: hyphened(&format!("{step:?}")), known: words::mark(record.step(*step)) })
            .collect(),
        gates_proven,
        gates_told,
        gates_skipped,
        bolt: match record.bolt {
            Bolt::Snug => "as found",
            Bolt::Loose => "loose",
            Bolt::Tight => "tight",
        },
        link: match record.link {
            Link::AsFound => "as found",
            Link::Base => "for base",
            Link::Back => "back",
        },
        left_early: record.left_early,
    }
}

/// The record in the bytes that the handheld keeps.
///
/// # Errors
/// Why they are none, in one line.
pub fn decode(bytes: &[u8]) -> Result<Record, String> {
    Record::decode(bytes).map_err(|error| match error {
        Unreadable::Version(version) => format!("a record of version {version}, expected {VERSION}"),
        Unreadable::Damaged => "a damaged record: its length or its checksum does not fit".to_owned(),
    })
}

/// A record as one JSON object.
///
/// # Errors
/// A number in it is none.
pub fn to_json(record: &Record) -> Result<String, String> {
    serde_json::to_string_pretty(&object(record)).map(|text| text + "\n").map_err(|error| error.to_string())
}

/// Columns of a row: the values of the object that are not lists.
const COLUMNS: [&str; 26] = [
    "number",
    "instrument",
    "firmware",
    "seconds_since_1970",
    "took_s",
    "engine",
    "job_hash",
    "control",
    "target_btdc_deg",
    "tolerance_deg",
    "verdict",
    "found_btdc_deg",
    "found_uncertainty_deg",
    "left_btdc_deg",
    "left_uncertainty_deg",
    "left_rpm",
    "left_battery_v",
    "restarted_btdc_deg",
    "cause",
    "probability",
    "delay_us",
    "gates_proven",
    "gates_told",
    "gates_skipped",
    "bolt",
    "left_early",
];

/// Records as rows under a header.
///
/// # Errors
/// The writer's.
pub fn to_csv(records: &[Record]) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: csv::Error| error.to_string();
    writer.write_record(COLUMNS).map_err(failed)?;
    for record in records {
        let kept = object(record);
        let number = |value: Option<f32>| value.map_or_else(String::new, |value| format!("{value:.3}"));
        let advance = |reading: &Option<Reading>| number(reading.as_ref().map(|one| one.advance_btdc_deg));
        let doubt = |reading: &Option<Reading>| number(reading.as_ref().map(|one| one.uncertainty_deg));
        let left = kept.left.as_ref();
        let row: [String; COLUMNS.len()] = [
            kept.number.to_string(),
            kept.instrument.to_string(),
            kept.firmware,
            kept.seconds_since_1970.map_or_else(String::new, |seconds| seconds.to_string()),
            kept.took_s.to_string(),
            kept.engine,
            kept.job_hash,
            kept.control.to_owned(),
            number(Some(kept.target_btdc_deg)),
            number(Some(kept.tolerance_deg)),
            kept.verdict.unwrap_or("").to_owned(),
            advance(&kept.found),
            doubt(&kept.found),
            advance(&kept.left),
            doubt(&kept.left),
            number(left.map(|left| left.rpm)),
            number(left.and_then(|left| left.battery_v)),
            advance(&kept.restarted),
            kept.cause.as_ref().map_or("", |cause| cause.id).to_owned(),
            number(kept.cause.as_ref().map(|cause| cause.probability)),
            number(kept.delay_us.as_ref().map(|delay| delay.value)),
            kept.gates_proven.to_string(),
            kept.gates_told.to_string(),
            kept.gates_skipped.to_string(),
            kept.bolt.to_owned(),
            kept.left_early.to_string(),
        ];
        writer.write_record(&row).map_err(failed)?;
    }
    let bytes = writer.into_inner().map_err(|error| error.to_string())?;
    String::from_utf8(bytes).map_err(|error| error.to_string())
}

/// Writes a record into a file whose ending says how: `.json` or `.csv`.
///
/// # Errors
/// One line: the file, and what is wrong with it.
pub fn write(record: &Record, file: &Path) -> Result<(), String> {
    let named = file.display();
    let text = match file.extension().and_then(|ending| ending.to_str()) {
        Some("json") => to_json(record)?,
        Some("csv") => to_csv(std::slice::from_ref(record))?,
        _ => return Err(format!("{named}: expected a file that ends in .json or .csv")),
    };
    fs::write(file, text).map_err(|error| format!("{named}: cannot be written ({error})"))
}
