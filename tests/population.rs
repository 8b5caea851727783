//! The engines on which the accuracy of a reading is counted: wheel × speed × noise, each cell many seeds.
//!
//! *Cell*: one wheel, one speed, one level of noise. Within a cell everything else is drawn: cylinders,
//! roughness, advance, where the wheel stands, its kind and its errors, delays, polarities, seeds.
//!
//! The sizes are the published ones where there are any: tooth errors of 0.023° rms and the shifts of the
//! teeth beside the gap from a real wheel (CHECKS.md 8.1), the swing of a rough four (7.3). Scatter of the
//! sparks, wander, jitter and rates of faults have no published source; they are what we take for usual.
//! A capture is 60 cycles long, which is 10 s at 700 rpm, and at least 1.5 s.

use crate::edge_source::{Capture, Chance, Ignition, Motion, Source, Trigger, Wheel, wrapped};
use crate::jobs;
use keyway_core::job::{ActiveEdge, JobSpec};

/// What is on the crank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// Slots and missing ones.
    Wheel(u8, u8),
    /// One mark, from so far to so far from the spark, degrees.
    OneMark(f64, f64),
    /// Two unequal marks.
    TwoMarks,
    /// Three unequal marks.
    ThreeMarks,
    /// Eight unequal marks.
    EightMarks,
}

impl Kind {
    /// Its name in the table.
    pub fn name(self) -> String {
        match self {
            Self::Wheel(slots, missing) => format!("{slots}-{missing}"),
            Self::OneMark(low, high) => format!("1 mark {low:.0}-{high:.0}"),
            Self::TwoMarks => "2 marks".into(),
            Self::ThreeMarks => "3 marks".into(),
            Self::EightMarks => "8 marks".into(),
        }
    }
}

/// How clean the signals are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Noise {
    /// Only what no engine is without: teeth as made, scatter, wander.
    Clean,
    /// Some jitter, ringing, coupled pulses, a missed spark now and then.
    Ordinary,
    /// Worn wheel, jitter, a lost tooth in two thousand, false pulses, stray and missed sparks.
    Noisy,
}

/// One cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// What is on the crank.
    pub kind: Kind,
    /// Mean speed, the middle of the job's idle band.
    pub rpm: f64,
    /// How clean.
    pub noise: Noise,
}

/// The sizes of a level of noise.
struct Sizes {
    tooth_error: f64,
    jitter: f64,
    lost: f64,
    false_pulses: f64,
    coupled: f64,
    scatter: f64,
    slow_scatter: f64,
    ringing: u32,
    multi_strike: f64,
    missed: f64,
    strays: f64,
}

impl Noise {
    /// Its name in the table.
    pub fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Ordinary => "ordinary",
            Self::Noisy => "noisy",
        }
    }

    fn sizes(self) -> Sizes {
        match self {
            Self::Clean => Sizes {
                tooth_error: 0.02,
                jitter: 0.0,
                lost: 0.0,
                false_pulses: 0.0,
                coupled: 0.0,
                scatter: 0.2,
                slow_scatter: 0.0,
                ringing: 0,
                multi_strike: 0.0,
                missed: 0.0,
                strays: 0.0,
            },
            Self::Ordinary => Sizes {
                tooth_error: 0.03,
                jitter: 0.3e-6,
                lost: 0.0,
                false_pulses: 0.0,
                coupled: 0.5,
                scatter: 0.25,
                slow_scatter: 0.08,
                ringing: 3,
                multi_strike: 0.3,
                missed: 0.01,
                strays: 0.0,
            },
            Self::Noisy => Sizes {
                tooth_error: 0.06,
                jitter: 1.0e-6,
                lost: 0.0005,
                false_pulses: 0.5,
                coupled: 1.0,
                scatter: 0.3,
                slow_scatter: 0.1,
                ringing: 5,
                multi_strike: 0.3,
                missed: 0.03,
                strays: 0.1,
            },
        }
    }
}

/// The capture of one engine of a cell, and its job; and the advance that the engine was set to.
pub fn draw(cell: Cell, seed: u64) -> (Capture, JobSpec, f64) {
    let (source, job, set) = source(cell, seed);
    (source.record(seed ^ 0xC0FFEE), job, set)
}

