//! Reads what was recorded at the two pickups, as a stream, from the files of CONTRACT.md.
//!
//! *Capture*: the recording, a value change dump (IEEE Std 1364) or comma-separated rows. *Event*: one
//! change of level at a pickup, or a new value of the supply voltage. *Ticks*: time since the capture's
//! first time in steps of [`TickRate::DESKTOP`](keyway_core::units::TickRate::DESKTOP), to the nearest.
//! *Cut*: where a file ends inside a word, a number, a row or a block; what stands before it is read.
//!
//! Nothing is kept but the last levels: a reader hands each event on as it comes, so that memory does not
//! grow with the file. A level that was unknown (`x`, `z`, not recorded) and becomes known is no event.

mod csv;
mod error;
mod feed;
mod time;
mod vcd;

pub use error::CaptureError;
pub use feed::{Feed, START};

use keyway_core::edges::{Channel, Level};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// The signals to look for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Names {
    /// The crank trigger.
    pub crank: String,
    /// The clamp on cylinder one's spark lead.
    pub spark: String,
    /// The supply voltage, where it was asked for by name; `None` looks for `battery_v` and does without.
    pub battery: Option<String>,
}

/// The supply's name where none was asked for.
pub const BATTERY: &str = "battery_v";

impl Default for Names {
    fn default() -> Self {
        Self { crank: "crank".into(), spark: "spark1".into(), battery: None }
    }
}

/// Something that happened during the capture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A pickup's level changed to this.
    Edge(Channel, Level),
    /// The supply is at so many volts from now on; finite.
    Supply(f32),
}

/// What is known of a capture once it was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outline {
    /// The first time in the file, seconds.
    pub first_seconds: f64,
    /// From the first time to the last, ticks.
    pub ticks: u64,
    /// The smallest difference between two times that the file can tell, ticks; below 1 where it is finer.
    pub step_ticks: f64,
    /// The file ends in the middle of something.
    pub truncated: bool,
}

/// The two file formats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Value change dump.
    Vcd,
    /// Comma-separated rows.
    Csv,
}

impl Format {
    /// The format that a file's name says it has.
    ///
    /// # Errors
    /// Another extension than `.vcd` or `.csv`, or none.
    pub fn of(path: &Path) -> Result<Self, CaptureError> {
        let extension = path.extension().map(|extension| extension.to_string_lossy().to_ascii_lowercase());
        match extension.as_deref() {
            Some("vcd") => Ok(Self::Vcd),
            Some("csv") => Ok(Self::Csv),
            Some(other) => Err(CaptureError::whole(format!("a name that ends in .{other}"), ".vcd or .csv")),
            None => Err(CaptureError::whole("a name without an ending", ".vcd or .csv")),
        }
    }
}

/// Reads a capture to its end and hands over each event with its time in ticks, in the file's order.
///
/// # Errors
/// The file is empty, is not of this format, lacks a signal, or holds a time or a value that cannot be.
pub fn read(
    source: impl Read,
    format: Format,
    names: &Names,
    sink: impl FnMut(u64, Event),
) -> Result<Outline, CaptureError> {
    if names.crank == names.spark {
        let found = format!("{} for crank and spark", error::quoted(names.crank.as_bytes()));
        return Err(CaptureError::whole(found, "a signal for each"));
    }
    match format {
        Format::Vcd => vcd::read(source, names, sink),
        Format::Csv => csv::read(source, names, sink),
    }
}

/// Opens a capture, its format taken from its name.
///
/// # Errors
/// Another extension than `.vcd` or `.csv`; the file cannot be opened.
pub fn open(path: &Path) -> Result<(File, Format), CaptureError> {
    let format = Format::of(path)?;
    let file = File::open(path).map_err(|error| CaptureError::unreadable(&error))?;
    Ok((file, format))
}

/// A supply voltage; `None` where it is no number, or none that can be.
fn volts(text: &[u8]) -> Option<f32> {
    let volts: f32 = std::str::from_utf8(text).ok()?.trim().parse().ok()?;
    volts.is_finite().then_some(volts)
}

/// The levels last seen at the two pickups: tells a change from what is no event.
#[derive(Debug, Default)]
struct Levels([Option<Level>; 2]);

impl Levels {
    /// Takes the new level of a channel, `None` for unknown; the level where this is an edge.
    fn change(&mut self, channel: Channel, level: Option<Level>) -> Option<Level> {
        let [crank, spark] = &mut self.0;
        let last = match channel {
            Channel::Crank => crank,
            Channel::Spark => spark,
        };
        let before = std::mem::replace(last, level);
        match (before, level) {
            (Some(before), Some(level)) if before != level => Some(level),
            _ => None,
        }
    }
}
