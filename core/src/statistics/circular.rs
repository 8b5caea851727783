//! Centre and spread of directions, where 359° and 1° are neighbours.
//!
//! *Resultant*: the sum of unit vectors, one for each angle; its direction is the mean, its length over
//! the count (0 to 1) says how closely they agree. *Arc*: the shorter way between two angles.
//! *Median direction*: the one with the least mean arc to all angles (Fisher, *Statistical Analysis of
//! Circular Data*, 1993, eq. 2.32 and 2.33).
//!
//! The median is exact: arcs of whole numbers are added as whole numbers, so ties are ties. An even
//! count usually leaves a whole arc of equally good directions between two of the angles; the middle of
//! it is taken. Where arcs apart from each other tie, the one nearest the mean of the ways from the first angle wins.

use super::functions::{cosine, direction, natural_log_wide, sine, square_root_wide};

/// A running sum of directions. Angles in units of 2⁻³² turn; sines in 32 bits, their sums in 64.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Resultant {
    along: f64,
    across: f64,
    weight: f64,
}

impl Resultant {
    /// An empty sum.
    pub const fn new() -> Self {
        Self { along: 0.0, across: 0.0, weight: 0.0 }
    }

    /// Adds one angle.
    pub fn add(&mut self, angle: i32) {
        self.add_weighted(angle, 1.0);
    }

    /// Adds an angle that stands for `weight` of them, as a bin of grouped data does.
    pub fn add_weighted(&mut self, angle: i32, weight: f32) {
        self.along += f64::from(weight * cosine(angle));
        self.across += f64::from(weight * sine(angle));
        self.weight += f64::from(weight);
    }

    /// The sum over all angles of a slice.
    pub fn of(angles: &[i32]) -> Self {
        let mut sum = Self::new();
        angles.iter().for_each(|&angle| sum.add(angle));
        sum
    }

    /// Mean direction. Error up to 3 × 10⁻⁵ ° where the angles agree (length above 0.5), more as one
    /// over the length. `None` if empty, or if the length is below 10⁻⁵ and so no direction is meant.
    pub fn mean(&self) -> Option<i32> {
        if self.length()? < 1e-5 { None } else { Some(direction(self.across as f32, self.along as f32)) }
    }

    /// Mean resultant length, 0 (all ways) to 1 (all one way), to 10⁻⁷. `None` if empty.
    pub fn length(&self) -> Option<f32> {
        self.agreement().map(|length| length as f32)
    }

    /// Circular standard deviation in radians, √(−2 ln R) (Mardia): the normal one for small scatter, within
    /// 0.1 % from 0.3° upwards. Scatter of nothing reads up to 5 × 10⁻⁴ rad (0.03°): use the scaled median
    /// absolute deviation there. `None` if empty; infinite where the length is zero.
    pub fn standard_deviation(&self) -> Option<f32> {
        self.agreement().map(|length| square_root_wide((-2.0 * natural_log_wide(length)).max(0.0)) as f32)
    }

    /// Angular deviation in radians, √(2 (1 − R)) (Zar), at most √2; accurate as the standard deviation.
    /// `None` if empty.
    pub fn angular_deviation(&self) -> Option<f32> {
        self.agreement().map(|length| square_root_wide(2.0 * (1.0 - length)) as f32)
    }

    /// The length in 64 bits: a small scatter is the small difference of this from one.
    fn agreement(&self) -> Option<f64> {
        if self.weight <= 0.0 {
            return None;
        }
        let length = square_root_wide(self.along * self.along + self.across * self.across) / self.weight;
        Some(length.min(1.0))
    }
}

