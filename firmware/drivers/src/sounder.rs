//! Plays the core's tone: pulses and pauses by the millisecond, at a pitch and a loudness.
//!
//! *Voice*: what makes the sound, a PWM output on the board. Loudness 0 is silence, except for danger, which
//! is always loud.

use keyway_core::sounder::Tone;

/// The loudest of the settings.
pub const LOUDEST: u8 = 5;

/// What makes the sound.
pub trait Voice {
    /// Sounds at this pitch, or is silent at pitch 0. Loudness is 1 to [`LOUDEST`].
    fn sound(&mut self, pitch_hertz: u16, loudness: u8);
}

/// Pulses and pauses.
#[derive(Debug)]
pub struct Sounder<V> {
    voice: V,
    tone: Tone,
    loudness: u8,
    elapsed_ms: u16,
    sounding: bool,
}

impl<V: Voice> Sounder<V> {
    /// Silent.
    pub fn new(mut voice: V) -> Self {
        voice.sound(0, LOUDEST);
        Self { voice, tone: Tone::SILENT, loudness: 0, elapsed_ms: 0, sounding: false }
    }

    /// Plays this until told otherwise. A pulse that sounds is begun anew only where the tone changed.
    pub fn play(&mut self, tone: Tone, loudness: u8) {
        let loudness = if tone.always_loud { LOUDEST } else { loudness.min(LOUDEST) };
        if (tone, loudness) != (self.tone, self.loudness) {
            self.tone = tone;
            self.loudness = loudness;
            self.elapsed_ms = 0;
            self.set(true);
        }
    }

    /// A millisecond has passed.
    pub fn tick(&mut self) {
        if self.tone.pitch_hertz == 0 || self.tone.pause_ms == 0 {
            return;
        }
        self.elapsed_ms = self.elapsed_ms.saturating_add(1);
        let lasts = if self.sounding { self.tone.pulse_ms } else { self.tone.pause_ms };
        if self.elapsed_ms >= lasts {
            self.elapsed_ms = 0;
            self.set(!self.sounding);
        }
    }

    fn set(&mut self, sounding: bool) {
        self.sounding = sounding;
        let audible = sounding && self.loudness > 0;
        self.voice.sound(if audible { self.tone.pitch_hertz } else { 0 }, self.loudness.max(1));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyway_core::sounder::{Heard, tone};
    use std::vec::Vec;

    impl Voice for &mut Vec<(u16, u8)> {
        fn sound(&mut self, pitch_hertz: u16, loudness: u8) {
            self.push((pitch_hertz, loudness));
        }
    }

    fn heard(tone: Tone, loudness: u8, ms: u32) -> Vec<(u16, u8)> {
        let mut sounds = Vec::new();
        let mut sounder = Sounder::new(&mut sounds);
        sounder.play(tone, loudness);
        (0..ms).for_each(|_| sounder.tick());
        sounds.split_off(1)
    }

    #[test]
    fn pulses_and_pauses_last_as_the_core_says() {
        let sounds = heard(tone(Heard::GateLost), 3, 2000);
        assert_eq!(sounds, [(440, 3), (0, 3), (440, 3)]);
        let sounds = heard(tone(Heard::GateLost), 3, 299);
        assert_eq!(sounds, [(440, 3)]);
    }

    #[test]
    fn on_target_is_steady() {
        assert_eq!(heard(tone(Heard::OnTarget), 2, 5000), [(880, 2)]);
    }

    #[test]
    fn danger_sounds_even_where_the_sounder_is_off() {
        assert_eq!(heard(tone(Heard::Alarm), 0, 50), [(2200, LOUDEST)]);
        assert_eq!(heard(tone(Heard::OnTarget), 0, 50), [(0, 1)]);
    }
}
