//! The guide on a desk: a job, what is sensed, keys, and time; no meter and no engine.

mod beside;
mod proofs;
mod ready;

use super::side::ZeroWork;
use super::*;
use crate::console::blank;
use crate::corrections::Corrected;
use crate::judge::{Because, Cause, CauseId, NextCheck, Proven, Remedy};
use crate::kept::{open, seal};
use crate::reading::{SpeedTrend, Withheld};
use crate::sounder::Heard;
use crate::view::{CorrectionLine, KeyLabel, Screen, Value, ValueKind, ZeroStage};

/// A guide with what it senses in the hands of the test.
struct Desk {
    job: Job,
    guide: Guide,
    sensed: Sensed,
}

fn job(control: Control, change: impl FnOnce(&mut JobSpec)) -> Job {
    let mut spec = blank();
    spec.timing.control = control;
    match control {
        Control::Computer => {}
        Control::Commanded => spec.timing.commanded_btdc = Some(15.0),
        Control::Mechanical => spec.timing.harness_offset = 0.0,
    }
    change(&mut spec);
    match spec.build() {
        Ok(job) => job,
        Err(error) => panic!("{error}"),
    }
}

fn coils(spec: &mut JobSpec) {
    spec.engine.spark = crate::job::SparkKind::Single;
    spec.engine.rotor = None;
}

impl Desk {
    fn at(control: Control, step: StepId) -> Self {
        Self::of(job(control, |_| {}), step)
    }

    fn of(job: Job, step: StepId) -> Self {
        let mut facts = Facts::default();
        CautionId::ALL.iter().for_each(|caution| facts.understand(*caution));
        let guide = Guide::resumed(&job, facts, step);
        let mut desk = Self { job, guide, sensed: Sensed::default() };
        desk.sensed.ms = 10_000;
        desk.idle(12.0);
        desk
    }

    /// Idling in the band, with a settled and a live reading of so many degrees.
    fn idle(&mut self, advance: f32) {
        self.sensed.turning = true;
        self.sensed.turning_fast = true;
        self.sensed.any_edge = true;
        self.sensed.in_sync = true;
        self.sensed.rpm = Some(750.0);
        self.sensed.supply = Some(14.0);
        self.sensed.known.supply = Some(14.0);
        self.sensed.known.sparks_per_turn = Some(0.5);
        self.sensed.known.why = [None; 4];
        self.reads(advance);
    }

    fn reads(&mut self, advance: f32) {
        self.sensed.known.advance = Some(advance);
        self.sensed.known.doubt = 0.1;
        self.sensed.known.rpm = Some(750.0);
        self.sensed.live = Some(Followed { advance, doubt: 0.1, rate: 0.0 });
        self.sensed.settled_ms = 6000;
    }

    fn stands(&mut self) {
        self.sensed = Sensed { ms: self.sensed.ms, supply: Some(12.4), ..Sensed::default() };
    }

    fn pass(&mut self, ms: u32) {
        for _ in 0..ms / 50 {
            self.sensed.ms += 50;
            self.guide.tick(&Now { job: &self.job, sensed: &self.sensed });
        }
    }

    fn press(&mut self, label: KeyLabel) -> bool {
        let now = Now { job: &self.job, sensed: &self.sensed };
        let Some(place) = self.guide.keys(&now).iter().position(|key| *key == label) else { return false };
        self.guide.key(place, &now);
        self.guide.key_up();
        true
    }

    fn step(&self) -> StepId {
        self.guide.state().step()
    }

    fn screen(&self) -> Screen {
        self.guide.screen(&Now { job: &self.job, sensed: &self.sensed })
    }

    /// A blip that answered with this slope, and back at idle.
    fn blip(&mut self, slope: f32) {
        self.sensed.rpm = Some(2400.0);
        for _ in 0..4 {
            let base = self.sensed.known.advance.unwrap_or(0.0);
            self.guide.on_spark(&SparkRecord {
                at: crate::units::Instant::from_ticks(0),
                advance: Some(crate::units::Advance::from_degrees(f64::from(base + 1.6 * slope))),
                rpm: 2400.0,
                fate: SparkFate::OutsideIdle,
            });
        }
        self.pass(500);
        self.sensed.rpm = Some(750.0);
        self.sensed.known.trend = Some(SpeedTrend {
            deg_per_1000rpm: slope,
            slope_uncertainty: 0.1,
            delay_us: -slope * 1000.0 / 6.0,
            rpm_low: 720.0,
            rpm_high: 2400.0,
        });
        self.pass(2000);
    }
}

const KINDS: [Control; 3] = [Control::Computer, Control::Commanded, Control::Mechanical];
