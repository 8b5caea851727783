//! `keyway guide`: a scenario's engine, a script, and what screen and sounder did.

use super::Bench;
use super::script::{carry_out, parse};
use crate::scenario;
use keyway_core::job::{Control, Rotation};
use keyway_core::judge::Verdict;
use keyway_core::view::{Mark, StepId};
use keyway_core::words::{Btdc, mark, title};
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// Plays a script at the engine of a scenario; gives the transcript and the exit status: 0 with a record on
/// target, 1 otherwise. The record goes into `record_file` too, where there is one.
///
/// # Errors
/// One line: file, line, what was read and what was expected.
pub fn run(
    scenario_file: &Path,
    script_file: &Path,
    record_file: Option<&Path>,
) -> Result<(String, u8), String> {
    let mut case = scenario::file(scenario_file)
        .map_err(|error| error.in_file(&scenario_file.display().to_string()).to_string())?;
    let named = script_file.display();
    let text =
        fs::read_to_string(script_file).map_err(|error| format!("{named}: cannot be read ({error})"))?;
    let acts = parse(&text).map_err(|(line, what)| format!("{named}:{line}: {what}"))?;
    let rotor = case.job.engine.rotor.unwrap_or(Rotation::Clockwise);
    // As an engine is found: the computer in charge, hoses on.
    case.controls.base_mode = false;
    case.controls.hold_fixed = false;
    case.controls.hose_on = case.job.timing.control == Control::Mechanical;
    let mut bench = Bench::new(case.engine(), &case.job);
    bench.keep_transcript();
    let carried = carry_out(&acts, &mut bench, rotor);
    let mut answer = String::new();
    for (at, line) in bench.transcript() {
        let _ = writeln!(answer, "{at:8.2} s  {line}");
    }
    if let (Some(file), Some(record)) = (record_file, bench.record()) {
        crate::record_file::write(&record, file)?;
    }
    let status = match (&carried, bench.record()) {
        (Ok(()), Some(record)) => {
            let after =
                record.after.map_or_else(|| "not read".to_owned(), |after| Btdc(after.advance).to_string());
            let before = record
                .before
                .map_or_else(|| "not read".to_owned(), |before| Btdc(before.advance).to_string());
            let _ = writeln!(answer, "record {}: found {before}, left {after}", record.number);
            for step in StepId::ALL.iter().filter(|step| record.step(**step) != Mark::Open) {
                let _ = writeln!(answer, "  {:<28} {}", title(*step), mark(record.step(*step)));
            }
            u8::from(record.verdict() != Some(Verdict::OnTarget))
        }
        (Ok(()), None) => {
            answer.push_str("no record was kept\n");
            1
        }
        (Err((act, why)), _) => {
            let _ = writeln!(answer, "act {act} could not be done: {why}");
            1
        }
    };
    Ok((answer, status))
}
