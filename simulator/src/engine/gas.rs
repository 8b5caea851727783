//! The gas in one cylinder: compression, burn, expansion, exhaust and intake, and the torque it makes.
//!
//! *Charge state*: p·Vⁿ, which stays put while the cylinder is closed and nothing burns; heat adds
//! (n − 1)·V^(n−1) times the heat to it (first law for a perfect gas, dQ = γ/(γ−1) p dV + 1/(γ−1) V dp).
//! *Local angle*: crank degrees after the cylinder's own firing top dead centre.
//!
//! All powers of the volume are tabulated on the engine's grid of whole degrees, so that a step costs
//! two look-ups a cylinder, and a closed cylinder without a burn does no net work to rounding.

use super::burn::Burn;
use super::mechanism::Geometry;

/// Exponent of compression and expansion (motored, from memory: n ≈ 1.3).
pub const EXPONENT: f64 = 1.3;
/// Pressure in the crankcase and of the air around, Pa.
pub const AMBIENT: f64 = 100_000.0;
/// Pressure in the exhaust, Pa.
pub const EXHAUST: f64 = 104_000.0;
/// Degrees in which the pressure falls to 1/e of its excess once the exhaust is open.
const BLOW_DOWN: f64 = 18.0;

/// When the ports of a cylinder open and close, local degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PortTiming {
    /// The cylinder is closed from here on (negative).
    pub close: f64,
    /// The exhaust opens.
    pub exhaust_open: f64,
    /// Fresh charge comes in from here on, at manifold pressure.
    pub intake_open: f64,
}

impl PortTiming {
    /// A usual timing for a four- or a two-stroke (sizes assumed).
    pub fn of(strokes: u8) -> Self {
        if strokes == 2 {
            Self { close: -110.0, exhaust_open: 105.0, intake_open: 122.0 }
        } else {
            Self { close: -140.0, exhaust_open: 140.0, intake_open: 355.0 }
        }
    }
}

/// What the step needs of the volume, on whole degrees of the engine's cycle.
#[derive(Debug, Clone)]
pub struct GasTables {
    /// dV/dθ·V⁻ⁿ: torque for each unit of charge state.
    closed: Vec<f64>,
    /// dV/dθ, m³/rad: torque for each pascal.
    open: Vec<f64>,
    /// (n − 1)·V^(n−1): charge state for each joule.
    heat: Vec<f64>,
    /// Vⁿ.
    power: Vec<f64>,
    /// Grid index at which the cylinder closes, opens its exhaust, opens its intake.
    close: usize,
    exhaust_open: usize,
    intake_open: usize,
}

