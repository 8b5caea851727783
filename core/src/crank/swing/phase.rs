//! The waves of every order at one place of the crank, in whole numbers.
//!
//! *Place*: within two turns, as a fraction of them in 32 bits: it wraps where two turns do, and a wave of so many
//! swings in two turns is at so many times the place, wrapped. A sine comes from a table, straight from entry to entry:
//! some thirty cycles instead of three thousand. Error below 10⁻⁴ for orders up to 15.

use crate::statistics::functions::{cosine, sine};
use keyway_curve::PITCH;

/// Sine and cosine of a pointer.
pub(in super::super) type Pointer = (f32, f32);

/// One, of a sine in whole numbers.
pub(super) const ONE: i32 = 1 << ONE_BITS;
pub(super) const ONE_BITS: u32 = 15;
/// One over that.
pub(super) const PER_ONE: f32 = 1.0 / ONE as f32;

/// Entries of a quarter of a turn.
const ENTRIES: usize = 128;
const ENTRY_BITS: u32 = 23;
/// Bits of the way from an entry to the next.
const WAY_BITS: u32 = 12;

static QUARTER: [u16; ENTRIES + 2] = quarter();

/// The sines from 0 to a quarter of a turn, and one entry more.
const fn quarter() -> [u16; ENTRIES + 2] {
    let mut table = [0; ENTRIES + 2];
    let mut entry = 0;
    while entry < ENTRIES + 2 {
        let x = core::f64::consts::FRAC_PI_2 * entry as f64 / ENTRIES as f64;
        // The series to the thirteenth power: exact to 10⁻⁹ up to a quarter of a turn.
        let square = x * x;
        let mut sum = 1.0;
        let mut power = 13.0;
        while power > 1.0 {
            sum = 1.0 - sum * square / (power * (power - 1.0));
            power -= 2.0;
        }
        table[entry] = (x * sum * ONE as f64 + 0.5) as u16;
        entry += 1;
    }
    table
}

/// Sine of an angle in units of 2⁻³² turn.
fn sine_of(angle: u32) -> i32 {
    let (quarter, within) = (angle >> 30, angle & ((1 << 30) - 1));
    let along = if quarter & 1 == 0 { within } else { (1 << 30) - within };
    let entry = (along >> ENTRY_BITS) as usize;
    let at = |entry: usize| QUARTER.get(entry).map_or(ONE, |sine| i32::from(*sine));
    let way = (along >> (ENTRY_BITS - WAY_BITS)) as i32 & ((1 << WAY_BITS) - 1);
    let value = at(entry) + (((at(entry + 1) - at(entry)) * way + (1 << (WAY_BITS - 1))) >> WAY_BITS);
    if quarter & 2 == 0 { value } else { -value }
}

/// A place of the crank within two turns.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place(u32);

impl Place {
    /// So many turns from slot 0 of an even turn, not below -4.
    pub(super) fn at(turns: f32) -> Self {
        let cycles = (turns + 4.0) * 0.5;
        Self(((cycles - (cycles as i32) as f32) * 4_294_967_296.0) as u32)
    }

    /// At a slot of a turn, where a pitch is so much of two turns.
    pub(super) fn of_slot(turn: u32, slot: u8, pitch: u32) -> Self {
        Self((turn << 31).wrapping_add(u32::from(slot).wrapping_mul(pitch)))
    }

    /// So many half slots of a wheel on from slot 0 of an even turn.
    pub(super) fn of_half_slots(halves: u16, slots: u8) -> Self {
        Self(u32::from(halves).wrapping_mul((1 << 30) / u32::from(slots.max(1))))
    }

    /// So many parts of a pitch on, where a pitch is so much of two turns.
    pub(super) fn turned(self, parts: i32, pitch: u32) -> Self {
        Self(self.0.wrapping_add(((i64::from(parts) * i64::from(pitch)) >> PITCH.trailing_zeros()) as u32))
    }

    /// Sine and cosine of the wave that swings so many times in two turns; one is [`ONE`].
    pub(super) fn wave(self, halves: u8) -> (i32, i32) {
        let angle = self.0.wrapping_mul(u32::from(halves));
        (sine_of(angle), sine_of(angle.wrapping_add(1 << 30)))
    }
}

/// Sine and cosine of a wave, so many turns from slot 0 of an even turn, not below -4, in single precision.
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
            let place = Place::at(turns);
            for halves in 0..=30u8 {
                let angle = core::f64::consts::PI * f64::from(halves) * f64::from(turns);
                let (sine, cosine) = place.wave(halves);
                let (sine, cosine) = (f64::from(sine) / f64::from(ONE), f64::from(cosine) / f64::from(ONE));
                assert!((sine - angle.sin()).abs() < 1e-4, "{halves} at {turns}");
                assert!((cosine - angle.cos()).abs() < 1e-4, "{halves} at {turns}");
            }
        }
    }
}
