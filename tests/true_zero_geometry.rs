//! Piston height and true top dead centre against a slider-crank table.
//!
//! The formula is the usual one (read in MathWorks' "SI Combustion Cylinder" reference and a calculator's text
//! [R]; Heywood 1988, eq. 2.5 [M]); the table is computed from it with 30 digits [C], to the digits shown.

use keyway_core::geometry::{CrankDrive, middle_of_stops};
use keyway_core::units::CrankAngle;

#[track_caller]
fn near(read: f64, expected: f64, within: f64) {
    assert!((read - expected).abs() <= within, "read {read}, expected {expected} within {within}");
}

#[test]
fn the_drop_follows_the_table_of_angle_and_rod_ratio() {
    // degrees; drop over radius at rod / radius = 3, 3.5, 4, 5 [C].
    let table = [
        (1.0, [0.00020306969, 0.00019581747, 0.00019037834, 0.00018276359]),
        (2.0, [0.00081217566, 0.00078317372, 0.00076142274, 0.00073097195]),
        (5.0, [0.0050715897, 0.0048906307, 0.0047549301, 0.0045649720]),
        (10.0, [0.020222078, 0.019502571, 0.018963236, 0.018208526]),
        (20.0, [0.079867442, 0.077058577, 0.074956426, 0.072018873]),
        (30.0, [0.1759347, 0.16987298, 0.16534763, 0.15903741]),
        (60.0, [0.62771868, 0.60883501, 0.59487516, 0.57557110]),
        (90.0, [1.1715729, 1.1458980, 1.1270167, 1.1010205]),
    ];
    for (degrees, row) in table {
        for (ratio, expected) in [3.0, 3.5, 4.0, 5.0].into_iter().zip(row) {
            let drop = CrankDrive::new(1.0, ratio, 0.0).unwrap().drop(degrees);
            // Seven or eight digits are given.
            near(drop / expected, 1.0, 2.5e-7);
            assert_eq!(drop, CrankDrive::new(1.0, ratio, 0.0).unwrap().drop(-degrees));
        }
    }
}

#[test]
fn a_hundredth_of_a_millimetre_at_the_top_is_more_than_a_degree() {
    // Radius 40 mm, rod 130 mm [C].
    let drive = CrankDrive::new(40.0, 130.0, 0.0).unwrap();
    for (degrees, drop) in
        [(0.5, 0.00199171), (1.0, 0.00796659), (2.0, 0.0318624), (5.0, 0.198966), (10.0, 0.793384)]
    {
        near(drive.drop(degrees) / drop, 1.0, 3e-6);
    }
    for (drop, degrees) in [
        (0.005, 0.79222),
        (0.01, 1.12038),
        (0.05, 2.50551),
        (0.1, 3.54379),
        (5.0, 25.39014),
        (10.0, 36.41991),
    ] {
        near(drive.angle_of_drop(drop).unwrap(), degrees, 5.1e-6);
    }
}

#[test]
fn a_pin_offset_moves_the_top_and_biases_the_stops_by_little() {
    // One millimetre of offset on the same engine [C].
    let drive = CrankDrive::new(40.0, 130.0, 1.0).unwrap();
    near(drive.top_dead_centre(), 0.3370359, 5.1e-8);
    near(drive.drop(drive.top_dead_centre()), 0.0, 1e-13);
    for (drop, bias) in [(1.0, 0.00199), (5.0, 0.01021), (10.0, 0.02106), (20.0, 0.04494)] {
        near(drive.stop_bias(drop).unwrap(), bias, 5.1e-6);
    }
    let straight = CrankDrive::new(40.0, 130.0, 0.0).unwrap();
    assert_eq!(straight.stop_bias(10.0), Some(0.0));
}

#[test]
fn the_published_calculus_problem_has_its_piston_acceleration() {
    // Radius 8 cm, rod 24.5 cm, 1000 rpm: inputs from a published problem (Rose-Hulman ENGINE_3_0_0) [R];
    // −1163.763 m/s² at top, +590.833 at bottom, fastest at 73.44449° with 8.81697 m/s [C].
    let drive = CrankDrive::new(0.08, 0.245, 0.0).unwrap();
    let speed = 6000.0f64; // degrees a second
    let step = 0.05;
    let bend = |at: f64| {
        (drive.drop(at + step) - 2.0 * drive.drop(at) + drive.drop(at - step)) * (speed / step).powi(2)
    };
    near(bend(0.0), 1163.763, 0.002);
    near(bend(180.0), -590.833, 0.002);
    let slope = |at: f64| (drive.drop(at + step) - drive.drop(at - step)) / (2.0 * step) * speed;
    near(slope(73.44449), 8.81697, 2e-5);
    assert!(slope(73.44449) > slope(73.2) && slope(73.44449) > slope(73.7));
}

#[test]
fn two_stops_either_side_of_zero_have_their_middle_at_the_top_and_not_at_the_bottom() {
    // Readings 24.5° one way and 341.0°: 2.75°, where the plain mean would be 182.75° [C].
    let at = |degrees: f64| CrankAngle::from_degrees_btdc(-degrees);
    for (one, other) in [(24.5, 341.0), (341.0, 24.5)] {
        let middle = middle_of_stops(at(one), at(other)).unwrap();
        near(-f64::from(middle.advance().degrees()), 2.75, 1e-6);
    }
    // Across half a turn too.
    let middle = middle_of_stops(at(170.0), at(-160.0)).unwrap();
    near(f64::from(middle.advance().degrees()), 175.0, 1e-4);
}
