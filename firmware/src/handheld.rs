//! The loop: edges, keys and voltages to the core, and what it asks for carried out.
//!
//! Every few turns the capture rings are read to their end before anything else, so that the core sees edges in the
//! order of time and never later than that; then come keys, supply, the core's tick and its actions. Each turn ends with
//! at most one picture, and the wires. A turn that finds nothing to do sleeps until the next millisecond.

use crate::board_rp2040::{self as board, Board};
use crate::keep::Keep;
use crate::screen::Screen;
use crate::talk::Talk;
use embedded_hal::digital::OutputPin;
use keyway_core::edges::{Channel, Level};
use keyway_core::instrument::{Action, Event, Instrument};
use keyway_core::units::Stamp;
use keyway_drivers::arming::Arming;
use keyway_drivers::delays::Delays;
use keyway_drivers::faults::{Fault, Faults};
use keyway_drivers::feed::{Beside, feed};
use keyway_drivers::identity::Calibration;
use keyway_drivers::keys::KeyEvent;
use keyway_drivers::kind::{Kind, KindFinder};
use keyway_drivers::progress::{Duty, Progress};
use keyway_drivers::supply::{Found, Supply};

/// A reading of the converter every so often, µs; 16 of them make a voltage.
const CONVERT_EVERY_US: u32 = 3_000;
/// Readings in one turn at most: those that make a voltage.
const MOST_CONVERTED: u32 = 16;
/// Converter channels.
const SUPPLY_CHANNEL: u8 = 0;
const AMPLITUDE_CHANNEL: u8 = 1;
/// The rings are read so often, µs: edges cost least in a row, and neither hand nor eye sees the difference. Who
/// listens to every edge wants them sooner.
const DRAIN_EVERY_US: u32 = 3_500;
/// Turns of the loop that took longest are logged so often, µs.
const TELL_EVERY_US: u32 = 5_000_000;

/// All parts.
pub(crate) struct Handheld {
    /// The chip and its wires.
    pub(crate) board: Board,
    /// The core.
    pub(crate) instrument: &'static mut Instrument,
    /// The picture.
    pub(crate) screen: Screen,
    /// The store.
    pub(crate) keep: Keep,
    /// The serial port, where USB started.
    pub(crate) talk: Option<Talk>,
    /// What calibration left behind.
    pub(crate) calibration: Calibration,
    /// Counted faults.
    pub(crate) faults: Faults,
    /// What feeds the watchdog.
    pub(crate) progress: Progress,
    /// The supply.
    pub(crate) supply: Supply,
    /// Which kind of crank input is switched in.
    pub(crate) kind: KindFinder,
    /// What the input stages hold an edge back.
    pub(crate) delays: Delays,
    /// The crank input's threshold.
    pub(crate) arming: Arming,
    /// When things were last done.
    pub(crate) times: Times,
}

/// When things were last done, and how long they took.
pub(crate) struct Times {
    /// Up to when the rings were read, and when that was.
    drained: Stamp,
    drained_us: u32,
    converted_us: u32,
    beats: u32,
    told_us: u32,
    longest_step_us: u32,
    longest_draw_us: u32,
    polled: Option<Stamp>,
}

impl Default for Times {
    fn default() -> Self {
        Self {
            drained: Stamp(0),
            drained_us: 0,
            converted_us: 0,
            beats: 0,
            told_us: 0,
            longest_step_us: 0,
            longest_draw_us: 0,
            polled: None,
        }
    }
}

/// Who hears of edges beside the core.
struct Aside<'a> {
    faults: &'a mut Faults,
    talk: Option<&'a mut Talk>,
    /// What the crank's input is to be switched to.
    kind: Option<Kind>,
}

impl Beside for Aside<'_> {
    fn on_lost(&mut self, channel: Channel, count: u32) {
        self.faults.add(Fault::EdgesLost, count);
        defmt::warn!("lost {=u32} edges: {}", count, channel);
        if let Some(talk) = &mut self.talk {
            talk.on_lost(channel, count);
        }
    }

    fn on_kind(&mut self, kind: Kind) {
        self.kind = Some(kind);
    }

    fn hears_edges(&self) -> bool {
        self.talk.as_ref().is_some_and(|talk| talk.streams())
    }

    fn on_levels(&mut self, levels: [Level; 2]) {
        if let Some(talk) = &mut self.talk {
            talk.on_levels(levels);
        }
    }

    fn on_edge(&mut self, channel: Channel, level: Level, at: Stamp, battery_v: Option<f32>) {
        if let Some(talk) = &mut self.talk {
            talk.on_edge(channel, level, at, battery_v);
        }
    }
}

impl Handheld {
    /// One turn.
    pub(crate) fn turn(&mut self) {
        let us = board::microseconds();
        let streams = self.talk.as_ref().is_some_and(|talk| talk.streams());
        if streams || us.wrapping_sub(self.times.drained_us) >= DRAIN_EVERY_US {
            self.times.drained_us = us;
            let now = self.drain();
            self.times.drained = now;
            self.hear_keys(now);
            self.measure_supply(now);
            self.tick(now);
            self.act(now);
        }
        // Nothing is told to the core as later than the edges that it has seen.
        let now = self.times.drained;
        let began = board::microseconds();
        if self.screen.draw(self.instrument.view()) {
            self.times.longest_draw_us =
                self.times.longest_draw_us.max(board::microseconds().wrapping_sub(began));
        }
        self.screen.send(&mut self.board);
        if let Some(talk) = &mut self.talk {
            talk.turn(self.instrument, &mut self.keep, now);
            self.faults.raise_to(Fault::SerialDropped, talk.dropped());
        }
        if self.instrument.sensed().turning {
            self.keep.busy();
        }
        self.keep.tidy();
        self.feed();
        self.tell();
        board::log::send();
        board::sleep();
    }

