//! Keys, menus, the job editor and settings: everything on the handheld that is not the job itself.
//!
//! *Place*: which of them is open. *Request*: what a key asks of the instrument. The console knows no
//! engine and no meter; it keeps the list of names, the settings and what is being entered.
//!
//! ```text
//!   SelfTest ▶ Home ─┬─ Engines ─▶ EngineMenu ─┬─ Guide ◀──▶ JobMenu
//!                    ├─ Editor ◀───────────────┤
//!                    ├─ Records ─▶ Record      └─ (true zero, teach, no start: within Guide)
//!                    └─ Settings
//! ```

mod editor;
mod fields;
mod menus;

pub use editor::{Edited, Editor};
pub use fields::blank;
pub use menus::Settings;

use crate::job::JobSpec;
use crate::view::{
    EngineList, KeyLabel, Label, Menu, MenuId, MenuItem, Notice, RecordDetail, RecordLine, RecordList,
    Screen, SelfTest,
};
use menus::{items, settings_view};

/// Engines that are kept.
pub const ENGINES: usize = 12;
/// Records in view of the list.
pub(crate) const IN_VIEW: usize = 4;

/// Which place is open.
#[derive(Debug, Clone)]
#[allow(clippy::large_enum_variant, reason = "there is one place, and no heap to box the editor in")]
pub enum Place {
    /// Self-test results.
    SelfTest,
    /// A menu.
    Menu {
        /// Which.
        id: MenuId,
        /// Among all its items.
        selected: u8,
    },
    /// Choose an engine.
    Engines {
        /// 0 is "a new engine".
        selected: u8,
    },
    /// A job being entered.
    Edit(Editor),
    /// The guided job.
    Guide,
    /// The list of records, the newest first.
    Records {
        /// 0 is the newest.
        selected: u16,
        /// Those in view, from the selected on, as far as they have come.
        lines: [Option<RecordLine>; IN_VIEW],
    },
    /// One record.
    Record {
        /// Its number.
        number: u32,
        /// Shown as a code.
        as_code: bool,
        /// What is in it, once it has come.
        detail: Option<RecordDetail>,
    },
    /// The settings.
    Settings {
        /// Which line.
        selected: u8,
    },
}

/// What a key asks of the instrument.
#[derive(Debug, Clone, PartialEq)]
pub enum Request {
    /// Nothing.
    None,
    /// Choose the engine kept in this slot.
    Choose(u8),
    /// Keep this engine; in a new slot where none is given.
    Keep(Option<u8>),
    /// Delete the engine in this slot.
    Delete(u8),
    /// Start a job, or open one of its side trips.
    Item(MenuItem),
    /// Show the record of this number.
    Open(u32),
    /// Fetch the lines of the records from this number down.
    Fetch(u32),
    /// The settings changed.
    Changed,
    /// A key for the guide.
    ToGuide(usize),
}

/// The console.
#[derive(Debug, Clone)]
pub struct Console {
    /// Which place is open.
    pub place: Place,
    /// The settings.
    pub settings: Settings,
    /// Names of the engines kept, by slot; empty where none is.
    pub names: [Label; ENGINES],
    /// The slot of the engine chosen.
    pub slot: Option<u8>,
    /// A job was left and can be gone on with.
    pub can_resume: bool,
    /// The self-test.
    pub test: SelfTest,
    /// The chosen engine is being deleted.
    pub deleting: bool,
    editing: Option<u8>,
}

impl Console {
    /// At the self-test.
    pub fn new(test: SelfTest) -> Self {
        Self {
            place: Place::SelfTest,
            settings: Settings::default(),
            names: [Label::EMPTY; ENGINES],
            slot: None,
            can_resume: false,
            test,
            deleting: false,
            editing: None,
        }
    }

