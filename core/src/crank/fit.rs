//! A smooth curve of time against angle through a wheel's teeth, solved for a moment.
//!
//! *Node*: a tooth that the curve goes by. *Leverage*: what part of the variance of a node's place goes into
//! the answer.
//!
//! A polynomial of third degree, or less where there are few nodes, by least squares. The time is taken
//! relative to a straight line through the nodes next to the moment first, in whole ticks, so that single
//! precision is enough for the rest. micromath does not serve here: its 1/x is off by up to 12 %.

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

/// The line through the nodes next to the moment: its start and its ticks per position.
pub(super) fn baseline(nodes: &[Node]) -> Option<(Node, f32)> {
    let last = *nodes.iter().find(|node| node.ticks > 0)?;
    let first = *nodes.iter().rev().find(|node| node.ticks <= 0)?;
    let per_position = (last.ticks - first.ticks) as f32 / (last.position - first.position);
    (per_position > 0.0).then_some((first, per_position))
}

/// A polynomial's coefficients, lowest first.
type Coefficients = [f32; 4];

fn value(coefficients: &Coefficients, x: f32) -> f32 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
}

fn slope(coefficients: &Coefficients, x: f32) -> f32 {
    let [_, b, c, d] = *coefficients;
    b + x * (2.0 * c + 3.0 * d * x)
}

pub(super) fn fit_wheel(nodes: &Nodes, evened: bool) -> Option<WheelFit> {
    let (first, per_pitch) = baseline(nodes)?;
    let straight = -(first.ticks as f32) / per_pitch;
    let reach = nodes.iter().map(|node| magnitude(node.position - straight)).fold(1.0, f32::max);
    let degree = degree(nodes.len(), evened);
    // Everything is scaled: x runs over -1..1 about the straight answer, off over parts of a pitch.
    let scaled = |node: &Node| {
        let x = (node.position - straight) / reach;
        let line = (node.position - straight) * per_pitch;
        (x, (node.ticks as f32 - line) / per_pitch)
    };
    let mut moments = [0.0f32; 7];
    let mut right = [0.0f32; 4];
    for node in nodes {
        let (x, off) = scaled(node);
        let mut power = 1.0;
        for (index, moment) in moments.iter_mut().enumerate() {
            *moment += power;
            if let Some(side) = right.get_mut(index) {
                *side += power * off;
            }
            power *= x;
        }
    }
    let coefficients = solve_normal(&moments, right, degree)?;
    let unit = solve_normal(&moments, [1.0, 0.0, 0.0, 0.0], degree)?;
    let mut squares = 0.0;
    let mut worst = (0.0, 0);
    for (index, node) in nodes.iter().enumerate() {
        let (x, off) = scaled(node);
        let rest = magnitude(off - value(&coefficients, x));
        squares += rest * rest;
        if rest > worst.0 {
            worst = (rest, index);
        }
    }
    let free = nodes.len().saturating_sub(degree + 1);
    let misfit = if free == 0 { 0.0 } else { libm::sqrtf(squares / free as f32) };
    // Solve (x·reach) + off(x) = 0, in pitches from the straight answer; off is a small part of a pitch.
    let mut x = 0.0;
    for _ in 0..4 {
        let there = x * reach + value(&coefficients, x);
        x -= there / (reach + slope(&coefficients, x));
    }
    Some(WheelFit {
        position: straight + x * reach,
        misfit,
        freedom: free as u8,
        leverage: unit[0],
        stray: (worst.0 > STRAY_NODE && worst.0 > 2.0 * misfit).then_some(worst.1),
    })
}

/// Solves the normal equations of a polynomial of this degree from the sums of powers of x.
fn solve_normal(moments: &[f32; 7], right: [f32; 4], degree: usize) -> Option<Coefficients> {
    let size = degree + 1;
    let mut rows = [[0.0f32; 5]; 4];
    for (i, row) in rows.iter_mut().enumerate() {
        for (j, cell) in row.iter_mut().take(4).enumerate() {
            let used = i < size && j < size;
            *cell = if used { moments.get(i + j).copied()? } else { f32::from(u8::from(i == j)) };
        }
        row[4] = if i < size { right.get(i).copied()? } else { 0.0 };
    }
    for i in 0..4 {
        let pivot_row = *rows.get(i)?;
        let pivot = *pivot_row.get(i)?;
        if magnitude(pivot) < 1e-9 {
            return None;
        }
        for (j, row) in rows.iter_mut().enumerate() {
            if j != i {
                let factor = row.get(i)? / pivot;
                for (cell, above) in row.iter_mut().zip(pivot_row) {
                    *cell -= factor * above;
                }
            }
        }
    }
    let mut coefficients = [0.0; 4];
    for (i, coefficient) in coefficients.iter_mut().enumerate() {
        let row = rows.get(i)?;
        *coefficient = row.get(4)? / row.get(i)?;
    }
    Some(coefficients)
}

/// How much each node's place counts in the answer, for nodes at these places from the moment.
pub(super) fn weights(places: &Vec<f32, NODES>, evened: bool) -> Option<Vec<f32, NODES>> {
    let reach = places.iter().map(|place| magnitude(*place)).fold(1.0, f32::max);
    let mut moments = [0.0f32; 7];
    for place in places {
        let mut power = 1.0;
        for moment in &mut moments {
            *moment += power;
            power *= place / reach;
        }
    }
    let unit = solve_normal(&moments, [1.0, 0.0, 0.0, 0.0], degree(places.len(), evened))?;
    Some(gather(places.iter().map(|place| value(&unit, place / reach))))
}

fn magnitude(x: f32) -> f32 {
    if x < 0.0 { -x } else { x }
}