/// Median direction, exact to a unit of 2⁻³² turn; see the module for ties. `None` if empty.
///
/// Takes `n²` integer steps: for buffers of up to a hundred or so angles.
pub fn median(angles: &[i32]) -> Option<i32> {
    let least = angles.iter().map(|&angle| total_arc(angles, angle)).min()?;
    // As seen from the first; two opposite crowds have no mean direction, then any will do.
    let first = *angles.first()?;
    let ways: i64 = angles.iter().map(|angle| i64::from(angle.wrapping_sub(first))).sum();
    let towards = first.wrapping_add((ways / angles.len().max(1) as i64) as i32);
    let nearest = angles
        .iter()
        .copied()
        .filter(|&angle| total_arc(angles, angle) == least)
        .min_by_key(|&angle| arc(angle, towards))?;
    let next = neighbour(angles, |other| other.wrapping_sub(nearest) as u32);
    let previous = neighbour(angles, |other| nearest.wrapping_sub(other) as u32);
    let onwards = next.map(|gap| nearest.wrapping_add_unsigned(gap / 2));
    let backwards = previous.map(|gap| nearest.wrapping_sub_unsigned(gap / 2));
    // Between neighbours the total arc is flat only if its middle is as good as the ends.
    let ends = [(onwards, next, 1i32), (backwards, previous, -1)];
    for (middle, gap, way) in ends {
        if let (Some(middle), Some(gap)) = (middle, gap) {
            let end = nearest.wrapping_add((gap as i32).wrapping_mul(way));
            if total_arc(angles, middle) == least && total_arc(angles, end) == least {
                return Some(middle);
            }
        }
    }
    Some(nearest)
}

/// Mean arc from `centre` to the angles, units of 2⁻³² turn. `None` if empty.
pub fn mean_arc(angles: &[i32], centre: i32) -> Option<u32> {
    let count = u64::try_from(angles.len()).ok().filter(|&count| count > 0)?;
    u32::try_from(total_arc(angles, centre) / count).ok()
}

/// The shorter way between two angles, 0 to 2³¹ units of 2⁻³² turn.
pub const fn arc(one: i32, other: i32) -> u32 {
    one.wrapping_sub(other).unsigned_abs()
}

fn total_arc(angles: &[i32], centre: i32) -> u64 {
    angles.iter().map(|&angle| u64::from(arc(angle, centre))).sum()
}

/// The least way, not zero, to any of the angles.
fn neighbour(angles: &[i32], way: impl Fn(i32) -> u32) -> Option<u32> {
    angles.iter().map(|&other| way(other)).filter(|&gap| gap > 0).min()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use crate::units::{degrees_to_fraction, fraction_to_degrees};
    use std::vec::Vec;

    fn angles(degrees: &[f64]) -> Vec<i32> {
        degrees.iter().map(|&d| degrees_to_fraction(d) as i32).collect()
    }

    #[test]
    fn turning_all_angles_turns_mean_and_median_and_leaves_the_spread() {
        let base = angles(&[1.0, 4.0, 9.0, 16.0, 25.0, 36.0]);
        for turn in [0.0, 90.0, 170.0, 179.999, 180.0, -91.0] {
            let by = degrees_to_fraction(turn) as i32;
            let turned: Vec<i32> = base.iter().map(|a| a.wrapping_add(by)).collect();
            assert_eq!(median(&turned).unwrap(), median(&base).unwrap().wrapping_add(by));
            let (mean, still) = (Resultant::of(&turned), Resultant::of(&base));
            let moved = mean.mean().unwrap().wrapping_sub(still.mean().unwrap()).wrapping_sub(by);
            assert!(fraction_to_degrees(moved).abs() < 5e-5, "{turn}");
            assert!((mean.length().unwrap() - still.length().unwrap()).abs() < 1e-6);
        }
    }

    #[test]
    fn the_median_beats_every_other_direction_on_a_fine_grid() {
        let mut state = 7u32;
        for count in 1..24 {
            let set: Vec<i32> = (0..count)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    state as i32
                })
                .collect();
            let best = total_arc(&set, median(&set).unwrap());
            for step in 0..7200u32 {
                let elsewhere = step.wrapping_mul(596_523) as i32;
                assert!(best <= total_arc(&set, elsewhere), "{count} {step}");
            }
        }
    }

    #[test]
    fn nothing_has_no_mean_and_opposites_have_none_either() {
        assert_eq!(Resultant::new().mean(), None);
        assert_eq!(median(&[]), None);
        assert_eq!(mean_arc(&[], 0), None);
        assert_eq!(Resultant::of(&angles(&[0.0, 180.0])).mean(), None);
        assert!(median(&angles(&[0.0, 180.0])).is_some());
    }
}
