//! Engine, instrument and store on one clock.

use super::moment::Moment;
use super::self_test::self_test;
use super::tape::Tape;
use super::wire::{Came, Wire};
use crate::engine::Engine;
use crate::engine::sink::TrueSpark;
use keyway_core::edges::{Channel, Level};
use keyway_core::instrument::{Action, Event, Instrument, Slot};
use keyway_core::job::JobSpec;
use keyway_core::kept::{LONGEST, seal};
use keyway_core::record::{Identity, Record};
use keyway_core::sounder::Tone;
use keyway_core::units::{Stamp, TickRate};
use keyway_core::view::View;
use std::collections::BTreeMap;

/// The instrument's ticks, ns.
const TICK_NS: u64 = 100;
/// The instrument is asked so often, s.
const SLICE: f64 = 0.05;

/// The bench.
#[derive(Debug)]
pub struct Bench {
    /// The engine; hands reach it through its controls alone.
    pub engine: Engine,
    /// The handheld.
    pub instrument: Instrument,
    wire: Wire,
    store: BTreeMap<String, Vec<u8>>,
    /// What an event log would hold, if one is kept.
    log: Option<Vec<(Told, Stamp)>>,
    time: f64,
    tone: Tone,
    /// The store refuses everything.
    pub store_fails: bool,
    leads_on: bool,
    /// Lines of what screen and sounder did, if they are kept, and the shape of the last.
    transcript: Option<(Vec<(f64, String)>, String)>,
    moments: Option<Vec<Moment>>,
    /// When the newest moment was kept.
    moment_at: f64,
    tape: Option<Tape>,
}

/// An event that owns its data, for a log.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// An edge.
    Edge(Channel, Level),
    /// A key.
    Key(u8, bool),
    /// The supply.
    Supply(f32),
    /// An answer of the store.
    Stored(Slot, bool),
    /// What was kept.
    Loaded(Slot, Option<Vec<u8>>),
    /// Time.
    Tick,
}

/// The instrument's counter at a time of the bench's clock, s.
fn stamp_of(time: f64) -> Stamp {
    Stamp((((time * 1e9) as u64) / TICK_NS) as u32)
}

fn named(slot: Slot) -> String {
    format!("{slot:?}")
}

impl Bench {
    /// A bench whose store keeps this engine in its first place.
    pub fn new(engine: Engine, job: &JobSpec) -> Self {
        let mut room = [0; LONGEST];
        let kept = seal(1, job, &mut room).map(<[u8]>::to_vec).unwrap_or_default();
        let mut store = BTreeMap::new();
        store.insert(named(Slot::Engine(0)), kept);
        let now = engine.time();
        let mut bench = Self {
            time: now,
            engine,
            instrument: Self::switched_on(stamp_of(now)),
            wire: Wire::default(),
            store,
            log: None,
            tone: Tone::SILENT,
            store_fails: false,
            leads_on: true,
            transcript: None,
            moments: None,
            moment_at: f64::NEG_INFINITY,
            tape: None,
        };
        bench.pass(1.0);
        bench
    }

    fn switched_on(at: Stamp) -> Instrument {
        let identity = Identity { instrument: 7, firmware: 0x0012_3456, calibrated: Some((2026, 11, 2)) };
        let mut instrument = Instrument::new(identity, TickRate::DESKTOP);
        // A handheld tests itself before anything else happens.
        instrument.step(Event::Tested(self_test(&identity)), at);
        instrument
    }

    /// The handheld is reset: what it keeps is all it knows.
    pub fn reset(&mut self) {
        self.instrument = Self::switched_on(stamp_of(self.time));
        self.pass(1.0);
    }

    /// Keeps a log of events from now on; the instrument is started anew for it.
    pub fn keep_log(&mut self) {
        self.log = Some(Vec::new());
        self.instrument = Self::switched_on(stamp_of(self.time));
    }

    /// Keeps a line for every change of screen or sounder from now on.
    pub fn keep_transcript(&mut self) {
        self.transcript = Some((Vec::new(), String::new()));
    }

