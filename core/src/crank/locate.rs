//! Where the crank was at a moment between teeth.
//!
//! *Node*: a tooth that the answer rests on: trusted, and not beside the gap of a wheel that shifts it. *Bracket*: the
//! nodes just before and after the moment.
//!
//! On a wheel, the time of the nodes is a smooth function of the angle: a polynomial of third degree (less
//! where there are few nodes) through up to sixteen nodes within about 40° either side is fitted by least
//! squares and solved for the moment. That follows acceleration and ripple (a four that swings from 710
//! to 860 rpm within the turn leaves 0.03°), averages the errors of single teeth, and spans the gap
//! without its neighbours, which a variable-reluctance wheel shifts by up to 1.3°.
//! Between marks, which are too few to average, the parabolas through the three marks around either end
//! of the bracket are blended: exact at the marks and for steady acceleration.
//!
//! The time is taken relative to a straight line through the bracket first, in whole ticks, so that single
//! precision is enough for the rest. micromath does not serve here: its 1/x is off by up to 12 %.

use super::plan::Plan;
use super::teeth::{Teeth, Tooth};
use crate::fixed::gather;
use crate::units::{Advance, CrankAngle, Instant, TURN};
use heapless::Vec;

/// The most nodes on either side.
pub(super) const NODES_EACH_SIDE: usize = 8;
const NODES: usize = 2 * NODES_EACH_SIDE;
/// Nodes farther than this from the moment are not looked for, in degrees.
const REACH_DEGREES: f32 = 40.0;
/// A node that lies off the others' curve by more than this part of a pitch is left out.
const STRAY_NODE: f32 = 0.06;

/// Where the crank was, and how well the nodes agreed.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Located {
    /// How far before top dead centre.
    pub advance: Advance,
    /// Turn of this epoch in which it was.
    pub turn: u32,
    /// Part of that turn gone by, counted from slot 0.
    pub part: f32,
    /// Root mean square misfit of the nodes, degrees, for the degrees of freedom left; 0 where none are.
    pub misfit: f32,
    /// Degrees of freedom behind the misfit: nodes less the numbers fitted.
    pub freedom: u8,
    /// What part of the variance of a node's place goes into the angle.
    pub leverage: f32,
}

#[derive(Debug, Clone, Copy)]
struct Node {
    /// Position from the bracket's first node: pitches for a wheel, turns for marks.
    position: f32,
    /// Ticks from the moment.
    ticks: i64,
}

type Nodes = Vec<Node, NODES>;

/// How many nodes each side are wanted: on a wheel of so many slots as many as stand within the reach, 2 to
/// 8; between marks 2.
pub(super) fn nodes_wanted(wheel_slots: Option<u8>) -> u8 {
    wheel_slots.map_or(2, |slots| {
        let within = REACH_DEGREES * f32::from(slots) / 360.0;
        (within as u8).clamp(2, NODES_EACH_SIDE as u8)
    })
}

/// The answer to where the crank was.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Whereabouts {
    /// Too few teeth after the moment are placed: ask again.
    Later,
    /// The teeth around the moment are doubtful, missing or forgotten.
    Unknown,
    /// There.
    At(Located),
}

/// Where the crank was at `moment`. With `all_there` no more teeth will come, and fewer must do.
pub fn locate(plan: &Plan, teeth: &Teeth, moment: Instant, all_there: bool) -> Whereabouts {
    let Some(newest) = teeth.newest() else {
        return if all_there { Whereabouts::Unknown } else { Whereabouts::Later };
    };
    let wanted = usize::from(plan.nodes_wanted());
    let mut before: Vec<&Tooth, NODES_EACH_SIDE> = Vec::new();
    let mut after: Vec<&Tooth, NODES_EACH_SIDE> = Vec::new();
    let in_place = teeth.ends_in_place();
    let usable = |tooth: &&Tooth| tooth.trusted && (in_place || !plan.beside_gap(tooth.slot));
    for tooth in teeth.iter().rev().filter(|tooth| tooth.at <= moment).filter(usable).take(wanted) {
        let _ = before.push(tooth);
    }
    for tooth in teeth.iter().filter(|tooth| tooth.at > moment).filter(usable).take(wanted) {
        let _ = after.push(tooth);
    }
    if after.len() < wanted && !all_there && !passed_by(plan, newest, moment, &after) {
        return Whereabouts::Later;
    }
    let (Some(first), Some(last)) = (before.first(), after.first()) else {
        return Whereabouts::Unknown;
    };
    let near_enough = if plan.is_wheel() {
        pitches_between(plan, first, last) <= i64::from(plan.gap()) + 3
    } else {
        steps_between(plan, first, last) == 1
    };
    if !near_enough {
        return Whereabouts::Unknown;
    }
    let mut nodes = Nodes::new();
    for tooth in before.iter().rev().chain(after.iter()) {
        let position = if plan.is_wheel() {
            pitches_between(plan, first, tooth) as f32
        } else {
            turns_between(plan, first, tooth)
        };
        let _ = nodes.push(Node { position, ticks: tooth.at.minus(moment) });
    }
    solve(plan, first, nodes).map_or(Whereabouts::Unknown, Whereabouts::At)
}

