//! The front door of the handheld: events in, actions and a view out.
//!
//! *Event*: an edge, lost edges, a key, the supply, an answer of the store, or plain time. *Action*: what
//! the firmware or the desktop is to do; fetch them after each step until there is none. *View*: what is to
//! be drawn. The instrument knows no clock: time is the free-running counter's stamp, an argument of every
//! step, and the same log of events always leads to the same views.
//!
//! Work per step is bounded: an edge costs what [`Meter::on_edge`] costs; twenty times a second the guide
//! looks and the view is built; four times a second the reading is put together. Steps must not lie more
//! than half a wrap of the 32-bit counter apart; [`Instrument::poll_at`] keeps far within that.

mod items;
mod sense;
mod show;
mod store;

use crate::console::{Console, Request};
use crate::corrections::Corrections;
use crate::edges::{Channel, Edge, Level, Unwrap};
use crate::guide::{Guide, Now, Sensed};
use crate::job::JobSpec;
use crate::judge::Search;
use crate::kept::LONGEST;
use crate::meter::{Meter, Taken};
use crate::record::Identity;
use crate::sounder::Tone;
use crate::units::{Instant, Stamp, TickRate};
use crate::view::{KeyLabel, MenuId, Notice, SelfTest, View};
use heapless::Vec;
use sense::Edges;
use store::Wants;
pub use store::open_engine;

/// Something happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event<'a> {
    /// A level changed at a pickup.
    Edge {
        /// Which.
        channel: Channel,
        /// The level after the change.
        level: Level,
    },
    /// Edges that the capture path lost.
    Lost {
        /// Which.
        channel: Channel,
        /// How many.
        count: u32,
    },
    /// A key changed, 0 to 3 from left to right.
    Key {
        /// Which.
        key: u8,
        /// Pressed, or let go.
        down: bool,
    },
    /// The supply was measured, V.
    Supply(f32),
    /// The store has done what [`Action::Save`] or [`Action::Delete`] asked, or could not.
    Stored {
        /// What.
        slot: Slot,
        /// Whether.
        stored: bool,
    },
    /// What [`Action::Load`] asked for; `None` where nothing is kept.
    Loaded {
        /// What.
        slot: Slot,
        /// Its bytes.
        data: Option<&'a [u8]>,
    },
    /// Self-test results.
    Tested(SelfTest),
    /// Seconds since 1970, where somebody knows.
    Clock(u32),
    /// Time has come so far.
    Tick,
}

/// A place in the store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Slot {
    /// The job under way.
    State,
    /// The settings.
    Settings,
    /// An engine, 0 to 11.
    Engine(u8),
    /// A record, by its number.
    Record(u32),
}

/// Something to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Action {
    /// Draw [`Instrument::view`].
    Draw,
    /// Play this until told otherwise, at this loudness (0 to 5).
    Sound(Tone, u8),
    /// Light behind the screen, 0 to 5.
    Light(u8),
    /// Keep [`Instrument::bytes`] in this slot, then tell [`Event::Stored`].
    Save(Slot),
    /// Forget what is in this slot, then tell [`Event::Stored`].
    Delete(Slot),
    /// Tell [`Event::Loaded`] of this slot.
    Load(Slot),
}

/// Version of an engine as kept in [`Slot::Engine`]: a `JobSpec`, sealed.
pub const ENGINE_VERSION: u8 = store::ENGINE_VERSION;
/// A tick of guide and view, ms.
pub const TICK_MS: u32 = 50;
/// A key held so long repeats, ms.
const REPEAT_AFTER_MS: u32 = 500;
/// And then so often, ms.
const REPEAT_EVERY_MS: u32 = 100;
/// A notice stays so long, ms.
const NOTICE_MS: u32 = 3000;

/// The handheld.
#[derive(Debug)]
pub struct Instrument {
    identity: Identity,
    rate: TickRate,
    clock: Unwrap,
    next_tick: Instant,
    ms: u32,
    meter: Option<Meter>,
    spec: Option<JobSpec>,
    /// What was measured about the engine and outlasts a job.
    lasting: Corrections,
    guide: Option<Guide>,
    console: Console,
    sensed: Sensed,
    search: Search,
    edges: Edges,
    key_held: Option<(u8, u32)>,
    notice: Option<(Notice, u32)>,
    tone: Tone,
    job_began_ms: u32,
    wall_clock: Option<u32>,
    wants: Wants,
    buffer: Vec<u8, LONGEST>,
    view: View,
}

