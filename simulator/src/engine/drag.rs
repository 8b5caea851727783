//! What the crank has to turn besides itself: friction, accessories, a driven machine, and the starter
//! that turns it.
//!
//! *Mean effective pressure*: work of a cycle over the swept volume. Mechanical friction is 0.6 of
//! Heywood's figure for a motored petrol engine, 0.97 + 0.15·N + 0.05·N² bar with N in 1000 rpm
//! (eq. 13.6, from memory), since that figure holds the pumping work too, which the gas does here.

use super::mechanism::Geometry;

/// Where the pulses of the crank's load lie: the switch "phase of the ripple".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RipplePhase {
    /// A load without pulses: the slowest point of the crank lies near firing top dead centre.
    #[default]
    Gas,
    /// A piston pump on the crank takes its work in pulses at the firing order, a quarter of a firing
    /// interval before the gas gives it: the slowest point moves away from top dead centre.
    DrivenPump,
}

/// The loads of an engine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drag {
    /// Factor on the friction of a usual engine.
    pub friction: f64,
    /// Torque of belts and accessories at any speed, N·m.
    pub accessories: f64,
    /// Torque of the starter at the crank at standstill, N·m.
    pub starter_stall: f64,
    /// Speed at which the starter gives nothing more, rpm.
    pub starter_free: f64,
    /// Pulses of a driven machine.
    pub ripple_phase: RipplePhase,
    /// Amplitude of those pulses, N·m.
    pub pump_pulse: f64,
}

impl Drag {
    /// Loads in proportion to the swept volume of the whole engine, m³ (sizes assumed).
    pub fn for_engine(geometry: &Geometry, cylinders: f64) -> Self {
        let litres = geometry.swept() * cylinders * 1000.0;
        Self {
            friction: 1.0,
            accessories: 2.5 * litres.sqrt(),
            // A single has to get over its one compression with little mass to help.
            starter_stall: 45.0 * litres + 420_000.0 * geometry.swept(),
            starter_free: 290.0,
            ripple_phase: RipplePhase::Gas,
            pump_pulse: 12.0 * litres,
        }
    }

    /// Torque against the turn, N·m, without the pump's pulses.
    pub fn torque(&self, rpm: f64, swept_all: f64, turns_per_cycle: f64) -> f64 {
        let thousands = rpm / 1000.0;
        let bar = 0.6 * (0.97 + 0.15 * thousands + 0.05 * thousands * thousands);
        let friction = self.friction * bar * 1e5 * swept_all / (std::f64::consts::TAU * turns_per_cycle);
        friction + self.accessories
    }

    /// Torque of the starter with the turn, N·m; its clutch lets a faster crank run free.
    pub fn starter_torque(&self, rpm: f64) -> f64 {
        (self.starter_stall * (1.0 - rpm / self.starter_free)).max(0.0)
    }

    /// Pulse of the driven pump against the turn at so many degrees after a firing, N·m.
    pub fn pump_torque(&self, since_firing: f64, firing_interval: f64) -> f64 {
        match self.ripple_phase {
            RipplePhase::Gas => 0.0,
            RipplePhase::DrivenPump => {
                let phase = since_firing / firing_interval * std::f64::consts::TAU;
                -self.pump_pulse * phase.cos()
            }
        }
    }
}
