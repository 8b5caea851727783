//! A smooth curve of time against angle through a wheel's teeth, solved for a moment, in whole numbers.
//!
//! *Node*: a tooth that the curve goes by. *Off*: by how much the time of a node is ahead of a straight line through the
//! two nodes next to the moment, in pitches. *Leverage*: what part of the variance of a node's place goes into the answer.
//!
//! A polynomial of third degree, or less where there are few nodes, by least squares, of what the nodes are off. On a
//! processor without a float unit a sum of floats costs 190 cycles, one of 64-bit integers a few; so everything is in
//! fixed point here. x runs over -1..1 about the straight answer, by a power of two: no division. What is fitted is the
//! rounded powers themselves, so their rounding (2⁻¹⁵) doesn't upset the equations: it moves the curve by no more than
//! that part of its own bend. The answer is good to some millionths of a pitch.
//!
//! A crate of its own, so that the handheld can build it for speed and the rest of the core small.
#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

mod cholesky;

use cholesky::Factors;
use heapless::Vec;

/// The most nodes on either side.
pub const NODES_EACH_SIDE: usize = 8;
/// The most nodes.
pub const NODES: usize = 2 * NODES_EACH_SIDE;
/// One pitch.
pub const PITCH: i32 = 1 << PITCH_BITS;
const PITCH_BITS: u32 = 20;
/// Parts of a pitch in pitches.
pub const PER_PITCH: f32 = 1.0 / PITCH as f32;
/// A node that lies off the others' curve by more than this part of a pitch is left out.
const STRAY_NODE: i64 = PITCH as i64 * 6 / 100;
/// No node is farther off than this: more is no wheel.
const FARTHEST_OFF: i64 = 4 * PITCH as i64;
/// One of x, and of a power of it.
const X_BITS: u32 = 15;
/// Bits that a product of powers gives up, so that those of sixteen nodes add up in 32 bits.
const SPARE_BITS: u32 = 4;
/// Bits of x while the curve is solved.
const FINE_X_BITS: u32 = 30;
/// Steps of solving at most; each leaves a tenth of the error or less.
const STEPS: u32 = 12;

/// A tooth that the curve goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Node {
    /// Its place from the bracket's first node, parts of a pitch.
    pub place: i32,
    /// Ticks from the moment.
    pub ticks: i32,
}

/// Nodes, oldest first.
pub type Nodes = Vec<Node, NODES>;

/// The degree of the curve through so many nodes; `evened` where the crank's swing is taken off them.
fn degree(nodes: usize, evened: bool) -> usize {
    match nodes {
        0..=2 => 1,
        3 => 2,
        4..=7 if evened => 2,
        _ => 3,
    }
}

/// What the curve says of a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelFit {
    /// The place of the moment from the bracket's first node, parts of a pitch.
    pub place: i32,
    /// Mean squared misfit of the nodes, pitches squared.
    pub misfit_square: f32,
    /// Degrees of freedom behind the misfit.
    pub freedom: u8,
    /// What part of the variance of a node's place goes into the answer.
    pub leverage: f32,
    /// The node that lies off the others' curve, if one does.
    pub stray: Option<usize>,
}

impl WheelFit {
    /// What goes through its nodes, and rests on one of them.
    pub const EXACT: Self = Self { place: 0, misfit_square: 0.0, freedom: 0, leverage: 1.0, stray: None };
}

/// The straight line through the nodes next to the moment.
struct Straight {
    /// The first of them.
    first: Node,
    /// Parts of a pitch in a tick, in 2^-[`RATE_BITS`]. At twenty turns a minute and ten ticks a microsecond eight pitches
    /// are still good to some millionths of one.
    rate: i64,
}

/// Bits behind the point of a rate: a shift by a number known beforehand is no call.
const RATE_BITS: u32 = 24;

impl Straight {
    fn through(nodes: &[Node]) -> Option<Self> {
        let last = *nodes.iter().find(|node| node.ticks > 0)?;
        let first = *nodes.iter().rev().find(|node| node.ticks <= 0)?;
        let run = u64::from(last.ticks.abs_diff(first.ticks));
        let rise = u64::try_from(last.place.checked_sub(first.place)?).ok().filter(|rise| *rise > 0)?;
        let rate = (rise << RATE_BITS).checked_div(run).filter(|rate| *rate >> RATE_BITS <= PITCH as u64)?;
        Some(Self { first, rate: rate as i64 })
    }

    /// Parts of a pitch in so many ticks.
    fn place(&self, ticks: i32) -> i64 {
        i64::from(ticks).wrapping_mul(self.rate) >> RATE_BITS
    }
}

/// The powers of x, lowest first.
type Powers = [i32; 4];

fn powers(x: i32) -> Powers {
    let square = (x * x) >> X_BITS;
    [1 << X_BITS, x, square, (square * x) >> X_BITS]
}

