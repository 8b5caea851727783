//! The centre of a few readings, their scatter, and the interval that so few can support, none of it
//! moved by a minority of wild ones.
//!
//! *Rank*: a reading's place in ascending order, counted from one. *Scaled median absolute deviation*:
//! the median distance from the centre times 1.4826, which equals the standard deviation of normal
//! scatter. *Interval rank*: the rank k for which the readings ranked k and n + 1 − k enclose the true
//! median with the stated confidence.
//!
//! Why the interval needs no shape of the scatter: each reading falls below the true median with a
//! chance of one half, so the number that do is binomial, and the ranks follow from that alone.

use super::sort::select_by;

/// The scaled median absolute deviation's factor: one over the normal quantile at ¾, 1.482602218505602.
pub const DEVIATION_SCALE: f32 = 1.482_602_2;

/// Fewest readings that support a two-sided claim of 95 % about a median.
pub const FEWEST_FOR_INTERVAL: usize = 6;

/// Median of whole numbers (angles need [`crate::statistics::circular`] where they may wrap); the lower
/// middle plus half the gap, rounded down, for an even count. Changes the slice's order. `None` if empty.
pub fn median_of_integers(values: &mut [i32]) -> Option<i32> {
    let (below, upper) = middle_pair(values, |one, other| one < other)?;
    let gap = i64::from(upper) - i64::from(below);
    i32::try_from(i64::from(below) + gap / 2).ok()
}

/// Median of real numbers, the mean of the two middle ones for an even count; NaNs count as the ends by their sign.
/// Changes the slice's order. `None` if empty.
pub fn median(values: &mut [f32]) -> Option<f32> {
    let (below, upper) = middle_pair(values, |one, other| one.total_cmp(other).is_lt())?;
    Some(below + (upper - below) * 0.5)
}

/// The two middle values, twice the same for an odd count.
fn middle_pair<T: Copy>(values: &mut [T], before: impl Fn(&T, &T) -> bool) -> Option<(T, T)> {
    let count = values.len();
    let rank = count.checked_sub(1)? / 2;
    let below = select_by(values, rank, &before)?;
    if count % 2 == 1 {
        return Some((below, below));
    }
    let after = values.get(rank + 1..)?.iter().copied();
    let upper = after.reduce(|one, other| if before(&other, &one) { other } else { one })?;
    Some((below, upper))
}

/// Median absolute deviation from `centre`, unscaled, in the values' unit. Overwrites the slice with the
/// deviations. `None` if empty.
pub fn absolute_deviation(values: &mut [f32], centre: f32) -> Option<f32> {
    for value in values.iter_mut() {
        *value = (*value - centre).abs();
    }
    median(values)
}

/// Median and scaled median absolute deviation. Overwrites the slice. `None` if empty.
pub fn centre_and_scatter(values: &mut [f32]) -> Option<(f32, f32)> {
    let centre = median(values)?;
    let deviation = absolute_deviation(values, centre)?;
    Some((centre, deviation * DEVIATION_SCALE))
}

/// The largest rank k, counted from one, for which the readings ranked k and `count` + 1 − k enclose the
/// true median with at least 95 %. `None` below [`FEWEST_FOR_INTERVAL`]: no such claim can be made.
///
/// The binomial sum itself, in 64 bits, from the middle outwards: about √`count` divisions.
pub fn interval_rank(count: usize) -> Option<usize> {
    if count < FEWEST_FOR_INTERVAL {
        return None;
    }
    let trials = count as f64;
    let pairs = count / 2;
    // Chance of the middle number of readings below the median, from an even number of trials.
    let (mut rank, mut chance, mut enclosed) = if count.is_multiple_of(2) {
        let middle = chance_of_half(pairs);
        (pairs, middle, middle)
    } else {
        // The two middle terms of an odd row are equal, and half the middle of the next even row each.
        let middle = chance_of_half(pairs + 1);
        (pairs, middle, 2.0 * middle)
    };
    while enclosed < 0.95 && rank > 1 {
        chance *= rank as f64 / (trials - rank as f64 + 1.0);
        rank -= 1;
        enclosed += 2.0 * chance;
    }
    Some(rank)
}

/// The readings that enclose the true median with at least 95 %, of readings in ascending order.
/// `None` below [`FEWEST_FOR_INTERVAL`].
pub fn interval<T: Copy>(ascending: &[T]) -> Option<(T, T)> {
    let rank = interval_rank(ascending.len())?;
    let low = ascending.get(rank.checked_sub(1)?)?;
    let high = ascending.get(ascending.len().checked_sub(rank)?)?;
    Some((*low, *high))
}

/// The chance that exactly half of 2 × `pairs` fair trials succeed, to 10⁻¹¹.
fn chance_of_half(pairs: usize) -> f64 {
    if pairs < 64 {
        return (1..=pairs).fold(1.0, |chance, i| chance * (2 * i - 1) as f64 / (2 * i) as f64);
    }
    // Stirling's series for the middle binomial coefficient; the next term is below 21/(32768 m⁴).
    let m = pairs as f64;
    let series = 1.0 - 1.0 / (8.0 * m) + 1.0 / (128.0 * m * m) + 5.0 / (1024.0 * m * m * m)
        - 21.0 / (32_768.0 * m * m * m * m);
    series / super::functions::square_root_wide(core::f64::consts::PI * m)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// The rank by whole numbers: no rounding anywhere.
    fn exact_rank(count: usize) -> usize {
        let mut row = std::vec![1u128];
        for _ in 0..count {
            let mut next = std::vec![1u128];
            next.extend(row.windows(2).map(|w| w[0] + w[1]));
            next.push(1);
            row = next;
        }
        let total: u128 = row.iter().sum();
        (1..=count / 2).rev().find(|&k| row[k..=count - k].iter().sum::<u128>() * 20 >= total * 19).unwrap()
    }

    #[test]
    fn the_interval_rank_is_the_exact_binomial_one() {
        for count in 0..6 {
            assert_eq!(interval_rank(count), None);
        }
        for count in 6..=120 {
            assert_eq!(interval_rank(count), Some(exact_rank(count)), "{count}");
        }
    }

    #[test]
    fn the_middle_chance_is_continuous_where_the_series_takes_over() {
        let product = (1..=64).fold(1.0, |c, i| c * (2 * i - 1) as f64 / (2 * i) as f64);
        assert!((chance_of_half(64) / product - 1.0).abs() < 1e-11);
    }

    #[test]
    fn a_minority_of_wild_readings_moves_neither_centre_nor_scatter_far() {
        let mut clean: Vec<f32> = (0..101).map(|i| i as f32).collect();
        let mut wild = clean.clone();
        wild[90..].iter_mut().for_each(|value| *value = 1e9);
        assert_eq!(median(&mut wild.clone()), median(&mut clean));
        assert!(centre_and_scatter(&mut wild).unwrap().1 < 50.0);
    }

    #[test]
    fn whole_numbers_at_the_ends_of_their_range_do_not_overflow() {
        assert_eq!(median_of_integers(&mut [i32::MIN, i32::MAX]), Some(-1));
        assert_eq!(median_of_integers(&mut []), None);
        assert_eq!(median_of_integers(&mut [3, 1, 2]), Some(2));
    }

    #[test]
    fn an_interval_of_readings_is_the_pair_at_its_rank() {
        assert_eq!(interval(&[1, 2, 3, 4, 5]), None);
        assert_eq!(interval(&[1, 2, 3, 4, 5, 6]), Some((1, 6)));
    }
}
