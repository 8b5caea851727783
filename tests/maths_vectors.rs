//! The core's mathematical functions against correctly rounded values.
//!
//! Values [C] by mpmath with 30 digits, rounded to 64 bits; the hexadecimal ones to 32 bits. The angles are
//! those that a 2⁻³² turn can hold; the bounds are the errors that the functions' docs state.

#![expect(clippy::approx_constant, reason = "values are given as their source gives them")]

use keyway_core::statistics::functions::{
    cosine, direction, exponential, from_radians, natural_log, radians, sine, square_root, square_root_wide,
};
use keyway_core::units::degrees_to_fraction;

#[track_caller]
fn near(read: f64, expected: f64, within: f64) {
    assert!((read - expected).abs() <= within, "read {read:e}, expected {expected:e} within {within:e}");
}

#[test]
fn sine_and_cosine_of_degrees_are_right_to_1_6e_7() {
    // degrees, sine, cosine [C].
    let table = [
        (1.0, 0.01745240643728351, 0.9998476951563913),
        (6.0, 0.10452846326765347, 0.9945218953682733),
        (10.0, 0.17364817766693036, 0.984807753012208),
        (30.0, 0.5, 0.8660254037844386),
        (45.0, 0.7071067811865476, 0.7071067811865476),
        (354.0, -0.10452846326765347, 0.9945218953682733),
    ];
    for (degrees, expected_sine, expected_cosine) in table {
        let angle = degrees_to_fraction(degrees) as i32;
        near(f64::from(sine(angle)), expected_sine, 1.6e-7);
        near(f64::from(cosine(angle)), expected_cosine, 1.6e-7);
    }
}

#[test]
fn sine_and_cosine_of_radians_are_right_to_1_6e_7() {
    // radians, sine, cosine [C]; those within half a turn.
    let table = [
        (0.1, 0.09983341664682815, 0.9950041652780258),
        (0.5, 0.479425538604203, 0.8775825618903728),
        (1.0, 0.8414709848078965, 0.5403023058681398),
        (core::f64::consts::FRAC_PI_2, 1.0, 6.123233995736766e-17),
        (core::f64::consts::PI, 1.2246467991473532e-16, -1.0),
    ];
    for (angle, expected_sine, expected_cosine) in table {
        let fraction = degrees_to_fraction(f64::to_degrees(angle)) as i32;
        near(f64::from(sine(fraction)), expected_sine, 1.6e-7);
        near(f64::from(cosine(fraction)), expected_cosine, 1.6e-7);
    }
}

#[test]
fn the_library_beneath_gives_the_32_bit_values_to_the_last_bit() {
    // 32-bit patterns in, sine, cosine [C].
    let table = [
        (0x3dcc_cccd_u32, 0x3dcc_7577_u32, 0x3f7e_b898_u32),
        (0x3f49_0fdb, 0x3f35_04f3, 0x3f35_04f3),
        (0x3fc9_0fdb, 0x3f80_0000, 0xb33b_bd2e),
        (0x4049_0fdb, 0xb3bb_bd2e, 0xbf80_0000),
        (0x40a0_0000, 0xbf75_7c10, 0x3e91_3c2c),
    ];
    for (bits, expected_sine, expected_cosine) in table {
        let angle = f32::from_bits(bits);
        assert_eq!(libm::sinf(angle).to_bits(), expected_sine, "{angle}");
        assert_eq!(libm::cosf(angle).to_bits(), expected_cosine, "{angle}");
    }
}

#[test]
fn a_direction_has_the_right_quadrant_to_4e_7_radians() {
    // across, along, radians [C].
    let table = [
        (1.0, 1.0, 0.7853981633974483),
        (1.0, -1.0, 2.356194490192345),
        (-1.0, -1.0, -2.356194490192345),
        (0.1, 1000.0, 9.999999966666667e-5),
        (-3.0, 4.0, -0.6435011087932844),
    ];
    for (across, along, expected) in table {
        let units = direction(across, along);
        near(f64::from(units) * core::f64::consts::TAU / 4_294_967_296.0, expected, 4e-7);
        near(f64::from(radians(units)), expected, 6e-7);
    }
    // (1e-10, −1) is half a turn less 10⁻¹⁰ rad: either side of the wrap is right to the stated error.
    near(f64::from(radians(direction(1e-10, -1.0))).abs(), 3.141592653489793, 4e-7);
}

#[test]
fn radians_come_back_as_the_same_angle_to_a_32_bit_float() {
    for step in -1000..1000 {
        let angle = step * 2_147_483;
        let off = from_radians(radians(angle)).wrapping_sub(angle);
        // Half the spacing of 32-bit floats near π: 1.2e-7 rad is 82 units.
        assert!(off.abs() <= 90, "{angle}: {off}");
    }
}

#[test]
fn the_root_of_two_is_right_in_both_widths() {
    near(square_root_wide(2.0), 1.4142135623730951, 3.0e-16 * 1.4143);
    near(f64::from(square_root(2.0)), 1.4142135623730951, 6.0e-8 * 1.4143);
    near(f64::from(natural_log(2.0)), core::f64::consts::LN_2, 1.0e-7);
    near(f64::from(exponential(1.0)), core::f64::consts::E, 1.2e-7 * core::f64::consts::E);
}
