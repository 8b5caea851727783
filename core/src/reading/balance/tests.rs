//! The balance against a crank whose speed comes from a torque balance of its own: compression, work and
//! load over the angle, with a pulse of another shape than the model's.

use crate::console::blank;
use crate::edges::{Channel, Edge, Level};
use crate::job::{CrankSpec, EngineSpec, JobSpec, Rotation, SparkKind};
use crate::meter::Meter;
use crate::reading::Weighed;
use crate::units::{Stamp, TickRate};
use std::vec::Vec;

/// An engine to be measured.
struct Source {
    order: Vec<u8>,
    intervals: Option<Vec<f32>>,
    strokes: u8,
    spark: SparkKind,
    teeth: u8,
    missing: u8,
    /// Work of each cylinder, 1 = usual.
    works: Vec<f64>,
    /// Each tooth out of its place by up to so much, degrees, and the whole wheel out of centre.
    tooth_error: f64,
    /// Silence of the crank pickup after half the capture, turns.
    silence: u32,
    cycles: u32,
}

impl Source {
    fn even(order: &[u8]) -> Self {
        Self {
            order: order.to_vec(),
            intervals: None,
            strokes: 4,
            spark: SparkKind::Single,
            teeth: 60,
            missing: 2,
            works: std::vec![1.0; order.len()],
            tooth_error: 0.0,
            silence: 0,
            cycles: 40,
        }
    }

    fn with_dead(mut self, cylinder: u8) -> Self {
        self.works[usize::from(cylinder) - 1] = 0.0;
        self
    }

    fn spec(&self) -> JobSpec {
        let mut spec = blank();
        spec.engine = EngineSpec {
            cylinders: self.order.len() as u8,
            strokes: self.strokes,
            firing_order: self.order.iter().copied().collect(),
            firing_intervals: self.intervals.as_ref().map(|all| all.iter().copied().collect()),
            spark: self.spark,
            rotor: (self.spark == SparkKind::Distributor).then_some(Rotation::Clockwise),
            ..spec.engine
        };
        spec.timing.idle_rpm = [550.0, 950.0];
        spec.crank = CrankSpec::Wheel { teeth: self.teeth, missing: self.missing, first_edge_btdc: 84.0 };
        spec
    }

    /// Runs the engine past a meter and gives what it says of the balance.
    fn measure(&self) -> Option<Weighed> {
        let mut meter = Meter::new(self.spec().build().unwrap(), TickRate::DESKTOP);
        for (at, channel) in self.edges() {
            for (level, later) in [(Level::High, 0), (Level::Low, 2000)] {
                meter.on_edge(Edge { channel, level, at: Stamp(at as u32 + later) });
            }
            while meter.next_spark().is_some() {}
        }
        meter.finish();
        meter.balance().cloned()
    }

    /// Rising edges in order of time, ticks of 0.1 µs.
    fn edges(&self) -> Vec<(u64, Channel)> {
        let job = self.spec().build().unwrap();
        let cycle = f64::from(job.cycle_degrees());
        let count = self.works.len() as f64;
        let mut dice = 7u64;
        let mut dice = move || {
            dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (dice >> 33) as f64 / (1u64 << 31) as f64 - 0.5
        };
        // Energies relative to that of the crank at 720 rpm.
        let work = if self.strokes == 2 { 0.7 } else { 1.4 } / count;
        let cylinders: Vec<(f64, f64)> = (1u8..)
            .zip(&self.works)
            .map(|(cylinder, work)| (f64::from(job.firing_angle(cylinder).unwrap()), *work))
            .collect();
        let load: f64 = self.works.iter().sum::<f64>() * work / cycle;
        let places: Vec<f64> = (0..self.teeth - self.missing)
            .map(|slot| {
                let place = f64::from(slot) * 360.0 / f64::from(self.teeth) - 84.0;
                place + self.tooth_error * (2.0 * dice() + 2.0 * place.to_radians().cos())
            })
            .collect();
        let per_spark = if self.spark == SparkKind::Paired { 360.0 } else { cycle };

        let (mut energy, mut time, mut edges) = (1.0f64, 0.0f64, Vec::new());
        let mut varied: Vec<f64> = cylinders.iter().map(|_| 1.0).collect();
        for degree in 0..(f64::from(self.cycles) * cycle) as u64 {
            let angle = degree as f64;
            let mut torque = -load - (energy - 1.0) * 0.0004;
            for ((fires, share), varied) in cylinders.iter().zip(varied.iter_mut()) {
                let since = (angle - fires).rem_euclid(cycle);
                if since < 1.0 {
                    *varied = 1.0 + 0.2 * dice();
                }
                let before = if since > cycle / 2.0 { since - cycle } else { since };
                // Compression and expansion of the charge: what goes in comes out.
                torque += 0.6 * work * before / 900.0 * (-before * before / 1800.0).exp();
                if since < 140.0 {
                    let pulse = (core::f64::consts::PI * since / 140.0).sin();
                    torque += work * share * *varied * pulse * core::f64::consts::PI / 280.0;
                }
            }
            energy += torque;
            let lasts = 1.0 / (6.0 * 720.0 * energy.max(0.05).sqrt());
            let mut passing = |channel, place: f64, every: f64| {
                let after = (place - angle).rem_euclid(every);
                if after < 1.0 {
                    edges.push((((time + after * lasts) * 1e7) as u64, channel));
                }
            };
            let half = u64::from(self.cycles) * cycle as u64 / 2;
            if !(half..half + u64::from(self.silence) * 360).contains(&degree) {
                places.iter().for_each(|place| passing(Channel::Crank, *place, 360.0));
            }
            passing(Channel::Spark, cycle - 10.0, per_spark);
            time += lasts;
        }
        edges.sort_by_key(|edge| edge.0);
        edges
    }
}

