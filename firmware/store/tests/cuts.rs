//! Power cut in every flash operation of a life of the store: what was there, or what was to be there.

#![allow(clippy::unwrap_used, reason = "a test may stop where it stands")]

use keyway_core::instrument::Slot;
use keyway_core::kept::LONGEST;
use keyway_store::mock::{Cut, Flash, Tear};
use keyway_store::{LEAST_SECTORS, Store};

/// How far the operation comes in which the power goes: every kind, with some of its places.
const TEARS: [Tear; 14] = [
    Tear::Before,
    Tear::After,
    Tear::Prefix(0),
    Tear::Prefix(1),
    Tear::Prefix(16),
    Tear::Prefix(21),
    Tear::Prefix(64),
    Tear::Prefix(128),
    Tear::Prefix(200),
    Tear::Prefix(255),
    Tear::Scatter(1),
    Tear::Scatter(77),
    Tear::Scatter(4096),
    Tear::Scatter(0x9e37_79b9),
];

#[derive(Clone)]
enum Act {
    Save(Slot, Vec<u8>),
    Delete(Slot),
    Tidy,
    Forget(u32),
}

impl std::fmt::Debug for Act {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Save(slot, bytes) => write!(f, "save {slot:?}, {} bytes", bytes.len()),
            Self::Delete(slot) => write!(f, "delete {slot:?}"),
            Self::Tidy => f.write_str("tidy"),
            Self::Forget(to) => write!(f, "forget up to {to}"),
        }
    }
}

fn places() -> Vec<Slot> {
    let engines = (0..12).map(Slot::Engine);
    [Slot::State, Slot::Settings].into_iter().chain(engines).chain((1..=12).map(Slot::Record)).collect()
}

fn block(length: usize, seed: u8) -> Vec<u8> {
    (0..length).map(|at| (at as u8).wrapping_mul(31).wrapping_add(seed)).collect()
}

/// All that is kept, by place.
fn kept(store: &mut Store<Flash>) -> Vec<Option<Vec<u8>>> {
    places().into_iter().map(|slot| store.load(slot).unwrap().map(<[u8]>::to_vec)).collect()
}

fn act(store: &mut Store<Flash>, act: &Act) -> bool {
    match act {
        Act::Save(slot, bytes) => store.save(*slot, bytes).is_ok(),
        Act::Delete(slot) => store.delete(*slot).is_ok(),
        Act::Tidy => (0..60).all(|_| store.tidy().is_ok()),
        Act::Forget(to) => loop {
            match store.forget(*to) {
                Ok(Some(_)) => {}
                Ok(None) => break true,
                Err(_) => break false,
            }
        },
    }
}

/// A life: settings and engines come and go, jobs save their state, records fill the store and are forgotten.
fn life() -> Vec<Act> {
    let mut acts = vec![Act::Tidy];
    for turn in 0..12u32 {
        let seed = turn as u8;
        acts.push(Act::Save(Slot::Settings, block(9, seed)));
        acts.push(Act::Save(Slot::Engine(turn as u8 % 3), block(100 + 54 * turn as usize, seed)));
        for step in 0..5 {
            acts.push(Act::Save(Slot::State, block(300 + 90 * step, seed.wrapping_add(step as u8))));
        }
        if turn % 4 == 1 {
            acts.push(Act::Delete(Slot::Engine(1)));
            acts.push(Act::Delete(Slot::State));
        }
        if turn < 8 {
            acts.push(Act::Save(Slot::Record(turn + 1), block(LONGEST - 40 * turn as usize, seed)));
        }
        if turn % 3 == 2 {
            acts.push(Act::Tidy);
        }
    }
    acts.push(Act::Forget(5));
    acts.push(Act::Save(Slot::Record(9), block(700, 9)));
    acts.push(Act::Forget(9));
    acts.push(Act::Save(Slot::Record(10), block(236, 10)));
    acts.push(Act::Save(Slot::Record(11), block(237, 11)));
    acts
}

