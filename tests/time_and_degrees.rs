//! Time against crank degrees, through the core's units.
//!
//! Source: a published worked text, "Ignition Timing Project" (forum answer kept in the data set
//! nvidia/Nemotron-CC-Math-v1): 3000 rpm, 50 Hz, 20 ms a turn, 55.55 µs a degree, 350 µs for 6.3° [R].
//! The other rows follow from degrees = 6 · rpm · seconds [C].

use keyway_core::units::{Instant, Stamp, TURN, TickRate, degrees_to_fraction, fraction_to_degrees};

/// Degrees that a crank at `rpm` turns in `ticks`, by the core's whole-number path.
fn degrees(rate: TickRate, rpm: f32, ticks: u64) -> f64 {
    let turn = rate.ticks_per_turn(rpm);
    let fraction = u128::from(ticks) * u128::from(TURN) / u128::from(turn);
    f64::from(fraction_to_degrees(i32::try_from(fraction).unwrap()))
}

#[test]
fn the_published_worked_text_comes_out_at_3000_rpm() {
    let rate = TickRate::DESKTOP;
    // 20 ms a turn, 50 turns a second.
    assert_eq!(rate.ticks_per_turn(3000.0), rate.ticks_in_ms(20));
    assert_eq!(rate.rpm(1.0, rate.ticks_in_ms(20)), 3000.0);
    // "1° = 55.55 µs", "350 µs = 6.3°".
    assert!((degrees(rate, 3000.0, 3500) - 6.3).abs() < 1e-6);
    assert!((rate.ticks_per_turn(3000.0) as f64 / 360.0 / 10.0 - 55.55).abs() < 0.006);
}

#[test]
fn a_delay_becomes_the_tabled_angle_at_each_speed() {
    // rpm, degrees in 1 ms, µs a degree, degrees in 50 µs and in 350 µs [C].
    let table = [
        (150.0, 0.9, 1111.1111, 0.045, 0.315),
        (600.0, 3.6, 277.77778, 0.180, 1.260),
        (850.0, 5.1, 196.07843, 0.255, 1.785),
        (3000.0, 18.0, 55.555556, 0.900, 6.300),
        (6000.0, 36.0, 27.777778, 1.800, 12.600),
    ];
    for rate in [TickRate::DESKTOP, TickRate::from_hertz(125_000_000).unwrap()] {
        for (rpm, per_ms, us_per_degree, in_50, in_350) in table {
            for (us, expected) in [(1000.0f32, per_ms), (50.0, in_50), (350.0, in_350)] {
                let read = degrees(rate, rpm, rate.ticks_in_us(us) as u64);
                // A turn in whole ticks is at most one tick short: 1 in 100,000 at 6000 rpm and 0.1 µs.
                assert!((read / expected - 1.0).abs() < 1.1e-5, "{rpm} rpm, {us} µs: {read}");
            }
            let read = f64::from(rate.seconds(rate.ticks_per_turn(rpm))) * 1e6 / 360.0;
            assert!((read / us_per_degree - 1.0).abs() < 1.1e-5, "{rpm}: {read}");
        }
    }
}

#[test]
fn a_32_bit_clock_of_a_microsecond_wraps_after_4294_967296_seconds() {
    // [C] 2³² µs; and one µs is 0.0051° at 850 rpm, 0.036° at 6000 rpm.
    let rate = TickRate::from_hertz(1_000_000).unwrap();
    let wrap = Instant::from_ticks(4_294_967_296);
    assert_eq!(wrap.stamp(), Stamp(0));
    assert!((f64::from(rate.seconds(wrap.ticks())) - 4294.967296).abs() < 3e-4);
    assert!((degrees(rate, 850.0, 1) - 0.0051).abs() < 1e-6);
    assert!((degrees(rate, 6000.0, 1) - 0.036).abs() < 1e-6);
}

#[test]
fn a_binary_angle_is_finer_than_a_32_bit_float_of_degrees() {
    // [C] 32-bit floats near 360 step by 3.05e-5 degrees; a unit of 2⁻³² turn is 8.4e-8.
    assert!((f64::from(360.0f32.next_down() - 360.0f32).abs() - 3.05e-5).abs() < 1e-7);
    assert_eq!(degrees_to_fraction(8.4e-8), 1);
}
