//! Whether the setting was moved while it was being read.
//!
//! *Block*: the used sparks of a stretch of time, as means. Blocks begin 0.6 seconds long and are joined
//! in pairs when there are too many, so a capture of any length fits.
//!
//! A moved distributor leaves two levels, each as steady as the engine is, farther apart than blocks in a
//! row ever are. Wander, steering and worn drives leave blocks that differ from their neighbours as much
//! as from any other.

use crate::fixed::gather;
use crate::statistics::functions::square_root;
use crate::statistics::median::{DEVIATION_SCALE, median};
use crate::units::{Instant, TickRate};
use heapless::Vec;

/// Blocks kept.
const BLOCKS: usize = 32;
/// Sparks that make a block worth comparing.
const LEAST_SPARKS: u16 = 2;
/// Blocks that make a level: one spoilt block must not.
const LEAST_BLOCKS: usize = 3;
/// Levels nearer to each other than this are not called a move, degrees.
const LEAST_MOVE: f32 = 1.0;
/// Levels must differ by so many scatters of neighbouring blocks.
const CLEAR_MOVE: f32 = 5.0;
/// And by so many scatters of the blocks about their own level, on the steadier side.
const CLEAR_OF_LEVEL: f32 = 4.0;
/// What steering takes off and a spark seen too early adds as idle's speed wanders, degrees per 1000 rpm: not
/// more, since a distributor that is turned moves the speed too.
const FOLLOWS_SPEED: [f32; 2] = [-80.0, 36.0];

#[derive(Debug, Clone, Copy, Default)]
struct Block {
    count: u16,
    offset: f32,
    /// Sum of squared deviations from the mean offset.
    squares: f32,
    rpm: f32,
}

impl Block {
    fn add(&mut self, offset: f32, rpm: f32) {
        self.count = self.count.saturating_add(1);
        let share = 1.0 / f32::from(self.count);
        let away = offset - self.offset;
        self.offset += away * share;
        self.squares += away * (offset - self.offset);
        self.rpm += (rpm - self.rpm) * share;
    }

    /// Standard uncertainty of the mean offset.
    fn doubt(&self) -> f32 {
        let count = f32::from(self.count);
        square_root(self.squares / ((count - 1.0).max(1.0) * count))
    }

    fn joined(self, other: Self) -> Self {
        let count = self.count.saturating_add(other.count);
        if count == 0 {
            return Self::default();
        }
        let part = f32::from(other.count) / f32::from(count);
        let apart = other.offset - self.offset;
        Self {
            count,
            offset: self.offset + apart * part,
            squares: self.squares + other.squares + apart * apart * part * f32::from(self.count),
            rpm: self.rpm + (other.rpm - self.rpm) * part,
        }
    }
}

/// The used sparks by time.
#[derive(Debug, Clone)]
pub(super) struct Blocks {
    length: u64,
    start: Option<Instant>,
    blocks: Vec<Block, BLOCKS>,
}

impl Blocks {
    pub(super) fn new(rate: TickRate) -> Self {
        Self { length: rate.ticks_in_ms(600), start: None, blocks: Vec::new() }
    }

    pub(super) fn add(&mut self, at: Instant, offset: f32, rpm: f32) {
        let start = *self.start.get_or_insert(at);
        let elapsed = at.since(start);
        while elapsed >= self.length.saturating_mul(BLOCKS as u64) {
            self.join_pairs();
        }
        // The division happens once a spark, not once an edge.
        let index = (elapsed / self.length.max(1)) as usize;
        while self.blocks.len() <= index {
            if self.blocks.push(Block::default()).is_err() {
                return;
            }
        }
        if let Some(block) = self.blocks.get_mut(index) {
            block.add(offset, rpm);
        }
    }

    fn join_pairs(&mut self) {
        let mut joined: Vec<Block, BLOCKS> = Vec::new();
        for pair in self.blocks.chunks(2) {
            let block = pair.iter().copied().fold(Block::default(), Block::joined);
            let _ = joined.push(block);
        }
        self.blocks = joined;
        self.length = self.length.saturating_mul(2);
    }

    /// Degrees by which the setting was moved; `None` where it was not. `per_rpm`: by how much the advance
    /// follows the wander of idle's speed.
    pub(super) fn moved_by(&self, per_rpm: Option<f32>) -> Option<f32> {
        let raw = moved(&self.full(0.0))?;
        // What the speed explains is no move.
        let [least, most] = FOLLOWS_SPEED;
        let followed = per_rpm.unwrap_or(0.0).clamp(least / 1000.0, most / 1000.0);
        moved(&self.full(followed)).map(|_| raw)
    }

    /// The blocks that are worth comparing, less what the speed explains.
    fn full(&self, per_rpm: f32) -> Vec<Block, BLOCKS> {
        let mut full: Vec<Block, BLOCKS> =
            gather(self.blocks.iter().copied().filter(|block| block.count >= LEAST_SPARKS));
        let middle = full.first().map_or(0.0, |block| block.rpm);
        full.iter_mut().for_each(|block| block.offset -= per_rpm * (block.rpm - middle));
        full
    }
}

fn moved(full: &[Block]) -> Option<f32> {
    if full.len() < 2 * LEAST_BLOCKS {
        return None;
    }
    let mut steps: Vec<f32, BLOCKS> = Vec::new();
    for pair in full.windows(2) {
        if let [before, after] = pair {
            let _ = steps.push(size(after.offset - before.offset));
        }
    }
    let between = median(&mut steps)? * DEVIATION_SCALE / 1.41;
    let mut within: Vec<f32, BLOCKS> = gather(full.iter().map(Block::doubt));
    let scatter = between.max(median(&mut within)?);
    let (mut widest, mut place) = (0.0f32, 0);
    for split in LEAST_BLOCKS..=full.len().saturating_sub(LEAST_BLOCKS) {
        let Some((before, after)) = full.split_at_checked(split) else { break };
        if let (Some(early), Some(late)) = (level(before), level(after)) {
            let step = late - early;
            if size(step) > size(widest) {
                (widest, place) = (step, split);
            }
        }
    }
    let (before, after) = full.split_at_checked(place)?;
    let about = scatter_about_level(before, after)?;
    let clear = LEAST_MOVE.max(CLEAR_MOVE * scatter).max(CLEAR_OF_LEVEL * about);
    (size(widest) > clear).then_some(widest)
}

/// Scatter of the blocks about the level of their own side, on the steadier side: slow wander shows here, not
/// between neighbours. A setting that is moved twice, or slowly, leaves one side unsteady, not both.
fn scatter_about_level(before: &[Block], after: &[Block]) -> Option<f32> {
    let of_side = |side: &[Block]| {
        let level = level(side)?;
        let mut away: Vec<f32, BLOCKS> = gather(side.iter().map(|block| size(block.offset - level)));
        Some(median(&mut away)? * DEVIATION_SCALE)
    };
    Some(of_side(before)?.min(of_side(after)?))
}

fn level(blocks: &[Block]) -> Option<f32> {
    let mut offsets: Vec<f32, BLOCKS> = gather(blocks.iter().map(|block| block.offset));
    median(&mut offsets)
}

fn size(x: f32) -> f32 {
    if x < 0.0 { -x } else { x }
}