impl GasTables {
    /// Tables for a cylinder that fires at `fires_at` degrees of a cycle of so many degrees.
    pub fn new(geometry: &Geometry, ports: PortTiming, fires_at: f64, cycle: usize) -> Self {
        let local = |index: usize| index as f64 - fires_at;
        let lever = |index| geometry.area() * geometry.lever(local(index));
        let volume = |index| geometry.volume(local(index));
        let index = |degrees: f64| (fires_at + degrees).rem_euclid(cycle as f64).ceil() as usize % cycle;
        Self {
            closed: (0..cycle).map(|i| lever(i) * volume(i).powf(-EXPONENT)).collect(),
            open: (0..cycle).map(lever).collect(),
            heat: (0..cycle).map(|i| (EXPONENT - 1.0) * volume(i).powf(EXPONENT - 1.0)).collect(),
            power: (0..cycle).map(|i| volume(i).powf(EXPONENT)).collect(),
            close: index(ports.close),
            exhaust_open: index(ports.exhaust_open),
            intake_open: index(ports.intake_open),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Phase {
    Closed { state: f64 },
    Exhaust { pressure: f64 },
    Intake,
}

/// What a cylinder did at the end of a step that the engine has to know of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turning {
    /// Nothing.
    None,
    /// It closed with a fresh charge.
    Closed,
    /// It opened its exhaust: the work of the cycle is done.
    Opened,
}

/// The gas of one cylinder.
#[derive(Debug, Clone)]
pub struct Cylinder {
    tables: GasTables,
    phase: Phase,
    burn: Option<Burn>,
    torque: f64,
    /// Work on the piston since the intake opened, J.
    pub work: f64,
    /// Work of the last whole cycle, J.
    pub last_work: f64,
}

impl Cylinder {
    /// A cylinder that breathes at manifold pressure until it first closes.
    pub fn new(tables: GasTables) -> Self {
        Self { tables, phase: Phase::Intake, burn: None, torque: 0.0, work: 0.0, last_work: 0.0 }
    }

    /// Sets the charge alight.
    pub fn light(&mut self, burn: Burn) {
        self.burn = Some(burn);
    }

    /// Pressure now, Pa, at this grid index.
    pub fn pressure(&self, index: usize, manifold: f64) -> f64 {
        match self.phase {
            Phase::Closed { state } => state / self.tables.power.get(index).copied().unwrap_or(1.0),
            Phase::Exhaust { pressure } => pressure,
            Phase::Intake => manifold,
        }
    }

    /// Goes on by a degree to grid index `index`, running angle `angle`; the mean torque of the step,
    /// N·m, and what happened at its end.
    #[inline]
    pub fn advance(&mut self, index: usize, angle: f64, manifold: f64) -> (f64, Turning) {
        let tables = &self.tables;
        let open = tables.open[index];
        let mut turning = Turning::None;
        let absolute = match &mut self.phase {
            Phase::Closed { state } => {
                if let Some(burn) = &mut self.burn
                    && angle > burn.start
                {
                    *state += burn.release_until(angle) * tables.heat[index];
                    if burn.over(angle) {
                        self.burn = None;
                    }
                }
                let torque = *state * tables.closed[index];
                if index == tables.exhaust_open {
                    turning = Turning::Opened;
                    self.phase = Phase::Exhaust { pressure: *state / tables.power[index] };
                }
                torque
            }
            Phase::Exhaust { pressure } => {
                *pressure += (EXHAUST - *pressure) / BLOW_DOWN;
                let torque = *pressure * open;
                if index == tables.intake_open {
                    self.phase = Phase::Intake;
                }
                torque
            }
            Phase::Intake => {
                if index == tables.close {
                    turning = Turning::Closed;
                    self.burn = None;
                    self.phase = Phase::Closed { state: manifold * tables.power[index] };
                }
                manifold * open
            }
        };
        let torque = absolute - AMBIENT * open;
        let mean = 0.5 * (torque + self.torque);
        self.torque = torque;
        self.work += mean * std::f64::consts::PI / 180.0;
        if turning == Turning::Opened {
            self.last_work = self.work;
            self.work = 0.0;
        }
        (mean, turning)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published dimensions (CHECKS 7.1); pressures and torques computed for n = 1.3, 1 bar at the bottom.
    const SINGLE: Geometry =
        Geometry { bore_mm: 67.7, stroke_mm: 55.0, rod_mm: 84.2, compression_ratio: 8.5 };
    const CLOSED_FROM_BOTTOM: PortTiming =
        PortTiming { close: -180.0, exhaust_open: 180.0, intake_open: 355.0 };

    fn motored() -> Vec<(f64, f64, f64)> {
        let mut cylinder = Cylinder::new(GasTables::new(&SINGLE, CLOSED_FROM_BOTTOM, 0.0, 720));
        let mut rows = Vec::new();
        for degree in -181..180_i32 {
            let index = degree.rem_euclid(720) as usize;
            cylinder.advance(index, f64::from(degree), AMBIENT);
            rows.push((f64::from(degree), cylinder.pressure(index, AMBIENT), cylinder.torque));
        }
        rows
    }

    #[test]
    fn motored_pressure_and_torque_agree_with_the_table() {
        let rows = motored();
        for (degree, bar, torque) in [
            (-90.0, 1.812445, -8.0425519),
            (-30.0, 8.3807706, -47.005356),
            (-10.0, 14.695237, -31.126029),
            (0.0, 16.152681, 0.0),
            (20.0, 11.507528, 46.562748),
        ] {
            let row = rows.iter().find(|row| row.0 == degree).copied().unwrap_or_default();
            assert!((row.1 / 1e5 - bar).abs() < 1e-5 * bar, "{degree}: {} bar", row.1 / 1e5);
            assert!((row.2 - torque).abs() < 1e-5, "{degree}: {} N·m", row.2);
        }
    }

    #[test]
    fn a_loss_free_compression_and_expansion_does_no_net_work() {
        let mut cylinder = Cylinder::new(GasTables::new(&SINGLE, CLOSED_FROM_BOTTOM, 0.0, 720));
        let (mut net, mut taken) = (0.0, 0.0_f64);
        for degree in -180..=180_i32 {
            let (mean, _) = cylinder.advance(degree.rem_euclid(720) as usize, f64::from(degree), AMBIENT);
            net += mean.to_radians();
            taken = taken.max(-net);
        }
        assert!(taken > 30.0, "it takes tens of joules to compress: {taken}");
        assert!(net.abs() < 1e-9 * taken, "net {net} J of {taken} J");
    }

    #[test]
    fn heat_at_constant_volume_raises_the_pressure_as_the_first_law_says() {
        let tables = GasTables::new(&SINGLE, CLOSED_FROM_BOTTOM, 0.0, 720);
        let rise = 100.0 * tables.heat[0] / tables.power[0];
        let expected = (EXPONENT - 1.0) * 100.0 / SINGLE.clearance();
        assert!((rise / expected - 1.0).abs() < 1e-12);
    }
}
