//! A smooth curve of time against angle through a wheel's teeth, solved for a moment.
//!
//! *Node*: a tooth that the curve goes by. *Leverage*: what part of the variance of a node's place goes into
//! the answer.
//!
//! A polynomial of third degree, or less where there are few nodes, by least squares. The time is taken
//! relative to a straight line through the nodes next to the moment first, in whole ticks, so that single
//! precision is enough for the rest. micromath does not serve here: its 1/x is off by up to 12 %.
//!
//! The sums over the nodes are integers, where a product costs a cycle and not 150. What is fitted is the rounded
//! powers themselves, so their rounding (2⁻¹⁵) doesn't upset the equations: it moves the curve by no more than
//! that part of its own bend.

use crate::fixed::gather;
use heapless::Vec;

/// The most nodes on either side.
pub(super) const NODES_EACH_SIDE: usize = 8;
pub(super) const NODES: usize = 2 * NODES_EACH_SIDE;
/// A node that lies off the others' curve by more than this part of a pitch is left out.
const STRAY_NODE: f32 = 0.06;

#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// Position from the bracket's first node: pitches for a wheel, turns for marks.
    pub(super) position: f32,
    /// Ticks from the moment.
    pub(super) ticks: i64,
}

pub(super) type Nodes = Vec<Node, NODES>;

/// The degree of the curve through so many nodes; `evened` where the crank's swing is taken off them.
fn degree(nodes: usize, evened: bool) -> usize {
    match nodes {
        0..=2 => 1,
        3 => 2,
        4..=7 if evened => 2,
        _ => 3,
    }
}

pub(super) struct WheelFit {
    pub(super) position: f32,
    pub(super) misfit: f32,
    pub(super) freedom: u8,
    pub(super) leverage: f32,
    pub(super) stray: Option<usize>,
}

/// Ticks as a float: those of 32 bits, as all near a moment are, at a third of the work.
fn single(ticks: i64) -> f32 {
    i32::try_from(ticks).map_or(ticks as f32, |ticks| ticks as f32)
}

/// The line through the nodes next to the moment: its start and its ticks per position.
pub(super) fn baseline(nodes: &[Node]) -> Option<(Node, f32)> {
    let last = *nodes.iter().find(|node| node.ticks > 0)?;
    let first = *nodes.iter().rev().find(|node| node.ticks <= 0)?;
    let per_position = single(last.ticks - first.ticks) / (last.position - first.position);
    (per_position > 0.0).then_some((first, per_position))
}

/// A polynomial's coefficients, lowest first.
type Coefficients = [f32; 4];

fn value(coefficients: &Coefficients, x: f32) -> f32 {
    let [a, b, c, d] = *coefficients;
    a + x * (b + x * (c + x * d))
}

fn slope(coefficients: &Coefficients, x: f32) -> f32 {
    let [_, b, c, d] = *coefficients;
    b + x * (2.0 * c + 3.0 * d * x)
}

/// One of x, and of a power of it, in 2⁻¹⁵.
const ONE_X: f32 = 32_768.0;
/// One pitch off, in 2⁻²⁰.
const ONE_OFF: f32 = 1_048_576.0;
const PER_OFF: f32 = 1.0 / ONE_OFF;
/// Bits that a product gives up, so that those of sixteen nodes add up in 32 bits.
const SPARE_BITS: u32 = 4;
const PER_PRODUCT: f32 = 16.0 / (ONE_X * ONE_X);
const PER_SUM: f32 = 1.0 / (ONE_X * ONE_OFF);

/// The powers of x, lowest first, in 2⁻¹⁵.
type Powers = [i32; 4];

fn powers(x: i32) -> Powers {
    let x = x.clamp(-(1 << 15), 1 << 15);
    let square = (x * x) >> 15;
    [1 << 15, x, square, (square * x) >> 15]
}

