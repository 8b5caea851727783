//! What the ignition is told: the advance that a computer, or weights and vacuum, ask for.
//!
//! *Base mode*: a factory computer holds the label's value. Outside it adds its offset, a map over
//! speed, and steers the idle with the spark: earlier when the crank is slow, later when it is fast.
//! *Setting*: how far housing or reference angle put every spark from where it is commanded; positive
//! = earlier. Nothing here knows of lash or delay: those act on the spark later.

use super::controls::Controls;
use super::mechanical::{Mechanism, Position};
use keyway_core::job::Control;

/// Settings of the spark control.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SparkControl {
    /// Who commands.
    pub control: Control,
    /// The label's value; for a mechanical distributor the initial advance; degrees.
    pub base: f64,
    /// The fixed value of an aftermarket computer.
    pub commanded: f64,
    /// What the computer adds at idle outside base mode, or while the fixed value is not held.
    pub idle_offset: f64,
    /// Idle steering, degrees for each rpm of error.
    pub steering: f64,
    /// Most degrees of steering either way.
    pub steering_limit: f64,
    /// Degrees that the map adds for each 1000 rpm above idle.
    pub map_rate: f64,
    /// Most degrees that the map adds.
    pub map_limit: f64,
    /// The computer leaves base mode above this speed, rpm.
    pub base_mode_limit_rpm: f64,
    /// How far the setting is off, crank degrees, positive = early.
    pub setting: f64,
    /// What tightening the clamp bolt does to the setting, crank degrees.
    pub bolt_shift: f64,
    /// The spark comes so much after its angle, s.
    pub delay: f64,
    /// Standard deviation of a spark's angle from electronics and points, degrees.
    pub jitter: f64,
    /// Weights and vacuum.
    pub mechanism: Mechanism,
}

impl SparkControl {
    /// A control that holds `base` (or `commanded`) exactly as the job says.
    pub fn new(control: Control, base: f64, commanded: f64, idle_offset: f64) -> Self {
        Self {
            control,
            base,
            commanded,
            idle_offset,
            steering: 0.09,
            steering_limit: 7.0,
            map_rate: 12.0,
            map_limit: 22.0,
            base_mode_limit_rpm: 3500.0,
            setting: 0.0,
            bolt_shift: 0.0,
            delay: 0.0,
            jitter: 0.1,
            mechanism: Mechanism::default(),
        }
    }

    /// A performance calibration: more advance sooner above idle, firmer steering; the base stays.
    pub fn with_performance_calibration(mut self) -> Self {
        self.map_rate *= 1.4;
        self.map_limit += 4.0;
        self.steering *= 1.3;
        self
    }
}

/// What the control knows when it decides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensed {
    /// Speed over the last firing interval, rpm.
    pub rpm: f64,
    /// The governor's idle speed, rpm.
    pub target_rpm: f64,
    /// Manifold pressure, Pa.
    pub manifold: f64,
    /// Seconds since the last decision.
    pub seconds: f64,
}

/// Running state of the spark control.
#[derive(Debug, Clone, Default)]
pub struct Commander {
    position: Position,
    smoothed_rpm: f64,
}

impl Commander {
    /// The commanded advance, crank degrees before the cylinder's top dead centre, setting left out.
    pub fn command(&mut self, spark: &SparkControl, controls: &Controls, sensed: &Sensed) -> f64 {
        if self.smoothed_rpm == 0.0 {
            self.smoothed_rpm = sensed.rpm;
        }
        self.smoothed_rpm += 0.5 * (sensed.rpm - self.smoothed_rpm);
        let cranking = sensed.rpm < 400.0 && sensed.rpm < 0.6 * sensed.target_rpm;
        match spark.control {
            Control::Mechanical => {
                let depression = if controls.hose_on { (100_000.0 - sensed.manifold) / 1000.0 } else { 0.0 };
                spark.base + self.position.follow(&spark.mechanism, sensed.rpm, depression, sensed.seconds)
            }
            Control::Computer => {
                let held = controls.base_mode && sensed.rpm < spark.base_mode_limit_rpm;
                spark.base + if held || cranking { 0.0 } else { self.steered(spark, controls, sensed) }
            }
            Control::Commanded => {
                let held = controls.hold_fixed || cranking;
                spark.commanded + if held { 0.0 } else { self.steered(spark, controls, sensed) }
            }
        }
    }

    fn steered(&self, spark: &SparkControl, controls: &Controls, sensed: &Sensed) -> f64 {
        let error = sensed.target_rpm - self.smoothed_rpm;
        let above = (-error - 100.0).max(0.0);
        let map = (spark.map_rate * above / 1000.0).min(spark.map_limit);
        // The map takes over where the throttle or the speed has left idle.
        let at_idle = controls.throttle < 0.01 && error.abs() < 250.0;
        let steering = if at_idle { spark.steering * error } else { 0.0 };
        spark.idle_offset + map + steering.clamp(-spark.steering_limit, spark.steering_limit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn command(control: Control, controls: &Controls, rpm: f64) -> f64 {
        let spark = SparkControl::new(control, 10.0, 15.0, 9.0);
        let sensed = Sensed { rpm, target_rpm: 700.0, manifold: 35_000.0, seconds: 0.04 };
        Commander::default().command(&spark, controls, &sensed)
    }

    #[test]
    fn base_mode_holds_the_label_at_any_idle_speed() {
        for rpm in [650.0, 700.0, 1500.0] {
            assert_eq!(command(Control::Computer, &Controls::default(), rpm), 10.0);
        }
    }

    #[test]
    fn outside_base_mode_the_spark_opposes_the_speed_error_and_rises_with_speed() {
        let controls = Controls { base_mode: false, ..Controls::default() };
        let at = |rpm| command(Control::Computer, &controls, rpm);
        assert_eq!(at(700.0), 19.0);
        assert!(at(680.0) > 20.0 && at(720.0) < 18.0);
        assert!(at(2000.0) > 30.0);
    }

    #[test]
    fn an_aftermarket_computer_holds_its_value_whatever_the_link_does() {
        let controls = Controls { base_mode: false, ..Controls::default() };
        assert_eq!(command(Control::Commanded, &controls, 1800.0), 15.0);
    }
}