/// The same before anything of it is recorded.
pub fn source(cell: Cell, seed: u64) -> (Source, JobSpec, f64) {
    let mut chance = Chance::new(seed);
    let sizes = cell.noise.sizes();
    let cylinders = chance.one_of(&[4u8, 6, 8]);
    let set = chance.between(-5.0, 30.0);
    let wheel = draw_wheel(cell.kind, set, &mut chance);
    let mut job = jobs::job(cylinders, &wheel);
    job.timing.idle_rpm = [(cell.rpm * 0.8) as f32, (cell.rpm * 1.25) as f32];

    let motion = Motion::steady(cell.rpm, chance.between(0.0, 720.0))
        .wandering(cell.rpm * 0.012, &mut chance)
        .rough(f64::from(cylinders) / 2.0, chance.between(0.1, 1.0), &mut chance);

    let mut trigger = Trigger::perfect(wheel);
    trigger.tooth_error = sizes.tooth_error;
    trigger.jitter = sizes.jitter;
    trigger.lost = sizes.lost;
    trigger.false_pulses = (sizes.false_pulses, 10e-6, 150e-6);
    trigger.coupled = (sizes.coupled, 2e-6, 8e-6);
    trigger.mark_width = chance.between(3.0, 10.0);
    if chance.happens(0.5) {
        trigger.variable_reluctance = true;
        if let Kind::Wheel(slots, missing) = cell.kind {
            // Published of real 60-2 wheels: gaps of 3.08 to 3.36 pitches, six tenths of it at the first
            // tooth (CHECKS.md 8.1). Taken in proportion to the pitch of other wheels, and two thirds of it
            // where one tooth is missing: no source.
            let strength = if missing == 1 { 2.0 / 3.0 } else { 1.0 };
            let stretch = chance.between(0.08, 0.36) * strength * 360.0 / f64::from(slots);
            trigger.end_shift = (0.6 * stretch, 0.4 * stretch);
        }
    }

    let mut ignition = Ignition::fixed(set);
    ignition.scatter = sizes.scatter;
    ignition.slow_scatter = sizes.slow_scatter;
    ignition.ringing = sizes.ringing;
    // Ignitions strike several times at low speed only (common practice, no source).
    let strikes_often = chance.happens(sizes.multi_strike) && cell.rpm <= 1000.0;
    ignition.further_strikes = if strikes_often { 2 } else { 0 };
    ignition.missed = sizes.missed;
    ignition.strays = sizes.strays;
    if chance.happens(0.5) {
        let (crank_us, spark_us) = (chance.between(0.0, 200.0) as f32, chance.between(0.0, 100.0) as f32);
        (job.sensor_delay_us, job.spark_delay_us) = (crank_us, spark_us);
        (trigger.delay, ignition.pickup_delay) = (f64::from(crank_us) * 1e-6, f64::from(spark_us) * 1e-6);
    }
    let (crank_falls, spark_falls) = (chance.happens(0.5), chance.happens(0.5));
    job.crank_edge = if crank_falls { ActiveEdge::Falling } else { ActiveEdge::Rising };
    job.spark_edge = if spark_falls { ActiveEdge::Falling } else { ActiveEdge::Rising };

    let seconds = (60.0 * 120.0 / cell.rpm).max(1.5);
    (Source { motion, trigger, ignition, crank_falls, spark_falls, seconds }, job, set)
}

fn draw_wheel(kind: Kind, set: f64, chance: &mut Chance) -> Wheel {
    let turned_by =
        |marks: &[f64], by: f64| Wheel::Marks(marks.iter().map(|mark| wrapped(mark + by)).collect());
    let anywhere = chance.between(0.0, 360.0);
    match kind {
        Kind::Wheel(slots, missing) => {
            // As a job file would have it, to a hundredth of a degree.
            let first_btdc = f64::from((anywhere * 100.0).floor() as f32 / 100.0);
            Wheel::Teeth { slots, missing, first_btdc }
        }
        Kind::OneMark(low, high) => {
            let side = if chance.happens(0.5) { 1.0 } else { -1.0 };
            turned_by(&[set + side * chance.between(low, high)], 0.0)
        }
        Kind::TwoMarks => turned_by(&[0.0, 140.0], anywhere),
        Kind::ThreeMarks => turned_by(&[0.0, 90.0, 200.0], anywhere),
        Kind::EightMarks => turned_by(&[0.0, 30.0, 75.0, 135.0, 170.0, 220.0, 260.0, 315.0], anywhere),
    }
}
