//! Where the crank was between two marks.
//!
//! Marks are too few to average, so the parabolas through the three marks around either end of the bracket
//! are blended: exact at the marks and for steady acceleration.

use heapless::Vec;
use keyway_curve::NODES;

/// A mark near the moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// Turns from the mark before the moment.
    pub(super) position: f32,
    /// Ticks from the moment.
    pub(super) ticks: i64,
}

pub(super) type Nodes = Vec<Node, NODES>;

/// The position of the moment between marks, in turns from the mark before it.
pub(super) fn between_marks(nodes: &Nodes) -> Option<f32> {
    let index = nodes.iter().rposition(|node| node.ticks <= 0)?;
    let first = nodes.get(index)?;
    let last = nodes.get(index + 1)?;
    let width = last.position - first.position;
    let per_turn = (last.ticks - first.ticks) as f32 / width;
    if per_turn <= 0.0 {
        return None;
    }
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
