//! A straight line that a minority of wild points does not move: advance against speed.
//!
//! *Reweighting*: a line of least squares, again and again, in which a point counts the less the farther it
//! lies off the line before. *Scatter*: the scaled median absolute deviation of the points from the line.
//!
//! It starts from a line that wild points can't pull: each point of the lower half in x is paired with
//! one of the upper half, and the median of those slopes taken (Theil's incomplete method; it stands up
//! to a quarter of the points being wild). A few rounds with Huber's weights, which always find one
//! answer, lead to Tukey's, which count a point beyond 4.685 scatters not at all: wild points that all lie
//! on one side would else lift the line. Both limits are those that keep 95 % of the sharpness on normal
//! scatter. The standard uncertainty is Huber's: what the weights let through of the points' scatter, over
//! how much a point still moves the line.

use super::functions::square_root;
use super::line::Line;
use super::median::{DEVIATION_SCALE, median};
use super::sort::sort_by;
use crate::fixed::gather;
use heapless::Vec;

/// Most points of a robust line.
pub const MOST_POINTS: usize = 64;
/// Rounds with Huber's weights.
const LEADING_ROUNDS: usize = 6;
/// Rounds with Tukey's, on a scatter that stays.
const FINAL_ROUNDS: usize = 10;

/// How a point counts that lies `off` scatters off the line.
#[derive(Clone, Copy)]
enum Weights {
    /// In full up to 1.345, then as if it lay there.
    Huber,
    /// Ever less, and not at all from 4.685.
    Tukey,
}

impl Weights {
    fn share(self, off: f32) -> f32 {
        match self {
            Self::Huber if off <= 1.345 => 1.0,
            Self::Huber => 1.345 / off,
            Self::Tukey => {
                let square = (off / 4.685) * (off / 4.685);
                if square < 1.0 { (1.0 - square) * (1.0 - square) } else { 0.0 }
            }
        }
    }
}

/// A point of a line, such as one bin of speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Across, for instance rpm.
    pub x: f32,
    /// Up, for instance degrees.
    pub y: f32,
    /// How many equal readings it stands for: its variance is one over this of the others'. Above zero.
    pub weight: f32,
}

/// The robust line through up to [`MOST_POINTS`] points, in 32 bits: five digits of the slope where the
/// points spread over a tenth of their x. The freedom is the number of points that still move the line,
/// less two. Over seeded blips of 8 to 64 bins, clean and with one bin in twenty wild, the 95 % interval held
/// the truth in 94.5 to 95.3 % (test `robust_line`). `None` below four points, above the most, where a point is not
/// finite or of no weight, or where no two halves of the points differ in x.
pub fn robust_line(points: &[Point]) -> Option<Line> {
    let usable = |point: &Point| {
        point.x.is_finite() && point.y.is_finite() && point.weight.is_finite() && point.weight > 0.0
    };
    if points.len() < 4 || !points.iter().all(usable) {
        return None;
    }
    let mut sorted: Vec<Point, MOST_POINTS> = Vec::from_slice(points).ok()?;
    sort_by(&mut sorted, |one, other| one.x < other.x);
    // About the middle, so that 32 bits hold the differences.
    let (x0, y0) = sorted.get(sorted.len() / 2).map(|point| (point.x, point.y))?;
    let sorted: Vec<Held, MOST_POINTS> = gather(sorted.iter().map(|point| Held {
        x: point.x - x0,
        y: point.y - y0,
        weight: point.weight,
        root: square_root(point.weight),
    }));
    let mut trial = first_trial(&sorted)?;
    let mut scatter = scatter_about(&sorted, trial)?;
    for _ in 0..LEADING_ROUNDS {
        trial = reweighted(&sorted, trial, scatter, Weights::Huber)?.trial;
        scatter = scatter_about(&sorted, trial)?;
    }
    for _ in 0..FINAL_ROUNDS {
        trial = reweighted(&sorted, trial, scatter, Weights::Tukey)?.trial;
    }
    let last = reweighted(&sorted, trial, scatter, Weights::Tukey)?;
    let (variance, moving) = variance_through_weights(&sorted, trial, scatter)?;
    let line = Line {
        mean_x: x0 + last.mean_x,
        height: y0 + trial.height + trial.slope * last.mean_x,
        slope: trial.slope,
        height_uncertainty: square_root(variance / last.full_weight),
        slope_uncertainty: square_root(variance / last.full_xx),
        residual: scatter,
        freedom: (moving - 2.0).max(1.0),
    };
    // Squares of huge numbers overflow 32 bits: then there is no line to speak of.
    let sound = line.slope.is_finite() && line.height.is_finite() && line.slope_uncertainty.is_finite();
    if sound { Some(line) } else { None }
}

