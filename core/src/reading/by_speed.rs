//! How the advance goes with speed: sums in bins of speed, and the robust line through them.
//!
//! A bin is a twelfth of the idle band's upper end wide, so that 64 of them reach from rest to more than
//! five times idle. The engine's way up and its way down are summed apart: a worn drive answers them
//! differently. A fixed delay of d µs takes 6·10⁻⁶·rpm·d degrees, so the slope tells it.

use super::result::SpeedTrend;
use crate::sparks::PlacedSpark;
use crate::statistics::functions::square_root;
use crate::statistics::line::LineSums;
use crate::statistics::robust_line::{MOST_POINTS, Point, robust_line};
use crate::units::Advance;
use heapless::Vec;

/// The least span of speeds that a trend is claimed from, rpm.
const LEAST_SPAN: f32 = 300.0;

/// Bins that a slope over the highest speeds is told from.
const FEWEST_AT_TOP: usize = 3;
/// What else may move the advance from one end of the highest speeds to the other, degrees.
const TOP_DOUBT: f32 = 0.3;

#[derive(Debug, Clone, Copy, Default)]
struct Bin {
    count: u16,
    rpm: f32,
    offset: f32,
}

impl Bin {
    fn add(&mut self, rpm: f32, offset: f32) {
        if self.count == u16::MAX {
            return;
        }
        self.count += 1;
        let share = 1.0 / f32::from(self.count);
        self.rpm += (rpm - self.rpm) * share;
        self.offset += (offset - self.offset) * share;
    }
}

/// Sums by speed.
#[derive(Debug, Clone)]
pub(super) struct BySpeed {
    width: f32,
    reference: Option<Advance>,
    rising: [Bin; MOST_POINTS],
    falling: [Bin; MOST_POINTS],
    low: f32,
    high: f32,
    idle_high: f32,
    /// Sparks just after the throttle opened.
    opening: LineSums,
}

/// The sparks just after the throttle opened.
#[derive(Debug, Clone, Copy)]
pub(super) struct Opening {
    /// Mean advance from the reference, degrees.
    pub(super) offset: f32,
    /// Standard deviation of one, degrees.
    pub(super) scatter: f32,
    /// How many.
    pub(super) count: f32,
}

/// A throttle that opens makes the speed climb by more than this part from one turn to the next but one.
const OPENING_CLIMB: f32 = 0.07;
/// Only up to so many times the upper end of idle: farther up weights and maps have their say.
const OPENING_SPEED: f32 = 1.6;

impl BySpeed {
    pub(super) fn new(idle: [f32; 2]) -> Self {
        Self {
            width: (idle[1] / 12.0).max(10.0),
            reference: None,
            rising: [Bin::default(); MOST_POINTS],
            falling: [Bin::default(); MOST_POINTS],
            low: f32::INFINITY,
            high: 0.0,
            idle_high: idle[1],
            opening: LineSums::new(),
        }
    }

    /// Degrees from the first spark.
    pub(super) fn offset(&mut self, advance: Advance) -> f32 {
        let reference = *self.reference.get_or_insert(advance);
        advance.minus(reference).degrees()
    }

    /// The first spark's advance, which all offsets are taken from.
    pub(super) fn reference(&self) -> Option<Advance> {
        self.reference
    }

    pub(super) fn add(&mut self, spark: &PlacedSpark) {
        let offset = self.offset(spark.advance());
        self.low = self.low.min(spark.rpm);
        self.high = self.high.max(spark.rpm);
        if spark.climb > OPENING_CLIMB && spark.rpm < OPENING_SPEED * self.idle_high {
            self.opening.add(0.0, offset);
        }
        let bins = if spark.climb >= 0.0 { &mut self.rising } else { &mut self.falling };
        if let Some(bin) = bins.get_mut((spark.rpm / self.width) as usize) {
            bin.add(spark.rpm, offset);
        }
    }

    /// The sparks just after the throttle opened; `None` below two: one alone may be a disturbance's.
    pub(super) fn opening(&self) -> Option<Opening> {
        let (offset, scatter) = self.opening.spread_of_y()?;
        Some(Opening { offset, scatter, count: self.opening.count() as f32 })
    }

    /// Advance on the way up minus on the way down at the same speeds above `from` rpm: the mean over the
    /// speeds of the way down, the way up drawn straight from bin to bin; and its standard uncertainty.
    /// `None` below three such speeds.
    pub(super) fn up_minus_down(&self, from: f32) -> Option<(f32, f32)> {
        let mut sums = LineSums::new();
        for down in self.falling.iter().filter(|down| down.count > 0 && down.rpm > from) {
            if let Some(up) = self.way_up_at(down.rpm) {
                sums.add(0.0, up - down.offset);
            }
        }
        let count = sums.count();
        if count < 3 {
            return None;
        }
        let (mean, deviation) = sums.spread_of_y()?;
        // Few bins may agree by chance.
        let doubt = (deviation / square_root(count as f32)).max(0.1);
        Some((mean, doubt))
    }

