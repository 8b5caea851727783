//! The front door: what the instrument asks to be kept, fetched and forgotten.

use crate::places::{LEAST_SECTORS, MOST_SECTORS, RECORDS, RINGS, place, rings};
use crate::ring::{Bad, Ring};
use crate::{Fault, PAGE, SECTOR};
use embedded_storage::nor_flash::MultiwriteNorFlash;
use keyway_core::instrument::Slot;
use keyway_core::kept::LONGEST;

/// What is left, and what is worn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Capacity {
    /// Records that can still be kept.
    pub records_free: u16,
    /// Lowest and highest number of the records kept.
    pub records: Option<(u32, u32)>,
    /// Sectors found worn since the start.
    pub worn: u32,
}

/// Keeps things in the flash it is given, whose offset 0 is the first byte of the store.
#[derive(Debug)]
pub struct Store<F> {
    flash: F,
    rings: [Ring; RINGS],
    bad: Bad,
    /// Something was written since tidying found nothing to do.
    untidy: bool,
    room: [u8; LONGEST],
}

impl<F: MultiwriteNorFlash> Store<F> {
    /// Looks through what is there: reads alone, nothing is written. As many sectors as the flash has, up to
    /// [`MOST_SECTORS`].
    ///
    /// # Errors
    /// [`Fault::Place`] where the flash is smaller than [`LEAST_SECTORS`] or its sectors or pages are larger than
    /// 4096 and 256 bytes; [`Fault::Flash`] where it can't be read.
    pub fn open(mut flash: F) -> Result<Self, Fault> {
        let sectors = flash.capacity() / SECTOR as usize;
        let fits = F::ERASE_SIZE <= SECTOR as usize
            && F::WRITE_SIZE <= PAGE as usize
            && F::READ_SIZE == 1
            && sectors >= usize::from(LEAST_SECTORS);
        if !fits {
            return Err(Fault::Place);
        }
        let mut rings = rings(sectors.min(usize::from(MOST_SECTORS)) as u16);
        for ring in &mut rings {
            ring.open(&mut flash)?;
        }
        Ok(Self { flash, rings, bad: Bad::default(), untidy: true, room: [0; LONGEST] })
    }

    /// What is kept in a place; `None` where nothing is, or nothing whole.
    ///
    /// # Errors
    /// [`Fault::Place`], [`Fault::Flash`].
    pub fn load(&mut self, slot: Slot) -> Result<Option<&[u8]>, Fault> {
        let (ring, key) = place(slot).ok_or(Fault::Place)?;
        let ring = self.rings.get(ring).ok_or(Fault::Place)?;
        let found = ring.load(&mut self.flash, key, &mut self.room)?;
        Ok(found.filter(|block| !block.is_empty()))
    }

    /// Keeps `bytes` in a place, in bounded time: one leaf of at most four page programs, each read back; where the
    /// store was not tidied in time one erase with two programs more; on worn flash at most two erases and six
    /// leaves.
    ///
    /// After an error what was kept before is still there.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn save(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Fault> {
        if bytes.is_empty() || bytes.len() > LONGEST {
            return Err(Fault::Length);
        }
        // What is kept already is not written again: after a cut the instrument may well repeat itself.
        if self.load(slot)? == Some(bytes) {
            return Ok(());
        }
        self.write(slot, bytes)
    }

    /// Empties a place; as bounded as [`Store::save`]. Records go by [`Store::forget`] alone.
    ///
    /// # Errors
    /// [`Fault`]; [`Fault::Place`] for a record.
    pub fn delete(&mut self, slot: Slot) -> Result<(), Fault> {
        if matches!(slot, Slot::Record(_)) {
            return Err(Fault::Place);
        }
        if self.load(slot)?.is_none() {
            return Ok(());
        }
        self.write(slot, &[])
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Fault> {
        let (ring, key) = place(slot).ok_or(Fault::Place)?;
        let ring = self.rings.get_mut(ring).ok_or(Fault::Place)?;
        self.untidy = true;
        ring.save(&mut self.flash, &mut self.bad, key, bytes)
    }

    /// Erases at most one sector ahead; whether it did, and so should be called again. To be called while the
    /// engine stands: an erase takes 45 ms, at worst 400 ms.
    ///
    /// # Errors
    /// [`Fault::Flash`].
    pub fn tidy(&mut self) -> Result<bool, Fault> {
        for ring in self.rings.iter().filter(|_| self.untidy) {
            if ring.tidy(&mut self.flash, &mut self.bad)? {
                return Ok(true);
            }
        }
        self.untidy = false;
        Ok(false)
    }

    /// Forgets records up to the number `to`, as far as whole sectors hold no later one, one sector a call:
    /// how many went, `None` when no more will. To be called while the engine stands.
    ///
    /// # Errors
    /// [`Fault::Flash`].
    pub fn forget(&mut self, to: u32) -> Result<Option<u16>, Fault> {
        let ring = self.rings.get_mut(RECORDS).ok_or(Fault::Place)?;
        ring.forget(&mut self.flash, &mut self.bad, to)
    }

    /// What is left, and what is worn.
    ///
    /// # Errors
    /// [`Fault::Flash`].
    pub fn capacity(&mut self) -> Result<Capacity, Fault> {
        let ring = self.rings.get(RECORDS).ok_or(Fault::Place)?;
        let (records_free, records) = ring.survey(&mut self.flash)?;
        Ok(Capacity { records_free, records, worn: self.bad.count() })
    }

    /// The flash, for what else is kept in it.
    pub fn flash(&mut self) -> &mut F {
        &mut self.flash
    }

    /// Gives the flash back.
    pub fn close(self) -> F {
        self.flash
    }
}
