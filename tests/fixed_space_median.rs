//! The histogram of fixed space against the exact statistics of the same values, kept in full and sorted.
//!
//! Seeded values of the kinds a spark's angle comes in; the exact side is sorting in 64 bits.

use keyway_core::statistics::histogram::{FINE_WIDTH, Histogram};
use keyway_core::units::degrees_to_fraction;
use keyway_tests::noise::Noise;

/// Degrees of half a fine bin.
const HALF_BIN: f64 = FINE_WIDTH as f64 / 2.0 * 360.0 / 4_294_967_296.0;

fn degrees(angle: i32) -> f64 {
    f64::from(angle) * 360.0 / 4_294_967_296.0
}

fn fraction(degrees: f64) -> i32 {
    degrees_to_fraction(degrees) as i32
}

/// A kind of scatter about a centre, degrees.
type Kind = (&'static str, fn(&mut Noise) -> f64);

const KINDS: [Kind; 6] = [
    ("a steady idle", |n| 0.3 * n.normal()),
    ("a worn drive", |n| 1.5 * n.normal()),
    ("a clean bench", |n| 0.05 * n.normal()),
    ("two crowds, three in ten 6° early", |n| 0.2 * n.normal() + if n.uniform() < 0.3 { 6.0 } else { 0.0 }),
    ("one in ten anywhere", |n| if n.uniform() < 0.1 { 360.0 * n.uniform() } else { 0.4 * n.normal() }),
    ("heavy tails", |n| 0.2 * n.normal() / (n.uniform() + 0.05)),
];

/// Exact median and scaled median absolute deviation of offsets from a centre, degrees.
fn exact(offsets: &[f64]) -> (f64, f64) {
    let middle = |values: &mut Vec<f64>| {
        values.sort_by(f64::total_cmp);
        let half = values.len() / 2;
        if values.len() % 2 == 1 { values[half] } else { (values[half - 1] + values[half]) / 2.0 }
    };
    let median = middle(&mut offsets.to_vec());
    let mut ways: Vec<f64> = offsets.iter().map(|x| (x - median).abs()).collect();
    (median, middle(&mut ways) * 1.482_602_218_505_602)
}

fn wrapped(degrees: f64) -> f64 {
    (degrees + 180.0).rem_euclid(360.0) - 180.0
}

#[test]
fn the_median_is_within_half_a_bin_of_the_exact_one_wherever_the_crowd_lies() {
    let (mut worst, mut worst_scatter) = (0.0f64, 0.0f64);
    for (name, kind) in KINDS {
        for count in [1usize, 2, 7, 31, 32, 33, 100, 1001, 20_000] {
            for centre in [0.0, 10.0, 179.95, -180.0, -97.3] {
                for seed in 0..5u64 {
                    let mut noise = Noise::seeded(seed * 1000 + count as u64);
                    let mut histogram = Histogram::new();
                    let mut offsets = Vec::new();
                    for _ in 0..count {
                        let offset = wrapped(kind(&mut noise));
                        offsets.push(offset);
                        histogram.add(fraction(centre + offset));
                    }
                    let (median, scatter) = exact(&offsets);
                    let read = histogram.median().unwrap();
                    let error = wrapped(degrees(read.angle) - centre - median).abs();
                    // Below three values "the median" of a wild one and a good one means nothing.
                    if count < 3 && name != "a steady idle" {
                        continue;
                    }
                    assert!(error <= HALF_BIN + 1e-6, "{name}, {count} at {centre}, seed {seed}: {error}");
                    assert!(error <= f64::from(read.within) * 360.0 / 4_294_967_296.0 + 1e-6);
                    worst = worst.max(error);
                    if count > 32 {
                        let off = f64::from(histogram.scatter().unwrap()) * 360.0 / 4_294_967_296.0 - scatter;
                        // A deviation is a difference of two places that are each known to half a bin.
                        assert!(off.abs() <= 2.0 * HALF_BIN * 1.4826, "{name}, {count} at {centre}: {off}");
                        worst_scatter = worst_scatter.max(off.abs());
                    }
                    assert_eq!(histogram.count() as usize, count);
                    assert!(!histogram.saturated());
                }
            }
        }
    }
    println!(
        "median at most {worst:.5}°, scaled deviation {worst_scatter:.5}° off (half a bin: {HALF_BIN:.5}°)"
    );
}

#[test]
fn up_to_32_values_are_read_exactly() {
    for count in 1..=31 {
        let mut noise = Noise::seeded(count);
        let mut histogram = Histogram::new();
        let mut angles = Vec::new();
        for _ in 0..count {
            let angle = fraction(noise.normal());
            angles.push(angle);
            histogram.add(angle);
        }
        angles.sort_unstable();
        let half = angles.len() / 2;
        let read = histogram.median().unwrap();
        let off = if count % 2 == 1 {
            read.angle - angles[half]
        } else {
            read.angle - (angles[half - 1] / 2 + angles[half] / 2)
        };
        assert!(off.abs() <= 1 && read.within == 0, "{count}: {off}");
    }
}

#[test]
fn a_window_set_on_wild_first_values_follows_the_crowd_and_says_what_it_cannot_place() {
    let mut noise = Noise::seeded(3);
    let mut histogram = Histogram::new();
    // Forty false values at 100°, then the engine at 12°.
    for _ in 0..40 {
        histogram.add(fraction(100.0 + 0.2 * noise.normal()));
    }
    let mut offsets = Vec::new();
    for _ in 0..2000 {
        let offset = 12.0 + 0.3 * noise.normal();
        offsets.push(offset);
        histogram.add(fraction(offset));
    }
    let unplaced = histogram.unplaced();
    assert!(unplaced > 0 && unplaced < 128, "{unplaced}");
    let read = histogram.median().unwrap();
    // The forty lie above and move the median of the 2000 by a few ranks: 0.01°.
    let (median, _) = exact(&offsets);
    assert!((degrees(read.angle) - median).abs() < HALF_BIN + 0.015, "{}", degrees(read.angle));
    assert_eq!(read.within, FINE_WIDTH / 2);
    assert_eq!(histogram.ordered() + unplaced, histogram.count());
}

#[test]
fn a_setting_moved_by_thirty_degrees_is_followed_across_half_a_turn() {
    let mut noise = Noise::seeded(9);
    let mut histogram = Histogram::new();
    for place in 0..6000 {
        let centre = if place < 1000 { 170.0 } else { -160.0 };
        histogram.add(fraction(centre + 0.3 * noise.normal()));
    }
    let read = degrees(histogram.median().unwrap().angle);
    // The 83rd centile of the whole is about the 40th of the later crowd: 0.25 of its scatter below.
    assert!((read + 160.08).abs() < 0.05, "{read}");
}

#[test]
fn noise_all_round_reads_as_wide_scatter_to_a_degree_and_never_as_a_narrow_one() {
    for seed in 0..20 {
        let mut noise = Noise::seeded(seed);
        let mut histogram = Histogram::new();
        (0..5000).for_each(|_| histogram.add(fraction(360.0 * noise.uniform())));
        let scatter = f64::from(histogram.scatter().unwrap()) * 360.0 / 4_294_967_296.0;
        // A quarter of a turn holds half of the values either side: 90° times the scale.
        assert!((scatter / (90.0 * 1.4826) - 1.0).abs() < 0.05, "{scatter}");
    }
}

#[test]
fn a_quartile_and_an_order_statistic_lie_where_sorting_puts_them() {
    let mut noise = Noise::seeded(21);
    let mut histogram = Histogram::new();
    let mut values: Vec<f64> = (0..4001).map(|_| 10.0 + noise.normal()).collect();
    values.iter().for_each(|&value| histogram.add(fraction(value)));
    values.sort_by(f64::total_cmp);
    for (share, place) in [(0.25, 1000), (0.5, 2000), (0.75, 3000)] {
        let read = degrees(histogram.quantile(share).unwrap().angle);
        assert!((read - values[place]).abs() <= HALF_BIN + 1e-6, "{share}: {read} {}", values[place]);
    }
    for rank in [1u32, 40, 2001, 3990, 4001] {
        let read = degrees(histogram.order_statistic(rank).unwrap().angle);
        assert!((read - values[rank as usize - 1]).abs() <= HALF_BIN + 1e-6, "{rank}");
    }
    assert_eq!(histogram.order_statistic(0), None);
    assert_eq!(histogram.order_statistic(4002), None);
}

#[test]
fn the_interval_of_the_median_holds_the_truth_in_95_of_100_captures() {
    for count in [20u32, 60, 300] {
        let (mut held, rounds) = (0, 1000);
        for seed in 0..rounds {
            let mut noise = Noise::seeded(seed);
            let mut histogram = Histogram::new();
            (0..count).for_each(|_| histogram.add(fraction(179.9 + 0.3 * noise.normal())));
            let (low, high) = histogram.median_interval().unwrap();
            let from = |angle: i32| wrapped(degrees(angle) - 179.9);
            held += u32::from(from(low.angle) - HALF_BIN <= 0.0 && from(high.angle) + HALF_BIN >= 0.0);
        }
        // The exact binomial claim, and 0.7 % for a thousand rounds.
        assert!(f64::from(held) / rounds as f64 >= 0.943, "{count}: {held}");
    }
    let mut few = Histogram::new();
    (0..5).for_each(|_| few.add(0));
    assert_eq!(few.median_interval(), None);
}

#[test]
fn counting_within_an_arc_agrees_with_counting_the_values() {
    let mut noise = Noise::seeded(33);
    let mut histogram = Histogram::new();
    let values: Vec<f64> = (0..3000).map(|_| 10.0 + noise.normal()).collect();
    values.iter().for_each(|&value| histogram.add(fraction(value)));
    for arc in [0.5, 1.0, 3.0] {
        let held = histogram.count_within(fraction(10.0), fraction(arc) as u32);
        let exact = values.iter().filter(|&value| (value - 10.0).abs() <= arc).count() as i64;
        let doubtful =
            values.iter().filter(|&value| ((value - 10.0).abs() - arc).abs() <= HALF_BIN + 1e-6).count()
                as i64;
        assert!((i64::from(held) - exact).abs() <= doubtful, "{arc}: {held} {exact}");
    }
}

#[test]
fn a_full_bin_says_so_and_the_space_stays_below_4_kilobytes() {
    assert!(size_of::<Histogram>() <= 3800, "{}", size_of::<Histogram>());
    let mut histogram = Histogram::new();
    (0..70_000).for_each(|_| histogram.add(fraction(10.0)));
    assert!(histogram.saturated());
    assert!((degrees(histogram.median().unwrap().angle) - 10.0).abs() <= 2.0 * HALF_BIN);
    assert_eq!(histogram.count(), 70_000);
}
