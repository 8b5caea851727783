//! Weights and vacuum: the advance of a distributor without a computer.
//!
//! *Weights*: swing out against springs as the shaft turns faster; nothing below a start speed, then
//! in proportion, up to a stop. Friction in the pivots holds them back by some rpm either way.
//! *Vacuum*: a diaphragm pulls the plate against a spring, nothing up to a start, then in proportion.

/// The mechanism's springs and stops, all in crank degrees and crank rpm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mechanism {
    /// Weights begin to move, rpm.
    pub weights_start_rpm: f64,
    /// Degrees for each 1000 rpm above.
    pub weights_rate: f64,
    /// Most degrees of the weights.
    pub weights_stop: f64,
    /// Pivot friction: the weights follow only once the speed is off by this much, rpm.
    pub pivot_friction_rpm: f64,
    /// Degrees of the diaphragm at full pull.
    pub vacuum_stop: f64,
    /// Depression at which the diaphragm begins to move, kPa.
    pub vacuum_start_kpa: f64,
    /// Depression at full pull, kPa.
    pub vacuum_full_kpa: f64,
}

impl Default for Mechanism {
    fn default() -> Self {
        Self {
            weights_start_rpm: 1100.0,
            weights_rate: 12.0,
            weights_stop: 22.0,
            pivot_friction_rpm: 15.0,
            vacuum_stop: 12.0,
            vacuum_start_kpa: 15.0,
            vacuum_full_kpa: 45.0,
        }
    }
}

/// Where weights and diaphragm are.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Position {
    weights_rpm: f64,
    vacuum: f64,
}

impl Position {
    /// Lets weights and diaphragm follow; the advance they add, crank degrees. `depression` in kPa at
    /// the diaphragm, 0 with the hose off; `seconds` since the last call.
    pub fn follow(&mut self, mechanism: &Mechanism, rpm: f64, depression: f64, seconds: f64) -> f64 {
        let play = mechanism.pivot_friction_rpm;
        let pulled = self.weights_rpm.clamp(rpm - play, rpm + play);
        self.weights_rpm += (pulled - self.weights_rpm) * (seconds / 0.05).min(1.0);
        let span = mechanism.vacuum_full_kpa - mechanism.vacuum_start_kpa;
        let pull = ((depression - mechanism.vacuum_start_kpa) / span).clamp(0.0, 1.0);
        self.vacuum += (pull * mechanism.vacuum_stop - self.vacuum) * (seconds / 0.15).min(1.0);
        let above = (self.weights_rpm - mechanism.weights_start_rpm).max(0.0);
        (mechanism.weights_rate * above / 1000.0).min(mechanism.weights_stop) + self.vacuum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settled(rpm: f64, depression: f64) -> f64 {
        let mut position = Position::default();
        (0..100).fold(0.0, |_, _| position.follow(&Mechanism::default(), rpm, depression, 0.05))
    }

    #[test]
    fn weights_rest_at_idle_and_reach_their_stop() {
        assert_eq!(settled(750.0, 0.0), 0.0);
        assert!((settled(2115.0, 0.0) - 12.0).abs() < 1e-3, "1000 rpm above, less the pivots' friction");
        assert_eq!(settled(6000.0, 0.0), 22.0);
    }

    #[test]
    fn vacuum_adds_its_stop_at_idle_and_nothing_with_the_hose_off() {
        assert!((settled(750.0, 65.0) - 12.0).abs() < 1e-6);
        assert_eq!(settled(750.0, 0.0), 0.0);
    }

    #[test]
    fn rising_and_falling_speed_differ_by_the_friction_of_the_pivots() {
        let mut position = Position::default();
        let mut hold =
            |rpm: f64| (0..100).fold(0.0, |_, _| position.follow(&Mechanism::default(), rpm, 0.0, 0.05));
        hold(1000.0);
        let rising = hold(1600.0);
        hold(2500.0);
        let falling = hold(1600.0);
        assert!((falling - rising - 12.0 * 0.030).abs() < 1e-6);
    }
}
