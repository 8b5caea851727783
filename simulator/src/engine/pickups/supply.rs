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
    /// The same for a system of so many times 12 V.
    pub fn of_systems(mut self, systems: f64) -> Self {
        self.regulated *= systems;
        self.battery *= systems;
        self.ripple *= systems;
        self
    }

    /// Voltage where the alternator only just fails to give what is asked, V.
    pub fn floating(&self) -> f64 {
        1.032 * self.battery
    }

    /// Fall of the voltage for each further share of the idle current that is short, V.
    pub fn fall(&self) -> f64 {
        0.108 * self.battery
    }

    /// Most that the alternator can give at this speed, A.
    fn most(&self, rpm: f64) -> f64 {
        self.idle_amps * (rpm / 700.0).clamp(0.0, 4.0)
    }

    fn asked(&self, load: f64) -> f64 {
        self.base_amps + self.accessory_amps * load.clamp(0.0, 1.0)
    }

    /// What the alternator gives at this speed and load (0 to 1), A.
    pub fn given(&self, rpm: f64, load: f64) -> f64 {
        self.asked(load).min(self.most(rpm))
    }

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
        let asked = supply.asked(load);
        let short = (asked - supply.most(rpm)).max(0.0);
        let goal = if starter {
            0.82 * supply.battery
        } else if rpm < 60.0 {
            supply.battery * (1.0 - 0.036 * asked / supply.idle_amps)
        } else if short > 0.0 {
            supply.floating() - supply.fall() * short / supply.idle_amps
        } else {
            supply.regulated
        };
        self.volts += (goal - self.volts) * (seconds / 0.25).min(1.0);
        self.volts + supply.ripple * self.dice.between(-1.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settled(supply: &Supply, rpm: f64, load: f64) -> f64 {
        let mut volts = Volts::new(supply, Dice::new(1, "supply"));
        let samples: Vec<f64> = (0..400).map(|_| volts.advance(supply, rpm, load, false, 0.02)).collect();
        samples.iter().skip(200).sum::<f64>() / 200.0
    }

    /// Common practice, no published source: healthy 13.5 to 14.5 V, about 11.8 V overloaded at idle.
    #[test]
    fn a_healthy_system_holds_its_voltage_and_an_overloaded_one_falls_at_idle_only() {
        let supply = Supply::default();
        assert!((13.5..14.5).contains(&settled(&supply, 700.0, 0.3)));
        let overloaded = Supply { accessory_amps: 58.0, ..supply };
        let idle = settled(&overloaded, 700.0, 1.0);
        assert!((11.6..12.1).contains(&idle), "{idle}");
        assert!((13.5..14.5).contains(&settled(&overloaded, 2000.0, 1.0)));
    }
}
