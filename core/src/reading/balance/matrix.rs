//! Small symmetric systems of linear equations, twelve unknowns at most.

use crate::statistics::functions::{natural_log, square_root};

/// The most unknowns.
pub(super) const SIZE: usize = 12;

/// A list of numbers, one for each unknown; those beyond the size in use are 0.
pub(super) type Column = [f32; SIZE];

/// A symmetric square of numbers, or the lower triangle of one; those beyond the size in use are 0. Only the
/// lower half is kept: reading above the diagonal gives what stands below it, writing there does nothing.
#[derive(Debug, Clone)]
pub(super) struct Square {
    size: u8,
    cells: [f32; CELLS],
}

/// Cells of the lower half.
const CELLS: usize = SIZE * (SIZE + 1) / 2;

const fn cell(row: usize, column: usize) -> usize {
    row * (row + 1) / 2 + column
}

impl Square {
    /// All zero; `size` above twelve counts as twelve.
    pub(super) fn zero(size: usize) -> Self {
        Self { size: size.min(SIZE) as u8, cells: [0.0; CELLS] }
    }

    fn size(&self) -> usize {
        usize::from(self.size)
    }

    pub(super) fn at(&self, row: usize, column: usize) -> f32 {
        let (row, column) = (row.max(column), row.min(column));
        self.cells.get(cell(row, column)).copied().unwrap_or(0.0)
    }

    pub(super) fn add(&mut self, row: usize, column: usize, value: f32) {
        if let Some(cell) = self.cells.get_mut(cell(row, column)).filter(|_| column <= row) {
            *cell += value;
        }
    }

    fn set(&mut self, row: usize, column: usize, value: f32) {
        if let Some(cell) = self.cells.get_mut(cell(row, column)).filter(|_| column <= row) {
            *cell = value;
        }
    }

    /// Adds the product of a column with itself.
    pub(super) fn add_outer(&mut self, column: &Column, weight: f32) {
        for (row, left) in column.iter().enumerate().take(self.size()) {
            let left = weight * left;
            for (place, right) in column.iter().enumerate().take(row + 1) {
                self.add(row, place, left * right);
            }
        }
    }

    /// The lower triangle L with L·Lᵀ equal to this symmetric square, and the natural logarithm of the
    /// determinant; `None` unless it is positive definite.
    pub(super) fn factor(mut self) -> Option<(Self, f32)> {
        let mut log = 0.0;
        for column in 0..self.size() {
            for row in column..self.size() {
                let known: f32 = (0..column).map(|k| self.at(row, k) * self.at(column, k)).sum();
                let left = self.at(row, column) - known;
                if row == column {
                    if left.is_nan() || left <= 0.0 {
                        return None;
                    }
                    log += natural_log(left);
                    self.set(row, column, square_root(left));
                } else {
                    self.set(row, column, left / self.at(column, column));
                }
            }
        }
        Some((self, log))
    }

    /// x with L·x = `right`, this being the triangle L.
    pub(super) fn solve_lower(&self, right: &Column) -> Column {
        self.solve_lower_from(right, 0)
    }

    /// The same where `right` is 0 before `first`.
    fn solve_lower_from(&self, right: &Column, first: usize) -> Column {
        let mut x = *right;
        for row in first..self.size() {
            let known: f32 =
                x.iter().take(row).enumerate().skip(first).map(|(k, x)| self.at(row, k) * x).sum();
            let pivot = self.at(row, row);
            if let Some(value) = x.get_mut(row) {
                *value = (*value - known) / pivot;
            }
        }
        x
    }

    /// x with Lᵀ·x = `right`, this being the triangle L.
    pub(super) fn solve_upper(&self, right: &Column) -> Column {
        let mut x = *right;
        for row in (0..self.size()).rev() {
            let later = x.iter().enumerate().take(self.size()).skip(row + 1);
            let known: f32 = later.map(|(k, x)| self.at(k, row) * x).sum();
            let pivot = self.at(row, row);
            if let Some(value) = x.get_mut(row) {
                *value = (*value - known) / pivot;
            }
        }
        x
    }

    /// The inverse of L·Lᵀ, this being the triangle L.
    pub(super) fn inverse(&self) -> Self {
        let mut lower = Self::zero(self.size());
        for column in 0..self.size() {
            let mut unit = [0.0; SIZE];
            if let Some(one) = unit.get_mut(column) {
                *one = 1.0;
            }
            for (row, value) in self.solve_lower_from(&unit, column).iter().enumerate() {
                lower.set(row, column, *value);
            }
        }
        let mut inverse = Self::zero(self.size());
        for row in 0..self.size() {
            for column in 0..=row {
                let sum: f32 = (row..self.size()).map(|k| lower.at(k, row) * lower.at(k, column)).sum();
                inverse.set(row, column, sum);
            }
        }
        inverse
    }

    /// This times a column.
    pub(super) fn times(&self, column: &Column) -> Column {
        let mut product = [0.0; SIZE];
        for (row, value) in product.iter_mut().enumerate().take(self.size()) {
            *value = column.iter().enumerate().map(|(k, x)| self.at(row, k) * x).sum();
        }
        product
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverse_undoes_its_square() {
        // A Hilbert-like square with something on its diagonal.
        let mut square = Square::zero(5);
        for row in 0..5 {
            for column in 0..5 {
                square.add(row, column, 1.0 / (row + column + 1) as f32);
            }
            square.add(row, row, 0.3);
        }
        let inverse = square.clone().factor().unwrap().0.inverse();
        for unit in 0..5 {
            let mut column = [0.0; SIZE];
            column[unit] = 1.0;
            let back = inverse.times(&square.times(&column));
            for (row, value) in back.iter().enumerate().take(5) {
                assert!((value - f32::from(u8::from(row == unit))).abs() < 1e-4, "{row} {unit} {value}");
            }
        }
    }

    #[test]
    fn what_is_not_positive_definite_is_refused() {
        assert!(Square::zero(3).factor().is_none());
    }
}
