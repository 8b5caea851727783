//! What happens inside a step: teeth pass, the spark control's tasks fall due, delayed events arrive.
//!
//! Things come by angle (teeth, tasks) or by time (delays, pulse ends, noise). Both are put in one
//! order by the moment at which the crank reaches the angle, exact inside the step.

use super::burn::Burn;
use super::command::Sensed;
use super::controls::Lead;
use super::flywheel::Step;
use super::ignition::{Task, Tasks};
use super::pickups::Line;
use super::pickups::noise::Noise;
use super::pickups::supply::Volts;
use super::random::Dice;
use super::setup::Setup;
use super::sink::{Sink, TrueSpark};
use super::{Engine, nanoseconds};
use keyway_core::edges::{Channel, Level};
use keyway_core::job::SparkKind;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Nanoseconds from one supply sample to the next.
const SUPPLY_EVERY: u64 = 20_000_000;

/// What is due at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    /// A cylinder (from 0) really sparks.
    Strike(usize),
    Crank(bool),
    FalseCrank(bool),
    Spark(bool),
    FalseSpark(bool),
    RandomCrank,
    RandomSpark,
    Supply,
}

/// Events by time, and the two lines that they drive.
#[derive(Debug, Clone)]
pub(super) struct Timeline {
    due: BinaryHeap<Reverse<(u64, Event)>>,
    crank: Line,
    spark: Line,
    volts: Volts,
    clamp_dice: Dice,
    noise_dice: Dice,
}

impl Timeline {
    pub(super) fn new(setup: &Setup) -> Self {
        let wiring = &setup.wiring;
        let (crank, spark) =
            if wiring.swapped { (Channel::Spark, Channel::Crank) } else { (Channel::Crank, Channel::Spark) };
        let mut timeline = Self {
            due: BinaryHeap::new(),
            crank: Line::new(crank, wiring.crank_edge),
            spark: Line::new(spark, wiring.spark_edge),
            volts: Volts::new(&setup.supply, Dice::new(setup.seed, "supply")),
            clamp_dice: Dice::new(setup.seed, "clamp"),
            noise_dice: Dice::new(setup.seed, "noise"),
        };
        timeline.crank.dead = wiring.crank_dead;
        timeline.spark.dead = wiring.spark_dead;
        timeline.add(0, Event::Supply);
        timeline.add_noise(0, &setup.noise, Event::RandomCrank);
        timeline.add_noise(0, &setup.noise, Event::RandomSpark);
        timeline
    }

    pub(super) fn levels(&self) -> [(Channel, Level); 2] {
        [(self.crank.channel(), self.crank.level()), (self.spark.channel(), self.spark.level())]
    }

    fn add(&mut self, at: u64, event: Event) {
        self.due.push(Reverse((at, event)));
    }

    fn next_at(&self) -> u64 {
        self.due.peek().map_or(u64::MAX, |due| due.0.0)
    }

    fn add_noise(&mut self, now: u64, noise: &Noise, event: Event) {
        let rate = if event == Event::RandomCrank { noise.crank_rate } else { noise.spark_rate };
        let wait = self.noise_dice.wait(rate);
        if wait.is_finite() {
            self.add(now + nanoseconds(wait), event);
        }
    }

    fn add_false_pulse(&mut self, start: u64, length: f64, event: fn(bool) -> Event) {
        self.add(start, event(true));
        self.add(start + nanoseconds(length).max(1), event(false));
    }

    /// The clamp shows a front.
    fn show_front(&mut self, setup: &Setup, at: u64) {
        for (seconds, active) in setup.clamp.pulses(&mut self.clamp_dice) {
            self.add(at + nanoseconds(seconds), Event::Spark(active));
        }
    }

    /// Noise that any spark throws into the crank's line.
    fn couple(&mut self, noise: &Noise, at: u64) {
        if self.noise_dice.chance(noise.coupling) {
            let (after, length) = noise.coupled(&mut self.noise_dice);
            self.add_false_pulse(at + nanoseconds(after), length, Event::FalseCrank);
        }
    }
}

