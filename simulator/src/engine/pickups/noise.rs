//! Electrical noise: false pulses that the spark throws into the leads, and others at random.

use super::super::random::Dice;

/// Settings of the noise.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Noise {
    /// Random false pulses a second on the crank's line.
    pub crank_rate: f64,
    /// Random false pulses a second on the spark's line.
    pub spark_rate: f64,
    /// Probability that a spark of any cylinder throws a false pulse into the crank's line.
    pub coupling: f64,
    /// Probability that a pulse of the wheel is lost.
    pub lost_teeth: f64,
}

impl Noise {
    /// When a false pulse that a spark throws begins, s after the spark, and how long it lasts.
    pub fn coupled(dice: &mut Dice) -> (f64, f64) {
        (dice.between(0.0, 40e-6), Self::length(dice))
    }

    /// Length of a false pulse, s: most are short.
    pub fn length(dice: &mut Dice) -> f64 {
        (8e-6 * (0.7 * dice.normal()).exp()).clamp(1e-6, 60e-6)
    }
}
