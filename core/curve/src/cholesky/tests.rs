use super::*;

/// Sums of products over places in -1..1, and of the places' powers times values there, as they are asked for.
fn sums(places: &[f64], value: impl Fn(f64) -> f64) -> ([[i32; 4]; 4], [i64; 4]) {
    let (mut products, mut right) = ([[0; 4]; 4], [0; 4]);
    for x in places {
        let powers = [1.0, *x, x * x, x * x * x];
        for (row, (cells, sum)) in products.iter_mut().zip(&mut right).enumerate() {
            for (cell, power) in cells.iter_mut().zip(powers) {
                *cell += (powers[row] * power * f64::from(1 << 26)) as i32;
            }
            *sum += (powers[row] * value(*x) * f64::from(1 << 20) * 32_768.0) as i64;
        }
    }
    (products, right)
}

#[test]
fn a_cubic_through_nodes_on_both_sides_or_on_one_comes_back() {
    for (first, last) in [(-1.0, 1.0), (-0.6, 0.55), (-1.0, 0.1), (-0.55, 0.02)] {
        let places: std::vec::Vec<f64> =
            (0..16).map(|i| first + (last - first) * f64::from(i) / 15.0).collect();
        let cubic = |x: f64| 0.011 - 0.3 * x + 0.08 * x * x - 0.02 * x * x * x;
        let (products, right) = sums(&places, cubic);
        let found = Factors::of(&products, 3).unwrap().solved(&right);
        let at_zero = f64::from(found[0]) / f64::from(1 << 20);
        assert!((at_zero - 0.011).abs() < 4e-6, "{first} to {last}: {at_zero}");
        let [a, b, c, d] = found.map(|part| f64::from(part) / f64::from(1 << 20));
        for x in &places {
            let there = a + x * (b + x * (c + x * d));
            assert!((there - cubic(*x)).abs() < 6e-6, "{there} at {x}");
        }
    }
}

#[test]
fn the_leverage_of_a_mean_is_one_over_the_count_and_that_of_a_cubic_is_known() {
    let places: std::vec::Vec<f64> = (0..16).map(|i| (f64::from(i) - 7.5) / 8.0).collect();
    let (products, _) = sums(&places, |_| 0.0);
    let mean = Factors::of(&products, 0).unwrap().leverage();
    assert!((mean - 1.0 / 16.0).abs() < 1e-5, "{mean}");
    // At the middle of sixteen even places, of a cubic or a parabola: (3 n² − 7) / (4 n (n² − 4)), n = 16.
    let cubic = Factors::of(&products, 3).unwrap().leverage();
    let due = (3.0 * 256.0 - 7.0) / (4.0 * 16.0 * 252.0);
    assert!((f64::from(cubic) - due * 3.0).abs() < 1e-4, "{cubic}, {due}");
}

#[test]
fn too_few_places_tell_no_cubic() {
    let (products, _) = sums(&[-0.5, 0.5, 0.5, -0.5], |_| 0.0);
    assert!(Factors::of(&products, 3).is_none());
    assert!(Factors::of(&products, 1).is_some());
}