    /// The way up at a speed, between the nearest bins seen on either side of it.
    fn way_up_at(&self, rpm: f32) -> Option<f32> {
        let seen = |up: &&Bin| up.count > 0;
        let below = self.rising.iter().rev().filter(seen).find(|up| up.rpm <= rpm)?;
        let above = self.rising.iter().filter(seen).find(|up| up.rpm > rpm)?;
        let part = (rpm - below.rpm) / (above.rpm - below.rpm);
        Some(below.offset + (above.offset - below.offset) * part)
    }

    /// The speed most sparks came at, rpm; 0 before any.
    pub(super) fn usual_rpm(&self) -> f32 {
        let bins = self.rising.iter().zip(&self.falling);
        let fullest = bins.max_by_key(|(up, down)| u32::from(up.count) + u32::from(down.count));
        fullest.map_or(0.0, |(up, down)| if up.count > down.count { up.rpm } else { down.rpm })
    }

    /// The bins of both ways, as points between two speeds.
    fn points(&self, from: f32, to: f32) -> Vec<Point, MOST_POINTS> {
        let mut points = Vec::new();
        for (up, down) in self.rising.iter().zip(&self.falling) {
            let count = f32::from(up.count) + f32::from(down.count);
            let mean = |a: f32, b: f32| (a * f32::from(up.count) + b * f32::from(down.count)) / count;
            if count > 0.0 && (from..=to).contains(&mean(up.rpm, down.rpm)) {
                // A crowded bin is no surer than its wander allows.
                let weight = count.min(12.0);
                let _ =
                    points.push(Point { x: mean(up.rpm, down.rpm), y: mean(up.offset, down.offset), weight });
            }
        }
        points
    }

    /// The lowest and the highest speed seen, as far as they are to be looked at.
    pub(super) fn span(&self, [from, to]: [f32; 2]) -> [f32; 2] {
        [self.low.max(from), self.high.min(to)]
    }

    /// By how much the line is steeper over the upper half of the speeds than over the lower, degrees per
    /// 1000 rpm, and its standard uncertainty. A fixed time makes a straight line, weights and maps do not.
    pub(super) fn bend(&self, [low, high]: [f32; 2]) -> Option<(f32, f32)> {
        if high - low < 2.0 * LEAST_SPAN {
            return None;
        }
        let middle = (high + low) / 2.0;
        let lower = robust_line(&self.points(low, middle))?;
        let upper = robust_line(&self.points(middle, high))?;
        let squares = lower.slope_uncertainty * lower.slope_uncertainty
            + upper.slope_uncertainty * upper.slope_uncertainty;
        let bend = (upper.slope - lower.slope) * 1000.0;
        Some((bend, square_root(squares) * 1000.0))
    }

    /// The slope over the highest speeds, degrees per 1000 rpm, and its standard uncertainty: over the highest
    /// quarter or sixth of them, whichever is surely flatter. What a fixed time makes goes on to the highest
    /// speed; weights come to their stop and maps level off.
    pub(super) fn top_slope(&self, [low, high]: [f32; 2]) -> Option<(f32, f32)> {
        let span = high - low;
        if span < 2.0 * LEAST_SPAN {
            return None;
        }
        let over = |part: f32| {
            let points = self.points(high - span * part, high);
            if points.len() < FEWEST_AT_TOP {
                return None;
            }
            let line = robust_line(&points)?;
            let own = TOP_DOUBT / (span * part);
            let squares = line.slope_uncertainty * line.slope_uncertainty + own * own;
            Some((line.slope * 1000.0, square_root(squares) * 1000.0))
        };
        let flatter = |one: (f32, f32), other: (f32, f32)| {
            if other.0 + other.1 < one.0 + one.1 { other } else { one }
        };
        match (over(1.0 / 4.0), over(1.0 / 6.0)) {
            (Some(quarter), Some(sixth)) => Some(flatter(quarter, sixth)),
            (one, other) => one.or(other),
        }
    }

    /// The line through the bins; `None` unless the speeds span 300 rpm or more.
    pub(super) fn trend(&self, [rpm_low, rpm_high]: [f32; 2]) -> Option<SpeedTrend> {
        if rpm_high - rpm_low < LEAST_SPAN {
            return None;
        }
        let points = self.points(rpm_low, rpm_high);
        let line = robust_line(&points)?;
        let deg_per_1000rpm = line.slope * 1000.0;
        Some(SpeedTrend {
            deg_per_1000rpm,
            slope_uncertainty: line.slope_uncertainty * 1000.0,
            delay_us: -deg_per_1000rpm * (1000.0 / 6.0),
            rpm_low,
            rpm_high,
        })
    }
}