    /// Reads both rings to their end; gives the time up to which that was done.
    #[inline(never)]
    fn drain(&mut self) -> Stamp {
        let now = self.board.capture.now();
        let channels = self.board.capture.waiting();
        let mut aside = Aside { faults: &mut self.faults, talk: self.talk.as_mut(), kind: None };
        feed(channels, now, (&mut self.delays, &mut self.kind), self.instrument, &mut aside);
        let overruns = channels.overruns();
        if let Some(kind) = aside.kind {
            defmt::info!("sparks without a crank: trying logic levels {=bool}", kind == Kind::Logic);
            let _ = self.board.crank_kind.set_state((kind == Kind::Logic).into());
        }
        if self.faults.raise_to(Fault::RingOverrun, overruns) {
            defmt::error!("capture ring overrun, {=u32} so far", overruns);
        }
        self.progress.done(Duty::Drained);
        now
    }

    fn hear_keys(&mut self, now: Stamp) {
        while let Some(event) = board::beat::next_key() {
            self.keep.busy();
            match event {
                KeyEvent::Change(key, down) => self.instrument.step_other(Event::Key { key, down }, now),
                KeyEvent::Stuck(key) => {
                    self.faults.add(Fault::KeyStuck, 1);
                    defmt::warn!("key {=u8} is stuck", key);
                    self.instrument.step_other(Event::Key { key, down: false }, now);
                }
            }
        }
    }

    #[inline(never)]
    fn measure_supply(&mut self, now: Stamp) {
        let us = board::microseconds();
        let before = self.times.converted_us;
        if us.wrapping_sub(before) < CONVERT_EVERY_US {
            return;
        }
        self.times.converted_us = us;
        // Turns of the loop can be long: what was missed meanwhile is made up for, or no voltage would come.
        let due = (us.wrapping_sub(before) / CONVERT_EVERY_US).clamp(1, MOST_CONVERTED);
        let mut found = None;
        for _ in 0..due {
            found = self.supply.add(self.board.convert(SUPPLY_CHANNEL)).or(found);
        }
        let Some(found) = found else { return };
        self.progress.done(Duty::Measured);
        let peak = self.board.convert(AMPLITUDE_CHANNEL);
        board::pwm::arming(self.arming.on_peak(peak));
        self.delays.renew(&self.calibration, self.kind.kind(), peak);
        if let Found::OutOfRange(volts) = found {
            if self.faults.count(Fault::SupplyOutOfRange) == 0 {
                defmt::warn!("supply out of range: {=f32} V", volts);
            }
            self.faults.add(Fault::SupplyOutOfRange, 1);
        }
        self.instrument.step_other(Event::Supply(found.volts()), now);
    }

    #[inline(never)]
    fn tick(&mut self, now: Stamp) {
        // A key or the supply may have brought the tick along.
        let polled = Some(self.instrument.poll_at());
        if polled != self.times.polled {
            self.times.polled = polled;
            self.progress.done(Duty::Ticked);
        }
        if (now.0.wrapping_sub(self.instrument.poll_at().0) as i32) < 0 {
            return;
        }
        let began = board::microseconds();
        self.instrument.step_other(Event::Tick, now);
        self.times.longest_step_us =
            self.times.longest_step_us.max(board::microseconds().wrapping_sub(began));
        self.progress.done(Duty::Ticked);
    }

    /// Does what the core asks for, until it asks no more.
    #[inline(never)]
    fn act(&mut self, now: Stamp) {
        while let Some(action) = self.instrument.next_action() {
            match action {
                Action::Draw => self.screen.want(),
                Action::Sound(tone, loudness) => board::beat::play(tone, loudness),
                Action::Light(level) => board::pwm::lamp(level),
                Action::Save(slot) => {
                    let stored = self.keep.save(slot, self.instrument.bytes());
                    self.faults.add(Fault::StoreFailed, u32::from(!stored));
                    self.instrument.step_other(Event::Stored { slot, stored }, now);
                }
                Action::Delete(slot) => {
                    let stored = self.keep.delete(slot);
                    self.faults.add(Fault::StoreFailed, u32::from(!stored));
                    self.instrument.step_other(Event::Stored { slot, stored }, now);
                }
                Action::Load(slot) => {
                    let data = self.keep.load(slot);
                    self.instrument.step_other(Event::Loaded { slot, data }, now);
                }
            }
        }
    }

    /// Feeds the watchdog if all duties were done.
    fn feed(&mut self) {
        let beats = board::beat::count();
        if beats != self.times.beats {
            self.times.beats = beats;
            self.progress.done(Duty::Beat);
        }
        if self.progress.may_feed() {
            self.board.watchdog.feed();
        }
        if self.faults.raise_to(Fault::LogDropped, board::log::dropped()) {
            defmt::warn!("the log dropped frames: {=u32}", board::log::dropped());
        }
    }

    fn tell(&mut self) {
        let us = board::microseconds();
        if us.wrapping_sub(self.times.told_us) < TELL_EVERY_US {
            return;
        }
        self.times.told_us = us;
        let (used, whole) = board::stack::used();
        defmt::debug!(
            "longest tick {=u32} us, longest picture {=u32} us, stack {=u32} of {=u32} bytes",
            self.times.longest_step_us,
            self.times.longest_draw_us,
            used,
            whole
        );
    }
}
