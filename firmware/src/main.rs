//! The handheld: brings edges, keys and voltages to the core, and carries out what it asks for.
#![no_std]
#![no_main]

mod board_rp2040;
mod pins;

use board_rp2040 as board;
use board_rp2040::Board;
use embedded_hal::digital::OutputPin;
use keyway_core::edges::Channel;
use keyway_core::instrument::{Action, Event, Instrument};
use keyway_core::panel::{self, frame::Frame};
use keyway_core::record::Identity;
use keyway_drivers::capture::tick_rate;
use keyway_drivers::display::Display;
use keyway_drivers::faults::{Fault, Faults};
use keyway_drivers::keys::KeyEvent;
use keyway_drivers::progress::{Duty, Progress};
use keyway_drivers::supply::{NOMINAL_GAIN, Supply};
use static_cell::{ConstStaticCell, StaticCell};

/// At most ten pictures a second, µs.
const DRAW_EVERY_US: u32 = 100_000;
/// A reading of the converter every so often, µs; 16 of them make a voltage.
const CONVERT_EVERY_US: u32 = 3_000;

#[rp2040_hal::entry]
fn main() -> ! {
    static INSTRUMENT: StaticCell<Instrument> = StaticCell::new();
    static FRAME: ConstStaticCell<Frame> = ConstStaticCell::new(Frame::new());
    let Some(mut board) = Board::start() else { panic!("a clock did not start") };
    let identity = Identity { instrument: 0, firmware: commit(), calibrated: None };
    defmt::info!("keyway, firmware {=u32:08x}", identity.firmware);
    let instrument = INSTRUMENT.init(Instrument::new(identity, tick_rate()));
    let frame = FRAME.take();
    let mut display = Display::new();
    let mut faults = Faults::new();
    let mut progress = Progress::new();
    let mut supply = Supply::new(NOMINAL_GAIN);
    if let Some(message) = board::panic::take() {
        defmt::error!("the last run ended by a panic: {=str}", message.text());
        faults.add(Fault::LastRunFailed, 1);
    }
    board.capture.start(pins::CRANK, pins::SPARK);
    defmt::info!("capture started");
    let (mut draw, mut drawn_us, mut converted_us, mut beats) = (true, 0_u32, 0_u32, 0);
    loop {
        let now = board.capture.now();
        let channels = board.capture.waiting();
        while let Some((channel, captured)) = channels.next(now) {
            if captured.lost > 0 {
                faults.add(Fault::EdgesLost, captured.lost);
                defmt::warn!("lost {=u32} edges on {}", captured.lost, channel);
                instrument.step(Event::Lost { channel, count: captured.lost }, now);
            }
            if let Some((level, at)) = captured.edge {
                instrument.step(Event::Edge { channel, level }, at);
            }
        }
        progress.done(Duty::Drained);
        let _ = Channel::Crank;
        while let Some(event) = board::beat::next_key() {
            match event {
                KeyEvent::Change(key, down) => instrument.step(Event::Key { key, down }, now),
                KeyEvent::Stuck(key) => {
                    faults.add(Fault::KeyStuck, 1);
                    defmt::warn!("key {=u8} is stuck", key);
                    instrument.step(Event::Key { key, down: false }, now);
                }
            }
        }
        let us = board::microseconds();
        if us.wrapping_sub(converted_us) >= CONVERT_EVERY_US {
            converted_us = us;
            if let Some(found) = supply.add(board.convert(0)) {
                progress.done(Duty::Measured);
                instrument.step(Event::Supply(found.volts()), now);
            }
        }
        if now.0.wrapping_sub(instrument.poll_at().0) as i32 >= 0 {
            instrument.step(Event::Tick, now);
            progress.done(Duty::Ticked);
        }
        while let Some(action) = instrument.next_action() {
            match action {
                Action::Draw => draw = true,
                Action::Sound(tone, loudness) => board::beat::play(tone, loudness),
                Action::Light(level) => board::pwm::lamp(level),
                Action::Save(slot) | Action::Delete(slot) => {
                    instrument.step(Event::Stored { slot, stored: false }, now);
                }
                Action::Load(slot) => instrument.step(Event::Loaded { slot, data: None }, now),
            }
        }
        if draw && us.wrapping_sub(drawn_us) >= DRAW_EVERY_US {
            drawn_us = us;
            draw = false;
            let Ok(()) = panel::draw(instrument.view(), frame);
            display.redrawn();
        }
        if let Some(packet) = board.wire.room() {
            let _ = board.select.set_low();
            let length = display.pack(frame, packet);
            if length > 0 {
                let _ = board.select.set_high();
                board.wire.send(length);
            }
        }
        let count = board::beat::count();
        if count != beats {
            beats = count;
            progress.done(Duty::Beat);
        }
        if progress.may_feed() {
            board.watchdog.feed();
        }
        board::log::send();
        board::sleep();
    }
}

/// The commit that this was built from.
const fn commit() -> u32 {
    let digits = env!("KEYWAY_COMMIT").as_bytes();
    let (mut value, mut place) = (0_u32, 0);
    while place < digits.len() && place < 8 {
        let digit = digits[place];
        value =
            value << 4 | (if digit >= b'a' { digit - b'a' + 10 } else { digit.wrapping_sub(b'0') }) as u32;
        place += 1;
    }
    value
}
