//! A line to the handheld made into a command, or what is wrong with it.

use crate::gather::LONGEST_IN;
use crate::job::JobLine;
use heapless::String;
use keyway_core::job::{JobError, JobSpec, Problem};
use serde::{Deserialize, Serialize};
use serde_json_core::de::Error;

/// Longest sentence about what was expected, bytes.
pub(crate) const SENTENCE: usize = 96;

/// What the host asks.
#[derive(Debug, Clone, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "there is one at a time, and no heap to box it in")]
pub enum Command {
    /// Who are you.
    Hello,
    /// Live readings on or off.
    Live(bool),
    /// The edge stream on or off.
    Stream(bool),
    /// Keep this engine; found possible.
    Job {
        /// 0 to 11.
        slot: u8,
        /// As entered.
        spec: JobSpec,
    },
    /// Tell of all engines kept.
    Jobs,
    /// Tell of records.
    Records {
        /// The first number.
        from: u32,
        /// The last one.
        to: u32,
    },
    /// Forget records up to this number.
    Forget {
        /// The last one that goes.
        to: u32,
    },
    /// Seconds since 1970, UTC.
    Clock(u32),
}

/// What kind of refusal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// Not an object of the known form.
    Malformed,
    /// No such line.
    Unknown,
    /// Longer than a line may be.
    TooLong,
    /// An entry of a job that cannot be.
    Job,
    /// Not now.
    Refused,
    /// Could not be kept or fetched.
    Store,
}

/// Why a line is not taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// What kind.
    pub what: What,
    /// The entry to blame.
    pub key: Option<&'static str>,
    /// What was expected.
    pub expected: String<SENTENCE>,
}

impl Refused {
    /// A refusal without a key; the sentence is cut to what fits.
    pub fn new(what: What, expected: &str) -> Self {
        Self::about(what, expected, "")
    }

    /// The same, with what was found at the end of the sentence.
    fn about(what: What, expected: &str, found: &str) -> Self {
        let mut sentence = String::new();
        let _ = expected.chars().chain(found.chars()).try_for_each(|letter| sentence.push(letter));
        Self { what, key: None, expected: sentence }
    }
}

impl From<JobError> for Refused {
    fn from(error: JobError) -> Self {
        use core::fmt::Write;
        let mut expected = String::new();
        let _ = match error.problem {
            Problem::OutOfRange { low, high, .. } => write!(expected, "{low} to {high}"),
            Problem::Expected(what) => write!(expected, "{what}"),
        };
        Self { what: What::Job, key: Some(error.key), expected }
    }
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[allow(clippy::large_enum_variant, reason = "there is one at a time, and no heap to box it in")]
enum Wire {
    Hello {},
    Live { on: bool },
    Stream { on: bool },
    Job { slot: u8, job: JobLine },
    Jobs {},
    Records { from: u32, to: u32 },
    Forget { to: u32 },
    Clock { unix_s: u32 },
}

/// The command of a line; the line changes nothing yet.
///
/// # Errors
/// What is wrong with it.
pub fn command(line: &[u8]) -> Result<Command, Refused> {
    let text = core::str::from_utf8(line).map_err(|_| Refused::new(What::Malformed, "JSON in UTF-8"))?;
    let mut unescaped = [0; LONGEST_IN];
    let (wire, used) = serde_json_core::from_slice_escaped::<Wire>(line, &mut unescaped)
        .map_err(|error| refused(&error, text))?;
    if !line.get(used..).unwrap_or_default().iter().all(u8::is_ascii_whitespace) {
        return Err(Refused::new(What::Malformed, "one object on a line, nothing after it"));
    }
    Ok(match wire {
        Wire::Hello {} => Command::Hello,
        Wire::Live { on } => Command::Live(on),
        Wire::Stream { on } => Command::Stream(on),
        Wire::Job { slot: 12.., .. } => return Err(Refused::new(What::Job, "a slot from 0 to 11")),
        Wire::Job { slot, job } => Command::Job { slot, spec: job.spec()? },
        Wire::Jobs {} => Command::Jobs,
        Wire::Records { from, to } => Command::Records { from, to },
        Wire::Forget { to } => Command::Forget { to },
        Wire::Clock { unix_s } => Command::Clock(unix_s),
    })
}

/// Every name that may stand before a colon, those of the lines first.
#[rustfmt::skip]
const NAMES: [&str; 42] = [
    "hello", "live", "stream", "job", "jobs", "records", "forget", "clock",
    "on", "slot", "from", "to", "unix_s", "name", "engine", "timing", "crank", "spark_pickup", "context",
    "cylinders", "strokes", "firing_order", "firing_intervals", "spark", "rotor", "reference", "drive_gear_teeth",
    "housing_diameter_mm", "control", "base_btdc", "calibration", "extra", "commanded_btdc", "tolerance",
    "harness_offset", "idle_rpm", "supply_min_v", "teeth", "missing", "first_edge_btdc", "active_edge", "base_mode",
];
/// Names that stand nowhere else but in the crank and the pickup.
const MORE_NAMES: [&str; 3] = ["marks_btdc", "sensor_delay_us", "delay_us"];
/// Names of lines at the start of [`NAMES`].
const LINES: usize = 8;

/// The names of a line's objects: texts with a colon behind them. Escapes make a text no name.
fn names(line: &str) -> impl Iterator<Item = &str> {
    line.split('"')
        .zip(line.split('"').skip(1))
        .filter_map(|(text, after)| after.trim_start().starts_with(':').then_some(text))
}

/// What the reader of JSON found wrong, in a sentence.
fn refused(error: &Error, line: &str) -> Refused {
    let first = names(line).next();
    if let Some(name) = first.filter(|name| !NAMES.iter().take(LINES).any(|known| known == name)) {
        return Refused::about(What::Unknown, "one of the known lines, not ", name);
    }
    let expected = match error {
        Error::CustomError => {
            let strange =
                names(line).find(|name| !NAMES.iter().chain(&MORE_NAMES).any(|known| known == name));
            if let Some(name) = strange {
                return Refused::about(What::Malformed, "a known name, not ", name);
            }
            "known names and words, each once, none missing, lists and texts as long as allowed"
        }
        Error::EofWhileParsingList
        | Error::EofWhileParsingObject
        | Error::EofWhileParsingString
        | Error::EofWhileParsingNumber
        | Error::EofWhileParsingValue => "more: the line ends too early",
        Error::ExpectedColon => "a colon after a name",
        Error::ExpectedListCommaOrEnd => "a comma or the end of the list",
        Error::ExpectedObjectCommaOrEnd => "a comma or the end of the object",
        Error::ExpectedSomeIdent => "true, false or null",
        Error::ExpectedSomeValue => "an object with one member, each value of its kind",
        Error::InvalidNumber => "a number within its range",
        Error::InvalidType => "a value of another kind",
        Error::InvalidUnicodeCodePoint | Error::InvalidEscapeSequence => "valid escapes in a text",
        Error::EscapedStringIsTooLong => "a shorter text",
        Error::KeyMustBeAString => "a name in quotation marks",
        Error::TrailingCharacters => "one object on a line, nothing after it",
        Error::TrailingComma => "no comma before the end",
        _ => "an object as described",
    };
    Refused::new(What::Malformed, expected)
}
