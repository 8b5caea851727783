//! Electrical noise: false pulses that the spark throws into the leads, and others at random.

use super::super::random::Dice;

/// Settings of the noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Random false pulses a second on the crank's line.
    pub crank_rate: f64,
    /// Random false pulses a second on the spark's line.
    pub spark_rate: f64,
    /// Probability that a spark of any cylinder throws a false pulse into the crank's line.
    pub coupling: f64,
    /// Probability that a pulse of the wheel is lost.
    pub lost_teeth: f64,
    /// Median length of a false pulse, s.
    pub length: f64,
}

impl Default for Noise {
    fn default() -> Self {
        Self { crank_rate: 0.0, spark_rate: 0.0, coupling: 0.0, lost_teeth: 0.0, length: 8e-6 }
    }
}

impl Noise {
    /// When a false pulse that a spark throws begins, s after the spark, and how long it lasts.
    pub fn coupled(&self, dice: &mut Dice) -> (f64, f64) {
        (dice.between(0.0, 40e-6), self.pulse(dice))
    }

    /// Length of a false pulse, s: most are near the median, a few much longer.
    pub fn pulse(&self, dice: &mut Dice) -> f64 {
        (self.length * (0.7 * dice.normal()).exp()).clamp(1e-6, 8.0 * self.length)
    }
}
