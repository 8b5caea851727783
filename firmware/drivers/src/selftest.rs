//! The self-test at start: a known engine's signals, driven on spare pins and captured, must read the angle
//! they were made with.
//!
//! *Pattern*: what the two spare pins do over two turns of an invented single-cylinder engine: a wheel of 36
//! slots with one missing, and one spark. *Step*: the levels of both pins and how long they stay. *Trial*: a
//! meter that is fed what the capture path saw, and compares.
//!
//! The pattern turns at [`RPM`], so that a processor that fetches steps between other work keeps the queue of
//! the pattern machine filled. The spark lies at [`SPARK_BTDC`] degrees, well within a tooth, so an error of a
//! single tick shows, as does a channel that was started late.

use heapless::{String, Vec};
use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, JobSpec, SparkKind, TimingSpec,
};
use keyway_core::meter::Meter;
use keyway_core::units::Stamp;

use crate::capture::{TICK_HERTZ, tick_rate};

/// Speed of the pattern, rpm.
pub const RPM: u32 = 1500;
/// Where its spark lies, degrees before top dead centre.
pub const SPARK_BTDC: f32 = 12.5;
/// The angle read may differ by so much, degrees: a tick at this speed is 0.0015°, so this is a fault of the path.
pub const ALLOWED: f32 = 0.02;
/// Turns of the pattern.
pub const TURNS: u32 = 14;
/// Sparks that must be read for a result.
const SPARKS: u32 = 4;

const SLOTS: u32 = 36;
/// The first edge after the gap lies at so many degrees before top dead centre: 84.
const FIRST_BTDC: f32 = 84.0;
/// Half a slot, ticks: 40 ms a turn at 6 MHz is 240,000 ticks.
const HALF_SLOT: u32 = TICK_HERTZ * 60 / RPM / SLOTS / 2;
/// The spark comes (84 − 12.5) / 5° = 14.3 half slots after the first edge.
const SPARK_AFTER: u32 = HALF_SLOT * 143 / 10;
/// The clamp's pulse lasts so long, ticks.
const SPARK_LASTS: u32 = HALF_SLOT / 4;

/// Levels of both pins and how long they stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Crank.
    pub crank: Level,
    /// Spark.
    pub spark: Level,
    /// Ticks of 1/6 µs.
    pub ticks: u32,
}

/// The steps of the whole pattern.
#[derive(Debug, Clone, Default)]
pub struct Pattern {
    /// Ticks since the first edge of the first turn.
    at: u32,
}

impl Pattern {
    /// From its beginning.
    pub const fn new() -> Self {
        Self { at: 0 }
    }
}

impl Iterator for Pattern {
    type Item = Step;

    fn next(&mut self) -> Option<Step> {
        let turn = HALF_SLOT * 2 * SLOTS;
        if self.at >= turn * TURNS {
            return None;
        }
        let within = self.at % turn;
        let half = within / HALF_SLOT;
        let crank = half.is_multiple_of(2) && half / 2 < SLOTS - 1;
        // A spark every second turn.
        let sparks = self.at / turn % 2 == 1;
        let spark = sparks && (SPARK_AFTER..SPARK_AFTER + SPARK_LASTS).contains(&within);
        let mut until = (half + 1) * HALF_SLOT;
        for change in [SPARK_AFTER, SPARK_AFTER + SPARK_LASTS] {
            if sparks && change > within {
                until = until.min(change);
            }
        }
        self.at += until - within;
        let level = |high| if high { Level::High } else { Level::Low };
        Some(Step { crank: level(crank), spark: level(spark), ticks: until - within })
    }
}

