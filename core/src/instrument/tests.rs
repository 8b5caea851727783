use super::*;
use crate::console::blank;
use crate::corrections::Corrected;
use crate::job::Rotation;
use crate::view::{CorrectionLine, FieldId, MenuItem, Screen, StepId};
use std::collections::BTreeMap;
use std::println;
use std::string::{String, ToString};
use std::vec::Vec as List;

#[test]
fn the_whole_core_stays_within_its_memory() {
    let whole = size_of::<Instrument>();
    println!(
        "instrument {whole} = meter {} + guide {} + console {} + view {} + the rest",
        size_of::<Meter>(),
        size_of::<Guide>(),
        size_of::<Console>(),
        size_of::<View>()
    );
    assert!(whole <= 16 * 1024, "{whole}");
}

/// An instrument with a store and a clock.
struct Desk {
    instrument: Instrument,
    store: BTreeMap<String, List<u8>>,
    at: u32,
}

impl Desk {
    fn new(store: BTreeMap<String, List<u8>>) -> Self {
        let instrument = Instrument::new(Identity::default(), TickRate::DESKTOP);
        let mut desk = Self { instrument, store, at: 0 };
        desk.pass(500);
        desk
    }

    fn step(&mut self, event: Event<'_>) {
        self.instrument.step(event, Stamp(self.at));
        while let Some(action) = self.instrument.next_action() {
            match action {
                Action::Draw | Action::Sound(..) | Action::Light(_) => {}
                Action::Save(slot) => {
                    let bytes = self.instrument.bytes().to_vec();
                    self.store.insert(std::format!("{slot:?}"), bytes);
                    self.instrument.step(Event::Stored { slot, stored: true }, Stamp(self.at));
                }
                Action::Delete(slot) => {
                    self.store.remove(&std::format!("{slot:?}"));
                    self.instrument.step(Event::Stored { slot, stored: true }, Stamp(self.at));
                }
                Action::Load(slot) => {
                    let data = self.store.get(&std::format!("{slot:?}")).cloned();
                    self.instrument.step(Event::Loaded { slot, data: data.as_deref() }, Stamp(self.at));
                }
            }
        }
    }

    fn pass(&mut self, ms: u32) {
        for _ in 0..ms / 50 {
            self.at = self.at.wrapping_add(500_000);
            self.step(Event::Tick);
        }
    }

    fn key(&mut self, key: u8) {
        self.step(Event::Key { key, down: true });
        self.step(Event::Key { key, down: false });
        self.pass(50);
    }

    fn press(&mut self, label: KeyLabel) -> bool {
        let place = self.instrument.view().keys.iter().position(|key| *key == label);
        if let Some(place) = place {
            self.key(place as u8);
        }
        place.is_some()
    }

    fn choose(&mut self, item: MenuItem) -> bool {
        for _ in 0..12 {
            let Screen::Menu(menu) = self.instrument.view().screen else { return false };
            if menu.items.get(usize::from(menu.selected)) == Some(&Some(item)) {
                return self.press(KeyLabel::Select);
            }
            self.press(KeyLabel::Down);
        }
        false
    }

    /// Enters the engine that stands there, unchanged, and keeps it.
    fn enter_engine(&mut self) {
        self.press(KeyLabel::Next);
        self.choose(MenuItem::NewEngine);
        for _ in 0..64 {
            if !self.press(KeyLabel::Enter) {
                self.press(KeyLabel::Save);
                return;
            }
        }
    }
}

#[test]
fn an_engine_is_entered_with_four_keys_kept_and_found_again_after_a_restart() {
    let mut desk = Desk::new(BTreeMap::new());
    desk.enter_engine();
    assert!(matches!(desk.instrument.view().screen, Screen::Menu(menu) if menu.id == MenuId::Engine));
    let mut desk = Desk::new(desk.store);
    desk.press(KeyLabel::Next);
    desk.choose(MenuItem::ChooseEngine);
    let Screen::Engines(list) = desk.instrument.view().screen else { panic!("no list of engines") };
    assert_eq!(list.engines[1].map(|name| name.as_str().to_string()), Some(String::from("Engine")));
    desk.press(KeyLabel::Select);
    assert!(desk.choose(MenuItem::StartJob));
    assert_eq!(desk.instrument.view().bar.step.map(|place| place.id), Some(StepId::MakeSafe));
}

