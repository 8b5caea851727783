//! `keyway make`: a scenario becomes a capture, the job file that fits, and the truth.

use crate::engine::truth::Record;
use crate::job_file::JobFileError;
use crate::{job_file, scenario};
use keyway_core::edges::{Channel, Level};
use serde::Serialize;
use std::fmt;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use vcd::{SimulationCommand, TimescaleUnit, Value};

/// What was made, as `make` prints it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    /// The seed of the scenario.
    pub seed: u64,
    /// Where the spark belongs, degrees before top dead centre.
    pub target_btdc_deg: f64,
    /// Centre of the true spark angles of the steady idle part; `null` where there is none.
    pub advance_btdc_deg: Option<f64>,
    /// What is wrong, by id; `none` alone where nothing is.
    pub causes: Vec<&'static str>,
    /// Why no number should be shown, or `null`.
    pub withheld: Option<&'static str>,
}

/// Why nothing was made.
#[derive(Debug)]
pub enum MakeError {
    /// The scenario cannot be.
    Scenario {
        /// Its file.
        path: PathBuf,
        /// What is wrong with it.
        error: JobFileError,
    },
    /// A file could not be written.
    Write {
        /// Which.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
}

impl fmt::Display for MakeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Scenario { path, error } => write!(f, "{}", error.in_file(&path.display().to_string())),
            Self::Write { path, error } => write!(f, "{}: cannot be written ({error})", path.display()),
        }
    }
}

impl std::error::Error for MakeError {}

/// Makes the capture at `out` and, beside it, the same name with `.job.toml`.
///
/// # Errors
/// The scenario cannot be, or a file cannot be written.
pub fn run(scenario_path: &Path, out: &Path) -> Result<Truth, MakeError> {
    let case = scenario::file(scenario_path)
        .map_err(|error| MakeError::Scenario { path: scenario_path.to_owned(), error })?;
    let record = case.run();
    let job_path = out.with_extension("job.toml");
    let written = |path: &Path, result: io::Result<()>| {
        result.map_err(|error| MakeError::Write { path: path.to_owned(), error })
    };
    written(out, File::create(out).and_then(|file| write_capture(BufWriter::new(file), &record)))?;
    written(&job_path, std::fs::write(&job_path, job_file::write::text(&case.job)))?;
    let truth = case.truth(&record);
    Ok(Truth {
        seed: case.setup.seed,
        target_btdc_deg: rounded(truth.target),
        advance_btdc_deg: truth.advance.map(rounded),
        causes: truth.causes.iter().map(|cause| cause.id()).collect(),
        withheld: truth.withheld.map(|reason| reason.id()),
    })
}

/// To a ten-thousandth of a degree.
fn rounded(degrees: f64) -> f64 {
    (degrees * 1e4).round() / 1e4
}

fn value(level: Level) -> Value {
    if level == Level::High { Value::V1 } else { Value::V0 }
}

/// Writes a value change dump (IEEE Std 1364) with `crank`, `spark1` and `battery_v`, in ns.
///
/// # Errors
/// The writer's own.
pub fn write_capture(out: impl Write, record: &Record) -> io::Result<()> {
    let mut out = out;
    {
        let mut dump = vcd::Writer::new(&mut out);
        dump.timescale(1, TimescaleUnit::NS)?;
        dump.add_module("pickups")?;
        let crank = dump.add_wire(1, "crank")?;
        let spark = dump.add_wire(1, "spark1")?;
        let battery = dump.add_var(vcd::VarType::Real, 64, "battery_v", None)?;
        dump.upscope()?;
        dump.enddefinitions()?;
        let code = |channel| if channel == Channel::Crank { crank } else { spark };
        dump.timestamp(0)?;
        dump.begin(SimulationCommand::Dumpvars)?;
        for (channel, level) in record.first_levels {
            dump.change_scalar(code(channel), value(level))?;
        }
        dump.end()?;

        let mut levels = record.levels.iter().peekable();
        let mut supply = record.supply.iter().peekable();
        let mut last = 0;
        loop {
            let next_level = levels.peek().map(|change| change.0);
            let next_volts = supply.peek().map(|sample| sample.0);
            let at = match (next_level, next_volts) {
                (None, None) => break,
                (Some(one), Some(other)) => one.min(other),
                (Some(one), None) | (None, Some(one)) => one,
            };
            if at > last {
                dump.timestamp(at)?;
                last = at;
            }
            if next_volts == Some(at) {
                if let Some((_, volts)) = supply.next() {
                    dump.change_real(battery, (volts * 100.0).round() / 100.0)?;
                }
            } else if let Some((_, channel, level)) = levels.next() {
                dump.change_scalar(code(*channel), value(*level))?;
            }
        }
        if record.length > last {
            dump.timestamp(record.length)?;
        }
    }
    out.flush()
}
