//! What a perfect instrument would read: the truth of a capture, kept beside it.
//!
//! *Steady idle*: the mean speed over the two turns around the spark (one on a two-stroke) lies inside
//! the job's idle band, and the speed is not climbing or falling as in a blip: the mean speeds of the
//! turns before and after the spark, two each (one on a two-stroke), differ by less than
//! [`BLIP_RPM_PER_SECOND`] times the time between them.

use super::sink::{CylinderWork, Sink, TrueSpark};
use keyway_core::edges::{Channel, Level};

/// Speed that climbs or falls faster than this is a blip's, rpm/s. Wander at idle stays well below.
pub const BLIP_RPM_PER_SECOND: f64 = 250.0;

/// Keeps everything that an engine tells, from a moment on.
#[derive(Debug, Clone)]
pub struct Record {
    /// Moment of the engine that counts as 0 of the capture, ns.
    pub start: u64,
    /// Length of the capture, ns; 0 while it is open.
    pub length: u64,
    /// Levels of the two signals before the first change.
    pub first_levels: [(Channel, Level); 2],
    /// Level changes, ns of the capture.
    pub levels: Vec<(u64, Channel, Level)>,
    /// Supply samples, ns of the capture and volts.
    pub supply: Vec<(u64, f64)>,
    /// Sparks that the clamp showed.
    pub sparks: Vec<TrueSpark>,
    /// Crank angle by time, ns of the capture and running degrees.
    pub crank: Vec<(u64, f64)>,
    /// Work of the cylinders.
    pub works: Vec<CylinderWork>,
}

impl Record {
    /// A record that starts at this moment of the engine, s.
    pub fn from(seconds: f64) -> Self {
        Self {
            start: super::nanoseconds(seconds),
            length: 0,
            first_levels: [(Channel::Crank, Level::Low), (Channel::Spark, Level::Low)],
            levels: Vec::new(),
            supply: Vec::new(),
            sparks: Vec::new(),
            crank: Vec::new(),
            works: Vec::new(),
        }
    }

    /// Ends the capture after so many seconds: what the last step told beyond is dropped.
    pub fn close(&mut self, seconds: f64) {
        let end = super::nanoseconds(seconds);
        self.length = end;
        self.levels.retain(|level| level.0 <= end);
        self.supply.retain(|sample| sample.0 <= end);
        self.sparks.retain(|spark| spark.at <= end);
        self.crank.retain(|point| point.0 <= end);
        self.works.retain(|work| work.at <= end);
    }

    fn time_at(&self, angle: f64) -> Option<f64> {
        let after = self.crank.partition_point(|point| point.1 < angle);
        let (late, right) = *self.crank.get(after)?;
        let (early, left) = *self.crank.get(after.checked_sub(1)?)?;
        if right <= left {
            return None;
        }
        let part = (angle - left) / (right - left);
        Some((early as f64 + part * (late as f64 - early as f64)) * 1e-9)
    }

    /// Mean speed between two running angles, rpm; `None` outside the record.
    pub fn mean_rpm(&self, from: f64, to: f64) -> Option<f64> {
        let seconds = self.time_at(to)? - self.time_at(from)?;
        (seconds > 0.0).then(|| (to - from) / 6.0 / seconds)
    }

    /// The advance of every spark of steady idle on `lead`, degrees, in the order of time.
    pub fn idle_advances(&self, idle_rpm: [f32; 2], turns_per_cycle: f64, lead: u8) -> Vec<f64> {
        let [low, high] = idle_rpm.map(f64::from);
        let half = 180.0 * turns_per_cycle;
        let steady = |spark: &TrueSpark| -> Option<bool> {
            let angle = spark.angle;
            let around = self.mean_rpm(angle - half, angle + half)?;
            let before = self.mean_rpm(angle - 2.0 * half, angle)?;
            let after = self.mean_rpm(angle, angle + 2.0 * half)?;
            let seconds = 2.0 * half / (6.0 * around);
            let slope = (after - before) / seconds;
            Some(around >= low && around <= high && slope.abs() < BLIP_RPM_PER_SECOND)
        };
        self.sparks
            .iter()
            .filter(|spark| spark.cylinder == lead && steady(spark) == Some(true))
            .map(|spark| spark.advance)
            .collect()
    }
}

/// The median of angles in degrees, in (-180, 180], taken around their mean direction; `None` of none.
pub fn centre(angles: &[f64]) -> Option<f64> {
    let (sine, cosine) = angles.iter().fold((0.0, 0.0), |(sine, cosine), angle| {
        let (s, c) = angle.to_radians().sin_cos();
        (sine + s, cosine + c)
    });
    let mean = f64::atan2(sine, cosine).to_degrees();
    let mut around: Vec<f64> =
        angles.iter().map(|angle| 180.0 - (180.0 - (angle - mean)).rem_euclid(360.0)).collect();
    around.sort_by(f64::total_cmp);
    let upper = *around.get(around.len() / 2)?;
    let lower = *around.get((around.len() - 1) / 2)?;
    let median = mean + 0.5 * (lower + upper);
    Some(180.0 - (180.0 - median).rem_euclid(360.0))
}

impl Sink for Record {
    fn level(&mut self, channel: Channel, level: Level, at: u64) {
        if at >= self.start {
            self.levels.push((at - self.start, channel, level));
        }
    }

    fn supply(&mut self, volts: f64, at: u64) {
        if at >= self.start {
            self.supply.push((at - self.start, volts));
        }
    }

    fn spark(&mut self, spark: TrueSpark) {
        if spark.at >= self.start {
            self.sparks.push(TrueSpark { at: spark.at - self.start, ..spark });
        }
    }

    fn crank(&mut self, angle: f64, at: u64) {
        if at >= self.start {
            self.crank.push((at - self.start, angle));
        }
    }

    fn work(&mut self, work: CylinderWork) {
        if work.at >= self.start {
            self.works.push(CylinderWork { at: work.at - self.start, ..work });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_centre_holds_across_the_wrap() {
        let near = |found: Option<f64>, expected: f64| (found.unwrap_or(f64::NAN) - expected).abs() < 1e-9;
        assert!(near(centre(&[179.0, -179.0, -178.0]), -179.0));
        assert!(near(centre(&[9.0, 10.0, 12.0, 11.0]), 10.5));
        assert_eq!(centre(&[]), None);
    }
}
