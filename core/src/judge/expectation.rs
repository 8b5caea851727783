//! What a variant of a cause predicts for each piece of evidence, as a density.
//!
//! All in hundredths, as [`super::evidence`] gives them.

use super::bits::{Bits, around, between, both, error_between, error_near, near};
use super::evidence::Measured;

/// What a variant predicts for one piece of evidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Expectation {
    /// Near a value, with a spread of its own beside the measurement's.
    Near { centre: i32, spread: u32 },
    /// Anything in a range alike.
    Between { low: i32, high: i32 },
}

impl Expectation {
    /// The same with at least this spread.
    pub(super) fn loosened(self, least: u32) -> Self {
        match self {
            Self::Near { centre, spread } => Self::Near { centre, spread: spread.max(least) },
            wide @ Self::Between { .. } => wide,
        }
    }

    /// The same about a centre that lies so much higher.
    pub(super) fn moved(self, by: i32) -> Self {
        match self {
            Self::Near { centre, spread } => Self::Near { centre: centre.saturating_add(by), spread },
            Self::Between { low, high } => {
                Self::Between { low: low.saturating_add(by), high: high.saturating_add(by) }
            }
        }
    }

    /// The density of the error from the target, an angle in hundredths of a degree that wraps at half a turn.
    pub(super) fn density_of_error(self, error: Option<Measured>) -> Bits {
        let Some(Measured { value, doubt }) = error else { return Bits::ONE };
        let middle = match self {
            Self::Near { centre, .. } => centre,
            Self::Between { low, high } => low.midpoint(high),
        };
        // Both lie within a turn, so that one turn more or less does it.
        let value = match value - middle {
            ..-18_000 => value + 36_000,
            18_000.. => value - 36_000,
            _ => value,
        };
        match self {
            Self::Near { centre, spread } => error_near(value, centre, both(spread, doubt)),
            Self::Between { low, high } => error_between(value, low, high, both(doubt, 10)),
        }
    }

    pub(super) fn density(self, measured: Option<Measured>) -> Bits {
        let Some(Measured { value, doubt }) = measured else { return Bits::ONE };
        match self {
            Self::Near { centre, spread } => near(value, centre, both(spread, doubt)),
            Self::Between { low, high } => between(value, low, high, both(doubt, 10)),
        }
    }
}

/// How much the sparks scatter once the wander of speed is taken off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scatter {
    /// As a sound ignition does: around 0.13°, rarely 0.5°.
    Sound,
    /// As a steered one does.
    Steered,
    /// As weights do that follow every wander of the speed, held back by their pivots.
    Weights,
    /// As a worn drive makes it: around 1.1°.
    Worn,
}

impl Scatter {
    /// `unseen` is the most that few marks add to any of them.
    pub(super) fn density(self, measured: Option<u32>, unseen: u32) -> Bits {
        let Some(measured) = measured else { return Bits::ONE };
        // Nothing is known to scatter less than a twentieth of a degree.
        let measured = measured.max(5);
        let (own, spread) = match self {
            Self::Sound => (13, 178),
            Self::Steered => (38, 220),
            Self::Weights => (22, 210),
            Self::Worn => (110, 180),
        };
        // Of what is unseen there may be much or nothing: whatever fits.
        let centre = if unseen == 0 { own } else { measured.min(both(own, unseen)).max(own) };
        around(measured, centre, spread)
    }
}

/// How the advance behaves beside its value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Manner {
    pub(super) slope: Expectation,
    pub(super) idle_slope: Expectation,
    pub(super) bend: Expectation,
    pub(super) top_slope: Expectation,
    pub(super) dip: Expectation,
    pub(super) up_minus_down: Expectation,
    pub(super) scatter: Scatter,
}

/// One way in which a cause may be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Variant {
    /// The lead (cylinder) or the number of teeth; 0 where there is nothing to tell.
    pub(super) which: i8,
    /// Its share of the cause, ten thousandths.
    pub(super) share: u32,
    pub(super) error: Expectation,
    pub(super) manner: Manner,
}
