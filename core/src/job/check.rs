//! Finds a job possible or says which entry cannot be, what it was, and what is allowed.

use super::{
    Calibration, Control, EngineSpec, Job, JobSpec, MAX_CYLINDERS, Pattern, PerCylinder, Reference,
    SparkKind, TimingSpec,
};
use crate::units::Advance;
use core::fmt;

/// Why an entry cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Problem {
    /// The value is outside what is allowed.
    OutOfRange {
        /// What was entered.
        read: f32,
        /// The least allowed.
        low: f32,
        /// The most allowed.
        high: f32,
    },
    /// The entries contradict each other, or a list has not the shape it needs; what is expected, in words.
    Expected(&'static str),
}

/// The first entry found that cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct JobError {
    /// The entry, as in the job file: `engine.firing_order`.
    pub key: &'static str,
    /// Why it cannot be.
    pub problem: Problem,
}

impl fmt::Display for JobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.problem {
            Problem::OutOfRange { read, low, high } => {
                write!(f, "{}: read {read}, allowed is {low} to {high}", self.key)
            }
            Problem::Expected(what) => write!(f, "{}: expected {what}", self.key),
        }
    }
}

impl core::error::Error for JobError {}

fn within(key: &'static str, read: f32, low: f32, high: f32) -> Result<(), JobError> {
    if read >= low && read <= high {
        Ok(())
    } else {
        Err(JobError { key, problem: Problem::OutOfRange { read, low, high } })
    }
}

pub(super) fn expected(key: &'static str, holds: bool, what: &'static str) -> Result<(), JobError> {
    if holds { Ok(()) } else { Err(JobError { key, problem: Problem::Expected(what) }) }
}

impl JobSpec {
    /// The job these entries describe.
    ///
    /// # Errors
    /// The first entry that is out of range, or contradicts another, with its key as in the job file.
    pub fn build(&self) -> Result<Job, JobError> {
        expected("name", !self.name.trim_ascii().is_empty(), "a name of 1 to 40 letters")?;
        let intervals = check_engine(&self.engine)?;
        check_timing(&self.timing)?;
        let pattern = Pattern::build(&self.crank)?;
        within("crank.sensor_delay_us", self.sensor_delay_us, -1000.0, 1000.0)?;
        within("spark_pickup.delay_us", self.spark_delay_us, -1000.0, 1000.0)?;
        let timing = &self.timing;
        let target_degrees = match (timing.control, timing.commanded_btdc) {
            (Control::Commanded, Some(commanded)) => commanded,
            _ => timing.base_btdc + timing.extra,
        };
        Ok(Job {
            spec: self.clone(),
            pattern,
            intervals,
            target: Advance::of_degrees(target_degrees),
            target_degrees,
        })
    }
}

fn check_engine(engine: &EngineSpec) -> Result<PerCylinder<f32>, JobError> {
    let cylinders = usize::from(engine.cylinders);
    within("engine.cylinders", f32::from(engine.cylinders), 1.0, MAX_CYLINDERS as f32)?;
    expected("engine.strokes", matches!(engine.strokes, 2 | 4), "4 or 2")?;
    let order = &engine.firing_order;
    expected("engine.firing_order", order.len() == cylinders, "each cylinder once, as many as `cylinders`")?;
    expected("engine.firing_order", order.first() == Some(&1), "an order that starts with cylinder 1")?;
    let each_once =
        (1..=engine.cylinders).all(|cylinder| order.iter().filter(|fires| **fires == cylinder).count() == 1);
    expected("engine.firing_order", each_once, "each cylinder from 1 to `cylinders` once")?;

    let distributor = engine.spark == SparkKind::Distributor;
    expected(
        "engine.rotor",
        distributor == engine.rotor.is_some(),
        if distributor {
            "the rotor's turn, since spark is \"distributor\""
        } else {
            "no rotor without a distributor"
        },
    )?;
    expected(
        "engine.reference",
        distributor || engine.reference != Some(Reference::Distributor),
        "\"crank\", since there is no distributor",
    )?;
    if let Some(teeth) = engine.drive_gear_teeth {
        expected("engine.drive_gear_teeth", distributor, "no drive gear without a distributor")?;
        within("engine.drive_gear_teeth", f32::from(teeth), 5.0, 60.0)?;
    }
    if let Some(diameter) = engine.housing_diameter_mm {
        expected("engine.housing_diameter_mm", distributor, "no housing without a distributor")?;
        within("engine.housing_diameter_mm", diameter, 20.0, 300.0)?;
    }
    check_intervals(engine)
}

fn check_intervals(engine: &EngineSpec) -> Result<PerCylinder<f32>, JobError> {
    let key = "engine.firing_intervals";
    let cycle = if engine.strokes == 2 { 360.0 } else { 720.0 };
    let mut intervals = PerCylinder::new();
    match &engine.firing_intervals {
        None => {
            for _ in 0..engine.cylinders {
                let pushed = intervals.push(cycle / f32::from(engine.cylinders));
                expected(key, pushed.is_ok(), "at most 12 entries")?;
            }
        }
        Some(given) => {
            expected(key, given.len() == usize::from(engine.cylinders), "one entry for each cylinder")?;
            for interval in given {
                within(key, *interval, 1.0, cycle)?;
            }
            let sum: f32 = given.iter().sum();
            let what = if engine.strokes == 2 { "a sum of 360" } else { "a sum of 720" };
            expected(key, (sum - cycle).abs() < 0.01, what)?;
            intervals = given.clone();
        }
    }
    Ok(intervals)
}

fn check_timing(timing: &TimingSpec) -> Result<(), JobError> {
    within("timing.base_btdc", timing.base_btdc, -20.0, 40.0)?;
    within("timing.extra", timing.extra, -10.0, 10.0)?;
    within("timing.tolerance", timing.tolerance, 0.1, 10.0)?;
    within("timing.harness_offset", timing.harness_offset, -40.0, 40.0)?;
    let [low, high] = timing.idle_rpm;
    within("timing.idle_rpm", low, 50.0, 12000.0)?;
    within("timing.idle_rpm", high, 50.0, 12000.0)?;
    expected("timing.idle_rpm", high - low >= 50.0, "the lower speed first, 50 rpm or more apart")?;
    expected(
        "timing.extra",
        timing.calibration == Calibration::Stock || timing.extra == 0.0,
        "0 with a performance calibration (the label's value is kept)",
    )?;
    match (timing.control, timing.commanded_btdc) {
        (Control::Commanded, Some(commanded)) => within("timing.commanded_btdc", commanded, -20.0, 60.0)?,
        (Control::Commanded, None) => {
            expected("timing.commanded_btdc", false, "the fixed value, since control is \"commanded\"")?
        }
        (Control::Computer | Control::Mechanical, given) => expected(
            "timing.commanded_btdc",
            given.is_none(),
            "no fixed value unless control is \"commanded\"",
        )?,
    }
    expected(
        "timing.harness_offset",
        timing.control != Control::Mechanical || timing.harness_offset == 0.0,
        "0, since control is \"mechanical\"",
    )?;
    if let Some(volts) = timing.supply_min_v {
        within("timing.supply_min_v", volts, 4.0, 60.0)?;
    }
    Ok(())
}
