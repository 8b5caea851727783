//! What was measured about the job itself and is kept beside it, each with its ±: the true zero, the taught
//! wheel, the rotor's real sense.
//!
//! *Mark's place*: where the zero mark really passes the pointer, degrees before true top dead centre of
//! cylinder one. Angles of the job that were read off that mark are wrong by as much, so they are moved by
//! it. *Taught*: the wheel's own interpolation timed a mark at proven zero, so the first edge is known from
//! the wheel itself and what was entered no longer counts.

use crate::job::{CrankSpec, Job, JobError, JobSpec, Rotation};
use crate::statistics::functions::square_root;
use crate::units::wrap_degrees;
use serde::{Deserialize, Serialize};

/// A measured number with its half width at 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Corrected {
    /// Degrees.
    pub degrees: f32,
    /// Half width at 95 %, degrees.
    pub doubt: f32,
}

/// The corrections of one job.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Corrections {
    /// The mark's place, from a two-sided piston stop.
    pub zero: Option<Corrected>,
    /// What has to be added to the crank pattern's angles as entered, from teaching the wheel.
    pub wheel: Option<Corrected>,
    /// The rotor's turn, where it proved to be other than entered.
    pub rotor: Option<Rotation>,
}

impl Corrections {
    /// How far the crank pattern's angles are moved, and with what doubt.
    pub fn shift(&self) -> Option<Corrected> {
        self.wheel.or(self.zero)
    }

    /// The job that is measured with.
    ///
    /// # Errors
    /// As [`JobSpec::build`]; a correction alone can't cause one.
    pub fn apply(&self, spec: &JobSpec) -> Result<Job, JobError> {
        let mut corrected = spec.clone();
        if let Some(rotor) = self.rotor
            && corrected.engine.rotor.is_some()
        {
            corrected.engine.rotor = Some(rotor);
        }
        if let Some(shift) = self.shift() {
            match &mut corrected.crank {
                CrankSpec::Wheel { first_edge_btdc, .. } => {
                    *first_edge_btdc = within_turn(*first_edge_btdc + shift.degrees);
                }
                CrankSpec::Marks(marks) => {
                    for mark in marks.iter_mut() {
                        *mark = within_turn(*mark + shift.degrees);
                    }
                }
            }
        }
        corrected.build()
    }

    /// A reading's half width with that of the corrections, as independent errors, degrees.
    pub fn widen(&self, doubt: f32) -> f32 {
        match self.shift() {
            Some(shift) => square_root(doubt * doubt + shift.doubt * shift.doubt),
            None => doubt,
        }
    }
}

/// Into 0 to below 360.
pub fn within_turn(degrees: f32) -> f32 {
    let within = wrap_degrees(degrees);
    if within < 0.0 { within + 360.0 } else { within }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_move_into_the_turn() {
        assert_eq!(within_turn(-1.5), 358.5);
        assert_eq!(within_turn(361.0), 1.0);
        assert_eq!(within_turn(-1e-9), 0.0);
    }

    #[test]
    fn a_taught_wheel_goes_before_a_zero_correction_and_widens_the_doubt() {
        let zero = Some(Corrected { degrees: 1.0, doubt: 0.3 });
        let wheel = Some(Corrected { degrees: -2.0, doubt: 0.4 });
        let both = Corrections { zero, wheel, rotor: None };
        assert_eq!(both.shift(), wheel);
        assert!((both.widen(0.3) - 0.5).abs() < 1e-6);
        assert_eq!(Corrections::default().widen(0.3), 0.3);
    }
}
