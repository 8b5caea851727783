//! A straight line that a minority of wild points does not move: advance against speed.
//!
//! *Reweighting* (Huber): a point more than 1.345 scatters off the line counts only as much as one just
//! that far off. *Scatter*: the scaled median absolute deviation of the points from the line.
//!
//! It starts from a line that wild points can't pull: each point of the lower half in x is paired with
//! one of the upper half, and the median of those slopes taken (Theil's incomplete method; it stands up
//! to a quarter of the points being wild). Its standard uncertainty is Huber's: what the points let
//! through by the weights scatter, over how many of them still count in full.

use super::functions::square_root;
use super::line::Line;
use super::median::{DEVIATION_SCALE, median};
use heapless::Vec;

/// Most points of a robust line.
pub const MOST_POINTS: usize = 64;
/// Scatters from the line up to which a point counts in full: 95 % efficient on normal scatter (Huber).
const FULL: f32 = 1.345;
/// Rounds of reweighting: the change of the last is below a thousandth of the uncertainty.
const ROUNDS: usize = 12;

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
/// points spread over a tenth of their x. `None` below four points, above the most, where a point is not
/// finite or of no weight, or where no two halves of the points differ in x.
pub fn robust_line(points: &[Point]) -> Option<Line> {
    let usable = |point: &Point| {
        point.x.is_finite() && point.y.is_finite() && point.weight.is_finite() && point.weight > 0.0
    };
    if points.len() < 4 || !points.iter().all(usable) {
        return None;
    }
    let mut sorted: Vec<Point, MOST_POINTS> = Vec::from_slice(points).ok()?;
    sorted.sort_unstable_by(|a, b| a.x.total_cmp(&b.x));
    // About the middle, so that 32 bits hold the differences.
    let (x0, y0) = sorted.get(sorted.len() / 2).map(|point| (point.x, point.y))?;
    sorted.iter_mut().for_each(|point| {
        point.x -= x0;
        point.y -= y0;
    });
    let mut trial = first_trial(&sorted)?;
    let mut scatter = scatter_about(&sorted, trial)?;
    for _ in 0..ROUNDS {
        trial = reweighted(&sorted, trial, scatter)?.trial;
        scatter = scatter_about(&sorted, trial)?;
    }
    let last = reweighted(&sorted, trial, scatter)?;
    let variance = huber_variance(&sorted, trial, scatter)?;
    Some(Line {
        mean_x: f64::from(x0) + f64::from(last.mean_x),
        height: f64::from(y0) + f64::from(trial.height + trial.slope * last.mean_x),
        slope: f64::from(trial.slope),
        height_uncertainty: f64::from(square_root(variance / last.full_weight)),
        slope_uncertainty: f64::from(square_root(variance / last.full_xx)),
        residual: f64::from(scatter),
        freedom: sorted.len() as f64 - 2.0,
    })
}

/// A line y = height + slope · x.
#[derive(Clone, Copy)]
struct Trial {
    height: f32,
    slope: f32,
}

impl Trial {
    /// How far off the line a point is, as if it were of weight one.
    fn residual(self, point: &Point) -> f32 {
        (point.y - self.height - self.slope * point.x) * square_root(point.weight)
    }
}

struct Round {
    trial: Trial,
    mean_x: f32,
    full_weight: f32,
    full_xx: f32,
}

fn first_trial(sorted: &[Point]) -> Option<Trial> {
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
fn scatter_about(sorted: &[Point], trial: Trial) -> Option<f32> {
    let mut residuals: Vec<f32, MOST_POINTS> = Vec::new();
    for point in sorted {
        residuals.push(trial.residual(point).abs()).ok()?;
    }
    let count = residuals.len() as f32;
    Some(median(&mut residuals)? * DEVIATION_SCALE * square_root(count / (count - 2.0)))
}

/// One round: the weighted line of least squares with wild points held down.
fn reweighted(sorted: &[Point], trial: Trial, scatter: f32) -> Option<Round> {
    let limit = FULL * scatter;
    let held = |point: &Point| {
        let off = trial.residual(point).abs();
        if off <= limit { point.weight } else { point.weight * limit / off }
    };
    let (mut weight, mut x, mut y) = (0.0f32, 0.0f32, 0.0f32);
    let (mut full_weight, mut full_x) = (0.0f32, 0.0f32);
    for point in sorted {
        let share = held(point);
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
    for point in sorted {
        let share = held(point);
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

/// Huber's variance of a reading of weight one, as it acts on the line (*Robust Statistics*, 1981, 7.6).
fn huber_variance(sorted: &[Point], trial: Trial, scatter: f32) -> Option<f32> {
    let count = sorted.len() as f32;
    let limit = FULL * scatter;
    let (mut squares, mut full) = (0.0f32, 0.0f32);
    for point in sorted {
        let off = trial.residual(point).abs();
        let kept = off.min(limit);
        squares += kept * kept;
        full += if off <= limit { 1.0 } else { 0.0 };
    }
    if full <= 0.0 {
        return None;
    }
    let share = full / count;
    let correction = 1.0 + 2.0 / count * (1.0 - share) / share;
    Some(correction * correction * squares / (count - 2.0) / (share * share))
}
