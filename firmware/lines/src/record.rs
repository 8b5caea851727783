//! A record as JSON.

use core::fmt::{self, Write};
use heapless::String;
use keyway_core::corrections::Corrected;
use keyway_core::guide::Taken;
use keyway_core::judge::Verdict;
use keyway_core::record::{Identity, Record};
use serde::{Serialize, Serializer};

#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
struct TakenLine {
    advance_btdc_deg: f32,
    uncertainty_deg: f32,
    rpm: f32,
    battery_v: Option<f32>,
}

impl From<Taken> for TakenLine {
    fn from(taken: Taken) -> Self {
        let Taken { advance, doubt, rpm, supply } = taken;
        Self { advance_btdc_deg: advance, uncertainty_deg: doubt, rpm, battery_v: supply }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
struct CorrectedLine {
    deg: f32,
    uncertainty_deg: f32,
}

impl From<Corrected> for CorrectedLine {
    fn from(corrected: Corrected) -> Self {
        Self { deg: corrected.degrees, uncertainty_deg: corrected.doubt }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
struct CauseLine {
    id: &'static str,
    probability: f32,
}

/// Eight hexadecimal digits.
pub(crate) fn hexadecimal(number: u32) -> String<8> {
    let mut digits = String::new();
    let _ = write!(digits, "{number:08x}");
    digits
}

/// Year, month and day, where there is a date.
pub(crate) fn date(calibrated: Option<(u16, u8, u8)>) -> Option<String<10>> {
    let (year, month, day) = calibrated?;
    let mut date = String::new();
    write!(date, "{year:04}-{month:02}-{day:02}").ok().map(|()| date)
}

/// The record's bytes as they are kept, written in hexadecimal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sealed<'a>(pub &'a [u8]);

impl fmt::Display for Sealed<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl Serialize for Sealed<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// One job done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordLine<'a> {
    number: u32,
    instrument: u32,
    firmware: String<8>,
    calibrated: Option<String<10>>,
    unix_s: Option<u32>,
    took_s: u32,
    engine: &'a str,
    job_hash: String<8>,
    target_btdc_deg: f32,
    tolerance_deg: f32,
    steered: Option<TakenLine>,
    before: Option<TakenLine>,
    set: Option<TakenLine>,
    after: Option<TakenLine>,
    restarted: Option<TakenLine>,
    verdict: Option<&'static str>,
    cause: Option<CauseLine>,
    zero: Option<CorrectedLine>,
    wheel: Option<CorrectedLine>,
    delay_us: Option<[f32; 2]>,
    deg_per_1000rpm: Option<[f32; 2]>,
    proven: u8,
    told: u8,
    skipped: u8,
    left_early: bool,
    sealed: Sealed<'a>,
}

impl<'a> RecordLine<'a> {
    /// A record and the bytes it was opened from.
    pub fn new(record: &'a Record, sealed: &'a [u8]) -> Self {
        let Identity { instrument, firmware, calibrated } = record.identity;
        let [proven, told, skipped] = record.marks;
        Self {
            number: record.number,
            instrument,
            firmware: hexadecimal(firmware),
            calibrated: date(calibrated),
            unix_s: record.clock,
            took_s: record.took_s,
            engine: &record.engine,
            job_hash: hexadecimal(record.job_hash),
            target_btdc_deg: record.target,
            tolerance_deg: record.tolerance,
            steered: record.steered.map(Into::into),
            before: record.before.map(Into::into),
            set: record.set.map(Into::into),
            after: record.after.map(Into::into),
            restarted: record.restarted.map(Into::into),
            verdict: record.verdict().map(Verdict::id),
            cause: record.cause.map(|(id, probability)| CauseLine { id: id.id(), probability }),
            zero: record.corrections.zero.map(Into::into),
            wheel: record.corrections.wheel.map(Into::into),
            delay_us: record.delay_us.map(Into::into),
            deg_per_1000rpm: record.slope.map(Into::into),
            proven,
            told,
            skipped,
            left_early: record.left_early,
            sealed: Sealed(sealed),
        }
    }
}
