//! The causes as faults of the engine.

use super::super::case::Case;
use super::super::controls::Lead;
use super::super::random::Dice;
use super::super::schedule::Schedule;
use keyway_core::job::{Control, SparkKind};
use keyway_core::judge::CauseId;

/// Makes one cause true of a case.
pub(super) fn apply(
    cause: CauseId,
    severity: f64,
    case: &mut Case,
    dice: &mut Dice,
) -> Result<(), &'static str> {
    match cause {
        CauseId::Healthy => Ok(()),
        CauseId::OffTarget => off_target(severity, case, dice),
        CauseId::SetAfterTdc => set_after_tdc(case, dice),
        CauseId::SetOutOfBaseMode => set_out_of_base_mode(case, dice),
        CauseId::NotInBaseMode => not_in_base_mode(severity, case, dice),
        CauseId::ClampOnOtherLead => clamp_on_other_lead(case, dice),
        CauseId::DriveToothOff => drive_tooth_off(severity, case, dice),
        CauseId::FixedDelay => {
            case.setup.spark.delay += 150e-6 + 450e-6 * severity;
            Ok(())
        }
        CauseId::MechanismAdvancing => mechanism_advancing(severity, case, dice),
        CauseId::WornDrive => worn_drive(severity, case),
        CauseId::WeakSupply => weak_supply(severity, case),
        CauseId::DeadCylinder => dead_cylinder(severity, case, dice),
        CauseId::ClampOnCoilLead => {
            needs(case.setup.coils.kind == SparkKind::Distributor, "one coil for all cylinders")?;
            needs(case.setup.layout.fires_at.len() > 1, "more than one cylinder")?;
            case.controls.lead = Lead::Coil;
            Ok(())
        }
        CauseId::DwellStartSeen => {
            case.controls.clamp_reversed = true;
            case.setup.coils.dwell = 0.0015 + 0.004 * severity;
            Ok(())
        }
    }
}

