//! What a hand can do to the running engine, at any moment between two steps.

/// Which lead the clamp is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lead {
    /// Lying on the bench.
    Off,
    /// The lead of this cylinder.
    Cylinder(u8),
    /// The lead of the coil, which sees every spark of it.
    Coil,
}

/// The controls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Controls {
    /// Ignition key: without it nothing sparks.
    pub ignition: bool,
    /// Fuel is delivered.
    pub fuel: bool,
    /// The starter is engaged.
    pub starter: bool,
    /// 0 closed to 1 open.
    pub throttle: f64,
    /// The base-mode link is as the label says for reading the base.
    pub base_mode: bool,
    /// An aftermarket computer is told to hold its fixed value.
    pub hold_fixed: bool,
    /// How far the housing is turned from where it was found, housing degrees, positive = advance.
    pub housing_deg: f64,
    /// The clamp bolt is tight.
    pub bolt_tight: bool,
    /// The vacuum hose is on its distributor (else off, the engine's side plugged).
    pub hose_on: bool,
    /// Where the spark clamp is.
    pub lead: Lead,
    /// The spark clamp is turned round.
    pub clamp_reversed: bool,
    /// Electrical load switched on, 0 to 1 of all there is.
    pub accessory_load: f64,
}

impl Default for Controls {
    /// Running at idle, base mode held, bolt tight, hose off, clamp the right way on lead one.
    fn default() -> Self {
        Self {
            ignition: true,
            fuel: true,
            starter: false,
            throttle: 0.0,
            base_mode: true,
            hold_fixed: true,
            housing_deg: 0.0,
            bolt_tight: true,
            hose_on: false,
            lead: Lead::Cylinder(1),
            clamp_reversed: false,
            accessory_load: 0.2,
        }
    }
}
