//! The advance against speed as a dozen points, for the sweep and the curves.

use super::facts::POINTS;
use crate::statistics::median::median;
use heapless::Vec;

#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Bin {
    count: u16,
    rpm: f32,
    offset: f32,
}

/// Means by speed, a dozen bins from idle to the speed to reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bins {
    low: f32,
    width: f32,
    first: Option<f32>,
    bins: [Bin; POINTS],
}

impl Bins {
    /// From `low` to `reach` rpm.
    pub fn new(low: f32, reach: f32) -> Self {
        let width = ((reach - low) / POINTS as f32).max(10.0);
        Self { low, width, first: None, bins: [Bin::default(); POINTS] }
    }

    /// A spark at this speed and advance.
    pub fn add(&mut self, rpm: f32, advance: f32) {
        let first = *self.first.get_or_insert(advance);
        let place = (rpm - self.low) / self.width;
        if place < 0.0 {
            return;
        }
        if let Some(bin) = self.bins.get_mut(place as usize)
            && bin.count < u16::MAX
        {
            bin.count += 1;
            let share = 1.0 / f32::from(bin.count);
            bin.rpm += (rpm - bin.rpm) * share;
            bin.offset += (crate::units::wrap_degrees(advance - first) - bin.offset) * share;
        }
    }

    /// Bins with three sparks or more, as rpm and hundredths of a degree.
    pub fn points(&self) -> Vec<(u16, i16), POINTS> {
        let mut points = Vec::new();
        for bin in self.bins.iter().filter(|bin| bin.count >= 3) {
            let advance = (self.first.unwrap_or(0.0) + bin.offset) * 100.0;
            let _ = points.push((bin.rpm as u16, advance as i16));
        }
        points
    }

    /// A line of this slope, degrees per 1000 rpm, through the middle of the points: its value at standstill,
    /// and the slope; `None` below two points.
    pub fn line(&self, slope: f32) -> Option<(f32, f32)> {
        let points = self.points();
        let mut starts: Vec<f32, POINTS> = Vec::new();
        for (rpm, hundredths) in &points {
            let _ = starts.push(f32::from(*hundredths) / 100.0 - slope * f32::from(*rpm) / 1000.0);
        }
        let middle = median(&mut starts).filter(|_| points.len() > 1)?;
        Some((middle, slope))
    }

    /// Degrees from the lowest point to the highest speed's, and the span of speeds; `None` below two points.
    pub fn rise(&self) -> Option<(f32, f32)> {
        let points = self.points();
        let (first, last) = (points.first()?, points.last()?);
        let span = f32::from(last.0) - f32::from(first.0);
        (points.len() > 1).then(|| ((f32::from(last.1) - f32::from(first.1)) / 100.0, span))
    }
}
