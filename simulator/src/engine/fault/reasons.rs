//! The reasons for withholding as faults of engine, pickups or job.

use super::super::case::Case;
use super::super::random::Dice;
use super::super::schedule::Change;
use super::super::setup::usual_inertia;
use super::causes::needs;
use keyway_core::job::{CrankSpec, SparkKind};
use keyway_core::reading::Withheld;

/// Makes one reason true of a case.
pub(super) fn apply(
    reason: Withheld,
    severity: f64,
    case: &mut Case,
    dice: &mut Dice,
) -> Result<(), &'static str> {
    match reason {
        Withheld::NoCrank => case.setup.wiring.crank_dead = true,
        Withheld::NoSpark => case.setup.wiring.spark_dead = true,
        Withheld::PatternMismatch => case.setup.wheel.pattern = another(&case.job.crank, dice),
        Withheld::Unsteady => unsteady(severity, case, dice),
        Withheld::TooFewSparks => {
            // Three to five sparks: too few for a median to be claimed from.
            let paired = case.setup.coils.kind == SparkKind::Paired;
            let turns = if paired { 1.0 } else { case.setup.layout.turns_per_cycle() };
            let every = 60.0 * turns / case.setup.intake.target_rpm;
            case.seconds = every * (4.8 - 1.8 * severity);
        }
        Withheld::Interference => {
            let noise = &mut case.setup.noise;
            noise.coupling = 1.0;
            noise.crank_rate = 600.0 + 3000.0 * severity;
            noise.spark_rate = 60.0 + 400.0 * severity;
            // Too long to be told from a pulse of the pickups by its length.
            noise.length = 120e-6;
        }
        Withheld::PickupsSwapped => {
            // One mark and one spark a turn look the same either way round.
            let marks = matches!(&case.job.crank, CrankSpec::Marks(marks) if marks.len() == 1);
            let paired = case.setup.coils.kind == SparkKind::Paired || case.setup.layout.strokes == 2;
            needs(!(marks && paired), "a wheel that gives more edges a turn than sparks come")?;
            case.setup.wiring.swapped = true;
        }
        Withheld::WrongEdge => {
            let toothed = matches!(case.setup.wheel.pattern, CrankSpec::Wheel { .. });
            let coil = case.setup.wheel.sensor.is_variable_reluctance();
            needs(toothed && coil, "a toothed wheel with a variable-reluctance sensor")?;
            case.setup.wheel.reversed = true;
        }
        Withheld::SparkRate => spark_rate(severity, case, dice),
        Withheld::OutsideIdleBand => outside_idle_band(severity, case, dice),
        Withheld::SettingMoved => {
            let ratio = case.setup.crank_per_housing();
            needs(ratio > 0.0, "a distributor that times the spark")?;
            let moved = dice.sign() * (3.0 + 5.0 * severity) / ratio;
            let start = case.seconds * dice.between(0.4, 0.5);
            case.schedule.ramp(start, 0.8, 0.0, moved, Change::Housing);
        }
    }
    Ok(())
}

/// A wheel or marks that are not those of the job.
fn another(declared: &CrankSpec, dice: &mut Dice) -> CrankSpec {
    let wheels = [(60, 2), (36, 1), (36, 2), (24, 1), (24, 2), (12, 1)];
    let (slots, first) = match declared {
        CrankSpec::Wheel { teeth, missing, first_edge_btdc } => ((*teeth, *missing), *first_edge_btdc),
        CrankSpec::Marks(_) => ((0, 0), 84.0),
    };
    let others: Vec<(u8, u8)> = wheels.into_iter().filter(|wheel| *wheel != slots).collect();
    let pick = dice.below(others.len() as u64) as usize;
    let (teeth, missing) = others.get(pick).copied().unwrap_or((36, 1));
    CrankSpec::Wheel { teeth, missing, first_edge_btdc: first }
}

/// An idle valve that sticks, so that the governor hunts through the band; or a hand that never leaves
/// the throttle alone. A single's flywheel is too heavy to hunt.
fn unsteady(severity: f64, case: &mut Case, dice: &mut Dice) {
    let cylinders = case.setup.fuel_share.len();
    if cylinders > 1 && dice.chance(0.7) {
        let few = if cylinders == 2 { 2.0 } else { 1.0 };
        case.setup.intake.hunting = few * (0.14 + 0.06 * severity);
        return;
    }
    let mut at = 0.0;
    let mut open = 0.0;
    while at < case.seconds {
        let next = if open > 0.05 { 0.0 } else { dice.between(0.10, 0.16 + 0.1 * severity) };
        let lasts = dice.between(0.25, 0.45);
        case.schedule.ramp(at, lasts, open, next, Change::Throttle);
        open = next;
        at += lasts + dice.between(0.05, 0.2);
    }
}

/// Sparks missing, or one more each cycle from a pair's coil.
fn spark_rate(severity: f64, case: &mut Case, dice: &mut Dice) {
    let single = case.setup.coils.kind != SparkKind::Paired && case.setup.layout.strokes == 4;
    if single && dice.chance(0.5) {
        case.setup.coils.kind = SparkKind::Paired;
    } else {
        // The clamp, not the coil, misses them: the engine goes on idling.
        case.setup.clamp.missed = 0.35 + 0.35 * severity;
    }
}

fn outside_idle_band(severity: f64, case: &mut Case, dice: &mut Dice) {
    let [low, high] = case.job.timing.idle_rpm.map(f64::from);
    let beyond = 120.0 + 300.0 * severity;
    let below = low - 0.5 * beyond;
    let setup = &mut case.setup;
    if below > 420.0 && dice.chance(0.3) {
        // Only a heavy flywheel carries an engine through so slow an idle.
        let litres = setup.swept() * 1000.0;
        setup.inertia = setup.inertia.max(usual_inertia(litres, setup.fuel_share.len() as f64, below));
        setup.intake.target_rpm = below;
    } else {
        setup.intake.target_rpm = high + beyond;
    }
}