    /// The lines so far, with their time on the bench's clock, s.
    pub fn transcript(&self) -> &[(f64, String)] {
        self.transcript.as_ref().map_or(&[], |(lines, _)| lines)
    }

    /// Keeps a moment for every slice of time from now on.
    pub fn keep_moments(&mut self) {
        self.moments = Some(Vec::new());
    }

    /// The moments since they were last taken.
    pub fn take_moments(&mut self) -> Vec<Moment> {
        self.moments.as_mut().map(std::mem::take).unwrap_or_default()
    }

    /// Keeps the last `seconds` of what comes through the pickups from now on.
    pub fn keep_tape(&mut self, seconds: f64) {
        self.tape = Some(Tape::new(seconds));
    }

    /// The tape, where one is kept.
    pub fn tape(&self) -> Option<&Tape> {
        self.tape.as_ref()
    }

    /// The leads are clipped on.
    pub fn clipped(&self) -> bool {
        self.leads_on
    }

    fn keep_moment(&mut self) {
        self.moment_at = self.time;
        let Some(moments) = &mut self.moments else { return };
        let newest = (self.time - 0.5).max(0.0) * 1e9;
        let shown = self.wire.spark.filter(|spark| spark.at as f64 >= newest);
        let spark = shown.filter(|spark| !spark.dwell_start);
        let fires_at = |spark: &TrueSpark| {
            let place = usize::from(spark.cylinder).saturating_sub(1);
            self.engine.setup().layout.fires_at.get(place).copied().unwrap_or(0.0)
        };
        moments.push(Moment {
            at: self.time,
            controls: *self.engine.controls(),
            leads_on: self.leads_on,
            rpm: self.engine.rpm(),
            advance: spark.map(|spark| 180.0 - (180.0 - spark.advance - fires_at(&spark)).rem_euclid(360.0)),
            strobe: shown.map(|spark| spark.advance),
            base: self.engine.base_advance(),
            view: *self.instrument.view(),
            tone: self.tone,
        });
    }

    fn note(&mut self) {
        let Some((kept, last)) = &mut self.transcript else { return };
        let (shape, full) = super::transcript::lines(self.instrument.view(), self.tone);
        if shape != *last {
            kept.push((self.time, full));
            *last = shape;
        }
    }

    /// The log so far.
    pub fn log(&self) -> &[(Told, Stamp)] {
        self.log.as_deref().unwrap_or_default()
    }

    /// Plays a log into a fresh instrument and gives it back; `each` sees what it shows and sounds after
    /// each event.
    pub fn replay(log: &[(Told, Stamp)], mut each: impl FnMut(&View, Tone)) -> Instrument {
        let mut instrument = Self::switched_on(log.first().map_or(Stamp(0), |(_, at)| *at));
        for (came, at) in log {
            match came {
                Told::Edge(channel, level) => {
                    instrument.step(Event::Edge { channel: *channel, level: *level }, *at);
                }
                Told::Key(key, down) => instrument.step(Event::Key { key: *key, down: *down }, *at),
                Told::Supply(volts) => instrument.step(Event::Supply(*volts), *at),
                Told::Stored(slot, stored) => {
                    instrument.step(Event::Stored { slot: *slot, stored: *stored }, *at);
                }
                Told::Loaded(slot, data) => {
                    instrument.step(Event::Loaded { slot: *slot, data: data.as_deref() }, *at);
                }
                Told::Tick => instrument.step(Event::Tick, *at),
            }
            while instrument.next_action().is_some() {}
            each(instrument.view(), instrument.tone());
        }
        instrument
    }

    /// Seconds on the bench's clock.
    pub fn time(&self) -> f64 {
        self.time
    }

    /// What the screen shows.
    pub fn view(&self) -> &View {
        self.instrument.view()
    }

    /// What is heard.
    pub fn tone(&self) -> Tone {
        self.tone
    }

    /// Clips the leads on, or takes them off.
    pub fn clip(&mut self, on: bool) {
        self.leads_on = on;
    }

    /// Clips a pickup on the balancer's mark, at true zero, to the spark input; or the clamp back.
    pub fn clip_to_mark(&mut self, on: bool) {
        self.wire.on_mark = on;
    }

