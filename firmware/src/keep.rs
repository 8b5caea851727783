//! What the core asks to be kept, fetched and forgotten, and sectors erased ahead while the engine stands.

use crate::board_rp2040::{self as board, flash::Flash};
use keyway_core::instrument::Slot;
use keyway_store::{Fault, Store};

/// A sector is erased ahead so often at most, µs: on new flash some thirty are due, each blocks the loop for 45 ms.
const TIDY_EVERY_US: u32 = 500_000;
/// And only when nobody pressed a key and no edge came for so long, µs.
const CALM_US: u32 = 2_000_000;

/// The store, where the flash has one.
pub(crate) struct Keep {
    store: Option<Store<Flash>>,
    tidied_us: u32,
    /// When something last went on.
    busy_us: u32,
}

impl Keep {
    /// Looks through what is there.
    pub(crate) fn open(flash: Option<Flash>) -> Self {
        let store = flash.ok_or(Fault::Flash).and_then(Store::open);
        if let Err(fault) = &store {
            log(*fault);
        }
        Self { store: store.ok(), tidied_us: 0, busy_us: 0 }
    }

    /// Whether there is a store at all.
    pub(crate) fn works(&self) -> bool {
        self.store.is_some()
    }

    /// What is kept in a place.
    pub(crate) fn load(&mut self, slot: Slot) -> Option<&[u8]> {
        match self.store.as_mut()?.load(slot) {
            Ok(found) => found,
            Err(fault) => {
                log(fault);
                None
            }
        }
    }

    /// Keeps bytes in a place; whether that was done.
    pub(crate) fn save(&mut self, slot: Slot, bytes: &[u8]) -> bool {
        let done = self.store.as_mut().map_or(Err(Fault::Flash), |store| store.save(slot, bytes));
        defmt::info!("saved {}: {=bool}", slot, done.is_ok());
        done.map_err(log).is_ok()
    }

    /// Empties a place; whether that was done.
    pub(crate) fn delete(&mut self, slot: Slot) -> bool {
        let done = self.store.as_mut().map_or(Err(Fault::Flash), |store| store.delete(slot));
        done.map_err(log).is_ok()
    }

    /// A key was pressed or the engine turns: nothing is erased ahead for a while.
    pub(crate) fn busy(&mut self) {
        self.busy_us = board::microseconds();
    }

    /// Erases a sector ahead, if it is time and nothing has gone on for a while.
    pub(crate) fn tidy(&mut self) {
        let now = board::microseconds();
        if now.wrapping_sub(self.busy_us) < CALM_US || now.wrapping_sub(self.tidied_us) < TIDY_EVERY_US {
            return;
        }
        if let Some(store) = &mut self.store
            && let Err(fault) = store.tidy()
        {
            log(fault);
        }
        self.tidied_us = board::microseconds();
    }

    /// Lowest and highest number of the records kept.
    pub(crate) fn records(&mut self) -> Option<(u32, u32)> {
        self.store.as_mut()?.capacity().map_err(log).ok()?.records
    }

    /// Forgets records up to a number, a sector a call: how many went; `None` when no more will.
    pub(crate) fn forget(&mut self, to: u32) -> Option<u32> {
        self.store.as_mut()?.forget(to).map_err(log).ok()?.map(u32::from)
    }
}

fn log(fault: Fault) {
    let what = match fault {
        Fault::Full => "full",
        Fault::Worn => "worn",
        Fault::Flash => "refused by the flash",
        Fault::Length => "wrong length",
        Fault::Place => "no such place",
    };
    defmt::warn!("store: {=str}", what);
}
