//! What an older firmware kept still opens: a leaf of format 1 with a record of version 1, as they were written.

#![allow(clippy::unwrap_used, reason = "a test may stop where it stands")]

use keyway_core::instrument::Slot;
use keyway_core::record::Record;
use keyway_store::mock::Flash;
use keyway_store::{FORMAT, LEAST_SECTORS, SECTOR, Store};

/// Where the first record's leaf stands.
const RECORDS_AT: usize = 38 * SECTOR as usize;

/// Head and block of a record as the first firmware left them in the flash. They must open for ever.
#[rustfmt::skip]
const LEAF_ONE: &[u8] = &[
    1, 4, 137, 0, 3, 0, 0, 0, 1, 0, 0, 0, 207, 187, 138, 124, 28, 223, 68, 33,
    1, 3, 7, 180, 36, 1, 234, 15, 11, 2, 1, 128, 164, 167, 218, 6, 128, 5, 6, 69, 110, 103, 105, 110,
    101, 149, 220, 184, 158, 7, 0, 0, 0, 32, 65, 0, 0, 128, 63, 0, 1, 0, 0, 64, 64, 0, 0, 0,
    62, 0, 128, 59, 68, 1, 0, 0, 96, 65, 0, 1, 0, 0, 36, 65, 0, 0, 0, 62, 0, 128, 59, 68,
    1, 0, 0, 96, 65, 0, 1, 1, 0, 0, 96, 63, 0, 0, 0, 0, 0, 0, 0, 35, 0, 0, 0, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 2, 2, 0, 105, 230, 201, 213,
];
/// Bytes of the head.
const HEAD: usize = 20;

#[test]
fn a_record_of_the_first_firmware_is_found_and_opens() {
    let mut bytes = Flash::new(LEAST_SECTORS).bytes().to_vec();
    bytes[RECORDS_AT..RECORDS_AT + LEAF_ONE.len()].copy_from_slice(LEAF_ONE);
    let mut store = Store::open(Flash::holding(bytes)).unwrap();
    let record = Record::decode(store.load(Slot::Record(3)).unwrap().unwrap()).unwrap();
    assert_eq!((record.number, record.engine.as_str()), (3, "Engine"));
    assert_eq!(store.capacity().unwrap().records, Some((3, 3)));
}

#[test]
fn format_one_is_written_as_the_first_firmware_wrote_it() {
    assert_eq!(FORMAT, 1, "a new format needs a leaf of its own here, and this one must still open");
    let mut store = Store::open(Flash::new(LEAST_SECTORS)).unwrap();
    store.save(Slot::Record(3), &LEAF_ONE[HEAD..]).unwrap();
    let flash = store.close();
    assert_eq!(&flash.bytes()[RECORDS_AT..RECORDS_AT + LEAF_ONE.len()], LEAF_ONE);
}

#[test]
fn a_leaf_of_a_later_format_is_left_alone_and_not_taken_for_anything() {
    let mut bytes = Flash::new(LEAST_SECTORS).bytes().to_vec();
    bytes[RECORDS_AT..RECORDS_AT + LEAF_ONE.len()].copy_from_slice(LEAF_ONE);
    bytes[RECORDS_AT] = FORMAT + 1;
    let mut store = Store::open(Flash::holding(bytes)).unwrap();
    assert_eq!(store.load(Slot::Record(3)).unwrap(), None);
}
