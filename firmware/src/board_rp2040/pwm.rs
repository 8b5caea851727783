//! What the PWM drives: sounder, lamp, the display's alternation and the arming threshold.
//!
//! All run without the processor: the display keeps its alternation even while the program hangs.

use crate::pins;
use keyway_drivers::sounder::{LOUDEST, Voice};
use rp2040_hal::pac;

/// Slice of a pin and whether it is the slice's B output; RP2040 datasheet section 4.5.2.
const fn slice(pin: u8) -> (usize, bool) {
    ((pin as usize >> 1) & 7, pin & 1 == 1)
}

/// Clock of the sounder: 48 MHz / 16, Hz.
const SOUNDER_HERTZ: u32 = 3_000_000;
/// Steps of lamp and arming threshold.
pub(crate) const STEPS: u16 = 1000;

/// Sets a slice: divider of the 48 MHz clock, steps of a period, steps that the pin is high.
fn set(pin: u8, divider: u8, steps: u16, high: u16) {
    let (slice, is_b) = slice(pin);
    // SAFETY: every value is valid; only this module writes to the slices after start.
    unsafe {
        let registers = (*pac::PWM::ptr()).ch(slice);
        registers.div().write(|w| w.int().bits(divider).frac().bits(0));
        registers.top().write(|w| w.top().bits(steps.saturating_sub(1)));
        registers.cc().modify(|_, w| if is_b { w.b().bits(high) } else { w.a().bits(high) });
        registers.csr().write(|w| w.en().set_bit());
    }
}

/// Silent, dark, the alternation at 30 Hz: this kind of display takes 1 to 60 Hz (data sheet, from memory).
pub(crate) fn start(_pwm: pac::PWM) {
    set(pins::DISPLAY_COMMON, 250, 6400, 3200);
    set(pins::LAMP, 4, STEPS, 0);
    set(pins::ARMING, 1, STEPS, STEPS / 20);
    quiet();
}

/// Silences the sounder and darkens the lamp: what a panic leaves behind.
pub(crate) fn quiet() {
    set(pins::SOUNDER, 16, 1000, 0);
    lamp(0);
}

/// Light behind the screen, 0 to 5: each step four times the one before, as the eye sees it.
pub(crate) fn lamp(level: u8) {
    let high = match level {
        0 => 0,
        1 => 4,
        2 => 16,
        3 => 63,
        4 => 250,
        _ => STEPS,
    };
    set(pins::LAMP, 4, STEPS, high);
}

/// Arming threshold of the crank input, thousandths of the output's range.
pub(crate) fn arming(share: u16) {
    set(pins::ARMING, 1, STEPS, share.min(STEPS));
}

/// The sounder.
pub(crate) struct Buzzer;

impl Voice for Buzzer {
    fn sound(&mut self, pitch_hertz: u16, loudness: u8) {
        if pitch_hertz == 0 {
            set(pins::SOUNDER, 16, 1000, 0);
            return;
        }
        let steps = (SOUNDER_HERTZ / u32::from(pitch_hertz)).min(65_535) as u16;
        // Half the period is loudest; each step below halves the pulse.
        set(pins::SOUNDER, 16, steps, steps >> (1 + LOUDEST - loudness.min(LOUDEST)));
    }
}