pub(super) fn fit_wheel(nodes: &Nodes, evened: bool) -> Option<WheelFit> {
    let (first, per_pitch) = baseline(nodes)?;
    // Divisions cost most: one for each scale.
    let per_tick = 1.0 / per_pitch;
    let straight = -single(first.ticks) * per_tick;
    let reach = nodes.iter().map(|node| (node.position - straight).abs()).fold(1.0, f32::max);
    let per_reach = 1.0 / reach;
    let degree = degree(nodes.len(), evened);
    // Everything is scaled: x runs over -1..1 about the straight answer, off over parts of a pitch.
    let mut scaled: Vec<(Powers, i32), NODES> = Vec::new();
    let mut products = [[0i32; 4]; 4];
    let mut sums = [0i64; 4];
    for node in nodes {
        let away = node.position - straight;
        let powers = powers((away * per_reach * ONE_X) as i32);
        let off = ((single(node.ticks) * per_tick - away) * ONE_OFF) as i32;
        for ((row, sum), power) in products.iter_mut().zip(&mut sums).zip(powers) {
            row.iter_mut().zip(powers).for_each(|(cell, other)| *cell += (power * other) >> SPARE_BITS);
            *sum += i64::from(power) * i64::from(off);
        }
        let _ = scaled.push((powers, off));
    }
    let matrix = products.map(|row| row.map(|cell| cell as f32 * PER_PRODUCT));
    let right = sums.map(|sum| sum as f32 * PER_SUM);
    let [coefficients, unit] = solve_normal(&matrix, [right, [1.0, 0.0, 0.0, 0.0]], degree)?;
    let whole = coefficients.map(|coefficient| (coefficient * ONE_OFF) as i32);
    let mut squares = 0i64;
    let mut worst = (0, 0);
    for (index, (powers, off)) in scaled.iter().enumerate() {
        let curve: i64 =
            whole.iter().zip(powers).map(|(part, power)| i64::from(*part) * i64::from(*power)).sum();
        let rest = i64::from(*off) - (curve >> 15);
        squares = squares.saturating_add(rest.saturating_mul(rest));
        if rest.abs() > worst.0 {
            worst = (rest.abs(), index);
        }
    }
    let (squares, worst) = (squares as f32 * (PER_OFF * PER_OFF), (worst.0 as f32 * PER_OFF, worst.1));
    let free = nodes.len().saturating_sub(degree + 1);
    let misfit = if free == 0 { 0.0 } else { libm::sqrtf(squares / free as f32) };
    // Solve (x·reach) + off(x) = 0, in pitches from the straight answer; off is a small part of a pitch.
    let mut x = 0.0;
    for _ in 0..4 {
        let there = x * reach + value(&coefficients, x);
        let step = there / (reach + slope(&coefficients, x));
        x -= step;
        // The next step is as small as the square of this one.
        if step.abs() < 1e-5 {
            break;
        }
    }
    Some(WheelFit {
        position: straight + x * reach,
        misfit,
        freedom: free as u8,
        leverage: unit[0],
        stray: (worst.0 > STRAY_NODE && worst.0 > 2.0 * misfit).then_some(worst.1),
    })
}

/// Solves the normal equations of a polynomial of this degree from the sums of products of powers of x, for two
/// right sides.
fn solve_normal(
    products: &[Coefficients; 4],
    rights: [Coefficients; 2],
    degree: usize,
) -> Option<[Coefficients; 2]> {
    let size = degree + 1;
    // Four columns, then the two right sides.
    let mut rows = [[0.0f32; 6]; 4];
    for (i, row) in rows.iter_mut().enumerate().take(size) {
        for (cell, product) in row.iter_mut().zip(products.get(i)?).take(size) {
            *cell = *product;
        }
        for (cell, right) in row.iter_mut().skip(4).zip(&rights) {
            *cell = *right.get(i)?;
        }
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
    let mut solved = [[0.0; 4]; 2];
    for i in (0..size).rev() {
        let row = rows.get(i)?;
        for (coefficients, right) in solved.iter_mut().zip(row.iter().skip(4)) {
            let known = row.iter().zip(coefficients.iter()).take(size).skip(i + 1);
            let rest = known.fold(*right, |rest, (cell, coefficient)| rest - cell * coefficient);
            *coefficients.get_mut(i)? = rest * inverses.get(i)?;
        }
    }
    Some(solved)
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
    let unit = [1.0, 0.0, 0.0, 0.0];
    let [unit, _] = solve_normal(&products, [unit; 2], degree(places.len(), evened))?;
    Some(gather(places.iter().map(|place| value(&unit, place * per_reach))))
}
