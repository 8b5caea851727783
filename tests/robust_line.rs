//! The robust line: on clean points as good as least squares, on wild ones still right, and its doubt holds.
//!
//! Seeded points in the shape of a blip: advance by bins of speed. The truth is what the points were made from.

use keyway_core::statistics::line::{Line, LineSums};
use keyway_core::statistics::robust_line::{MOST_POINTS, Point, robust_line};
use keyway_core::statistics::uncertainty::{Confidence, coverage_factor};
use keyway_tests::noise::Noise;

/// Degrees per rpm of the truth: 80 µs of fixed delay.
const SLOPE: f64 = -6.0 * 80e-6;

/// Bins of speed from 700 rpm in steps of 50, each the mean of `weight` sparks of 0.5° scatter; the share
/// `wild` of them thrown off by 5° to 15°.
fn blip(noise: &mut Noise, bins: usize, wild: f64) -> Vec<Point> {
    (0..bins)
        .map(|bin| {
            let x = 700.0 + 50.0 * bin as f64;
            let weight = 1.0 + (noise.uniform() * 20.0).floor();
            let thrown = if noise.uniform() < wild { 5.0 + 10.0 * noise.uniform() } else { 0.0 };
            let y = 10.0 + SLOPE * x + 0.5 * noise.normal() / weight.sqrt() + thrown;
            Point { x: x as f32, y: y as f32, weight: weight as f32 }
        })
        .collect()
}

fn least_squares(points: &[Point]) -> Line<f64> {
    let mut sums = LineSums::new();
    points.iter().for_each(|p| sums.add_weighted(p.x.into(), p.y.into(), p.weight.into()));
    sums.fit().unwrap()
}

/// Share of captures whose slope, and whose height at 1500 rpm, lie within the 95 % interval.
fn coverage(bins: usize, wild: f64) -> (f64, f64) {
    let rounds = 4000;
    let (mut slopes, mut heights) = (0, 0);
    for seed in 0..rounds {
        let line = robust_line(&blip(&mut Noise::seeded(seed), bins, wild)).unwrap();
        let k = f64::from(coverage_factor(Confidence::Percent95, line.freedom));
        slopes += u32::from((f64::from(line.slope) - SLOPE).abs() <= k * f64::from(line.slope_uncertainty));
        let (height, doubt) = line.predict(1500.0);
        heights += u32::from((f64::from(height) - 10.0 - SLOPE * 1500.0).abs() <= k * f64::from(doubt));
    }
    (f64::from(slopes) / rounds as f64, f64::from(heights) / rounds as f64)
}

#[test]
fn the_truth_lies_inside_its_doubt_in_95_of_100_blips() {
    for bins in [8, 12, 20, 46, 64] {
        for wild in [0.0, 0.05] {
            let (slope, height) = coverage(bins, wild);
            println!("{bins} bins, {wild} wild: slope {slope:.4}, height {height:.4}");
            // 4000 blips tell a share of 95 % to 0.34 %; the cells reached 94.5 to 95.3 %.
            for share in [slope, height] {
                assert!((0.94..=0.965).contains(&share), "{bins} bins, {wild} wild: {share}");
            }
        }
    }
}

#[test]
fn on_clean_points_it_is_nearly_as_sharp_as_least_squares() {
    let (mut robust, mut least, rounds) = (0.0, 0.0, 1000);
    for seed in 0..rounds {
        let points = blip(&mut Noise::seeded(seed), 46, 0.0);
        robust += (f64::from(robust_line(&points).unwrap().slope) - SLOPE).powi(2);
        least += (least_squares(&points).slope - SLOPE).powi(2);
    }
    // Huber's limit is chosen for 95 % efficiency.
    let efficiency = least / robust;
    println!("efficiency {efficiency:.3}");
    assert!(efficiency > 0.90 && efficiency < 1.0, "{efficiency}");
}

#[test]
fn one_bin_in_eight_thrown_off_hardly_moves_it() {
    let (mut robust, mut least, rounds) = (0.0f64, 0.0f64, 500);
    for seed in 0..rounds {
        let points = blip(&mut Noise::seeded(seed), 46, 0.125);
        robust += (f64::from(robust_line(&points).unwrap().slope) - SLOPE).powi(2);
        least += (least_squares(&points).slope - SLOPE).powi(2);
    }
    println!("error of the slope, robust to least squares: {:.3}", (robust / least).sqrt());
    assert!((robust / least).sqrt() < 0.25);
}

#[test]
fn points_on_a_line_give_that_line_to_five_digits() {
    for (slope, height) in [(0.01f32, -3.0f32), (-0.00048, 10.0), (0.0, 12.5)] {
        let points: Vec<Point> = (0..MOST_POINTS)
            .map(|i| 700.0 + 40.0 * i as f32)
            .map(|x| Point { x, y: height + slope * x, weight: 3.0 })
            .collect();
        let line = robust_line(&points).unwrap();
        assert!((line.slope - slope).abs() <= 1e-5 * slope.abs() + 1e-9, "{}", line.slope);
        assert!((line.intercept() - height).abs() < 1e-4, "{}", line.intercept());
        assert!(line.slope_uncertainty < 1e-8);
    }
}

#[test]
fn points_that_can_make_no_line_give_none() {
    let at = |x: f32, y: f32| Point { x, y, weight: 1.0 };
    assert_eq!(robust_line(&[]), None);
    assert_eq!(robust_line(&[at(1.0, 1.0), at(2.0, 2.0), at(3.0, 3.0)]), None);
    assert_eq!(robust_line(&[at(1.0, 1.0); 10]), None);
    assert_eq!(robust_line(&[at(1.0, f32::NAN), at(2.0, 2.0), at(3.0, 3.0), at(4.0, 4.0)]), None);
    assert_eq!(robust_line(&vec![at(1.0, 1.0); MOST_POINTS + 1]), None);
    assert_eq!(robust_line(&[at(0.0, 1e30), at(1e30, -1e30), at(2e30, 3e30), at(3e30, 1.0)]), None);
    let weightless = [0.0, 1.0, 2.0, 3.0].map(|x| Point { x, y: x, weight: 0.0 });
    assert_eq!(robust_line(&weightless), None);
}