/// The place at the moment from which the ticks of the nodes are counted, by the curve through them; `evened` where the
/// crank's swing is taken off them. `None` unless they stand on both sides of it and tell a curve.
pub fn fit_wheel(nodes: &[Node], evened: bool) -> Option<WheelFit> {
    let straight = Straight::through(nodes)?;
    let answer = straight.place(straight.first.ticks.checked_neg()?) as i32;
    let away = |node: &Node| node.place.wrapping_sub(answer);
    let farthest = nodes.iter().map(|node| away(node).unsigned_abs()).fold(PITCH as u32 - 1, u32::max);
    let reach_bits = u32::BITS - farthest.leading_zeros();
    let degree = degree(nodes.len(), evened);
    let mut scaled: Vec<(Powers, i32), NODES> = Vec::new();
    // The upper half of each row is that of the column.
    let mut products = [[0i32; 4]; 4];
    let mut sums = [Sum::default(); 4];
    for node in nodes {
        let away = away(node);
        let powers = powers(to_x(away, reach_bits));
        let off = (straight.place(node.ticks) - i64::from(away)).clamp(-FARTHEST_OFF, FARTHEST_OFF) as i32;
        add_products(&mut products, powers);
        sums.iter_mut().zip(powers).for_each(|(sum, power)| sum.add(power, off));
        let _ = scaled.push((powers, off));
    }
    let factors = Factors::of(&products, degree)?;
    let curve = factors.solved(&sums.map(Sum::whole));
    let is_flat = curve.iter().all(|part| i64::from(part.unsigned_abs()) <= FARTHEST_OFF);
    let mut squares = 0u64;
    let mut worst = (0, 0);
    for (index, (powers, off)) in scaled.iter().enumerate() {
        let there = if is_flat { height(&curve, *powers) } else { (value(&curve, *powers) >> X_BITS) as i32 };
        let rest = off.saturating_sub(there).unsigned_abs();
        squares = squares.saturating_add(square(rest));
        if rest > worst.0 {
            worst = (rest, index);
        }
    }
    let free = nodes.len().saturating_sub(degree + 1);
    let misfit_square = if free == 0 { 0.0 } else { squares as f32 / free as f32 };
    Some(WheelFit {
        place: answer.wrapping_add(crossing(&curve, reach_bits)?),
        misfit_square: misfit_square * (PER_PITCH * PER_PITCH),
        freedom: free as u8,
        leverage: factors.leverage(),
        stray: (i64::from(worst.0) > STRAY_NODE && square(worst.0) as f32 > 4.0 * misfit_square)
            .then_some(worst.1),
    })
}

/// How much each node's place counts in the answer, for nodes at these places from the moment, parts of a pitch.
pub fn weights(places: &Vec<i32, NODES>, evened: bool) -> Option<Vec<f32, NODES>> {
    let farthest = places.iter().map(|place| place.unsigned_abs()).fold(PITCH as u32 - 1, u32::max);
    let reach_bits = u32::BITS - farthest.leading_zeros();
    let powers_at = |place: &i32| powers(to_x(*place, reach_bits));
    let mut products = [[0i32; 4]; 4];
    places.iter().for_each(|place| add_products(&mut products, powers_at(place)));
    // The polynomial that is one at the moment, as far as the others' products with it go.
    let unit = [1 << (PITCH_BITS + X_BITS), 0, 0, 0];
    let curve = Factors::of(&products, degree(places.len(), evened))?.solved(&unit);
    let mut weights = Vec::new();
    for place in places {
        let _ = weights.push((value(&curve, powers_at(place)) >> X_BITS) as f32 * PER_PITCH);
    }
    Some(weights)
}

/// A place as x, to the nearest.
fn to_x(place: i32, reach_bits: u32) -> i32 {
    ((place >> (reach_bits - X_BITS - 1)) + 1) >> 1
}

/// Adds the products of powers with each other, in the lower half.
fn add_products(products: &mut [[i32; 4]; 4], powers: Powers) {
    for (index, (row, power)) in products.iter_mut().zip(powers).enumerate() {
        let cells = row.iter_mut().zip(powers).take(index + 1);
        cells.for_each(|(cell, other)| *cell += (power * other) >> SPARE_BITS);
    }
}

/// A sum of powers times what is off there, in two halves of 32 bits: of the lower bits of what is off, and of the rest.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    low: i32,
    high: i32,
}

/// Lower bits of what is off: with a power's 15 they are 26, and those of sixteen nodes 30.
const LOW_BITS: u32 = 11;

impl Sum {
    #[inline]
    fn add(&mut self, power: i32, off: i32) {
        self.low += power * (off & ((1 << LOW_BITS) - 1));
        // What is off is 4 pitches at most.
        self.high += power * (off >> LOW_BITS);
    }

