//! Centre and spread of directions against the textbooks.
//!
//! [R]: read in published test files that cite book and page, some to a few digits only, not in the books
//! themselves. [C]: computed to more digits in 64 bits, equal to scipy 1.17 where scipy has the function.

use keyway_core::statistics::circular::{Resultant, mean_arc, median};
use keyway_core::units::degrees_to_fraction;
use keyway_tests::noise::Noise;

fn angles(degrees: &[f64]) -> Vec<i32> {
    degrees.iter().map(|&value| degrees_to_fraction(value) as i32).collect()
}

/// Degrees in 0 to 360.
fn degrees(angle: i32) -> f64 {
    f64::from(angle as u32) * 360.0 / 4_294_967_296.0
}

fn mean(set: &[i32]) -> f64 {
    degrees(Resultant::of(set).mean().unwrap())
}

fn length(set: &[i32]) -> f64 {
    f64::from(Resultant::of(set).length().unwrap())
}

#[track_caller]
fn near(read: f64, expected: f64, within: f64) {
    assert!((read - expected).abs() <= within, "read {read}, expected {expected} within {within}");
}

#[test]
fn the_roulette_wheel_of_mardia_and_jupp() {
    // Mardia & Jupp (2000) example 1.1 [R]: mean 51°, R 0.711, median 52°.
    let set = angles(&[43.0, 45.0, 52.0, 61.0, 75.0, 88.0, 88.0, 279.0, 357.0]);
    near(mean(&set), 51.0, 0.5);
    near(length(&set), 0.711, 0.0005);
    near(degrees(median(&set).unwrap()), 52.0, 1e-6);
    // [C]
    near(mean(&set), 51.0501771, 3e-5);
    near(length(&set), 0.7109910, 5e-7);
    near(f64::from(Resultant::of(&set).standard_deviation().unwrap()).to_degrees(), 47.32337, 1e-4);
}

#[test]
fn the_trees_of_zar() {
    // Zar (2010) example 26.4 [R]: mean 99°, r 0.82522, s 34°, s0 36°, median 103°; 110° without the first.
    let set = angles(&[45.0, 55.0, 81.0, 96.0, 110.0, 117.0, 132.0, 154.0]);
    let sum = Resultant::of(&set);
    let (angular, circular) = (sum.angular_deviation().unwrap(), sum.standard_deviation().unwrap());
    near(mean(&set), 99.0, 0.5);
    near(length(&set), 0.82522, 5e-6);
    near(f64::from(angular).to_degrees(), 34.0, 0.5);
    near(f64::from(circular).to_degrees(), 36.0, 0.5);
    near(degrees(median(&set).unwrap()), 103.0, 1e-6);
    near(degrees(median(&set[1..]).unwrap()), 110.0, 1e-6);
    // [C]
    near(mean(&set), 98.98775, 3e-5);
    near(length(&set), 0.8252177, 5e-7);
    near(f64::from(angular).to_degrees(), 33.8755, 1e-4);
    near(f64::from(circular).to_degrees(), 35.5148, 1e-4);
    // All directions from 96° to 110° tie at a mean arc of 29.5° [C]: the middle is this project's choice.
    for tied in [96.0, 99.5, 103.0, 110.0] {
        let arc = mean_arc(&set, degrees_to_fraction(tied) as i32).unwrap();
        near(degrees(arc as i32), 29.5, 1e-6);
    }
}

#[test]
fn the_grouped_data_of_zar() {
    // Zar (2010) example 26.5, classes of 30° [R]: mean 162°, r 0.55064.
    let mut sum = Resultant::new();
    for (class, count) in [0.0, 6.0, 9.0, 13.0, 15.0, 22.0, 17.0, 12.0, 8.0, 3.0, 0.0, 0.0].iter().enumerate()
    {
        sum.add_weighted(degrees_to_fraction(15.0 + 30.0 * class as f64) as i32, *count);
    }
    near(degrees(sum.mean().unwrap()), 162.0, 0.5);
    near(f64::from(sum.length().unwrap()), 0.55064, 5e-6);
    // [C]
    near(degrees(sum.mean().unwrap()), 161.5651, 6e-5);
    near(f64::from(sum.length().unwrap()), 0.5506351, 5e-7);
}

