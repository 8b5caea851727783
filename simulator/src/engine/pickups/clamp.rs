//! The clamp on a spark lead: one pulse a spark, a little late, often with ringing behind it.
//!
//! A clamp is a current transformer: its output follows the front of the current. Turned round it
//! gives the pulse the other way, below the comparator's threshold, and the start of coil charging,
//! which goes the other way too, is taken for the spark.

use super::super::random::Dice;

/// Settings of the clamp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clamp {
    /// The pulse comes so much after the spark, s: what the job declares.
    pub delay: f64,
    /// Standard deviation of that, s.
    pub delay_jitter: f64,
    /// Length of a pulse, s.
    pub pulse: f64,
    /// False pulses of ringing after each pulse, on average.
    pub ringing: f64,
    /// Period of the ringing, s.
    pub ringing_period: f64,
    /// Probability that the spark of another lead shows.
    pub crosstalk: f64,
    /// Probability that a spark does not show.
    pub missed: f64,
    /// Turned round: probability that the first opposite half-wave of the real spark shows too.
    pub half_wave: f64,
}

impl Default for Clamp {
    fn default() -> Self {
        Self {
            delay: 0.0,
            delay_jitter: 0.3e-6,
            pulse: 150e-6,
            ringing: 0.5,
            ringing_period: 45e-6,
            crosstalk: 0.0,
            missed: 0.0,
            half_wave: 0.2,
        }
    }
}

impl Clamp {
    /// The level changes that one front at time 0 makes, as (seconds, active).
    pub fn pulses(&self, dice: &mut Dice) -> Vec<(f64, bool)> {
        let start = (self.delay + self.delay_jitter * dice.normal()).max(0.0);
        let length = self.pulse * dice.between(0.8, 1.2);
        let mut changes = vec![(start, true), (start + length, false)];
        let mut at = start + length;
        let mut chance = self.ringing;
        while dice.chance(chance.min(0.95)) {
            at += self.ringing_period * dice.between(0.35, 0.65);
            changes.push((at, true));
            at += self.ringing_period * dice.between(0.2, 0.5);
            changes.push((at, false));
            chance *= 0.6;
        }
        changes
    }
}
