//! What is kept of a run: the log of acts, the frames of the debrief, the steps seen, the errors that fail it.
//!
//! *Entry*: a line of the log, with the truth at that moment. *Frame*: the truth every [`FRAME`] seconds.

use crate::engine::controls::Controls;
use keyway_core::view::CautionId;
use keyway_core::words;

/// Seconds between two frames of the debrief.
pub const FRAME: f64 = 0.2;

/// What fails a drill whatever the score.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Critical {
    /// The throttle was opened with the clamp bolt loose.
    SpeedWithBoltLoose,
    /// A lead was pulled, or the clamp moved, on a running engine.
    LeadPulledRunning,
    /// The crank turned with the piston stop in, or it was left in.
    StopLeftIn,
    /// Work went on over a caution that was not acknowledged, or against it.
    CautionSkipped(CautionId),
}

impl Critical {
    /// Its words.
    pub fn words(self) -> String {
        match self {
            Self::SpeedWithBoltLoose => "speed raised with the clamp bolt loose".into(),
            Self::LeadPulledRunning => "a lead pulled while the engine ran".into(),
            Self::StopLeftIn => "the piston stop left in".into(),
            Self::CautionSkipped(caution) => format!("caution skipped: {}", words::caution(caution)),
        }
    }
}

/// Who or what a line of the log is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A hand at the engine or its leads.
    Hand,
    /// A step of the guide.
    Guide,
    /// Commit, hint or finish.
    Trainee,
    /// An error that fails the drill.
    Critical,
}

/// A line of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Since the drill began, s.
    pub at: f64,
    /// Who or what.
    pub kind: Kind,
    /// In words.
    pub what: String,
    /// Truth: where the spark came, degrees before top dead centre; `None` without one.
    pub advance: Option<f64>,
    /// Truth: where it lies while nothing steers it.
    pub base: f64,
}

/// A picture of the run for the debrief.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Since the drill began, s.
    pub at: f64,
    /// Truth: where the spark came, degrees before top dead centre; `None` without one.
    pub advance: Option<f64>,
    /// Truth: where it lies while nothing steers it.
    pub base: f64,
    /// rpm.
    pub rpm: f64,
    /// How the controls stood.
    pub controls: Controls,
}

/// Which parts of the procedure were seen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Seen {
    /// Engine stopped, key off, before the housing was first turned.
    pub made_safe: bool,
    /// Held with the engine running, before the housing was first turned.
    pub read_held: bool,
    /// A blip while held, bolt tight, before the housing was first turned.
    pub proven: bool,
    /// A blip while held, bolt tight, after the housing was last turned.
    pub clamp_checked: bool,
    /// A blip after control was given back.
    pub given_back: bool,
    /// Stopped and started again after control was given back.
    pub restarted: bool,
}
