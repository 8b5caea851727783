//! The shapes a judgement comes in.

use crate::job::Rotation;
use core::fmt;
use heapless::Vec;

/// How the measured advance lies to the target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
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

/// The evidence for a cause, in numbers; displayed as one plain sentence.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Because {
    /// The reading lies this far from the target, which no other cause explains.
    Off {
        /// Degrees, positive = early.
        error: f32,
    },
    /// The reading lies within the tolerance.
    Within {
        /// Degrees, positive = early.
        error: f32,
    },
    /// The reading is the target's mirror image.
    MirrorOfTarget {
        /// The target, degrees before top dead centre.
        target: f32,
    },
    /// The reading lies below the target by about the harness offset.
    ShortByOffset {
        /// Degrees below the target.
        short: f32,
        /// The harness offset of the job.
        offset: f32,
    },
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

/// What the reading means.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// `None` while withheld or cranking.
    pub verdict: Option<Verdict>,
    /// Measured minus target, degrees in (-180, 180].
    pub error: Option<f32>,
    /// What may be the matter.
    pub causes: Causes,
    /// How to correct; `None` while withheld.
    pub movement: Option<Move>,
    /// The advance follows the speed, or the technician says base mode is off: the number is not the base.
    pub base_mode_unproven: bool,
}

impl fmt::Display for Because {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Off { error } => {
                let word = if error > 0.0 { "early" } else { "late" };
                let degrees = if error > 0.0 { error } else { -error };
                write!(f, "it reads {degrees:.1}° {word}, by an amount that no other cause explains")
            }
            Self::Within { error } => {
                let degrees = if error > 0.0 { error } else { -error };
                write!(f, "it reads {degrees:.1}° from the target, within the tolerance")
            }
            Self::MirrorOfTarget { target } => {
                write!(
                    f,
                    "it reads as far after top dead centre as the target of {target:.1}° lies before it"
                )
            }
            Self::ShortByOffset { short, offset } => {
                write!(
                    f,
                    "it reads {short:.1}° below the target, about the {offset:.1}° that the computer adds"
                )
            }
        }
    }
}

impl fmt::Display for Remedy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.0 {
            CauseId::Healthy => "Clamp down, read again, and keep the record.",
            CauseId::OffTarget => "Turn the distributor until it reads the target, clamp down, read again.",
            CauseId::SetAfterTdc => {
                "Use the scale on the before-TDC side: set it again in base mode, clamp down, read again."
            }
            CauseId::SetOutOfBaseMode => {
                "Prove base mode first, then set it again, clamp down and read again."
            }
            _ => "Settle this before anyone turns the distributor.",
        })
    }
}
