//! The budget of doubt against the *Guide to the expression of uncertainty in measurement* (JCGM 100:2008),
//! and Student's t against published and computed quantiles.
//!
//! H.1 and H.3: inputs and results [R] from public tests and example code that cite the guide; more digits [C]
//! by an independent uncertainty library.

use keyway_core::statistics::line::LineSums;
use keyway_core::statistics::uncertainty::{
    Component, Confidence, combine, coverage_factor, of_mean, of_median,
};
use keyway_tests::noise::Noise;

#[track_caller]
fn near(read: f64, expected: f64, within: f64) {
    assert!((read - expected).abs() <= within, "read {read}, expected {expected} within {within}");
}

#[test]
fn the_end_gauge_of_the_guide_has_its_budget() {
    // H.1, nanometres. Sensitivities: length × temperature −0.1 °C, and length × expansion 11.5e-6 / °C.
    let length = 50.000623e6f32;
    let expansion = Component { freedom: 50.0, ..Component::within(1e-6) }.times(length * -0.1);
    let temperature = Component { freedom: 2.0, ..Component::within(0.05) }.times(length * 11.5e-6);
    near(f64::from(expansion.standard), 2.9, 0.05);
    near(f64::from(temperature.standard), 16.6, 0.05);
    let budget = [
        Component::new(25.0, 18.0),
        Component::new(5.8, 24.0),
        Component::new(3.9, 5.0),
        Component::new(6.7, 8.0),
        expansion,
        temperature,
    ];
    near(f64::from(combine(&budget[1..4]).standard), 9.7, 0.05);
    let all = combine(&budget);
    near(f64::from(all.standard), 31.6639, 5e-4);
    near(f64::from(all.freedom), 16.75, 0.006);
    // The guide rounds down to 16 degrees of freedom and up to 32 nm: k = 2.92, U = 93 nm.
    assert_eq!((all.standard.round(), all.freedom.floor()), (32.0, 16.0));
    let k = coverage_factor(Confidence::Percent99, 16.0);
    near(f64::from(k), 2.92, 0.005);
    assert_eq!((k * 32.0).round(), 93.0);
    // Without the two roundings it is 92.0 nm.
    near(f64::from(all.expanded(Confidence::Percent99)), 92.0, 0.1);
}

#[test]
fn the_thermometer_of_the_guide_has_its_line_and_prediction() {
    // H.3: correction against temperature about 20 °C, the same shape as advance against speed.
    let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let mut sums = LineSums::<f64>::new();
    t.iter().zip(b).for_each(|(t, b)| sums.add(t - 20.0, b));
    let line = sums.fit().unwrap();
    near(line.intercept(), -0.1712038, 5.1e-8);
    near(line.intercept_uncertainty(), 0.0028776, 5.1e-8);
    near(line.slope, 0.0021827, 5.1e-8);
    near(line.slope_uncertainty, 0.00066794, 5.1e-9);
    near(line.correlation(), -0.93043, 5.1e-6);
    near(line.covariance(), -0.93043 * 0.0028776 * 0.00066794, 1e-10);
    let (at_30, doubt) = line.predict(10.0);
    near(at_30, -0.1493768, 5.1e-8);
    near(doubt, 0.0041386, 5.1e-8);
    assert_eq!(line.freedom, 9.0);
}

#[test]
fn students_t_is_right_to_five_parts_in_a_million() {
    // Degrees of freedom, t for 95 %, t for 99 %: scipy.stats.t, seven digits [C]; whole ones are in any table.
    let table = [
        (1.0, 12.7062, 63.65674),
        (1.3, 7.500529, 26.05755),
        (1.5, 6.016663, 17.82031),
        (2.0, 4.302653, 9.924843),
        (2.5, 3.574655, 7.163728),
        (3.0, 3.182446, 5.840909),
        (4.0, 2.776445, 4.604095),
        (5.0, 2.570582, 4.032143),
        (6.0, 2.446912, 3.707428),
        (7.0, 2.364624, 3.499483),
        (8.0, 2.306004, 3.355387),
        (9.0, 2.262157, 3.249836),
        (10.0, 2.228139, 3.169273),
        (12.0, 2.178813, 3.05454),
        (16.0, 2.119905, 2.920782),
        (18.0, 2.100922, 2.87844),
        (20.0, 2.085963, 2.84534),
        (25.0, 2.059539, 2.787436),
        (30.0, 2.042272, 2.749996),
        (50.0, 2.008559, 2.677793),
        (100.0, 1.983972, 2.625891),
        (1000.0, 1.962339, 2.580755),
        (f32::INFINITY, 1.959964, 2.575829),
    ];
    let mut worst = 0.0f64;
    for (freedom, at_95, at_99) in table {
        for (confidence, expected) in [(Confidence::Percent95, at_95), (Confidence::Percent99, at_99)] {
            worst = worst.max((f64::from(coverage_factor(confidence, freedom)) / expected - 1.0).abs());
        }
    }
    assert!(worst <= 5e-6, "{worst:e}");
}

#[test]
fn the_simple_shapes_of_doubt_have_the_guides_divisors() {
    // GUM 4.3.7 (rectangle), F.2.2.1 (rounding), H.1.3.4 (a swing, arcsine).
    near(f64::from(Component::within(1.0).standard), 1.0 / 3.0f64.sqrt(), 1e-7);
    near(f64::from(Component::swinging(0.5).standard), 0.35355339, 1e-7);
    near(f64::from(Component::rounded_to(1.0).standard), 1.0 / 12.0f64.sqrt(), 1e-7);
}

#[test]
fn a_median_of_normal_readings_is_as_doubtful_as_stated() {
    for count in [11usize, 25, 101] {
        let mut noise = Noise::seeded(count as u64);
        let (mut squares, rounds) = (0.0, 20_000);
        for _ in 0..rounds {
            let mut readings: Vec<f64> = (0..count).map(|_| noise.normal()).collect();
            readings.sort_by(f64::total_cmp);
            squares += readings[count / 2] * readings[count / 2];
        }
        let seen = (squares / f64::from(rounds)).sqrt();
        let stated = f64::from(of_median(1.0, count as f32));
        assert!(stated / seen > 0.98 && stated / seen < 1.06, "{count}: {seen} {stated}");
    }
    near(f64::from(of_mean(2.0, 16.0)), 0.5, 1e-7);
}