    fn slots(&self) -> impl Iterator<Item = u8> + '_ {
        (0..ENGINES as u8)
            .filter(|slot| self.names.get(usize::from(*slot)).is_some_and(|name| *name != Label::EMPTY))
    }

    /// The first free slot.
    pub fn free_slot(&self) -> Option<u8> {
        (0..ENGINES as u8).find(|slot| self.names.get(usize::from(*slot)) == Some(&Label::EMPTY))
    }

    fn menu(&self, id: MenuId) -> heapless::Vec<MenuItem, 12> {
        items(id, self.can_resume)
    }

    /// Opens a menu at its first item.
    pub fn open_menu(&mut self, id: MenuId) {
        self.place = Place::Menu { id, selected: 0 };
    }

    /// Begins entering a job; `slot` where it is to be kept.
    pub fn edit(&mut self, spec: JobSpec, slot: Option<u8>) {
        self.editing = slot;
        self.place = Place::Edit(Editor::new(spec));
    }

    /// The labels of the four keys; the guide's own at its place.
    pub fn keys(&self) -> [KeyLabel; 4] {
        use KeyLabel::*;
        match &self.place {
            Place::SelfTest => [None, None, None, Next],
            Place::Menu { id: MenuId::Home, .. } => [None, Up, Down, Select],
            Place::Menu { .. } | Place::Engines { .. } | Place::Records { .. } => [Back, Up, Down, Select],
            Place::Edit(editor) => editor.keys(),
            Place::Guide => [None; 4],
            Place::Record { as_code, .. } => [Back, None, None, if *as_code { Values } else { Code }],
            Place::Settings { .. } => [Back, Down, Less, More],
        }
    }

    /// A key was pressed.
    pub fn key(&mut self, key: usize) -> Request {
        match self.place.clone() {
            Place::SelfTest => {
                if key == 3 {
                    self.open_menu(MenuId::Home);
                }
                Request::None
            }
            Place::Menu { id, selected } => self.menu_key(id, selected, key),
            Place::Engines { selected } => self.engines_key(selected, key),
            Place::Edit(mut editor) => match editor.key(key) {
                Edited::Going => {
                    self.place = Place::Edit(editor);
                    Request::None
                }
                Edited::GivenUp => {
                    self.open_menu(MenuId::Home);
                    Request::None
                }
                Edited::Finished => {
                    self.place = Place::Edit(editor);
                    Request::Keep(self.editing)
                }
            },
            Place::Guide => Request::ToGuide(key),
            Place::Records { selected, .. } => self.records_key(selected, key),
            Place::Record { number, as_code, detail } => {
                if key == 3 {
                    self.place = Place::Record { number, as_code: !as_code, detail };
                } else if key == 0 {
                    self.list_records((self.settings.records.saturating_sub(number)) as u16);
                    return Request::Fetch(number);
                }
                Request::None
            }
            Place::Settings { selected } => {
                let request = self.settings.key(selected, key);
                match key {
                    0 => self.open_menu(MenuId::Home),
                    1 => self.place = Place::Settings { selected: (selected + 1) % 4 },
                    _ => {}
                }
                if request { Request::Changed } else { Request::None }
            }
        }
    }

    fn menu_key(&mut self, id: MenuId, selected: u8, key: usize) -> Request {
        let items = self.menu(id);
        let count = (items.len() as u8).max(1);
        match (key, id) {
            (0, MenuId::Home) => {}
            (0, MenuId::Engine) => self.open_menu(MenuId::Home),
            (0, MenuId::Job) => self.place = Place::Guide,
            (1, _) => self.place = Place::Menu { id, selected: (selected + count - 1) % count },
            (2, _) => self.place = Place::Menu { id, selected: (selected + 1) % count },
            (_, _) => {
                if let Some(item) = items.get(usize::from(selected)) {
                    return self.item(*item);
                }
            }
        }
        Request::None
    }

    fn item(&mut self, item: MenuItem) -> Request {
        match item {
            MenuItem::ChooseEngine => {
                self.place = Place::Engines { selected: 1.min(self.slots().count()) as u8 }
            }
            MenuItem::NewEngine => self.edit(blank(), None),
            MenuItem::Records => {
                self.list_records(0);
                return Request::Fetch(self.settings.records);
            }
            MenuItem::Settings => self.place = Place::Settings { selected: 0 },
            MenuItem::SelfTest => self.place = Place::SelfTest,
            MenuItem::BackToStep => self.place = Place::Guide,
            MenuItem::DeleteEngine => {
                if let Some(slot) = self.slot {
                    self.deleting = true;
                    return Request::Delete(slot);
                }
            }
            MenuItem::Resume
            | MenuItem::StartJob
            | MenuItem::EditEngine
            | MenuItem::TrueZero
            | MenuItem::Teach
            | MenuItem::NoStart
            | MenuItem::OtherChecks
            | MenuItem::Causes
            | MenuItem::NextCheck
            | MenuItem::Corrections
            | MenuItem::LeaveJob => return Request::Item(item),
        }
        Request::None
    }

    fn engines_key(&mut self, selected: u8, key: usize) -> Request {
        let count = (self.slots().count() as u8).saturating_add(1);
        match key {
            0 => self.open_menu(MenuId::Home),
            1 => self.place = Place::Engines { selected: (selected + count - 1) % count },
            2 => self.place = Place::Engines { selected: (selected + 1) % count },
            _ if selected == 0 => self.edit(blank(), None),
            _ => {
                let slot = self.slots().nth(usize::from(selected) - 1);
                if let Some(slot) = slot {
                    return Request::Choose(slot);
                }
            }
        }
        Request::None
    }

    /// Opens the list of records at one of them; its lines are still to come.
    fn list_records(&mut self, selected: u16) {
        self.place = Place::Records { selected, lines: [None; IN_VIEW] };
    }

    fn records_key(&mut self, selected: u16, key: usize) -> Request {
        let count = self.settings.records.min(u32::from(u16::MAX)) as u16;
        if key == 0 || count == 0 {
            self.open_menu(MenuId::Home);
            return Request::None;
        }
        let newest = self.settings.records;
        let number = |selected: u16| newest.saturating_sub(u32::from(selected));
        let next = match key {
            1 => (selected + count - 1) % count,
            2 => (selected + 1) % count,
            _ => {
                let number = number(selected);
                self.place = Place::Record { number, as_code: false, detail: None };
                return Request::Open(number);
            }
        };
        self.list_records(next);
        Request::Fetch(number(next))
    }

    /// What fills the middle; `None` at the guide's place and for a record that has not come.
    pub fn screen(&self) -> Option<Screen> {
        match &self.place {
            Place::SelfTest => Some(Screen::SelfTest(self.test)),
            Place::Menu { id, selected } => {
                let all = self.menu(*id);
                let first = usize::from(*selected).saturating_sub(5);
                let mut shown = [None; 6];
                for (place, item) in shown.iter_mut().zip(all.iter().skip(first)) {
                    *place = Some(*item);
                }
                let engine = self.slot.and_then(|slot| self.names.get(usize::from(slot))).copied();
                Some(Screen::Menu(Menu {
                    id: *id,
                    engine: engine.unwrap_or(Label::EMPTY),
                    items: shown,
                    selected: selected - first as u8,
                    above: first > 0,
                    below: all.len() > first + 6,
                }))
            }
            Place::Engines { selected } => {
                let of = self.slots().count() as u8 + 1;
                let first = usize::from(*selected).saturating_sub(4);
                let mut engines = [None; 5];
                let names = self.slots().filter_map(|slot| self.names.get(usize::from(slot)).copied());
                let all = core::iter::once(Label::EMPTY).chain(names);
                for (place, name) in engines.iter_mut().zip(all.skip(first)) {
                    *place = Some(name);
                }
                let number = selected + 1;
                Some(Screen::Engines(EngineList { engines, selected: selected - first as u8, number, of }))
            }
            Place::Edit(editor) => Some(Screen::Field(editor.view())),
            Place::Guide => None,
            Place::Record { as_code, detail, .. } => {
                detail.map(|detail| Screen::Record(RecordDetail { as_code: *as_code, ..detail }))
            }
            Place::Records { selected, lines } => Some(Screen::Records(RecordList {
                lines: *lines,
                selected: 0,
                number: selected + 1,
                of: self.settings.records.min(u32::from(u16::MAX)) as u16,
            })),
            Place::Settings { selected } => Some(Screen::Settings(settings_view(&self.settings, *selected))),
        }
    }

    /// An engine was kept in a slot.
    pub fn kept(&mut self, slot: u8, name: &str) -> Notice {
        if let Some(kept) = self.names.get_mut(usize::from(slot)) {
            *kept = Label::new(name);
        }
        self.slot = Some(slot);
        self.open_menu(MenuId::Engine);
        Notice::EngineSaved
    }
}