/// Whether so much has passed since `moment` that the nodes still wanted will not come.
fn passed_by(plan: &Plan, newest: &Tooth, moment: Instant, after: &[&Tooth]) -> bool {
    let Some(nearest) = after.first() else { return false };
    let enough = NODES_EACH_SIDE as i64 + 2 * i64::from(plan.gap()) + 2;
    plan.is_wheel() && newest.at > moment && pitches_between(plan, nearest, newest) > enough
}

fn steps_between(plan: &Plan, from: &Tooth, to: &Tooth) -> i64 {
    let turns = i64::from(to.turn.wrapping_sub(from.turn) as i32);
    turns * i64::from(plan.count()) + i64::from(to.slot) - i64::from(from.slot)
}

fn pitches_between(plan: &Plan, from: &Tooth, to: &Tooth) -> i64 {
    let turns = i64::from(to.turn.wrapping_sub(from.turn) as i32);
    turns * i64::from(plan.slots()) + i64::from(to.slot) - i64::from(from.slot)
}

fn turns_between(plan: &Plan, from: &Tooth, to: &Tooth) -> f32 {
    let turns = i64::from(to.turn.wrapping_sub(from.turn) as i32);
    let (from, to) = (plan.angle(from.slot).fraction(), plan.angle(to.slot).fraction());
    (turns as f64 + (f64::from(to) - f64::from(from)) / TURN as f64) as f32
}

fn solve(plan: &Plan, first: &Tooth, mut nodes: Nodes) -> Option<Located> {
    let turns_per_unit = if plan.is_wheel() { 1.0 / f32::from(plan.slots()) } else { 1.0 };
    let (position, misfit, freedom, leverage) = if plan.is_wheel() {
        let mut fit = fit_wheel(&nodes)?;
        if let Some(stray) = fit.stray.filter(|_| nodes.len() >= 6) {
            let others = nodes.iter().enumerate().filter(|(index, _)| *index != stray);
            nodes = gather(others.map(|(_, node)| *node));
            fit = fit_wheel(&nodes)?;
        }
        (fit.position, fit.misfit, fit.freedom, fit.leverage)
    } else {
        (between_marks(&nodes)?, 0.0, 0, 1.0)
    };
    let turned = position * turns_per_unit;
    let fraction = (f64::from(turned) * TURN as f64) as i64;
    let angle: CrankAngle = plan.angle(first.slot).turned(fraction as u32);
    let since_zero = plan.angle(0).to(plan.angle(first.slot)) as f32 / TURN as f32 + turned;
    let (turn, part) = if since_zero >= 1.0 {
        (first.turn.wrapping_add(1), since_zero - 1.0)
    } else {
        (first.turn, since_zero)
    };
    Some(Located {
        advance: angle.advance(),
        turn,
        part,
        misfit: misfit * turns_per_unit * 360.0,
        freedom,
        leverage,
    })
}

struct WheelFit {
    position: f32,
    misfit: f32,
    freedom: u8,
    leverage: f32,
    stray: Option<usize>,
}

/// The line through the nodes next to the moment: its start and its ticks per position.
fn baseline(nodes: &[Node]) -> Option<(Node, f32)> {
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

fn fit_wheel(nodes: &Nodes) -> Option<WheelFit> {
    let (first, per_pitch) = baseline(nodes)?;
    let straight = -(first.ticks as f32) / per_pitch;
    let reach = nodes.iter().map(|node| magnitude(node.position - straight)).fold(1.0, f32::max);
    let degree = match nodes.len() {
        0..=2 => 1,
        3 => 2,
        _ => 3,
    };
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

/// The position of the moment between marks, in turns from the mark before it.
fn between_marks(nodes: &Nodes) -> Option<f32> {
    let index = nodes.iter().rposition(|node| node.ticks <= 0)?;
    let first = nodes.get(index)?;
    let last = nodes.get(index + 1)?;
    let (_, per_turn) = baseline(nodes)?;
    let width = last.position - first.position;
    let bow = |middle: usize| -> f32 {
        let around = middle.checked_sub(1).and_then(|before| nodes.get(before..=middle + 1));
        let Some([a, b, c]) = around else { return f32::NAN };
        let early = (b.ticks - a.ticks) as f32 / (b.position - a.position);
        let late = (c.ticks - b.ticks) as f32 / (c.position - b.position);
        (late - early) / (c.position - a.position)
    };
    let (mut before, mut after) = (bow(index), bow(index + 1));
    if before.is_nan() && after.is_nan() {
        (before, after) = (0.0, 0.0);
    } else if before.is_nan() {
        before = after;
    } else if after.is_nan() {
        after = before;
    }
    let mut x = -(first.ticks as f32) / per_turn;
    for _ in 0..3 {
        let part = x / width;
        let curve = before + (after - before) * part;
        let ticks = first.ticks as f32 + per_turn * x + curve * x * (x - width);
        x -= ticks / (per_turn + curve * (2.0 * x - width));
    }
    x.is_finite().then_some(x)
}

fn magnitude(x: f32) -> f32 {
    if x < 0.0 { -x } else { x }
}
