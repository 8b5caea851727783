//! Any keys, edges, supply and answers of the store, in any order, at the whole handheld: it goes on, has a
//! key that does something, asks the store for one thing at a time, and its picture is that of its view.

#![no_main]

mod bytes;

use bytes::Bytes;
use keyway_core::console::blank;
use keyway_core::edges::{Channel, Level};
use keyway_core::instrument::{Action, Event, Instrument, Slot};
use keyway_core::kept::{LONGEST, seal};
use keyway_core::panel::frame::Frame;
use keyway_core::panel::{Painter, draw};
use keyway_core::record::Identity;
use keyway_core::units::{Stamp, TickRate};
use keyway_core::view::{KeyLabel, View};
use libfuzzer_sys::fuzz_target;

/// What the store has: the engine that everything begins with, and whatever was saved.
struct Desk {
    instrument: Instrument,
    kept: Vec<(Slot, Vec<u8>)>,
    at: u32,
    waiting: usize,
}

impl Desk {
    fn step(&mut self, event: Event<'_>, bytes: &mut Bytes) {
        self.instrument.step(event, Stamp(self.at));
        for _ in 0..64 {
            let Some(action) = self.instrument.next_action() else { return };
            match action {
                Action::Draw | Action::Sound(..) | Action::Light(_) => {}
                Action::Save(slot) => {
                    assert!(self.instrument.bytes().len() <= LONGEST);
                    let stored = bytes.byte() < 240;
                    if stored {
                        self.kept.retain(|(kept, _)| *kept != slot);
                        self.kept.push((slot, self.instrument.bytes().to_vec()));
                    }
                    self.answer(Event::Stored { slot, stored });
                }
                Action::Delete(slot) => {
                    self.kept.retain(|(kept, _)| *kept != slot);
                    self.answer(Event::Stored { slot, stored: true });
                }
                Action::Load(slot) => {
                    let mut data =
                        self.kept.iter().find(|(kept, _)| *kept == slot).map(|(_, data)| data.clone());
                    if bytes.byte() == 255
                        && let Some(data) = &mut data
                    {
                        let place = bytes.below(data.len());
                        data[place] ^= bytes.byte();
                    }
                    self.answer(Event::Loaded { slot, data: data.as_deref() });
                }
            }
        }
        self.waiting += 1;
        assert!(self.waiting < 4, "the handheld asks without end");
    }

    fn answer(&mut self, event: Event<'_>) {
        self.instrument.step(event, Stamp(self.at));
    }
}

fuzz_target!(|data: &[u8]| {
    let mut bytes = Bytes(data);
    let mut room = [0; LONGEST];
    let engine = seal(1, &blank(), &mut room).map(<[u8]>::to_vec).unwrap_or_default();
    let instrument = Instrument::new(Identity::default(), TickRate::DESKTOP);
    let mut desk = Desk { instrument, kept: vec![(Slot::Engine(0), engine)], at: 0, waiting: 0 };
    let (mut painter, mut frame) = (Painter::new(), Frame::new());
    while !bytes.is_empty() {
        match bytes.byte() {
            code @ 0..=159 => {
                let key = code % 4;
                desk.step(Event::Key { key, down: true }, &mut bytes);
                let ticks = if code < 80 { 1 } else { 14 };
                for _ in 0..ticks {
                    desk.at = desk.at.wrapping_add(500_000);
                    desk.step(Event::Tick, &mut bytes);
                }
                desk.step(Event::Key { key, down: false }, &mut bytes);
            }
            160..=199 => {
                let spacing = 2_000 + u32::from(bytes.byte()) * 200;
                for _ in 0..bytes.byte() {
                    desk.at = desk.at.wrapping_add(spacing);
                    let channel = if bytes.byte() < 12 { Channel::Spark } else { Channel::Crank };
                    desk.step(Event::Edge { channel, level: Level::High }, &mut bytes);
                    desk.at = desk.at.wrapping_add(spacing / 2);
                    desk.step(Event::Edge { channel, level: Level::Low }, &mut bytes);
                }
            }
            200..=209 => {
                let volts = bytes.number();
                desk.step(Event::Supply(volts), &mut bytes);
            }
            210..=214 => {
                let (slot, stored) = (Slot::Record(u32::from(bytes.byte())), bytes.flag());
                desk.step(Event::Stored { slot, stored }, &mut bytes);
            }
            215..=219 => {
                let length = bytes.below(40);
                let data: Vec<u8> = (0..length).map(|_| bytes.byte()).collect();
                desk.step(Event::Loaded { slot: Slot::State, data: Some(&data) }, &mut bytes);
            }
            220..=224 => {
                let count = u32::from(bytes.byte());
                desk.step(Event::Lost { channel: Channel::Crank, count }, &mut bytes);
            }
            code => {
                for _ in 0..code - 224 {
                    desk.at = desk.at.wrapping_add(500_000);
                    desk.step(Event::Tick, &mut bytes);
                }
            }
        }
        let view = *desk.instrument.view();
        let Ok(_) = painter.draw(&view, &mut frame);
        // Before the first key or tick nothing was shown yet.
        let shown = desk.at > 0 || view != View::start();
        assert!(
            !shown || view.halt.is_some() || view.keys.iter().any(|key| *key != KeyLabel::None),
            "{view:?}"
        );
    }
    let mut whole = Frame::new();
    let Ok(()) = draw(desk.instrument.view(), &mut whole);
    assert!(whole == frame || painter_saw_nothing(&frame), "pieced and whole pictures differ");
});

/// Nothing was ever drawn.
fn painter_saw_nothing(frame: &Frame) -> bool {
    *frame == Frame::new()
}
