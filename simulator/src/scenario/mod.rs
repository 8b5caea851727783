//! A scenario file: one simulated engine, what the technician entered for it, what is wrong with it and
//! what is done to it.
//!
//! The keys of the job file stand in it as they are (what the technician enters). Beside them, all
//! optional but `run.seed`; each number's range is told when it is left:
//!
//! - `[run]`: `seed`; `seconds` of the capture; `start`, "idle" or "standing".
//! - `[model]`: `idle_rpm`, `inertia_kg_m2`, `friction` (1 usual), `wander`, `hunting` (shares),
//!   `cycle_variation` (1 usual), `mixture`, `spark_scatter_deg`, `setting_deg` (how far it is set early),
//!   `bolt_shift_deg`, `harness_offset` (the real one), `drive_play_deg`, `fuel_share` (one a cylinder),
//!   `ripple_phase` ("gas", "driven-pump"), `bore_mm`, `stroke_mm`, `rod_mm`, `compression_ratio`.
//! - `[sensor]`: `kind` ("zero-crossing", "threshold", "hall", "optical"), `end_teeth` ("in-place",
//!   "growing-with-speed", "constant"), `silent_below_rpm`, `tooth_error_deg`, `run_out_deg`,
//!   `jitter_deg`, `first_tooth_lost` (probability), `reversed`.
//! - `[clamp]`: `ringing`, `ringing_period_us`, `crosstalk`, `missed`. `[coils]`: `dwell_ms`, `strikes`,
//!   `strike_spacing_ms`, `multi_strike_below_rpm`, `missed`. `[noise]`: `crank_per_second`,
//!   `spark_per_second`, `coupling`, `lost_teeth`, `pulse_us`.
//! - `[[fault]]`: `id` of a cause or a reason for withholding, `severity` 0 to 1.
//! - `[[blip]]`: `at`, `throttle`, `hold` (s). `[[do]]`: `at`, `over` (s, for throttle and housing), and
//!   any of `throttle`, `housing_deg`, `base_mode`, `hold_fixed`, `bolt_tight`, `hose_on`, `clamp` ("off",
//!   "coil", "3"), `clamp_reversed`, `accessory_load`, `ignition`, `fuel`, `starter`.
//!
//! A key that is unknown, missing or out of range is refused with its line, what was read and what is
//! allowed.

mod acts;
mod keys;
mod model;

use crate::engine::case::Case;
use crate::engine::fault::{Fault, FaultKind};
use crate::job_file::JobFileError;
use crate::job_file::entries::{Section, text, word};
use crate::job_file::read::{TOP, job_of, tables, text_of};
use keys::{Keys, count, seed_number, tables_of};
use std::path::Path;

/// What the simulator's sections are called.
const SECTIONS: [&str; 9] = ["run", "model", "sensor", "clamp", "coils", "noise", "fault", "blip", "do"];
const RUN: [&str; 3] = ["seed", "seconds", "start"];
const FAULT: [&str; 2] = ["id", "severity"];

/// Reads the scenario at this path.
///
/// # Errors
/// The file cannot be read, is not TOML, or holds an entry that cannot be.
pub fn file(path: &Path) -> Result<Case, JobFileError> {
    scenario(&text_of(path)?)
}

/// Reads the text of a scenario.
///
/// # Errors
/// The text is not TOML, or holds an entry that cannot be.
pub fn scenario(text: &str) -> Result<Case, JobFileError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let root = tables(text)?;
    let keys: Vec<&str> = TOP.into_iter().chain(SECTIONS).collect();
    let top = Section::new(text, "", root.get_ref(), 0, &keys)?;
    let job = job_of(&top)?;

    let run = top.required_section("run", &RUN)?;
    let seed = run.required("seed", seed_number, "a whole number, 0 or more")?;
    let mut case =
        Case::healthy(job.spec().clone(), seed).map_err(|error| top.error(error.key, "a job that can be"))?;
    case.seconds = run.within("seconds", 0.1, 3600.0)?.unwrap_or(case.seconds);
    let starts = [("idle", false), ("standing", true)];
    case.standing = run.optional("start", word(&starts), "\"idle\" or \"standing\"")?.unwrap_or(false);

    model::apply(&top, &mut case)?;
    acts::apply(&top, text, &mut case)?;
    faults(&top, text, case)
}

fn faults(top: &Section<'_>, whole: &str, mut case: Case) -> Result<Case, JobFileError> {
    for section in tables_of(top, whole, "fault", &FAULT)? {
        let allowed = || FaultKind::all().map(FaultKind::id).collect::<Vec<_>>().join(", ");
        let id = section.required("id", text, "the id of a cause or of a reason for withholding")?;
        let kind = FaultKind::named(&id).ok_or_else(|| section.error("id", allowed()))?;
        let severity = section.within("severity", 0.0, 1.0)?.unwrap_or(0.5);
        case = case
            .with(Fault { kind, severity })
            .map_err(|needs| section.error("id", format!("this fault only with {needs}")))?;
    }
    let most = 4;
    if count(top, "fault") > most {
        return Err(top.error("fault", format!("{most} faults at most")));
    }
    Ok(case)
}

#[cfg(test)]
mod tests;
