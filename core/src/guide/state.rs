//! The states of the guided job, with their data.

use super::bins::Bins;
use super::facts::Taken;
use crate::view::StepId;

/// Where the job stands: the step, and what the work at it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum State {
    /// Lines to be told or measured, one after the other.
    Lines(StepId),
    /// The base-mode link is to be changed and the advance to step by the offset.
    Link {
        /// The technician says that it is changed.
        told: bool,
        /// The step seen, once it has settled.
        seen: Option<f32>,
    },
    /// A settled reading is to be taken.
    Read {
        /// For which step.
        step: StepId,
        /// It was judged: what stands against going on was said.
        judged: bool,
    },
    /// An answer to a blip is to be seen, where needed after a look at idle.
    Blip(Blip),
    /// The housing is turned.
    Set(Set),
    /// The reference angle in the computer is changed.
    Reference {
        /// Error when the step opened, or since the newest change that helped.
        before: f32,
        /// The technician says that it is changed.
        told: bool,
        /// The error doubled.
        sign_wrong: bool,
    },
    /// The speed is run up and down.
    Run {
        /// Sweep, or a curve.
        step: StepId,
        /// What was seen.
        bins: Bins,
        /// Highest speed seen, rpm.
        peak: f32,
    },
    /// What is left undone, then the record.
    Finish(Saving),
}

/// What a step that reads has seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum SoFar {
    /// Nothing yet.
    NotYet,
    /// Over the first stretch, where the computer steers: degrees before top dead centre.
    Once(f32),
    /// The settled reading that was shown last.
    Settled(Taken),
}

impl SoFar {
    /// What a steered reading has to agree with, degrees before top dead centre.
    pub(super) fn before(&self) -> Option<f32> {
        match self {
            Self::NotYet => None,
            Self::Once(advance) => Some(*advance),
            Self::Settled(taken) => Some(taken.advance),
        }
    }

    /// The settled reading that was shown last.
    pub(super) fn settled(&self) -> Option<Taken> {
        match self {
            Self::Settled(taken) => Some(*taken),
            Self::NotYet | Self::Once(_) => None,
        }
    }
}

/// The answer to a blip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blip {
    /// BaseBlip, HoldFixed, ClampBlip, BlipFine or ControlBlip.
    pub step: StepId,
    /// The speed to reach, rpm.
    pub reach: f32,
    /// What is looked at before the blip.
    pub idle: IdleLook,
    /// Highest speed seen since the look, rpm.
    pub peak: f32,
    /// Mean advance of the sparks well above idle, degrees before top dead centre, and their number.
    pub above: (f32, u16),
    /// Back at idle since, ms.
    pub back_since: Option<u32>,
    /// The answer was judged.
    pub answered: bool,
}

/// What is looked at before a blip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum IdleLook {
    /// Nothing.
    None,
    /// The reading has not settled yet.
    Waiting,
    /// Degrees from what was expected.
    Seen(f32),
}

/// The housing is turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Set {
    /// Set or SetFine.
    pub step: StepId,
    /// Degrees before top dead centre when it began, or since the other way was answered.
    pub start: f32,
    /// The way was asked about: where it began is taken anew once the hand has been still since then, ms.
    pub anew: Option<u32>,
    /// It was seen to move.
    pub moved: bool,
    /// Newest movement, or the beginning, ms.
    pub moved_at: u32,
    /// On target and still since, ms.
    pub still_since: Option<u32>,
    /// It was on target and still for long enough, and is so still.
    pub held: bool,
}

/// How the record's storing goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Saving {
    /// Something is undone, or nothing asked yet.
    Open,
    /// Asked for.
    Asked,
    /// Stored.
    Done,
}

impl State {
    /// The step.
    pub const fn step(&self) -> StepId {
        match self {
            Self::Lines(step) | Self::Read { step, .. } | Self::Run { step, .. } => *step,
            Self::Link { .. } => StepId::BaseLink,
            Self::Blip(blip) => blip.step,
            Self::Set(set) => set.step,
            Self::Reference { .. } => StepId::Reference,
            Self::Finish(_) => StepId::Finish,
        }
    }
}
