//! Every mistake of CONTRACT.md as a fault of the engine, its pickups or its job: seeded, at any
//! severity, alone or together.
//!
//! *Kind*: a cause, by its id, or a reason for which no number should be shown. *Severity*: 0 just
//! visible to 1 gross; a kind that has no degrees takes no notice of it. A fault never touches the
//! signals: it changes what the engine is or what is done to it, and the signals follow.

mod causes;
mod reasons;

use super::case::Case;
use super::random::Dice;
use keyway_core::judge::CauseId;
use keyway_core::reading::Withheld;

/// Every reason for withholding.
pub const REASONS: [Withheld; 11] = [
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

/// What kind of fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaultKind {
    /// Something that a reading should name.
    Cause(CauseId),
    /// Something for which no number should be shown.
    Withheld(Withheld),
}

impl FaultKind {
    /// Every kind.
    pub fn all() -> impl Iterator<Item = Self> {
        CauseId::ALL.into_iter().map(Self::Cause).chain(REASONS.into_iter().map(Self::Withheld))
    }

    /// The kind of this name, as in results.
    pub fn named(id: &str) -> Option<Self> {
        Self::all().find(|kind| kind.id() == id)
    }

    /// Its name, as in results.
    pub fn id(self) -> &'static str {
        match self {
            Self::Cause(cause) => cause.id(),
            Self::Withheld(reason) => reason.id(),
        }
    }

    /// The cause, where it is one.
    pub fn cause(self) -> Option<CauseId> {
        match self {
            Self::Cause(cause) => Some(cause),
            Self::Withheld(_) => None,
        }
    }
}

/// A fault.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// What.
    pub kind: FaultKind,
    /// 0 just visible to 1 gross.
    pub severity: f64,
}

impl Fault {
    /// Makes it wrong.
    pub(super) fn apply(&self, case: &mut Case, dice: &mut Dice) -> Result<(), &'static str> {
        let severity = self.severity.clamp(0.0, 1.0);
        match self.kind {
            FaultKind::Cause(cause) => causes::apply(cause, severity, case, dice),
            FaultKind::Withheld(reason) => reasons::apply(reason, severity, case, dice),
        }
    }
}
