//! Everything that makes one engine: what a scenario, a fault or a population sets before it runs.
//!
//! *Layout*: cylinders, their order and their firing angles. A [`Setup`] made for a job is a healthy
//! engine that fits it: timing on target, the wheel as declared, the supply in order. Faults then
//! change the setup, never the job's idea of it.

use super::air::Intake;
use super::command::SparkControl;
use super::distributor::Drive;
use super::drag::Drag;
use super::mechanism::Geometry;
use super::pickups::clamp::Clamp;
use super::pickups::noise::Noise;
use super::pickups::supply::Supply;
use super::pickups::wheel::Wheel;
use super::variation::Variation;
use keyway_core::job::{ActiveEdge, Calibration, Control, Job, SparkKind};

/// Cylinders, their order and when they fire.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// 2 or 4.
    pub strokes: u8,
    /// Crank degrees at which each cylinder fires, cylinder one first, its own 0.
    pub fires_at: Vec<f64>,
}

impl Layout {
    /// The layout of a job.
    pub fn of(job: &Job) -> Self {
        let fires_at = (1..=job.spec().engine.cylinders)
            .map(|cylinder| f64::from(job.firing_angle(cylinder).unwrap_or(0.0)))
            .collect();
        Self { strokes: job.spec().engine.strokes, fires_at }
    }

    /// Degrees of a working cycle.
    pub fn cycle(&self) -> f64 {
        360.0 * self.turns_per_cycle()
    }

    /// Turns of a working cycle.
    pub fn turns_per_cycle(&self) -> f64 {
        if self.strokes == 2 { 1.0 } else { 2.0 }
    }

    /// The cylinder, from 1, that fires 360 degrees from this one; `None` without one.
    pub fn partner(&self, cylinder: u8) -> Option<u8> {
        let own = self.fires_at.get(usize::from(cylinder).checked_sub(1)?)?;
        let opposite = (own + 360.0).rem_euclid(self.cycle());
        let found = self.fires_at.iter().position(|angle| (angle - opposite).abs() < 0.5)?;
        let found = u8::try_from(found + 1).ok()?;
        (found != cylinder).then_some(found)
    }
}

/// The coils.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coils {
    /// How the sparks are shared out.
    pub kind: SparkKind,
    /// Charging time, s.
    pub dwell: f64,
    /// Strikes of each spark while multi-strike is at work.
    pub strikes: u32,
    /// Seconds from strike to strike.
    pub strike_spacing: f64,
    /// Multi-strike ends above this, rpm.
    pub multi_strike_below_rpm: f64,
    /// Probability that a spark does not come.
    pub missed: f64,
}

/// How the two pickups are plugged in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wiring {
    /// Each pickup is on the other's input.
    pub swapped: bool,
    /// The crank pickup gives nothing.
    pub crank_dead: bool,
    /// The spark clamp gives nothing.
    pub spark_dead: bool,
    /// The level change that is a good edge of the wheel.
    pub crank_edge: ActiveEdge,
    /// The level change that is a spark.
    pub spark_edge: ActiveEdge,
}

/// One engine with its pickups.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Seed of every draw.
    pub seed: u64,
    /// Cylinders and order.
    pub layout: Layout,
    /// Dimensions of a cylinder.
    pub geometry: Geometry,
    /// Flywheel and crank, kg·m².
    pub inertia: f64,
    /// Mass that goes up and down in each cylinder, kg.
    pub reciprocating: f64,
    /// Burn from its start to its end at idle with little residual, degrees.
    pub burn_degrees: f64,
    /// Heat that reaches the gas, share of the fuel's.
    pub heat_share: f64,
    /// Fuel that each cylinder gets, 1 = its share, 0 = dead.
    pub fuel_share: Vec<f64>,
    /// Cycle-to-cycle variation.
    pub variation: Variation,
    /// Friction and loads.
    pub drag: Drag,
    /// Slow wander of the load, share of friction, standard deviation.
    pub wander: f64,
    /// Air and governor.
    pub intake: Intake,
    /// Spark control.
    pub spark: SparkControl,
    /// Distributor drive.
    pub drive: Drive,
    /// Coils.
    pub coils: Coils,
    /// Crank wheel and sensor.
    pub wheel: Wheel,
    /// Spark clamp.
    pub clamp: Clamp,
    /// Electrical noise.
    pub noise: Noise,
    /// Supply.
    pub supply: Supply,
    /// How the pickups are plugged in.
    pub wiring: Wiring,
}

