//! What the sounder plays, as data, so that handheld and desktop sound the same and the eyes can stay on
//! the distributor.
//!
//! *Pulse* and *pause*: the tone sounds and is silent in turn; a pause of 0 is a steady tone. While setting,
//! pulses quicken towards the target, higher when early, lower when late, steady on target. Silence never
//! means good: no reading has a slow low knock of its own, a lost gate a slow two-second call, danger a
//! shrill rattle.

/// What there is to hear.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Heard {
    /// The step has nothing to say by sound.
    Nothing,
    /// A step that needs a reading has none.
    NoReading,
    /// A gate that was open has closed, or the guide has stopped for something.
    GateLost,
    /// Danger.
    Alarm,
    /// Off target by so many degrees beyond the tolerance; positive = early.
    Off(f32),
    /// On target.
    OnTarget,
}

/// What to play until told otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Tone {
    /// Pitch, Hz; 0 is silence.
    pub pitch_hertz: u16,
    /// It sounds for so long, ms.
    pub pulse_ms: u16,
    /// It is silent for so long, ms; 0 for a steady tone.
    pub pause_ms: u16,
    /// Loudness can't be turned down: danger.
    pub always_loud: bool,
}

impl Tone {
    /// Nothing.
    pub const SILENT: Self = Self { pitch_hertz: 0, pulse_ms: 0, pause_ms: 0, always_loud: false };
}

/// Pitch on target, Hz.
pub const ON_TARGET_HERTZ: u16 = 880;
/// Pitch when early, Hz.
pub const EARLY_HERTZ: u16 = 1320;
/// Pitch when late, Hz.
pub const LATE_HERTZ: u16 = 587;
/// The longest period of the pulses, ms, at 10 degrees or more beyond the tolerance.
const LONGEST_PERIOD_MS: f32 = 1000.0;
/// The shortest, just outside the tolerance.
const SHORTEST_PERIOD_MS: f32 = 120.0;
const PULSE_MS: u16 = 50;

/// The tone for what there is to hear.
pub fn tone(heard: Heard) -> Tone {
    let of =
        |pitch_hertz, pulse_ms, pause_ms, always_loud| Tone { pitch_hertz, pulse_ms, pause_ms, always_loud };
    match heard {
        Heard::Nothing => Tone::SILENT,
        Heard::NoReading => of(220, 40, 1160, false),
        Heard::GateLost => of(440, 300, 1700, false),
        Heard::Alarm => of(2200, 90, 60, true),
        Heard::OnTarget => of(ON_TARGET_HERTZ, 1000, 0, false),
        Heard::Off(beyond) => {
            let far = (beyond.abs() / 10.0).clamp(0.0, 1.0);
            let period = SHORTEST_PERIOD_MS + (LONGEST_PERIOD_MS - SHORTEST_PERIOD_MS) * far;
            // Steps of 20 ms: a wander that nobody hears shall not restart the tone.
            let period = (period / 20.0) as u16 * 20;
            let pitch = if beyond > 0.0 { EARLY_HERTZ } else { LATE_HERTZ };
            of(pitch, PULSE_MS, period.saturating_sub(PULSE_MS), false)
        }
    }
}

/// What is heard of an error in degrees (positive = early) at a tolerance.
pub fn of_error(error: f32, tolerance: f32) -> Heard {
    if error.abs() <= tolerance {
        Heard::OnTarget
    } else if error > 0.0 {
        Heard::Off(error - tolerance)
    } else {
        Heard::Off(error + tolerance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pulses_quicken_towards_the_target() {
        let mut last = u16::MAX;
        for tenths in (11..=110).rev() {
            let tone = tone(of_error(-(tenths as f32) / 10.0, 1.0));
            assert!(tone.pause_ms <= last && tone.pause_ms > 0, "{tenths}");
            last = tone.pause_ms;
        }
        assert_eq!(tone(of_error(0.9, 1.0)).pause_ms, 0);
    }

    #[test]
    fn early_is_higher_and_late_is_lower_than_on_target() {
        let pitch = |error| tone(of_error(error, 1.0)).pitch_hertz;
        assert!(pitch(5.0) > pitch(0.0) && pitch(0.0) > pitch(-5.0));
    }

    #[test]
    fn no_reading_a_lost_gate_and_danger_sound_unlike_each_other_and_unlike_silence() {
        let tones =
            [Heard::NoReading, Heard::GateLost, Heard::Alarm, Heard::OnTarget, Heard::Nothing].map(tone);
        for (place, one) in tones.iter().enumerate() {
            assert!(!tones.iter().skip(place + 1).any(|other| other == one));
        }
        assert!(tone(Heard::Alarm).always_loud);
    }
}
