//! What is kept and fetched: one thing at a time, each answered before the next is asked for.

use super::{Action, Instrument, Slot};
use crate::console::{ENGINES, IN_VIEW, Place};
use crate::corrections::Corrections;
use crate::guide::{Guide, Snapshot, SnapshotRef};
use crate::job::JobSpec;
use crate::kept::{LONGEST, Unreadable, open, seal, version};
use crate::record::{Record, When};
use crate::view::{Label, MenuId, Notice};

/// Versions of what is kept besides records.
const STATE_VERSION: u8 = 3;
/// An engine as entered.
pub(super) const ENGINE_VERSION: u8 = 1;
/// An engine with the corrections that outlast a job.
const CORRECTED_VERSION: u8 = 2;
const SETTINGS_VERSION: u8 = 1;

/// What is wanted of the world and not yet asked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wants {
    pub(super) draw: bool,
    pub(super) sound: bool,
    light: bool,
    pub(super) state: bool,
    pub(super) record: bool,
    settings: bool,
    engine: Option<u8>,
    pub(super) delete: Option<Slot>,
    pub(super) load: Option<Slot>,
    /// Engines asked for at start so far.
    listed: u8,
    /// Lines of records still to fetch: the next number, and how many.
    lines: (u32, u8),
    choosing: Option<u8>,
    resuming: bool,
    /// Whether a record later than the settings know is to be looked for.
    probe: bool,
    waiting: Option<Slot>,
}

impl Wants {
    pub(super) const fn at_start() -> Self {
        Self {
            draw: true,
            sound: false,
            light: false,
            state: false,
            record: false,
            settings: false,
            engine: None,
            delete: None,
            load: Some(Slot::Settings),
            listed: 0,
            lines: (0, 0),
            choosing: None,
            resuming: false,
            probe: false,
            waiting: None,
        }
    }

    pub(super) fn choose(&mut self, slot: u8) {
        self.choosing = Some(slot);
        self.load = Some(Slot::Engine(slot));
    }

    pub(super) fn resume(&mut self) {
        self.resuming = true;
        self.load = Some(Slot::State);
    }

    pub(super) fn settings_changed(&mut self) {
        self.settings = true;
        self.light = true;
        self.sound = true;
    }
}

/// An engine as kept, of either version.
///
/// # Errors
/// [`Unreadable`], with the version it is of where that is a newer firmware's.
pub fn open_engine(data: &[u8]) -> Result<(JobSpec, Corrections), Unreadable> {
    match version(data) {
        Some(CORRECTED_VERSION) => open(CORRECTED_VERSION, data),
        _ => open(ENGINE_VERSION, data).map(|spec| (spec, Corrections::default())),
    }
}

impl Instrument {
    pub(super) fn next_wanted(&mut self) -> Option<Action> {
        if core::mem::take(&mut self.wants.sound) {
            return Some(Action::Sound(self.tone, self.console.settings.loudness));
        }
        if core::mem::take(&mut self.wants.light) {
            return Some(Action::Light(self.console.settings.light));
        }
        if self.wants.waiting.is_none()
            && let Some(action) = self.next_of_store()
        {
            return Some(action);
        }
        core::mem::take(&mut self.wants.draw).then_some(Action::Draw)
    }

    fn next_of_store(&mut self) -> Option<Action> {
        let save = if core::mem::take(&mut self.wants.state) {
            self.seal_state().then_some(Slot::State)
        } else if core::mem::take(&mut self.wants.record) {
            self.seal_record()
        } else if core::mem::take(&mut self.wants.settings) {
            self.seal_settings().then_some(Slot::Settings)
        } else if let Some(slot) = self.wants.engine.take() {
            self.seal_engine().then_some(Slot::Engine(slot))
        } else {
            None
        };
        if let Some(slot) = save {
            self.wants.waiting = Some(slot);
            return Some(Action::Save(slot));
        }
        if let Some(slot) = self.wants.delete.take() {
            self.wants.waiting = Some(slot);
            return Some(Action::Delete(slot));
        }
        let load = match self.wants.load.take() {
            Some(slot) => Some(slot),
            None if core::mem::take(&mut self.wants.probe) => {
                Some(Slot::Record(self.console.settings.records.saturating_add(1)))
            }
            None if usize::from(self.wants.listed) < ENGINES => {
                self.wants.listed += 1;
                Some(Slot::Engine(self.wants.listed - 1))
            }
            None if usize::from(self.wants.listed) == ENGINES => {
                self.wants.listed += 1;
                Some(Slot::State)
            }
            None => self.next_line(),
        };
        self.wants.waiting = load;
        load.map(Action::Load)
    }

