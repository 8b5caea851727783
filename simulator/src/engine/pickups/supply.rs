//! The supply: what an alternator, a battery and the loads make of the system voltage.
//!
//! The regulator holds its voltage as long as the alternator can give what is asked; beyond that the
//! battery makes up the rest and the voltage falls. At idle an alternator gives little, so added
//! equipment shows first there. Healthy is about 13.5 to 14.5 V, overloaded at idle about 11.8 V, far
//! too low (common practice, no source).

use super::super::random::Dice;

/// Settings of the supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply {
    /// Held by the regulator, V.
    pub regulated: f64,
    /// Alternator at 700 rpm, A; it grows in proportion to speed up to four times as much.
    pub idle_amps: f64,
    /// Always asked for, A.
    pub base_amps: f64,
    /// Asked for with all accessories on, A.
    pub accessory_amps: f64,
    /// Battery alone, V.
    pub battery: f64,
    /// Amplitude of the ripple, V.
    pub ripple: f64,
}

impl Default for Supply {
    fn default() -> Self {
        Self {
            regulated: 14.1,
            idle_amps: 45.0,
            base_amps: 22.0,
            accessory_amps: 40.0,
            battery: 12.5,
            ripple: 0.06,
        }
    }
}

impl Supply {
    /// The same with an alternator and loads so many times as large.
    pub fn scaled(mut self, size: f64) -> Self {
        self.idle_amps *= size;
        self.base_amps *= size;
        self.accessory_amps *= size;
        self
    }
}

/// State of the supply.
#[derive(Debug, Clone)]
pub struct Volts {
    volts: f64,
    dice: Dice,
}

impl Volts {
    /// Settled at the regulator's voltage.
    pub fn new(supply: &Supply, dice: Dice) -> Self {
        Self { volts: supply.regulated, dice }
    }

    /// Goes on by `seconds`; the voltage at the clips.
    pub fn advance(&mut self, supply: &Supply, rpm: f64, load: f64, starter: bool, seconds: f64) -> f64 {
        let given = supply.idle_amps * (rpm / 700.0).clamp(0.0, 4.0);
        let asked = supply.base_amps + supply.accessory_amps * load.clamp(0.0, 1.0);
        let short = (asked - given).max(0.0);
        let goal = if starter {
            supply.battery - 2.3
        } else if rpm < 60.0 {
            supply.battery - 0.45 * asked / supply.idle_amps
        } else if short > 0.0 {
            (supply.battery + 0.4 - 1.35 * short / supply.idle_amps).min(supply.regulated)
        } else {
            supply.regulated
        };
        self.volts += (goal - self.volts) * (seconds / 0.25).min(1.0);
        self.volts + supply.ripple * self.dice.between(-1.0, 1.0)
    }
}
