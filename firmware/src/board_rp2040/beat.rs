//! The millisecond: keys are looked at and the sounder's pulses timed, whatever the program is busy with.

use core::cell::RefCell;
use critical_section::Mutex;
use heapless::Deque;
use keyway_core::sounder::Tone;
use keyway_drivers::keys::{KeyEvent, Keys};
use keyway_drivers::sounder::Sounder;
use rp2040_hal::Timer;
use rp2040_hal::pac::{self, interrupt};

use super::KeyPin;
use super::pwm::Buzzer;

/// Key events that wait to be fetched.
const EVENTS: usize = 16;
/// A beat, µs.
const BEAT_US: u32 = 1000;

struct Beat {
    keys: Keys<KeyPin>,
    events: Deque<KeyEvent, EVENTS>,
    sounder: Sounder<Buzzer>,
    next_us: u32,
    count: u32,
}

static BEAT: Mutex<RefCell<Option<Beat>>> = Mutex::new(RefCell::new(None));

/// Starts it.
pub(crate) fn start(keys: Keys<KeyPin>, _timer: &Timer) {
    let next_us = super::microseconds().wrapping_add(BEAT_US);
    let beat = Beat { keys, events: Deque::new(), sounder: Sounder::new(Buzzer), next_us, count: 0 };
    critical_section::with(|held| BEAT.borrow(held).replace(Some(beat)));
    // SAFETY: alarm 0 is only used here; the handler is ready.
    unsafe {
        let timer = &*pac::TIMER::ptr();
        timer.inte().modify(|_, w| w.alarm_0().set_bit());
        timer.alarm0().write(|w| w.bits(next_us));
        cortex_m::peripheral::NVIC::unmask(pac::Interrupt::TIMER_IRQ_0);
    }
}

fn with_beat<T>(run: impl FnOnce(&mut Beat) -> T) -> Option<T> {
    critical_section::with(|held| BEAT.borrow(held).try_borrow_mut().ok()?.as_mut().map(run))
}

/// The next thing a key did.
pub(crate) fn next_key() -> Option<KeyEvent> {
    with_beat(|beat| beat.events.pop_front()).flatten()
}

/// Plays this until told otherwise.
pub(crate) fn play(tone: Tone, loudness: u8) {
    with_beat(|beat| beat.sounder.play(tone, loudness));
}

/// Beats so far, wrapping.
pub(crate) fn count() -> u32 {
    with_beat(|beat| beat.count).unwrap_or(0)
}

#[interrupt]
fn TIMER_IRQ_0() {
    with_beat(|beat| {
        // SAFETY: alarm 0 is only used here.
        unsafe {
            let timer = &*pac::TIMER::ptr();
            timer.intr().write(|w| w.alarm_0().clear_bit_by_one());
            beat.next_us = beat.next_us.wrapping_add(BEAT_US);
            // After a flash operation beats are overdue: go on from now.
            let now = super::microseconds();
            if beat.next_us.wrapping_sub(now) as i32 <= 20 {
                beat.next_us = now.wrapping_add(BEAT_US);
            }
            timer.alarm0().write(|w| w.bits(beat.next_us));
        }
        beat.count = beat.count.wrapping_add(1);
        let events = &mut beat.events;
        beat.keys.scan(|event| {
            let _ = events.push_back(event);
        });
        beat.sounder.tick();
    });
}
