//! The air that comes in: throttle, idle valve, manifold, and the governor that holds the idle.
//!
//! *Manifold*: a volume that the throttle fills and the cylinders empty (filling and emptying, mean
//! values). *Governor*: a proportional and integral controller on the slowly filtered speed that
//! opens and closes the idle valve. Flow through an opening follows the equation of a nozzle, choked
//! below 0.53 of the outside pressure: so at idle a faster engine draws its own manifold down, which
//! steadies it.

use super::gas::AMBIENT;

/// Gas constant of air times the temperature of the charge (310 K), J/kg.
pub const GAS_TIMES_TEMPERATURE: f64 = 287.0 * 310.0;
/// Share of the ideal filling that a usual engine reaches.
const FILLING: f64 = 0.85;

/// Below this speed the engine stands, rpm.
const STANDS_RPM: f64 = 50.0;
/// What the governor opens at most for a start, beyond the usual opening.
const FOR_A_START: f64 = 1.2;
/// A speed beyond the idle by this share of it, with the throttle shut, and for so many seconds, is racing.
const RACES: f64 = 0.3;
const RACES_SECONDS: f64 = 2.0;

/// Settings of the intake and the governor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Intake {
    /// Idle speed that the governor holds, rpm.
    pub target_rpm: f64,
    /// Valve opened for each unit of relative speed error.
    pub proportional: f64,
    /// The same a second.
    pub integral: f64,
    /// Manifold volume over swept volume of the engine.
    pub manifold_ratio: f64,
    /// Largest throttle area, m² for each m³ of swept volume.
    pub throttle_area: f64,
    /// A valve that sticks: it jumps between so much more and less than what is needed, a share of it,
    /// as the filtered speed passes the idle speed. The governor then hunts. 0: it does not stick.
    pub hunting: f64,
}

impl Default for Intake {
    fn default() -> Self {
        Self {
            target_rpm: 750.0,
            proportional: 0.35,
            integral: 0.2,
            manifold_ratio: 0.8,
            throttle_area: 0.5,
            hunting: 0.0,
        }
    }
}

/// State of the intake.
#[derive(Debug, Clone)]
pub struct Air {
    /// Manifold pressure, Pa.
    pub pressure: f64,
    filtered_rpm: f64,
    held: f64,
    /// Seconds that it has raced with the throttle shut.
    racing: f64,
}

/// Flow through a square metre of opening, kg/(m²·s), into a space at this pressure.
fn flow(pressure: f64) -> f64 {
    let ratio = (pressure / AMBIENT).min(1.0);
    // γ = 1.4: choked 0.6847, else √(7·(r^(10/7) − r^(12/7))).
    let factor = if ratio < 0.5283 {
        0.6847
    } else {
        (7.0 * (ratio.powf(10.0 / 7.0) - ratio.powf(12.0 / 7.0))).max(0.0).sqrt()
    };
    AMBIENT / GAS_TIMES_TEMPERATURE.sqrt() * factor
}

impl Air {
    /// An intake of an engine about to run at `rpm`.
    pub fn new(rpm: f64) -> Self {
        Self { pressure: 45_000.0, filtered_rpm: rpm, held: 0.0, racing: 0.0 }
    }

