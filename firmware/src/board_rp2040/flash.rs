//! The flash chip behind the embedded-storage traits: the one place where execution from flash must stop.
//!
//! *Seam*: [`operate`], which lies in RAM, runs with interrupts off, and calls the boot ROM's functions by
//! pointers that were fetched before. While it runs, no instruction and no constant may come from flash, and
//! none does: the capture goes on by PIO and DMA alone, into rings that outlast the longest erase.
//!
//! | operation | typically | at worst | source |
//! |---|---|---|---|
//! | program of a page of 256 bytes | 0.7 ms | 3 ms | data sheet of the common 16 Mbit chip, from memory |
//! | erase of a sector of 4096 bytes | 45 ms | 400 ms | the same, from memory |
//!
//! Afterwards the second-stage boot loader, of which a copy was taken into RAM at start, sets fast execution
//! in place up again.

use embedded_storage::nor_flash::{
    ErrorType, MultiwriteNorFlash, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};
use rp2040_hal::rom_data;

/// Where flash is read.
const XIP: usize = 0x1000_0000;
/// Bytes of a page.
const PAGE: usize = 256;
/// Bytes of a sector.
const SECTOR: usize = 4096;
/// The store: from 1536 KiB (`memory.x`) to the last sector.
const STORE: (u32, u32) = (0x0018_0000, 0x001f_f000);
/// The identity's sector, the last of 2 MiB.
const IDENTITY: usize = XIP + 0x001f_f000;

/// The identity's sector.
pub(crate) fn identity() -> &'static [u8] {
    // SAFETY: within flash, and nothing writes there while the program runs.
    unsafe { core::slice::from_raw_parts(IDENTITY as *const u8, SECTOR) }
}

/// What the seam is to do.
#[repr(C)]
struct Order {
    /// A page to program, or null for an erase.
    page: *const u8,
    /// Offset from the start of flash.
    offset: u32,
    connect: unsafe extern "C" fn(),
    leave: unsafe extern "C" fn(),
    erase: unsafe extern "C" fn(u32, usize, u32, u8),
    program: unsafe extern "C" fn(u32, *const u8, usize),
    flush: unsafe extern "C" fn(),
    /// The second-stage boot loader's copy in RAM.
    enter: unsafe extern "C" fn(),
}

/// Programs or erases. In RAM, and calls nothing that is not in RAM or ROM.
#[unsafe(link_section = ".data.flash_seam")]
#[unsafe(no_mangle)]
#[inline(never)]
unsafe extern "C" fn keyway_flash_seam(order: &Order) {
    // SAFETY: the pointers are the ROM's own; interrupts are off, and the second core never started.
    unsafe {
        (order.connect)();
        (order.leave)();
        if order.page.is_null() {
            // Sector erase: command 0x20 of the chip, blocks of 64 KiB unused.
            (order.erase)(order.offset, SECTOR, 1 << 16, 0xd8);
        } else {
            (order.program)(order.offset, order.page, PAGE);
        }
        (order.flush)();
        (order.enter)();
    }
}

/// Words of the second-stage boot loader.
pub(crate) const LOADER: usize = PAGE / 4;

/// The store's part of the flash.
#[derive(Debug)]
pub(crate) struct Flash {
    loader: &'static [u32; LOADER],
}

impl Flash {
    /// Copies the loader into RAM.
    pub(crate) fn new(loader: &'static mut [u32; LOADER]) -> Self {
        for (place, word) in loader.iter_mut().enumerate() {
            // SAFETY: the first 256 bytes of flash are the loader.
            *word = unsafe { core::ptr::read_volatile((XIP as *const u32).add(place)) };
        }
        Self { loader }
    }

    fn operate(&mut self, offset: u32, page: Option<&[u8; PAGE]>) {
        // Bit 0 says that it is Thumb code.
        let enter = self.loader.as_ptr() as usize | 1;
        let order = Order {
            page: page.map_or(core::ptr::null(), |page| page.as_ptr()),
            offset,
            connect: rom_data::connect_internal_flash::ptr(),
            leave: rom_data::flash_exit_xip::ptr(),
            erase: rom_data::flash_range_erase::ptr(),
            program: rom_data::flash_range_program::ptr(),
            flush: rom_data::flash_flush_cache::ptr(),
            // SAFETY: the loader's copy is code that returns to its caller when called with a link.
            enter: unsafe { core::mem::transmute::<usize, unsafe extern "C" fn()>(enter) },
        };
        critical_section::with(|_| {
            // SAFETY: interrupts are off within the critical section, and everything in the order is in RAM or ROM.
            unsafe { keyway_flash_seam(&order) }
        });
    }
}

/// Outside the store, or not on a sector's border.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct OutOfPlace(NorFlashErrorKind);

impl NorFlashError for OutOfPlace {
    fn kind(&self) -> NorFlashErrorKind {
        self.0
    }
}

impl ErrorType for Flash {
    type Error = OutOfPlace;
}

/// The place in flash of so many bytes at an offset into the store.
fn place(offset: u32, length: usize) -> Result<u32, OutOfPlace> {
    let end = u32::try_from(length).ok().and_then(|length| offset.checked_add(length));
    match end {
        Some(end) if end <= STORE.1 - STORE.0 => Ok(STORE.0 + offset),
        _ => Err(OutOfPlace(NorFlashErrorKind::OutOfBounds)),
    }
}

impl ReadNorFlash for Flash {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), OutOfPlace> {
        let at = XIP + place(offset, bytes.len())? as usize;
        for (index, byte) in bytes.iter_mut().enumerate() {
            // SAFETY: within the store; volatile, since operations change it behind the compiler's back.
            *byte = unsafe { core::ptr::read_volatile((at + index) as *const u8) };
        }
        Ok(())
    }

    fn capacity(&self) -> usize {
        (STORE.1 - STORE.0) as usize
    }
}

impl NorFlash for Flash {
    const WRITE_SIZE: usize = 1;
    const ERASE_SIZE: usize = SECTOR;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), OutOfPlace> {
        if !from.is_multiple_of(SECTOR as u32) || !to.is_multiple_of(SECTOR as u32) || from > to {
            return Err(OutOfPlace(NorFlashErrorKind::NotAligned));
        }
        let first = place(from, (to - from) as usize)?;
        for sector in 0..(to - from) / SECTOR as u32 {
            self.operate(first + sector * SECTOR as u32, None);
        }
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), OutOfPlace> {
        let mut at = place(offset, bytes.len())?;
        let mut rest = bytes;
        while !rest.is_empty() {
            let within = at as usize % PAGE;
            let (now, later) = rest.split_at(rest.len().min(PAGE - within));
            // Ones leave what is there as it is.
            let mut page = [0xff; PAGE];
            for (place, byte) in page.iter_mut().skip(within).zip(now) {
                *place = *byte;
            }
            self.operate(at - within as u32, Some(&page));
            at += now.len() as u32;
            rest = later;
        }
        Ok(())
    }
}

impl MultiwriteNorFlash for Flash {}
