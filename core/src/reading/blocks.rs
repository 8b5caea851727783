//! Whether the setting was moved while it was being read.
//!
//! *Block*: the used sparks of a stretch of time, as means. Blocks begin 0.6 seconds long and are joined
//! in pairs when there are too many, so a capture of any length fits.
//!
//! A moved distributor leaves two levels, each as steady as the engine is, farther apart than blocks in a
//! row ever are and farther than blocks of a level are from it. Wander, steering and worn drives leave blocks
//! that differ from their neighbours, or from others of their level, as much as from any other.

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
/// Blocks of a side that tell by themselves what neighbours differ by.
const ENOUGH_ALONE: usize = 4;
/// Levels nearer to each other than this are not called a move, degrees.
const LEAST_MOVE: f32 = 1.0;
/// Levels must differ by so many scatters: of neighbouring blocks, of those of a level, or of single sparks.
const CLEAR_MOVE: f32 = 5.0;
const CLEAR_OF_SPARKS: f32 = 4.0;
/// Sparks at the end that are enough to tell a move from, and how clear it must be then: degrees, scatters of what was
/// before, and standard deviations of those sparks. Of 800 healthy engines whose throttle was opened none came back
/// farther than 1.0° from where it was.
const FEWEST_AT_END: u16 = 3;
const FAR_AT_END: f32 = 2.5;
const CLEAR_AT_END: f32 = 12.0;
const CLEAR_OF_THE_END: f32 = 6.0;
/// Speeds of blocks that differ by so much in all tell how the advance follows the speed, rpm.
const LEAST_SPEEDS: f32 = 15.0;
/// A block farther from its level than so many scatters, and never taken for less than this in degrees, is spoilt.
const SPOILT: f32 = 3.0;
const LEAST_ABOUT: f32 = 0.1;

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

    /// Standard deviation of the offsets.
    fn deviation(&self) -> f32 {
        square_root(self.squares / (f32::from(self.count) - 1.0).max(1.0))
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

    /// Degrees by which the setting was moved; `None` where it was not.
    pub(super) fn moved_by(&self) -> Option<f32> {
        self.between_levels().or_else(|| self.to_the_end())
    }

    /// The same for a setting that was moved so late, or while the speed was up for so long, that a few sparks are all
    /// there is of what it was moved to: they must lie far from what was before, and near to each other.
    fn to_the_end(&self) -> Option<f32> {
        let (mut end, mut before) = (Block::default(), self.blocks.as_slice());
        while let ([earlier @ .., last], true) = (before, end.count < FEWEST_AT_END) {
            end = last.joined(end);
            before = earlier;
        }
        let full = worth_comparing(before);
        let about = about_level(&full).filter(|_| full.len() >= LEAST_BLOCKS)?;
        let step = end.offset - level(&full)? - slope(&full, about) * (end.rpm - mean_rpm(&full));
        let clear = (CLEAR_AT_END * about.max(within(&full)?)).max(CLEAR_OF_THE_END * end.deviation());
        (size(step) > FAR_AT_END.max(clear)).then_some(step)
    }

    fn between_levels(&self) -> Option<f32> {
        let full = worth_comparing(&self.blocks);
        if full.len() < 2 * LEAST_BLOCKS {
            return None;
        }
        let within = within(&full)?;
        let mut widest = (0.0f32, 0);
        for split in LEAST_BLOCKS..=full.len().saturating_sub(LEAST_BLOCKS) {
            let Some((before, after)) = full.split_at_checked(split) else { break };
            if let (Some(early), Some(late)) = (level(before), level(after))
                && size(late - early) > size(widest.0)
            {
                widest = (late - early, split);
            }
        }
        let (before, after) = full.split_at_checked(widest.1)?;
        // A setting that is moved twice, or slowly, leaves one side unsteady, not both.
        let (steadier, about) = match (about_level(before)?, about_level(after)?) {
            (early, late) if early <= late => (before, early),
            (_, late) => (after, late),
        };
        // While a hand turns, blocks in a row differ: what they do when left alone tells the side that is.
        let alone = if steadier.len() >= ENOUGH_ALONE { steadier } else { &full };
        let between = between_neighbours(alone)?;
        let step = widest.0 - slope(steadier, about) * (mean_rpm(after) - mean_rpm(before));
        let clear = (CLEAR_MOVE * between.max(about)).max(CLEAR_OF_SPARKS * within);
        (size(step) > LEAST_MOVE.max(clear)).then_some(step)
    }
}

fn worth_comparing(blocks: &[Block]) -> Vec<Block, BLOCKS> {
    gather(blocks.iter().copied().filter(|block| block.count >= LEAST_SPARKS))
}

/// Scatter of single sparks within blocks.
fn within(blocks: &[Block]) -> Option<f32> {
    let mut within: Vec<f32, BLOCKS> = gather(blocks.iter().map(Block::deviation));
    median(&mut within)
}

/// Scatter of a block by what it differs from the one before.
fn between_neighbours(blocks: &[Block]) -> Option<f32> {
    let mut steps: Vec<f32, BLOCKS> = Vec::new();
    for pair in blocks.windows(2) {
        if let [before, after] = pair {
            let _ = steps.push(size(after.offset - before.offset));
        }
    }
    Some(median(&mut steps)? * DEVIATION_SCALE / 1.41)
}

/// Scatter of a side's blocks about its level: slow wander shows here, not between neighbours.
fn about_level(blocks: &[Block]) -> Option<f32> {
    let level = level(blocks)?;
    let mut away: Vec<f32, BLOCKS> = gather(blocks.iter().map(|block| size(block.offset - level)));
    Some(median(&mut away)? * DEVIATION_SCALE)
}

/// How the offset follows the speed within these blocks, degrees per rpm: drawn to nothing where the speed
/// hardly differs. `about`: their scatter about their level.
fn slope(blocks: &[Block], about: f32) -> f32 {
    let Some(level) = level(blocks) else { return 0.0 };
    // A block that one wild spark has spoilt must not tilt the line.
    let reach = SPOILT * about.max(LEAST_ABOUT);
    let mean = mean_rpm(blocks);
    let (mut squares, mut products) = (LEAST_SPEEDS * LEAST_SPEEDS, 0.0);
    for block in blocks {
        let speed = block.rpm - mean;
        squares += speed * speed;
        products += speed * (block.offset - level).clamp(-reach, reach);
    }
    products / squares
}

fn mean_rpm(blocks: &[Block]) -> f32 {
    blocks.iter().map(|block| block.rpm).sum::<f32>() / blocks.len().max(1) as f32
}

fn level(blocks: &[Block]) -> Option<f32> {
    let mut offsets: Vec<f32, BLOCKS> = gather(blocks.iter().map(|block| block.offset));
    median(&mut offsets)
}

fn size(x: f32) -> f32 {
    if x < 0.0 { -x } else { x }
}
