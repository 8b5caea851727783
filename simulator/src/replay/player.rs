//! The handheld on the bench of a replay: edges in at their time, keys by a hand, lines of what it shows out.

use super::hand::Hand;
use super::pace::Pace;
use crate::guide_play::transcript;
use keyway_core::edges::{Channel, Level};
use keyway_core::instrument::{Action, Event, Instrument, Slot};
use keyway_core::job::JobSpec;
use keyway_core::kept::{LONGEST, seal};
use keyway_core::record::Identity;
use keyway_core::sounder::Tone;
use keyway_core::units::{Stamp, TickRate};
use keyway_core::view::View;
use std::collections::BTreeMap;

/// The instrument is asked so often, ticks: 50 ms.
const SLICE_TICKS: u64 = 500_000;
/// Before the capture the hand may work at most so long, s.
const BEFORE: f64 = 120.0;

/// What comes from a source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Input {
    /// A level changed.
    Edge(Channel, Level),
    /// The supply, V.
    Supply(f32),
    /// So many edges were lost before this.
    Lost(Channel, u32),
}

/// The handheld and what is around it.
#[derive(Debug)]
pub struct Player<P> {
    instrument: Instrument,
    hand: Hand,
    pace: P,
    store: BTreeMap<String, Vec<u8>>,
    tone: Tone,
    /// The handheld's own clock, ticks.
    clock: u64,
    /// What it read as the capture began; `None` before.
    began: Option<u64>,
    shape: String,
    lines: Vec<(f64, String)>,
}

impl<P: Pace> Player<P> {
    /// A handheld with this job in its first place. The hand works at once, before any edge comes, until it
    /// has to wait for the engine.
    pub fn new(job: &JobSpec, mut hand: Hand, pace: P) -> Self {
        hand.takes_the_word(job.base_mode == Some(true));
        let identity = Identity { instrument: 7, firmware: 0, calibrated: None };
        let mut room = [0; LONGEST];
        let kept = seal(1, job, &mut room).map(<[u8]>::to_vec).unwrap_or_default();
        let mut player = Self {
            instrument: Instrument::new(identity, TickRate::DESKTOP),
            hand,
            pace,
            store: BTreeMap::from([(named(Slot::Engine(0)), kept)]),
            tone: Tone::SILENT,
            clock: 0,
            began: None,
            shape: String::new(),
            lines: Vec::new(),
        };
        let mut resting = 0;
        while player.seconds() < BEFORE && resting < 5 {
            player.slice();
            let now = player.seconds();
            let rests = player.hand.rests(player.instrument.view(), now);
            resting = if rests { resting + 1 } else { 0 };
        }
        player.began = Some(player.clock);
        player
    }

    /// Seconds on the handheld's clock.
    fn seconds(&self) -> f64 {
        self.clock as f64 / 1e7
    }

    /// What the screen shows.
    pub fn view(&self) -> &View {
        self.instrument.view()
    }

    /// What is heard.
    pub fn tone(&self) -> Tone {
        self.tone
    }

    /// Lines of what screen and sounder did since they were last taken, with s since the capture began.
    pub fn take_lines(&mut self) -> Vec<(f64, String)> {
        std::mem::take(&mut self.lines)
    }

    /// A key goes down or up, now, by another hand than the player's own.
    pub fn key(&mut self, key: u8, down: bool) {
        self.step(Event::Key { key, down }, self.clock);
    }

    /// Something came, so many ticks of 0.1 µs after the capture began. Times do not go back.
    pub fn input(&mut self, ticks: u64, input: Input) {
        self.pass_to(ticks);
        let at = self.began.unwrap_or(0) + ticks;
        let event = match input {
            Input::Edge(channel, level) => Event::Edge { channel, level },
            Input::Supply(volts) => Event::Supply(volts),
            Input::Lost(channel, count) => Event::Lost { channel, count },
        };
        self.step(event, at);
    }

    /// Time passes up to so many ticks after the capture began.
    pub fn pass_to(&mut self, ticks: u64) {
        let began = self.began.unwrap_or(0);
        while self.clock + SLICE_TICKS <= began + ticks {
            self.pace.until((self.clock + SLICE_TICKS - began) as f64 / 1e7);
            self.slice();
        }
    }

    /// A slice of time passes, the screen is looked at, a key may move.
    fn slice(&mut self) {
        self.clock += SLICE_TICKS;
        self.step(Event::Tick, self.clock);
        let now = self.seconds();
        if let Some((key, down)) = self.hand.look(self.instrument.view(), now) {
            self.step(Event::Key { key, down }, self.clock);
        }
        let (shape, full) = transcript::lines(self.instrument.view(), self.tone);
        if shape != self.shape {
            let since = now - self.began.unwrap_or(self.clock) as f64 / 1e7;
            self.lines.push((since.max(0.0), full));
            self.shape = shape;
        }
    }

    fn step(&mut self, event: Event<'_>, at: u64) {
        // The counter of the handheld has 32 bits and wraps.
        let stamp = Stamp(at as u32);
        self.instrument.step(event, stamp);
        while let Some(action) = self.instrument.next_action() {
            match action {
                Action::Draw | Action::Light(_) => {}
                Action::Sound(tone, _) => self.tone = tone,
                Action::Save(slot) => {
                    self.store.insert(named(slot), self.instrument.bytes().to_vec());
                    self.instrument.step(Event::Stored { slot, stored: true }, stamp);
                }
                Action::Delete(slot) => {
                    self.store.remove(&named(slot));
                    self.instrument.step(Event::Stored { slot, stored: true }, stamp);
                }
                Action::Load(slot) => {
                    let data = self.store.get(&named(slot)).cloned();
                    self.instrument.step(Event::Loaded { slot, data: data.as_deref() }, stamp);
                }
            }
        }
    }
}

fn named(slot: Slot) -> String {
    format!("{slot:?}")
}
