//! Values shown beside a scan tool's, in the scaling of SAE J1979 / ISO 15031-5.
//!
//! Sources: two public copies of the J1979 table (aidilj.com, liquisearch.com) for 0C and 0E [R]; a public log,
//! "RX 41 0C 0B 30 ;this is 716rpm" (HavardLine/ODB2) [R]; the scale of 42 from memory [M]; the other rows
//! follow from the scales [C].

use keyway_core::scan::{SPARK_ADVANCE_ROUNDING, engine_speed, module_supply, spark_advance};
use keyway_core::statistics::uncertainty::Component;

#[test]
fn a_logged_engine_speed_reads_as_the_log_says() {
    assert_eq!(engine_speed([0x0b, 0x30]), 716.0);
}

#[test]
fn engine_speeds_follow_the_standard() {
    let table =
        [([0x1a, 0xf8], 1726.0), ([0x0d, 0x48], 850.0), ([0x5d, 0xc0], 6000.0), ([0xff, 0xff], 16383.75)];
    for (bytes, rpm) in table {
        assert_eq!(engine_speed(bytes), rpm);
    }
}

#[test]
fn an_advance_is_positive_before_top_dead_centre_as_everywhere_here() {
    let table = [(0x80, 0.0), (0x94, 10.0), (0xa8, 20.0), (0x70, -8.0), (0x00, -64.0), (0xff, 63.5)];
    for (byte, degrees) in table {
        assert_eq!(spark_advance(byte), degrees);
    }
}

#[test]
fn the_supply_reads_in_thousandths_of_a_volt() {
    assert!((module_supply([0x36, 0xb0]) - 14.0).abs() < 1e-6);
    assert!((module_supply([0x31, 0x38]) - 12.6).abs() < 1e-6);
}

#[test]
fn half_degree_steps_leave_a_seventh_of_a_degree_of_doubt() {
    // 0.5 / √12 = 0.1443 [C].
    assert!((SPARK_ADVANCE_ROUNDING - 0.1443).abs() < 5e-5);
    assert!((Component::rounded_to(0.5).standard - SPARK_ADVANCE_ROUNDING).abs() < 1e-7);
}
