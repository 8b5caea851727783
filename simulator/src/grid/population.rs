//! The engines of the grid, each drawn from its number alone.
//!
//! Six in ten measure: healthy engines by wheel × speed × noise. The rest name: each cause alone at any
//! severity, pairs of a timing cause with one that stands beside it, and each reason for withholding.
//! What is drawn is what the trade meets: engines of one to twelve cylinders, even and uneven, with all
//! three kinds of control; sensors and end teeth of every law; noise from none to what still must read.

use crate::engine::case::Case;
use crate::engine::drag::RipplePhase;
use crate::engine::fault::{Fault, FaultKind, REASONS};
use crate::engine::pickups::tooth::{EndTeeth, Sensor};
use crate::engine::random::Dice;
use crate::engine::schedule::Schedule;
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, JobSpec, Rotation, SparkKind, TimingSpec,
};
use keyway_core::judge::CauseId;

/// The wheels of the cells, by name.
pub(super) const WHEELS: [&str; 8] =
    ["60-2", "36-1", "24-2", "12-1", "mark within 10", "mark 10 to 60", "two marks", "four marks"];
/// The speeds of the cells, rpm: idle there.
pub(super) const SPEEDS: [u32; 4] = [450, 750, 2500, 9000];
/// The noise of the cells.
pub(super) const NOISES: [&str; 3] = ["clean", "ordinary", "noisy"];

/// What a case is drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A healthy engine: wheel, speed and noise by their place in the lists.
    Measure {
        /// Place in `WHEELS`.
        wheel: usize,
        /// Place in `SPEEDS`.
        speed: usize,
        /// Place in `NOISES`.
        noise: usize,
    },
    /// One cause.
    Cause(CauseId),
    /// Two at once.
    Pair(CauseId, CauseId),
    /// A reason for withholding, by its place in [`REASONS`].
    Reason(usize),
}

/// A drawn case.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// Its number.
    pub number: u64,
    /// What for.
    pub kind: Kind,
    /// The case.
    pub case: Case,
    /// The capture holds a blip.
    pub blip: bool,
}

/// Causes beside the timing, for pairs.
const BESIDE: [CauseId; 3] = [CauseId::WeakSupply, CauseId::DeadCylinder, CauseId::WornDrive];
const PAIRED: [CauseId; 6] = [
    CauseId::OffTarget,
    CauseId::SetAfterTdc,
    CauseId::SetOutOfBaseMode,
    CauseId::NotInBaseMode,
    CauseId::FixedDelay,
    CauseId::ClampOnOtherLead,
];

/// Draws case `number`; `None` if no engine can have what was drawn (after fifty tries).
pub fn draw(number: u64) -> Option<Drawn> {
    let mut dice = Dice::new(number, "population");
    let kind = kind_of(number, &mut dice);
    (0..50).find_map(|_| attempt(number, kind, &mut dice))
}

/// Interleaved, so that any number of seeds is spread over all cells and causes.
fn kind_of(number: u64, dice: &mut Dice) -> Kind {
    let round = number / 10;
    match number % 10 {
        0..=5 => {
            let cell = (round * 6 + number % 10) as usize;
            let wheel = cell % WHEELS.len();
            let speed = cell / WHEELS.len() % SPEEDS.len();
            let noise = cell / (WHEELS.len() * SPEEDS.len()) % NOISES.len();
            Kind::Measure { wheel, speed, noise }
        }
        6..=7 => {
            let cause = (round * 2 + number % 10 - 6) as usize % CauseId::ALL.len();
            Kind::Cause(CauseId::ALL.get(cause).copied().unwrap_or(CauseId::Healthy))
        }
        8 => {
            let beside = dice.below(BESIDE.len() as u64) as usize;
            let timing = dice.below(PAIRED.len() as u64) as usize;
            match (PAIRED.get(timing), BESIDE.get(beside)) {
                (Some(timing), Some(beside)) => Kind::Pair(*timing, *beside),
                _ => Kind::Cause(CauseId::Healthy),
            }
        }
        _ => Kind::Reason(round as usize % REASONS.len()),
    }
}

