//! Which sectors belong to which place.
//!
//! ```text
//!   sectors  0..12  the job under way: 48 leaves, more than a whole job saves
//!           12..14  settings
//!           14..38  engines 0 to 11, two each
//!           38..    records, four a sector, nothing forgotten unless asked
//! ```

use crate::ring::Ring;
use keyway_core::instrument::Slot;

/// Engines that can be kept.
pub(crate) const ENGINES: usize = 12;
/// Rings in all.
pub(crate) const RINGS: usize = ENGINES + 3;
/// The least sectors of a store: two for records.
pub const LEAST_SECTORS: u16 = FIRST_RECORD + 2;
/// The most sectors of a store (1 MB).
pub const MOST_SECTORS: u16 = 256;

const STATE_SECTORS: u16 = 12;
const SETTINGS: u16 = STATE_SECTORS;
const FIRST_ENGINE: u16 = SETTINGS + 2;
const FIRST_RECORD: u16 = FIRST_ENGINE + 2 * ENGINES as u16;

/// Place of the ring of records among the rings.
pub(crate) const RECORDS: usize = RINGS - 1;

/// The rings of a store of so many sectors.
pub(crate) fn rings(sectors: u16) -> [Ring; RINGS] {
    let mut rings = [Ring::new(4, FIRST_RECORD, sectors - FIRST_RECORD, 4); RINGS];
    for (place, ring) in rings.iter_mut().enumerate().take(RECORDS) {
        *ring = match place {
            0 => Ring::new(1, 0, STATE_SECTORS, STATE_SECTORS - 1),
            1 => Ring::new(2, SETTINGS, 2, 1),
            engine => Ring::new(3, FIRST_ENGINE + 2 * (engine as u16 - 2), 2, 1),
        };
    }
    rings
}

/// The ring and the key of a place; `None` for an engine there is no place for.
pub(crate) fn place(slot: Slot) -> Option<(usize, u32)> {
    match slot {
        Slot::State => Some((0, 0)),
        Slot::Settings => Some((1, 0)),
        Slot::Engine(engine) if usize::from(engine) < ENGINES => {
            Some((2 + usize::from(engine), u32::from(engine)))
        }
        Slot::Engine(_) => None,
        Slot::Record(number) => Some((RECORDS, number)),
    }
}