#[test]
fn a_job_that_was_left_by_a_reset_is_offered_and_goes_on() {
    let mut desk = Desk::new(BTreeMap::new());
    desk.enter_engine();
    desk.choose(MenuItem::StartJob);
    desk.pass(200);
    let mut desk = Desk::new(desk.store);
    desk.press(KeyLabel::Next);
    assert!(desk.choose(MenuItem::Resume));
    assert_eq!(desk.instrument.view().notice, Some(Notice::Resumed));
    assert!(desk.instrument.view().bar.step.is_some());
}

/// Length and checksum of a job's state as it begins, with the version they belong to. Where they change, so must the
/// version: the state of an older firmware would be read as something else.
const STATE_AS_IT_BEGINS: (u8, usize, u32) = (3, 188, 838_073_713);

#[test]
fn the_state_of_a_job_changes_its_version_with_its_layout() {
    let mut desk = Desk::new(BTreeMap::new());
    desk.enter_engine();
    desk.choose(MenuItem::StartJob);
    desk.pass(200);
    let state = desk.store.get("State").cloned().unwrap_or_default();
    let sum = state.last_chunk().copied().map_or(0, u32::from_le_bytes);
    let version = state.first().copied().unwrap_or_default();
    assert_eq!((version, state.len(), sum), STATE_AS_IT_BEGINS);
}

#[test]
fn what_was_measured_about_an_engine_outlasts_its_job_until_its_entry_changes() {
    let mut desk = Desk::new(BTreeMap::new());
    desk.enter_engine();
    let wheel = Some(Corrected { degrees: -2.5, doubt: 0.1 });
    let zero = Some(Corrected { degrees: 1.0, doubt: 0.3 });
    let rotor = Some(Rotation::Counterclockwise);
    let kept = crate::kept::seal(2, &(blank(), Corrections { zero: None, wheel, rotor }), &mut [0; LONGEST])
        .map(<[u8]>::to_vec);
    desk.store.insert(String::from("Engine(0)"), kept.unwrap_or_default());
    let choose = |store| {
        let mut desk = Desk::new(store);
        desk.press(KeyLabel::Next);
        desk.choose(MenuItem::ChooseEngine);
        desk.press(KeyLabel::Select);
        desk
    };
    let mut desk = choose(desk.store);
    assert!(desk.choose(MenuItem::Corrections));
    let corrections = |desk: &Desk| desk.instrument.corrections();
    assert_eq!(corrections(&desk), Corrections { zero: None, wheel, rotor });
    let Screen::Corrections(list) = desk.instrument.view().screen else { panic!("no list of corrections") };
    assert_eq!(list.lines.iter().flatten().count(), 2);
    assert_eq!(list.lines[0], Some(CorrectionLine::Wheel { entered: 84.0, found: 81.5, doubt: 0.1 }));
    // Forgotten here, forgotten in the store.
    assert!(desk.press(KeyLabel::Forget));
    let mut desk = choose(desk.store);
    assert_eq!(desk.instrument.lasting, Corrections { zero: None, wheel: None, rotor });
    // Another rotor entered, and the old finding is void; a zero never outlasts its job.
    desk.instrument.lasting.zero = zero;
    assert!(desk.choose(MenuItem::EditEngine));
    for _ in 0..64 {
        if matches!(desk.instrument.view().screen, Screen::Field(field) if field.field == FieldId::Rotor) {
            desk.press(KeyLabel::Change);
        }
        if !desk.press(KeyLabel::Enter) {
            break;
        }
    }
    assert!(desk.press(KeyLabel::Save));
    assert_eq!(choose(desk.store).instrument.lasting, Corrections::default());
}

#[test]
fn an_engine_can_be_deleted_and_its_place_is_free_again() {
    let mut desk = Desk::new(BTreeMap::new());
    desk.enter_engine();
    assert!(desk.store.contains_key("Engine(0)"));
    assert!(desk.choose(MenuItem::DeleteEngine));
    assert!(!desk.store.contains_key("Engine(0)"));
    assert_eq!(desk.instrument.view().notice, Some(Notice::EngineDeleted));
}

#[test]
fn a_damaged_store_is_said_and_nothing_is_taken_over() {
    let mut store = BTreeMap::new();
    for slot in ["Settings", "State", "Engine(0)", "Engine(7)"] {
        store.insert(String::from(slot), std::vec![1, 2, 3, 4, 5, 6, 7]);
    }
    let mut desk = Desk::new(store);
    assert_eq!(desk.instrument.view().notice, Some(Notice::Unreadable));
    desk.press(KeyLabel::Next);
    assert!(!desk.choose(MenuItem::Resume));
}

