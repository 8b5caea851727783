//! What a scenario does to the running engine: `[[blip]]` and `[[do]]`.

use super::keys::{Keys, tables_of};
use crate::engine::case::Case;
use crate::engine::controls::Lead;
use crate::engine::schedule::Change;
use crate::job_file::JobFileError;
use crate::job_file::entries::{Section, switch, text};

const BLIP: [&str; 3] = ["at", "throttle", "hold"];
const DO: [&str; 14] = [
    "at",
    "over",
    "throttle",
    "housing_deg",
    "base_mode",
    "hold_fixed",
    "bolt_tight",
    "hose_on",
    "clamp",
    "clamp_reversed",
    "accessory_load",
    "ignition",
    "fuel",
    "starter",
];

/// Enters the blips and changes. A change at 0 s holds from the start, before the engine is warmed up.
pub(super) fn apply(top: &Section<'_>, whole: &str, case: &mut Case) -> Result<(), JobFileError> {
    for blip in tables_of(top, whole, "blip", &BLIP)? {
        let at = blip.within("at", 0.0, case.seconds)?;
        let at = at.ok_or_else(|| blip.error("at", format!("0 to {}", case.seconds)))?;
        let throttle = blip.within("throttle", 0.01, 1.0)?.unwrap_or(0.15);
        let hold = blip.within("hold", 0.0, 60.0)?.unwrap_or(0.6);
        case.schedule.blip(at, throttle, hold);
    }
    for act in tables_of(top, whole, "do", &DO)? {
        let at = act.within("at", 0.0, case.seconds)?;
        let at = at.ok_or_else(|| act.error("at", format!("0 to {}", case.seconds)))?;
        let over = act.within("over", 0.0, 60.0)?.unwrap_or(0.0);
        ramps(&act, case, at, over)?;
        for change in switches(&act, case)? {
            enter(case, at, change);
        }
    }
    Ok(())
}

fn enter(case: &mut Case, at: f64, change: Change) {
    if at > 0.0 {
        case.schedule.at(at, change);
    } else {
        change.apply(&mut case.controls);
    }
}

fn ramps(act: &Section<'_>, case: &mut Case, at: f64, over: f64) -> Result<(), JobFileError> {
    if let Some(goal) = act.within("throttle", 0.0, 1.0)? {
        let from = case.schedule.throttle_at(at, case.controls.throttle);
        if over > 0.0 {
            case.schedule.ramp(at, over, from, goal, Change::Throttle);
        } else {
            enter(case, at, Change::Throttle(goal));
        }
    }
    if let Some(goal) = act.within("housing_deg", -60.0, 60.0)? {
        let from = case.schedule.housing_at(at, case.controls.housing_deg);
        if over > 0.0 {
            case.schedule.ramp(at, over, from, goal, Change::Housing);
        } else {
            enter(case, at, Change::Housing(goal));
        }
    }
    if let Some(load) = act.within("accessory_load", 0.0, 1.0)? {
        enter(case, at, Change::AccessoryLoad(load));
    }
    Ok(())
}

/// A change that is either on or off.
type Switch = fn(bool) -> Change;

fn switches(act: &Section<'_>, case: &Case) -> Result<Vec<Change>, JobFileError> {
    let kinds: [(&str, Switch); 8] = [
        ("base_mode", Change::BaseMode),
        ("hold_fixed", Change::HoldFixed),
        ("bolt_tight", Change::BoltTight),
        ("hose_on", Change::HoseOn),
        ("ignition", Change::Ignition),
        ("fuel", Change::Fuel),
        ("starter", Change::Starter),
        ("clamp_reversed", Change::ClampReversed),
    ];
    let mut changes = Vec::new();
    for (key, change) in kinds {
        if let Some(on) = act.optional(key, switch, "true or false")? {
            changes.push(change(on));
        }
    }
    let cylinders = case.job.engine.cylinders;
    let allowed = format!("\"off\", \"coil\", or a cylinder's number in quotes, \"1\" to \"{cylinders}\"");
    if let Some(place) = act.optional("clamp", text, &allowed)? {
        let lead = match place.as_str() {
            "off" => Lead::Off,
            "coil" => Lead::Coil,
            number => match number.parse::<u8>() {
                Ok(cylinder) if (1..=cylinders).contains(&cylinder) => Lead::Cylinder(cylinder),
                _ => return Err(act.error("clamp", allowed)),
            },
        };
        changes.push(Change::Lead(lead));
    }
    Ok(changes)
}
