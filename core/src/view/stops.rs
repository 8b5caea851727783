//! What the guide stops for, alarms and short notices: ids with their numbers; the words are in `words`.

use super::GateId;
use crate::judge::CauseId;

/// A bolt whose tightening moves the setting by less holds it, degrees.
pub const BOLT_HOLDS: f32 = 0.25;

/// What the guide stops for until it is put right. Each has words: what, why, how to go on.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Halt {
    /// The idle moved out of its band with the timing.
    IdleMoved {
        /// The band, rpm.
        low: f32,
        /// The band, rpm.
        high: f32,
    },
    /// Supply below the limit.
    SupplyLow {
        /// Measured, V.
        volts: f32,
        /// The limit, V.
        limit: f32,
    },
    /// A cylinder does no work.
    DeadCylinder {
        /// Which, 1 to 12; two where both fit.
        cylinders: [u8; 2],
    },
    /// The link was changed and nothing happened.
    NoBaseStep {
        /// Degrees it should have stepped by.
        expected: f32,
        /// Degrees it did.
        seen: f32,
    },
    /// The advance rises with speed though base mode was told: the computer is steering.
    RisesWithSpeed {
        /// Degrees per 1000 rpm.
        slope: f32,
    },
    /// It falls with speed: a fixed delay.
    FallsWithSpeed {
        /// µs.
        delay_us: f32,
    },
    /// The first real movement went the other way than the job's rotor says.
    OtherWay {
        /// Degrees moved, positive = advanced.
        moved: f32,
    },
    /// The spark has stayed for a while: the housing is not turned, or does not set it.
    NothingMoves,
    /// The setting moved as the bolt was tightened.
    ClampMoved {
        /// Degrees, positive = advanced.
        by: f32,
    },
    /// The speed rose with the bolt loose.
    SpeedWithBoltLoose,
    /// Off target after the clamp.
    OffTarget {
        /// Degrees, positive = early.
        error: f32,
    },
    /// The value is wider in doubt than the tolerance.
    DoubtTooWide {
        /// Degrees.
        doubt: f32,
    },
    /// Control not taken back: idle does not read base plus offset.
    NotTakenBack {
        /// Expected, degrees before top dead centre.
        expected: f32,
        /// Read.
        read: f32,
    },
    /// Right at idle, no advance above.
    NoAdvanceAbove,
    /// The error doubled after the reference was changed: the sign was wrong.
    SignWrong,
    /// The setting of the reference changed nothing.
    ReferenceUnchanged,
    /// The delay entered did not take the fall away.
    DelayRemains {
        /// µs left.
        delay_us: f32,
    },
    /// The first cause is not the setting: settle it before turning.
    OtherCause(CauseId),
    /// The advance follows the speed inside the idle band: weights are out, or a hose is on.
    MechanismOut,
    /// Link still as for reading the base.
    LinkStillOut,
    /// Bolt not told tight.
    BoltStillLoose,
    /// Piston stop not told out.
    StopStillIn,
    /// Value not stored in the computer.
    NotStored,
    /// The engine stopped in the middle of a step that needs it.
    EngineStopped,
    /// The engine runs where it must stand.
    EngineRuns,
    /// The store refused the record.
    StoreFailed,
}

/// Danger or a gate lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Alarm {
    /// The crank turns while the piston stop is in.
    TurnsWithStop,
    /// The speed rises while the bolt is loose.
    SpeedWithBoltLoose,
    /// The engine turns while hands are in it.
    TurnsWhileReachingIn,
    /// A gate that was open has closed.
    GateLost(GateId),
}

listed! {
/// A short word on something that just happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Notice {
    /// Record stored.
    Stored,
    /// Store refused.
    StoreFailed,
    /// The job goes on where it was.
    Resumed,
    /// A stored job or record is of an unknown version, or damaged.
    Unreadable,
    /// Rotor's turn changed in the job.
    RotorChanged,
    /// Zero correction taken.
    ZeroTaken,
    /// First edge taken.
    EdgeTaken,
    /// The corrections before the newest change stand again.
    Undone,
    /// A correction no longer stands.
    Forgotten,
    /// The answer to a check counts from now on.
    CheckTaken,
    /// The clamp is the right way round.
    ClampRight,
    /// The clamp had been right, and is wrong now.
    TurnClampBack,
    /// Engine saved.
    EngineSaved,
    /// Engine deleted.
    EngineDeleted,
    /// Nothing to go back to.
    AtStart,
    /// No more room in the list.
    ListFull,
    /// A piston stop goes in before the engine is started, not now.
    StopLater,
}
}