#[test]
fn keys_turned_round_have_their_labels_turned_round_too() {
    let mut desk = Desk::new(BTreeMap::new());
    desk.press(KeyLabel::Next);
    desk.choose(MenuItem::Settings);
    (0..3).for_each(|_| assert!(desk.press(KeyLabel::Down)));
    assert!(desk.press(KeyLabel::More));
    assert_eq!(desk.instrument.view().keys[3], KeyLabel::Back);
    assert!(desk.press(KeyLabel::Back));
    let mut desk = Desk::new(desk.store);
    assert_eq!(desk.instrument.view().keys[0], KeyLabel::Next);
    assert!(desk.press(KeyLabel::Next));
}

/// A small generator (xorshift), so that the same events come on every machine.
struct Chance(u64);

impl Chance {
    fn next(&mut self, below: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % below
    }
}

#[test]
fn any_keys_edges_and_answers_in_any_order_leave_a_view_with_keys() {
    for seed in 1..=40 {
        let mut chance = Chance(seed * 7919);
        let mut desk = Desk::new(BTreeMap::new());
        desk.enter_engine();
        for _ in 0..1500 {
            match chance.next(12) {
                0..=5 => desk.key(chance.next(4) as u8),
                6 => {
                    let key = chance.next(4) as u8;
                    desk.step(Event::Key { key, down: true });
                    desk.pass(700);
                    desk.step(Event::Key { key, down: false });
                }
                7 => {
                    for _ in 0..chance.next(80) {
                        desk.at = desk.at.wrapping_add(4_000 + chance.next(9_000) as u32);
                        let channel = if chance.next(9) == 0 { Channel::Spark } else { Channel::Crank };
                        let level = if chance.next(2) == 0 { Level::Low } else { Level::High };
                        desk.step(Event::Edge { channel, level });
                    }
                }
                8 => desk.step(Event::Supply(chance.next(300) as f32 / 10.0 - 5.0)),
                9 => desk.step(Event::Lost { channel: Channel::Crank, count: chance.next(9) as u32 }),
                10 => {
                    let slot = Slot::Record(chance.next(5) as u32);
                    let stored = chance.next(2) == 0;
                    desk.instrument.step(Event::Stored { slot, stored }, Stamp(desk.at));
                }
                _ => desk.pass(chance.next(4000) as u32),
            }
        }
        let keys = desk.instrument.view().keys;
        let halted = desk.instrument.view().halt.is_some();
        assert!(halted || keys.iter().any(|key| *key != KeyLabel::None), "{:?}", desk.instrument.view());
    }
}

/// An engine of version 1, from before corrections were kept with it. It must open for ever.
#[rustfmt::skip]
const ENGINE_ONE: &[u8] = &[
    1, 13, 87, 101, 105, 114, 32, 112, 117, 109, 112, 32, 115, 105, 120, 6, 4, 6, 1, 5,
    3, 6, 2, 4, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 32, 65, 0, 0, 0, 0,
    0, 0, 0, 0, 128, 63, 0, 0, 32, 65, 0, 0, 22, 68, 0, 0, 97, 68, 1, 51,
    51, 83, 65, 0, 36, 1, 0, 0, 168, 66, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    0, 185, 98, 190, 29,
];

/// The same of version 2, with what a piston stop found of its zero mark. It must open for ever.
#[rustfmt::skip]
const ENGINE_TWO: &[u8] = &[
    2, 13, 87, 101, 105, 114, 32, 112, 117, 109, 112, 32, 115, 105, 120, 6, 4, 6, 1, 5,
    3, 6, 2, 4, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 32, 65, 0, 0, 0, 0,
    0, 0, 0, 0, 128, 63, 0, 0, 32, 65, 0, 0, 22, 68, 0, 0, 97, 68, 1, 51,
    51, 83, 65, 0, 36, 1, 0, 0, 168, 66, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    0, 1, 0, 0, 192, 63, 0, 0, 128, 62, 0, 0, 236, 76, 202, 235,
];

/// The engine that both hold.
fn engine_kept() -> JobSpec {
    let mut spec = blank();
    spec.name = heapless::String::try_from("Weir pump six").unwrap_or_default();
    spec
}

#[test]
fn engines_of_older_versions_still_open_and_a_newer_one_is_named() {
    let zero = Corrections { zero: Some(Corrected { degrees: 1.5, doubt: 0.25 }), ..Corrections::default() };
    assert_eq!(open_engine(ENGINE_ONE), Ok((engine_kept(), Corrections::default())));
    assert_eq!(open_engine(ENGINE_TWO), Ok((engine_kept(), zero)));
    let mut newer = ENGINE_TWO.to_vec();
    newer[0] = 3;
    assert!(open_engine(&newer).is_err());
}