    fn next_line(&mut self) -> Option<Slot> {
        let (number, count) = self.wants.lines;
        if number == 0 || count == 0 {
            return None;
        }
        self.wants.lines = (number - 1, count - 1);
        Some(Slot::Record(number))
    }

    /// Asks for the lines of four records from this number down.
    pub(super) fn fetch_lines(&mut self, number: u32) {
        self.wants.lines = (number, IN_VIEW as u8);
    }

    fn sealed<T: serde::Serialize>(buffer: &mut heapless::Vec<u8, LONGEST>, version: u8, value: &T) -> bool {
        let _ = buffer.resize_default(LONGEST);
        let length = seal(version, value, buffer).map_or(0, <[u8]>::len);
        buffer.truncate(length);
        length > 0
    }

    fn seal_state(&mut self) -> bool {
        let (Some(guide), Some(spec)) = (&self.guide, &self.spec) else { return false };
        let slot = self.console.slot;
        let snapshot = SnapshotRef { spec, slot, step: guide.state().step(), facts: guide.facts() };
        Self::sealed(&mut self.buffer, STATE_VERSION, &snapshot)
    }

    fn seal_settings(&mut self) -> bool {
        Self::sealed(&mut self.buffer, SETTINGS_VERSION, &self.console.settings)
    }

    fn seal_engine(&mut self) -> bool {
        let Some(spec) = &self.spec else { return false };
        if self.lasting == Corrections::default() {
            return Self::sealed(&mut self.buffer, ENGINE_VERSION, spec);
        }
        Self::sealed(&mut self.buffer, CORRECTED_VERSION, &(spec, self.lasting))
    }

    fn seal_record(&mut self) -> Option<Slot> {
        let (guide, spec, meter) = (self.guide.as_ref()?, self.spec.as_ref()?, self.meter.as_ref()?);
        let number = self.console.settings.records.saturating_add(1);
        let took_s = self.ms.wrapping_sub(self.job_began_ms) / 1000;
        let when = When { clock: self.wall_clock, took_s };
        let record = Record::of(number, self.identity, when, spec, meter.job(), guide.facts());
        let _ = self.buffer.resize_default(LONGEST);
        let length = record.encode(&mut self.buffer).map_or(0, <[u8]>::len);
        self.buffer.truncate(length);
        if length == 0 {
            self.on_stored(Slot::Record(number), false);
            return None;
        }
        Some(Slot::Record(number))
    }

    /// Keeps the engine that was entered, in its slot or in a free one.
    pub(super) fn keep_engine(&mut self, slot: Option<u8>) {
        let Place::Edit(editor) = &self.console.place else { return };
        let spec = editor.spec.clone();
        let Some(slot) = slot.or(self.console.free_slot()) else {
            self.notice = Some((Notice::ListFull, self.ms));
            return;
        };
        // What was measured of an entry does not outlast another entry.
        let before = self.spec.as_ref().filter(|_| self.console.slot == Some(slot));
        let lasting = match before {
            Some(before) => Corrections {
                zero: None,
                wheel: self.lasting.wheel.filter(|_| before.crank == spec.crank),
                rotor: self.lasting.rotor.filter(|_| before.engine.rotor == spec.engine.rotor),
            },
            None => Corrections::default(),
        };
        let notice = self.console.kept(slot, &spec.name);
        self.notice = Some((notice, self.ms));
        self.wants.engine = Some(slot);
        self.take_engine(spec, lasting);
    }

    /// Keeps with the engine what was measured about it; the zero holds for its job alone.
    pub(super) fn keep_corrections(&mut self) {
        let Some(guide) = &self.guide else { return };
        self.lasting = Corrections { zero: None, ..guide.facts().corrections };
        self.wants.engine = self.console.slot;
    }

    fn take_engine(&mut self, spec: JobSpec, lasting: Corrections) {
        self.spec = Some(spec);
        self.lasting = lasting;
        self.guide = None;
        self.rebuild_meter();
    }

