//! The log: defmt frames into a queue, and from there to UART 0 as fast as it takes them, never waiting.
//!
//! Frames that find the queue full are dropped whole and counted; the count goes out with the next that fits.

use core::cell::RefCell;
use critical_section::Mutex;
use heapless::Deque;
use rp2040_hal::pac;

/// Bytes of the queue.
const QUEUE: usize = 2048;
/// Room that a frame must find to begin: the longest is a panic's message of 160 bytes.
const LONGEST: usize = 256;
/// Bit rate of the UART.
pub(crate) const BAUD: u32 = 115_200;

struct Log {
    queue: Deque<u8, QUEUE>,
    encoder: defmt::Encoder,
    dropped: u32,
    skips: bool,
    held: critical_section::RestoreState,
}

static LOG: Mutex<RefCell<Log>> = Mutex::new(RefCell::new(Log {
    queue: Deque::new(),
    encoder: defmt::Encoder::new(),
    dropped: 0,
    skips: false,
    held: critical_section::RestoreState::invalid(),
}));

#[defmt::global_logger]
struct Logger;

/// Runs with the log; the caller is within a critical section.
fn with_log(run: impl FnOnce(&mut Log)) {
    // SAFETY: called only between `acquire` and `release`, which hold the critical section.
    let held = unsafe { critical_section::CriticalSection::new() };
    if let Ok(mut log) = LOG.borrow(held).try_borrow_mut() {
        run(&mut log);
    }
}

fn write(log: &mut Log, frame: impl FnOnce(&mut defmt::Encoder, &mut dyn FnMut(&[u8]))) {
    let Log { queue, encoder, skips, .. } = log;
    frame(encoder, &mut |bytes| {
        for byte in bytes.iter().filter(|_| !*skips) {
            let _ = queue.push_back(*byte);
        }
    });
}

// SAFETY: the critical section is held from `acquire` to `release`, so there is one writer at a time.
unsafe impl defmt::Logger for Logger {
    fn acquire() {
        // SAFETY: given back in `release`.
        let held = unsafe { critical_section::acquire() };
        with_log(|log| {
            log.held = held;
            log.skips = QUEUE - log.queue.len() < LONGEST;
            log.dropped = log.dropped.saturating_add(u32::from(log.skips));
            write(log, |encoder, out| encoder.start_frame(out));
        });
    }

    unsafe fn flush() {}

    unsafe fn release() {
        let mut held = critical_section::RestoreState::invalid();
        with_log(|log| {
            write(log, |encoder, out| encoder.end_frame(out));
            held = log.held;
        });
        // SAFETY: acquired in `acquire`.
        unsafe { critical_section::release(held) };
    }

    unsafe fn write(bytes: &[u8]) {
        with_log(|log| write(log, |encoder, out| encoder.write(bytes, out)));
    }
}

defmt::timestamp!("{=u32:us}", super::microseconds());

/// Moves what the UART takes without waiting.
pub(crate) fn send() {
    // SAFETY: reading the state and writing the data register of UART 0, which only this module uses after start.
    let uart = unsafe { &*pac::UART0::ptr() };
    critical_section::with(|held| {
        let Ok(mut log) = LOG.borrow(held).try_borrow_mut() else { return };
        while uart.uartfr().read().txff().bit_is_clear() {
            let Some(byte) = log.queue.pop_front() else { break };
            // SAFETY: any byte may be sent.
            uart.uartdr().write(|w| unsafe { w.data().bits(byte) });
        }
    });
}

/// Frames of the log that found no room.
pub(crate) fn dropped() -> u32 {
    critical_section::with(|held| LOG.borrow(held).try_borrow().map_or(0, |log| log.dropped))
}
