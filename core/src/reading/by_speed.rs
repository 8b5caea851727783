//! How the advance goes with speed: sums in bins of speed, and the robust line through them.
//!
//! A bin is a twelfth of the idle band's upper end wide, so that 64 of them reach from rest to more than
//! five times idle. The engine's way up and its way down are summed apart: a worn drive answers them
//! differently. A fixed delay of d µs takes 6·10⁻⁶·rpm·d degrees, so the slope tells it.

use super::result::SpeedTrend;
use crate::sparks::PlacedSpark;
use crate::statistics::robust_line::{MOST_POINTS, Point, robust_line};
use crate::units::Advance;
use heapless::Vec;

/// The least span of speeds that a trend is claimed from, rpm.
const LEAST_SPAN: f32 = 300.0;

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
}

impl BySpeed {
    pub(super) fn new(idle: [f32; 2]) -> Self {
        Self {
            width: (idle[1] / 12.0).max(10.0),
            reference: None,
            rising: [Bin::default(); MOST_POINTS],
            falling: [Bin::default(); MOST_POINTS],
            low: f32::INFINITY,
            high: 0.0,
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
        let bins = if spark.climb >= 0.0 { &mut self.rising } else { &mut self.falling };
        if let Some(bin) = bins.get_mut((spark.rpm / self.width) as usize) {
            bin.add(spark.rpm, offset);
        }
    }

    /// The line through the bins; `None` unless the speeds span 300 rpm or more.
    pub(super) fn trend(&self) -> Option<SpeedTrend> {
        if self.high - self.low < LEAST_SPAN {
            return None;
        }
        let mut points: Vec<Point, MOST_POINTS> = Vec::new();
        for (up, down) in self.rising.iter().zip(&self.falling) {
            let count = f32::from(up.count) + f32::from(down.count);
            if count > 0.0 {
                let mean = |a: f32, b: f32| (a * f32::from(up.count) + b * f32::from(down.count)) / count;
                // A crowded bin is no surer than its wander allows.
                let weight = count.min(12.0);
                let _ =
                    points.push(Point { x: mean(up.rpm, down.rpm), y: mean(up.offset, down.offset), weight });
            }
        }
        let line = robust_line(&points)?;
        let deg_per_1000rpm = (line.slope * 1000.0) as f32;
        Some(SpeedTrend {
            deg_per_1000rpm,
            slope_uncertainty: (line.slope_uncertainty * 1000.0) as f32,
            delay_us: -deg_per_1000rpm * (1000.0 / 6.0),
            rpm_low: self.low,
            rpm_high: self.high,
        })
    }
}
