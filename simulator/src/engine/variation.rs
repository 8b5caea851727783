//! Cycle-to-cycle variation: why no two cycles do the same work, and why they remember.
//!
//! *Residual*: the share of the charge left over from the cycle before, burned or not. *Efficiency*:
//! the share of the fuel that burns. A weak cycle leaves fuel and air behind, which make the next one
//! strong, and a poorly burned one leaves a colder, smaller residual. So the noise put into each
//! charge comes out with memory, not white: the form of C. S. Daw and others, SAE 962086 (abstract
//! read), with sizes assumed here.

use super::random::Dice;

/// How much the charges of an engine differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// Relative standard deviation of the fresh fuel of a cycle.
    pub fuel: f64,
    /// Relative standard deviation of the residual share.
    pub residual: f64,
    /// Relative standard deviation of the burn's duration.
    pub duration: f64,
    /// Fuel over air, 1 = chemically correct; leaner mixtures remember more.
    pub mixture: f64,
}

impl Default for Variation {
    fn default() -> Self {
        Self { fuel: 0.012, residual: 0.05, duration: 0.045, mixture: 1.0 }
    }
}

/// What one cycle's charge will do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charge {
    /// Fuel that burns, relative to one correct fresh charge of the whole volume.
    pub burning: f64,
    /// Duration of the burn relative to that at a residual share of 0.1.
    pub duration: f64,
}

/// The memory of one cylinder.
#[derive(Debug, Clone)]
pub struct Memory {
    fuel_left: f64,
    air_left: f64,
    last_efficiency: f64,
    dice: Dice,
}

/// Mixture at which half the fuel burns, and the width of the fall (assumed).
const LEAN_LIMIT: f64 = 0.62;
const LEAN_WIDTH: f64 = 0.045;

fn efficiency(mixture: f64) -> f64 {
    0.98 / (1.0 + (-(mixture - LEAN_LIMIT) / LEAN_WIDTH).exp())
}

impl Memory {
    /// A cylinder without a past.
    pub fn new(dice: Dice) -> Self {
        Self { fuel_left: 0.02, air_left: 0.0, last_efficiency: 0.98, dice }
    }

    /// The charge of the next cycle: `fresh_fuel` is the injector's or carburettor's share of what it
    /// should be (0: none), `residual` the mean share of burned gas.
    pub fn charge(&mut self, variation: &Variation, fresh_fuel: f64, residual: f64) -> Charge {
        // A cold, unburned residual is denser: after a poor cycle less of it is burned gas.
        let spread = 1.0 + variation.residual * self.dice.normal();
        let share = (residual * spread * (0.6 + 0.4 * self.last_efficiency / 0.98)).clamp(0.0, 0.6);
        let fresh = fresh_fuel * variation.mixture * (1.0 + variation.fuel * self.dice.normal()).max(0.0);
        let fuel = (1.0 - share) * fresh + share * self.fuel_left;
        let air = (1.0 - share) + share * self.air_left;
        let mixture = if air > 0.0 { fuel / air } else { 0.0 };
        let efficiency = efficiency(mixture);
        // Lean of correct the flame is slower; rich mixtures have no air for the rest of the fuel.
        let burning = fuel.min(air) * efficiency;
        self.fuel_left = fuel - burning;
        self.air_left = air - burning;
        self.last_efficiency = efficiency;
        let slow = 1.0 + 2.2 * (share - 0.1) + 1.5 * (1.0 - mixture).max(0.0);
        let duration = slow * (1.0 + variation.duration * self.dice.normal());
        Charge { burning, duration: duration.clamp(0.5, 2.5) }
    }

    /// No spark came for this charge: all of it is left for the next.
    pub fn unlit(&mut self, charge: &Charge) {
        self.fuel_left += charge.burning;
        self.air_left += charge.burning;
        self.last_efficiency = 0.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lag_one(mixture: f64) -> (f64, f64) {
        let mut memory = Memory::new(Dice::new(3, "cylinder"));
        let variation = Variation { mixture, ..Variation::default() };
        let works: Vec<f64> = (0..4000).map(|_| memory.charge(&variation, 1.0, 0.2).burning).collect();
        let mean = works.iter().sum::<f64>() / 4000.0;
        let square: f64 = works.iter().map(|work| (work - mean).powi(2)).sum();
        let product: f64 = works.windows(2).map(|pair| (pair[0] - mean) * (pair[1] - mean)).sum();
        ((square / 4000.0).sqrt() / mean, product / square)
    }

    /// Daw and others, SAE 962086 (abstract): near the lean limit weak and strong cycles alternate.
    #[test]
    fn near_the_lean_limit_weak_and_strong_cycles_alternate() {
        let (spread, correlation) = lag_one(0.68);
        assert!(spread > 0.05, "{spread}");
        assert!(correlation < -0.15, "{correlation}");
    }

    #[test]
    fn without_fuel_nothing_burns_and_an_unlit_charge_enriches_the_next() {
        let mut memory = Memory::new(Dice::new(3, "cylinder"));
        let variation = Variation { fuel: 0.0, residual: 0.0, duration: 0.0, mixture: 0.9 };
        for _ in 0..8 {
            memory.charge(&variation, 0.0, 0.15);
        }
        assert!(memory.charge(&variation, 0.0, 0.15).burning < 1e-3);
        for _ in 0..8 {
            memory.charge(&variation, 1.0, 0.15);
        }
        let lit = memory.charge(&variation, 1.0, 0.15);
        memory.unlit(&lit);
        assert!(memory.charge(&variation, 1.0, 0.15).burning > lit.burning);
    }
}