    /// The newest record kept; `None` without one.
    pub fn record(&self) -> Option<Record> {
        (1..100u32)
            .rev()
            .find_map(|number| self.store.get(&named(Slot::Record(number))))
            .and_then(|bytes| Record::decode(bytes).ok())
    }

    /// Time passes.
    pub fn pass(&mut self, seconds: f64) {
        let end = self.time + seconds;
        while self.time + SLICE * 0.5 < end {
            self.time += SLICE;
            self.engine.run_until(self.time, &mut self.wire);
            self.deliver();
            self.keep_moment();
        }
    }

    /// Time passes in one piece, shorter than the slices of [`Bench::pass`]: for a window that draws every frame.
    pub fn flow(&mut self, seconds: f64) {
        self.time += seconds;
        self.engine.run_until(self.time, &mut self.wire);
        self.deliver();
        if self.time - self.moment_at > SLICE - 1e-6 {
            self.keep_moment();
        }
    }

    fn deliver(&mut self) {
        let until = (self.time * 1e9) as u64;
        for spark in self.wire.sparks.drain(..) {
            if let Some(tape) = &mut self.tape {
                tape.spark(spark);
            }
        }
        self.wire.waiting.sort_by_key(|(at, _)| *at);
        let later = self.wire.waiting.partition_point(|(at, _)| *at <= until);
        let due: Vec<_> = self.wire.waiting.drain(..later).collect();
        for (at, came) in due {
            if !self.leads_on {
                continue;
            }
            let stamp = Stamp((at / TICK_NS) as u32);
            if let Some(tape) = &mut self.tape {
                match came {
                    Came::Level(channel, level) => tape.level(at, channel, level),
                    Came::Supply(volts) => tape.volts(at, volts),
                }
            }
            match came {
                Came::Level(channel, level) => self.step(Told::Edge(channel, level), stamp),
                Came::Supply(volts) => self.step(Told::Supply(volts as f32), stamp),
            }
        }
        if let Some(tape) = &mut self.tape {
            tape.cut(until);
        }
        self.step(Told::Tick, Stamp((until / TICK_NS) as u32));
    }

    /// A key is pressed or let go, now.
    pub fn key(&mut self, key: u8, down: bool) {
        self.step(Told::Key(key, down), stamp_of(self.time));
    }

    fn step(&mut self, came: Told, at: Stamp) {
        if let Some(log) = &mut self.log {
            log.push((came.clone(), at));
        }
        match &came {
            Told::Edge(channel, level) => {
                self.instrument.step(Event::Edge { channel: *channel, level: *level }, at);
            }
            Told::Key(key, down) => self.instrument.step(Event::Key { key: *key, down: *down }, at),
            Told::Supply(volts) => self.instrument.step(Event::Supply(*volts), at),
            Told::Stored(slot, stored) => {
                self.instrument.step(Event::Stored { slot: *slot, stored: *stored }, at);
            }
            Told::Loaded(slot, data) => {
                self.instrument.step(Event::Loaded { slot: *slot, data: data.as_deref() }, at);
            }
            Told::Tick => self.instrument.step(Event::Tick, at),
        }
        while let Some(action) = self.instrument.next_action() {
            self.act(action, at);
        }
        if matches!(came, Told::Tick | Told::Key(..)) {
            self.note();
        }
    }

    fn act(&mut self, action: Action, at: Stamp) {
        match action {
            Action::Draw | Action::Light(_) => {}
            Action::Sound(tone, _) => self.tone = tone,
            Action::Save(slot) => {
                if !self.store_fails {
                    self.store.insert(named(slot), self.instrument.bytes().to_vec());
                }
                self.step(Told::Stored(slot, !self.store_fails), at);
            }
            Action::Delete(slot) => {
                self.store.remove(&named(slot));
                self.step(Told::Stored(slot, true), at);
            }
            Action::Load(slot) => {
                let data = self.store.get(&named(slot)).cloned();
                self.step(Told::Loaded(slot, data), at);
            }
        }
    }
}
