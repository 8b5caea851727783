//! What only the engine knows: where its spark lies when nothing steers it, what the right answer was, and
//! what whoever takes the engine away will find.
//!
//! All of it is found as an onlooker with a perfect instrument would: a copy of the engine is run apart and
//! its true sparks are read; the engine on the bench is never touched. *Base*: the centre of the true idle
//! sparks in base mode, fixed value held, hose off.

use crate::engine::Engine;
use crate::engine::case::Case;
use crate::engine::controls::Lead;
use crate::engine::sink::Nowhere;
use crate::engine::truth::{Record, centre};
use keyway_core::job::{Control, JobSpec, Rotation};
use keyway_core::judge::CauseId;

/// The right answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// What was wrong; [`CauseId::Healthy`] alone where nothing was.
    pub causes: Vec<CauseId>,
    /// Where the spark belongs, degrees before top dead centre.
    pub target: f64,
    /// The base as the engine was found, degrees before top dead centre; `None` where it does not idle.
    pub base: Option<f64>,
    /// Way to turn the housing, facing the cap; `None`: not to be turned.
    pub turn: Option<Rotation>,
    /// Housing degrees to turn, positive; 0 where it is not to be turned.
    pub housing_deg: f64,
}

impl Truth {
    /// The truth of an engine as it is found.
    pub fn of(case: &Case, engine: &Engine) -> Self {
        let target = case.target();
        let mut causes: Vec<CauseId> = case.faults.iter().filter_map(|fault| fault.kind.cause()).collect();
        causes.retain(|cause| *cause != CauseId::Healthy);
        if causes.is_empty() {
            causes.push(CauseId::Healthy);
        }
        let base = base(engine, &case.job);
        // What a delay takes off is made good in the computer, not at the housing.
        let mut undelayed = engine.clone();
        undelayed.enter(0.0, undelayed.setup().spark.delay);
        // A tooth is put right at the gear: turned away at the housing the rotor points between two towers.
        if causes.contains(&CauseId::DriveToothOff)
            && let (Some(tooth), Some(base)) = (super::refit::tooth(&case.job), base)
        {
            undelayed.put_in_again(((target - base) / tooth).round() * tooth);
        }
        let short = self::base(&undelayed, &case.job).map_or(0.0, |base| target - base);
        let ratio = engine.setup().crank_per_housing();
        let needed = ratio > 0.0 && short.abs() > f64::from(case.job.timing.tolerance);
        let rotor = case.job.engine.rotor.filter(|_| needed);
        Self {
            causes,
            target,
            base,
            turn: rotor.map(|rotor| if short > 0.0 { rotor.opposite() } else { rotor }),
            housing_deg: if needed { (short / ratio).abs() } else { 0.0 },
        }
    }
}

/// Seconds that a copy is run before its sparks count.
const SETTLES: f64 = 4.0;
/// Seconds that they count.
const COUNTED: f64 = 5.0;

/// The true base; `None` where the engine does not run.
pub(super) fn base(engine: &Engine, job: &JobSpec) -> Option<f64> {
    let mut copy = engine.clone();
    let controls = copy.controls_mut();
    controls.base_mode = true;
    controls.hold_fixed = true;
    controls.hose_on = false;
    idle(&mut copy, job).map(|idle| idle.advance)
}

/// An idling engine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Idle {
    /// Where its spark comes, degrees before top dead centre.
    pub advance: f64,
    /// Speed, rpm.
    pub rpm: f64,
    /// Supply, V.
    pub volts: f64,
}

/// Idles a copy of an engine, started where it stands; `None` where it does not run.
pub(super) fn idle(copy: &mut Engine, job: &JobSpec) -> Option<Idle> {
    let controls = copy.controls_mut();
    controls.throttle = 0.0;
    controls.lead = Lead::Cylinder(1);
    controls.clamp_reversed = false;
    controls.fuel = true;
    controls.ignition = true;
    if copy.rpm() < 300.0 {
        copy.controls_mut().starter = true;
        copy.run_until(copy.time() + 2.0, &mut Nowhere);
        copy.controls_mut().starter = false;
    }
    copy.run_until(copy.time() + SETTLES, &mut Nowhere);
    let mut record = Record::from(copy.time());
    copy.run_until(copy.time() + COUNTED, &mut record);
    record.close(COUNTED);
    let turns = copy.setup().layout.turns_per_cycle();
    let mut advances = record.idle_advances(job.timing.idle_rpm, turns, 1);
    if advances.is_empty() {
        advances = record.sparks.iter().map(|spark| spark.advance).collect();
    }
    let (first, last) = (record.crank.first()?, record.crank.last()?);
    let rpm = (last.1 - first.1) / 6.0 / ((last.0 - first.0) as f64 * 1e-9).max(1e-3);
    (rpm > 300.0).then_some(())?;
    let volts = record.supply.iter().map(|sample| sample.1).sum::<f64>() / record.supply.len().max(1) as f64;
    centre(&advances).map(|advance| Idle { advance, rpm, volts })
}

/// How an engine was left, as its owner will find it.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// The true base, degrees before top dead centre; `None` where it does not run.
    pub base: Option<f64>,
    /// At idle as it was left; `None` where it does not run.
    pub idle: Option<Idle>,
    /// Spark and speed with the throttle open, as it was left.
    pub open: Option<(f64, f64)>,
    /// What was left undone, in words, each one a mark lost.
    pub undone: Vec<&'static str>,
    /// What the owner gets, sentence by sentence.
    pub owner: Vec<String>,
}

/// Spark and speed of a copy as it stands, throttle opened for two seconds.
pub(super) fn opened(copy: &mut Engine) -> Option<(f64, f64)> {
    copy.controls_mut().throttle = 0.12;
    copy.run_until(copy.time() + 1.5, &mut Nowhere);
    let mut record = Record::from(copy.time());
    copy.run_until(copy.time() + 0.5, &mut record);
    let advances: Vec<f64> = record.sparks.iter().map(|spark| spark.advance).collect();
    centre(&advances).map(|advance| (advance, copy.rpm()))
}

/// Whether the computer, or weights and vacuum, have control of this engine again.
pub(super) fn in_control(engine: &Engine) -> bool {
    let controls = engine.controls();
    match engine.setup().spark.control {
        Control::Computer => !controls.base_mode,
        Control::Commanded => !controls.hold_fixed,
        Control::Mechanical => controls.hose_on,
    }
}