/// The job of the pattern's engine; `None` only if the core's limits came to exclude it.
fn job() -> Option<keyway_core::job::Job> {
    let mut name = String::new();
    name.push_str("Self-test").ok()?;
    let engine = EngineSpec {
        cylinders: 1,
        strokes: 4,
        firing_order: Vec::from_slice(&[1]).ok()?,
        firing_intervals: None,
        spark: SparkKind::Single,
        rotor: None,
        reference: None,
        drive_gear_teeth: None,
        housing_diameter_mm: None,
    };
    let timing = TimingSpec {
        control: Control::Computer,
        base_btdc: SPARK_BTDC,
        calibration: Calibration::Stock,
        extra: 0.0,
        commanded_btdc: None,
        tolerance: 1.0,
        harness_offset: 10.0,
        idle_rpm: [1000.0, 2000.0],
        supply_min_v: None,
    };
    let spec = JobSpec {
        name,
        engine,
        timing,
        crank: CrankSpec::Wheel { teeth: SLOTS as u8, missing: 1, first_edge_btdc: FIRST_BTDC },
        crank_edge: ActiveEdge::Rising,
        sensor_delay_us: 0.0,
        spark_edge: ActiveEdge::Rising,
        spark_delay_us: 0.0,
        base_mode: None,
    };
    spec.build().ok()
}

/// Compares what the capture path saw with what was driven.
pub struct Trial {
    meter: Meter,
    sparks: u32,
    worst: f32,
    lost: u32,
}

impl Trial {
    /// A meter for the pattern's engine; `None` where there can't be one.
    pub fn new() -> Option<Self> {
        Some(Self { meter: Meter::new(job()?, tick_rate()), sparks: 0, worst: 0.0, lost: 0 })
    }

    /// A level change came out of the capture path.
    pub fn on_edge(&mut self, channel: Channel, level: Level, at: Stamp) {
        self.meter.on_edge(Edge { channel, level, at });
        while let Some(spark) = self.meter.next_spark() {
            if let Some(advance) = spark.advance {
                self.sparks += 1;
                let error = advance.degrees() - SPARK_BTDC;
                if error.abs() > self.worst.abs() {
                    self.worst = error;
                }
            }
        }
    }

    /// The capture path lost edges: that alone fails the test.
    pub fn on_lost(&mut self, count: u32) {
        self.lost = self.lost.saturating_add(count);
    }

    /// The largest error, degrees, once enough sparks were read; `None` if they were not.
    pub fn error(&self) -> Option<f32> {
        (self.sparks >= SPARKS).then_some(self.worst)
    }

    /// Whether the path is right: nothing lost, enough sparks, each at its angle.
    pub fn passed(&self) -> bool {
        self.lost == 0 && self.error().is_some_and(|error| error.abs() <= ALLOWED)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Feeds the pattern as the pins would show it, the spark channel late by so many ticks.
    fn trial(spark_late: u32, drop_every: usize) -> Trial {
        let mut trial = Trial::new().unwrap();
        let (mut at, mut levels, mut edges) = (1000, (Level::Low, Level::Low), std::vec::Vec::new());
        for step in Pattern::new() {
            if step.crank != levels.0 {
                edges.push((at, Channel::Crank, step.crank));
            }
            if step.spark != levels.1 {
                edges.push((at + spark_late, Channel::Spark, step.spark));
            }
            levels = (step.crank, step.spark);
            at += step.ticks;
        }
        edges.sort_by_key(|(at, ..)| *at);
        for (number, (at, channel, level)) in edges.into_iter().enumerate() {
            if drop_every > 0 && number % drop_every == drop_every - 1 {
                trial.on_lost(1);
            } else {
                trial.on_edge(channel, level, Stamp(at));
            }
        }
        trial
    }

    #[test]
    fn the_pattern_is_whole_turns_and_reads_the_angle_it_was_made_with() {
        let ticks: u32 = Pattern::new().map(|step| step.ticks).sum();
        assert_eq!(ticks, TURNS * HALF_SLOT * 2 * SLOTS);
        let trial = trial(0, 0);
        assert!(trial.error().unwrap().abs() < 0.002, "{:?}", trial.error());
        assert!(trial.passed());
    }

    #[test]
    fn a_channel_that_counts_late_by_3_microseconds_fails() {
        let trial = trial(18, 0);
        assert!((trial.error().unwrap() + 0.027).abs() < 0.003, "{:?}", trial.error());
        assert!(!trial.passed());
    }

    #[test]
    fn a_lost_edge_fails_and_no_edges_at_all_fail() {
        assert!(!trial(0, 500).passed());
        assert!(!Trial::new().unwrap().passed());
    }
}
