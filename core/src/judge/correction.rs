//! How far and which way to turn the housing.
//!
//! The distributor shaft turns once for two turns of a four-stroke's crank, so a degree at the housing is
//! two at the crank; on a two-stroke they are the same. Turning the housing against the rotor's turn meets
//! the rotor earlier and advances, turning with it retards (common practice, no source).

use super::result::Move;
use crate::job::Job;

/// The correction from a measured advance that lies `error` degrees off the target. `turnable` is false
/// where turning would be the mistake.
pub(super) fn correction(job: &Job, error: f32, turnable: bool) -> Move {
    let crank_deg = -error;
    let housing_deg = if job.turns_per_cycle() == 2 { crank_deg / 2.0 } else { crank_deg };
    let engine = &job.spec().engine;
    let rim_mm =
        engine.housing_diameter_mm.map(|diameter| housing_deg * diameter * core::f32::consts::PI / 360.0);
    let needed = error.abs() > job.spec().timing.tolerance;
    let turn = engine
        .rotor
        .filter(|_| turnable && needed && job.distributor_times_spark())
        .map(|rotor| if crank_deg > 0.0 { rotor.opposite() } else { rotor });
    Move { crank_deg, housing_deg, rim_mm, turn }
}
