//! The supply voltage from the converter: averaged, through the divider, corrected by calibration.
//!
//! *Divider*: 1 : 11, so that 36.3 V is full scale at the 3.3 V reference. *Gain*: what calibration found
//! against a reference meter, in parts per 65,536 (65,536 = as nominal): divider and reference together.

/// Readings that are averaged.
pub const READINGS: u32 = 16;
/// Counts of the converter at full scale.
const FULL_SCALE: u32 = 4096;
/// Millivolts at the clips at full scale: 3.3 V × 11.
const FULL_SCALE_MV: u32 = 36_300;
/// Below this nothing is clipped on, mV: the handheld runs from USB.
const ABSENT_MV: u32 = 2_000;
/// What the handheld is made for, mV: DESIGN.md section 6.
const RANGE_MV: core::ops::RangeInclusive<u32> = 6_000..=32_000;

/// What the supply is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found {
    /// Nothing is clipped on.
    Absent,
    /// So many volts, within what the handheld is made for.
    Volts(f32),
    /// So many volts, outside of it: shown, and counted as a fault.
    OutOfRange(f32),
}

impl Found {
    /// What the core is told, V: not a number where nothing is clipped on.
    pub fn volts(self) -> f32 {
        match self {
            Self::Absent => f32::NAN,
            Self::Volts(volts) | Self::OutOfRange(volts) => volts,
        }
    }
}

/// Averages readings.
#[derive(Debug)]
pub struct Supply {
    gain: u32,
    sum: u32,
    count: u32,
}

/// The gain of a handheld that is exactly nominal.
pub const NOMINAL_GAIN: u32 = 65_536;

impl Supply {
    /// With the gain of calibration; one beyond ±10 % can't be right, and the nominal one is taken.
    pub fn new(gain: u32) -> Self {
        let right = (NOMINAL_GAIN * 9 / 10..=NOMINAL_GAIN * 11 / 10).contains(&gain);
        Self { gain: if right { gain } else { NOMINAL_GAIN }, sum: 0, count: 0 }
    }

    /// A reading of the converter, 0 to 4095; every sixteenth gives a voltage.
    pub fn add(&mut self, reading: u16) -> Option<Found> {
        self.sum += u32::from(reading).min(FULL_SCALE - 1);
        self.count += 1;
        if self.count < READINGS {
            return None;
        }
        let sum = core::mem::take(&mut self.sum);
        self.count = 0;
        let nominal = u64::from(sum) * u64::from(FULL_SCALE_MV) / u64::from(FULL_SCALE * READINGS);
        let millivolts = (nominal * u64::from(self.gain) / u64::from(NOMINAL_GAIN)) as u32;
        let volts = millivolts as f32 / 1000.0;
        Some(if millivolts < ABSENT_MV {
            Found::Absent
        } else if RANGE_MV.contains(&millivolts) {
            Found::Volts(volts)
        } else {
            Found::OutOfRange(volts)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(gain: u32, volts: f32) -> Found {
        let mut supply = Supply::new(gain);
        let reading = (volts / 11.0 / 3.3 * 4096.0).round().clamp(0.0, 4095.0) as u16;
        (0..READINGS).find_map(|_| supply.add(reading)).unwrap()
    }

    #[test]
    fn the_divider_is_undone_to_a_hundredth_of_a_volt() {
        for volts in [6.5, 9.0, 12.0, 13.2, 14.4, 28.0] {
            let Found::Volts(read) = found(NOMINAL_GAIN, volts) else { panic!("{volts}") };
            assert!((read - volts).abs() < 0.01, "{volts} reads {read}");
        }
    }

    #[test]
    fn calibration_takes_out_the_dividers_error() {
        let Found::Volts(read) = found(NOMINAL_GAIN * 102 / 100, 12.0) else { panic!() };
        assert!((read - 12.24).abs() < 0.01, "{read}");
        assert_eq!(found(NOMINAL_GAIN * 2, 12.0), found(NOMINAL_GAIN, 12.0));
    }

    #[test]
    fn a_supply_out_of_range_is_a_fault_and_none_at_all_is_not() {
        assert!(matches!(found(NOMINAL_GAIN, 36.0), Found::OutOfRange(_)));
        assert!(matches!(found(NOMINAL_GAIN, 4.0), Found::OutOfRange(_)));
        assert_eq!(found(NOMINAL_GAIN, 0.3), Found::Absent);
        assert!(found(NOMINAL_GAIN, 0.3).volts().is_nan());
    }
}
