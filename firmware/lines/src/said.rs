//! Lines from the handheld.

use crate::command::{Refused, What};
use crate::job::JobLine;
use crate::record::{RecordLine, date, hexadecimal};
use crate::stream::EdgesLine;
use heapless::String;
use keyway_core::guide::Sensed;
use keyway_core::judge::Verdict;
use keyway_core::record::Identity;
use keyway_core::units::TickRate;
use serde::Serialize;

/// The longest line from the handheld, bytes, its end included.
pub const LONGEST_OUT: usize = 4096;

/// Who speaks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hello {
    protocol: u8,
    instrument: u32,
    firmware: String<8>,
    calibrated: Option<String<10>>,
    ticks_per_second: u32,
}

impl Hello {
    /// Of this instrument and the rate of its capture clock.
    pub fn new(identity: Identity, rate: TickRate) -> Self {
        Self {
            protocol: crate::PROTOCOL,
            instrument: identity.instrument,
            firmware: hexadecimal(identity.firmware),
            calibrated: date(identity.calibrated),
            ticks_per_second: rate.hertz(),
        }
    }
}

/// What the screen shows now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Live {
    at: u64,
    advance_btdc_deg: Option<f32>,
    uncertainty_deg: Option<f32>,
    deg_per_s: Option<f32>,
    settled_btdc_deg: Option<f32>,
    settled_uncertainty_deg: Option<f32>,
    rpm: Option<f32>,
    in_sync: bool,
    battery_v: Option<f32>,
    verdict: Option<&'static str>,
    cause: Option<&'static str>,
    lost: [u32; 2],
}

impl Live {
    /// What is sensed at `at` ticks of the capture clock; edges lost since power-on, crank and spark.
    pub fn new(sensed: &Sensed, at: u64, lost: [u32; 2]) -> Self {
        Self {
            at,
            advance_btdc_deg: sensed.live.map(|live| live.advance),
            uncertainty_deg: sensed.live.map(|live| live.doubt),
            deg_per_s: sensed.live.map(|live| live.rate),
            settled_btdc_deg: sensed.known.advance,
            settled_uncertainty_deg: sensed.known.advance.map(|_| sensed.known.doubt),
            rpm: sensed.rpm,
            in_sync: sensed.in_sync,
            battery_v: sensed.supply,
            verdict: sensed.known.verdict.map(Verdict::id),
            cause: sensed.known.causes.first().copied().flatten().map(|cause| cause.id.id()),
            lost,
        }
    }
}

/// An answer is complete.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Done {
    /// The name of the line that it answers.
    pub what: &'static str,
    /// Lines or things it was about.
    pub count: u32,
}

/// The stream is on or off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct StreamOn {
    /// Which.
    pub on: bool,
    /// Of the capture clock.
    pub ticks_per_second: u32,
}

/// An engine kept.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeptJob {
    /// 0 to 11.
    pub slot: u8,
    /// As entered.
    pub job: JobLine,
}

/// What was wrong with a line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ErrorLine<'a> {
    line: u32,
    what: What,
    key: Option<&'static str>,
    expected: &'a str,
}

impl<'a> ErrorLine<'a> {
    /// About the line with this number.
    pub fn new(line: u32, refused: &'a Refused) -> Self {
        Self { line, what: refused.what, key: refused.key, expected: &refused.expected }
    }
}

/// A line from the handheld.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[allow(
    missing_docs,
    clippy::large_enum_variant,
    reason = "each is the document of what it holds; one at a time"
)]
pub enum Said<'a> {
    Hello(Hello),
    Live(Live),
    Stream(StreamOn),
    Edges(EdgesLine<'a>),
    Job(KeptJob),
    Record(RecordLine<'a>),
    Done(Done),
    Error(ErrorLine<'a>),
}

impl Said<'_> {
    /// The line with its end in `room`; `None` where it does not fit ([`LONGEST_OUT`] is enough).
    pub fn write<'r>(&self, room: &'r mut [u8]) -> Option<&'r [u8]> {
        let length = serde_json_core::to_slice(self, room).ok()?;
        *room.get_mut(length)? = b'\n';
        room.get(..=length)
    }
}
