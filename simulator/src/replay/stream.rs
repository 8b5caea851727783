//! The lines of the handheld's USB port that a replay understands: `hello`, `stream` and `edges`, protocol 1.
//!
//! The format is written down in `firmware/lines/README.md`: one JSON object a line with one member, whose
//! name says what it is; a line of another name is skipped. *Batch*: what one `edges` line tells.

use super::player::Input;
use keyway_core::edges::{Channel, Level};
use keyway_core::units::TickRate;
use serde::Deserialize;
use serde_json::Value;

/// What an `edges` line holds.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Batch {
    /// Its number since the stream was switched on.
    pub batch: u64,
    /// Ticks of the handheld's capture clock, inclusive.
    pub start: u64,
    /// Levels of crank and spark before the first edge, 0 or 1.
    pub levels: [u8; 2],
    /// Edges dropped since the batch before, crank and spark.
    pub lost: [u32; 2],
    /// Supply at the end, V.
    pub battery_v: Option<f32>,
    /// One number an edge: delta × 4 + channel × 2 + level.
    pub d: Vec<u64>,
    /// Ticks, exclusive.
    pub end: u64,
}

#[derive(Debug, Deserialize)]
struct Rate {
    ticks_per_second: Option<u64>,
}

/// A line.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// The rate of the handheld's clock, ticks a second.
    Rate(u64),
    /// A batch of edges.
    Edges(Batch),
    /// Something that a replay has no use for.
    Other,
}

/// Understands a line.
///
/// # Errors
/// What was expected.
pub fn line(text: &str) -> Result<Line, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(Line::Other);
    }
    let object = match serde_json::from_str(text) {
        Ok(Value::Object(object)) if object.len() == 1 => object,
        _ => return Err("one JSON object with one member".into()),
    };
    let Some((name, value)) = object.into_iter().next() else { return Ok(Line::Other) };
    let bad = |error: serde_json::Error| format!("a line \"{name}\" of protocol 1 ({error})");
    match name.as_str() {
        "hello" | "stream" => {
            let rate: Rate = serde_json::from_value(value).map_err(bad)?;
            match rate.ticks_per_second {
                Some(rate) if (1000..=1_000_000_000).contains(&rate) => Ok(Line::Rate(rate)),
                Some(_) => Err("ticks_per_second from 1000 to 1000000000".into()),
                None => Ok(Line::Other),
            }
        }
        "edges" => {
            let batch: Batch = serde_json::from_value(value).map_err(bad)?;
            let length: u128 = batch.d.iter().map(|edge| u128::from(edge / 4)).sum();
            let fits = batch.start <= batch.end && u128::from(batch.start) + length <= u128::from(batch.end);
            if fits { Ok(Line::Edges(batch)) } else { Err("edges between start and end".into()) }
        }
        _ => Ok(Line::Other),
    }
}

/// Turns lines into what a player takes, in the desktop's ticks since the first batch began.
#[derive(Debug, Default)]
pub struct Reader {
    rate: Option<u64>,
    first: Option<u64>,
    next_batch: Option<u64>,
    levels: Option<[u8; 2]>,
    reached: u64,
}

impl Reader {
    /// Takes a line; gives what it tells to `each`, and up to when it tells of everything.
    ///
    /// # Errors
    /// What was expected; the reader is as it was.
    pub fn take(&mut self, text: &str, mut each: impl FnMut(u64, Input)) -> Result<Option<u64>, String> {
        let batch = match line(text)? {
            Line::Other => return Ok(None),
            Line::Rate(rate) => {
                self.rate = Some(rate);
                return Ok(None);
            }
            Line::Edges(batch) => batch,
        };
        let rate =
            self.rate.ok_or("a line \"hello\" or \"stream\" with ticks_per_second before the edges")?;
        let first = *self.first.get_or_insert(batch.start);
        if batch.start < first {
            return Err("a start that does not go back".into());
        }
        let own = u128::from(TickRate::DESKTOP.hertz());
        let ticks = |at: u64| {
            let scaled = u128::from(at.saturating_sub(first)) * own / u128::from(rate);
            u64::try_from(scaled).unwrap_or(u64::MAX)
        };
        // Whatever the clock says, time does not go back.
        let mut reached = self.reached;
        let mut tell = |at: u64, input: Input| {
            reached = reached.max(ticks(at));
            each(reached, input);
        };
        let missed = self.next_batch.is_some_and(|next| next != batch.batch);
        for (place, channel) in [Channel::Crank, Channel::Spark].into_iter().enumerate() {
            let dropped = batch.lost.get(place).copied().unwrap_or(0);
            // A level that changed unseen, or a whole line that is missing, hides one edge at least.
            let before = self.levels.and_then(|levels| levels.get(place).copied());
            let unseen = before.is_some_and(|level| batch.levels.get(place) != Some(&level)) || missed;
            let count = dropped.max(u32::from(unseen));
            if count > 0 {
                tell(batch.start, Input::Lost(channel, count));
            }
        }
        let mut at = batch.start;
        let mut levels = batch.levels;
        for edge in &batch.d {
            at += edge / 4;
            let (place, level) = (usize::from(edge & 2 != 0), (edge & 1) as u8);
            if let Some(kept) = levels.get_mut(place) {
                *kept = level;
            }
            let channel = if place == 0 { Channel::Crank } else { Channel::Spark };
            tell(at, Input::Edge(channel, if level == 1 { Level::High } else { Level::Low }));
        }
        if let Some(volts) = batch.battery_v.filter(|volts| volts.is_finite()) {
            tell(batch.end, Input::Supply(volts));
        }
        self.reached = reached.max(ticks(batch.end));
        self.levels = Some(levels);
        self.next_batch = Some(batch.batch + 1);
        Ok(Some(self.reached))
    }
}
