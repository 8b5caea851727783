//! Lines of least squares against the reference data sets of the US National Institute of Standards and Technology
//! (Statistical Reference Datasets).
//!
//! Certified values [R] as quoted by a statistics package's certification pages and public test suites. Digits
//! reached are those of 64-bit sums about the running mean, asserted as relative error at each value, and of the
//! 32-bit sums that the handheld keeps, which are the same code.

use keyway_core::statistics::correlation::Row;
use keyway_core::statistics::line::LineSums;

#[track_caller]
fn near(read: f64, certified: f64, relative: f64) {
    let off = (read / certified - 1.0).abs();
    assert!(off <= relative, "read {read:.15}, certified {certified:.15}: {off:e} off");
}

fn sums(x: &[f64], y: &[f64]) -> LineSums<f64> {
    assert_eq!(x.len(), y.len());
    let mut sums = LineSums::<f64>::new();
    x.iter().zip(y).for_each(|(&x, &y)| sums.add(x, y));
    sums
}

const NORRIS_Y: [f64; 36] = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
    448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
    228.9, 668.4, 449.2, 0.2,
];
const NORRIS_X: [f64; 36] = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
    447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
    229.2, 669.1, 448.9, 0.5,
];

#[test]
fn norris_ozone_monitors_come_out_to_twelve_digits() {
    let line = sums(&NORRIS_X, &NORRIS_Y).fit().unwrap();
    near(line.intercept(), -0.262323073774029, 1e-12);
    near(line.slope, 1.00211681802045, 1e-14);
    near(line.intercept_uncertainty(), 0.232818234301152, 1e-9);
    near(line.slope_uncertainty, 0.429796848199937E-03, 1e-9);
    near(line.residual, 0.884796396144373, 1e-9);
    assert_eq!(line.freedom, 34.0);
}

/// The handheld's sums of the same points.
fn narrow(x: &[f64], y: &[f64]) -> LineSums {
    let mut sums = LineSums::new();
    x.iter().zip(y).for_each(|(&x, &y)| sums.add(x as f32, y as f32));
    sums
}

#[test]
fn norris_comes_out_to_six_digits_of_its_slope_in_32_bits() {
    let line = narrow(&NORRIS_X, &NORRIS_Y).fit().unwrap();
    near(line.slope.into(), 1.00211681802045, 5e-7);
    // What the line leaves of the squares is one part in 160,000 here, so their last digits are all there is of it.
    near(line.slope_uncertainty.into(), 0.429796848199937E-03, 1e-2);
    near(line.residual.into(), 0.884796396144373, 1e-2);
    // Of values up to a thousand, a quarter of one is known to their last digit.
    assert!((f64::from(line.intercept()) + 0.262323073774029).abs() < 2e-4, "{}", line.intercept());
}

#[test]
fn an_hour_of_idle_comes_out_in_32_bits_as_in_64() {
    // Speed and advance wander together, as under a computer that steadies the idle; 21,000 sparks.
    let (mut wide, mut narrow) = (LineSums::<f64>::new(), LineSums::<f32>::new());
    let (mut wide_row, mut narrow_row) = (Row::<f64>::new(), Row::<f32>::new());
    let mut noise = keyway_tests::noise::Noise::seeded(1);
    let (mut rpm, mut advance) = (0.0f64, 0.0f64);
    for _ in 0..21_000 {
        rpm = 0.95 * rpm + 3.0 * noise.normal();
        advance = 0.5 * advance + 0.3 * noise.normal();
        let (x, y) = ((700.0 + rpm) as f32, (-0.02 * rpm + advance) as f32);
        wide.add(x.into(), y.into());
        narrow.add(x, y);
        wide_row.add(y.into());
        narrow_row.add(y);
    }
    let (one, other) = (wide.fit().unwrap(), narrow.fit().unwrap());
    near(other.slope.into(), one.slope, 1e-3);
    near(other.slope_uncertainty.into(), one.slope_uncertainty, 1e-3);
    near(other.residual.into(), one.residual, 1e-3);
    near(narrow_row.spread().unwrap().1.into(), wide_row.spread().unwrap().1, 1e-3);
    near(narrow_row.lag_one().unwrap().into(), wide_row.lag_one().unwrap(), 1e-3);
    // A tenth of what it is doubted by.
    assert!((f64::from(other.slope) - one.slope).abs() < 0.1 * one.slope_uncertainty);
}

