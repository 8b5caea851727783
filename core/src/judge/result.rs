//! The shapes a judgement comes in.

use crate::job::Rotation;
use heapless::Vec;

/// How the measured advance lies to the target.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Verdict {
    /// Within the tolerance.
    OnTarget,
    /// Fewer degrees before top dead centre than the target.
    Late,
    /// More degrees before top dead centre than the target.
    Early,
}

impl Verdict {
    /// The verdict's name in results.
    pub const fn id(self) -> &'static str {
        match self {
            Self::OnTarget => "on-target",
            Self::Late => "late",
            Self::Early => "early",
        }
    }
}

/// What may be the matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CauseId {
    /// Nothing is wrong.
    Healthy,
    /// Plainly set early or late.
    OffTarget,
    /// The mark on the wrong side of zero was used.
    SetAfterTdc,
    /// Set earlier without base mode.
    SetOutOfBaseMode,
    /// The computer is steering now.
    NotInBaseMode,
    /// Pickup on another cylinder's lead.
    ClampOnOtherLead,
    /// Distributor in a tooth out.
    DriveToothOff,
    /// Spark comes a fixed time late.
    FixedDelay,
    /// Weights out at idle, or a vacuum hose left on.
    MechanismAdvancing,
    /// Distributor drive, bushing or chain worn.
    WornDrive,
    /// Low system voltage at idle.
    WeakSupply,
    /// A cylinder does no work.
    DeadCylinder,
    /// Clamp on the coil's lead.
    ClampOnCoilLead,
    /// Clamp turned round.
    DwellStartSeen,
}

impl CauseId {
    /// Every cause.
    pub const ALL: [Self; 14] = [
        Self::Healthy,
        Self::OffTarget,
        Self::SetAfterTdc,
        Self::SetOutOfBaseMode,
        Self::NotInBaseMode,
        Self::ClampOnOtherLead,
        Self::DriveToothOff,
        Self::FixedDelay,
        Self::MechanismAdvancing,
        Self::WornDrive,
        Self::WeakSupply,
        Self::DeadCylinder,
        Self::ClampOnCoilLead,
        Self::DwellStartSeen,
    ];

    /// The cause's name in results.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Healthy => "none",
            Self::OffTarget => "off-target",
            Self::SetAfterTdc => "set-after-tdc",
            Self::SetOutOfBaseMode => "set-out-of-base-mode",
            Self::NotInBaseMode => "not-in-base-mode",
            Self::ClampOnOtherLead => "clamp-on-other-lead",
            Self::DriveToothOff => "drive-tooth-off",
            Self::FixedDelay => "fixed-delay",
            Self::MechanismAdvancing => "mechanism-advancing",
            Self::WornDrive => "worn-drive",
            Self::WeakSupply => "weak-supply",
            Self::DeadCylinder => "dead-cylinder",
            Self::ClampOnCoilLead => "clamp-on-coil-lead",
            Self::DwellStartSeen => "dwell-start-seen",
        }
    }
}

/// The evidence for a cause, in numbers; displayed as one plain sentence. Degrees are crank degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[allow(missing_docs, reason = "the sentences in `because` say what each number is")]
pub enum Because {
    Off { error: f32 },
    Within { error: f32 },
    InDoubt { error: f32 },
    MirrorOfTarget { target: f32 },
    ShortByOffset { short: f32, offset: f32 },
    AboveByOffset { above: f32, offset: f32 },
    RisesWithSpeed { per_1000: f32 },
    OpposesWander { per_100: f32 },
    LeadOf { cylinder: u8, other: Option<u8>, away: f32 },
    ToothAway { teeth: i8, error: f32 },
    FallsWithSpeed { per_1000: f32, delay_us: f32 },
    LateByTime { error: f32 },
    RisesAtIdle { per_1000: f32, error: f32 },
    DropsAsThrottleOpens { by: f32 },
    HighAtIdle { error: f32 },
    Scatters { by: f32 },
    LowSupply { volts: f32, limit: f32 },
    NoWork { cylinder: u8, second: u8, share: f32 },
    SeesEvery { rate: f32, cylinders: u8 },
    EarlyByTime { per_1000: f32, milliseconds: f32 },
}

/// What to do about a cause; displayed as one plain sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Remedy(pub CauseId);

/// A cause with its probability and its evidence.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Cause {
    /// Which.
    pub id: CauseId,
    /// 0 to 1; all causes of a judgement sum to 1.
    pub probability: f32,
    /// The evidence.
    pub because: Because,
    /// What to do.
    pub remedy: Remedy,
}

/// Causes, the most probable first.
pub type Causes = Vec<Cause, 14>;

/// How to correct the setting.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Move {
    /// Target minus measured, crank degrees, positive = advance.
    pub crank_deg: f32,
    /// The same at the housing.
    pub housing_deg: f32,
    /// The same at the housing's rim, mm; `None` without a diameter.
    pub rim_mm: Option<f32>,
    /// Which way to turn the housing, facing the cap; `None` where turning is not the remedy.
    pub turn: Option<Rotation>,
}

/// A check that tells causes apart; displayed as what to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum NextCheck {
    /// Raise the speed for two seconds from the throttle and let it fall.
    Blip,
    /// Change the base-mode link and read again.
    ChangeLink,
    /// Trace cylinder one's lead and look at the clamp on it.
    LookAtClamp,
    /// Turn the clamp round and read again.
    TurnClampRound,
    /// Take the vacuum hose off, plug it, and read again.
    HoseOff,
    /// Find true zero by a piston stop.
    FindZero,
    /// Look where the rotor points at zero on the compression stroke.
    LookAtRotor,
    /// Feel for play in the distributor's drive.
    FeelPlay,
    /// Read on for longer.
    ReadLonger,
}

impl NextCheck {
    /// Every check.
    pub const ALL: [Self; 9] = [
        Self::Blip,
        Self::ChangeLink,
        Self::LookAtClamp,
        Self::TurnClampRound,
        Self::HoseOff,
        Self::FindZero,
        Self::LookAtRotor,
        Self::FeelPlay,
        Self::ReadLonger,
    ];
}

/// What the reading means.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// `None` while withheld or cranking.
    pub verdict: Option<Verdict>,
    /// Measured minus target, degrees in (-180, 180].
    pub error: Option<f32>,
    /// What may be the matter.
    pub causes: Causes,
    /// Probability, 0 to 1, of the likeliest answer to all questions at once: which timing cause, and wear, supply
    /// and cylinders beside it. With one fault it is that of the first cause; two faults share theirs.
    pub sureness: f32,
    /// The check that would settle it best for its effort; `None` where it is settled.
    pub next_check: Option<NextCheck>,
    /// How to correct; `None` while withheld.
    pub movement: Option<Move>,
    /// The advance follows the speed, or the technician says base mode is off: the number is not the base.
    pub base_mode_unproven: bool,
}