fn attempt(number: u64, kind: Kind, dice: &mut Dice) -> Option<Drawn> {
    let (wheel, speed, noise) = match kind {
        Kind::Measure { wheel, speed, noise } => (wheel, *SPEEDS.get(speed)?, noise),
        // Balance, weights and steering show on toothed wheels and at idle.
        _ => {
            let marks_do = !wants_teeth(kind);
            let wheels = if marks_do && dice.chance(0.25) { 8 } else { 3 };
            (dice.below(wheels) as usize, [650, 750, 850][dice.below(3) as usize], dice.below(3) as usize)
        }
    };
    // Above idle weights, maps and governors work: there a fixed value is what can be measured.
    let control = if speed > 1000 { Control::Commanded } else { control_for(kind, dice) };
    let job = job(wheel, speed, control, kind, dice);
    let mut case =
        Case::healthy(job, number.wrapping_mul(0x9e37_79b9).wrapping_add(dice.below(1 << 20))).ok()?;
    vary_engine(&mut case, speed, dice);
    set_noise(&mut case, noise, dice);
    let idle = speed < 1000;
    let blip = idle && (needs_blip(kind) || dice.chance(0.5));
    case.seconds = dice.between(8.0, 13.0);
    if blip {
        let mut schedule = Schedule::default();
        schedule.blip(
            dice.between(0.3, 0.45) * case.seconds,
            dice.between(0.10, 0.2),
            dice.between(0.5, 1.2),
        );
        case.schedule = schedule;
    }
    let severity = dice.between(0.1, 1.0);
    let case = match kind {
        Kind::Measure { .. } => case,
        Kind::Cause(CauseId::Healthy) => case,
        Kind::Cause(cause) => case.with(Fault { kind: FaultKind::Cause(cause), severity }).ok()?,
        Kind::Pair(one, other) => {
            let first = case.with(Fault { kind: FaultKind::Cause(one), severity }).ok()?;
            let severity = dice.between(0.3, 1.0);
            first.with(Fault { kind: FaultKind::Cause(other), severity }).ok()?
        }
        Kind::Reason(reason) => {
            let kind = FaultKind::Withheld(REASONS.get(reason).copied()?);
            case.with(Fault { kind, severity }).ok()?
        }
    };
    Some(Drawn { number, kind, case, blip })
}

fn wants_teeth(kind: Kind) -> bool {
    matches!(kind, Kind::Cause(CauseId::DeadCylinder) | Kind::Pair(_, CauseId::DeadCylinder))
}

/// Evidence that only a blip gives.
fn needs_blip(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Cause(
            CauseId::FixedDelay
                | CauseId::DwellStartSeen
                | CauseId::NotInBaseMode
                | CauseId::MechanismAdvancing
        ) | Kind::Pair(CauseId::FixedDelay | CauseId::NotInBaseMode, _)
    )
}

fn control_for(kind: Kind, dice: &mut Dice) -> Control {
    let any = [Control::Computer, Control::Commanded, Control::Mechanical];
    match kind {
        Kind::Cause(CauseId::MechanismAdvancing) => Control::Mechanical,
        // Weights hide the slope that tells a delay.
        Kind::Cause(CauseId::FixedDelay) | Kind::Pair(CauseId::FixedDelay, _) => any[dice.below(2) as usize],
        Kind::Cause(CauseId::NotInBaseMode | CauseId::SetOutOfBaseMode)
        | Kind::Pair(CauseId::NotInBaseMode | CauseId::SetOutOfBaseMode, _) => Control::Computer,
        _ => any[dice.below(3) as usize],
    }
}

fn engine(dice: &mut Dice) -> (u8, u8, Vec<u8>, Option<Vec<f32>>) {
    match dice.below(12) {
        0 => (1, 4, vec![1], None),
        1 => (2, 2, vec![1, 2], None),
        2 => (3, 4, vec![1, 3, 2], None),
        3..=5 => (4, 4, vec![1, 3, 4, 2], None),
        6 | 7 => (6, 4, vec![1, 5, 3, 6, 2, 4], None),
        8 => (6, 4, vec![1, 6, 5, 4, 3, 2], Some(vec![90.0, 150.0, 90.0, 150.0, 90.0, 150.0])),
        9 | 10 => (8, 4, vec![1, 8, 4, 3, 6, 5, 7, 2], None),
        _ => (12, 4, vec![1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10], None),
    }
}

fn list<T: Clone, const N: usize>(values: &[T]) -> heapless::Vec<T, N> {
    heapless::Vec::from_slice(values).unwrap_or_default()
}

fn job(wheel: usize, speed: u32, control: Control, kind: Kind, dice: &mut Dice) -> JobSpec {
    let (cylinders, strokes, order, intervals) = match kind {
        Kind::Measure { .. } => engine(dice),
        _ => loop {
            let drawn = engine(dice);
            if drawn.0 >= 4 || dice.chance(0.3) {
                break drawn;
            }
        },
    };
    let distributor = strokes == 4 && dice.chance(if control == Control::Mechanical { 1.0 } else { 0.5 });
    let spark = match (distributor, strokes, cylinders % 2 == 0 && intervals.is_none()) {
        (true, ..) => SparkKind::Distributor,
        (false, 4, true) if dice.chance(0.4) => SparkKind::Paired,
        _ => SparkKind::Single,
    };
    let base = (4.0 + dice.below(13) as f64) as f32;
    let commanded = (8.0 + dice.below(9) as f64) as f32;
    let target = if control == Control::Commanded { commanded } else { base };
    let computer = control != Control::Mechanical;
    let crank = crank(wheel, f64::from(target), dice);
    let edge = |dice: &mut Dice| if dice.chance(0.5) { ActiveEdge::Rising } else { ActiveEdge::Falling };
    let rpm = speed as f32;
    JobSpec {
        name: heapless::String::try_from("Grid engine").unwrap_or_default(),
        engine: EngineSpec {
            cylinders,
            strokes,
            firing_order: list(&order),
            firing_intervals: intervals.map(|given| list(&given)),
            spark,
            rotor: distributor
                .then(|| if dice.chance(0.5) { Rotation::Clockwise } else { Rotation::Counterclockwise }),
            reference: None,
            drive_gear_teeth: distributor.then(|| 11 + dice.below(5) as u8),
            housing_diameter_mm: distributor.then_some(70.0),
        },
        timing: TimingSpec {
            control,
            base_btdc: base,
            calibration: Calibration::Stock,
            extra: 0.0,
            commanded_btdc: (control == Control::Commanded).then_some(commanded),
            tolerance: [1.0, 1.5, 2.0][dice.below(3) as usize],
            harness_offset: if computer { (8.0 + dice.below(5) as f64) as f32 } else { 0.0 },
            idle_rpm: [(rpm * 0.8).round(), (rpm * 1.2).round()],
            // Below 600 rpm a sound alternator need not reach the limit.
            supply_min_v: (speed >= 600).then_some(13.2),
        },
        crank,
        crank_edge: edge(dice),
        sensor_delay_us: if dice.chance(0.3) { dice.between(5.0, 60.0).round() as f32 } else { 0.0 },
        spark_edge: edge(dice),
        spark_delay_us: if dice.chance(0.3) { dice.between(5.0, 60.0).round() as f32 } else { 0.0 },
        base_mode: (computer && dice.chance(0.5)).then_some(!matches!(
            kind,
            Kind::Cause(CauseId::NotInBaseMode) | Kind::Pair(CauseId::NotInBaseMode, _)
        )),
    }
}

