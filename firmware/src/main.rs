//! The handheld: brings edges, keys and voltages to the core, and carries out what it asks for.
#![no_std]
#![no_main]

mod board_rp2040;
mod handheld;
mod keep;
mod pins;
mod port;
mod screen;
mod start;
mod talk;

use board_rp2040::{self as board, Board};
use handheld::{Handheld, Times};
use keep::Keep;
use keyway_core::instrument::{Event, Instrument};
use keyway_core::panel::frame::Frame;
use keyway_core::record::Identity;
use keyway_core::view::{SelfTest, TestResult, View};
use keyway_drivers::arming::Arming;
use keyway_drivers::capture::tick_rate;
use keyway_drivers::delays::Delays;
use keyway_drivers::faults::{Fault, Faults};
use keyway_drivers::identity::Calibration;
use keyway_drivers::kind::{Kind, KindFinder};
use keyway_drivers::progress::Progress;
use keyway_drivers::supply::Supply;
// Sums and products of floats, by the compiler's own names.
use keyway_float as _;
use port::Port;
use screen::Screen;
use static_cell::StaticCell;
use talk::Talk;

#[rp2040_hal::entry]
fn main() -> ! {
    static HANDHELD: StaticCell<Handheld> = StaticCell::new();
    let handheld = HANDHELD.init_with(start);
    loop {
        handheld.turn();
    }
}

/// Everything from reset to the first turn. Not inlined: what it needs of the stack is free again afterwards.
#[inline(never)]
fn start() -> Handheld {
    static INSTRUMENT: StaticCell<Instrument> = StaticCell::new();
    static FRAME: StaticCell<Frame> = StaticCell::new();
    let Some(mut board) = Board::start() else { no_board() };
    let calibration = Calibration::read(board::flash::identity());
    let identity = Identity {
        instrument: calibration.instrument,
        firmware: commit(),
        calibrated: calibration.calibrated,
    };
    defmt::info!("keyway, firmware {=u32:08x}, instrument {=u32}", identity.firmware, identity.instrument);
    let mut screen = Screen::new(FRAME.init_with(Frame::new));
    let mut faults = Faults::new();
    let message = board::panic::take();
    if board.bitten || message.is_some() {
        faults.add(Fault::LastRunFailed, 1);
        let text = message.as_ref().map_or("no progress: the watchdog bit", |message| message.text());
        defmt::error!("the last run ended by a fault: {=str}", text);
        start::show_fault(&mut board, &mut screen, text);
    }
    // The display shows that something is going on while the test keeps the processor.
    screen.draw(&View::start());
    let (capture, angle_error) = start::test_capture(&mut board, &mut screen);
    let keep = Keep::open(board.flash.take());
    let passed = |passed| if passed { TestResult::Passed } else { TestResult::Failed };
    let test = SelfTest {
        capture,
        angle_error,
        store: passed(keep.works()),
        supply: passed(board.convert(0) < 4000),
        last_run_failed: faults.count(Fault::LastRunFailed) > 0,
        firmware: identity.firmware,
        instrument: identity.instrument,
        calibrated: identity.calibrated,
    };
    let instrument = INSTRUMENT.init_with(|| Instrument::new(identity, tick_rate()));
    let talk = board.start_usb().map(|usb| Talk::new(Port::new(usb), identity));
    board.capture.start(pins::CRANK, pins::SPARK);
    let now = board.capture.now();
    instrument.step_other(Event::Tested(test), now);
    defmt::info!("running");
    Handheld {
        supply: Supply::new(calibration.supply_gain),
        board,
        instrument,
        screen,
        keep,
        talk,
        calibration,
        faults,
        progress: Progress::new(),
        delays: Delays::new(&calibration, Kind::Reluctance),
        kind: KindFinder::new(),
        arming: Arming::new(),
        times: Times::default(),
    }
}

/// Nothing can go on without clocks: the message is kept, and the next start may find them.
#[allow(clippy::panic, reason = "the one that is meant")]
fn no_board() -> ! {
    panic!("a clock did not start")
}

/// The commit that this was built from.
const fn commit() -> u32 {
    let digits = env!("KEYWAY_COMMIT").as_bytes();
    let (mut value, mut place) = (0_u32, 0);
    while place < digits.len() && place < 8 {
        let digit = digits[place];
        let digit = if digit >= b'a' { digit - b'a' + 10 } else { digit.wrapping_sub(b'0') };
        value = value << 4 | digit as u32;
        place += 1;
    }
    value
}