/// A point about the middle, and the square root of its weight, which every round asks for.
#[derive(Clone, Copy)]
struct Held {
    x: f32,
    y: f32,
    weight: f32,
    root: f32,
}

/// A line y = height + slope · x.
#[derive(Clone, Copy)]
struct Trial {
    height: f32,
    slope: f32,
}

impl Trial {
    /// How far off the line a point is, as if it were of weight one.
    fn residual(self, point: &Held) -> f32 {
        (point.y - self.height - self.slope * point.x) * point.root
    }
}

struct Round {
    trial: Trial,
    mean_x: f32,
    full_weight: f32,
    full_xx: f32,
}

fn first_trial(sorted: &[Held]) -> Option<Trial> {
    let (lower, upper) = sorted.split_at_checked(sorted.len() / 2)?;
    let mut slopes: Vec<f32, MOST_POINTS> = Vec::new();
    for (one, other) in lower.iter().zip(upper) {
        if other.x > one.x {
            slopes.push((other.y - one.y) / (other.x - one.x)).ok()?;
        }
    }
    let slope = median(&mut slopes)?;
    let mut heights: Vec<f32, MOST_POINTS> = Vec::new();
    for point in sorted {
        heights.push(point.y - slope * point.x).ok()?;
    }
    Some(Trial { height: median(&mut heights)?, slope })
}

/// Scaled median absolute residual, widened for the two numbers fitted.
fn scatter_about(sorted: &[Held], trial: Trial) -> Option<f32> {
    let mut residuals: Vec<f32, MOST_POINTS> = Vec::new();
    for point in sorted {
        residuals.push(trial.residual(point).abs()).ok()?;
    }
    let count = residuals.len() as f32;
    Some(median(&mut residuals)? * DEVIATION_SCALE * square_root(count / (count - 2.0)))
}

/// One round: the weighted line of least squares with wild points held down.
fn reweighted(sorted: &[Held], trial: Trial, scatter: f32, weights: Weights) -> Option<Round> {
    let held = |point: &Held| point.weight * weights.share(off(trial, point, scatter));
    let shares: Vec<f32, MOST_POINTS> = gather(sorted.iter().map(held));
    let (mut weight, mut x, mut y) = (0.0f32, 0.0f32, 0.0f32);
    let (mut full_weight, mut full_x) = (0.0f32, 0.0f32);
    for (point, share) in sorted.iter().zip(&shares) {
        weight += share;
        x += share * point.x;
        y += share * point.y;
        full_weight += point.weight;
        full_x += point.weight * point.x;
    }
    if weight <= 0.0 {
        // No scatter at all, and every point off it: the trial stands.
        return None;
    }
    let (x, y, mean_x) = (x / weight, y / weight, full_x / full_weight);
    let (mut xx, mut xy, mut full_xx) = (0.0f32, 0.0f32, 0.0f32);
    for (point, share) in sorted.iter().zip(&shares) {
        xx += share * (point.x - x) * (point.x - x);
        xy += share * (point.x - x) * (point.y - y);
        full_xx += point.weight * (point.x - mean_x) * (point.x - mean_x);
    }
    if xx <= 0.0 {
        return None;
    }
    let slope = xy / xx;
    Some(Round { trial: Trial { height: y - slope * x, slope }, mean_x, full_weight, full_xx })
}

/// How many scatters off the line a point is; none where both are zero.
fn off(trial: Trial, point: &Held, scatter: f32) -> f32 {
    let residual = trial.residual(point).abs();
    if residual == 0.0 { 0.0 } else { residual / scatter }
}

/// Variance of a reading of weight one as it acts on the line through Tukey's weights (Huber, *Robust
/// Statistics*, 1981, section 7.6), and how many points still move it. `None` if hardly one does.
fn variance_through_weights(sorted: &[Held], trial: Trial, scatter: f32) -> Option<(f32, f32)> {
    let count = sorted.len() as f32;
    let (mut squares, mut moves, mut moves_squared) = (0.0f32, 0.0f32, 0.0f32);
    for point in sorted {
        let off = off(trial, point, scatter);
        let share = Weights::Tukey.share(off);
        let square = (off / 4.685) * (off / 4.685);
        // How much the point's pull grows as it moves.
        let moved = if square < 1.0 { (1.0 - square) * (1.0 - 5.0 * square) } else { 0.0 };
        if share > 0.0 {
            squares += (off * share) * (off * share);
        }
        moves += moved;
        moves_squared += moved * moved;
    }
    let mean = moves / count;
    if mean < 0.2 {
        return None;
    }
    let spread = moves_squared / count - mean * mean;
    let correction = 1.0 + 2.0 / count * spread / (mean * mean);
    let variance = scatter * scatter * correction * correction * squares / (count - 2.0) / (mean * mean);
    Some((variance, moves))
}
