//! Which swings of the crank an engine's firing leaves where all cylinders work alike: the vectors of its firings at each
//! order, added up (the phase diagram of textbooks on crankshaft vibration; from memory).

use heapless::Vec as List;
use keyway_core::crank::{Firing, Order};
use keyway_tests::jobs;

/// Length of the sum of the firings' vectors at an order, in halves, as a part of what it is where all point one way.
fn together(intervals: &[f64], halves: u8) -> f64 {
    let (mut angle, mut across, mut along) = (0.0f64, 0.0, 0.0);
    for interval in intervals {
        let turned = (angle * f64::from(halves) / 2.0).to_radians();
        across += turned.sin();
        along += turned.cos();
        angle += interval;
    }
    across.hypot(along) / intervals.len() as f64
}

/// What is looked for of an engine that fires so, at 700 rpm.
fn sought(intervals: &[f64], even: bool) -> Vec<Order> {
    let mut job = jobs::job(intervals.len() as u8, &jobs::wheel(36, 1));
    let given: Vec<f32> = intervals.iter().map(|interval| *interval as f32).collect();
    job.engine.firing_intervals = List::from_slice(&given).ok().filter(|_| !even);
    let firing = Firing::of(&job.build().expect("a possible job"));
    let mut orders = firing.orders(true, 700.0, Default::default()).to_vec();
    orders.extend(firing.orders(false, 700.0, Default::default()));
    orders
}

#[test]
fn the_orders_that_the_firing_makes_are_looked_for_and_taken_for_the_largest_of_their_height() {
    let engines: [(Vec<f64>, bool); 5] = [
        (vec![240.0; 3], true),
        (vec![180.0; 4], true),
        (vec![120.0; 6], true),
        (vec![90.0; 8], true),
        ([90.0, 150.0].repeat(3), false),
    ];
    for (intervals, even) in engines {
        let orders = sought(&intervals, even);
        let made: Vec<u8> = (1..=16).filter(|halves| together(&intervals, *halves) > 0.05).collect();
        for halves in made.iter().take(3) {
            let order = orders.iter().find(|order| order.halves == *halves).expect("an order looked for");
            let higher =
                orders.iter().filter(|other| other.halves > *halves && !made.contains(&other.halves));
            for other in higher {
                assert!(other.likely < order.likely, "{intervals:?}: {halves}, {other:?}");
            }
        }
    }
}

#[test]
fn an_uneven_six_hardly_swings_six_times_a_turn() {
    let intervals = [90.0, 150.0].repeat(3);
    assert!(together(&intervals, 12) < 1e-9);
    let likely = |halves: u8| {
        let orders = sought(&intervals, false);
        orders.iter().find(|order| order.halves == halves).map_or(0.0, |order| order.likely)
    };
    // The order between, and the next above, are made by the firing.
    assert!(likely(12) < 0.2 * likely(9), "{} {}", likely(12), likely(9));
    assert!(likely(3) > 2.0 * likely(6) && likely(6) > 2.0 * likely(9));
}