    fn whole(self) -> i64 {
        (i64::from(self.high) << LOW_BITS) + i64::from(self.low)
    }
}

/// The square of a number, mostly a small one: a product of 64 bits is a call.
#[inline]
fn square(value: u32) -> u64 {
    if value < 1 << 16 { u64::from(value * value) } else { u64::from(value) * u64::from(value) }
}

/// The curve's value, rounded down, in 32 bits: its parts are no more than 4 pitches.
#[inline]
fn height(curve: &[i32; 4], powers: Powers) -> i32 {
    // The lower eight bits of each part apart: with a power's 15 the rest are 30.
    let (mut low, mut high) = (0i32, 0i32);
    for (part, power) in curve.iter().zip(powers) {
        low += (part & 0xff) * power;
        high += ((part >> 8) * power) >> 2;
    }
    (high + (low >> 10)) >> (X_BITS - 10)
}

/// The curve's value, times the scale of the powers.
fn value(curve: &[i32; 4], powers: Powers) -> i64 {
    curve.iter().zip(powers).map(|(part, power)| i64::from(*part) * i64::from(power)).sum()
}

/// Where a place plus what the curve is off there is nothing, parts of a pitch from the straight answer: what it is off
/// changes little from place to place.
fn crossing(curve: &[i32; 4], reach_bits: u32) -> Option<i32> {
    let [a, b, c, d] = curve.map(i64::from);
    let mut place = 0i64;
    for _ in 0..STEPS {
        let x = (place << FINE_X_BITS) >> reach_bits;
        let times_x = |value: i64| (value * x) >> FINE_X_BITS;
        let next = -(a + times_x(b + times_x(c + times_x(d))));
        if !(-FARTHEST_OFF..=FARTHEST_OFF).contains(&next) {
            return None;
        }
        let step = next - place;
        place = next;
        if (-1..=1).contains(&step) {
            break;
        }
    }
    i32::try_from(place).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ticks of a pitch.
    const TICKS: f64 = 7000.0;

    /// Nodes on either side of a moment `at` pitches after the first, on a crank that gains a part `climb` of its speed
    /// from pitch to pitch.
    fn nodes(at: f64, climb: f64, places: core::ops::RangeInclusive<i32>) -> Nodes {
        let time = |place: f64| TICKS * (place - climb * place * place / 2.0);
        places
            .map(|place| Node { place: place * PITCH, ticks: (time(f64::from(place)) - time(at)) as i32 })
            .collect()
    }

    #[test]
    fn the_moment_comes_back_to_a_tick_while_the_speed_changes() {
        for (at, climb) in [(0.5, 0.0), (0.13, 0.01), (0.9, -0.02), (0.31, 0.03)] {
            for places in [-7..=8, -3..=8, -7..=1, -2..=2] {
                let fit = fit_wheel(&nodes(at, climb, places.clone()), false).unwrap();
                let error = f64::from(fit.place) / f64::from(PITCH) - at;
                assert!(error.abs() < 1.5 / TICKS, "{at} {climb} {places:?}: {error}");
                assert!(fit.misfit_square < 1e-6 && fit.stray.is_none());
            }
        }
    }

    #[test]
    fn a_node_off_the_others_is_named() {
        let mut nodes = nodes(0.4, 0.0, -7..=8);
        nodes[4].ticks += 1000;
        assert_eq!(fit_wheel(&nodes, false).unwrap().stray, Some(4));
    }

    #[test]
    fn the_answer_is_the_weighted_sum_of_the_places() {
        let (at, places) = (0.3, -7..=8);
        let plain = fit_wheel(&nodes(at, 0.0, places.clone()), false).unwrap();
        let from_moment =
            places.clone().map(|place| ((f64::from(place) - at) * f64::from(PITCH)) as i32).collect();
        let weights = weights(&from_moment, false).unwrap();
        assert!((weights.iter().sum::<f32>() - 1.0).abs() < 1e-4);
        let squares: f32 = weights.iter().map(|weight| weight * weight).sum();
        assert!((squares - plain.leverage).abs() < 1e-3, "{squares}, {}", plain.leverage);
        for (index, weight) in weights.iter().enumerate() {
            let mut nodes = nodes(at, 0.0, places.clone());
            nodes[index].place += PITCH / 100;
            let moved = fit_wheel(&nodes, false).unwrap().place - plain.place;
            assert!((moved as f32 * PER_PITCH - weight * 0.01).abs() < 2e-4, "{index}");
        }
    }

    #[test]
    fn nodes_on_one_side_alone_tell_nothing() {
        assert!(fit_wheel(&nodes(9.0, 0.0, -7..=8), false).is_none());
        assert!(fit_wheel(&[], false).is_none());
    }
}