/// Swept volume of a cylinder, litres, for an engine of so many cylinders (assumed usual sizes).
fn usual_litres(cylinders: u8) -> f64 {
    match cylinders {
        1 => 0.40,
        2 | 3 => 0.45,
        4 | 5 => 0.50,
        6 => 0.55,
        _ => 0.62,
    }
}

/// Inertia, kg·m², that lets an engine idle at `rpm`: a slow idle needs a heavy flywheel, since a
/// compression takes as much energy as at speed (sizes assumed).
pub fn usual_inertia(litres: f64, cylinders: f64, rpm: f64) -> f64 {
    let usual = 0.03 + 0.035 * litres + 0.1 / (cylinders * cylinders);
    usual * (700.0 / rpm).powi(2).max(1.0)
}

impl Setup {
    /// A healthy engine that fits a job.
    pub fn for_job(job: &Job, seed: u64) -> Self {
        let spec = job.spec();
        let cylinders = spec.engine.cylinders;
        let litres = usual_litres(cylinders);
        // A square engine of that volume: V = π/4·d³.
        let bore_mm = (litres * 1e6 * 4.0 / std::f64::consts::PI).cbrt();
        let geometry =
            Geometry { bore_mm, stroke_mm: bore_mm, rod_mm: 1.7 * bore_mm, compression_ratio: 9.0 };
        let timing = &spec.timing;
        let commanded = f64::from(timing.commanded_btdc.unwrap_or(0.0));
        let mut spark = SparkControl::new(
            timing.control,
            f64::from(timing.base_btdc),
            commanded,
            f64::from(timing.harness_offset),
        );
        // What the owner wants on top is put in by turning the housing, or into the reference.
        if timing.control != Control::Commanded {
            spark.setting = f64::from(timing.extra);
        }
        if timing.calibration == Calibration::Performance {
            spark = spark.with_performance_calibration();
        }
        let [low, high] = timing.idle_rpm.map(f64::from);
        // The limit tells a 24 V system from a 12 V one.
        let systems =
            spec.timing.supply_min_v.map_or(1.0, |volts| (f64::from(volts) / 13.2).round().max(1.0));
        let total_litres = litres * f64::from(cylinders);
        Self {
            seed,
            layout: Layout::of(job),
            geometry,
            inertia: usual_inertia(total_litres, f64::from(cylinders), 0.5 * (low + high)),
            reciprocating: 0.9 * litres,
            burn_degrees: 48.0,
            heat_share: 0.68,
            fuel_share: vec![1.0; usize::from(cylinders)],
            variation: Variation::default(),
            drag: Drag::for_engine(&geometry, f64::from(cylinders)),
            wander: 0.07,
            intake: Intake { target_rpm: 0.5 * (low + high), ..Intake::default() },
            spark,
            drive: Drive::sound(job.distributor_times_spark()),
            coils: Coils {
                kind: spec.engine.spark,
                dwell: 0.003,
                strikes: 1,
                strike_spacing: 0.0012,
                multi_strike_below_rpm: 1200.0,
                missed: 0.0,
            },
            wheel: Wheel::new(spec.crank.clone(), f64::from(spec.sensor_delay_us) * 1e-6),
            clamp: Clamp { delay: f64::from(spec.spark_delay_us) * 1e-6, ..Clamp::default() },
            noise: Noise::default(),
            supply: Supply::default().of_systems(systems).scaled((total_litres / 2.0).clamp(0.15, 1.3)),
            wiring: Wiring {
                swapped: false,
                crank_dead: false,
                spark_dead: false,
                crank_edge: spec.crank_edge,
                spark_edge: spec.spark_edge,
            },
        }
    }

    /// Swept volume of all cylinders, m³.
    pub fn swept(&self) -> f64 {
        self.geometry.swept() * self.layout.fires_at.len() as f64
    }

    /// Crank degrees of spark for each degree of housing.
    pub fn crank_per_housing(&self) -> f64 {
        if !self.drive.times_spark { 0.0 } else { self.layout.turns_per_cycle() }
    }
}
