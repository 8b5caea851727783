//! A live engine with two pickups: its speed comes from the torque balance over the crank angle, its
//! sparks from a control and a distributor, its edges from real pickups, and so do its mistakes.
//!
//! *Running angle*: crank degrees since the start, never wrapped; multiples of the cycle (720, or 360
//! on a two-stroke) are firing top dead centre of cylinder one. *Step*: one degree of it.
//! *Setup*: what the engine is. *Controls*: what a hand does to it, at any moment between steps.
//!
//! Ripple, wander and the mark of a dead cylinder are not drawn in: gas torque, inertia, friction and
//! a governor make them. Every edge and spark is interpolated inside the step in closed form, so the
//! grid does not show: what the engine tells as truth is what a perfect instrument would read. One
//! seed gives the same edges every time.
//!
//! Two switches of the model are to stay out of any tuning of the measuring, so that it is proven on
//! an engine that it was not fitted to: [`drag::RipplePhase`] and [`pickups::tooth::EndTeeth`].
//!
//! Limits: the crank is rigid (no torsion), the manifold is a mean value (no pulsation), and a
//! stopping crank does not rock back.

pub mod air;
pub mod burn;
pub mod case;
pub mod command;
pub mod controls;
pub mod distributor;
pub mod drag;
mod events;
pub mod fault;
pub mod flywheel;
pub mod gas;
mod idle;
pub mod ignition;
pub mod mechanical;
pub mod mechanism;
pub mod pickups;
pub mod random;
pub mod schedule;
pub mod setup;
pub mod sink;
pub mod truth;
pub mod variation;
mod worked_on;

use air::Air;
use command::Commander;
use controls::Controls;
use distributor::Shaft;
use events::Timeline;
use flywheel::{Step, speed_after};
use gas::{Cylinder, GasTables, PortTiming, Turning};
use ignition::Tasks;
use pickups::wheel::{Edges, Passing};
use random::Dice;
use setup::Setup;
use sink::{CylinderWork, Nowhere, Sink};
use variation::{Charge, Memory};

/// Below this the crank stands, rad/s (10 rpm).
const STANDSTILL: f64 = 1.0;
/// Heat of the fuel that burns with one kilogram of air, J (44 MJ/kg at 14.7 to 1, from memory).
const HEAT_PER_AIR: f64 = 2.99e6;
/// Seconds that the standing engine waits in one step.
const WAIT: f64 = 0.001;
/// Degrees between two updates of the manifold and the loads.
const SLOW_EVERY: u64 = 10;

/// The charge in a cylinder on its way to burning.
#[derive(Debug, Clone, Copy)]
struct Loaded {
    charge: Charge,
    heat: f64,
    lit: bool,
}

/// A running engine.
#[derive(Debug, Clone)]
pub struct Engine {
    setup: Setup,
    controls: Controls,
    cylinders: Vec<Cylinder>,
    memories: Vec<Memory>,
    loaded: Vec<Option<Loaded>>,
    /// J(θ) on the grid of the cycle, the reciprocating masses included.
    inertia: Vec<f64>,
    air: Air,
    commander: Commander,
    shaft: Shaft,
    tasks: Tasks,
    edges: Edges,
    next_edge: Passing,
    timeline: Timeline,
    spark_dice: Dice,
    load_dice: Dice,
    /// Slow and slower part of the load's wander, each of deviation one.
    wander: [f64; 2],
    /// Torque against the turn that changes slowly, N·m.
    load: f64,
    /// Degrees turned.
    turned: u64,
    time: f64,
    /// rad/s; 0 when standing.
    speed: f64,
    /// Time and angle of the last decision of the spark control.
    last_decision: (f64, f64),
    /// A brake holds the speed; the net work that it takes is summed, J.
    braked: Option<f64>,
}

impl Engine {
    /// An engine at standstill, key on.
    pub fn new(setup: Setup) -> Self {
        Self::standing(setup, Controls::default())
    }

