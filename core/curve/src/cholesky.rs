//! The normal equations of a polynomial of third degree at most, solved in whole numbers.
//!
//! *Factors*: the symmetric sums of products of powers, M, as L·D·Lᵀ with ones on the diagonal of L: each row less its
//! part of the rows before. What stands in D is what is left of a power's own square once the lower powers are taken off
//! it; it never grows, and by Cauchy's inequality neither does any product of it in here outgrow 64 bits.

/// Bits behind the point of the sums of products, of L, and of one over D.
const SUM_BITS: u32 = 26;
const LOWER_BITS: u32 = 28;
/// Less than this left of a power's square is none: the nodes do not tell it.
const LEAST_PIVOT: i64 = 1 << 8;

/// One over a pivot as it stands, without its point: `value` in 2^-`bits`.
#[derive(Debug, Clone, Copy, Default)]
struct Inverse {
    value: i64,
    bits: u32,
}

impl Inverse {
    /// To thirty bits: a quotient of sixteen, and a step of Newton's, since one of 64 bits costs three times as much.
    fn of(pivot: i64) -> Option<Self> {
        let pivot = u32::try_from(pivot).ok().filter(|pivot| *pivot > 0)?;
        let moved = pivot.leading_zeros();
        let pivot = pivot << moved;
        let rough = i64::from(u32::MAX.checked_div(pivot >> 16)?);
        let rest = (1i64 << 48) - rough * i64::from(pivot);
        Some(Self { value: (rough << 14) + ((rough * (rest >> 4)) >> 30), bits: 62 - moved })
    }

    /// A value of 32 bits, as it stands, over the pivot, with so many bits behind the point.
    fn of_value(self, value: i64, more: u32) -> i64 {
        (value * self.value) >> (self.bits - more)
    }
}

/// The factors of the normal equations.
pub(super) struct Factors {
    size: usize,
    /// Below the diagonal of L, row by row.
    lower: [[i64; 4]; 4],
    inverses: [Inverse; 4],
}

impl Factors {
    /// Of the sums of products, of which the lower half is looked at. `None` where the nodes do not tell the polynomial.
    pub(super) fn of(products: &[[i32; 4]; 4], degree: usize) -> Option<Self> {
        let size = (degree + 1).min(4);
        let mut rest = products.map(|row| row.map(i64::from));
        let mut lower = [[0i64; 4]; 4];
        let mut inverses = [Inverse::default(); 4];
        for step in 0..size {
            let pivot = *rest.get(step)?.get(step)?;
            if pivot < LEAST_PIVOT {
                return None;
            }
            let inverse = Inverse::of(pivot)?;
            *inverses.get_mut(step)? = inverse;
            for row in step + 1..size {
                let below = *rest.get(row)?.get(step)?;
                let factor = inverse.of_value(below, LOWER_BITS);
                *lower.get_mut(row)?.get_mut(step)? = factor;
                for column in step + 1..=row {
                    let above = *rest.get(column)?.get(step)?;
                    *rest.get_mut(row)?.get_mut(column)? -= (factor * above) >> LOWER_BITS;
                }
            }
        }
        Some(Self { size, lower, inverses })
    }

    /// The polynomial, lowest power first, parts of a pitch, from the sums of the powers (2⁻¹⁵) times what is off there.
    pub(super) fn solved(&self, sums: &[i64; 4]) -> [i32; 4] {
        // In 2⁻²⁸ pitches.
        let mut solved = sums.map(|sum| sum >> 7);
        for row in 1..self.size {
            let known = sum(self.row(row).zip(&solved));
            if let Some(value) = solved.get_mut(row) {
                *value = value.wrapping_sub(known);
            }
        }
        for (value, inverse) in solved.iter_mut().zip(&self.inverses).take(self.size) {
            *value = inverse.of_value(*value >> 2, SUM_BITS);
        }
        for row in (0..self.size).rev() {
            let cells = self.lower.iter().map(|line| line.get(row).unwrap_or(&0));
            let above = sum(cells.zip(&solved).skip(row + 1));
            if let Some(value) = solved.get_mut(row) {
                *value = value.wrapping_sub(above);
            }
        }
        let mut curve = [0; 4];
        for (part, value) in curve.iter_mut().zip(&solved).take(self.size) {
            *part = (value >> 6).clamp(i64::from(i32::MIN), i64::from(i32::MAX)) as i32;
        }
        curve
    }

    /// What part of the variance of a node's place goes into the polynomial's lowest coefficient.
    pub(super) fn leverage(&self) -> f32 {
        let mut unit = [1i64 << LOWER_BITS, 0, 0, 0];
        let mut part = 0i64;
        for (row, inverse) in self.inverses.iter().enumerate().take(self.size) {
            let known: i64 = self.row(row).zip(&unit).map(|(cell, value)| (cell * value) >> LOWER_BITS).sum();
            if let Some(value) = unit.get_mut(row) {
                *value -= known;
                let value = *value >> 8;
                part += inverse.of_value((value * value) >> 16, SUM_BITS);
            }
        }
        part as f32 * (1.0 / (1u32 << 24) as f32)
    }

    fn row(&self, row: usize) -> impl Iterator<Item = &i64> {
        self.lower.get(row).into_iter().flat_map(move |line| line.iter().take(row))
    }
}

/// The sum of products, as wide as the cells. Teeth that tell no curve, as no wheel has them, may go beyond the width: what
/// comes of it is no curve either, and wraps.
fn sum<'a>(pairs: impl Iterator<Item = (&'a i64, &'a i64)>) -> i64 {
    pairs.fold(0i64, |sum, (cell, value)| sum.wrapping_add(cell.wrapping_mul(*value) >> LOWER_BITS))
}

#[cfg(test)]
mod tests;
