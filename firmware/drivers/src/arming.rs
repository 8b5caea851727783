//! The arming threshold of the crank input, following the signal's amplitude.
//!
//! A variable-reluctance pickup gives tenths of a volt while cranking and tens of volts at speed. The input stage
//! switches at the zero crossing, but only after the signal has risen past the arming threshold; so the
//! threshold must lie above the noise, which grows with the signal, and below the weakest tooth. *Peak*: what the
//! stage's peak hold gives to the converter. *Share*: of the threshold output's range, thousandths.
//!
//! It follows a growing signal at once and a falling one slowly, so that a single weak tooth, or the gap, does not
//! bring it down. A third of the amplitude is common practice, no source.

/// Share of the range that is never fallen below: the noise of a pickup at rest, common practice, no source.
pub const LEAST: u16 = 50;
/// Share of the range that is never gone beyond: a full-scale peak must still arm.
pub const MOST: u16 = 400;
/// Readings of the converter at full scale.
const FULL_SCALE: u32 = 4096;
/// Each reading takes off so much of the difference when the signal falls: an eighth.
const FALL: u16 = 8;

/// Follows the amplitude.
#[derive(Debug)]
pub struct Arming {
    share: u16,
}

impl Default for Arming {
    fn default() -> Self {
        Self::new()
    }
}

impl Arming {
    /// As for a pickup at rest.
    pub const fn new() -> Self {
        Self { share: LEAST }
    }

    /// A reading of the peak, 0 to 4095; gives the threshold from now on.
    pub fn on_peak(&mut self, peak: u16) -> u16 {
        let third = u32::from(peak).min(FULL_SCALE - 1) * 1000 / FULL_SCALE / 3;
        let wanted = (third as u16).clamp(LEAST, MOST);
        self.share = if wanted >= self.share {
            wanted
        } else {
            // At least one step, so that it gets there.
            self.share - ((self.share - wanted) / FALL).max(1)
        };
        self.share
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_growing_signal_raises_the_threshold_at_once_to_a_third() {
        let mut arming = Arming::new();
        assert_eq!(arming.on_peak(0), LEAST);
        assert_eq!(arming.on_peak(2048), 166);
        assert_eq!(arming.on_peak(4095), 333);
    }

    #[test]
    fn a_single_weak_reading_brings_it_down_by_an_eighth_and_silence_to_its_least() {
        let mut arming = Arming::new();
        arming.on_peak(4095);
        assert!(arming.on_peak(0) >= 333 - 333 / 8);
        let after: std::vec::Vec<u16> = (0..60).map(|_| arming.on_peak(0)).collect();
        assert!(after.is_sorted_by(|one, next| one >= next));
        assert_eq!(after.last(), Some(&LEAST));
    }
}