    /// An engine at standstill with these controls, whose governor knows what they ask for.
    pub fn standing(setup: Setup, controls: Controls) -> Self {
        let dice = |purpose: &str| Dice::new(setup.seed, purpose);
        let cycle = setup.layout.cycle() as usize;
        let ports = PortTiming::of(setup.layout.strokes);
        let fires_at = &setup.layout.fires_at;
        let cylinders = fires_at
            .iter()
            .map(|angle| Cylinder::new(GasTables::new(&setup.geometry, ports, *angle, cycle)))
            .collect();
        let inertia = (0..cycle)
            .map(|index| {
                let moving: f64 =
                    fires_at.iter().map(|angle| setup.geometry.lever(index as f64 - angle).powi(2)).sum();
                setup.inertia + setup.reciprocating * moving
            })
            .collect();
        let mut edges = Edges::new(&setup.wheel, dice("wheel"));
        let next_edge = edges.next(0.0);
        let mut engine = Self {
            controls,
            cylinders,
            memories: (0..fires_at.len()).map(|index| Memory::new(dice(&format!("gas {index}")))).collect(),
            loaded: vec![None; fires_at.len()],
            inertia,
            air: Air::new(setup.intake.target_rpm),
            commander: Commander::default(),
            shaft: Shaft::new(dice("drive")),
            tasks: Tasks::new(&setup.layout, setup.coils.kind),
            edges,
            next_edge,
            timeline: Timeline::new(&setup),
            spark_dice: dice("spark"),
            load_dice: dice("load"),
            wander: [0.0; 2],
            load: 0.0,
            turned: 0,
            time: 0.0,
            speed: 0.0,
            last_decision: (0.0, -90.0),
            braked: None,
            setup,
        };
        engine.update_slowly(0.0);
        let open = engine.clone().find_idle_opening();
        engine.air.learn(open);
        engine
    }

    /// An engine that already idles: it was run for `seconds` that nobody saw, with these controls.
    pub fn running(setup: Setup, controls: Controls, seconds: f64) -> Self {
        let mut engine = Self::standing(setup, controls);
        engine.speed = engine.setup.intake.target_rpm * std::f64::consts::PI / 30.0;
        // The brake lets go once every cylinder has fired a few times.
        engine.braked = Some(0.0);
        engine.run_until(600.0 / engine.setup.intake.target_rpm, &mut Nowhere);
        engine.braked = None;
        engine.run_until(seconds, &mut Nowhere);
        engine
    }

    /// What the engine is.
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// What a hand does to it.
    pub fn controls(&self) -> &Controls {
        &self.controls
    }

    /// The controls, to be changed at any moment between steps.
    pub fn controls_mut(&mut self) -> &mut Controls {
        &mut self.controls
    }

    /// What is entered in an aftermarket computer: its reference angle moved by so many crank degrees
    /// (positive = earlier), and so many seconds of delay made up for.
    pub fn enter(&mut self, reference: f64, delay: f64) {
        self.setup.spark.setting += reference;
        self.setup.spark.delay -= delay;
    }

    /// Seconds since the start.
    pub fn time(&self) -> f64 {
        self.time
    }

    /// Running crank angle, degrees.
    pub fn angle(&self) -> f64 {
        self.turned as f64
    }

    /// Speed now, rpm.
    pub fn rpm(&self) -> f64 {
        self.speed * 30.0 / std::f64::consts::PI
    }

    /// Manifold pressure, Pa.
    pub fn manifold(&self) -> f64 {
        self.air.pressure
    }

    /// Levels of the crank and the spark signal now, as the instrument sees them.
    pub fn levels(&self) -> [(keyway_core::edges::Channel, keyway_core::edges::Level); 2] {
        self.timeline.levels()
    }

    /// Runs until `seconds` after the start, to the end of the step that reaches it.
    pub fn run_until(&mut self, seconds: f64, sink: &mut impl Sink) {
        while self.time < seconds {
            self.step(sink);
        }
    }

    /// Goes on by one degree, or by a millisecond where the crank stands.
    pub fn step(&mut self, sink: &mut impl Sink) {
        if self.speed <= 0.0 {
            if !self.controls.starter {
                self.wait(sink);
                return;
            }
            self.speed = STANDSTILL;
        }
        let cycle = self.inertia.len() as u64;
        let from = (self.turned % cycle) as usize;
        let index = ((self.turned + 1) % cycle) as usize;
        let end_angle = (self.turned + 1) as f64;

        let mut torque = self.gas_torque(index, end_angle, sink) - self.load;
        torque -= self.pump_torque(end_angle);
        if self.controls.starter {
            torque += self.setup.drag.starter_torque(self.rpm());
        }
        let inertia = self.inertia.get(from).copied().unwrap_or(self.setup.inertia);
        let end_inertia = self.inertia.get(index).copied().unwrap_or(self.setup.inertia);
        let mut end_speed = speed_after(self.speed, inertia, end_inertia, torque, 1.0);
        if let Some(spare) = &mut self.braked {
            *spare += torque.to_radians();
            end_speed = self.speed;
        }
        if end_speed < STANDSTILL {
            if !self.controls.starter {
                self.speed = 0.0;
                sink.crank(self.angle(), nanoseconds(self.time));
                return;
            }
            end_speed = STANDSTILL;
        }
        let step = Step::new(self.angle(), 1.0, self.time, self.speed, end_speed);
        if self.setup.drive.times_spark {
            self.shaft.follow(&self.setup.drive, step.acceleration(), step.lasts);
        }
        self.play_out(&step, sink);
        self.turned += 1;
        self.time = step.end_time();
        self.speed = end_speed;
        if self.turned.is_multiple_of(SLOW_EVERY) {
            self.update_slowly(step.lasts * SLOW_EVERY as f64);
            if self.turned.is_multiple_of(30) {
                sink.crank(self.angle(), nanoseconds(self.time));
            }
        }
    }

