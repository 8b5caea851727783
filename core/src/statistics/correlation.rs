//! How many independent readings a row of them is worth, when each takes after the one before.
//!
//! *Lag-1 correlation*: how much a reading follows its predecessor, −1 to 1. *Block*: so many readings in
//! a row, taken as one mean. *Effective number*: the independent readings whose mean would be as sure.
//!
//! Idle sparks wander together, so counting them as independent claims a ± that is too small. Where the
//! memory is a simple decay, the lag-1 correlation tells all; where it is not, the scatter of block means
//! longer than the memory tells it without a model.

use super::line::none_below_zero;
use super::real::Real;

/// Sums over a row of readings for its scatter and lag-1 correlation. Readings are taken about the
/// first: two additions and two products a reading.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Row<R = f32> {
    count: u32,
    first: R,
    last: R,
    sum: R,
    squares: R,
    products: R,
}

impl<R: Real> Row<R> {
    /// No readings yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds the next reading of the row; one that is not finite is left out.
    pub fn add(&mut self, reading: R) {
        if !reading.is_number() {
            return;
        }
        if self.count == 0 {
            self.first = reading;
        }
        let value = reading - self.first;
        self.sum += value;
        self.squares += value * value;
        self.products += value * self.last;
        self.last = value;
        self.count = self.count.saturating_add(1);
    }

    /// Readings added.
    pub const fn count(&self) -> u32 {
        self.count
    }

    /// Mean and standard deviation (n − 1). `None` below two readings.
    pub fn spread(&self) -> Option<(R, R)> {
        if self.count < 2 {
            return None;
        }
        let count = R::of(self.count);
        let squares = none_below_zero(self.squares - self.sum * self.sum / count);
        Some((self.first + self.sum / count, R::root(squares / (count - R::ONE))))
    }

    /// Lag-1 correlation. `None` below three readings or without scatter.
    pub fn lag_one(&self) -> Option<R> {
        let count = R::of(self.count);
        let mean = self.sum / count;
        let squares = self.squares - mean * self.sum;
        if self.count < 3 || squares <= R::ZERO {
            return None;
        }
        // Σ (a − m)(b − m) over neighbours; the first reading is zero by choice of the origin.
        let neighbours =
            self.products - mean * (self.sum + self.sum - self.last) + (count - R::ONE) * mean * mean;
        Some(neighbours / squares)
    }
}

/// Effective number of `count` readings with this lag-1 correlation, n (1 − ρ) / (1 + ρ): right for a
/// memory that decays by ρ a reading, and `count` well above 1 / (1 − ρ). Between one and `count`: a
/// correlation below zero is not taken as a gain.
pub fn effective_number(count: u32, lag_one: f32) -> f32 {
    // A correlation that is no number counts as a full one: the careful way.
    let correlation = if lag_one.is_nan() { 1.0 } else { lag_one.clamp(0.0, 1.0) };
    let count = count as f32;
    (count * (1.0 - correlation) / (1.0 + correlation)).max(1.0).min(count)
}

/// Effective number of readings, from the scatter of single readings and of the means of whole blocks of
/// `block` readings: n s² / (m s_b²), between one and `count`. A standard deviation of either is in the same
/// unit. With b blocks its relative standard uncertainty is about √(2 / (b − 1)).
pub fn effective_number_by_blocks(count: u32, block: u32, single: f32, of_blocks: f32) -> f32 {
    let count = count as f32;
    if of_blocks <= 0.0 || block == 0 {
        return count;
    }
    let ratio = single / of_blocks;
    (count * ratio * ratio / block as f32).max(1.0).min(count)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    /// Seeded noise with the memory of its last value.
    fn wander(memory: f64, count: usize) -> impl Iterator<Item = f64> {
        let (mut state, mut value) = (12_345u64, 0.0f64);
        (0..count).map(move |_| {
            let mut noise = -6.0;
            for _ in 0..12 {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                noise += (state >> 33) as f64 / (1u64 << 31) as f64;
            }
            value = memory * value + noise;
            value
        })
    }

    #[test]
    fn a_row_on_a_large_offset_keeps_its_correlation() {
        let (mut near, mut far) = (Row::<f64>::new(), Row::<f64>::new());
        for value in wander(0.6, 5000) {
            near.add(value);
            far.add(value + 1e6);
        }
        let lag = near.lag_one().unwrap();
        assert!((lag - 0.6).abs() < 0.03, "{lag}");
        assert!((far.lag_one().unwrap() - lag).abs() < 1e-9);
    }

    #[test]
    fn both_ways_agree_on_how_many_readings_a_wandering_row_is_worth() {
        let (mut row, mut blocks, mut block) = (Row::<f64>::new(), Row::<f64>::new(), 0.0);
        for (place, value) in wander(0.5, 40_000).enumerate() {
            row.add(value);
            block += value / 50.0;
            if place % 50 == 49 {
                blocks.add(block);
                block = 0.0;
            }
        }
        let by_lag = effective_number(row.count(), row.lag_one().unwrap() as f32);
        let (single, of_blocks) = (row.spread().unwrap().1 as f32, blocks.spread().unwrap().1 as f32);
        let by_blocks = effective_number_by_blocks(row.count(), 50, single, of_blocks);
        // A third of them, as (1 − ½) / (1 + ½); 800 blocks are good for 5 %.
        assert!((by_lag / 40_000.0 * 3.0 - 1.0).abs() < 0.03, "{by_lag}");
        assert!((by_blocks / by_lag - 1.0).abs() < 0.15, "{by_blocks} {by_lag}");
    }

    #[test]
    fn the_effective_number_stays_between_one_and_the_count() {
        assert_eq!(effective_number(100, -0.5), 100.0);
        assert_eq!(effective_number(100, 1.0), 1.0);
        assert_eq!(effective_number(100, f32::NAN), 1.0);
        assert_eq!(effective_number(0, 0.3), 0.0);
        assert_eq!(effective_number_by_blocks(10, 2, 1.0, 0.0), 10.0);
        assert_eq!(Row::<f32>::new().lag_one(), None);
    }
}