    /// Goes on by `seconds` at speed `rpm`: `throttle` 0 to 1, `swept` of the engine, m³.
    pub fn advance(
        &mut self,
        intake: &Intake,
        (throttle, swept, turns_per_cycle): (f64, f64, f64),
        rpm: f64,
        seconds: f64,
    ) {
        self.filtered_rpm += (rpm - self.filtered_rpm) * (seconds / 0.06).min(1.0);
        let error = (intake.target_rpm - self.filtered_rpm) / intake.target_rpm;
        // With the throttle open the integral waits; far from idle it goes slowly. While the engine stands it winds up to
        // what a start is helped by, and no further; racing with the throttle shut, it unwinds fast.
        let shut = throttle < 0.01;
        self.racing = if shut && error < -RACES { self.racing + seconds } else { 0.0 };
        let wound_up = self.filtered_rpm < STANDS_RPM && self.held > FOR_A_START;
        if shut && !wound_up {
            let slow = error.clamp(-0.15, 0.15);
            let pace = if self.racing > RACES_SECONDS { 5.0 } else { 1.0 };
            self.held = (self.held + pace * intake.integral * slow * seconds).clamp(-0.9, 19.0);
        }
        let valve = if intake.hunting > 0.0 {
            (1.0 + self.held) * (1.0 + intake.hunting * error.signum())
        } else {
            1.0 + self.held + intake.proportional * error
        };
        let valve = valve.clamp(0.1, 20.0);
        let idle_area = 0.0115 * swept * (intake.target_rpm / 750.0) * valve;
        let open = idle_area + intake.throttle_area * swept * throttle.clamp(0.0, 1.0).powf(1.6);
        let area = open.min(intake.throttle_area * swept);
        let inflow = area * flow(self.pressure);
        let drawn = swept * rpm / (60.0 * turns_per_cycle) * FILLING;
        let volume = intake.manifold_ratio * swept;
        // Emptying alone is exponential: exact for any step.
        let fill = inflow * GAS_TIMES_TEMPERATURE;
        if drawn > 0.0 {
            let settled = fill / drawn;
            self.pressure = settled + (self.pressure - settled) * (-drawn * seconds / volume).exp();
        } else {
            self.pressure += fill * seconds / volume;
        }
        self.pressure = self.pressure.clamp(12_000.0, AMBIENT);
    }

    /// What the governor has learned to hold open, the usual opening being 1.
    pub fn learned(&self) -> f64 {
        1.0 + self.held
    }

    /// Gives the governor what it would have learned.
    pub fn learn(&mut self, open: f64) {
        self.held = (open - 1.0).clamp(-0.9, 19.0);
    }

    /// Air drawn in by one cylinder of swept volume `swept` (m³) at this pressure, kg.
    pub fn charge(&self, swept: f64) -> f64 {
        FILLING * self.pressure * swept / GAS_TIMES_TEMPERATURE
    }

    /// Share of burned gas that stays in a cylinder: more at low manifold pressure (back flow).
    pub fn residual(&self, compression_ratio: f64) -> f64 {
        (0.45 * super::gas::EXHAUST / self.pressure / compression_ratio + 0.02).clamp(0.03, 0.35)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_closed_throttle_pulls_the_manifold_down_and_an_open_one_fills_it() {
        let settle = |throttle| {
            let mut air = Air::new(750.0);
            for _ in 0..4000 {
                air.advance(&Intake::default(), (throttle, 2e-3, 2.0), 750.0, 1e-3);
            }
            air.pressure
        };
        assert!((20_000.0..50_000.0).contains(&settle(0.0)), "{}", settle(0.0));
        assert!(settle(1.0) > 0.97 * AMBIENT);
    }

    #[test]
    fn the_governor_winds_up_no_further_than_a_start_needs_while_the_engine_stands() {
        let mut air = Air::new(0.0);
        for _ in 0..300_000 {
            air.advance(&Intake::default(), (0.0, 2e-3, 2.0), 0.0, 1e-3);
        }
        assert!((air.learned() - 1.0 - FOR_A_START).abs() < 0.01, "{}", air.learned());
        // Racing, it is back near the usual opening within seconds.
        for _ in 0..10_000 {
            air.advance(&Intake::default(), (0.0, 2e-3, 2.0), 1300.0, 1e-3);
        }
        assert!(air.learned() < 1.0 + 0.2, "{}", air.learned());
    }

    /// Isentropic nozzle: the two branches meet at the critical ratio (2/2.4)^3.5 = 0.5283.
    #[test]
    fn the_flow_is_continuous_where_it_chokes() {
        assert!((flow(0.52825 * AMBIENT) / flow(0.52835 * AMBIENT) - 1.0).abs() < 1e-4);
        assert_eq!(flow(AMBIENT), 0.0);
    }
}