#[test]
fn norris_comes_out_the_same_on_a_large_offset() {
    // Not certified: the same points moved by 10⁷ in both directions have the same slope.
    let moved: Vec<f64> = NORRIS_X.iter().map(|x| x + 1e7).collect();
    let raised: Vec<f64> = NORRIS_Y.iter().map(|y| y + 1e7).collect();
    let line = sums(&moved, &raised).fit().unwrap();
    near(line.slope, 1.00211681802045, 1e-11);
    near(line.residual, 0.884796396144373, 1e-6);
}

#[test]
fn lines_through_the_origin_come_out_to_thirteen_digits() {
    let y: Vec<f64> = (130..=140).map(f64::from).collect();
    let x: Vec<f64> = (60..=70).map(f64::from).collect();
    let (slope, doubt, freedom) = sums(&x, &y).fit_through_origin().unwrap();
    near(slope, 2.07438016528926, 2e-15);
    near(doubt, 0.165289256198347E-01, 1e-13);
    assert_eq!(freedom, 10.0);
    let (slope, doubt, freedom) = sums(&[4.0, 5.0, 6.0], &[3.0, 4.0, 4.0]).fit_through_origin().unwrap();
    near(slope, 0.727272727272727, 5e-16);
    near(doubt, 0.420827318078432E-01, 1e-13);
    assert_eq!(freedom, 2.0);
}

/// Michelson's 1879 measurements of light's speed, hundredths above 299 thousand km/s: the data [M], but
/// their certified mean, deviation and correlation come out, so they are the right ones.
const MICHELSON: [u32; 100] = [
    85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96, 96, 94, 96, 94, 88,
    80, 85, 88, 90, 84, 83, 79, 81, 88, 88, 83, 80, 79, 76, 80, 88, 88, 88, 86, 72, 72, 62, 86, 97, 95, 88,
    91, 85, 87, 84, 84, 85, 84, 84, 84, 89, 81, 81, 82, 80, 77, 76, 74, 75, 76, 91, 92, 89, 86, 88, 72, 84,
    85, 85, 78, 89, 84, 78, 81, 76, 81, 79, 81, 82, 85, 87, 87, 81, 74, 81, 94, 95, 80, 81, 87,
];

#[test]
fn michelson_has_its_certified_mean_deviation_and_lag_one_correlation() {
    let (mut row, mut line) = (Row::<f64>::new(), LineSums::<f64>::new());
    for (place, &hundredths) in MICHELSON.iter().enumerate() {
        let value = 299.0 + f64::from(hundredths) / 100.0;
        row.add(value);
        line.add(place as f64, value);
    }
    for (mean, deviation) in [row.spread().unwrap(), line.spread_of_y().unwrap()] {
        near(mean, 299.852400000000, 1e-15);
        near(deviation, 0.0790105478190518, 1e-12);
    }
    near(row.lag_one().unwrap(), 0.535199668621283, 1e-12);
}

#[test]
fn a_tenth_of_scatter_on_ten_million_is_not_lost() {
    // NumAcc4 [M]: 10000000.2, then 10000000.1 and 10000000.3 in turn, 1001 values: mean 10000000.2, sd 0.1,
    // lag-1 correlation −0.999. The values themselves are 2e-9 off in 64 bits, so the deviation is right to 1e-8.
    let (mut row, mut line) = (Row::<f64>::new(), LineSums::<f64>::new());
    for place in 0..1001u32 {
        let value = match place {
            0 => 10_000_000.2,
            odd if odd % 2 == 1 => 10_000_000.1,
            _ => 10_000_000.3,
        };
        row.add(value);
        line.add(f64::from(place), value);
    }
    for (mean, deviation) in [row.spread().unwrap(), line.spread_of_y().unwrap()] {
        near(mean, 10_000_000.2, 1e-15);
        near(deviation, 0.1, 2e-8);
    }
    near(row.lag_one().unwrap(), -0.999, 1e-7);
}

#[test]
fn a_fixed_delay_shows_as_its_slope_of_advance_against_speed() {
    // −6 · delay · 10⁻⁶ degrees per rpm with the delay in µs, from degrees = 6 · rpm · seconds [C].
    let mut sums = LineSums::<f64>::new();
    for rpm in (700..3000).step_by(50) {
        sums.add(f64::from(rpm), 10.0 - 6.0 * f64::from(rpm) * 80e-6);
    }
    let line = sums.fit().unwrap();
    near(line.slope, -6.0 * 80e-6, 1e-12);
    near(line.intercept(), 10.0, 1e-12);
}