#[test]
fn the_sea_stars_of_fisher_straddle_zero() {
    // Fisher (1993) B.11 [R]: mean 3.10°, R 0.83.
    let set = angles(&[
        0.0, 1.0, 3.0, 3.0, 8.0, 13.0, 16.0, 18.0, 30.0, 31.0, 43.0, 45.0, 147.0, 298.0, 329.0, 332.0, 335.0,
        340.0, 350.0, 354.0, 356.0, 357.0,
    ]);
    near(mean(&set), 3.10, 0.005);
    near(length(&set), 0.83, 0.005);
    // [C]
    near(mean(&set), 3.1003721, 3e-5);
    near(length(&set), 0.8297671, 5e-7);
}

#[test]
fn the_pigeons_of_fisher() {
    // Fisher (1993) B.12, data [R], results [C].
    let set = angles(&[
        85.0, 135.0, 135.0, 140.0, 145.0, 150.0, 150.0, 150.0, 160.0, 285.0, 200.0, 210.0, 220.0, 225.0,
        270.0,
    ]);
    near(mean(&set), 172.1185751, 3e-5);
    near(length(&set), 0.6373587, 5e-7);
}

#[test]
fn the_mean_across_zero_of_scipys_own_test() {
    // scipy, tests of stats.circmean [R].
    near(mean(&angles(&[355.0, 5.0, 2.0, 359.0, 10.0, 350.0])), 0.167690146, 3e-5);
}

#[test]
fn evenly_spaced_angles_across_zero_have_their_middle_as_mean_and_median() {
    // By symmetry.
    let set = angles(&[350.0, 355.0, 0.0, 5.0, 10.0, 15.0]);
    near(mean(&set), 2.5, 3e-5);
    near(degrees(median(&set).unwrap()), 2.5, 1e-6);
}

#[test]
fn a_thousand_agreeing_angles_keep_their_mean_and_spread_in_32_bits() {
    // Against the same sums in 64 bits.
    let (mut worst_mean, mut worst_spread) = (0.0f64, 0.0f64);
    for scatter in [0.3f64, 0.5, 2.0, 20.0] {
        for centre in [0.0, 45.0, 90.0, 179.9, 270.0] {
            let mut noise = Noise::seeded(1);
            let set = angles(&(0..1000).map(|_| centre + scatter * noise.normal()).collect::<Vec<_>>());
            let (mut along, mut across) = (0.0f64, 0.0f64);
            for &angle in &set {
                along += degrees(angle).to_radians().cos() / 1000.0;
                across += degrees(angle).to_radians().sin() / 1000.0;
            }
            let sum = Resultant::of(&set);
            let off = degrees(sum.mean().unwrap()) - across.atan2(along).to_degrees();
            worst_mean = worst_mean.max(((off + 180.0).rem_euclid(360.0) - 180.0).abs());
            let exact = (-2.0 * along.hypot(across).ln()).sqrt();
            worst_spread =
                worst_spread.max((f64::from(sum.standard_deviation().unwrap()) / exact - 1.0).abs());
        }
    }
    for centre in [0.0, 33.3, 90.0, -179.95] {
        let still = Resultant::of(&angles(&[centre; 1000])).standard_deviation().unwrap();
        assert!(still <= 5e-4, "{centre}: {still}");
    }
    println!("mean {worst_mean:e} degrees, spread {worst_spread:e} of it");
    assert!(worst_mean <= 3e-5 && worst_spread <= 1e-3, "{worst_mean:e} {worst_spread:e}");
}