    fn wait(&mut self, sink: &mut impl Sink) {
        let until = self.time + WAIT;
        self.play_waiting(until, sink);
        self.time = until;
        self.update_slowly(WAIT);
    }

    /// Mean torque of the gas of all cylinders over the step to `index`, N·m.
    fn gas_torque(&mut self, index: usize, end_angle: f64, sink: &mut impl Sink) -> f64 {
        let mut torque = 0.0;
        for cylinder in 0..self.cylinders.len() {
            let Some(gas) = self.cylinders.get_mut(cylinder) else { continue };
            let (mean, turning) = gas.advance(index, end_angle, self.air.pressure);
            torque += mean;
            match turning {
                Turning::None => {}
                Turning::Closed => self.load_charge(cylinder),
                Turning::Opened => {
                    let joules = gas.last_work;
                    let at = nanoseconds(self.time);
                    sink.work(CylinderWork { at, cylinder: cylinder as u8 + 1, joules });
                    if let (Some(Some(loaded)), Some(memory)) =
                        (self.loaded.get(cylinder), self.memories.get_mut(cylinder))
                        && !loaded.lit
                    {
                        memory.unlit(&loaded.charge);
                    }
                }
            }
        }
        torque
    }

    /// A cylinder has closed: what its charge will do is settled.
    fn load_charge(&mut self, cylinder: usize) {
        let fuel = if self.controls.fuel {
            self.setup.fuel_share.get(cylinder).copied().unwrap_or(1.0)
        } else {
            0.0
        };
        let residual = self.air.residual(self.setup.geometry.compression_ratio);
        let air = self.air.charge(self.setup.geometry.swept());
        let Some(memory) = self.memories.get_mut(cylinder) else { return };
        let charge = memory.charge(&self.setup.variation, fuel, residual);
        let heat = charge.burning * air * HEAT_PER_AIR * self.setup.heat_share;
        if let Some(loaded) = self.loaded.get_mut(cylinder) {
            *loaded = Some(Loaded { charge, heat, lit: false });
        }
    }

    fn pump_torque(&self, angle: f64) -> f64 {
        let interval = self.setup.layout.cycle() / self.cylinders.len().max(1) as f64;
        self.setup.drag.pump_torque(angle, interval)
    }

    /// Manifold, governor, loads: what changes little within ten degrees.
    fn update_slowly(&mut self, seconds: f64) {
        let rpm = self.rpm();
        let swept = self.setup.swept();
        let turns = self.setup.layout.turns_per_cycle();
        let throttle = self.controls.throttle;
        self.air.advance(&self.setup.intake, (throttle, swept, turns), rpm, seconds);
        for (wander, memory) in self.wander.iter_mut().zip([0.6, 2.5]) {
            let part: f64 = (seconds / memory).min(1.0);
            *wander += -*wander * part + (2.0 * part).sqrt() * self.load_dice.normal();
        }
        let drag = self.setup.drag.torque(rpm, swept, turns);
        let [slow, slower] = self.wander;
        // An alternator takes its load's power from the crank at 60 %: 14 V times amperes over 0.6.
        let amps = self.setup.supply.given(rpm, self.controls.accessory_load);
        let alternator = 14.0 * amps / 0.6 / self.speed.max(1.0);
        self.load = drag * (1.0 + self.setup.wander * 0.707 * (slow + slower)) + alternator;
    }
}

/// Seconds in nanoseconds, to the nearest; 0 below zero.
fn nanoseconds(seconds: f64) -> u64 {
    // The cast saturates, and costs less than a call of `round`.
    (seconds * 1e9 + 0.5) as u64
}
