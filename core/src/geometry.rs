//! Where the piston is at a crank angle, and where true top dead centre lies between two piston stops.
//!
//! *Drop*: how far the piston is below the highest it gets. *Piston stop*: a bolt in the plug hole that
//! halts the piston the same drop before and after top dead centre. *Pin offset*: how far the piston pin's
//! path passes beside the crank's axis, towards the side the crank throw moves to after top dead centre.
//!
//! Near the top a piston hardly moves: a hundredth of a millimetre is more than a degree. The drop is the
//! same at equal angles either side, so the middle of two stop readings finds the top far better than
//! looking for the highest point. With a pin offset the middle is off by a little, which
//! [`CrankDrive::stop_bias`] gives.
//!
//! Computed in 64 bits from forms that do not subtract nearly equal numbers: once a job, never per edge.

use crate::units::{CrankAngle, TURN};

/// Crank radius, rod and pin offset, in one unit of length of the caller's choice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrankDrive {
    radius: f64,
    rod: f64,
    pin_offset: f64,
}

impl CrankDrive {
    /// A drive whose crank can turn: `None` unless 0 < `radius` and `radius` + |`pin_offset`| < `rod`, all finite.
    pub fn new(radius: f64, rod: f64, pin_offset: f64) -> Option<Self> {
        let turns = radius > 0.0 && rod.is_finite() && radius + pin_offset.abs() < rod;
        if turns { Some(Self { radius, rod, pin_offset }) } else { None }
    }

    /// Drop in the unit of length at an angle in degrees from where the throw points along the bore.
    /// Without a pin offset the relative error is below 10⁻¹⁴ at any angle, however small; with one the
    /// error is below 10⁻¹⁵ of the rod.
    pub fn drop(&self, degrees: f64) -> f64 {
        let (r, l, e) = (self.radius, self.rod, self.pin_offset);
        let angle = degrees.to_radians();
        let half = libm::sin(angle / 2.0);
        let aside = r * libm::sin(angle) - e;
        // Height lost by the throw, and by the rod's lean, which is least l − √(l² − aside²).
        let throw = 2.0 * r * half * half;
        let lean = aside * aside / (l + libm::sqrt(l * l - aside * aside));
        throw + lean - self.least()
    }

    /// Degrees from where the throw points along the bore to true top dead centre; zero without pin offset.
    pub fn top_dead_centre(&self) -> f64 {
        libm::asin(self.pin_offset / (self.radius + self.rod)).to_degrees()
    }

    /// How far, in degrees, the middle of two stop readings at this drop lies after true top dead centre;
    /// zero without pin offset. `None` for a drop the piston does not reach, or below zero.
    pub fn stop_bias(&self, drop: f64) -> Option<f64> {
        let (r, l, e) = (self.radius, self.rod, self.pin_offset);
        let height = self.highest() - drop;
        let lowest = libm::sqrt((l - r) * (l - r) - e * e);
        if drop >= 0.0 && height >= lowest {
            // Both stop positions lie evenly about the line from the crank's axis to the pin.
            Some(libm::atan2(e, height).to_degrees() - self.top_dead_centre())
        } else {
            None
        }
    }

    /// The angle in degrees, 0 to 180, either side of the middle at which the piston has this drop.
    /// `None` for a drop it does not reach, or below zero.
    pub fn angle_of_drop(&self, drop: f64) -> Option<f64> {
        let (r, l, e) = (self.radius, self.rod, self.pin_offset);
        self.stop_bias(drop)?;
        let height = self.highest() - drop;
        let straight = libm::sqrt(height * height + e * e);
        // Half-angle form: (l² − (D − r)²) / 4rD, as a product of differences, stays exact near the top.
        let short = drop * (self.highest() + height) / (r + l + straight);
        let square = short * (l - r + straight) / (4.0 * r * straight);
        Some(2.0 * libm::asin(libm::sqrt(square.clamp(0.0, 1.0))).to_degrees())
    }

    /// Height of the pin above the crank's axis at true top dead centre.
    fn highest(&self) -> f64 {
        let reach = self.radius + self.rod;
        libm::sqrt(reach * reach - self.pin_offset * self.pin_offset)
    }

    /// What the sum of throw and lean comes to at true top dead centre.
    fn least(&self) -> f64 {
        let reach = self.radius + self.rod;
        self.pin_offset * self.pin_offset / (reach + self.highest())
    }
}

/// The middle of two piston-stop readings, on the side where the stops are nearer to each other: top dead
/// centre for a drive without pin offset, to half a unit of 2⁻³² turn. `None` if the readings are equal or
/// lie half a turn apart, so that neither side is nearer.
pub fn middle_of_stops(one: CrankAngle, other: CrankAngle) -> Option<CrankAngle> {
    let way = one.to(other);
    if way == 0 || u64::from(way) == TURN / 2 {
        return None;
    }
    let half = (way as i32) / 2;
    Some(one.turned(half as u32))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drive_that_cannot_turn_is_refused() {
        for (radius, rod, offset) in [
            (0.0, 100.0, 0.0),
            (40.0, 40.0, 0.0),
            (40.0, 41.0, -1.0),
            (f64::NAN, 1.0, 0.0),
            (1.0, f64::INFINITY, 0.0),
        ] {
            assert_eq!(CrankDrive::new(radius, rod, offset), None, "{radius} {rod} {offset}");
        }
    }

    #[test]
    fn angle_and_drop_undo_each_other() -> Result<(), &'static str> {
        for offset in [-1.5, 0.0, 1.0] {
            let drive = CrankDrive::new(40.0, 130.0, offset).ok_or("refused")?;
            for step in 1..170 {
                let half = f64::from(step);
                let middle = |drop| drive.stop_bias(drop).map(|bias| bias + drive.top_dead_centre());
                let drop = drive.drop(drive.top_dead_centre() + half);
                let back = drive.angle_of_drop(drop).ok_or("no angle")?;
                let upper = middle(drop).ok_or("no middle")? + back;
                assert!((upper - drive.top_dead_centre() - half).abs() < 1e-8, "{offset} {half} {upper}");
            }
        }
        Ok(())
    }

    #[test]
    fn a_drop_out_of_reach_has_no_angle_and_stops_half_a_turn_apart_no_middle() -> Result<(), &'static str> {
        let drive = CrankDrive::new(40.0, 130.0, 0.0).ok_or("refused")?;
        assert_eq!(drive.angle_of_drop(80.1), None);
        assert_eq!(drive.angle_of_drop(-0.1), None);
        assert_eq!(drive.angle_of_drop(0.0), Some(0.0));
        let (one, other) = (CrankAngle::from_fraction(5), CrankAngle::from_fraction(5 + (1 << 31)));
        assert_eq!(middle_of_stops(one, other), None);
        assert_eq!(middle_of_stops(one, one), None);
        Ok(())
    }
}
