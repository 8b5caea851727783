//! The distributor taken out: put in again by teeth of its gear, or its worn drive replaced.
//!
//! Both only with the engine standing and by whoever has the time for it; the handheld says when it is due. The
//! engine's own truth is read to put a new drive where the old one stood, as a witness mark would.

use super::truth::base;
use crate::engine::Engine;
use keyway_core::job::JobSpec;

/// Why neither can be done now.
const TURNS: &str = "the engine turns: stop it first";
/// Why neither can be done at all.
const NONE: &str = "this engine has no distributor on a gear";

/// Crank degrees of a tooth of the distributor's gear; `None` without one.
pub fn tooth(job: &JobSpec) -> Option<f64> {
    let teeth = job.engine.drive_gear_teeth.filter(|_| job.engine.rotor.is_some())?;
    let cycle = if job.engine.strokes == 2 { 360.0 } else { 720.0 };
    Some(cycle / f64::from(teeth))
}

/// Puts the distributor in again so many teeth earlier; negative: later.
///
/// # Errors
/// The engine turns, or has no such distributor.
pub fn put_in_again(engine: &mut Engine, job: &JobSpec, teeth: i32) -> Result<(), String> {
    let tooth = tooth(job).ok_or(NONE)?;
    if engine.rpm() > 0.0 {
        return Err(TURNS.into());
    }
    engine.put_in_again(f64::from(teeth) * tooth);
    Ok(())
}

/// Replaces the distributor's drive, its housing back where the old one set the spark.
///
/// # Errors
/// The engine turns, or has no distributor.
pub fn fit_drive(engine: &mut Engine, job: &JobSpec) -> Result<(), String> {
    if job.engine.rotor.is_none() {
        return Err(NONE.into());
    }
    if engine.rpm() > 0.0 {
        return Err(TURNS.into());
    }
    let before = base(engine, job);
    engine.fit_sound_drive();
    if let (Some(before), Some(after)) = (before, base(engine, job)) {
        engine.put_in_again(before - after);
    }
    Ok(())
}