impl Engine {
    /// Everything that falls into a step, in the order of time.
    pub(super) fn play_out(&mut self, step: &Step, sink: &mut impl Sink) {
        let end_angle = step.end_angle();
        let end = nanoseconds(step.end_time());
        loop {
            let angle = self.tasks.next_angle().min(self.next_edge.angle);
            let by_angle = angle < end_angle;
            let at = if by_angle { step.time_at(angle.max(step.angle)) } else { step.end_time() };
            if self.timeline.next_at() <= nanoseconds(at).min(end) {
                self.run_event(|time| step.angle_at(time), sink);
            } else if !by_angle {
                return;
            } else if self.next_edge.angle <= angle {
                self.pass_edge(at);
            } else {
                self.run_task(at);
            }
        }
    }

    /// Everything that falls due by time while the crank stands.
    pub(super) fn play_waiting(&mut self, until: f64, sink: &mut impl Sink) {
        let angle = self.angle();
        while self.timeline.next_at() <= nanoseconds(until) {
            self.run_event(|_| angle, sink);
        }
    }

    fn pass_edge(&mut self, at: f64) {
        let edge = self.next_edge;
        let dropped =
            edge.lost || (edge.active && self.timeline.noise_dice.chance(self.setup.noise.lost_teeth));
        if !dropped {
            self.timeline.add(nanoseconds(at + self.setup.wheel.delay), Event::Crank(edge.active));
        }
        self.next_edge = self.edges.next(self.rpm());
    }

    fn run_task(&mut self, at: f64) {
        let Some(due) = self.tasks.take() else { return };
        match due.task {
            Task::Decide => self.decide(due.angle, due.cylinder, at),
            Task::Look { spark } => {
                let lead = self.shaft.lead(&self.setup.drive);
                self.tasks.add((spark - lead).max(due.angle), Task::Fire, due.cylinder);
            }
            Task::Charge => self.charge(due.cylinder, at),
            Task::Fire => {
                if self.controls.ignition {
                    let strike = nanoseconds(at + self.setup.spark.delay);
                    self.timeline.add(strike, Event::Strike(due.cylinder));
                }
            }
        }
    }

    fn decide(&mut self, angle: f64, cylinder: usize, at: f64) {
        let (last_time, last_angle) = self.last_decision;
        let seconds = at - last_time;
        let rpm =
            if seconds > 0.0 && last_time > 0.0 { (angle - last_angle) / seconds / 6.0 } else { self.rpm() };
        self.last_decision = (at, angle);
        let sensed =
            Sensed { rpm, target_rpm: self.setup.intake.target_rpm, manifold: self.air.pressure, seconds };
        let spark = &self.setup.spark;
        let commanded = self.commander.command(spark, &self.controls, &sensed);
        let housing = self.controls.housing_deg * self.setup.crank_per_housing();
        let bolt = if self.controls.bolt_tight { 0.0 } else { -spark.bolt_shift };
        let jitter = spark.jitter * self.spark_dice.normal();
        let advance = commanded + spark.setting + housing + bolt + jitter;
        let fires = Tasks::spark_angle(angle, advance);
        let charging = 6.0 * rpm * self.setup.coils.dwell;
        self.tasks.add((fires - charging).max(angle), Task::Charge, cylinder);
        if self.setup.drive.times_spark {
            let look = fires - self.setup.drive.play - 4.0 * self.setup.drive.wobble;
            self.tasks.add(look.max(angle), Task::Look { spark: fires }, cylinder);
        } else {
            self.tasks.add(fires, Task::Fire, cylinder);
        }
    }

    fn run_event(&mut self, angle_at: impl Fn(f64) -> f64, sink: &mut impl Sink) {
        let Some(Reverse((at, event))) = self.timeline.due.pop() else { return };
        match event {
            Event::Strike(cylinder) => self.strike(cylinder, at, angle_at(at as f64 * 1e-9), sink),
            Event::Crank(active) => self.timeline.crank.set(active, at, sink),
            Event::FalseCrank(begins) => self.timeline.crank.false_pulse(begins, at, sink),
            Event::Spark(active) => self.timeline.spark.set(active, at, sink),
            Event::FalseSpark(begins) => self.timeline.spark.false_pulse(begins, at, sink),
            Event::RandomCrank | Event::RandomSpark => {
                let length = self.setup.noise.pulse(&mut self.timeline.noise_dice);
                let kind = if event == Event::RandomCrank { Event::FalseCrank } else { Event::FalseSpark };
                self.timeline.add_false_pulse(at, length, kind);
                self.timeline.add_noise(at, &self.setup.noise, event);
            }
            Event::Supply => {
                let (load, starter) = (self.controls.accessory_load, self.controls.starter);
                let rpm = self.rpm();
                let seconds = SUPPLY_EVERY as f64 * 1e-9;
                let volts = self.timeline.volts.advance(&self.setup.supply, rpm, load, starter, seconds);
                sink.supply(volts, at);
                self.timeline.add(at + SUPPLY_EVERY, Event::Supply);
            }
        }
    }

