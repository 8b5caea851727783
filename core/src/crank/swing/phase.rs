//! The waves of every order at one place of the crank, from a single sine and cosine.
//!
//! Waves are powers of a turning pointer: the one that turns once in two turns, squared again and again, and
//! the squares multiplied as the order's bits say. A product is a fifth of a sine's work. Error below
//! 10⁻⁴ for orders up to 15.

use crate::statistics::functions::{cosine, sine};

/// Sine and cosine of a pointer.
pub(in super::super) type Pointer = (f32, f32);

/// A place of the crank.
#[derive(Debug, Clone, Copy)]
pub(super) struct Phase([Pointer; 5]);

impl Phase {
    /// So many turns from slot 0 of an even turn, not below -4.
    pub(super) fn at(turns: f32) -> Self {
        let one = wave_at(1, turns);
        let two = times(one, one);
        let four = times(two, two);
        let eight = times(four, four);
        Self([one, two, four, eight, times(eight, eight)])
    }

    /// Sine and cosine of the wave of an order below 16, in halves.
    pub(super) fn wave(&self, halves: u8) -> Pointer {
        let mut pointer = (0.0, 1.0);
        let mut bits = halves;
        for power in &self.0 {
            if bits & 1 == 1 {
                pointer = times(pointer, *power);
            }
            bits >>= 1;
        }
        pointer
    }
}

/// One pointer turned by another.
pub(super) fn times(a: Pointer, b: Pointer) -> Pointer {
    (a.0 * b.1 + a.1 * b.0, a.1 * b.1 - a.0 * b.0)
}

/// Sine and cosine of a wave, so many turns from slot 0 of an even turn, not below -4.
pub(in super::super) fn wave_at(halves: u8, turns: f32) -> Pointer {
    let waves = f32::from(halves) * 0.5 * (turns + 4.0);
    let angle = ((waves - (waves as i32) as f32) * 4_294_967_296.0) as u32 as i32;
    (sine(angle), cosine(angle))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_waves_of_all_orders_are_the_sines_to_a_ten_thousandth() {
        for step in 0..400 {
            let turns = -1.0 + step as f32 * 0.009_7;
            let phase = Phase::at(turns);
            for halves in 0..=30u8 {
                let angle = core::f64::consts::PI * f64::from(halves) * f64::from(turns);
                let (sine, cosine) = phase.wave(halves);
                assert!((f64::from(sine) - angle.sin()).abs() < 1e-4, "{halves} at {turns}");
                assert!((f64::from(cosine) - angle.cos()).abs() < 1e-4, "{halves} at {turns}");
            }
        }
    }
}
