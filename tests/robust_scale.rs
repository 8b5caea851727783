//! Medians, their scatter and the interval that so many readings support.
//!
//! [R] read in the named document, [C] computed, [M] from memory.

use keyway_core::statistics::median::{
    DEVIATION_SCALE, absolute_deviation, centre_and_scatter, interval, interval_rank, median,
};

#[track_caller]
fn near(read: f32, expected: f64, within: f64) {
    assert!((f64::from(read) - expected).abs() <= within, "read {read}, expected {expected}");
}

#[test]
fn the_scale_makes_a_normal_scatter_its_standard_deviation() {
    // One over the normal quantile at three quarters [C].
    near(DEVIATION_SCALE, 1.482602218505602, 1e-7);
}

#[test]
fn the_usual_small_example_has_a_deviation_of_one() {
    // 1, 1, 2, 2, 4, 6, 9: the common textbook example [C].
    let mut values = [1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 9.0];
    let centre = median(&mut values).unwrap();
    assert_eq!((centre, absolute_deviation(&mut values, centre)), (2.0, Some(1.0)));
}

#[test]
fn one_wild_copper_reading_does_not_move_the_scatter() {
    // Copper in wholemeal flour, data set "chem" of the R package MASS, values [M]; results [C].
    let mut values = [
        2.20, 2.20, 2.40, 2.40, 2.50, 2.70, 2.80, 2.90, 3.03, 3.03, 3.10, 3.37, 3.40, 3.40, 3.40, 3.50, 3.60,
        3.70, 3.70, 3.70, 3.70, 3.77, 5.28, 28.95,
    ];
    let (centre, scatter) = centre_and_scatter(&mut values).unwrap();
    near(centre, 3.385, 5e-7);
    near(scatter, 0.526323, 1e-6);
}

#[test]
fn an_interval_of_eleven_readings_runs_from_the_second_to_the_tenth() {
    // Data of Altman et al. (2000), Statistics with Confidence, p. 38 [R]; ranks and limits [C].
    let mut values = [66.0, 71.2, 83.0, 83.6, 101.0, 107.6, 122.0, 143.0, 160.0, 177.0, 414.0];
    assert_eq!(interval(&values), Some((71.2, 177.0)));
    assert_eq!(median(&mut values), Some(107.6));
}

#[test]
fn small_published_samples_have_their_median_and_interval() {
    // Published outputs of the R package statpsych, ci.median [R]. It takes ranks from the normal
    // approximation; for these two samples they are the exact binomial ones or lie on equal readings.
    let mut ten = [25.0, 29.0, 35.0, 36.0, 36.0, 40.0, 41.0, 43.0, 44.0, 54.0];
    assert_eq!(interval(&ten), Some((29.0, 44.0)));
    assert_eq!(median(&mut ten), Some(38.0));
    let mut nineteen = [
        30.2, 20.4, 15.1, 10.2, 10.5, 60.8, 20.8, 25.0, 20.7, 30.9, 10.8, 5.1, 50.9, 40.0, 20.9, 10.8, 0.0,
        20.5, 50.8,
    ];
    nineteen.sort_unstable_by(f32::total_cmp);
    assert_eq!(interval(&nineteen), Some((10.8, 30.9)));
    assert_eq!(median(&mut nineteen), Some(20.7));
}

#[test]
fn the_ranks_are_those_of_the_exact_binomial_table() {
    // [C] by scipy.stats.binom.
    let table =
        [(6, 1), (8, 1), (9, 2), (10, 2), (15, 4), (20, 6), (25, 8), (30, 10), (40, 14), (50, 18), (100, 40)];
    for (count, rank) in table {
        assert_eq!(interval_rank(count), Some(rank), "{count}");
    }
    assert_eq!(interval_rank(5), None);
    // [C] the same beyond the table, where the core takes a series for the middle term.
    for (count, rank) in [
        (128, 53),
        (129, 53),
        (200, 86),
        (333, 149),
        (1000, 469),
        (5001, 2431),
        (10000, 4902),
        (90000, 44706),
        (1000001, 499021),
    ] {
        assert_eq!(interval_rank(count), Some(rank), "{count}");
    }
}