/// Whether a place holds what it held, or what the act was to make of it.
fn old_or_new(
    slot: Slot,
    act: &Act,
    old: &Option<Vec<u8>>,
    new: &Option<Vec<u8>>,
    found: &Option<Vec<u8>>,
) -> bool {
    let touched = match act {
        Act::Save(place, _) | Act::Delete(place) => *place == slot,
        Act::Forget(to) => matches!(slot, Slot::Record(number) if number <= *to),
        Act::Tidy => false,
    };
    found == old || (touched && found == new)
}

#[test]
fn a_cut_in_any_operation_leaves_the_old_or_the_new() {
    let mut flash = Flash::new(LEAST_SECTORS + 1);
    let mut cuts = 0;
    let mut erases_cut = 0;
    for step in life() {
        flash.restart(None);
        let mut before = Store::open(flash.clone()).unwrap();
        let old = kept(&mut before);
        let mut after = Store::open(flash.clone()).unwrap();
        assert!(act(&mut after, &step), "{step:?}");
        let new = kept(&mut after);
        let done = after.close();
        let operations = done.work().programs + done.work().erases;
        erases_cut += done.work().erases;
        for operation in 0..operations {
            for tear in TEARS {
                cuts += 1;
                let at = (&step, operation, tear);
                let mut torn = flash.clone();
                torn.restart(Some(Cut { operation, tear }));
                let mut store = Store::open(torn).unwrap();
                assert!(!act(&mut store, &step), "{at:?}: the cut was not noticed");
                let mut torn = store.close();
                torn.restart(None);
                let mut store = Store::open(torn).unwrap();
                let found = kept(&mut store);
                for (place, slot) in places().into_iter().enumerate() {
                    assert!(
                        old_or_new(slot, &step, &old[place], &new[place], &found[place]),
                        "{at:?}: {slot:?} is neither old nor new"
                    );
                }
                // It goes on as if nothing had been: the act once more, and all is as it should be.
                assert!(act(&mut store, &step), "{at:?}: not possible again");
                assert_eq!(kept(&mut store), new, "{at:?}: again");
                let mut again = Store::open(store.close()).unwrap();
                assert_eq!(kept(&mut again), new, "{at:?}: after another start");
            }
        }
        flash = done;
    }
    println!("{cuts} cuts, {erases_cut} of the operations erases");
    assert!(cuts > 5000 && erases_cut > 50, "{cuts} {erases_cut}");
}

#[test]
fn a_second_cut_while_it_recovers_leaves_the_old_or_the_new_too() {
    let mut flash = Flash::new(LEAST_SECTORS + 1);
    let mut pairs = 0;
    for (number, step) in life().into_iter().enumerate() {
        flash.restart(None);
        let old = kept(&mut Store::open(flash.clone()).unwrap());
        let mut after = Store::open(flash.clone()).unwrap();
        assert!(act(&mut after, &step), "{step:?}");
        let new = kept(&mut after);
        let done = after.close();
        let operations = done.work().programs + done.work().erases;
        // Every seventh act with all its pairs of operations.
        for operation in (0..operations).filter(|_| number % 7 == 0) {
            for (place, first) in TEARS.into_iter().enumerate() {
                for second in 0..5 {
                    pairs += 1;
                    let mut torn = flash.clone();
                    torn.restart(Some(Cut { operation, tear: first }));
                    let mut store = Store::open(torn).unwrap();
                    act(&mut store, &step);
                    let mut torn = store.close();
                    torn.restart(Some(Cut { operation: second, tear: TEARS[(place + 5) % TEARS.len()] }));
                    let mut store = Store::open(torn).unwrap();
                    act(&mut store, &step);
                    let mut torn = store.close();
                    torn.restart(None);
                    let found = kept(&mut Store::open(torn).unwrap());
                    for (place, slot) in places().into_iter().enumerate() {
                        assert!(
                            old_or_new(slot, &step, &old[place], &new[place], &found[place]),
                            "{step:?}, {operation} {first:?}, {second}: {slot:?}"
                        );
                    }
                }
            }
        }
        flash = done;
    }
    println!("{pairs} pairs of cuts");
    assert!(pairs > 2000, "{pairs}");
}