impl Instrument {
    /// Just switched on: it begins by asking for what is kept.
    pub fn new(identity: Identity, rate: TickRate) -> Self {
        let test = SelfTest {
            firmware: identity.firmware,
            instrument: identity.instrument,
            calibrated: identity.calibrated,
            ..SelfTest::running()
        };
        Self {
            identity,
            rate,
            clock: Unwrap::default(),
            next_tick: Instant::default(),
            ms: 0,
            meter: None,
            spec: None,
            lasting: Corrections::default(),
            guide: None,
            console: Console::new(test),
            sensed: Sensed::default(),
            search: Search::DONE,
            edges: Edges::default(),
            key_held: None,
            notice: None,
            tone: Tone::SILENT,
            job_began_ms: 0,
            wall_clock: None,
            wants: Wants::at_start(),
            buffer: Vec::new(),
            view: View::start(),
        }
    }

    /// What is to be drawn.
    pub fn view(&self) -> &View {
        &self.view
    }

    /// What [`Action::Save`] is to keep.
    pub fn bytes(&self) -> &[u8] {
        &self.buffer
    }

    /// When to come back at the latest, on the counter.
    pub fn poll_at(&self) -> Stamp {
        self.next_tick.stamp()
    }

    /// What is sensed of the engine, for the log.
    #[inline]
    pub fn sensed(&self) -> &Sensed {
        &self.sensed
    }

    /// The engine's entries, where one is chosen.
    pub fn spec(&self) -> Option<&JobSpec> {
        self.spec.as_ref()
    }

    /// The tone that is playing.
    pub fn tone(&self) -> Tone {
        self.tone
    }

    /// Something happened at `at`.
    pub fn step(&mut self, event: Event<'_>, at: Stamp) {
        match event {
            Event::Edge { channel, level } => {
                let now = self.clock.moment(at);
                self.step_edge(channel, level, at);
                if now >= self.next_tick {
                    self.on_time(now, at);
                }
            }
            other => self.step_other(other, at),
        }
    }

    /// An edge alone, without what time brings. Edges come by the thousand, and the rest stays out of their way:
    /// whoever has many to catch up with hands them all over first, then steps once with [`Event::Tick`]. So work that
    /// is due twenty times a second is never done oftener than there is time for.
    pub fn step_edge(&mut self, channel: Channel, level: Level, at: Stamp) {
        match channel {
            Channel::Crank => self.step_crank_edges(level, &[at]),
            Channel::Spark => self.step_any_edge(Edge { channel, level, at }),
        }
    }

    /// The same for edges of the crank in a row that alternate, the first of them to this level.
    #[inline]
    pub fn step_crank_edges(&mut self, first: Level, edges: &[Stamp]) {
        let (mut level, mut left) = (first, edges);
        while let (Some(meter), false) = (&mut self.meter, left.is_empty()) {
            let (taken, became) = meter.on_edges_like_most(level, left);
            level = if taken % 2 == 1 { level.other() } else { level };
            left = left.get(taken..).unwrap_or_default();
            match became {
                Taken::In => {}
                Taken::Sparks => self.drain_sparks(),
                Taken::Not => {
                    let Some((at, others)) = left.split_first() else { return };
                    self.step_any_edge(Edge { channel: Channel::Crank, level, at: *at });
                    (level, left) = (level.other(), others);
                }
            }
        }
    }

    /// The same for an edge that is not like most, or not known to be.
    #[inline(never)]
    pub fn step_any_edge(&mut self, edge: Edge) {
        if let Some(meter) = &mut self.meter {
            meter.on_any_edge(edge);
            if meter.has_sparks() {
                self.drain_sparks();
            }
        }
    }

    /// The same for anything but an edge, which is passed over.
    #[inline(never)]
    pub fn step_other(&mut self, event: Event<'_>, at: Stamp) {
        let now = self.clock.moment(at);
        self.on_other(event, at);
        if now >= self.next_tick {
            self.on_time(now, at);
        }
    }

    fn on_other(&mut self, event: Event<'_>, at: Stamp) {
        match event {
            Event::Edge { .. } | Event::Tick => {}
            Event::Lost { channel, count } => {
                if let Some(meter) = &mut self.meter {
                    meter.on_lost(channel, count);
                }
            }
            Event::Key { key, down } => self.on_key(key, down),
            Event::Supply(volts) => {
                self.sensed.supply = volts.is_finite().then_some(volts);
                if let Some(meter) = &mut self.meter {
                    meter.on_supply(volts, at);
                }
            }
            Event::Stored { slot, stored } => self.on_stored(slot, stored),
            Event::Loaded { slot, data } => self.on_loaded(slot, data),
            Event::Tested(test) => self.console.test = test,
            Event::Clock(seconds) => self.wall_clock = Some(seconds),
        }
    }

