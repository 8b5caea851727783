//! A panic makes the outputs safe, keeps its message over the reset, and starts anew.

use core::fmt::Write;
use core::mem::MaybeUninit;
use core::panic::PanicInfo;
use core::ptr::addr_of_mut;

/// Longest message kept, bytes.
pub(crate) const LONGEST: usize = 160;
/// Says that a message is kept.
const MARK: u32 = 0x4b57_5041;

#[repr(C)]
struct Kept {
    mark: u32,
    length: u32,
    sum: u32,
    text: [u8; LONGEST],
}

#[unsafe(link_section = ".uninit.panic")]
static mut KEPT: MaybeUninit<Kept> = MaybeUninit::uninit();

/// The message of the last run, given once.
#[derive(Clone, Copy)]
pub(crate) struct Message {
    text: [u8; LONGEST],
    length: usize,
}

impl Message {
    /// As text.
    pub(crate) fn text(&self) -> &str {
        let bytes = self.text.get(..self.length).unwrap_or(&[]);
        match core::str::from_utf8(bytes) {
            Ok(text) => text,
            Err(error) => core::str::from_utf8(bytes.get(..error.valid_up_to()).unwrap_or(&[])).unwrap_or(""),
        }
    }
}

fn sum(text: &[u8; LONGEST], length: u32) -> u32 {
    text.iter().fold(MARK ^ length, |sum, byte| sum.rotate_left(5) ^ u32::from(*byte))
}

/// What the last run left behind, if it ended by a panic.
pub(crate) fn take() -> Option<Message> {
    // SAFETY: every bit pattern is a `Kept`; only this function and the panic handler, which does not
    // return, touch it.
    let kept = unsafe { &mut *addr_of_mut!(KEPT).cast::<Kept>() };
    let whole =
        kept.mark == MARK && kept.length as usize <= LONGEST && kept.sum == sum(&kept.text, kept.length);
    kept.mark = 0;
    whole.then_some(Message { text: kept.text, length: kept.length as usize })
}

struct Writer<'a> {
    text: &'a mut [u8; LONGEST],
    length: usize,
}

impl Write for Writer<'_> {
    fn write_str(&mut self, part: &str) -> core::fmt::Result {
        for byte in part.bytes() {
            let place = self.text.get_mut(self.length).ok_or(core::fmt::Error)?;
            *place = byte;
            self.length += 1;
        }
        Ok(())
    }
}

#[cfg_attr(not(test), panic_handler)]
#[cfg_attr(not(target_arch = "arm"), allow(dead_code))]
fn panicked(info: &PanicInfo<'_>) -> ! {
    cortex_m::interrupt::disable();
    super::pwm::quiet();
    // SAFETY: interrupts are off, and nothing else runs from here on.
    let kept = unsafe { &mut *addr_of_mut!(KEPT).cast::<Kept>() };
    kept.text = [0; LONGEST];
    let mut writer = Writer { text: &mut kept.text, length: 0 };
    if let Some(place) = info.location() {
        let _ = write!(writer, "{}:{} ", place.file(), place.line());
    }
    let _ = write!(writer, "{}", info.message());
    kept.length = writer.length as u32;
    kept.sum = sum(&kept.text, kept.length);
    kept.mark = MARK;
    cortex_m::peripheral::SCB::sys_reset()
}
