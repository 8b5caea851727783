//! How much each of the teeth around a moment counts in the answer to where the crank was.
//!
//! The answer is the value at the moment of a polynomial through the teeth by least squares ([`keyway_curve`]), so it is a
//! weighted sum of their places. Asked for by whoever wants to know what an error of a tooth, or a wave of the crank,
//! does to an angle: a few times a second, in single precision.

use crate::fixed::gather;
use heapless::Vec;
use keyway_curve::{NODES, degree};

/// A polynomial's coefficients, lowest first.
type Coefficients = [f32; 4];

fn value(coefficients: &Coefficients, x: f32) -> f32 {
    let [a, b, c, d] = *coefficients;
    a + x * (b + x * (c + x * d))
}

/// How much each node's place counts in the answer, for nodes at these places from the moment.
pub(super) fn weights(places: &Vec<f32, NODES>, evened: bool) -> Option<Vec<f32, NODES>> {
    let reach = places.iter().map(|place| place.abs()).fold(1.0, f32::max);
    let per_reach = 1.0 / reach;
    let mut products = [[0.0f32; 4]; 4];
    for place in places {
        let x = place * per_reach;
        let powers = [1.0, x, x * x, x * x * x];
        for (row, power) in products.iter_mut().zip(powers) {
            row.iter_mut().zip(powers).for_each(|(cell, other)| *cell += power * other);
        }
    }
    let unit = solve_normal(&products, degree(places.len(), evened))?;
    Some(gather(places.iter().map(|place| value(&unit, place * per_reach))))
}

/// The polynomial of this degree whose value at zero is one and whose products with the other powers are zero, from the
/// sums of products of powers of x.
fn solve_normal(products: &[Coefficients; 4], degree: usize) -> Option<Coefficients> {
    let size = degree + 1;
    // Four columns, then the right side.
    let mut rows = [[0.0f32; 5]; 4];
    for (row, products) in rows.iter_mut().zip(products).take(size) {
        row.iter_mut().zip(products).take(size).for_each(|(cell, product)| *cell = *product);
    }
    if let Some(right) = rows.first_mut().and_then(|row| row.last_mut()) {
        *right = 1.0;
    }
    let mut inverses = [0.0f32; 4];
    for i in 0..size {
        let (above, below) = rows.split_at_mut_checked(i + 1)?;
        let upper = above.last()?;
        let pivot = *upper.get(i)?;
        if pivot.abs() < 1e-9 {
            return None;
        }
        let inverse = 1.0 / pivot;
        *inverses.get_mut(i)? = inverse;
        for row in below.iter_mut().take(size - i - 1) {
            let factor = row.get(i)? * inverse;
            row.iter_mut().zip(upper).skip(i + 1).for_each(|(cell, above)| *cell -= factor * above);
        }
    }
    let mut solved = [0.0; 4];
    for i in (0..size).rev() {
        let row = rows.get(i)?;
        let known = row.iter().zip(solved.iter()).take(size).skip(i + 1);
        let rest = known.fold(*row.last()?, |rest, (cell, coefficient)| rest - cell * coefficient);
        *solved.get_mut(i)? = rest * inverses.get(i)?;
    }
    Some(solved)
}
