//! Writes what a scripted guided job does to the handheld's inputs and keys as one value change dump, so that
//! the firmware on the emulated board can live through the same job.
//!
//! `cargo run --release -p keyway --example session -- SCENARIO.toml SCRIPT.keys OUT.vcd`
//!
//! The dump has `crank`, `spark1` and `battery_v` as any capture, and `key1` to `key4`, 1 while pressed. Beside it, as
//! with `keyway make`, lies the job file. Printed is what the desktop's record says, as one JSON object.

use keyway::guide_play::{Bench, Told, carry_out, parse};
use keyway::{job_file, scenario};
use keyway_core::edges::{Channel, Level};
use keyway_core::job::{Control, Rotation};
use keyway_core::judge::Verdict;
use std::error::Error;
use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::{env, fs};
use vcd::{SimulationCommand, TimescaleUnit, Value};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<PathBuf> = env::args_os().skip(1).map(PathBuf::from).collect();
    let [scenario_file, script, out] = &arguments[..] else {
        return Err("expected: SCENARIO.toml SCRIPT.keys OUT.vcd".into());
    };
    let mut case = scenario::file(scenario_file)
        .map_err(|error| error.in_file(&scenario_file.display().to_string()).to_string())?;
    let acts = parse(&fs::read_to_string(script)?)
        .map_err(|(line, what)| format!("{}:{line}: {what}", script.display()))?;
    // As an engine is found: the computer in charge, hoses on.
    case.controls.base_mode = false;
    case.controls.hold_fixed = false;
    case.controls.hose_on = case.job.timing.control == Control::Mechanical;
    let mut bench = Bench::new(case.engine(), &case.job);
    bench.keep_log();
    bench.pass(1.0);
    carry_out(&acts, &mut bench, case.job.engine.rotor.unwrap_or(Rotation::Clockwise))
        .map_err(|(act, why)| format!("act {act} could not be done: {why}"))?;
    write(out, &bench)?;
    fs::write(out.with_extension("job.toml"), job_file::write::text(&case.job))?;
    let record = bench.record().ok_or("no record was kept")?;
    let found = serde_json::json!({
        "before_btdc_deg": record.before.map(|taken| f64::from(taken.advance)),
        "after_btdc_deg": record.after.map(|taken| f64::from(taken.advance)),
        "cause": record.cause.map(|(id, _)| id.id()),
        "verdict": record.verdict().map(Verdict::id),
    });
    println!("{found}");
    Ok(())
}

fn write(out: &Path, bench: &Bench) -> Result<(), Box<dyn Error>> {
    let mut file = BufWriter::new(File::create(out)?);
    let mut dump = vcd::Writer::new(&mut file);
    dump.timescale(100, TimescaleUnit::NS)?;
    dump.add_module("handheld")?;
    let crank = dump.add_wire(1, "crank")?;
    let spark = dump.add_wire(1, "spark1")?;
    let battery = dump.add_var(vcd::VarType::Real, 64, "battery_v", None)?;
    let mut keys = Vec::new();
    for key in 1..=4 {
        keys.push(dump.add_wire(1, &format!("key{key}"))?);
    }
    dump.upscope()?;
    dump.enddefinitions()?;
    dump.timestamp(0)?;
    dump.begin(SimulationCommand::Dumpvars)?;
    for wire in [crank, spark].iter().chain(&keys) {
        dump.change_scalar(*wire, Value::V0)?;
    }
    dump.end()?;
    let first = bench.log().first().map_or(0, |(_, at)| at.0);
    let mut last = 0;
    for (told, at) in bench.log() {
        // The counter wraps after seven minutes; a job is shorter.
        let at = u64::from(at.0.wrapping_sub(first));
        if at > last && !matches!(told, Told::Tick | Told::Stored(..) | Told::Loaded(..)) {
            dump.timestamp(at)?;
            last = at;
        }
        match told {
            Told::Edge(channel, level) => {
                let wire = if *channel == Channel::Crank { crank } else { spark };
                dump.change_scalar(wire, if *level == Level::High { Value::V1 } else { Value::V0 })?;
            }
            Told::Supply(volts) => dump.change_real(battery, f64::from(*volts))?,
            Told::Key(key, down) => {
                if let Some(wire) = keys.get(usize::from(*key)) {
                    dump.change_scalar(*wire, if *down { Value::V1 } else { Value::V0 })?;
                }
            }
            Told::Stored(..) | Told::Loaded(..) | Told::Tick => {}
        }
    }
    Ok(())
}