const ORDERS: [&[u8]; 7] = [
    &[1, 3, 2],
    &[1, 3, 4, 2],
    &[1, 2, 4, 5, 3],
    &[1, 5, 3, 6, 2, 4],
    &[1, 3, 5, 7, 2, 4, 6],
    &[1, 8, 4, 3, 6, 5, 7, 2],
    &[1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10],
];

/// One dead cylinder: it alone is named, and its share is near 0.
fn expect_dead(source: Source, dead: u8, what: &str) {
    let found = source.with_dead(dead).measure().unwrap();
    assert_eq!(found.balance.weak.as_slice(), [dead], "{what}: {found:?}");
    let share = found.balance.share[usize::from(dead) - 1];
    assert!(share.abs() < 0.15, "{what}: {found:?}");
    assert_eq!((found.signs.weakest, found.signs.second), (dead, 0), "{what}");
    assert!(found.signs.bits > 6.0, "{what}: {found:?}");
}

#[test]
fn a_dead_cylinder_is_named_by_the_firing_order() {
    for order in ORDERS {
        for dead in 1..=order.len() as u8 {
            expect_dead(Source::even(order), dead, &std::format!("{order:?} {dead}"));
        }
    }
}

#[test]
fn coarse_wheels_with_a_gap_as_wide_as_two_windows_name_it_too() {
    for (teeth, missing) in [(24, 1), (36, 1), (36, 2), (32, 2)] {
        for dead in 1..=8 {
            let source = Source { teeth, missing, ..Source::even(ORDERS[5]) };
            expect_dead(source, dead, &std::format!("{teeth}-{missing} {dead}"));
        }
    }
}

#[test]
fn uneven_firing_names_it_too() {
    for dead in 1..=6 {
        let intervals = Some(std::vec![90.0, 150.0, 90.0, 150.0, 90.0, 150.0]);
        expect_dead(
            Source { intervals, ..Source::even(&[1, 6, 5, 4, 3, 2]) },
            dead,
            &std::format!("uneven {dead}"),
        );
    }
}

#[test]
fn a_two_stroke_names_it_too() {
    for dead in 1..=3 {
        let source = Source { strokes: 2, cycles: 80, ..Source::even(&[1, 3, 2]) };
        expect_dead(source, dead, &std::format!("two-stroke {dead}"));
    }
}

#[test]
fn two_dead_cylinders_are_both_named() {
    for (one, other) in [(1, 8), (3, 6), (2, 5)] {
        let found = Source::even(ORDERS[5]).with_dead(one).with_dead(other).measure().unwrap();
        assert_eq!(found.balance.weak.as_slice(), [one, other], "{found:?}");
    }
}

#[test]
fn unequal_but_healthy_cylinders_are_not_called_weak() {
    for order in ORDERS {
        for pattern in 0..4 {
            let mut source = Source::even(order);
            for (index, work) in source.works.iter_mut().enumerate() {
                *work += 0.08 * f64::from((index as i32 * (pattern + 3) + pattern) % 5 - 2) / 2.0;
            }
            let found = source.measure().unwrap();
            assert!(found.balance.weak.is_empty() && found.signs.bits < 0.0, "{order:?} {found:?}");
            let mean: f32 = found.balance.share.iter().sum::<f32>() / order.len() as f32;
            assert!((mean - 1.0).abs() < 0.01, "{found:?}");
        }
    }
}

/// CHECKS 7.6: wheel errors imitate whole orders.
#[test]
fn a_badly_cut_wheel_is_not_taken_for_a_weak_cylinder() {
    for order in ORDERS {
        let found = Source { tooth_error: 0.1, ..Source::even(order) }.measure().unwrap();
        assert!(found.balance.weak.is_empty() && found.signs.bits < 0.0, "{order:?} {found:?}");
    }
}

#[test]
fn with_a_spark_every_turn_both_cylinders_of_the_pair_are_named() {
    for (order, dead, pair) in [(ORDERS[1], 3, [2, 3]), (ORDERS[5], 8, [5, 8])] {
        for silence in [0, 5] {
            let source = Source { spark: SparkKind::Paired, silence, ..Source::even(order) };
            let found = source.with_dead(dead).measure().unwrap();
            assert_eq!(found.balance.weak.as_slice(), pair, "{silence} {found:?}");
        }
    }
}

#[test]
fn with_a_spark_every_turn_and_no_pairs_the_turn_that_fits_is_taken() {
    for dead in 1..=3 {
        for cycles in [40, 41] {
            let source = Source { spark: SparkKind::Paired, cycles, ..Source::even(ORDERS[0]) };
            expect_dead(source, dead, &std::format!("three, paired {dead}"));
        }
    }
}

#[test]
fn sync_lost_and_found_again_mixes_no_turns() {
    for silence in [5, 6] {
        let source = Source { silence, spark: SparkKind::Distributor, ..Source::even(ORDERS[3]) };
        expect_dead(source, 5, &std::format!("silence of {silence} turns"));
    }
}

#[test]
fn the_cylinder_half_a_cycle_on_is_told_for_a_clamp_on_another_lead() {
    let found = Source::even(ORDERS[5]).with_dead(8).measure().unwrap();
    assert_eq!(found.if_half_a_cycle_on, [5, 0]);
}

#[test]
fn too_coarse_a_wheel_gives_no_balance() {
    for (order, teeth, missing) in [(ORDERS[1], 12, 1), (ORDERS[6], 24, 1), (ORDERS[5], 16, 1)] {
        let source = Source { teeth, missing, ..Source::even(order) };
        assert_eq!(source.measure(), None, "{teeth}-{missing}");
    }
}
