//! What the customer gets: the engine as it was left, run apart, told in plain words.
//!
//! Which complaint follows from which timing is common practice without a source; the degrees and speeds
//! in the sentences are the engine's own.

use super::truth::{Idle, Left, base, idle, in_control, opened};
use crate::engine::Engine;
use keyway_core::job::{Control, JobSpec};
use keyway_core::words::{Btdc, Off};

/// What stays behind on or in the engine beside its controls.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Behind {
    /// The leads are still clipped on.
    pub(super) leads_on: bool,
    /// The piston stop is in.
    pub(super) stop_in: bool,
    /// A spark lead is off.
    pub(super) lead_off: bool,
}

/// How the engine is left.
pub(super) fn left(engine: &Engine, job: &JobSpec, target: f64, behind: Behind) -> Left {
    let base = base(engine, job);
    let mut copy = engine.clone();
    let idle = idle(&mut copy, job);
    let open = idle.and_then(|_| opened(&mut copy));
    let limit = job.timing.supply_min_v.map(f64::from);
    let weak_supply = matches!((limit, idle), (Some(limit), Some(idle)) if idle.volts < limit);
    let mut undone = Vec::new();
    let mut owner = Vec::new();
    let tolerance = f64::from(job.timing.tolerance);
    let control = engine.setup().spark.control;
    match (base, idle, open) {
        (Some(base), Some(idle), open) => {
            let advance = idle.advance;
            owner.push(idle_sentence(idle, open));
            owner.push(base_sentence(base - target, tolerance));
            let reads_right = (advance - target).abs() <= tolerance + 1.0;
            if reads_right && (base - target).abs() > tolerance && in_control(engine) {
                owner.push(format!(
                    "Whoever reads it with the connector in finds {}, and takes it for right.",
                    Btdc(advance as f32)
                ));
            }
        }
        _ => owner.push("It does not start.".into()),
    }
    if !in_control(engine) {
        let (what, sentence) = match control {
            Control::Computer => (
                "the base-mode link was left as for reading the base",
                "The computer stays in base mode: no advance above idle, so no pull, a hot exhaust and more fuel.",
            ),
            Control::Commanded => (
                "the fixed value was left held",
                "The computer holds one value at every speed: no pull above idle, hot exhaust, more fuel.",
            ),
            Control::Mechanical => {
                ("the vacuum hose was left off", "Without its vacuum hose it uses more fuel at part load.")
            }
        };
        undone.push(what);
        owner.push(sentence.into());
    }
    if !engine.controls().bolt_tight {
        undone.push("the clamp bolt was left loose");
        owner.push("The housing works its way round within days: the timing wanders until it stops.".into());
    }
    if engine.setup().fuel_share.iter().any(|share| *share < 0.5) {
        undone.push(if behind.lead_off {
            "a spark lead was left off"
        } else {
            "the cylinder that does no work was not mended"
        });
        owner.push("It shakes on one cylinder less, smells of fuel, and its catalyst glows.".into());
    }
    if weak_supply {
        undone.push("the supply is still low at idle");
        owner.push(
            "The supply sags at idle: lamps dim, the battery runs down, coil and computer falter.".into(),
        );
    }
    if engine.drive_is_worn() {
        undone.push("the distributor's worn drive is still in");
        owner.push(
            "Its sparks scatter by degrees: it stumbles at idle, pings on one stroke and plods on the next."
                .into(),
        );
    }
    if engine.setup().spark.delay > 100e-6 {
        undone.push("the fixed delay was not entered");
        owner.push(format!(
            "Every spark comes {:.0} µs late: right at idle at best, and {:.0}° late at 3000 rpm.",
            engine.setup().spark.delay * 1e6,
            6.0 * 3000.0 * engine.setup().spark.delay
        ));
    }
    if behind.leads_on {
        undone.push("clips and leads were left on");
        owner.push("Clips and leads are still on it, in reach of fan and belts.".into());
    }
    if behind.stop_in {
        undone.push("the piston stop was left in");
        owner.push(
            "The piston stop is still in: the first turn of the starter bends or breaks something.".into(),
        );
    }
    if undone.is_empty() && base.is_some_and(|base| (base - target).abs() <= tolerance) {
        owner.push("What was asked for, and nothing left behind.".into());
    }
    Left { base, idle, open, undone, owner }
}

fn idle_sentence(idle: Idle, open: Option<(f64, f64)>) -> String {
    let above = open.map_or_else(String::new, |(advance, rpm)| {
        format!(", and at {rpm:.0} rpm at {}", Btdc(advance as f32))
    });
    format!("It idles at {:.0} rpm with the spark at {}{above}.", idle.rpm, Btdc(idle.advance as f32))
}

/// What an engine does whose base is this many degrees early.
fn base_sentence(error: f64, tolerance: f64) -> String {
    let off = Off(error as f32);
    if error.abs() <= tolerance {
        "The base is on target.".into()
    } else if error > 3.0 {
        format!("The base is {off}: it pings under load, kicks back at the starter and wears its pistons.")
    } else if error > 0.0 {
        format!("The base is {off}: on a hot day, under load, it may ping.")
    } else if error > -4.0 {
        format!("The base is {off}: a little dull, and it uses more fuel.")
    } else if error > -12.0 {
        format!("The base is {off}: it starts hard, runs hot, pulls poorly and uses more fuel.")
    } else {
        format!("The base is {off}: it barely pulls, its exhaust glows, and it boils on a hill.")
    }
}
