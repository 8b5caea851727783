//! How deep the stack has been: memory below it is painted at start, and what is no longer paint was used.

use core::sync::atomic::{AtomicU32, Ordering};

/// What start-up paints with: the `paint-stack` feature of cortex-m-rt.
const PAINT: u32 = 0xcccc_cccc;
/// So many painted words in a row are taken for the end: a frame may leave a hole, but not so large a one.
const REST: u32 = 256;

/// The deepest place found so far; 0 before the first look.
static DEEPEST: AtomicU32 = AtomicU32::new(0);

unsafe extern "C" {
    static _stack_start: u32;
    static _stack_end: u32;
}

/// Bytes of the stack that were ever used, as far as they are found, and bytes that there are.
pub(crate) fn used() -> (u32, u32) {
    let top = (&raw const _stack_start) as u32;
    let bottom = (&raw const _stack_end) as u32;
    let known = DEEPEST.load(Ordering::Relaxed);
    let mut deepest = if known == 0 { cortex_m::register::msp::read() } else { known };
    let mut at = deepest;
    while at > bottom && deepest - at < REST * 4 {
        at -= 4;
        // SAFETY: within the stack's memory, aligned, and only read.
        if unsafe { core::ptr::read_volatile(at as *const u32) } != PAINT {
            deepest = at;
        }
    }
    DEEPEST.store(deepest, Ordering::Relaxed);
    (top - deepest, top - bottom)
}