pub(super) fn needs(holds: bool, what: &'static str) -> Result<(), &'static str> {
    if holds { Ok(()) } else { Err(what) }
}

/// Set plainly wrong, by an amount that none of the usual mistakes explains.
fn off_target(severity: f64, case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    let timing = &case.job.timing;
    let tolerance = f64::from(timing.tolerance);
    let mut explained = vec![-2.0 * case.target()];
    if timing.harness_offset != 0.0 {
        let offset = f64::from(timing.harness_offset);
        explained.extend([-offset, offset]);
    }
    if let Some(teeth) = case.job.engine.drive_gear_teeth {
        let tooth = case.setup.layout.cycle() / f64::from(teeth);
        explained.extend([-tooth, tooth]);
    }
    for _ in 0..200 {
        let off = dice.sign() * (1.6 * tolerance + 0.5 + dice.between(0.3, 1.0) * 9.0 * severity);
        // What the computer adds is judged to 3 degrees; the others are sharper.
        let free = explained.iter().all(|amount| (off - amount).abs() > 3.3);
        if free {
            case.setup.spark.setting += off;
            return Ok(());
        }
    }
    Err("an offset that nothing else explains")
}

/// The hand that sets it misses by a little.
fn eye(dice: &mut Dice) -> f64 {
    (0.25 * dice.normal()).clamp(-0.6, 0.6)
}

fn set_after_tdc(case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    let target = case.target();
    needs(
        target.abs() > f64::from(case.job.timing.tolerance),
        "a target farther from zero than its tolerance",
    )?;
    case.setup.spark.setting += -2.0 * target + eye(dice);
    Ok(())
}

fn set_out_of_base_mode(case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    needs(case.job.timing.control == Control::Computer, "a computer with a base mode")?;
    needs(
        case.setup.spark.idle_offset.abs() > f64::from(case.job.timing.tolerance) + 2.0,
        "an offset that shows",
    )?;
    case.setup.spark.setting += -case.setup.spark.idle_offset + eye(dice);
    Ok(())
}

/// The link was not done, or the fixed value is not held; half of them were set this way.
fn not_in_base_mode(severity: f64, case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    match case.job.timing.control {
        Control::Computer => case.controls.base_mode = false,
        Control::Commanded => case.controls.hold_fixed = false,
        Control::Mechanical => return Err("a computer"),
    }
    case.setup.spark.steering *= 0.6 + 0.9 * severity;
    if dice.chance(0.5) {
        case.setup.spark.setting += -case.setup.spark.idle_offset + eye(dice);
    }
    Ok(())
}

fn clamp_on_other_lead(case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    let layout = &case.setup.layout;
    // A lead that fires 360 degrees away reads the same as one.
    let others: Vec<u8> =
        (2..=layout.fires_at.len() as u8).filter(|cylinder| layout.partner(1) != Some(*cylinder)).collect();
    let pick = dice.below(others.len() as u64) as usize;
    let lead = others.get(pick).ok_or("a lead that does not fire with cylinder one")?;
    case.controls.lead = Lead::Cylinder(*lead);
    Ok(())
}

fn drive_tooth_off(severity: f64, case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    let teeth = case.job.engine.drive_gear_teeth.ok_or("a gear on the distributor's shaft")?;
    needs(case.setup.drive.times_spark, "a distributor that times the spark")?;
    let tooth = case.setup.layout.cycle() / f64::from(teeth);
    let count = if severity > 0.8 && tooth < 35.0 { 2.0 } else { 1.0 };
    // Early by a tooth of a small gear the engine runs against its own compression and stops.
    let late = tooth > 45.0 || dice.chance(0.5);
    case.setup.spark.setting += if late { -count * tooth } else { count * tooth };
    Ok(())
}

/// Weights that are out at idle, or the hose left on a diaphragm fed from the manifold.
fn mechanism_advancing(severity: f64, case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    needs(case.job.timing.control == Control::Mechanical, "weights and vacuum")?;
    let low = f64::from(case.job.timing.idle_rpm[0]);
    let mechanism = &mut case.setup.spark.mechanism;
    if dice.chance(0.5) {
        mechanism.weights_start_rpm = low - 60.0 - 120.0 * severity;
        mechanism.weights_rate = 22.0 + 22.0 * severity;
    } else {
        mechanism.vacuum_stop = 7.0 + 8.0 * severity;
        case.controls.hose_on = true;
    }
    Ok(())
}

/// Play in gear, chain and bushing. It was set like that: the middle of the idle stays where it was.
fn worn_drive(severity: f64, case: &mut Case) -> Result<(), &'static str> {
    needs(case.setup.drive.times_spark, "a distributor that times the spark")?;
    let middle = |case: &Case| {
        let mut idle = case.clone();
        idle.schedule = Schedule::default();
        (idle.seconds, idle.standing) = (4.0, false);
        idle.truth(&idle.run()).advance
    };
    let before = middle(case);
    let drive = &mut case.setup.drive;
    drive.play = 3.0 + 4.0 * severity;
    drive.drag = 130.0;
    drive.drag_spread = 0.6;
    drive.wobble = 0.5 + 0.8 * severity;
    if let (Some(before), Some(after)) = (before, middle(case)) {
        case.setup.spark.setting += before - after;
    }
    Ok(())
}

fn weak_supply(severity: f64, case: &mut Case) -> Result<(), &'static str> {
    let limit = f64::from(case.job.timing.supply_min_v.ok_or("a limit for the supply")?);
    let supply = &mut case.setup.supply;
    // From a little under the limit to what an overloaded alternator leaves, about 11.8 V of 14.1.
    let goal = limit - 0.3 - (limit - 0.84 * supply.regulated - 0.3).max(0.2) * severity;
    let over = ((supply.floating() - goal) / supply.fall()).max(0.05);
    let given = supply.idle_amps * (case.setup.intake.target_rpm / 700.0).clamp(0.0, 4.0);
    supply.accessory_amps = given + over * supply.idle_amps - supply.base_amps;
    case.controls.accessory_load = 1.0;
    Ok(())
}

fn dead_cylinder(severity: f64, case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
    let count = case.setup.fuel_share.len();
    needs(count >= 3, "three cylinders or more: fewer do not idle with one dead")?;
    let dead = dice.below(count as u64) as usize;
    if let Some(share) = case.setup.fuel_share.get_mut(dead) {
        *share = 0.3 * (1.0 - severity);
    }
    Ok(())
}
