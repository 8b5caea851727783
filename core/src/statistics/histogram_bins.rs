//! Which bin an angle falls in, and where in the circle a bin lies: the histogram's arithmetic, all of it in
//! whole numbers that wrap with the turn.

use crate::units::TURN;

/// Bits of a fine bin's width.
pub(super) const FINE_SHIFT: u32 = 18;
/// Units of 2⁻³² turn in a fine bin: 0.02197°.
pub const FINE_WIDTH: u32 = 1 << FINE_SHIFT;
/// Fine bins: 22.5° in all.
pub(super) const FINE_BINS: usize = 1024;
/// Units of 2⁻³² turn from the window's middle to its lower end.
pub(super) const HALF_WINDOW: u32 = (FINE_BINS as u32 / 2) << FINE_SHIFT;
/// Coarse bins: one a degree.
pub(super) const COARSE_BINS: usize = 360;

/// The degree, 0 to 359, that an angle lies in.
pub(super) const fn coarse_bin(angle: i32) -> usize {
    ((angle as u32 as u64 * COARSE_BINS as u64) >> 32) as usize
}

/// The share of its degree that lies below an angle.
pub(super) const fn inside_degree(angle: i32) -> f32 {
    ((angle as u32 as u64 * COARSE_BINS as u64) as u32) as f32 / TURN as f32
}

/// The middle of a degree, units of 2⁻³² turn.
pub(super) const fn coarse_middle(bin: u32) -> u32 {
    (((bin as u64 * 2 + 1) << 31) / COARSE_BINS as u64) as u32
}

/// Whether an angle outside the window lies on the lower side of it.
pub(super) const fn is_below(start: u32, angle: i32) -> bool {
    ((angle as u32).wrapping_sub(start.wrapping_add(HALF_WINDOW)) as i32) < 0
}

/// Where in its bin the value of this rank (from one) among `count` lies, units of 2⁻³² turn.
pub(super) const fn offset_in_bin(rank: u32, count: u32) -> u32 {
    if count < 32 {
        return FINE_WIDTH / 2;
    }
    ((((2 * rank - 1) as u64) << FINE_SHIFT) / (2 * count as u64)) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::degrees_to_fraction;

    #[test]
    fn every_degree_has_its_bin_and_its_middle_lies_in_it() {
        for degree in 0..360u32 {
            let inside = degrees_to_fraction(f64::from(degree) + 0.3) as i32;
            assert_eq!(coarse_bin(inside), degree as usize);
            assert_eq!(coarse_bin(coarse_middle(degree) as i32), degree as usize);
            assert!((inside_degree(inside) - 0.3).abs() < 1e-5, "{degree}");
        }
    }

    #[test]
    fn a_full_bin_is_read_evenly_and_a_sparse_one_at_its_middle() {
        assert_eq!(offset_in_bin(1, 3), FINE_WIDTH / 2);
        assert_eq!(offset_in_bin(1, 64), FINE_WIDTH / 128);
        assert_eq!(offset_in_bin(64, 64), FINE_WIDTH - FINE_WIDTH / 128);
    }

    #[test]
    fn the_lower_side_of_a_window_is_the_half_turn_before_its_middle() {
        let start = 0u32.wrapping_sub(HALF_WINDOW);
        assert!(is_below(start, -(HALF_WINDOW as i32) - 1) && is_below(start, i32::MIN));
        assert!(!is_below(start, HALF_WINDOW as i32) && !is_below(start, i32::MAX));
    }
}