    /// Starts the job of the engine chosen, or goes on with one.
    pub(super) fn start_job(&mut self, resumed: Option<Snapshot>) {
        if let Some(snapshot) = &resumed {
            self.spec = Some(snapshot.spec.clone());
            self.console.slot = snapshot.slot;
            self.lasting = Corrections { zero: None, ..snapshot.facts.corrections };
        }
        let Some(spec) = &self.spec else { return };
        let corrections = resumed.as_ref().map_or(self.lasting, |snapshot| snapshot.facts.corrections);
        let Ok(job) = corrections.apply(spec) else { return };
        self.job_began_ms = self.ms;
        self.wants.state = resumed.is_none();
        self.guide = Some(match resumed {
            Some(snapshot) => Guide::resumed(&job, snapshot.facts, snapshot.step),
            None => Guide::new(&job, corrections),
        });
        self.console.place = Place::Guide;
        self.console.can_resume = true;
        self.rebuild_meter();
    }

    pub(super) fn on_stored(&mut self, slot: Slot, stored: bool) {
        if self.wants.waiting == Some(slot) {
            self.wants.waiting = None;
        }
        match slot {
            Slot::Record(number) => {
                if stored {
                    self.console.settings.records = self.console.settings.records.max(number);
                    self.wants.settings = true;
                }
                if let Some(guide) = &mut self.guide {
                    guide.on_stored(stored);
                }
            }
            Slot::Engine(slot) if stored && self.deleted(slot) => {}
            Slot::State | Slot::Settings | Slot::Engine(_) => {
                if !stored {
                    self.notice = Some((Notice::StoreFailed, self.ms));
                }
            }
        }
    }

    /// Whether the answer was for deleting the chosen engine, which is then gone from the list.
    fn deleted(&mut self, slot: u8) -> bool {
        let menu = matches!(self.console.place, Place::Menu { id: MenuId::Engine, .. });
        let asked = menu && self.console.slot == Some(slot) && self.console.deleting;
        if asked {
            self.console.deleting = false;
            if let Some(name) = self.console.names.get_mut(usize::from(slot)) {
                *name = Label::EMPTY;
            }
            self.console.slot = None;
            self.lasting = Corrections::default();
            self.spec = None;
            self.meter = None;
            self.guide = None;
            self.console.open_menu(MenuId::Home);
            self.notice = Some((Notice::EngineDeleted, self.ms));
        }
        asked
    }

    pub(super) fn on_loaded(&mut self, slot: Slot, data: Option<&[u8]>) {
        if self.wants.waiting == Some(slot) {
            self.wants.waiting = None;
        }
        if slot == Slot::Settings {
            // Power may have gone between a record and the settings that count it: the next number is tried.
            self.wants.probe = true;
        }
        let Some(data) = data else {
            self.wants.resuming = false;
            return;
        };
        let readable = match slot {
            Slot::Settings => {
                open(SETTINGS_VERSION, data).map(|settings| self.console.settings = settings).is_ok()
            }
            Slot::State if self.wants.resuming => match open::<Snapshot>(STATE_VERSION, data) {
                Ok(snapshot) => {
                    self.start_job(Some(snapshot));
                    self.notice = Some((Notice::Resumed, self.ms));
                    true
                }
                Err(_) => false,
            },
            Slot::State => {
                self.console.can_resume = open::<Snapshot>(STATE_VERSION, data).is_ok();
                self.console.can_resume || version(data).is_none()
            }
            Slot::Engine(number) => match open_engine(data) {
                Ok((spec, lasting)) => {
                    if let Some(name) = self.console.names.get_mut(usize::from(number)) {
                        *name = Label::new(&spec.name);
                    }
                    if self.wants.choosing == Some(number) {
                        self.wants.choosing = None;
                        self.console.slot = Some(number);
                        self.console.open_menu(MenuId::Engine);
                        self.take_engine(spec, lasting);
                    }
                    true
                }
                Err(_) => false,
            },
            Slot::Record(number) => match Record::decode(data) {
                Ok(record) => {
                    if number == self.console.settings.records.saturating_add(1) {
                        self.console.settings.records = number;
                        self.wants.settings = true;
                        self.wants.probe = true;
                    }
                    match &mut self.console.place {
                        Place::Record { number: asked, detail, .. } if *asked == number => {
                            *detail = Some(record.detail(false));
                        }
                        Place::Records { lines, .. } => {
                            if let Some(free) = lines.iter_mut().find(|line| line.is_none()) {
                                *free = Some(record.line());
                            }
                        }
                        _ => {}
                    }
                    true
                }
                Err(_) => false,
            },
        };
        if slot == Slot::State {
            self.wants.resuming = false;
        }
        if !readable {
            self.notice = Some((Notice::Unreadable, self.ms));
        }
    }
}
