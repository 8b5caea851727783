//! Least squares with a prior: a small symmetric system, its answer and the doubt of it.
//!
//! What observations are made of is added up in whole numbers, where a product costs a few cycles and not two hundred;
//! only the sums become floats.

use super::phase::{ONE_BITS, PER_ONE};
use crate::statistics::functions::square_root;

/// The most unknowns: six orders of two waves, an offset, and the two teeth beside the gap.
pub(super) const UNKNOWNS: usize = 2 * super::orders::ORDERS + 3;

/// One number for each unknown.
pub(super) type Row = [f32; UNKNOWNS];

/// What an observation is of each unknown, [`super::phase::ONE`] at most.
pub(super) type Parts = [i32; UNKNOWNS];

/// Bits behind the point of the sums of products: those of 255 teeth fit in 32 bits.
const PRODUCT_BITS: u32 = 22;
const PER_PRODUCT: f32 = 1.0 / (1u32 << PRODUCT_BITS) as f32;
/// Bits behind the point of a value, in units of its error.
const VALUE_BITS: u32 = 12;
const PER_VALUE: f32 = PER_ONE / (1u32 << VALUE_BITS) as f32;

/// The sums of a least-squares fit.
pub(super) struct Sums {
    size: usize,
    /// The lower half.
    products: [Parts; UNKNOWNS],
    rights: [i64; UNKNOWNS],
    squares: f32,
    rows: u8,
}

impl Sums {
    /// No observation yet of so many unknowns.
    pub(super) fn new(size: usize) -> Self {
        Self {
            size: size.min(UNKNOWNS),
            products: [[0; UNKNOWNS]; UNKNOWNS],
            rights: [0; UNKNOWNS],
            squares: 0.0,
            rows: 0,
        }
    }

    /// An observation that counts for so many: what it is of each unknown, and its value, in units of its error.
    pub(super) fn add(&mut self, parts: &Parts, value: f32, count: u8) {
        let whole = (value * (1u32 << VALUE_BITS) as f32) as i32;
        let used = parts.iter().take(self.size);
        for (index, ((part, right), line)) in
            used.clone().zip(&mut self.rights).zip(&mut self.products).enumerate()
        {
            // A shift is no part of most observations.
            if *part == 0 {
                continue;
            }
            *right += i64::from(part * i32::from(count)) * i64::from(whole);
            for (cell, other) in line.iter_mut().zip(used.clone()).take(index + 1) {
                *cell += ((part * other) >> (2 * ONE_BITS - PRODUCT_BITS)) * i32::from(count);
            }
        }
        self.squares += value * value * f32::from(count);
        self.rows = self.rows.saturating_add(1);
    }

    /// The triangular root of the sums (Cholesky), each unknown being likely of such a size in units of an observation's
    /// error. `None` where they have none.
    pub(super) fn rooted(&self, likely: &Row) -> Option<System> {
        let mut matrix = [[0.0; UNKNOWNS]; UNKNOWNS];
        for (index, (row, line)) in matrix.iter_mut().zip(&self.products).enumerate().take(self.size) {
            for (cell, product) in row.iter_mut().zip(line).take(index + 1) {
                *cell = *product as f32 * PER_PRODUCT;
            }
        }
        for (index, (row, likely)) in matrix.iter_mut().zip(likely).enumerate().take(self.size) {
            *row.get_mut(index)? += 1.0 / (likely * likely).max(1e-9);
        }
        for i in 0..self.size {
            for j in 0..=i {
                let (above, below) = matrix.split_at_mut_checked(i)?;
                let line = below.first_mut()?;
                // The line itself, where it is its own upper one.
                let upper = above.get(j).unwrap_or(line);
                let before: f32 = line.iter().zip(upper).take(j).map(|(a, b)| a * b).sum();
                let (rest, pivot) = (line.get(j)? - before, *upper.get(j)?);
                let cell = line.get_mut(j)?;
                if i == j {
                    if rest <= 0.0 {
                        return None;
                    }
                    *cell = square_root(rest);
                } else {
                    *cell = rest / pivot;
                }
            }
        }
        let right = self.rights.map(|right| right as f32 * PER_VALUE);
        Some(System {
            size: self.size,
            matrix,
            likely: *likely,
            right,
            squares: self.squares,
            rows: self.rows,
        })
    }
}

/// The triangular root of a least-squares fit.
pub(super) struct System {
    size: usize,
    matrix: [Row; UNKNOWNS],
    likely: Row,
    right: Row,
    squares: f32,
    rows: u8,
}

impl System {
    /// The first half of solving: the root against this right side, which is nothing before `first`.
    fn forward(&self, right: &Row, first: usize) -> Row {
        let mut out = [0.0; UNKNOWNS];
        for (i, line) in self.matrix.iter().enumerate().take(self.size).skip(first) {
            let before: f32 = line.iter().zip(&out).take(i).skip(first).map(|(a, b)| a * b).sum();
            let value = (right.get(i).unwrap_or(&0.0) - before) / line.get(i).unwrap_or(&1.0);
            if let Some(cell) = out.get_mut(i) {
                *cell = value;
            }
        }
        out
    }

    /// The unknowns of a right side.
    pub(super) fn solved(&self, right: &Row) -> Row {
        let half = self.forward(right, 0);
        let mut out = [0.0; UNKNOWNS];
        for i in (0..self.size).rev() {
            let below = self.matrix.iter().zip(&out).take(self.size).skip(i + 1);
            let after: f32 = below.map(|(line, value)| line.get(i).unwrap_or(&0.0) * value).sum();
            let pivot = self.matrix.get(i).and_then(|line| line.get(i)).unwrap_or(&1.0);
            let value = (half.get(i).unwrap_or(&0.0) - after) / pivot;
            if let Some(cell) = out.get_mut(i) {
                *cell = value;
            }
        }
        out
    }

    /// The variance of an unknown.
    pub(super) fn variance(&self, index: usize) -> f32 {
        let mut own = [0.0; UNKNOWNS];
        own.iter_mut().skip(index).take(1).for_each(|cell| *cell = 1.0);
        self.forward(&own, index).iter().skip(index).map(|part| part * part).sum()
    }

    /// The unknowns of the observations.
    pub(super) fn answer(&self) -> Row {
        self.solved(&self.right)
    }

    /// The squares that an answer leaves of the observations, in squares of their error.
    pub(super) fn left(&self, answer: &Row) -> f32 {
        let explained: f32 = self.right.iter().zip(answer).map(|(right, value)| right * value).sum();
        let pulled = answer.iter().zip(&self.likely).take(self.size);
        let pull: f32 = pulled.map(|(value, likely)| value * value / (likely * likely).max(1e-9)).sum();
        (self.squares - explained - pull).max(0.0)
    }

    /// How many observations' worth of freedom the unknowns use up: those larger than the observations' error.
    pub(super) fn used(&self) -> f32 {
        let used = |likely: &f32| {
            // A wave is seen by half of the rows.
            let seen = likely * likely * f32::from(self.rows) / 2.0;
            seen / (1.0 + seen)
        };
        self.likely.iter().take(self.size).map(used).sum()
    }

    /// Observations taken in.
    pub(super) fn rows(&self) -> f32 {
        f32::from(self.rows)
    }
}
