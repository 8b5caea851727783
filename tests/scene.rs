//! An engine of the pump house at idle, to be changed where a test needs it changed.

use crate::edge_source::{Capture, Chance, Ignition, Motion, Source, Trigger, Wheel};
use crate::jobs;
use crate::measure::{Measured, measure};
use keyway_core::job::JobSpec;

/// An engine with its pickups, and the job entered for it.
pub struct Scene {
    /// What is played.
    pub source: Source,
    /// What the technician entered.
    pub job: JobSpec,
}

impl Scene {
    /// Ten seconds of idle at 720 rpm at an advance of 10°: ripple of half a rough engine, 8 rpm of wander,
    /// teeth 0.03° off, sparks that scatter by 0.3°.
    pub fn idling(cylinders: u8, wheel: Wheel) -> Self {
        Self::turning(cylinders, wheel, &[(0.0, 720.0)])
    }

    /// The same through these speeds (seconds, rpm).
    pub fn turning(cylinders: u8, wheel: Wheel, speeds: &[(f64, f64)]) -> Self {
        let mut chance = Chance::new(u64::from(cylinders) + 17);
        let motion = Motion::through(speeds, 200.0).wandering(8.0, &mut chance).rough(
            f64::from(cylinders) / 2.0,
            0.5,
            &mut chance,
        );
        let job = jobs::job(cylinders, &wheel);
        let mut trigger = Trigger::perfect(wheel);
        trigger.tooth_error = 0.03;
        let mut ignition = Ignition::fixed(10.0);
        ignition.scatter = 0.3;
        let source =
            Source { motion, trigger, ignition, crank_falls: false, spark_falls: false, seconds: 10.0 };
        Self { source, job }
    }

    /// Plays it.
    pub fn record(&self, seed: u64) -> Capture {
        self.source.record(seed)
    }

    /// Plays and measures it.
    pub fn measure(&self, seed: u64) -> Measured {
        measure(&self.record(seed), &self.job)
    }
}
