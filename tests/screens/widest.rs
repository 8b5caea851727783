//! Everything that can be withheld, checked, evidenced or stopped for, with the widest numbers it carries.

use keyway_core::judge::{Because, CauseId, NextCheck};
use keyway_core::reading::Withheld;
use keyway_core::view::{Halt, Mark};

pub const WITHHELD: [Withheld; 11] = [
    Withheld::NoCrank,
    Withheld::NoSpark,
    Withheld::PatternMismatch,
    Withheld::Unsteady,
    Withheld::TooFewSparks,
    Withheld::Interference,
    Withheld::PickupsSwapped,
    Withheld::WrongEdge,
    Withheld::SparkRate,
    Withheld::OutsideIdleBand,
    Withheld::SettingMoved,
];

pub const CHECKS: [NextCheck; 9] = NextCheck::ALL;

pub const MARKS: [Mark; 5] = [Mark::Open, Mark::Told, Mark::Proven, Mark::Failed, Mark::Skipped];

/// The evidence of each kind with the widest numbers it can carry.
pub const EVIDENCE: [Because; 19] = [
    Because::Off { error: -128.8 },
    Because::Within { error: 0.8 },
    Because::MirrorOfTarget { target: 38.8 },
    Because::ShortByOffset { short: -28.8, offset: 28.8 },
    Because::AboveByOffset { above: 28.8, offset: 28.8 },
    Because::RisesWithSpeed { per_1000: 28.8 },
    Because::OpposesWander { per_100: 28.8 },
    Because::LeadOf { cylinder: 12, other: Some(11), away: 360.0 },
    Because::ToothAway { teeth: -2, error: -128.8 },
    Because::FallsWithSpeed { per_1000: -28.8, delay_us: 8888.0 },
    Because::LateByTime { error: -28.8 },
    Because::RisesAtIdle { per_1000: 88.8, error: 28.8 },
    Because::DropsAsThrottleOpens { by: 28.8 },
    Because::HighAtIdle { error: 28.8 },
    Because::Scatters { by: 28.8 },
    Because::LowSupply { volts: 10.8, limit: 26.4 },
    Because::NoWork { cylinder: 12, second: 11, share: 0.08 },
    Because::SeesEvery { rate: 6.0, cylinders: 12 },
    Because::EarlyByTime { per_1000: 28.8, milliseconds: 5.8 },
];

pub fn halts() -> Vec<Halt> {
    let mut halts = vec![
        Halt::IdleMoved { low: 10_000.0, high: 12_000.0 },
        Halt::SupplyLow { volts: 10.4, limit: 26.4 },
        Halt::DeadCylinder { cylinders: [11, 12] },
        Halt::NoBaseStep { expected: -40.0, seen: -128.8 },
        Halt::RisesWithSpeed { slope: 88.8 },
        Halt::FallsWithSpeed { delay_us: 8888.0 },
        Halt::OtherWay { moved: -88.8 },
        Halt::NothingMoves,
        Halt::ClampMoved { by: -88.8 },
        Halt::SpeedWithBoltLoose,
        Halt::OffTarget { error: -128.8 },
        Halt::DoubtTooWide { doubt: 88.8 },
        Halt::NotTakenBack { expected: -128.8, read: -128.8 },
        Halt::NoAdvanceAbove,
        Halt::SignWrong,
        Halt::ReferenceUnchanged,
        Halt::DelayRemains { delay_us: -8888.0 },
        Halt::MechanismOut,
        Halt::LinkStillOut,
        Halt::BoltStillLoose,
        Halt::StopStillIn,
        Halt::NotStored,
        Halt::EngineStopped,
        Halt::EngineRuns,
        Halt::StoreFailed,
    ];
    halts.extend(CauseId::ALL.iter().map(|cause| Halt::OtherCause(*cause)));
    halts
}
