//! What the governor has learned on earlier days: how far to open for the engine's idle.
//!
//! *Brake*: holds the speed whatever the torque, and sums the work that it takes. The opening sought is
//! the one at which the brake takes nothing.

use super::Engine;
use super::sink::Nowhere;

/// Rounds of the search; each takes most of the rest away.
const ROUNDS: usize = 14;
/// Working cycles over which one round averages.
const CYCLES: f64 = 6.0;

impl Engine {
    /// The opening at which the engine gives at its idle speed just what it needs.
    pub(super) fn find_idle_opening(mut self) -> f64 {
        let target = self.setup.intake.target_rpm;
        self.setup.intake.hunting = 0.0;
        self.controls.starter = false;
        self.controls.throttle = 0.0;
        (self.controls.fuel, self.controls.ignition) = (true, true);
        self.speed = target * std::f64::consts::PI / 30.0;
        for _ in 0..ROUNDS {
            // Time for the manifold to settle, then whole cycles to average over.
            self.braked = Some(0.0);
            self.run_until(self.time + 300.0 / target, &mut Nowhere);
            self.braked = Some(0.0);
            let end = self.turned + (CYCLES * self.setup.layout.cycle()) as u64;
            let mut needed = 0.0;
            while self.turned < end {
                needed += self.load.to_radians();
                self.step(&mut Nowhere);
            }
            let spare = self.braked.unwrap_or(0.0);
            // Work grows about with the air; half of the way at a time, and never far.
            let step = (1.0 - 0.7 * spare / (needed + spare.max(0.0)).max(1.0)).clamp(0.6, 1.6);
            let open = self.air.learned() * step;
            self.air.learn(open);
        }
        self.air.learned()
    }
}
