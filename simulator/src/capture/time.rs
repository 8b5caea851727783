//! Turns the times of a file into ticks since its first time.
//!
//! *Step*: what a file's time numbers count, from 100 s down to 1 fs. Everything is whole numbers: a time
//! of a long recording has more digits than a float keeps. The largest length, [`LONGEST`], bounds the
//! work of bridging a silence and leaves every sum of two times inside 64 bits.

use super::CaptureError;
use keyway_core::units::TickRate;

/// The longest capture, ticks: 2⁴⁸, which is 325 days.
pub(super) const LONGEST: u64 = 1 << 48;

/// Femtoseconds of one tick at the desktop's rate.
const TICK_FS: u64 = 1_000_000_000_000_000 / TickRate::DESKTOP.hertz() as u64;

/// What one unit of a file's time is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Step {
    femtoseconds: u64,
}

impl Step {
    /// The smallest step: one femtosecond.
    pub(super) const FEMTOSECOND: Self = Self { femtoseconds: 1 };

    /// A time number (1, 10 or 100) and its unit, as in IEEE 1364; `None` for any other.
    pub(super) fn from_parts(number: &[u8], unit: &[u8]) -> Option<Self> {
        let number: u64 = match number {
            b"1" => 1,
            b"10" => 10,
            b"100" => 100,
            _ => return None,
        };
        let unit: u64 = match unit {
            b"s" => 1_000_000_000_000_000,
            b"ms" => 1_000_000_000_000,
            b"us" => 1_000_000_000,
            b"ns" => 1_000_000,
            b"ps" => 1_000,
            b"fs" => 1,
            _ => return None,
        };
        Some(Self { femtoseconds: number * unit })
    }

    /// So many units in ticks, to the nearest; `None` beyond [`LONGEST`].
    #[inline]
    pub(super) fn ticks(self, units: u64) -> Option<u64> {
        let ticks = if self.femtoseconds >= TICK_FS {
            units.checked_mul(self.femtoseconds / TICK_FS)?
        } else {
            let units_per_tick = TICK_FS / self.femtoseconds;
            let whole = units / units_per_tick;
            whole + u64::from((units % units_per_tick) * 2 >= units_per_tick)
        };
        (ticks <= LONGEST).then_some(ticks)
    }

    /// This step in ticks.
    pub(super) fn in_ticks(self) -> f64 {
        self.femtoseconds as f64 / TICK_FS as f64
    }

    /// So many units in seconds.
    pub(super) fn seconds(self, units: u64) -> f64 {
        units as f64 * (self.femtoseconds as f64 / 1e15)
    }
}

/// A decimal number of seconds as whole femtoseconds, digits beyond those dropped; `None` where it is no
/// finite number or its size is 10¹⁵ s or more.
pub(super) fn femtoseconds(text: &[u8]) -> Option<i128> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, text),
    };
    let exponent_at = digits.iter().position(|byte| matches!(byte, b'e' | b'E'));
    let (digits, exponent) = match exponent_at {
        Some(at) => (digits.get(..at)?, exponent(digits.get(at + 1..)?)?),
        None => (digits, 0),
    };
    let (mut mantissa, mut scale, mut seen, mut point) = (0i128, exponent, false, false);
    for byte in digits {
        match byte {
            b'0'..=b'9' => {
                seen = true;
                // More digits than this lie beyond a femtosecond or beyond the range.
                if mantissa < 10i128.pow(34) {
                    mantissa = mantissa * 10 + i128::from(byte - b'0');
                    scale -= i32::from(point);
                } else {
                    scale += i32::from(!point);
                }
            }
            b'.' if !point => point = true,
            _ => return None,
        }
    }
    if !seen {
        return None;
    }
    let power = scale + 15;
    let size = if mantissa == 0 {
        0
    } else if power >= 0 {
        mantissa.checked_mul(10i128.checked_pow(power as u32)?)?
    } else {
        10i128.checked_pow(power.unsigned_abs()).map_or(0, |divisor| mantissa / divisor)
    };
    if size >= 10i128.pow(30) {
        return None;
    }
    Some(if negative { -size } else { size })
}

fn exponent(text: &[u8]) -> Option<i32> {
    let exponent: i32 = std::str::from_utf8(text).ok()?.parse().ok()?;
    (exponent.abs() <= 100).then_some(exponent)
}

/// The error of a time that lies before the one above it.
pub(super) fn goes_back(line: u64, found: String) -> CaptureError {
    CaptureError::at(line, format!("{found}, earlier than the time before it"), "times that do not go back")
}

/// The error of a time too far from the first one.
pub(super) fn too_long(line: u64, found: String) -> CaptureError {
    CaptureError::at(line, found, "a time at most 325 days after the first")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_time_scale_of_the_standard_gives_the_same_second() {
        let second = [("s", 1u64), ("ms", 1_000), ("us", 1_000_000), ("ns", 1_000_000_000)];
        for (unit, per_second) in second.into_iter().chain([("ps", 10u64.pow(12)), ("fs", 10u64.pow(15))]) {
            for (number, factor) in [("1", 1), ("10", 10), ("100", 100)] {
                let step = Step::from_parts(number.as_bytes(), unit.as_bytes()).unwrap();
                // 100 s in this step is 1e9 ticks of 0.1 µs.
                assert_eq!(step.ticks(100 * per_second / factor), Some(1_000_000_000), "{number} {unit}");
            }
        }
        assert_eq!(Step::from_parts(b"7", b"ns"), None);
        assert_eq!(Step::from_parts(b"1", b"h"), None);
    }

    #[test]
    fn a_time_between_two_ticks_goes_to_the_nearer() {
        let step = Step::from_parts(b"1", b"ns").unwrap();
        assert_eq!([49, 50, 149, 151].map(|units| step.ticks(units)), [Some(0), Some(1), Some(1), Some(2)]);
    }

    #[test]
    fn a_time_beyond_the_longest_capture_is_refused_and_never_wraps() {
        let step = Step::from_parts(b"100", b"s").unwrap();
        assert_eq!(step.ticks(u64::MAX), None);
        assert_eq!(Step::FEMTOSECOND.ticks(u64::MAX), Some(184_467_440_737));
    }

    #[test]
    fn seconds_are_read_to_the_femtosecond() {
        for (text, expected) in [
            ("0", 0),
            ("1.5", 1_500_000_000_000_000),
            ("-0.25", -250_000_000_000_000),
            ("1e-05", 10_000_000_000),
            ("+.5", 500_000_000_000_000),
            ("3.", 3_000_000_000_000_000),
            ("1700000000.1234567", 1_700_000_000_123_456_700_000_000),
            ("0.00000000000000000000000000000000000000000000000001", 0),
        ] {
            assert_eq!(femtoseconds(text.as_bytes()), Some(expected), "{text}");
        }
        for text in ["", ".", "-", "nan", "inf", "1.2.3", "1e", "1e999", "0x10", "1 ", "1e20", "9e14x"] {
            assert_eq!(femtoseconds(text.as_bytes()), None, "{text}");
        }
    }
}
