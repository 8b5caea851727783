//! The front door of measuring: edges in, a reading and a judgement out.

use crate::edges::{Channel, Edge};
use crate::job::Job;
use crate::judge::Judgement;
use crate::reading::{Balance, Reading, Reasons, SparkRecord, SpeedTrend, Status, Withheld};
use crate::units::{Stamp, TickRate};

/// Everything the meter can say at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The number and its doubt.
    pub reading: Reading,
    /// How the advance goes with speed; `None` unless 300 rpm or more were seen.
    pub trend: Option<SpeedTrend>,
    /// Each cylinder's share of the work; `None` where the wheel is too coarse for it.
    pub balance: Option<Balance>,
    /// What it means.
    pub judgement: Judgement,
}

/// Edges in, a reading and a judgement out.
#[derive(Debug)]
pub struct Meter {
    job: Job,
    rate: TickRate,
}

impl Meter {
    /// A meter for one job, on a counter of this rate.
    pub fn new(job: Job, rate: TickRate) -> Self {
        Self { job, rate }
    }

    /// A level change. Stamps of all calls must not go back, and no two calls may lie more than half a
    /// wrap of the 32-bit counter apart: [`Meter::poll`] bridges longer silences.
    pub fn on_edge(&mut self, _edge: Edge) {}

    /// Edges that the capture path lost before they could be told.
    pub fn on_lost(&mut self, _channel: Channel, _count: u32) {}

    /// The supply voltage at this moment.
    pub fn on_supply(&mut self, _volts: f32, _at: Stamp) {}

    /// Time has come to `now` without an edge.
    pub fn poll(&mut self, _now: Stamp) {}

    /// The capture ends here: sparks still waiting for the turn after them are settled.
    pub fn finish(&mut self) {}

    /// The next event at the spark pickup whose fate is settled, oldest first. The queue holds the
    /// newest 64: fetch until `None` after each call to `on_edge` to see all.
    pub fn next_spark(&mut self) -> Option<SparkRecord> {
        None
    }

    /// What can be said now.
    pub fn report(&self) -> Report {
        let mut reasons = Reasons::new();
        let _ = reasons.push(Withheld::NoCrank);
        let _ = (&self.job, self.rate);
        Report {
            reading: Reading {
                status: Status::Withheld,
                reasons,
                cranking: false,
                advance: None,
                uncertainty: None,
                scatter: None,
                rpm: None,
                revolutions: 0,
                sparks_used: 0,
                sparks_rejected: 0,
                edges_rejected: 0,
                sparks_per_revolution: None,
                battery_v: None,
                degrees_to_mark: None,
                wheel_found: None,
            },
            trend: None,
            balance: None,
            judgement: Judgement {
                verdict: None,
                error: None,
                causes: Default::default(),
                movement: None,
                base_mode_unproven: false,
            },
        }
    }
}
