//! What the input stages hold an edge back, from their simulated circuits: taken off at capture.
//!
//! *Slope*: of the crank lead's voltage at its zero crossing, V/s: 2π times amplitude times teeth a second. The
//! stage for variable reluctance is slower or quicker with it by 1.5 µs, 0.08° at 9000 rpm. The amplitude is the
//! converter's reading of the peak hold; above 1.5 V the stage clips, and a stronger signal is taken for that one.
//!
//! `hardware/circuits/run` writes the table and CI checks that it still is what the circuits give. An instrument
//! that was calibrated takes its own measured delays instead ([`Calibration`]).

use crate::capture::TICK_HERTZ;
use crate::identity::Calibration;
use crate::kind::Kind;
use keyway_core::edges::{Channel, Level};
use keyway_core::units::Stamp;

mod table {
    #![allow(clippy::doc_markdown, missing_docs, unreachable_pub, reason = "written by the simulation")]
    include!("../../../hardware/circuits/delays.rs");
}

/// Peak hold at no signal: half the supply less a diode, thousandths of a volt (`crank-vr.inc`).
const REST_MV: u32 = 1350;
/// The converter's range, thousandths of a volt.
const RANGE_MV: u32 = 3300;
/// Gain of the stage, thousandths: 100 kΩ over 94 kΩ.
const GAIN: u32 = 1064;
/// 2π, thousandths.
const TWO_PI: u64 = 6283;
/// Fewer ticks from tooth to tooth are no tooth: 20 µs.
const LEAST_TICKS: u32 = 120;

/// Delay of the stage for variable reluctance at a slope in V/s, ns: between rows by a straight line.
pub fn reluctance_ns(slope: u32) -> u32 {
    let rows = &table::CRANK_RELUCTANCE;
    let mut before = rows[0];
    for row in rows {
        if slope <= row.0 {
            let (run, rise) = (i64::from(row.0 - before.0).max(1), i64::from(row.1) - i64::from(before.1));
            let part = i64::from(slope.max(before.0) - before.0);
            return (i64::from(before.1) + rise * part / run) as u32;
        }
        before = *row;
    }
    before.1
}

/// Slope at the zero crossing, V/s, from a reading of the peak hold and the ticks from tooth to tooth.
pub fn slope(peak: u16, tooth_ticks: u32) -> u32 {
    let held_mv = u32::from(peak) * RANGE_MV / 4096;
    let amplitude_mv = held_mv.saturating_sub(REST_MV).max(50) * 1000 / GAIN;
    let teeth_a_second = u64::from(TICK_HERTZ / tooth_ticks.max(LEAST_TICKS));
    (TWO_PI * u64::from(amplitude_mv) * teeth_a_second / 1_000_000) as u32
}

/// Ticks to take off the edges, as things are now.
#[derive(Debug, Clone, Copy)]
pub struct Delays {
    /// By channel, then level.
    ticks: [[u32; 2]; 2],
    latest: Stamp,
    tooth: u32,
}

impl Delays {
    /// Of a crank that stands.
    pub fn new(calibration: &Calibration, kind: Kind) -> Self {
        let mut delays = Self { ticks: [[0; 2]; 2], latest: Stamp(0), tooth: u32::MAX };
        delays.renew(calibration, kind, 0);
        delays
    }

    /// Takes the amplitude and speed as they are now: to be called some times a second.
    pub fn renew(&mut self, calibration: &Calibration, kind: Kind, peak: u16) {
        if calibration.calibrated.is_some() {
            self.ticks =
                [Channel::Crank, Channel::Spark].map(|channel| [calibration.delay_ticks(channel); 2]);
            return;
        }
        let [rising, falling] = table::CRANK_HALL;
        let crank = match kind {
            Kind::Reluctance => [reluctance_ns(slope(peak, self.tooth)); 2],
            Kind::Logic => [falling, rising],
        };
        self.ticks = [crank.map(ticks), [ticks(table::SPARK); 2]];
    }

