//! Who this instrument is, and what was measured of it when it was calibrated: one sealed block in flash.
//!
//! *Delay*: from a pickup's event to the level change at the chip's pin, as measured at the bench for a sine of
//! 2 V peak; it is taken off every edge at capture, so that times are comparable with a capture file.
//! *Block*: the length in two bytes, least first, then what [`keyway_core::kept`] seals. Where there is none, or
//! it does not open, the instrument is uncalibrated: nominal values, and the screen says so.

use keyway_core::edges::Channel;
use keyway_core::kept::{LONGEST, open};
use serde::{Deserialize, Serialize};

use crate::capture::TICKS_PER_US;
use crate::supply::NOMINAL_GAIN;

/// Version of the block.
pub const VERSION: u8 = 1;
/// No input stage is slower, ns.
const SLOWEST_NS: i32 = 100_000;

/// What calibration left behind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Calibration {
    /// The instrument's number.
    pub instrument: u32,
    /// Year, month, day.
    pub calibrated: Option<(u16, u8, u8)>,
    /// Gain of the supply's divider, parts per 65,536.
    pub supply_gain: u32,
    /// Delay of the crank's input stage, ns.
    pub crank_delay_ns: i32,
    /// Delay of the spark's input stage, ns.
    pub spark_delay_ns: i32,
}

impl Calibration {
    /// A new instrument.
    pub const NOMINAL: Self = Self {
        instrument: 0,
        calibrated: None,
        supply_gain: NOMINAL_GAIN,
        crank_delay_ns: 0,
        spark_delay_ns: 0,
    };

    /// The block at the beginning of `bytes`; the nominal values where there is none whole.
    pub fn read(bytes: &[u8]) -> Self {
        let block = bytes.split_first_chunk::<2>().and_then(|(length, rest)| {
            let length = usize::from(u16::from_le_bytes(*length));
            (length <= LONGEST).then(|| rest.get(..length)).flatten()
        });
        block.and_then(|block| open::<Self>(VERSION, block).ok()).unwrap_or(Self::NOMINAL)
    }

    /// Ticks to take off an edge of this channel, to the nearest.
    pub fn delay_ticks(&self, channel: Channel) -> u32 {
        let ns = match channel {
            Channel::Crank => self.crank_delay_ns,
            Channel::Spark => self.spark_delay_ns,
        };
        let ns = ns.clamp(-SLOWEST_NS, SLOWEST_NS);
        let half = if ns < 0 { -500 } else { 500 };
        ((ns * TICKS_PER_US as i32 + half) / 1000) as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyway_core::kept::seal;
    use std::vec::Vec;

    const SOME: Calibration = Calibration {
        instrument: 7,
        calibrated: Some((2026, 11, 2)),
        supply_gain: 65_000,
        crank_delay_ns: 12_500,
        spark_delay_ns: -250,
    };

    fn block(calibration: &Calibration) -> Vec<u8> {
        let mut room = [0; LONGEST];
        let sealed = seal(VERSION, calibration, &mut room).unwrap();
        let mut block = (sealed.len() as u16).to_le_bytes().to_vec();
        block.extend_from_slice(sealed);
        block.extend([0xff; 50]);
        block
    }

    #[test]
    fn a_whole_block_is_read_and_any_changed_byte_makes_the_instrument_uncalibrated() {
        let whole = block(&SOME);
        assert_eq!(Calibration::read(&whole), SOME);
        let length = usize::from(u16::from_le_bytes([whole[0], whole[1]]));
        for place in 0..length + 2 {
            let mut changed = whole.clone();
            changed[place] ^= 0x10;
            assert_eq!(Calibration::read(&changed), Calibration::NOMINAL, "byte {place}");
        }
        assert_eq!(Calibration::read(&[0xff; 4096]), Calibration::NOMINAL);
        assert_eq!(Calibration::read(&[]), Calibration::NOMINAL);
    }

    #[test]
    fn delays_become_ticks_to_the_nearest() {
        assert_eq!(SOME.delay_ticks(Channel::Crank), 75);
        assert_eq!(SOME.delay_ticks(Channel::Spark) as i32, -2);
    }
}
