//! How much work a call may take, what happens when there is no room, and flash that no longer takes what it is given.

#![allow(clippy::unwrap_used, reason = "a test may stop where it stands")]

use keyway_core::instrument::Slot;
use keyway_core::kept::LONGEST;
use keyway_store::mock::Flash;
use keyway_store::{Fault, LEAF, LEAST_SECTORS, SECTOR, Store};

fn tidied(sectors: u16) -> Store<Flash> {
    let mut store = Store::open(Flash::new(sectors)).unwrap();
    while store.tidy().unwrap() {}
    store
}

#[test]
fn a_whole_job_meets_no_erase_once_the_store_is_tidied() {
    let mut store = tidied(LEAST_SECTORS);
    for job in 0..3u32 {
        while store.tidy().unwrap() {}
        store.flash().restart(None);
        for step in 0..40 {
            store.save(Slot::State, &[step; LONGEST]).unwrap();
        }
        store.save(Slot::Record(job + 1), &[7; LONGEST]).unwrap();
        store.save(Slot::Settings, &[1; 8]).unwrap();
        store.save(Slot::Engine(4), &[1; 300]).unwrap();
        assert_eq!(store.flash().work().erases, 0, "job {job}");
    }
}

#[test]
fn a_save_takes_at_most_three_programs_or_one_erase_and_five() {
    let mut store = tidied(LEAST_SECTORS);
    let mut most = [0; 2];
    for round in 0..500u32 {
        store.flash().restart(None);
        let slot = [Slot::State, Slot::Settings, Slot::Engine(11)][round as usize % 3];
        store.save(slot, &vec![round as u8; 1 + (round as usize * 37) % LONGEST]).unwrap();
        let work = store.flash().work();
        assert!(work.programs <= 3 + 2 * work.erases && work.erases <= 1, "{round}: {work:?}");
        most = [most[0].max(work.programs), most[1].max(work.erases)];
    }
    assert_eq!(most, [5, 1], "the worst case did not come up");
}

#[test]
fn tidying_is_at_most_one_erase_a_call_and_ends() {
    let mut store = Store::open(Flash::new(LEAST_SECTORS)).unwrap();
    for call in 0.. {
        store.flash().restart(None);
        let more = store.tidy().unwrap();
        assert!(store.flash().work().erases <= 1);
        if !more {
            assert_eq!(store.flash().work().programs, 0);
            assert!(call > 20, "{call}");
            break;
        }
        assert!(call < 60, "tidying does not end");
    }
}

#[test]
fn a_full_store_refuses_a_record_keeps_the_others_and_takes_more_once_some_are_forgotten() {
    let mut store = tidied(LEAST_SECTORS);
    for number in 1..=8 {
        store.save(Slot::Record(number), &[number as u8; 200]).unwrap();
    }
    assert_eq!(store.capacity().unwrap().records_free, 0);
    assert_eq!(store.save(Slot::Record(9), &[9; 200]), Err(Fault::Full));
    for number in 1..=8 {
        assert_eq!(store.load(Slot::Record(number)).unwrap(), Some(&[number as u8; 200][..]));
    }
    // Settings and the job under way have room of their own.
    store.save(Slot::State, &[1; LONGEST]).unwrap();
    assert_eq!(store.forget(3).unwrap(), None, "the sector of 1 to 3 holds 4 too");
    assert_eq!(store.forget(5).unwrap(), Some(4));
    assert_eq!(store.forget(5).unwrap(), None);
    assert_eq!(store.capacity().unwrap().records, Some((5, 8)));
    store.save(Slot::Record(9), &[9; 200]).unwrap();
    assert_eq!(store.load(Slot::Record(4)).unwrap(), None);
    assert_eq!(store.load(Slot::Record(9)).unwrap(), Some(&[9; 200][..]));
}

#[test]
fn what_is_too_long_empty_or_nowhere_is_refused_and_changes_nothing() {
    let mut store = tidied(LEAST_SECTORS);
    store.flash().restart(None);
    assert_eq!(store.save(Slot::State, &[0; LONGEST + 1]), Err(Fault::Length));
    assert_eq!(store.save(Slot::State, &[]), Err(Fault::Length));
    assert_eq!(store.save(Slot::Engine(12), &[1]), Err(Fault::Place));
    assert_eq!(store.delete(Slot::Record(1)), Err(Fault::Place));
    assert_eq!(store.flash().work(), Default::default());
    assert!(matches!(Store::open(Flash::new(LEAST_SECTORS - 1)), Err(Fault::Place)));
}

#[test]
fn a_worn_leaf_is_passed_over_and_a_worn_sector_left_alone() {
    let mut flash = Flash::new(LEAST_SECTORS);
    // One byte of the second leaf of the state's first sector takes nothing, one of its third sector stays clear.
    flash.wear_set(LEAF + 5, 0xFF);
    flash.wear_clear(2 * SECTOR + 100, 0x10);
    let mut store = Store::open(flash).unwrap();
    while store.tidy().unwrap() {}
    for round in 0..200u32 {
        let bytes = round.to_le_bytes();
        store.save(Slot::State, &bytes).unwrap();
        assert_eq!(store.load(Slot::State).unwrap(), Some(&bytes[..]), "{round}");
        while round % 9 == 0 && store.tidy().unwrap() {}
    }
    assert!(store.capacity().unwrap().worn >= 1);
    let bytes = 199u32.to_le_bytes();
    let mut again = Store::open(store.close()).unwrap();
    assert_eq!(again.load(Slot::State).unwrap(), Some(&bytes[..]));
}

#[test]
fn where_nothing_can_be_written_any_more_the_old_stays_and_the_work_is_bounded() {
    let mut store = tidied(LEAST_SECTORS);
    store.save(Slot::Settings, &[5; 8]).unwrap();
    let mut flash = store.close();
    for sector in 12..14 {
        for leaf in 0..4 {
            if (sector, leaf) != (12, 0) {
                flash.wear_set(sector * SECTOR + leaf * LEAF + 12, 0xFF);
            }
        }
    }
    let mut store = Store::open(flash).unwrap();
    for _ in 0..3 {
        store.flash().restart(None);
        assert_eq!(store.save(Slot::Settings, &[6; 8]), Err(Fault::Worn));
        assert!(store.flash().work().erases <= 2 && store.flash().work().programs <= 16);
        assert_eq!(store.load(Slot::Settings).unwrap(), Some(&[5; 8][..]));
    }
}

#[test]
fn a_store_full_of_anything_at_all_opens_and_comes_to_order() {
    let mut coin = 1u32;
    for round in 0..30 {
        let mut bytes = vec![0; usize::from(LEAST_SECTORS) * SECTOR as usize];
        for byte in &mut bytes {
            coin = coin.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            *byte =
                if round % 3 == 0 { (coin >> 24) as u8 } else { ((coin >> 24) as u8) | (coin >> 16) as u8 };
        }
        let mut store = Store::open(Flash::holding(bytes)).unwrap();
        assert_eq!(store.load(Slot::State).unwrap(), None);
        store.save(Slot::Record(1), &[round; 30]).unwrap();
        store.save(Slot::Engine(3), &[round; 30]).unwrap();
        while store.tidy().unwrap() {}
        assert_eq!(store.load(Slot::Record(1)).unwrap(), Some(&[round; 30][..]));
        assert_eq!(store.load(Slot::Engine(3)).unwrap(), Some(&[round; 30][..]));
    }
}