    #[inline(never)]
    fn on_time(&mut self, now: Instant, at: Stamp) {
        let ticks = self.rate.ticks_in_ms(TICK_MS);
        self.next_tick = now.shifted(ticks as i64);
        self.ms = milliseconds(now, self.rate);
        self.tick(at);
    }

    fn tick(&mut self, at: Stamp) {
        if let Some(meter) = &mut self.meter {
            meter.poll(at);
        }
        self.drain_sparks();
        self.repeat_key();
        self.sense();
        if let (Some(guide), Some(meter)) = (&mut self.guide, &self.meter) {
            guide.tick(&Now { job: meter.job(), sensed: &self.sensed });
        }
        self.grant();
        self.show();
    }

    /// The next thing to be done; `None` when there is none for now.
    pub fn next_action(&mut self) -> Option<Action> {
        self.next_wanted()
    }

    fn on_key(&mut self, key: u8, down: bool) {
        let place = if self.console.settings.left_handed { 3 - key.min(3) } else { key.min(3) };
        if !down {
            self.key_held = None;
            if let Some(guide) = &mut self.guide {
                guide.key_up();
            }
            return;
        }
        self.key_held = Some((place, self.ms));
        self.press(usize::from(place));
        self.grant();
        self.show();
    }

    /// Held keys that change a value go on by themselves.
    fn repeat_key(&mut self) {
        let Some((key, since)) = self.key_held else { return };
        let label = self.labels().get(usize::from(key)).copied().unwrap_or(KeyLabel::None);
        let repeats = matches!(
            label,
            KeyLabel::More | KeyLabel::Less | KeyLabel::Change | KeyLabel::Up | KeyLabel::Down
        );
        if repeats && self.ms.wrapping_sub(since) >= REPEAT_AFTER_MS {
            self.key_held = Some((key, since.wrapping_add(REPEAT_EVERY_MS)));
            self.press(usize::from(key));
        }
    }

    fn press(&mut self, key: usize) {
        let request = self.console.key(key);
        match request {
            Request::None => {}
            Request::ToGuide(key) => {
                let menu = self.labels().get(key) == Some(&KeyLabel::Menu);
                if menu {
                    self.console.open_menu(MenuId::Job);
                } else if let (Some(guide), Some(meter)) = (&mut self.guide, &self.meter) {
                    guide.key(key, &Now { job: meter.job(), sensed: &self.sensed });
                }
            }
            Request::Item(item) => self.on_item(item),
            Request::Choose(slot) => self.wants.choose(slot),
            Request::Keep(slot) => self.keep_engine(slot),
            Request::Delete(slot) => self.wants.delete = Some(Slot::Engine(slot)),
            Request::Open(number) => {
                self.wants.load = Some(Slot::Record(number));
            }
            Request::Fetch(number) => self.fetch_lines(number),
            Request::Changed => self.wants.settings_changed(),
        }
    }

    /// Does what the guide wishes.
    fn grant(&mut self) {
        let Some(guide) = &mut self.guide else { return };
        let wishes = guide.take_wishes();
        let proven = guide.proven();
        if wishes.rebuild {
            self.rebuild_meter();
        } else if wishes.restart {
            self.restart();
        }
        if let Some(meter) = &mut self.meter {
            meter.set_proven(proven);
        }
        if let Some(notice) = wishes.notice {
            self.notice = Some((notice, self.ms));
        }
        self.wants.state |= wishes.save_state;
        self.wants.record |= wishes.save_record;
        if wishes.keep_corrections {
            self.keep_corrections();
        }
        if wishes.done {
            self.guide = None;
            self.console.can_resume = false;
            self.wants.state = false;
            self.wants.delete = Some(Slot::State);
            self.console.open_menu(MenuId::Engine);
        }
    }
}

/// Milliseconds of a moment, wrapping.
fn milliseconds(now: Instant, rate: TickRate) -> u32 {
    (now.ticks() / (u64::from(rate.hertz()) / 1000).max(1)) as u32
}

#[cfg(test)]
mod tests;
