//! Things done to the engine at set times: throttle blips, the starter, the link, a hand on the housing.
//!
//! *Change*: one control set to a value. A ramp is a row of changes 10 ms apart. [`Player`] lets the
//! engine run up to each change and makes it.

use super::Engine;
use super::controls::{Controls, Lead};
use super::sink::Sink;

/// One control set to a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Ignition key.
    Ignition(bool),
    /// Fuel.
    Fuel(bool),
    /// Starter.
    Starter(bool),
    /// Throttle, 0 to 1.
    Throttle(f64),
    /// Base-mode link.
    BaseMode(bool),
    /// Fixed value of an aftermarket computer held.
    HoldFixed(bool),
    /// Housing, housing degrees from where it was found.
    Housing(f64),
    /// Clamp bolt tight.
    BoltTight(bool),
    /// Vacuum hose.
    HoseOn(bool),
    /// Where the clamp is.
    Lead(Lead),
    /// The clamp turned round.
    ClampReversed(bool),
    /// Electrical load, 0 to 1.
    AccessoryLoad(f64),
}

impl Change {
    /// Makes the change.
    pub fn apply(self, controls: &mut Controls) {
        match self {
            Self::Ignition(on) => controls.ignition = on,
            Self::Fuel(on) => controls.fuel = on,
            Self::Starter(on) => controls.starter = on,
            Self::Throttle(open) => controls.throttle = open,
            Self::BaseMode(held) => controls.base_mode = held,
            Self::HoldFixed(held) => controls.hold_fixed = held,
            Self::Housing(degrees) => controls.housing_deg = degrees,
            Self::BoltTight(tight) => controls.bolt_tight = tight,
            Self::HoseOn(on) => controls.hose_on = on,
            Self::Lead(lead) => controls.lead = lead,
            Self::ClampReversed(reversed) => controls.clamp_reversed = reversed,
            Self::AccessoryLoad(load) => controls.accessory_load = load,
        }
    }
}

/// Changes with their times, s after the start of the capture.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Schedule {
    changes: Vec<(f64, Change)>,
}

/// Seconds between the changes of a ramp.
const RAMP_STEP: f64 = 0.01;

impl Schedule {
    /// Adds a change.
    pub fn at(&mut self, seconds: f64, change: Change) {
        self.changes.push((seconds, change));
    }

    /// Adds a ramp of a control from one value to another over `lasts` seconds.
    pub fn ramp(&mut self, start: f64, lasts: f64, from: f64, to: f64, change: fn(f64) -> Change) {
        let steps = (lasts / RAMP_STEP).ceil().max(1.0) as u32;
        for step in 1..=steps {
            let part = f64::from(step) / f64::from(steps);
            self.at(start + lasts * part, change(from + (to - from) * part));
        }
    }

    /// Adds a blip: the throttle opens to `open` over 0.25 s, stays for `hold` seconds, and falls shut.
    pub fn blip(&mut self, start: f64, open: f64, hold: f64) {
        self.ramp(start, 0.25, 0.0, open, Change::Throttle);
        self.ramp(start + 0.25 + hold, 0.15, open, 0.0, Change::Throttle);
    }

    /// The throttle that the changes so far leave at a time, starting from `first`.
    pub fn throttle_at(&self, seconds: f64, first: f64) -> f64 {
        self.value_at(seconds, first, |change| match change {
            Change::Throttle(open) => Some(open),
            _ => None,
        })
    }

    /// The housing angle that the changes so far leave at a time, starting from `first`.
    pub fn housing_at(&self, seconds: f64, first: f64) -> f64 {
        self.value_at(seconds, first, |change| match change {
            Change::Housing(degrees) => Some(degrees),
            _ => None,
        })
    }

    fn value_at(&self, seconds: f64, first: f64, value: fn(Change) -> Option<f64>) -> f64 {
        self.sorted()
            .into_iter()
            .rev()
            .filter(|(at, _)| *at <= seconds)
            .find_map(|(_, change)| value(change))
            .unwrap_or(first)
    }

    /// The changes in the order of their times.
    pub fn sorted(&self) -> Vec<(f64, Change)> {
        let mut changes = self.changes.clone();
        changes.sort_by(|one, other| one.0.total_cmp(&other.0));
        changes
    }
}

/// Runs an engine through a schedule.
#[derive(Debug)]
pub struct Player {
    changes: Vec<(f64, Change)>,
    next: usize,
    start: f64,
}

impl Player {
    /// The schedule counts from where the engine stands now.
    pub fn new(schedule: &Schedule, engine: &Engine) -> Self {
        Self { changes: schedule.sorted(), next: 0, start: engine.time() }
    }

    /// Runs until `seconds` after the start of the schedule.
    pub fn run_until(&mut self, engine: &mut Engine, seconds: f64, sink: &mut impl Sink) {
        while let Some((at, change)) = self.changes.get(self.next).copied()
            && at <= seconds
        {
            engine.run_until(self.start + at, sink);
            change.apply(engine.controls_mut());
            self.next += 1;
        }
        engine.run_until(self.start + seconds, sink);
    }
}
