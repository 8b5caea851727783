//! A NOR flash stricter than the real one, whose power can be cut in any operation: the one cut model of this
//! project. The emulated board's flash follows the same rules.
//!
//! *Operation*: one page program or one sector erase, counted from 0 since [`Flash::new`] or [`Flash::restart`].
//! *Cut*: the operation in which the power goes, and how far it came ([`Tear`]).
//!
//! ```text
//!   program  1 to 256 bytes within one 256-byte page; bits only go from 1 to 0; a byte of 0xFF leaves what is
//!            there; asking for a 1 where a 0 stands is an error of the caller and ends the test
//!   erase    whole sectors of 4096 bytes; all bits become 1
//!
//!   tear        program                                      erase
//!   Before      nothing happened                             nothing happened
//!   Prefix(n)   the first n of 256 parts of the bytes are    the first n of 256 parts of the sector are
//!               done, of the next byte only every second     set, of the next byte only every second bit,
//!               bit, the rest is as before                   the rest is as before
//!   Scatter(s)  of the bits that were to change each one     the same
//!               has changed or not, by a coin from seed s
//!   After       all done, but nobody learns of it            the same
//! ```
//! The coin: `x ^= x << 13; x ^= x >> 17; x ^= x << 5` on 32 bits, once for each bit that was to change, lowest bit
//! of a byte first, starting from `s | 1`; heads (changed) where bit 16 of `x` is set.
//!
//! After a cut every operation fails until [`Flash::restart`]. What the model leaves out: cells left between 0 and
//! 1 that read one way now and another way later. Against those stands the mark of an ended erase, not a test.

use crate::{PAGE, SECTOR};
use core::fmt;
use embedded_storage::nor_flash::{
    ErrorType, MultiwriteNorFlash, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};
use std::vec::Vec;

/// How far the operation came in which the power went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tear {
    /// Not begun.
    Before,
    /// The first so many of 256 parts.
    Prefix(u8),
    /// Each bit by a coin from this seed.
    Scatter(u32),
    /// Done.
    After,
}

/// A cut of the power.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cut {
    /// In which operation, from 0.
    pub operation: u32,
    /// How far it came.
    pub tear: Tear,
}

/// What was done since the last restart.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Work {
    /// Page programs.
    pub programs: u32,
    /// Sector erases.
    pub erases: u32,
}

/// The flash did not answer: power is off, or the address is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoAnswer;

impl fmt::Display for NoAnswer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the flash does not answer")
    }
}

impl NorFlashError for NoAnswer {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::Other
    }
}

/// The flash.
#[derive(Debug, Clone)]
pub struct Flash {
    bytes: Vec<u8>,
    cut: Option<Cut>,
    off: bool,
    work: Work,
    stuck_clear: Vec<(u32, u8)>,
    stuck_set: Vec<(u32, u8)>,
}

impl Flash {
    /// As it comes from its maker: all bits set.
    pub fn new(sectors: u16) -> Self {
        Self::holding(std::vec![0xFF; usize::from(sectors) * SECTOR as usize])
    }

    /// With this content.
    pub fn holding(bytes: Vec<u8>) -> Self {
        let work = Work::default();
        Self { bytes, cut: None, off: false, work, stuck_clear: Vec::new(), stuck_set: Vec::new() }
    }

    /// Power comes back; operations are counted from 0 again.
    pub fn restart(&mut self, cut: Option<Cut>) {
        (self.cut, self.off, self.work) = (cut, false, Work::default());
    }

    /// These bits of a byte stay 0 from now on, whatever is erased.
    pub fn wear_clear(&mut self, address: u32, bits: u8) {
        self.stuck_clear.push((address, bits));
        self.settle();
    }

    /// These bits of a byte stay 1 from now on, whatever is programmed.
    pub fn wear_set(&mut self, address: u32, bits: u8) {
        self.stuck_set.push((address, bits));
        self.settle();
    }

    /// What was done since the last restart.
    pub fn work(&self) -> Work {
        self.work
    }

    /// All its bytes.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    fn settle(&mut self) {
        for (address, bits) in &self.stuck_clear {
            self.bytes[*address as usize] &= !bits;
        }
        for (address, bits) in &self.stuck_set {
            self.bytes[*address as usize] |= bits;
        }
    }

    /// Brings the bytes from `offset` to `wanted`, as far as the power lasts.
    fn change(&mut self, offset: u32, wanted: &[u8]) -> Result<(), NoAnswer> {
        let operation = self.work.programs + self.work.erases;
        let tear = self.cut.filter(|cut| cut.operation == operation).map(|cut| cut.tear);
        let place = offset as usize..offset as usize + wanted.len();
        let found = &mut self.bytes[place];
        match tear {
            None | Some(Tear::After) => found.copy_from_slice(wanted),
            Some(Tear::Before) => {}
            Some(Tear::Prefix(parts)) => {
                let whole = wanted.len() * usize::from(parts) / 256;
                found[..whole].copy_from_slice(&wanted[..whole]);
                found[whole] ^= (found[whole] ^ wanted[whole]) & 0x55;
            }
            Some(Tear::Scatter(seed)) => {
                let mut coin = seed | 1;
                for (found, wanted) in found.iter_mut().zip(wanted) {
                    let due = *found ^ wanted;
                    for bit in (0..8).map(|bit| 1 << bit).filter(|bit| due & bit != 0) {
                        coin ^= coin << 13;
                        coin ^= coin >> 17;
                        coin ^= coin << 5;
                        *found ^= if coin & (1 << 16) != 0 { bit } else { 0 };
                    }
                }
            }
        }
        self.settle();
        self.off = tear.is_some();
        if self.off { Err(NoAnswer) } else { Ok(()) }
    }

    fn inside(&self, offset: u32, length: usize) -> Result<(), NoAnswer> {
        let inside = offset as usize + length <= self.bytes.len();
        if self.off || !inside { Err(NoAnswer) } else { Ok(()) }
    }
}

impl ErrorType for Flash {
    type Error = NoAnswer;
}

impl ReadNorFlash for Flash {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), NoAnswer> {
        self.inside(offset, bytes.len())?;
        bytes.copy_from_slice(&self.bytes[offset as usize..offset as usize + bytes.len()]);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl NorFlash for Flash {
    const WRITE_SIZE: usize = PAGE as usize;
    const ERASE_SIZE: usize = SECTOR as usize;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), NoAnswer> {
        assert!(from.is_multiple_of(SECTOR) && to.is_multiple_of(SECTOR) && from < to, "erase {from}..{to}");
        for sector in (from..to).step_by(SECTOR as usize) {
            self.inside(sector, SECTOR as usize)?;
            self.change(sector, &[0xFF; SECTOR as usize])?;
            self.work.erases += 1;
        }
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), NoAnswer> {
        let whole_page = offset.is_multiple_of(PAGE) && bytes.len() == PAGE as usize;
        assert!(whole_page, "program of {} bytes at {offset}", bytes.len());
        self.inside(offset, bytes.len())?;
        let found = &self.bytes[offset as usize..offset as usize + bytes.len()];
        let worn =
            |at: usize| self.stuck_clear.iter().any(|(address, _)| *address as usize == offset as usize + at);
        let mut wanted = [0; PAGE as usize];
        for (at, (found, asked)) in found.iter().zip(bytes).enumerate() {
            wanted[at] = found & asked;
            assert!(
                *asked == 0xFF || wanted[at] == *asked || worn(at),
                "a 1 asked for at {}",
                offset as usize + at
            );
        }
        self.change(offset, &wanted)?;
        self.work.programs += 1;
        Ok(())
    }
}

impl MultiwriteNorFlash for Flash {}
