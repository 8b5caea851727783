//! What the technician enters for one engine, and the validated, immutable form the rest runs on.
//!
//! *Job specification*: the values as entered, before anyone looked at them. *Job*: the same, found
//! possible and consistent, in binary angles. [`JobSpec::build`] is the only way from one to the
//! other; it guesses nothing and names the first key that cannot be.

mod check;
mod pattern;

pub use check::{JobError, Problem};
pub use pattern::{MAX_MARKS, MAX_SLOTS, Pattern};

use crate::units::Advance;
use heapless::{String, Vec};

/// The most cylinders of a job.
pub const MAX_CYLINDERS: usize = 12;
/// The longest name of a job, in bytes of UTF-8.
pub const MAX_NAME: usize = 40;

/// A list with one entry for each cylinder.
pub type PerCylinder<T> = Vec<T, MAX_CYLINDERS>;

/// How the sparks are made and shared out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SparkKind {
    /// One coil, a rotor and a cap.
    Distributor,
    /// One coil fires two cylinders: a spark every turn.
    Paired,
    /// A coil for each cylinder.
    Single,
}

/// A direction of rotation, facing the distributor cap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Rotation {
    /// As the hands of a clock.
    Clockwise,
    /// Against the hands of a clock.
    Counterclockwise,
}

impl Rotation {
    /// The other direction.
    pub const fn opposite(self) -> Self {
        match self {
            Self::Clockwise => Self::Counterclockwise,
            Self::Counterclockwise => Self::Clockwise,
        }
    }
}

/// What times the spark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reference {
    /// The distributor: turning its housing moves the spark.
    Distributor,
    /// A trigger at the crank: the housing only sets the rotor.
    Crank,
}

/// What decides the advance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Control {
    /// A factory computer with a base mode.
    Computer,
    /// An aftermarket computer told to hold one fixed value.
    Commanded,
    /// Weights and vacuum.
    Mechanical,
}

/// What calibration the computer carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Calibration {
    /// As the factory made it.
    Stock,
    /// A performance calibration: the label's value is kept.
    Performance,
}

/// Which change of level is the event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ActiveEdge {
    /// Low to high.
    Rising,
    /// High to low.
    Falling,
}

/// The engine as entered.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct EngineSpec {
    /// 1 to 12.
    pub cylinders: u8,
    /// 4 or 2.
    pub strokes: u8,
    /// Starts with 1, each cylinder once.
    pub firing_order: PerCylinder<u8>,
    /// Crank degrees from the firing of entry i of the order to the next one; sum 720, or 360 for a
    /// two-stroke; even where absent.
    pub firing_intervals: Option<PerCylinder<f32>>,
    /// How the sparks are made.
    pub spark: SparkKind,
    /// The rotor's turn facing the cap; required with a distributor and only with one.
    pub rotor: Option<Rotation>,
    /// What times the spark; the distributor where there is one, unless said otherwise.
    pub reference: Option<Reference>,
    /// Teeth of the gear on the distributor shaft, 5 to 60; absent for a tang or slot drive.
    pub drive_gear_teeth: Option<u8>,
    /// Diameter of the housing at the witness mark, 20 to 300 mm.
    pub housing_diameter_mm: Option<f32>,
}

/// The timing as entered, degrees before top dead centre.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct TimingSpec {
    /// What decides the advance.
    pub control: Control,
    /// From the label under the hood, -20 to 40.
    pub base_btdc: f32,
    /// What calibration the computer carries.
    pub calibration: Calibration,
    /// What the owner wants on top, -10 to 10; zero with a performance calibration.
    pub extra: f32,
    /// The fixed value that an aftermarket computer holds, -20 to 60; only with it, and required then.
    pub commanded_btdc: Option<f32>,
    /// Half width of "on target", 0.1 to 10.
    pub tolerance: f32,
    /// What the computer adds at idle while it is not in base mode, -40 to 40; 0 for mechanical.
    pub harness_offset: f32,
    /// Idle speed from and to, rpm, within 50 to 12000.
    pub idle_rpm: [f32; 2],
    /// Below this at idle the charging system is named, 4 to 60 V.
    pub supply_min_v: Option<f32>,
}

