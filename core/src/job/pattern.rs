//! The marks that pass the crank pickup in one turn, as one list of angles whatever made them.
//!
//! *Slot*: the place of one mark in the list, counted in the direction of rotation; slot 0 of a wheel
//! is the first tooth after the gap. *Span*: the angle from one slot to the next. *Pitch*: the even
//! span of a wheel. A missing-tooth wheel is not stored tooth by tooth: its angles follow from the
//! pitch, so a pattern is small enough to copy.

use super::CrankSpec;
use super::check::{JobError, Problem, expected};
use crate::statistics::sort::sort_by;
use crate::units::{CrankAngle, TURN};
use heapless::Vec;

/// The most marks of an unequal pattern.
pub const MAX_MARKS: usize = 8;
/// The most slots of a toothed wheel, the missing ones included.
pub const MAX_SLOTS: u8 = 120;

/// The marks of one turn.
#[derive(Debug, Clone, PartialEq)]
pub enum Pattern {
    /// A toothed wheel with one gap.
    Wheel {
        /// Slots of the whole turn, the missing ones included.
        slots: u8,
        /// Missing slots.
        missing: u8,
        /// Where slot 0, the first tooth after the gap, passes.
        first: CrankAngle,
    },
    /// One to eight marks, in the order in which they pass, slot 0 the first after top dead centre.
    Marks(Vec<CrankAngle, MAX_MARKS>),
}

impl Pattern {
    pub(super) fn build(spec: &CrankSpec) -> Result<Self, JobError> {
        match spec {
            CrankSpec::Wheel { teeth, missing, first_edge_btdc } => {
                let range = |key, read, low, high| {
                    if read >= low && read <= high {
                        Ok(())
                    } else {
                        Err(JobError { key, problem: Problem::OutOfRange { read, low, high } })
                    }
                };
                range("crank.teeth", f32::from(*teeth), 4.0, f32::from(MAX_SLOTS))?;
                range("crank.missing", f32::from(*missing), 1.0, f32::from(*teeth / 2))?;
                expected(
                    "crank.first_edge_btdc",
                    (0.0..360.0).contains(first_edge_btdc),
                    "0 or more and below 360",
                )?;
                let first = CrankAngle::at_btdc(*first_edge_btdc);
                Ok(Self::Wheel { slots: *teeth, missing: *missing, first })
            }
            CrankSpec::Marks(degrees) => Self::build_marks(degrees),
        }
    }

    fn build_marks(degrees: &[f32]) -> Result<Self, JobError> {
        let key = "crank.marks_btdc";
        let mut marks: Vec<CrankAngle, MAX_MARKS> = Vec::new();
        expected(key, !degrees.is_empty(), "1 to 8 marks")?;
        for degree in degrees {
            expected(key, *degree > -180.0 && *degree < 360.0, "marks above -180 and below 360")?;
            let pushed = marks.push(CrankAngle::at_btdc(*degree));
            expected(key, pushed.is_ok(), "1 to 8 marks")?;
        }
        sort_by(&mut marks, |one, other| one.fraction() < other.fraction());
        let pattern = Self::Marks(marks);
        let count = pattern.count();
        if count > 1 {
            let least = (0..count).map(|slot| pattern.span_after(slot)).min().unwrap_or(0);
            expected(key, least >= TURN / 180, "marks 2 degrees or more apart")?;
            expected(key, pattern.is_unequal(), "gaps that tell the marks apart (no even spacing)")?;
        }
        Ok(pattern)
    }

    /// Whether no turn of the list onto itself leaves every gap within 3 % of what it was, so that
    /// the intervals alone tell which mark is which.
    fn is_unequal(&self) -> bool {
        let count = self.count();
        (1..count).all(|shift| {
            (0..count).any(|slot| {
                let here = self.span_after(slot);
                let there = self.span_after((slot + shift) % count);
                here.abs_diff(there) * 32 > here.min(there)
            })
        })
    }

    /// Marks in one turn.
    pub fn count(&self) -> u8 {
        match self {
            Self::Wheel { slots, missing, .. } => slots - missing,
            Self::Marks(marks) => marks.len() as u8,
        }
    }

    /// Where the mark of `slot` passes the pickup; slots beyond the last wrap onto the first.
    pub fn angle(&self, slot: u8) -> CrankAngle {
        let slot = slot % self.count().max(1);
        match self {
            Self::Wheel { slots, first, .. } => {
                let turned = u64::from(slot) * TURN / u64::from(*slots).max(1);
                first.turned(turned as u32)
            }
            Self::Marks(marks) => marks.get(usize::from(slot)).copied().unwrap_or_default(),
        }
    }

    /// Units of 2⁻³² turn from the mark of `slot` to the next one; a whole turn for a single mark.
    pub fn span_after(&self, slot: u8) -> u64 {
        let count = self.count().max(1);
        if count == 1 {
            return TURN;
        }
        u64::from(self.angle(slot).to(self.angle((slot + 1) % count)))
    }

    /// Units of 2⁻³² turn from one tooth of a wheel to the next, outside the gap; `None` for marks.
    pub fn pitch(&self) -> Option<u64> {
        match self {
            Self::Wheel { slots, .. } => Some(TURN / u64::from(*slots).max(1)),
            Self::Marks(_) => None,
        }
    }
}
