//! The cautions that matter for what the page asks somebody to do next.
//!
//! The facts behind them: exhaust gas indoors is deadly within minutes and open doors are not enough (joint
//! alert DHHS (NIOSH) 96-118a); ignition voltage (a public automotive course, CHECKS.md section 11); the
//! rest is common practice, no source. The words are ours.

use crate::read::Outcome;
use keyway_core::judge::{CauseId, NextCheck};

/// What goes before everything on the page.
pub(super) const FIRST: &str = "The vehicle's label and workshop manual, local rules and a licensed \
    technician's judgement go before this page.";

/// Each caution: what it is about, and what to do.
pub(super) fn of(outcome: &Outcome) -> Vec<(&'static str, &'static str)> {
    let judgement = &outcome.report.judgement;
    let named =
        |id: CauseId| judgement.causes.iter().any(|cause| cause.id == id && cause.probability >= 0.05);
    let mut list = vec![
        (
            "Reaching in",
            "Engine stopped and key out first. An electric fan can start by itself with the engine off.",
        ),
        (
            "Turning parts",
            "Never stand in line with the fan. Leads, sleeves, hair, rings and watches stay clear of fan and belts.",
        ),
        (
            "High voltage",
            "Hold the distributor by its housing, never by cap or leads. Anyone with a pacemaker or another \
             implant stays away from a running ignition.",
        ),
        (
            "Exhaust gas",
            "It kills within minutes indoors, and open doors and fans are not enough: lead it outside.",
        ),
        (
            "Heat and fuel",
            "Hot parts burn, the radiator cap stays on. Smell of fuel: stop. Eye and ear protection on.",
        ),
        (
            "A blip",
            "Clamp bolt snug, out of gear, brake on, wheels blocked; from the throttle, arm out of the fan's \
             plane, two seconds at most. Never with the bolt loose.",
        ),
    ];
    if named(CauseId::DeadCylinder) {
        list.push((
            "Dead cylinder",
            "Stop the engine: raw fuel overheats the catalyst. Never pull a lead on a running engine.",
        ));
    }
    if named(CauseId::DriveToothOff) || judgement.next_check == Some(NextCheck::FindZero) {
        list.push((
            "Piston stop",
            "Engine cold, battery off, all plugs out; turn it by hand with a bar, gently, and make sure that no \
             valve meets the stop. The stop is out again before anything else is done.",
        ));
    }
    list
}