fn crank(wheel: usize, target: f64, dice: &mut Dice) -> CrankSpec {
    let mut toothed = |teeth: u8, missing: u8| CrankSpec::Wheel {
        teeth,
        missing,
        first_edge_btdc: (6.0 * dice.between(5.0, 55.0).round()) as f32,
    };
    let marks = |marks: &[f64]| {
        let marks: Vec<f32> = marks.iter().map(|mark| *mark as f32).collect();
        CrankSpec::Marks(list(&marks))
    };
    match wheel {
        0 => toothed(60, 2),
        1 => toothed(36, 1),
        2 => toothed(24, 2),
        3 => toothed(12, 1),
        4 => marks(&[(target + dice.between(-10.0, 10.0)).round()]),
        5 => marks(&[(target + dice.sign() * dice.between(10.0, 60.0)).round()]),
        6 => marks(&[
            (target + dice.between(-10.0, 10.0)).round(),
            (target + dice.between(50.0, 80.0)).round(),
        ]),
        _ => marks(&[
            target.round() - 5.0,
            target.round() + 60.0,
            target.round() + 150.0,
            target.round() + 230.0,
        ]),
    }
}

/// No two engines are alike.
fn vary_engine(case: &mut Case, speed: u32, dice: &mut Dice) {
    let setup = &mut case.setup;
    setup.inertia *= dice.between(0.75, 1.5);
    setup.burn_degrees *= dice.between(0.85, 1.2);
    setup.wander *= dice.between(0.4, 1.4);
    for share in &mut setup.fuel_share {
        *share *= 1.0 + 0.03 * dice.normal();
    }
    let toothed = matches!(case.job.crank, CrankSpec::Wheel { .. });
    let wheel = &mut setup.wheel;
    wheel.tooth_error = dice.between(0.005, 0.04);
    wheel.run_out = dice.between(0.0, 0.03);
    wheel.jitter = dice.between(0.003, 0.03);
    if toothed {
        wheel.sensor = match dice.below(3) {
            0 => Sensor::ZeroCrossing { arms_at_rpm: 40.0 },
            1 => Sensor::Hall,
            _ => Sensor::Optical,
        };
        wheel.end_teeth = if wheel.sensor.is_variable_reluctance() {
            EndTeeth::GrowingWithSpeed
        } else {
            EndTeeth::InPlace
        };
    }
    setup.drag.ripple_phase = RipplePhase::Gas;
    // The hand that set it was as good as the tolerance asks.
    setup.spark.setting += f64::from(case.job.timing.tolerance) * dice.between(-0.4, 0.4);
    if speed < 1000 && dice.chance(0.3) {
        setup.coils.strikes = 2 + dice.below(2) as u32;
    }
}

fn set_noise(case: &mut Case, noise: usize, dice: &mut Dice) {
    let setup = &mut case.setup;
    match noise {
        0 => {}
        1 => {
            setup.noise.coupling = dice.between(0.0, 0.5);
            setup.noise.crank_rate = dice.between(0.0, 3.0);
            setup.noise.spark_rate = dice.between(0.0, 0.1);
            setup.noise.lost_teeth = dice.between(0.0, 0.001);
            setup.clamp.ringing = dice.between(0.5, 3.0);
        }
        _ => {
            setup.noise.coupling = dice.between(0.5, 1.0);
            setup.noise.crank_rate = dice.between(3.0, 12.0);
            setup.noise.spark_rate = dice.between(0.1, 0.5);
            setup.noise.lost_teeth = dice.between(0.001, 0.005);
            setup.clamp.ringing = dice.between(2.0, 5.0);
            setup.clamp.missed = dice.between(0.0, 0.08);
            setup.clamp.delay_jitter = 1e-6;
        }
    }
}