    /// When the edge was at the lead, given when it was at the pin.
    pub fn at_lead(&mut self, channel: Channel, level: Level, at: Stamp) -> Stamp {
        let [crank, spark] = self.ticks;
        let [low, high] = match channel {
            Channel::Crank => crank,
            Channel::Spark => spark,
        };
        if channel == Channel::Crank {
            self.note_crank(level, at);
        }
        Stamp(at.0.wrapping_sub(if level == Level::High { high } else { low }))
    }

    /// What a crank edge to low and one to high are held back, ticks.
    pub fn of_crank(&self) -> [u32; 2] {
        let [crank, _] = self.ticks;
        crank
    }

    /// A crank edge came at the pin: what the next [`Delays::renew`] takes the speed from. The last two of either level
    /// before that will do.
    pub fn note_crank(&mut self, level: Level, at: Stamp) {
        if level == Level::High {
            self.tooth = at.0.wrapping_sub(self.latest.0);
            self.latest = at;
        }
    }
}

/// Nanoseconds as ticks of 1/6 µs, to the nearest.
fn ticks(ns: u32) -> u32 {
    (ns * 6 + 500) / 1000
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_circuits_own_rows_come_back_and_between_them_a_straight_line() {
        for (slope, delay) in table::CRANK_RELUCTANCE {
            assert_eq!(reluctance_ns(slope), delay, "{slope} V/s");
        }
        let (first, second) = (table::CRANK_RELUCTANCE[3], table::CRANK_RELUCTANCE[4]);
        let middle = reluctance_ns((first.0 + second.0) / 2);
        assert!(middle.abs_diff((first.1 + second.1) / 2) <= 1);
        assert_eq!(reluctance_ns(0), table::CRANK_RELUCTANCE[0].1);
        assert_eq!(reluctance_ns(u32::MAX), table::CRANK_RELUCTANCE[11].1);
    }

    #[test]
    fn the_slope_is_that_of_a_sine_of_the_amplitude_that_the_peak_hold_shows() {
        // A sine of 1 V and 700 Hz at the lead: hardware/circuits/results.txt has 4398 V/s.
        let held_mv = 1064 + REST_MV;
        let peak = (held_mv * 4096 / RANGE_MV) as u16;
        assert!(slope(peak, TICK_HERTZ / 700).abs_diff(4398) < 30);
    }

    #[test]
    fn an_edge_at_the_pin_is_put_back_to_when_it_was_at_the_lead_within_a_fifth_of_a_microsecond() {
        let nominal = Calibration::NOMINAL;
        let mut delays = Delays::new(&nominal, Kind::Reluctance);
        let tooth = TICK_HERTZ / 700;
        let peak = ((1064 + REST_MV) * 4096 / RANGE_MV) as u16;
        let mut worst_ns = 0;
        for turn in 1..50_u32 {
            let lead = turn * tooth;
            let pin = Stamp(lead + (3093 * 6 + 500) / 1000);
            let found = delays.at_lead(Channel::Crank, Level::High, pin);
            delays.renew(&nominal, Kind::Reluctance, peak);
            if turn > 2 {
                worst_ns = worst_ns.max(found.0.abs_diff(lead) * 1000 / 6);
            }
        }
        assert!(worst_ns <= 200, "{worst_ns} ns");
        let spark = delays.at_lead(Channel::Spark, Level::High, Stamp(1001));
        assert_eq!(spark, Stamp(1000));
        delays.renew(&nominal, Kind::Logic, 0);
        assert_eq!(delays.at_lead(Channel::Crank, Level::High, Stamp(1011)), Stamp(1000));
        assert_eq!(delays.at_lead(Channel::Crank, Level::Low, Stamp(1008)), Stamp(1000));
    }

    #[test]
    fn a_calibrated_instrument_takes_its_own_delays() {
        let own = Calibration {
            calibrated: Some((2026, 11, 2)),
            crank_delay_ns: 2000,
            spark_delay_ns: 500,
            ..Calibration::NOMINAL
        };
        let mut delays = Delays::new(&own, Kind::Reluctance);
        assert_eq!(delays.at_lead(Channel::Crank, Level::High, Stamp(100)), Stamp(88));
        assert_eq!(delays.at_lead(Channel::Spark, Level::Low, Stamp(100)), Stamp(97));
    }
}