/// The crank trigger as entered.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum CrankSpec {
    /// A toothed wheel with missing teeth.
    Wheel {
        /// Slots on the wheel, the missing ones included, 4 to 120.
        teeth: u8,
        /// Missing slots, at least 1 and at most half of all.
        missing: u8,
        /// The first active edge after the gap passes the pickup this far before top dead centre of
        /// cylinder one, 0 to below 360.
        first_edge_btdc: f32,
    },
    /// One to eight marks a turn, each so far before top dead centre of cylinder one, above -180 and
    /// below 360, in any order.
    Marks(Vec<f32, MAX_MARKS>),
}

/// A whole job as entered.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct JobSpec {
    /// For people, 1 to 40 bytes.
    pub name: String<MAX_NAME>,
    /// The engine.
    pub engine: EngineSpec,
    /// The timing.
    pub timing: TimingSpec,
    /// The crank trigger.
    pub crank: CrankSpec,
    /// Which change of the crank signal is the event.
    pub crank_edge: ActiveEdge,
    /// Taken off every crank edge time, -1000 to 1000 µs.
    pub sensor_delay_us: f32,
    /// Which change of the spark signal is the event.
    pub spark_edge: ActiveEdge,
    /// Taken off every spark time, -1000 to 1000 µs.
    pub spark_delay_us: f32,
    /// What the technician says of base mode during the capture. The word, not proof.
    pub base_mode: Option<bool>,
}

/// A job found possible: immutable, in the form the instrument runs on.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    pub(crate) spec: JobSpec,
    pub(crate) pattern: Pattern,
    pub(crate) intervals: PerCylinder<f32>,
    pub(crate) target: Advance,
    pub(crate) target_degrees: f32,
}

impl Job {
    /// What was entered.
    pub fn spec(&self) -> &JobSpec {
        &self.spec
    }

    /// The marks of one turn.
    pub fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    /// Where the spark belongs: label plus the owner's addition, or the commanded value.
    pub fn target(&self) -> Advance {
        self.target
    }

    /// The target in degrees before top dead centre, as entered.
    pub fn target_degrees(&self) -> f32 {
        self.target_degrees
    }

    /// Turns of one working cycle: 2 for a four-stroke, 1 for a two-stroke.
    pub fn turns_per_cycle(&self) -> u8 {
        if self.spec.engine.strokes == 2 { 1 } else { 2 }
    }

    /// Crank degrees of one working cycle: 720 or 360.
    pub fn cycle_degrees(&self) -> f32 {
        360.0 * f32::from(self.turns_per_cycle())
    }

    /// Crank degrees from the firing of entry i of the firing order to the next.
    pub fn firing_intervals(&self) -> &PerCylinder<f32> {
        &self.intervals
    }

    /// Sparks on one lead in one working cycle: 2 where a coil fires a pair on a four-stroke, else 1.
    pub fn sparks_per_cycle(&self) -> u8 {
        match self.spec.engine.spark {
            SparkKind::Paired => self.turns_per_cycle(),
            SparkKind::Distributor | SparkKind::Single => 1,
        }
    }

    /// Whether turning a distributor moves the spark.
    pub fn distributor_times_spark(&self) -> bool {
        self.spec.engine.spark == SparkKind::Distributor
            && self.spec.engine.reference != Some(Reference::Crank)
    }

    /// Crank degrees from cylinder one's firing to that of `cylinder`, 0 to below the cycle; `None` for a
    /// cylinder the engine has not.
    pub fn firing_angle(&self, cylinder: u8) -> Option<f32> {
        let mut angle = 0.0;
        for (fires, interval) in self.spec.engine.firing_order.iter().zip(&self.intervals) {
            if *fires == cylinder {
                return Some(angle);
            }
            angle += interval;
        }
        None
    }
}