    /// The lead that the clamp shows this cylinder's spark on, as a cylinder number; `None`: not seen.
    fn clamp_sees(&self, cylinder: usize) -> Option<u8> {
        let number = u8::try_from(cylinder + 1).ok()?;
        let paired = self.setup.coils.kind == SparkKind::Paired;
        match self.controls.lead {
            Lead::Off => None,
            Lead::Cylinder(lead) => {
                let shared = paired && self.setup.layout.partner(number) == Some(lead);
                (number == lead || shared).then_some(lead)
            }
            // A pair's coil, or a cylinder's own, has no lead of its own to see more on.
            Lead::Coil => match self.setup.coils.kind {
                SparkKind::Distributor => Some(number),
                SparkKind::Paired => {
                    let first = number == 1 || self.setup.layout.partner(number) == Some(1);
                    first.then_some(1)
                }
                SparkKind::Single => (number == 1).then_some(1),
            },
        }
    }

    /// Coil charging starts: only a clamp turned round takes it for something.
    fn charge(&mut self, cylinder: usize, at: f64) {
        if !self.controls.clamp_reversed || !self.controls.ignition {
            return;
        }
        if self.clamp_sees(cylinder).is_some() {
            self.timeline.add(nanoseconds(at), Event::Strike(cylinder + DWELL));
        }
    }

    fn strike(&mut self, cylinder: usize, at: u64, angle: f64, sink: &mut impl Sink) {
        let dwell_start = cylinder >= DWELL;
        let cylinder = cylinder % DWELL;
        if !dwell_start {
            if self.spark_dice.chance(self.setup.coils.missed) {
                return;
            }
            self.light(cylinder, angle);
            self.timeline.couple(&self.setup.noise, at);
        }
        let reversed = self.controls.clamp_reversed;
        let Some(lead) = self.clamp_sees(cylinder) else {
            if !dwell_start && self.timeline.clamp_dice.chance(self.setup.clamp.crosstalk) {
                self.timeline.show_front(&self.setup, at);
            }
            return;
        };
        if reversed && !dwell_start {
            if self.timeline.clamp_dice.chance(self.setup.clamp.half_wave) {
                let later = at + nanoseconds(0.5 * self.setup.clamp.ringing_period);
                self.timeline.show_front(&self.setup, later);
            }
            return;
        }
        let advance = 180.0 - (180.0 + angle).rem_euclid(360.0);
        sink.spark(TrueSpark { at, angle, advance, cylinder: lead, dwell_start });
        if self.timeline.clamp_dice.chance(self.setup.clamp.missed) {
            return;
        }
        self.timeline.show_front(&self.setup, at);
        if self.rpm() < self.setup.coils.multi_strike_below_rpm && !dwell_start {
            for strike in 1..self.setup.coils.strikes {
                let after = self.setup.coils.strike_spacing * f64::from(strike);
                self.timeline.show_front(&self.setup, at + nanoseconds(after));
            }
        }
    }

    /// A spark in a cylinder: the charge burns, if there is one and it has not been lit.
    fn light(&mut self, cylinder: usize, angle: f64) {
        let rpm = self.rpm().max(100.0);
        let cycle = self.setup.layout.cycle();
        let Some(fires_at) = self.setup.layout.fires_at.get(cylinder) else { return };
        let local = (angle - fires_at + 0.5 * cycle).rem_euclid(cycle) - 0.5 * cycle;
        let (Some(Some(loaded)), Some(gas)) =
            (self.loaded.get_mut(cylinder), self.cylinders.get_mut(cylinder))
        else {
            return;
        };
        if loaded.lit || local.abs() > 135.0 {
            return;
        }
        loaded.lit = true;
        let slow = loaded.charge.duration * (rpm / 750.0).powf(0.2);
        let start = angle + 1.0 + 5.0 * slow;
        let duration = self.setup.burn_degrees * slow;
        gas.light(Burn { start, duration, heat: loaded.heat, released: 0.0 });
    }
}

/// Added to a cylinder's index where coil charging, not the spark, is meant.
const DWELL: usize = 1 << 8;
